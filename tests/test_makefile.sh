# SPDX-License-Identifier: GPL-3.0-or-later
# The Makefile keeps its promises: its head names every target, an unknown variant is an error, and
# nothing asks for pkg-config before the packages are there.
passed=0
failed=0
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
unset MAKEFLAGS MAKELEVEL

result() { # NAME STATUS
    if [ "$2" = 0 ]; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "$1: failed"
    fi
}

head=$(sed '/^[^#]/q; /^$/q' Makefile)
for target in $(sed -n '/^\.PHONY:/,/[^\\]$/p' Makefile | tr -d '\\' | sed 's/^\.PHONY://'); do
    grep -qE "(^#|[;,]) +$target( |;|:|,)" <<<"$head"
    result "the head names the target $target" $?
done

printed=$(make -n all VARIANT=fast 2>&1)
[ $? = 2 ] && grep -q "VARIANT is 'fast': it must be release, debug, san or coverage" <<<"$printed"
result "refuses an unknown variant" $?

for variant in release debug san coverage; do
    make -n all VARIANT=$variant BUILD="$folder/build" V=1 | grep -q -- "-o $folder/build/$variant/base/error.o"
    result "builds $variant in a folder of its own" $?
done

# A pkg-config that leaves a mark when it runs.
printf '#!/bin/sh\ntouch %s/asked\n' "$folder" >"$folder/pkg-config"
chmod +x "$folder/pkg-config"
for target in deps-build deps-test layers clean uninstall; do
    PATH="$folder:$PATH" make -n $target BUILD="$folder/build" PREFIX="$folder" >/dev/null 2>&1
    [ ! -e "$folder/asked" ]
    result "make $target does not need pkg-config" $?
    rm -f "$folder/asked"
done
printed=$(PATH="$folder:$PATH" make -n all BUILD="$folder/build" 2>&1)
[ $? = 2 ] && grep -q "libraries are missing: 'make deps-build deps-test' installs them" <<<"$printed"
result "make all says what to do without the libraries" $?

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
