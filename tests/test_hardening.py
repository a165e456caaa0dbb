# SPDX-License-Identifier: GPL-3.0-or-later
"""The release build is hardened: what the compiler and linker were asked for stands in the binaries."""
import os
import platform
import re
import subprocess
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "world"))
from checks import Checks

BUILT = os.environ.get("BUILT", "build/release")
X86 = platform.machine() in ("x86_64", "i686")


def tell(*words):
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


def look(checks, path, is_program):
    name = os.path.basename(path)
    head = tell("readelf", "--wide", "-h", "-l", "-d", path)
    needed = set(re.findall(r"UND (\w+)", tell("readelf", "--wide", "--dyn-syms", path)))
    code = tell("objdump", "-d", "--no-show-raw-insn", path)
    checks.check(re.search(r"Type:\s+DYN", head), f"{name}: the code can be loaded anywhere")
    if is_program:
        checks.check(re.search(r"FLAGS_1.*\bPIE\b", head), f"{name}: a position-independent program")
    checks.check("GNU_RELRO" in head and re.search(r"FLAGS_1.*\bNOW\b", head),
                 f"{name}: the table of foreign functions is read-only before main")
    segments = re.findall(r"^  (LOAD|GNU_STACK) .* ([R ][W ][E ]) 0x", head, re.M)
    checks.check(len(segments) >= 4 and not [flags for _, flags in segments if "W" in flags and "E" in flags],
                 f"{name}: nothing can be written and run, not the stack either: {segments}")
    checks.check("GNU_STACK" in head, f"{name}: says that its stack is not run")
    checks.check(not re.search(r"TEXTREL|R(UN)?PATH", head), f"{name}: no code is mended, no folder built in")
    checks.check("__stack_chk_fail" in needed, f"{name}: frames with arrays are guarded")
    checked = sorted(name for name in needed if name.endswith("_chk"))
    checks.check({"__memcpy_chk", "__snprintf_chk"} <= set(checked), f"{name}: copies know their room: {checked}")
    if X86:
        checks.check(code.count("endbr") > 500, f"{name}: calls through pointers land where functions begin")
        checks.check(re.search(r"or[ql]\s+\$0x0,(0x[0-9a-f]+)?\(%[re]sp", code), f"{name}: large frames touch each page")


def main():
    checks = Checks()
    if os.path.basename(BUILT) != "release":
        print(f"{BUILT} is no release build: only that is hardened")
        checks.check(True, "")
    else:
        look(checks, os.path.join(BUILT, "lodecard"), True)
        look(checks, os.path.join(BUILT, "liblodecard.so.0"), False)
    print(f"{checks.passed} passed, {checks.failed} failed")
    return checks.failed > 0


if __name__ == "__main__":
    sys.exit(main())
