# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# A wrong command line: status 2, a plain word, nothing done.
set -u
. "$(dirname "$0")/lib/check.sh"

frame=$images/wedge-srgb16.tif

# wrong TEXT ARGUMENT...: standard error says TEXT, and how to get help.
wrong() {
    text=$1
    shift
    run 2 measure "$@"
    says "$err" "$text"
    says "$err" "quietsize measure --help"
    empty "$out"
}

wrong "Name at least one frame"
wrong "Name at least one frame" --
wrong "did you mean lanczos3?" --filter lanzcos3 "$frame"
wrong "There is no filter \"best\"" --filter best "$frame"
wrong "did you mean --filter?" --fliter area "$frame"
wrong "There is no option -x" -x "$frame"
wrong "--json needs a value" "$frame" --json
wrong "--quiet takes no value" --quiet=yes "$frame"
for patch in 1,2,3 1,2,3,4,5 -1,2,30,40 1,2,0,40 a,b,c,d 1.5,2,30,40 99999999999,1,1,1 ""; do
    wrong "--patch takes X,Y,W,H" --patch "$patch" "$frame"
done
wrong "20MP" --size 20XP "$frame"
wrong "16:9" --crop 16x9 "$frame"
wrong "gamma" --encoding rgb "$frame"
wrong "--light is linear or encoded" --light dim "$frame"
wrong "--white must be above --black" --black 5000 --white 5000 "$frame"
wrong "--black takes a number" --black 0x10 "$frame"
wrong "--iso takes a number" --iso nan "$frame"
wrong "--shutter takes seconds" --shutter 1/0 "$frame"
wrong "--aperture takes a number" --aperture f2.8 "$frame"
wrong "--threads takes a whole number" --threads 0 "$frame"
wrong "standard output" --json - --csv - "$frame"
wrong "the same file" --json "$work/a" --csv "$work/a" "$frame"
[ ! -e "$work/a" ] || fail "a file was made"

cp "$frame" "$work/own.tif"
wrong "is a frame to be measured" --json "$work/own.tif" "$work/own.tif"
cmp -s "$frame" "$work/own.tif" || fail "a frame was written to"

run 2 filters --size 20MP
says "$err" "--frame"
run 2 filters --size 150%
run 2 filters --frame 100x100 --size hd
run 2 filters --frame 100
run 2 filters a.tif
says "$err" "looks at no file"
finish
