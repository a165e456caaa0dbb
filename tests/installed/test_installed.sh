# SPDX-License-Identifier: GPL-3.0-or-later
# The installed library serves somebody else's program: found through pkg-config, linked shared and
# static, it rebuilds an ellipse whose area is known in closed form; nothing but the public names is
# visible; make uninstall leaves nothing behind.
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0
failed=0

# check NAME COMMAND...: the command succeeds.
check() {
    local name=$1
    shift
    if "$@" >"$folder/log" 2>&1; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "$name: failed"
        sed 's/^/    /' "$folder/log"
    fi
}

variant=$(basename "$BUILT")
build=$(dirname "$BUILT")
with= # what the library was built with, and its users need, too
[ "$variant" != san ] || with=-fsanitize=address,undefined
[ "$variant" != coverage ] || with=--coverage
MAKEFLAGS=$(echo "${MAKEFLAGS-}" | sed -E 's/(^| )-j[0-9]*//; s/ --jobserver-[a-z]*=[^ ]*//g')
export MAKEFLAGS
run_make() { make --no-print-directory BUILD="$build" VARIANT="$variant" "$@"; }

# An ellipse: H = 1000 A/m sin, B = 0.5 T sin lagging 30 degrees, 50 Hz, 0.5 s of 20 kHz.
# Path 0.1 m and area 1e-4 m2, 100 turns each, 1 ohm: i = H/1000 A, v2 = 100 * 1e-4 * dB/dt.
mkdir "$folder/capture"
awk 'BEGIN {
    pi = atan2(0, -1); w = 2 * pi * 50
    print "time (s),v1 (V),v2 (V)"
    for (n = 0; n < 10000; n++) {
        t = n / 20000
        printf "%.5f,%.12f,%.12f\n", t, sin(w * t), 0.01 * 0.5 * w * cos(w * t - pi / 6)
    }
}' >"$folder/capture/ellipse.csv"
cat >"$folder/capture/rig.yaml" <<'RIG'
name: closed form
inputs:
  excitation: {channel: v1, shunt: 1 ohm}
  pickup: {channel: v2}
winding: {primary_turns: 100, secondary_turns: 100}
RIG
# Mean path: pi (D + d) / 2 = 0.1 m; area: (D - d) / 2 * height = 1e-4 m2.
cat >"$folder/capture/specimen.yaml" <<'SPECIMEN'
name: ellipse
ring: {outer_diameter: 36.8309886184 mm, inner_diameter: 26.8309886184 mm, height: 20 mm}
SPECIMEN

# is_ellipse FILE: pi * 1000 * 0.5 * sin(30 degrees) J/m3, the angle, and the
# numbers of the note on the thick wall.
is_ellipse() {
    cat "$1"
    awk '$1 == "loop_area_J_per_m3" { a = $2 / (atan2(0, -1) * 250) - 1 }
         $1 == "lag_angle_deg" { d = $2 - 30; seen = 1 }
         $1 == "outer_over_inner_diameter" { r = $2 / 36.8309886184 * 26.8309886184 - 1; limit = $4 }
         END { exit !(seen && a * a < 1e-12 && d * d < 1e-10 && r * r < 1e-10 && limit == 1.25) }' "$1"
}

build_and_run() { # NAME, then arguments of the linker
    local name=$1
    shift
    check "$name: builds" gcc -std=c11 -Wall -Wextra -Werror $with -o "$folder/$name" \
        tests/installed/use.c "$@" -lm || return
    (cd "$folder/capture" && LD_LIBRARY_PATH=$folder/prefix/lib "$folder/$name" ellipse.csv rig.yaml \
        specimen.yaml) >"$folder/$name.out" 2>&1
    check "$name: rebuilds the ellipse" is_ellipse "$folder/$name.out"
}

check "make install" run_make install PREFIX="$folder/prefix"
check "installs what it should, and nothing else" diff <(cd "$folder/prefix" && find . ! -type d | sort) - <<LIST
./bin/lodecard
./include/lodecard.h
./lib/liblodecard.a
./lib/liblodecard.so
./lib/liblodecard.so.0
./lib/pkgconfig/lodecard.pc
./share/bash-completion/completions/lodecard
$("$BUILT/lodecard" help --list | sort | sed 's|.*|./share/man/man1/lodecard-&.1|')
./share/man/man1/lodecard.1
./share/zsh/site-functions/_lodecard
LIST
export PKG_CONFIG_PATH=$folder/prefix/lib/pkgconfig
check "pkg-config knows the version" \
    test "lodecard $(pkg-config --modversion lodecard)" = "$("$folder/prefix/bin/lodecard" --version | head -n 1)"
check "the manual page has its head" grep -q '^\.TH LODECARD 1' "$folder/prefix/share/man/man1/lodecard.1"

check "man finds the page of a command" grep -q 'lodecard loop' \
    <(MANPATH=$folder/prefix/share/man man lodecard-loop 2>&1)

build_and_run shared $(pkg-config --cflags --libs lodecard)
check "shared: needs the library by its soname" \
    grep -q 'NEEDED.*liblodecard\.so\.0' <(readelf -d "$folder/shared")
build_and_run static $(pkg-config --static --cflags --libs lodecard | sed 's/-llodecard/-l:liblodecard.a/')
check "static: does not need the library" \
    test -z "$(readelf -d "$folder/static" | grep lodecard)"
check "both print the same" cmp "$folder/shared.out" "$folder/static.out"

# Names beginning with __ belong to compiler and sanitizers, mangle_path to what counts lines.
names() { nm -g --defined-only "$@" | awk 'NF == 3 && $3 !~ /^(lodecard_|_|\.|mangle_path$)/ { print; bad = 1 } END { exit bad }'; }
check "the shared library shows public names only" names -D "$folder/prefix/lib/liblodecard.so.0"
check "the static library shows public names only" names "$folder/prefix/lib/liblodecard.a"
check "the header declares every public name" diff \
    <(nm -D --defined-only "$folder/prefix/lib/liblodecard.so.0" | awk '/ lodecard_/ { print $3 }' | sort) \
    <(grep -oE '\blodecard_[a-z_]+\(' src/liblodecard/lodecard.h | tr -d '(' | sort -u)

check "make uninstall" run_make uninstall PREFIX="$folder/prefix"
check "leaves no file behind" test -z "$(find "$folder/prefix" ! -type d)"
check "make install into DESTDIR" run_make install DESTDIR="$folder/stage" PREFIX=/opt/lodecard
check "DESTDIR does not show in the pkg-config file" \
    grep -qx 'prefix=/opt/lodecard' "$folder/stage/opt/lodecard/lib/pkgconfig/lodecard.pc"
check "make uninstall from DESTDIR" run_make uninstall DESTDIR="$folder/stage" PREFIX=/opt/lodecard
check "leaves no file in DESTDIR" test -z "$(find "$folder/stage" ! -type d)"

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
