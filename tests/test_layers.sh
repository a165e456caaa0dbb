# SPDX-License-Identifier: GPL-3.0-or-later
# The checker of the layers finds each kind of fault, where it is, and nothing in clean sources.
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
checker=$PWD/tests/tools/layers.awk
passed=0
failed=0

mkdir -p "$folder/src/base" "$folder/src/loop" "$folder/src/cli"
cd "$folder" || exit 1

reset() {
    rm -rf src/stray
    cat >src/layers.txt <<'RULES'
# module, library, system
module base:
module loop: base
module cli: base loop
library sndfile.h: loop
system stdio.h string.h
RULES
    printf '#include <string.h>\n\n#include "base/a.h"\n' >src/base/a.c
    printf '#include <sndfile.h>\n#include "base/a.h"\n#include "loop/b.h"\n' >src/loop/b.c
    printf '#include <stdio.h>\n#include "loop/b.h"\nint f(void) { return puts("x"); }\n' >src/cli/c.c
}

# expect NAME STATUS LINE: the checker ends with that status and prints exactly that line.
expect() {
    local printed status
    printed=$(awk -f "$checker" src/layers.txt src/*/*.c 2>&1)
    status=$?
    if [ "$status" = "$2" ] && [ "$printed" = "$3" ]; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        printf '%s: expected status %s and: %s\n  status %s and: %s\n' "$1" "$2" "$3" "$status" "$printed"
    fi
    reset
}

reset
expect "accepts clean sources" 0 ""

printf '\n#include "loop/b.h"\n' >>src/base/a.c
expect "finds an upward include" 1 \
    "src/base/a.c:5: upward include \"loop/b.h\": 'base' may not include 'loop'"

printf '  #  include "motor/m.h"\n' >>src/cli/c.c
expect "finds an unknown module in an include" 1 \
    "src/cli/c.c:4: unknown include \"motor/m.h\": 'motor' is no module"

printf '#include "a.h"\n' >>src/base/a.c
expect "finds an include without its folder" 1 \
    'src/base/a.c:4: unknown include "a.h": write it with its folder'

printf '#include HEADER\n' >>src/base/a.c
expect "finds a computed include" 1 \
    "src/base/a.c:4: unknown include: its name is not in the line"

printf '#include <sndfile.h>\n' >>src/cli/c.c
expect "finds a library in the wrong module" 1 \
    "src/cli/c.c:4: foreign include <sndfile.h>: only 'loop' may include it"

printf '#include <zlib.h>\n' >>src/loop/b.c
expect "finds a library without a rule" 1 \
    "src/loop/b.c:4: foreign include <zlib.h>: src/layers.txt does not know it"

mkdir src/stray && printf '\n' >src/stray/s.c
expect "finds a module without a rule" 1 \
    "src/stray/s.c:1: unknown module 'stray': it has no line in src/layers.txt"

printf 'module high: top\n' >>src/layers.txt
expect "finds a rule that points upward" 1 \
    "src/layers.txt:7: module 'high' names 'top', which stands on no line above it"

printf 'int g(void) { return fprintf(stderr, "x"); }\n' >>src/loop/b.c
expect "finds a module that prints" 1 "src/loop/b.c:4: 'loop' prints: only 'cli' may"

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
