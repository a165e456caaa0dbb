# SPDX-License-Identifier: GPL-3.0-or-later
"""Large surveys: lists of captures, manifests that are killed at any moment and taken up again, and
shares of several workers."""
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import time

import checks
import program

RING = """
model:
  tanh: {saturation: 1.30 T, shift: 7 kA/m, width: 12 kA/m}
drive: {flux_density_peak: 1 T, frequency: 50 Hz, harmonics: 9}
recording: {name: c, format: wav, encoding: pcm24, sample_rate: 4 kHz, duration: 0.25 s}
rig:
  name: bench
  inputs:
    excitation: {channel: 1, full_scale: 8 V, shunt: 0.1 ohm}
    pickup: {channel: 2, full_scale: 8 V, divider: 20}
  winding: {primary_turns: 200, secondary_turns: 100}
specimen:
  name: R-17
  ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm}
faults: {noise: {excitation: 0.1 mV, pickup: 0.1 mV}}
"""
HEAD = '{"schema": "lodecard-manifest/1"}\n'


def write(path, text):
    with open(path, "w") as file:
        file.write(text)


def read(path):
    with open(path, "rb") as file:
        return file.read()


def make_survey(folder, frequencies, peaks):
    """Small captures in bench/, and their list; returns their names."""
    write(os.path.join(folder, "ring.yaml"), RING)
    words = [word for f in range(frequencies) for word in ("--frequency", "%d Hz" % (50 + f))]
    words += [word for p in range(peaks) for word in ("--peak", "%d mT" % (800 + p))]
    status, _, err = program.run("virtual", "ring.yaml", "-o", "bench", *words, folder=folder)
    assert status == 0, err
    names = sorted(n for n in os.listdir(os.path.join(folder, "bench")) if n.endswith(".wav"))
    write(os.path.join(folder, "list.jsonl"),
          "".join(json.dumps({"capture": "bench/" + name}) + "\n" for name in names))
    return names


def results(manifest, is_killed=False):
    """The records of a manifest; every one must be whole, but for the last one of a killed run."""
    text = read(manifest)
    lines = text[:text.rindex(b"\n") if is_killed else None].decode().splitlines()
    assert lines[0] + "\n" == HEAD, lines[0]
    records = []
    for line in lines[1:]:
        if line + "\n" == HEAD:
            continue
        record = json.loads(line)
        rest = line.split('", ', 1)[1].encode()
        assert hashlib.sha256(rest).hexdigest() == record["check"]
        of = line.split('"of": ', 1)[1].split(', "result": ', 1)[0].encode()
        assert hashlib.sha256(of).hexdigest() == record["key"]
        records.append(record)
    return records


def test_lists_say_what_the_command_line_says(check, folder):
    names = make_survey(folder, 2, 2)
    paths = ["bench/" + name for name in names]
    _, words, _ = program.run("loop", *paths, "--json-lines", folder=folder)
    status, listed, err = program.run("loop", "--list", "list.jsonl", "--json-lines", "-j", "2",
                                      folder=folder)
    check.check(status == 0 and listed == words and err == "", "a list gives what its captures give")
    piped = subprocess.run([program.PROGRAM, "loop", "--list", "-", "--json-lines"], cwd=folder,
                           input=read(os.path.join(folder, "list.jsonl")), capture_output=True)
    check.check(piped.stdout.decode() == words, "a list on standard input does the same")
    shutil.copy(os.path.join(folder, "bench/rig.yaml"), os.path.join(folder, "r.yaml"))
    shutil.copy(os.path.join(folder, "bench/specimen.yaml"), os.path.join(folder, "s.yaml"))
    write(os.path.join(folder, "odd.jsonl"), json.dumps(
        {"capture": paths[0], "rig": "r.yaml", "specimen": "s.yaml", "start_s": 0.01,
         "length_s": 0.2, "harmonics": 5, "fundamental_Hz": 50}) + "\n")
    _, odd, _ = program.run("loop", "--list", "odd.jsonl", "--json-lines", folder=folder)
    _, same, _ = program.run("loop", paths[0], "--rig", "r.yaml", "--specimen", "s.yaml", "--start",
                             "0.01", "--length", "0.2", "--harmonics", "5", "--fundamental", "50",
                             "--json-lines", folder=folder)
    check.check(odd == same and json.loads(odd)["figures"]["harmonics"] == 5,
                "a line's options are those of the command line")
    shares = [program.run("loop", "--list", "list.jsonl", "--json-lines", "--share", "%d/3" % k,
                          folder=folder)[1].splitlines() for k in (1, 2, 3)]
    check.check(shares[0] == [words.splitlines()[0], words.splitlines()[3]]
                and shares[1] + shares[2] == words.splitlines()[1:3], "shares part a list")


def test_bad_lines_stop_no_other(check, folder):
    names = make_survey(folder, 1, 1)
    good = json.dumps({"capture": "bench/" + names[0]})
    bad = (('{"captur": "x"}', "line %d of 'l': unknown key 'captur'", "did you mean 'capture'?"),
           ('{"rig": "x"}', "line %d of 'l': there is no 'capture'", '{"capture": "ring.flac"}'),
           ('["x"]', "line %d of 'l': expected an object in braces", '{"capture": "ring.flac"}'),
           ('{"capture": 3}', "line %d of 'l': 'capture' is not a path", "docs/surveys.md"),
           ('{"capture": ""}', "line %d of 'l': 'capture' is not a path", "docs/surveys.md"),
           ('{"capture": "-"}', "line %d of 'l': 'capture' cannot be standard input", "name a file"),
           ('{"capture": "x", "start_s": -1}', "line %d of 'l': 'start_s' is not a number of 0", "doc"),
           ('{"capture": "x", "harmonics": 1.5}', "'harmonics' is not a whole number", "docs"),
           ('{"capture": "x", "decimal": ";"}', "'decimal' is not \".\" or \",\"", "docs"),
           ('{"capture": "x"', "of 'l:%d'", "JSON"))
    write(os.path.join(folder, "l"), "\n".join([line for line, _, _ in bad] + ["", good]))
    status, out, err = program.run("loop", "--list", "l", "--json-lines", folder=folder)
    rows = [json.loads(line) for line in out.splitlines()]
    check.check(status == 2 and len(rows) == len(bad) + 1 and "figures" in rows[-1]
                and all(row["error"]["status"] == 2 for row in rows[:-1]),
                "bad lines are failures of their own: %d %s" % (status, err))
    for number, (_, message, hint) in enumerate(bad, 1):
        error = rows[number - 1]["error"]
        wanted = message % number if "%d" in message else message
        check.check(wanted in error["message"] and hint in error["hint"] or hint == "JSON"
                    and wanted in error["message"], "line %d: %r" % (number, error))
    write(os.path.join(folder, "long"), good + "\n" + "x" * 2000000 + "\n" + good + "\n")
    status, out, err = program.run("loop", "--list", "long", "--json-lines", folder=folder)
    check.check(status == 2 and len(out.splitlines()) == 1
                and "line 2 of 'long' has more than 1048576 bytes" in err,
                "a line without end ends the list: %d %s" % (status, err))


def run_killed(folder, words, seconds):
    """Starts the program and kills it after that time, unless it has ended; its exit status."""
    process = subprocess.Popen([program.PROGRAM, *words], cwd=folder, stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL)
    try:
        return process.wait(timeout=seconds)
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
        return process.wait()


def test_killed_at_any_moment_it_goes_on(check, folder):
    names = make_survey(folder, 10, 4)
    words = ["loop", "--list", "list.jsonl", "--manifest", "m", "-j", "2"]
    _, plain, _ = program.run("loop", "--list", "list.jsonl", "--json-lines", folder=folder)
    began = time.monotonic()
    program.run(*words, folder=folder)
    whole = time.monotonic() - began
    manifest = os.path.join(folder, "m")
    os.remove(manifest)
    chance = random.Random(7)
    kills, last, torn = 0, 0, 0
    for turn in range(60):
        if run_killed(folder, words, chance.uniform(0.0, 0.3 * whole)) == 0:
            break
        kills += 1
        has_any = os.path.exists(manifest) and b"\n" in read(manifest)
        done = len(results(manifest, is_killed=True)) if has_any else 0
        if not check.check(done >= last, "turn %d: nothing is lost (%d, %d)" % (turn, last, done)):
            break
        last = done
        if turn % 3 == 0 and done:  # what a crash of the machine may leave of the last line
            with open(manifest, "r+b") as file:
                size = file.seek(0, os.SEEK_END)
                file.truncate(size - chance.randrange(1, 1500))
            torn += 1
            last = max(0, done - 1)
    status, out, err = program.run(*words, "--json-lines", folder=folder)
    check.check(kills >= 3 and torn >= 1, "%d kills, %d torn lines" % (kills, torn))
    check.check(status == 0 and out == plain, "the results are those of a run in one piece")
    keys = [record["key"] for record in results(manifest)]
    check.check(len(keys) == len(set(keys)) == len(names), "every capture once: %d of %d"
                % (len(set(keys)), len(names)))
    before = read(manifest)
    status, out, err = program.run(*words, "--json-lines", folder=folder)
    check.check(out == plain and read(manifest) == before
                and "40 captures: 40 were done before, 0 now" in err, "it does nothing twice: " + err)
    _, table, _ = program.run("loop", "--list", "list.jsonl", "--csv", folder=folder)
    _, kept, _ = program.run(*words, "--csv", folder=folder)
    check.check(kept == table, "CSV from the manifest is CSV from the captures")
    _, table, _ = program.run("loop", "--list", "list.jsonl", folder=folder)
    _, kept, _ = program.run(*words, folder=folder)
    check.check(kept == table, "and so is the table that people read")


def test_a_line_torn_anywhere_is_done_again(check, folder):
    names = make_survey(folder, 3, 1)
    words = ["loop", "--list", "list.jsonl", "--manifest", "m", "--json-lines"]
    _, plain, _ = program.run(*words, folder=folder)
    manifest = os.path.join(folder, "m")
    whole = read(manifest)
    last = whole.rindex(b"\n", 0, -1) + 1
    chance = random.Random(3)
    cuts = list(range(0, len(HEAD), 7)) + [last, last + 1, len(whole) - 1]
    cuts += [chance.randrange(len(HEAD), len(whole)) for _ in range(12)]
    for cut in cuts:
        with open(manifest, "wb") as file:
            file.write(whole[:cut])
        status, out, _ = program.run(*words, folder=folder)
        check.check(status == 0 and out == plain and len(results(manifest)) == len(names)
                    and sorted(read(manifest).splitlines()) == sorted(whole.splitlines()),
                    "cut behind %d bytes" % cut)
    middle = whole.replace(b'"flux_density_peak_T": 0.8', b'"flux_density_peak_T": 0.9', 1)
    check.check(middle != whole, "a number is there to be changed")
    with open(manifest, "wb") as file:
        file.write(middle)
    status, out, err = program.run(*words, folder=folder)
    check.check(out == plain and "did not count: 1" in err, "a number that was changed does not count")
    for other, message in ((b"RIFF....WAVE", "is no manifest"), (b"\n", "is no manifest")):
        with open(manifest, "wb") as file:
            file.write(other)
        status, out, err = program.run(*words, folder=folder)
        check.check(status == 2 and message in err and read(manifest) == other,
                    "another file is left as it is: " + err)


def test_what_a_result_hangs_on(check, folder):
    """Done is what has the same capture, rig, specimen and options; names do not count."""
    names = make_survey(folder, 1, 2)
    run = lambda *words: program.run("loop", "--manifest", "m", *words, folder=folder)
    told = lambda err: err.splitlines()[-1]
    first = "bench/" + names[0]
    check.check(", 1 now" in run(first)[2] and "1 were done" in run(first)[2], "the same again")
    os.makedirs(os.path.join(folder, "moved"))
    for name in ("rig.yaml", "specimen.yaml"):
        shutil.copy(os.path.join(folder, "bench", name), os.path.join(folder, "moved", name))
    shutil.copy(os.path.join(folder, first), os.path.join(folder, "moved", 'a "b".wav'))
    _, out, err = run('moved/a "b".wav', "--json-lines")
    result = json.loads(out)
    check.check("1 were done" in told(err) and result["capture"]["file"] == 'a "b".wav'
                and '{"capture": {"file"' not in out, "another name, the same bytes: " + err)
    for words in (["--harmonics", "5"], ["--start", "0.02"], ["--points", "8", "--json-lines"],
                  ["--budget"], ["--today", "2026-11-25"], ["--trials", "1000"]):
        check.check("0 were done before, 1 now" in told(run(first, *words)[2]), "another: %s" % words)
        check.check("1 were done before, 0 now" in told(run(first, *words)[2]), "again: %s" % words)
    for name, old, new in (("rig.yaml", "secondary_turns: 100", "secondary_turns: 50"),
                           ("specimen.yaml", "height: 6 mm", "height: 5 mm")):
        path = os.path.join(folder, "moved", name)
        text = read(path).decode()
        assert old in text, text
        write(path, text.replace(old, new))
        check.check("0 were done before, 1 now" in told(run('moved/a "b".wav')[2]), "another " + name)
    os.makedirs(os.path.join(folder, "twice"))
    pair = ["twice/1.wav", "twice/2.wav"]
    for path in pair:
        shutil.copy(os.path.join(folder, "bench", names[1]), os.path.join(folder, path))
    _, out, _ = run(*pair, "--rig", "bench/rig.yaml", "--specimen", "bench/specimen.yaml",
                    "--json-lines")
    check.check([json.loads(line)["capture"]["file"] for line in out.splitlines()]
                == ["1.wav", "2.wav"], "two names of the same bytes keep their names")
    keys = [record["key"] for record in results(os.path.join(folder, "m"))]
    check.check(len(keys) == len(set(keys)), "and are kept once")


def test_failures_are_kept_and_tried_again_on_demand(check, folder):
    names = make_survey(folder, 1, 2)
    write(os.path.join(folder, "bench/broken.wav"), "RIFF and then nothing")
    paths = ["bench/" + name for name in names] + ["bench/broken.wav"]
    words = ["loop", *paths, "--manifest", "m", "--json-lines"]
    status, out, err = program.run(*words, folder=folder)
    check.check(status == 2 and "3 captures: 0 were done before, 3 now; 1 have no result" in err, err)
    again, out2, err2 = program.run(*words, folder=folder)
    check.check(again == 2 and out2 == out and "3 were done before, 0 now; 1 have" in err2
                and err.splitlines()[0] in err2, "a failure is known: " + err2)
    _, out3, err3 = program.run(*words, "--retry", folder=folder)
    check.check(out3 == out and "2 were done before, 1 now; 1 have" in err3, "--retry: " + err3)
    check.check(sum(r["status"] != 0 for r in results(os.path.join(folder, "m"))) == 1,
                "the same failure is kept once")
    paths.append("bench/absent.wav")
    words = ["loop", *paths, "--manifest", "m", "--json-lines"]
    status, _, err = program.run(*words, folder=folder)
    check.check(status == 4 and "4 captures: 3 were done before, 1 now; 2 have" in err, err)
    shutil.copy(os.path.join(folder, paths[0]), os.path.join(folder, "bench/absent.wav"))
    status, out, err = program.run(*words, folder=folder)
    check.check(status == 2 and "4 were done before" in err,
                "what could not be read is looked at again: " + err)


def test_wrong_command_lines(check, folder):
    names = make_survey(folder, 1, 1)
    path = "bench/" + names[0]
    for words, status, message in (
            (["-", "--manifest", "m"], 1, "captures that can be read again"),
            (["-", "--list", "-"], 1, "standard input can be read only once"),
            ([path, "--plot", "p.svg", "--manifest", "m"], 1, "--plot is not for a manifest"),
            (["--list", "l", "--plot", "p.svg"], 1, "--plot is not for a list"),
            ([path, "--retry"], 1, "--retry has no manifest"),
            ([path, "--manifest", path], 1, "looks like a capture"),
            ([path, "--manifest", "m", "--done", "m"], 1, "'m' is given twice"),
            ([path, "--done", "none"], 4, "cannot read 'none'"),
            (["--list", "none"], 4, "cannot read 'none'"),
            (["--list", "bench"], 4, "it is a folder"),
            ([path, "--manifest", "/dev/null"], 4, "cannot keep a manifest in '/dev/null'"),
            ([path, "--json", "x.json", "--manifest", "m"], 1, "--json is for one capture"),
            ([path, "--share", "3/2"], 1, "expected K/N"), ([path, "--share", "0/2"], 1, "K/N"),
            ([path, "--share", "1"], 1, "K/N"), ([path, "--share", "1/2x"], 1, "K/N"),
            ([path, "--share", "-1/2"], 1, "K/N")):
        got, _, err = program.run("loop", *words, folder=folder)
        check.check(got == status and message in err, "%s: %d %s" % (words, got, err))


def test_a_manifest_has_one_writer(check, folder):
    make_survey(folder, 2, 1)
    os.mkfifo(os.path.join(folder, "pipe"))
    first = subprocess.Popen([program.PROGRAM, "loop", "--list", "pipe", "--manifest", "m"],
                             cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    with open(os.path.join(folder, "pipe"), "w") as pipe:
        while not os.path.exists(os.path.join(folder, "m")) or not read(os.path.join(folder, "m")):
            time.sleep(0.01)
        status, _, err = program.run("loop", "--list", "list.jsonl", "--manifest", "m", folder=folder)
        check.check(status == 4 and "'m' is in use by another run" in err, err)
        pipe.write(read(os.path.join(folder, "list.jsonl")).decode())
    _, err = first.communicate()
    check.check(first.returncode == 0 and b"0 were done before, 2 now" in err, "the first goes on")


def test_a_full_disk_stops_the_run(check, folder):
    names = make_survey(folder, 10, 2)
    limited = "ulimit -f 8; trap '' XFSZ; exec \"$0\" loop --list list.jsonl --manifest m"
    done = subprocess.run(["bash", "-c", limited, program.PROGRAM], cwd=folder, capture_output=True,
                          text=True)
    kept = results(os.path.join(folder, "m"))
    check.check(done.returncode == 4 and "cannot write 'm': File too large" in done.stderr
                and 0 < len(kept) < len(names), "%d, %d kept: %s"
                % (done.returncode, len(kept), done.stderr))
    check.check(done.stderr.count("cannot write") == 1, "it is told once")
    status, _, err = program.run("loop", "--list", "list.jsonl", "--manifest", "m", folder=folder)
    check.check(status == 0 and "%d were done before, %d now" % (len(kept), 20 - len(kept)) in err,
                "with room it goes on: " + err)


def test_workers_of_one_survey(check, folder):
    """GNU parallel, and a Slurm array whose task the test names."""
    names = make_survey(folder, 5, 2)
    _, plain, _ = program.run("loop", "--list", "list.jsonl", "--json-lines", folder=folder)
    environment = {**os.environ, "PATH": os.path.dirname(program.PROGRAM) + ":" + os.environ["PATH"]}
    command = "parallel --will-cite -j 2 lodecard loop --list list.jsonl --share {}/2 " \
              "--manifest w{}.manifest '>' /dev/null ::: 1 2"
    done = subprocess.run(["bash", "-c", command], cwd=folder, env=environment, capture_output=True,
                          text=True)
    parts = [results(os.path.join(folder, "w%d.manifest" % k)) for k in (1, 2)]
    check.check(done.returncode == 0 and [len(part) for part in parts] == [5, 5], done.stderr)
    status, out, err = program.run("loop", "--list", "list.jsonl", "--done", "w1.manifest", "--done",
                                   "w2.manifest", "--json-lines", folder=folder)
    check.check(status == 0 and out == plain and "10 were done before, 0 now" in err,
                "the workers' results together: " + err)
    both = read(os.path.join(folder, "w1.manifest")) + read(os.path.join(folder, "w2.manifest"))
    with open(os.path.join(folder, "both"), "wb") as file:
        file.write(both)
    _, out, err = program.run("loop", "--list", "list.jsonl", "--manifest", "both", "--json-lines",
                              folder=folder)
    check.check(out == plain and "10 were done before" in err and read(
        os.path.join(folder, "both")) == both, "manifests one behind the other are one")
    with open(os.path.join(folder, "both"), "wb") as file:  # the first worker was torn
        file.write(both[:len(both) // 2 - 40] + read(os.path.join(folder, "w2.manifest")))
    _, out, err = program.run("loop", "--list", "list.jsonl", "--manifest", "both", "--json-lines",
                              folder=folder)
    check.check(out == plain, "torn in the middle as well: " + err)
    script = os.path.join(program.ROOT, "samples/survey/array.sh")
    check.check(subprocess.run(["bash", "-n", script]).returncode == 0, "the array's script is right")
    for task in ("1", "2"):
        done = subprocess.run(["bash", script, "list.jsonl"], cwd=folder, capture_output=True, text=True,
                              env={**environment, "SLURM_ARRAY_TASK_ID": task,
                                   "SLURM_ARRAY_TASK_COUNT": "2", "SLURM_CPUS_PER_TASK": "1"})
        got = results(os.path.join(folder, "list.jsonl.%s-2.manifest" % task))
        check.check(done.returncode == 0 and {r["key"] for r in got}
                    == {r["key"] for r in parts[int(task) - 1]}, "array task " + task + done.stderr)


def test_memory_stays_flat(check, folder):
    """A list that names one capture again and again, which the manifest knows from the second on:
    what a run keeps of each would show."""
    names = make_survey(folder, 1, 1)
    peaks = []
    for count in (400, 2400):
        write(os.path.join(folder, "many"), ('{"capture": "bench/%s"}\n' % names[0]) * count)
        run = "import resource, subprocess, sys; subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL);" \
              "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
        done = subprocess.run(["python3", "-c", run, program.PROGRAM, "loop", "--list", "many",
                               "--manifest", "m", "--json-lines"], cwd=folder, capture_output=True,
                              text=True)
        peaks.append(int(done.stdout))
        check.check("%d captures" % count in done.stderr, done.stderr)
    if not checks.is_slow_build():  # the sanitizers keep what was freed
        check.check(peaks[1] < peaks[0] + 1500, "peaks of %d and %d KiB" % tuple(peaks))


checks.main(globals())
