# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# Frames and folders: one that is bad is named and doesn't stop the others.
set -u
. "$(dirname "$0")/lib/check.sh"

frame=$images/wedge-srgb16.tif

run 0 measure --patch 4,4,32,32 "$frame"
fits "$out"
says "$out" "wedge-srgb16.tif"
empty "$err"
run 0 measure --patch 4,4,32,32 --filter all "$frame"
fits "$out"

head -c 3000 "$frame" >"$work/cut.tif"
printf 'no picture' >"$work/text.tif"
run 1 measure --patch 4,4,32,32 "$work/cut.tif" "$work/none.tif" "$work/text.tif" "$frame"
says "$out" "wedge-srgb16.tif"
for bad in cut none text; do
    says "$err" "quietsize: $work/$bad.tif: "
done
[ "$(wc -l <"$err")" -eq 3 ] || fail "not one line for each"

# A patch is checked against each frame.
run 1 measure --patch 4,4,32000,32 "$frame"
says "$err" "wedge-srgb16.tif: "
empty "$out"

# A folder: by name, whatever the case of the ending; nothing hidden, nothing deeper.
mkdir "$work/folder" "$work/folder/deeper" "$work/folder/odd.tif" "$work/nothing"
cp "$frame" "$work/folder/b.TIF"
cp "$frame" "$work/folder/A.tiff"
cp "$images/chart-srgb16.png" "$work/folder/c.Png"
cp "$frame" "$work/folder/.hidden.tif"
cp "$frame" "$work/folder/deeper/d.tif"
printf 'notes' >"$work/folder/notes.txt"
run 0 measure --patch 4,4,32,32 --csv - "$work/folder"
cut -d , -f 1 "$out" | uniq | sed -e 1d -e 's,.*/,,' >"$work/order"
[ "$(tr '\n' ' ' <"$work/order")" = "A.tiff b.TIF c.Png " ] || fail "wrong files or order"
run 1 measure --patch 4,4,32,32 "$work/nothing" "$frame"
says "$err" "nothing: There is no TIFF or PNG file in this folder"
says "$out" "wedge-srgb16.tif"
if [ "$(id -u)" -ne 0 ]; then
    mkdir "$work/locked"
    chmod 0 "$work/locked"
    run 1 measure "$work/locked"
    says "$err" "locked: The folder can't be read"
fi

# Names that look like options, or would move a terminal's cursor.
cp "$frame" "$work/-odd.tif"
cd "$work" || exit 1
run 0 measure --patch 4,4,32,32 -- -odd.tif
says "$out" "-odd.tif"
escape=$(printf '\033')
run 1 measure "no${escape}[31mred.tif"
lacks "$err" "$escape"

# What the file does not say can be said.
run 0 measure --patch 4,4,32,32 --iso 5000 --shutter 1/40 --aperture f/1.8 \
    --camera "Plate camera" "$frame"
says "$out" "ISO 5000"
says "$out" "1/40 s"
says "$out" "f/1.8"
finish
