# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# JSON and CSV: pure, whole, or not there.
set -u
. "$(dirname "$0")/lib/check.sh"

frame=$images/wedge-srgb16.tif
patch="--patch 4,4,32,32"

# is_json FILE: where there is a tool to ask.
is_json() {
    if command -v jq >/dev/null; then
        jq -e . "$1" >/dev/null 2>&1 || fail "$(basename "$1") is no JSON"
    elif command -v python3 >/dev/null; then
        python3 -m json.tool "$1" >/dev/null 2>&1 || fail "$(basename "$1") is no JSON"
    fi
    lacks "$1" NaN
    lacks "$1" Infinity
}

run 1 measure $patch --json - "$frame" "$work/none.tif"
is_json "$out"
says "$out" '"errors":[{"file":'
says "$err" "none.tif"
run 0 filters --json -
is_json "$out"
empty "$err"

# Text, JSON and CSV at once.
run 0 measure $patch --json "$work/a.json" --csv "$work/a.csv" "$frame"
says "$out" "Delivered at"
is_json "$work/a.json"
says "$work/a.csv" "fall_worth_stops"
run 0 measure $patch --quiet --json "$work/b.json" "$frame"
empty "$out"
empty "$err"
cmp -s "$work/a.json" "$work/b.json" || fail "--quiet changes the figures"
for threads in 1 2 3; do
    run 0 measure $patch --quiet --threads $threads --json "$work/b.json" "$frame"
    cmp -s "$work/a.json" "$work/b.json" || fail "$threads threads change the figures"
done

# Warnings go to standard error where no report shows them.
run 0 measure $patch --json - "$images/wedge-srgb8.tif"
says "$err" "[eight-bit]"

# Links stay links, rights stay as they were.
ln -s a.json "$work/link.json"
chmod 600 "$work/a.json"
run 0 measure $patch --quiet --json "$work/link.json" "$frame"
[ -h "$work/link.json" ] || fail "the link was replaced"
[ "$(ls -l "$work/a.json" | cut -c 1-10)" = "-rw-------" ] || fail "rights have changed"

# Places where nothing can be written; the report is still there.
run 1 measure $patch --json "$work/no/folder/a.json" "$frame"
says "$err" "the folder does not exist"
says "$out" "Delivered at"
run 1 measure $patch --csv "$work" "$frame"
says "$err" "it is a folder"
if [ "$(id -u)" -ne 0 ]; then
    mkdir "$work/locked"
    printf 'kept' >"$work/locked/old.json"
    chmod 500 "$work/locked"
    run 1 measure $patch --json "$work/locked/old.json" "$frame"
    says "$err" "you may not write there"
    [ "$(cat "$work/locked/old.json")" = kept ] || fail "the old file is gone"
fi

# A full disk.
if [ -c /dev/full ]; then
    for to in json csv; do
        run 1 measure $patch --$to /dev/full "$frame"
        says "$err" "quietsize: /dev/full: It could not be written: the disk is full"
        says "$out" "Delivered at"
    done
    for arguments in "measure $patch $frame" "measure $patch --json - $frame" \
        "filters" "filters --json -" "--help" "measure --help"; do
        "$quietsize" $arguments >/dev/full 2>"$err"
        [ $? -eq 1 ] || fail "no status 1 on a full disk: $arguments"
        says "$err" "standard output: It takes no more"
        [ "$(wc -l <"$err")" -eq 1 ] || fail "said more than once: $arguments"
    done
fi

# A closed pipe: the reader ends before the program writes.
mkfifo "$work/pipe"
for arguments in "measure $patch $frame" "measure $patch --csv - $frame"; do
    : <"$work/pipe" &
    { sleep 1; "$quietsize" $arguments 2>"$err"; echo $? >"$work/status"; } >"$work/pipe"
    wait
    [ "$(cat "$work/status")" -eq 1 ] || fail "no status 1 on a closed pipe: $arguments"
    says "$err" "standard output: It takes no more"
done

tidy "$work"
finish
