# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# A series whose noise is known, from frames to the highest ISO: the simulator's grey camera,
# ISO 100 to 12800, two frames each.  Truth: its model (tools/glassroom/README.md, G2 and
# G13), solved here by bisection.  Bounds: 0.05 stop for the ISO, as promised; a model's part
# within 4 of its own standard errors, which the sheet's 95 % interval is 1.96 of.
set -u
. "$(dirname "$0")/lib/check.sh"
[ "${QS_TEST_BRIEF:-0}" = 1 ] && exit 77

for iso in 100 200 400 800 1600 3200 6400 12800; do
    for n in 1 2; do
        "$glassroom" --scene wedge --iso "$iso" --width 1400 --height 700 --demosaic none \
            --curve linear --pedestal 3000 --row 0 --column 0 --offset 0 --seed "$iso$n" \
            --out "$work/w-$iso-$n.tif" >"$out" 2>"$err" || fail "no frame"
    done
done
run 0 sheet --quiet --black 3000 --out "$work/grey.json" "$work"/w-*.tif
empty "$err"

# The parts at each ISO, against G2 and G13 (K in codes of 16383 - 512 for 52000 electrons).
awk '
    function off(name, truth,   se) {
        se = (v[name "_high"] - v[name "_low"]) / 3.92
        d = v[name] - truth
        if (d < 0) d = -d
        if (d > 4 * se + 1e-3 * truth) { print iso, name, v[name], "is not", truth; bad = 1 }
    }
    function judge(   k, s) {
        k = (16383 - 512) / 52000 * iso / 100
        s = sqrt(1.6 ^ 2 + (550 / iso) ^ 2 + 1 / (12 * k ^ 2))
        off("gain", iso / 100 / 52000)
        off("read", s * iso / 100 / 52000)
        off("pattern", 0.004)
        count++
    }
    { gsub(/[",:]/, " ") }
    $1 == "iso" { iso = $2 }
    $1 ~ /^(gain|read|pattern)(_low|_high)?$/ { v[$1] = $2 }
    $1 == "covariance" { judge() }
    END { if (count != 8) { print count, "models"; bad = 1 } exit bad }
' "$work/grey.json" >"$out" || fail "the model is off"

# truth SNR TONE RATIO: the highest ISO by the written-down noise.
truth() {
    awk -v snr="$1" -v tone="$2" -v ratio="$3" '
        function noise(iso, m,   k, g, s) {
            k = (16383 - 512) / 52000 * iso / 100
            g = iso / 100 / 52000
            s = 1.6 ^ 2 + (550 / iso) ^ 2 + 1 / (12 * k ^ 2)
            return sqrt(s * g * g + g * m + (0.004 * m) ^ 2)
        }
        BEGIN {
            m = 0.18 * 2 ^ tone
            low = 100; high = 12800
            for (i = 0; i < 60; i++) {
                mid = sqrt(low * high)
                if (m / (ratio * noise(mid, m)) >= snr) low = mid; else high = mid
            }
            print low
        }'
}

# ask SIZE FILTER RATIO SNR TONE: ratios of white noise from the table of kernels (computed).
ask() {
    run 0 plan "$work/grey.json" --size "$1" --filter "$2" --snr "$4" --tone "$5" --quiet \
        --json "$work/plan.json"
    iso=$(sed -n 's/.*"max_iso": \([0-9.]*\),*$/\1/p' "$work/plan.json")
    awk -v a="$iso" -v b="$(truth "$4" "$5" "$3")" 'BEGIN {
        d = log(a / b) / log(2); exit !(d < 0.05 && d > -0.05) }' ||
        fail "$*: ISO $iso, true $(truth "$4" "$5" "$3")"
}
ask 100% area 1 20 0
ask 100% area 1 10 -3
ask 50% area 0.5 25 -2
ask 50% lanczos3 0.4469 40 0
ask 25% mitchell 0.1703 60 -1
ask 25% triangle 0.1641 20 -4
finish
