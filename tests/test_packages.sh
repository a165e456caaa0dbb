# SPDX-License-Identifier: GPL-3.0-or-later
# Packages are asked for only when they are missing, and the user is told. The package tools are
# stand-ins that write down how they were called.
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0
failed=0

mkdir "$folder/bin" "$folder/bare"
for tool in sh env cat; do
    ln -s "$(command -v $tool)" "$folder/bin/$tool"
    ln -s "$(command -v $tool)" "$folder/bare/$tool"
done
make_tool() {
    printf '#!/bin/sh\n%s\n' "$2" >"$folder/bin/$1"
    chmod +x "$folder/bin/$1"
}
# shellcheck disable=SC2016 # the stand-ins expand these
{
    make_tool dpkg-query 'case $3 in there*) echo "ii " ;; removed) echo "rc " ;; *) exit 1 ;; esac'
    make_tool id 'echo $FAKE_ID'
    make_tool apt-get 'echo "apt-get $*"; [ "$DEBIAN_FRONTEND" = noninteractive ] || echo asks'
}

# expect NAME STATUS OUTPUT: of the last run.
expect() {
    if [ "$status" = "$2" ] && [ "$printed" = "$3" ]; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        printf '%s: expected status %s and:\n%s\nstatus %s and:\n%s\n' "$1" "$2" "$3" "$status" "$printed"
    fi
}
run() { # FAKE_ID PATH PACKAGE...
    local id=$1 path=$2
    shift 2
    printed=$(FAKE_ID=$id PATH=$path sh tests/tools/install-packages "$@" 2>&1)
    status=$?
}

run 0 "$folder/bin" there-1 there-2
expect "does nothing when all is there" 0 ""

run 0 "$folder/bin" there-1 new-1 there-2 removed new-2
options='-q -y -o Acquire::Retries=3 -o DPkg::Lock::Timeout=300'
expect "installs what is missing and says so" 0 "Installing with apt-get: new-1 removed new-2
apt-get $options update
apt-get $options install --no-install-recommends new-1 removed new-2"

run 1000 "$folder/bin" new-1
expect "tells who may not install what to do" 1 "These packages are missing: new-1
hint: as root, run: apt-get install new-1"

# shellcheck disable=SC2016
make_tool sudo 'echo "sudo $1"; "$@"'
run 1000 "$folder/bin" new-1
expect "asks sudo otherwise" 0 "Installing with apt-get: new-1
sudo env
apt-get $options update
sudo env
apt-get $options install --no-install-recommends new-1"

make_tool apt-get 'exit 100'
run 0 "$folder/bin" new-1
expect "fails when apt-get fails" 100 "Installing with apt-get: new-1"

run 0 "$folder/bare" there-1
expect "leaves other systems alone" 0 \
    "No Debian system: make sure that the like of these is installed: there-1"

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
