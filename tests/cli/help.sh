# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# Help and version: examples first, 80 columns, and a way on after every mistake.
set -u
. "$(dirname "$0")/lib/check.sh"

for command in "" measure sheet plan deliver filters; do
    run 0 $command --help
    fits "$out"
    empty "$err"
    says "$out" "quietsize ${command:-measure} "
    says "$out" "Examples"
done
run 0 measure --help
[ "$(head -n 1 "$out")" = "Examples" ] || fail "examples don't come first"
for option in patch size filter crop encoding black white light iso shutter aperture \
    camera json csv all-patches quiet threads; do
    says "$out" "--$option"
done
run 0 deliver --help
for option in size filter crop upright bits format compress ppi encoding out name overwrite \
    resume dry-run check json threads quiet; do
    says "$out" "--$option"
done
run 0 --version
says "$out" "quietsize 0."
run 0 measure --version
says "$out" "quietsize 0."

run 2
says "$err" "Examples"
empty "$out"
run 2 mesure a.tif
says "$err" "did you mean measure?"
run 2 evidence a.tif
says "$err" "Unknown command"
says "$err" "measure, sheet, plan, deliver, filters"
finish
