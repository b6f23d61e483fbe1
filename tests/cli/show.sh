# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# The frame drawn with its patches.
set -u
. "$(dirname "$0")/lib/check.sh"

"$glassroom" --scene wedge --iso 1600 --width 1800 --height 900 --out "$work/wedge.tif" \
    >"$out" 2>"$err" || fail "glassroom made no frame"
mkdir "$work/pictures"

run 0 measure --size 50% --filter area --show "$work/pictures/patches.png" "$work/wedge.tif"
says "$out" "Patches at full size"
empty "$err"
# The first 24 bytes of a PNG hold its signature, width and height (W3C PNG, 5.2, 11.2.1):
# 1800 x 900 comes down to 1600 x 800.
header=$(od -A n -t x1 -N 24 "$work/pictures/patches.png" | tr -d ' \n')
[ "$header" = 89504e470d0a1a0a0000000d494844520000064000000320 ] ||
    fail "not a PNG of 1600 x 800: $header"
tidy "$work/pictures"

# Without a patch that holds, the frame is drawn all the same.
run 0 measure --quiet --patch 10,10,200,200 --show "$work/pictures/one.png" "$work/wedge.tif"
cmp -s "$work/pictures/patches.png" "$work/pictures/one.png" &&
    fail "other patches make the same picture"

# One picture is of one frame.
run 2 measure --show "$work/pictures/two.png" "$work/wedge.tif" "$work/wedge.tif"
[ ! -e "$work/pictures/two.png" ] || fail "a picture of two frames"

# A folder that is not there: said, and nothing left.
run 1 measure --quiet --show "$work/nowhere/patches.png" "$work/wedge.tif"
says "$err" "nowhere"
run 1 measure --quiet --show "$work/pictures/no.png" "$work/absent.tif"
[ ! -e "$work/pictures/no.png" ] || fail "a picture of nothing"
tidy "$work/pictures"
finish
