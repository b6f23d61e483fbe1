# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# Repeats of one scene: measured, and refused where they are none.
set -u
. "$(dirname "$0")/lib/check.sh"

# make NAME OPTION...: a frame of the simulator's camera.
make() {
    name=$1
    shift
    "$glassroom" --iso 3200 --width 720 --height 480 --out "$work/$name" "$@" \
        >"$out" 2>"$err" || fail "glassroom made no $name"
}

for n in 1 2 3 4; do
    make "wedge$n.tif" --scene wedge --seed "$n"
    make "shop$n.tif" --scene workshop --seed "$n"
done
wedges="$work/wedge1.tif $work/wedge2.tif $work/wedge3.tif $work/wedge4.tif"
shops="$work/shop1.tif $work/shop2.tif $work/shop3.tif $work/shop4.tif"

# shellcheck disable=SC2086 # lists of files
run 0 measure --same-scene $wedges
fits "$out"
empty "$err"
says "$out" "random"
# shellcheck disable=SC2086
run 0 measure --same-scene --json "$work/wedge.json" $wedges
for key in '"same_scene":{"frames":4' '"patches":[{' '"sd_total":' '"sd_random":' \
    '"sd_fixed":'; do
    says "$work/wedge.json" "$key"
done

# At least 12 classes of tone on any scene with tones, textured ones too.
# shellcheck disable=SC2086
run 0 measure --same-scene --json "$work/shop.json" $shops
classes=$(grep -o '"tones":{"[a-z]*":\[[^]]*\]' "$work/shop.json" | head -n 1 |
    grep -o '"mean":' | wc -l)
[ "$classes" -ge 12 ] || fail "$classes classes of tone instead of 12"

# What is no repeat is refused, and the frame is named.
make small.tif --scene wedge --width 600 --seed 5
run 1 measure --same-scene "$work/wedge1.tif" "$work/small.tif"
says "$err" "small.tif"
run 1 measure --same-scene "$work/shop1.tif" "$work/wedge1.tif"
run 1 measure --same-scene "$work/wedge1.tif" "$work/absent.tif"
says "$err" "absent.tif"
run 2 measure --same-scene "$work/wedge1.tif"

# Cut from one larger view, 4 px and 2 px apart: the mosaic of both falls alike.
if command -v vips >/dev/null; then
    for n in 1 2; do
        make "large$n.tif" --scene workshop --width 760 --height 520 --seed "$n"
    done
    {
        vips extract_area "$work/large1.tif" "$work/still.tif" 20 20 720 480 &&
            vips extract_area "$work/large2.tif" "$work/moved.tif" 16 18 720 480
    } >"$out" 2>"$err" || fail "vips cut nothing out"
    run 1 measure --same-scene "$work/still.tif" "$work/moved.tif"
    says "$err" "shifted by 4.0 px right and 2.0 px down"
fi
finish
