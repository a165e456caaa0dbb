# SPDX-License-Identifier: GPL-3.0-or-later
"""The command `loop` as its users see it: many captures, places for results, pictures, failures."""
import csv
import io
import json
import os
import stat
import subprocess
import xml.etree.ElementTree as tree

import bench
import checks
import program
import steel

SVG = "{http://www.w3.org/2000/svg}"


def write_captures(folder):
    """Three good captures and one that is too short, each in a folder of its own."""
    loops = {
        "first": (steel.smooth(25e3, 1.1, 17e3, 6e3, 15), dict(frames=24011)),
        "second": (steel.smooth(12e3, 0.6, 7e3, 6e3, 9), dict(frames=24000, phase=1.0)),
        "short": (steel.ellipse(8000, 1.2, 30), dict(frames=2000)),
        "third": (steel.ellipse(8000, 1.2, 30), dict(frames=24500, noise=(1e-3, 1e-3))),
    }
    return {name: bench.Case(50.0123, *hb, {}, {}, **more).write(os.path.join(folder, name))
            for name, (hb, more) in loops.items()}


def read(path, mode="rb"):
    with open(path, mode) as file:
        return file.read()


def test_json_lines_keep_the_order(check, folder):
    paths = list(write_captures(folder).values())
    outputs = []
    for jobs in ("1", "2", "7", "0"):
        status, out, err = program.run("loop", *paths, "--json-lines", "--jobs", jobs)
        check.check(status == 3, f"jobs {jobs}: exit status {status}, worst is 3")
        check.check(err.count("short.wav") == 1 and "hint:" in err, f"jobs {jobs}: {err!r}")
        outputs.append(out)
    check.check(len(set(outputs)) == 1, "the same bytes whatever the number of jobs")
    lines = [json.loads(line) for line in outputs[0].splitlines()]
    check.check([line["capture"]["file"] for line in lines] ==
                ["first.wav", "second.wav", "short.wav", "third.wav"], "one line each, in order")
    check.check(all(line["schema"] == "lodecard-loop/1" for line in lines), "every line says what it is")
    check.check("figures" not in lines[2] and lines[2]["error"]["status"] == 3 and
                "cycles" in lines[2]["error"]["message"] and lines[2]["error"]["hint"],
                f"the failed one says why: {lines[2]}")
    check.check("coercivity_A_per_m" in lines[3]["figures"], "the one behind it is whole")


def test_places(check, folder):
    """Files hold what standard output would have."""
    paths = write_captures(folder)
    first = paths["first"]
    one, lines, table = (os.path.join(folder, n) for n in ("one.json", "all.jsonl", "all.csv"))
    _, to_stdout, _ = program.run("loop", first, "--json", "-", "--points", "7")
    for words in (["--json", one], ["--json=" + one]):
        status, out, err = program.run("loop", first, *words, "--points", "7")
        check.check((status, err) == (0, ""), f"{status} {err}")
        check.check(read(one, "r") == to_stdout, "--json FILE and --json - agree")
        check.check(out.startswith("first.wav: ring in software"), "the table is printed as well")
        os.remove(one)
    check.check(len(json.loads(to_stdout)["points"]["field_A_per_m"]) == 7, "--points 7")
    good = [paths["first"], paths["second"], paths["third"]]
    status, out, _ = program.run("loop", *good, "--json-lines", lines, "--csv", table)
    check.check(status == 0 and len(read(lines, "r").splitlines()) == 3, "--json-lines FILE")
    check.check(out.count("\n") >= 4 and "first.wav" in out, "a line each for people")
    umask = os.umask(0)
    os.umask(umask)
    check.check(stat.S_IMODE(os.stat(lines).st_mode) == 0o666 & ~umask, "usual permissions")
    check.check(sorted(n for n in os.listdir(folder) if n.startswith("all")) ==
                ["all.csv", "all.jsonl"], "nothing else is left behind")


def test_csv_says_what_json_says(check, folder):
    paths = list(write_captures(folder).values())
    _, text, _ = program.run("loop", *paths, "--csv", "-")
    _, lines, _ = program.run("loop", *paths, "--json-lines")
    rows = list(csv.DictReader(io.StringIO(text)))
    check.check(len(rows) == 4, f"{len(rows)} rows")
    for row, line in zip(rows, map(json.loads, lines.splitlines())):
        name = row["file"]
        check.check(name == line["capture"]["file"], "the same order")
        figures = line.get("figures", {})
        given = {key: float(value) for key, value in row.items()
                 if value and key not in ("file", "sha256", "specimen", "notes", "error")}
        check.check(given == {k: v for k, v in figures.items() if v is not None},
                    f"{name}: the figures are the same doubles")
        check.check(row["notes"].split() == program.codes(line), f"{name}: notes {row['notes']}")
        check.check(bool(row["error"]) == ("error" in line), f"{name}: error {row['error']!r}")


def test_failures_leave_files_alone(check, folder):
    paths = write_captures(folder)
    old = os.path.join(folder, "old.json")
    with open(old, "w") as file:
        file.write("old")
    status, out, err = program.run("loop", paths["short"], "--json", old, "--csv", "-")
    check.check(status == 3 and read(old) == b"old", "no result: the old file stays")
    check.check(err.startswith("lodecard: short.wav"), f"the message names the capture: {err!r}")
    check.check(len(out.splitlines()) == 2, "the line of the table is there")
    status, out, err = program.run("loop", paths["short"], "--json", "-")
    check.check((status, out) == (3, ""), f"no result, no output: {status} {out!r}")
    status, out, err = program.run("loop", paths["first"], "--plot", os.path.join(folder, "no", "a.svg"))
    check.check(status == 4 and out == "" and "a.svg" in err, f"told before the work: {err!r}")


def test_strict(check, folder):
    """Warnings make the exit status 3, and change nothing else."""
    H, B = steel.smooth(25e3, 1.1, 17e3, 6e3, 15)
    turned = bench.Case(50.0, H, -B, {}, {}).write(os.path.join(folder, "turned"))
    plain, strict = (program.run("loop", turned, "--json", "-", *more) for more in ([], ["--strict"]))
    check.check(program.codes(json.loads(plain[1]), "warning") == ["reversed"], "one warning")
    check.check((plain[0], strict[0]) == (0, 3), f"exit {plain[0]} and {strict[0]}")
    check.check(plain[1] == strict[1], "the same result")


def test_pictures(check, folder):
    paths = write_captures(folder)
    good = [paths["first"], paths["second"], paths["third"]]
    for name, captures, more in (("one", good[:1], []), ("waves", good[:1], ["--waveforms"]),
                                 ("many", good, []), ("all", list(paths.values()), ["--waveforms"])):
        for end, begin in ((".svg", b"<?xml"), (".png", b"\x89PNG\r\n"), (".pdf", b"%PDF-1.5")):
            pictures = []
            for again in ("a", "b") if name in ("waves", "many") else ("a",):
                path = os.path.join(folder, name + again + end)
                status, _, err = program.run("loop", *captures, "--plot", path, *more)
                check.check(status == (3 if name == "all" else 0), f"{name}{end}: {status} {err}")
                pictures.append(read(path))
            check.check(pictures[0].startswith(begin), f"{name}{end} begins as it should")
            check.check(len(set(pictures)) == 1, f"{name}{end}: the same bytes again")
        root = tree.fromstring(read(os.path.join(folder, name + "a.svg")))
        check.check(root.tag == SVG + "svg", f"{name}.svg is well-formed XML")
        blue = [e for e in root.iter(SVG + "path")
                if "rgb(0%,44.7" in e.get("style", "") and "fill:none" in e.get("style", "")]
        panels = 4 if more else 1
        check.check(sum(e.get("d").count("L") > 20 for e in blue) == panels,
                    f"{name}.svg: a blue curve in each of {panels} panels")


def test_traces_have_no_waveforms(check, folder):
    """A trace is drawn as it is, alone or beside others; alone it has no waveforms."""
    periodic = write_captures(folder)["first"]
    rows = [(-3e4, -1), (-6e3, -1), (1.8e4, -1), (2.4e4, 0), (3e4, 1), (6e3, 1), (-1.8e4, 1),
            (-2.4e4, 0)]
    trace = os.path.join(folder, "trace.csv")
    with open(trace, "w") as file:
        file.write("H (A/m),B (T)\n" + "".join("%g,%g\n" % row for row in rows))
    with open(os.path.join(folder, "rig.yaml"), "w") as file:
        file.write("name: none\ninputs:\n  excitation: {channel: H, quantity: field strength}\n"
                   "  pickup: {channel: B, quantity: flux density}\ntiming:\n  trace: yes\n")
    with open(os.path.join(folder, "specimen.yaml"), "w") as file:
        file.write(bench.specimen_text(bench.SPEC))
    picture = os.path.join(folder, "trace.svg")
    status, out, err = program.run("loop", trace, "--plot", picture, "--waveforms")
    check.check(status == 1 and "no time axis" in err and not os.path.exists(picture), err)
    check.check("one traverse without time" in out, "its figures are printed")
    status, _, err = program.run("loop", trace, "--plot", picture)
    check.check(status == 0, err)
    path = next(e.get("d") for e in tree.fromstring(read(picture)).iter(SVG + "path")
                if "rgb(0%,44.7" in e.get("style", "") and "stroke-width:1.5" in e.get("style", ""))
    check.check(path.count("L") == 3, f"the four corners and no more: {path}")
    status, _, err = program.run("loop", trace, periodic, "--plot", picture, "--waveforms")
    check.check(status == 0 and os.path.exists(picture), err)


def test_standard_input(check, folder):
    first = write_captures(folder)["first"]
    status, out, err = program.run("loop", first, "--json", "-")
    with open(first, "rb") as file:
        done = subprocess.run([program.PROGRAM, "loop", "-", "--json", "-"], stdin=file,
                              capture_output=True, cwd=os.path.dirname(first), timeout=60)
    piped = subprocess.run("cat first.wav | '%s' loop - --json -" % program.PROGRAM, shell=True,
                           capture_output=True, cwd=os.path.dirname(first), timeout=60)
    wanted = json.loads(out)
    for result in (done, piped):
        check.check(result.returncode == 0, f"{result.returncode} {result.stderr}")
        got = json.loads(result.stdout)
        check.check(got["figures"] == wanted["figures"], "the same figures")
        check.check(got["capture"]["sha256"] == wanted["capture"]["sha256"], "the same digest")
        check.check(got["capture"]["file"] == "-", "the file is named '-'")


def test_closed_output(check, folder):
    """A reader that has seen enough is no fault worth words; a file asked for is written all the
    same."""
    first = write_captures(folder)["first"]
    path = os.path.join(folder, "out.json")
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run([program.PROGRAM, "loop", first, "--json", path], stdout=writer,
                          stderr=subprocess.PIPE, timeout=60)
    os.close(writer)
    check.check((done.returncode, done.stderr) == (4, b""), f"{done.returncode} {done.stderr}")
    check.check("figures" in json.loads(read(path)), "the file is whole")


if __name__ == "__main__":
    checks.main(globals())
