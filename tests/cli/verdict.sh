# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# What was done to a file: the verdict before the figures, and drift over a series.
set -u
. "$(dirname "$0")/lib/check.sh"

# make NAME OPTION...: a frame of flat grey, as a converter without filters leaves it.
make() {
    name=$1
    shift
    "$glassroom" --scene flat --tone -1 --iso 1600 --width 720 --height 480 --out \
        "$work/$name" "$@" >"$out" 2>"$err" || fail "glassroom made no $name"
}

# verdict NAME LEVEL CODE: of one frame, in the text and in JSON; CODE may be "".
verdict() {
    run 0 measure --json "$work/$1.json" "$work/$1"
    fits "$out"
    first=$(grep -n -m 1 -E '^  (Fit to use|Usable with care|Not usable)' "$out" | cut -d : -f 1)
    figures=$(grep -n -m 1 'Delivered at' "$out" | cut -d : -f 1)
    [ "${first:-99}" -lt "${figures:-0}" ] || fail "$1: no verdict before the figures"
    says "$work/$1.json" "\"verdict\":{\"level\":\"$2\",\"text\":\""
    if [ -n "$3" ]; then
        says "$out" "[$3"
        says "$work/$1.json" "\"code\":\"$3\""
    else
        says "$work/$1.json" '"warnings":[]'
    fi
}

make clean.tif
verdict clean.tif "fit to use" ""
says "$out" "  Fit to use: nothing speaks against the figures."
make plain.tif --demosaic bilinear --light warm --seed 2
verdict plain.tif "fit to use" ""
make grey.tif --demosaic none --seed 3
verdict grey.tif "fit to use" ""
make clean.png --seed 4
verdict clean.png "fit to use" ""

make luma.tif --smooth-luma 0.7 --seed 5
verdict luma.tif "not usable" noise-reduced
says "$out" "  Not usable to judge the camera: the converter smoothed the noise."
make chroma.tif --smooth-chroma 2 --seed 6
verdict chroma.tif "not usable" noise-reduced
make sharp.tif --sharpen 1 --seed 7
verdict sharp.tif "not usable" sharpened
make eight.png --depth 8 --seed 8
verdict eight.png "usable with care" eight-bit
make dark.tif --tone -9 --iso 12800 --seed 9
verdict dark.tif "not usable" clipped-black

# drift COUNT FRAME...: how many warnings of drift the last frame of a series has.
drift() {
    drifts=$1
    shift
    run 0 measure --quiet --json "$work/series.json" "$@"
    said=$(grep -o '"warnings":\[[^]]*\]' "$work/series.json" | tail -n 1 |
        grep -o '"code":"exposure-drift"' | wc -l)
    [ "$said" -eq "$drifts" ] || fail "$said warnings of drift instead of $drifts: $*"
}

# 0.3 stop more at the same settings, ISO against shutter, light that followed shutter.
make brighter.tif --tone -0.7 --seed 10
make iso.tif --iso 3200 --seed 11
make longer.tif --tone 0 --exposure 0.0625 --seed 12
drift 1 "$work/clean.tif" "$work/brighter.tif"
says "$work/series.json" "0.30 stops brighter"
says "$work/series.json" '"level":"usable with care"'
drift 0 "$work/clean.tif" "$work/iso.tif"
drift 0 "$work/clean.tif" "$work/longer.tif"
drift 1 "$work/brighter.tif" "$work/clean.tif"
says "$work/series.json" "0.30 stops darker"

# White balance: red codes times 1.02 are 1.02^2.35 = 1.048 in light there.
if command -v vips >/dev/null; then
    vips linear "$work/clean.tif" "$work/red.v" "1.02 1 1" "0 0 0" &&
        vips cast "$work/red.v" "$work/red.tif" ushort || fail "vips made no red.tif"
    drift 1 "$work/clean.tif" "$work/red.tif"
    says "$work/series.json" "White balance drifts"
    drift 0 "$work/red.tif" "$work/red.tif"
fi
finish
