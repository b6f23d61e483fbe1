# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# Camera sheets: made, kept, added to, shown, drawn; and what is refused, with its reason.
set -u
. "$(dirname "$0")/lib/check.sh"
here=$(cd "$(dirname "$0")/../.." && pwd)
frames=$work/frames
mkdir "$frames"

# make NAME OPTION...: a frame of the simulator's camera.
make() {
    name=$1
    shift
    "$glassroom" --width 700 --height 500 --out "$work/$name" "$@" >"$out" 2>"$err" ||
        fail "glassroom made no $name"
}

# The form of a sheet, by its schema and a validator that is not ours.
valid() {
    python=${QS_PYTHON:-python3}
    "$python" -c 'import jsonschema' 2>/dev/null || return 0
    "$python" - "$here/docs/camera-sheet.schema.json" "$1" <<'END' || fail "$1 is against the schema"
import json, sys
import jsonschema
schema, sheet = (json.load(open(name)) for name in sys.argv[1:3])
jsonschema.Draft202012Validator.check_schema(schema)
jsonschema.Draft202012Validator(schema).validate(sheet)
END
}

for iso in 100 800 6400; do
    for n in 1 2; do
        make "frames/wedge-$iso-$n.tif" --scene wedge --iso "$iso" --seed "$iso$n"
    done
done

# A folder: ISO from the tags, repeats found, the table shown.
run 0 sheet --out "$work/a.json" "$frames"
empty "$err"
fits "$out"
says "$out" "2 repeats"
says "$out" "Halden Q48"
says "$out" "Of the colours"
valid "$work/a.json"

# The same, whatever the order of the files.
run 0 sheet --quiet --out "$work/b.json" "$frames"/wedge-6400-2.tif \
    "$frames"/wedge-100-?.tif "$frames"/wedge-800-?.tif "$frames"/wedge-6400-1.tif
empty "$out"
cmp "$work/a.json" "$work/b.json" || fail "the order of the frames matters"

# In two steps; and shown.
run 0 sheet --quiet --out "$work/c.json" "$frames"/wedge-100-?.tif "$frames"/wedge-800-?.tif
run 0 sheet --quiet --add "$work/c.json" "$frames"/wedge-6400-?.tif
cmp "$work/a.json" "$work/c.json" || fail "adding gives another sheet"
run 0 sheet "$work/a.json"
says "$out" "6400"
lacks "$out" "not kept"
run 0 sheet "$frames"/wedge-100-?.tif
says "$out" "not kept"
run 0 sheet --out - "$frames"/wedge-100-?.tif
cp "$out" "$work/d.json"
valid "$work/d.json"

# Charts.
for ending in svg png pdf; do
    run 0 sheet --quiet "$work/a.json" --chart "$work/chart.$ending"
    [ -s "$work/chart.$ending" ] || fail "no chart.$ending"
done
if command -v xmllint >/dev/null 2>&1; then
    xmllint --noout "$work/chart.svg" || fail "chart.svg is no XML"
fi
if command -v pdftotext >/dev/null 2>&1; then
    pdftotext "$work/chart.pdf" "$work/chart.txt"
    says "$work/chart.txt" "ISO 6400"
    says "$work/chart.txt" "Noise over tone"
fi
says "$work/chart.svg" ">ISO 6400</text>"
run 2 sheet "$work/a.json" --chart "$work/chart.gif"
says "$err" ".svg, .png or .pdf"

# Tags that were lost: PNG frames of the simulator have none.
make lost-1.png --scene wedge --iso 3200 --seed 1
make lost-2.png --scene wedge --iso 3200 --seed 2
for file in "$work"/lost-1.png "$work"/lost-2.png; do
    [ -e "$file" ] || exit 77
done
printf '\357\273\277Shutter,"file" , ISO,lux,remark\r\n1/125,lost-1.png,3200,80lux,"a ""q"", b"\r\n\r\n0.008,"lost-2.png",3200,,\r\n' \
    >"$work/log.csv"
run 0 sheet --quiet --out "$work/e.json" --log "$work/log.csv" "$work"/lost-?.png
empty "$err"
says "$work/e.json" '"light_lux": 80.0'
says "$work/e.json" '"exposure_s": 0.008'
valid "$work/e.json"
run 0 sheet --quiet --out "$work/f.json" --iso "lost-1.png=1600" --iso "$work/lost-2.png=3200" \
    "$work"/lost-?.png
says "$work/f.json" '"iso": 1600.0'
run 0 sheet --quiet --out "$work/g.json" --iso 1600 "$work"/lost-?.png
lacks "$work/g.json" '"iso": 3200.0'

# Slips, each told in words.
run 1 sheet --quiet --out "$work/h.json" --iso elsewhere.tif=100 "$frames"/wedge-100-?.tif
says "$err" "names no frame"
for line in 'file,iso|a.tif,many|Line 2' 'name,iso|a.tif,100|columns' \
    'file,shutter|a.tif,soon|Line 2' 'file|"a.tif|no end' 'file,lux|,80|Line 2'; do
    printf '%s\n%s\n' "${line%%|*}" "$(printf '%s' "$line" | cut -d'|' -f2)" >"$work/bad.csv"
    run 1 sheet --quiet --log "$work/bad.csv" "$frames"/wedge-100-?.tif
    says "$err" "${line##*|}"
done
run 1 sheet --log "$work/none.csv" "$frames"/wedge-100-1.tif
says "$err" "can't be opened"
run 2 sheet
says "$err" "Name the frames"
run 2 sheet --iso =100 "$frames"/wedge-100-1.tif
says "$err" "FILE=VALUE"
run 2 sheet --out "$work/i.json" "$work/a.json"
says "$err" "only shown"
run 2 sheet "$work/a.json" "$frames"/wedge-100-1.tif
says "$err" "--add"

# Frames that can't be used are named, kept in the sheet, and the others done.
make blur.tif --scene wedge --iso 800 --seed 9 --smooth-luma 4 --smooth-chroma 6
make small.tif --scene wedge --iso 800 --seed 9 --width 600
printf 'no picture' >"$work/broken.tif"
run 1 sheet --quiet --out "$work/j.json" "$frames"/wedge-100-?.tif "$work/small.tif" \
    "$work/broken.tif" "$work/missing.tif"
says "$err" "small.tif: It is 600 x 500 pixels"
says "$err" "broken.tif:"
says "$err" "missing.tif:"
says "$work/j.json" "small.tif"
valid "$work/j.json"
run 1 sheet --out "$work/k.json" "$work/broken.tif"
says "$err" "no camera sheet"
[ ! -e "$work/k.json" ] || fail "an empty sheet was kept"

# Two scenes at one exposure are not repeats of each other.
make shop-1.tif --scene workshop --iso 800 --seed 1
run 0 sheet --out "$work/l.json" "$frames"/wedge-800-?.tif "$work/shop-1.tif"
says "$err" "not as a repeat"

# What is read is never written over.
cp "$work/shop-1.tif" "$work/kept.tif"
run 2 sheet --out "$work/shop-1.tif" "$work/shop-1.tif"
says "$err" "would be written over"
run 2 sheet --chart "$work/shop-1.tif" "$work/shop-1.tif"
printf 'file,iso\n\nshop-1.tif,800\n\n"odd\nname.tif",loud\n' >"$work/log.csv"
cp "$work/log.csv" "$work/log-kept.csv"
run 2 sheet --out "$work/log.csv" --log "$work/log.csv" "$work/shop-1.tif"
cmp -s "$work/kept.tif" "$work/shop-1.tif" || fail "a frame was written over"
cmp -s "$work/log-kept.csv" "$work/log.csv" || fail "a log was written over"

# A log's slips, by their lines, whatever stands before them.
run 1 sheet --log "$work/log.csv" "$work/shop-1.tif"
says "$err" "Line 6 of the log"
printf 'file,iso,ISO\na.tif,1,2\n' >"$work/log.csv"
run 1 sheet --log "$work/log.csv" "$work/shop-1.tif"
says "$err" "two columns named iso"
printf 'file,aperture\na.tif,2,8\n' >"$work/log.csv"
run 1 sheet --log "$work/log.csv" "$work/shop-1.tif"
says "$err" "more cells than"
printf 'file,iso\na.tif,1\na.tif,2\n' >"$work/log.csv"
run 1 sheet --log "$work/log.csv" "$work/shop-1.tif"
says "$err" "Line 3 of the log names a.tif a second time"

# A sheet is about one way of reading the frames.
run 0 sheet --out "$work/n.json" "$work/shop-1.tif"
make shop-2.tif --scene workshop --iso 1600 --seed 2
run 1 sheet --add "$work/n.json" --encoding linear "$work/shop-2.tif"
says "$err" "read as"
run 1 sheet --add "$work/n.json" --black 300 "$work/shop-2.tif"
says "$err" "read as"

# Calibration: a grey card in known light.
make card.tif --scene flat --iso 1600 --light unit --exposure 0.008 --f-number 2.8
run 0 sheet --add "$work/a.json" --calibrate "$work/card.tif=306lux"
says "$out" "1.0 stop darker"
says "$work/a.json" '"light_lux": 306.0'
valid "$work/a.json"
"${QS_PYTHON:-python3}" - "$work/card.tif" "$work/bare.tif" <<'END' || fail "no frame without tags"
import sys
data = bytearray(open(sys.argv[1], "rb").read())
small = data[:2] == b"II"
order = "little" if small else "big"
at = int.from_bytes(data[4:8], order)
for i in range(int.from_bytes(data[at:at + 2], order)):
    entry = at + 2 + 12 * i
    if int.from_bytes(data[entry:entry + 2], order) == 0x8769:  # EXIF directory
        data[entry:entry + 2] = (0xFDE9).to_bytes(2, order)
open(sys.argv[2], "wb").write(data)
END
printf 'file,iso,shutter,aperture\nbare.tif,1600,1/125,2.8\n' >"$work/log.csv"
run 0 sheet --add "$work/a.json" --log "$work/log.csv" --calibrate "$work/bare.tif=306lux"
says "$out" "1.0 stop darker"
run 2 sheet --iso 100 --iso 200 "$frames"
says "$err" "given twice"
run 2 sheet --add "$work/a.json" --calibrate "$work/card.tif"
says "$err" "FRAME=LUX"

# Sheets that are none.
printf '{"kind": "camera-sheet"' >"$work/m.json"
run 1 sheet "$work/m.json"
says "$err" "not JSON"
printf '[]' >"$work/m.json"
run 1 sheet "$work/m.json"
says "$err" "no camera sheet"
run 1 sheet "$work/nothing.json"
says "$err" "can't be opened"
tidy "$work"
finish
