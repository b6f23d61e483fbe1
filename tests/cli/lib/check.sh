# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC2034 # variables for the scripts
# What the scripts of tests/cli share.  Each is called as
#     sh SCRIPT PROGRAM TESTIMAGES GLASSROOM
# and ends with `finish`.  A script that can't run exits with 77.
quietsize=$1
images=$2
glassroom=${3:-}
work=$(mktemp -d "${TMPDIR:-/tmp}/quietsize-cli.XXXXXX") || exit 1
trap 'chmod -R u+rwx "$work"; rm -rf "$work"' EXIT
out=$work/stdout
err=$work/stderr
failures=0

fail() {
    failures=$((failures + 1))
    printf 'FAILED: %s\n' "$*"
    printf -- '--- standard output\n'; head -n 20 "$out"
    printf -- '--- standard error\n'; head -n 20 "$err"
}

# run STATUS ARGUMENT...: runs the program and checks its exit status.
run() {
    wanted=$1
    shift
    "$quietsize" "$@" >"$out" 2>"$err" </dev/null
    got=$?
    [ "$got" -eq "$wanted" ] || fail "status $got instead of $wanted: $*"
}

# Whether a file holds a text, a text stands in it, it is empty, or is valid JSON.
says() { grep -F -q -e "$2" "$1" || fail "no \"$2\" in $(basename "$1")"; }
lacks() { if grep -F -q -e "$2" "$1"; then fail "\"$2\" in $(basename "$1")"; fi; }
empty() { [ ! -s "$1" ] || fail "$(basename "$1") is not empty"; }

# Columns count characters, so the bytes that go on in UTF-8 are taken out first.
fits() {
    if LC_ALL=C tr -d '\200-\277' <"$1" | LC_ALL=C grep -q '.\{81\}'; then
        fail "$(basename "$1") is wider than 80 columns"
    fi
}

# No half-written file is left in the folder.
tidy() {
    for left in "$1"/.quietsize-*; do
        [ ! -e "$left" ] || fail "left behind: $left"
    done
}

finish() {
    [ "$failures" -eq 0 ] || exit 1
    exit 0
}
