# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# Plans: sizes, criteria, light, lamps, movement, flicker, briefs; text, JSON, CSV, status.
set -u
. "$(dirname "$0")/lib/check.sh"
here=$(cd "$(dirname "$0")/../.." && pwd)

for iso in 100 800 6400; do
    for n in 1 2; do
        "$glassroom" --scene wedge --iso "$iso" --width 900 --height 600 --seed "$iso$n" \
            --out "$work/w-$iso-$n.tif" >"$out" 2>"$err" || fail "no frame"
    done
done
run 0 sheet --quiet --out "$work/halden.json" "$work"/w-*.tif
sheet=$work/halden.json

# number KEY: the first number under a key of the JSON in $out.
number() {
    sed -n "s/.*\"$1\": \\([-0-9.e+]*\\),*\$/\\1/p" "$out" | head -n 1
}

# near A B SHARE: whether two numbers differ by less than a share.
near() {
    awk -v a="$1" -v b="$2" -v s="$3" \
        'BEGIN { d = a - b; exit !(d < 0 ? -d < s * b : d < s * b) }' ||
        fail "$1 is not near $2"
}

# The ladder, and the criterion that is used where none is given.
run 0 plan "$sheet"
fits "$out"
empty "$err"
says "$out" "as nothing else was asked for"
says "$out" "native"

# JSON: the promised keys; light by E = 250 N^2 / (t S).
run 0 plan "$sheet" --size 50% --snr 25 --tone -1 --aperture 2.8 --shutter 1/125 \
    --light 40lux --json -
for key in tool version format plan criterion rows size width height megapixels filter \
    max_iso max_iso_low max_iso_high beyond_test light_lux ev100 luminance_cd_m2 \
    saves_stops short_stops; do
    says "$out" "\"$key\":"
done
iso=$(number max_iso)
near "$(number light_lux)" "$(awk -v s="$iso" 'BEGIN { print 250 * 7.84 * 125 / s }')" 0.0001
near "$(number needed_iso)" 6125 0.0001
if [ -n "${QS_PYTHON:-}" ]; then
    "$QS_PYTHON" -m json.tool "$out" >/dev/null || fail "no JSON"
fi

# CSV: a line for each size, filter and ISO.
run 0 plan "$sheet" --size 50% --size 25% --filter area --filter lanczos3 --csv -
[ "$(wc -l <"$out")" -eq 13 ] || fail "not 12 lines and a heading"
says "$out" "use,kind,size,width,height,megapixels,filter,reduction"

# As quiet as an ISO at full size: at full size that is this ISO.
run 0 plan "$sheet" --size 100% --like 800 --json -
near "$(number max_iso)" 800 0.001
run 2 plan "$sheet" --like 50
says "$err" "outside of what was tested"

# Other criteria.
run 0 plan "$sheet" --size 50% --snr excellent
says "$out" '"excellent" in ISO 12232'
run 0 plan "$sheet" --size 50% --visible 1.5 --seen-from 50cm --ppi 110
says "$out" "as seen from 50 cm at 110 ppi"
run 0 plan "$sheet" --size a6@1m --visible 1.5 --seen-from 1m --eye barten
says "$out" "at 87"
run 0 plan "$sheet" --size 50% --channel b
says "$out" "in blue"
run 2 plan "$sheet" --snr 10 --like 800
says "$err" "take one"
run 2 plan "$sheet" --seen-from 50cm --ppi 100
says "$err" "--visible"
run 2 plan "$sheet" --visible 1
says "$err" "--seen-from"
run 2 plan "$sheet" --snr loud
says "$err" "excellent (40)"

# Nothing that was asked for can be met.
run 3 plan "$sheet" --size 50% --snr 5000
says "$out" "no ISO that was tested"

# The gap, and ways to close it in the trade's order.
run 0 plan "$sheet" --size 90% --snr 25 --aperture 4 --shutter 1/125 --light 20lux --widest 2.8
says "$out" "open up to f/2.8 (closes 1.0"
says "$out" "slow the shutter"
says "$out" "light the subject with"
says "$out" "raise the ISO"
fits "$out"

# The exposure alone: any three give the fourth.
run 0 plan --aperture 2.8 --shutter 1/125 --light 80lux
says "$out" "ask for ISO 3100"
run 0 plan --aperture 2.8 --light 80lux --iso 3200
says "$out" "ask for 1/131"
run 0 plan --shutter 1/125 --light 80lux --iso 3200
says "$out" "ask for f/2.9"
run 0 plan --aperture 2.8 --shutter 1/125 --iso 3200
says "$out" "ask for 77 lux"
run 0 plan --aperture 2.8 --shutter 1/125 --iso 3200 --light 154lux
says "$out" "1.0 stop too bright"

# Stills and motion, movement, lamps, ambient, flicker; the cautions once.
run 0 plan "$sheet" --size 50% --motion 640x360 --fps 25 --angle 180 --aperture 2.8 \
    --shutter 1/125 --moves 0.5m/s --field-width 2m --lamp "key=1200lux@1m,2.5m,1" \
    --lamp fill=400@1m,3m --ambient 15lux --hold-ambient 2 --mains 50 --pwm 1000
fits "$out"
says "$out" "The light can't change between stills and motion"
says "$out" "slowest"
says "$out" "together"
says "$out" "To hold ambient 2"
says "$out" "1/100 s is the fastest"
says "$out" "no flicker"
says "$out" "a rate of its"
says "$out" "these shutter angles are safe"
[ "$(grep -c 'With lamps' "$out")" -eq 1 ] || fail "cautions are not there once"
run 2 plan "$sheet" --motion hd
says "$err" "--fps"

# Noise too fine to be seen is none, not some other figure.
run 0 plan "$sheet" --size 100% --visible 1 --seen-from 100m --ppi 300
says "$out" " 0.00"

# What would be passed over is said.
run 2 plan "$sheet" --light 0
says "$err" "some light"
run 2 plan "$sheet" --ppi 300
says "$err" "--seen-from"
run 2 plan "$sheet" --aperture 2.8 --shutter 1/125 --light 80lux --widest 4
says "$err" "narrower"

# A brief; its slips named by line.
mkdir "$work/job"
sed -e 's/a2@2m/a6@2m/' -e 's/2560px/600px/' -e 's/= uhd/= 640x360/' \
    "$here/docs/examples/dusk.ini" >"$work/job/dusk.ini"
(cd "$work" && "$quietsize" plan --brief job/dusk.ini --size 40% >"$out" 2>"$err") ||
    fail "the brief of the manual"
says "$out" "Plan for Glass at dusk"
says "$out" "40 %"
lacks "$out" "poster"
(cd "$work" && "$quietsize" plan --brief job/dusk.ini >"$out" 2>"$err") || fail "the brief"
says "$out" "poster"
says "$out" "film (motion)"
# slip TEXT MESSAGE: a brief of that text is refused with those words.
slip() {
    printf '%b' "$1" >"$work/slip.ini"
    run 2 plan "$sheet" --brief "$work/slip.ini"
    says "$err" "$2"
}
slip '[exposure]\naperturre = 2.8\n' 'Line 2 of the brief: [exposure] has no "aperturre"; did you mean aperture'
slip '[exposre]\naperture = 2.8\n' 'did you mean [exposure]'
slip '\n[use web]\ncrop = 16:9\n[light]\nlight = 80lux\n' 'Line 2 of the brief: [use web] has no size'
slip '[use web]\nsize = uhd\n[use web]\nsize = hd\n' 'Line 3 of the brief: [use web] begins a second time, after line 1'
slip '[use web]\n[light]\nlight = 80lux\n' 'Line 1 of the brief: [use web] has no size'
slip '[usse web]\n' 'did you mean [use]'
slip '[exposure]\naperture = 2.8\naperture = 4\n' 'has a second aperture; the first is on line 2'
slip '[lamps]\nkey = 90lux@1m\nkey = 90lux@2m\n' 'has a second key'
slip '[criterion]\nsnr = loud\n' 'Line 2 of the brief: A signal-to-noise'
slip '[lamps]\nkey = bright\n' 'Line 2'
slip 'what is this\n' 'Line 1'
slip 'light = 80lux\n' 'before the first [section]'
printf '[use web]\n  size = 40%%\n\tkind = stills\n' >"$work/indented.ini"
run 0 plan "$sheet" --brief "$work/indented.ini"

# What is read is never written over; what means nothing is said to.
cp "$sheet" "$work/kept.json"
run 2 plan "$work/kept.json" --json "$work/kept.json"
says "$err" "would be written over"
cmp -s "$sheet" "$work/kept.json" || fail "a sheet was written over"
run 2 plan
says "$err" "Name a camera sheet"
run 2 plan --light 80lux
run 2 plan --moves 1m/s --aperture 2.8 --shutter 1/100 --light 100lux
says "$err" "--field-width"
run 2 plan --hold-ambient 2 --aperture 2.8 --shutter 1/100 --light 100lux
says "$err" "--ambient"

run 2 plan "$sheet" --brief "$work/none.ini"
says "$err" "can't be opened"

# Sizes larger than the frame are left out; slips of the command line.
run 3 plan "$sheet" --size 20MP
says "$out" "larger than the camera"
run 2 plan "$sheet" "$sheet"
says "$err" "one camera sheet"
run 2 plan --size 50%
says "$err" "Name a camera sheet"
run 1 plan "$work/none.json"
says "$err" "can't be opened"
run 2 plan "$sheet" --lamp key=100
says "$err" "key"
tidy "$work"
finish
