#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# contracted.sh LIBRARY OBJDUMP: no product and sum are contracted to one operation, in
# no clone for wide processors either, so that all processors give the same bits.
# -ffp-contract=off says so, but gcc 12 forgets it for some forms.
set -u
library=${1:?}
objdump=${2:-}
code=$(mktemp) || exit 1
trap 'rm -f "$code"' EXIT

command -v "$objdump" >/dev/null 2>&1 || {
    echo "objdump is not here"
    exit 77
}
"$objdump" -d "$library" >"$code" || exit 1
awk '
    /^[0-9a-f]+ <.*>:$/ { name = $2 }
    /[ \t]vfn?m(add|sub)/ { print "contracted in " name; bad = 1 }
    END { exit bad || NR == 0 }' "$code"
