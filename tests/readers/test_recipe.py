# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipe of docs/exporters.md, followed word for word: the file as it stands there, the command line
as it stands there, and the last line that it promises."""
import os
import re
import subprocess
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "world"))
import checks

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def test_recipe(check, folder):
    with open(os.path.join(TOP, "docs", "exporters.md"), encoding="utf-8") as file:
        text = file.read().split("## Write your own")[1]
    path = re.search(r"the file `([\w/.]+)`", text).group(1)
    script, command, promise = (re.search("```%s\n(.*?)```" % kind, text, re.S).group(1)
                                for kind in ("lua", "sh", "text"))
    check.check(len(script.splitlines()) <= 20, "20 lines")
    os.mkdir(os.path.join(folder, os.path.dirname(path)))
    with open(os.path.join(folder, path), "w", encoding="utf-8") as file:
        file.write(script)
    os.symlink(os.path.join(TOP, "samples"), os.path.join(folder, "samples"))
    program = os.path.dirname(os.path.abspath(os.environ.get("LODECARD", "build/release/lodecard")))
    environment = {**os.environ, "PATH": program + ":" + os.environ["PATH"]}
    done = subprocess.run(command, shell=True, cwd=folder, env=environment, capture_output=True, text=True)
    check.check(done.returncode == 0 and not done.stderr, command + done.stderr)
    with open(os.path.join(folder, "curve.txt"), encoding="utf-8") as file:
        lines = file.read().splitlines()
    check.check(lines[-1] == promise.strip("\n"), "the last line: " + lines[-1])
    check.check("H (kA/m)\tB (T)" in lines, "the option is heard")
    check.check(lines[0] == "# RS-36, heat H2291: material card rs36-h2291.json", "the statement")
    done = subprocess.run("lodecard card export --exporters mine --list", shell=True, cwd=folder,
                          env=environment, capture_output=True, text=True)
    words = script.splitlines()[0][3:]
    check.check(re.search(r"^tabs +%s \(yours\)$" % re.escape(words), done.stdout, re.M) is not None,
                "the list shows it")


checks.main(globals())
