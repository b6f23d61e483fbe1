# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# What a frame says goes on with the delivery, as exiftool and tiffinfo read it: every
# tag again, but for sides, strips and previews.  Skipped without exiftool.
set -u
. "$(dirname "$0")/lib/check.sh"
command -v exiftool >/dev/null 2>&1 || exit 77
command -v tiffinfo >/dev/null 2>&1 || exit 77

# A camera's own frame, where the package that has one is installed: its maker notes
# are carried byte for byte.
camera=/usr/share/libjxl-testdata/external/wesaturate/64px/a2d1un_nkitzmiller_srgb8.png
frame=$work/rich.tif
"$glassroom" --scene wedge --iso 3200 --width 600 --height 400 --out "$frame" >/dev/null 2>&1 ||
    exit 1

exiftool -q -overwrite_original \
    -EXIF:ISO=3200 -EXIF:ExposureTime=1/125 -EXIF:FNumber=2.8 -EXIF:LensModel='Halden 35' \
    -EXIF:DateTimeOriginal='2026:11:25 17:03:09' -EXIF:SubSecTimeOriginal=123 \
    -EXIF:OffsetTimeOriginal=+01:00 -EXIF:UserComment='Glasbläserei' -EXIF:Flash#=0 \
    -EXIF:SerialNumber=48 -EXIF:ExifImageWidth=600 -EXIF:ExifImageHeight=400 \
    -EXIF:GPSLatitude=46.5 -EXIF:GPSLatitudeRef=N -EXIF:GPSLongitude=7.25 \
    -EXIF:GPSLongitudeRef=E -EXIF:GPSAltitude=612.5 -EXIF:InteropIndex=R03 \
    -EXIF:Artist='A. Photographer' -EXIF:Copyright='their own' -EXIF:Rating=4 \
    -EXIF:XPComment='over the furnace' -EXIF:ImageDescription='workshop at dusk' \
    -XMP-dc:Title='Dusk' -XMP-dc:Subject=glass -XMP-dc:Subject=furnace \
    -XMP-xmp:Rating=4 -XMP-photoshop:City=Halden -XMP-tiff:ImageWidth=600 \
    -XMP-tiff:ImageHeight=400 -XMP-exif:ExifImageWidth=600 -XMP-exif:ExifImageHeight=400 \
    -IPTC:Headline='Glass' -IPTC:Keywords=glass -IPTC:Keywords=furnace -IPTC:City=Halden \
    -IPTC:CodedCharacterSet=UTF8 \
    "$frame" || exit 1
[ ! -r "$camera" ] || exiftool -q -overwrite_original -tagsFromFile "$camera" \
    -MakerNotes:all "$frame"

# All that is said, but for what has to differ.
told() {
    exiftool -a -u -G1 -s -ee "$1" 2>/dev/null | grep -v -E '^\[(File|System|Composite|ExifTool)\]' |
        grep -v -E ' (ImageWidth|ImageHeight|ExifImageWidth|ExifImageHeight|StripOffsets|StripByteCounts|RowsPerStrip|Compression|Predictor|XResolution|YResolution|ResolutionUnit|Filter|Interlace|BitDepth|ColorType|PixelsPerUnitX|PixelsPerUnitY|PixelUnits|PhotometricInterpretation|BitsPerSample|SamplesPerPixel|PlanarConfiguration|SubfileType|Orientation|ProfileName|SampleFormat|ThumbnailOffset|ThumbnailLength|FillOrder|XMPToolkit) ' |
        sed 's/ *: /: /' | LC_ALL=C sort
}
told "$frame" >"$work/before"
[ "$(wc -l <"$work/before")" -gt 50 ] || fail "the frame says too little to be a test"

for format in tiff png; do
    case $format in tiff) ending=tif ;; png) ending=png ;; esac
    run 0 deliver --size 50% --format "$format" --out "$work/o" "$frame"
    file=$work/o/rich-50pct.$ending
    told "$file" >"$work/after"
    # where IPTC and EXIF stand has another name in a PNG; what they say has not
    if [ "$format" = png ]; then
        sed 's/^\[[A-Za-z0-9-]*\]/[]/' "$work/before" | LC_ALL=C sort >"$work/want"
        sed 's/^\[[A-Za-z0-9-]*\]/[]/' "$work/after" | LC_ALL=C sort >"$work/got"
    else
        cp "$work/before" "$work/want"
        cp "$work/after" "$work/got"
    fi
    LC_ALL=C comm -23 "$work/want" "$work/got" >"$work/lost"
    [ ! -s "$work/lost" ] || {
        cat "$work/lost"
        fail "$format lost tags"
    }
    for pair in EXIF:ExifImageWidth=300 EXIF:ExifImageHeight=200 XMP:ExifImageWidth=300 \
        XMP:ExifImageHeight=200 XMP:ImageWidth=300 XMP:ImageHeight=200; do
        got=$(exiftool -s3 "-${pair%=*}" "$file")
        [ "$got" = "${pair#*=}" ] || fail "$format: ${pair%=*} is $got"
    done
    exiftool -validate -error -warning -a "$file" >"$work/valid" 2>&1
    if grep -i -E '^Error' "$work/valid"; then
        fail "exiftool finds errors in the $format"
    fi
done
tiffinfo "$work/o/rich-50pct.tif" >"$work/info" 2>&1
for text in 'Image Width: 300 Image Length: 200' 'Bits/Sample: 16' 'ICC Profile: <present>'; do
    says "$work/info" "$text"
done

# The profile's bytes, maker notes' bytes, and ppi.
exiftool -b -ICC_Profile "$frame" >"$work/icc1"
for file in "$work/o/rich-50pct.tif" "$work/o/rich-50pct.png"; do
    exiftool -b -ICC_Profile "$file" >"$work/icc2"
    cmp -s "$work/icc1" "$work/icc2" || fail "profile of $file"
done
run 0 deliver --size a6@100 --out "$work/p" "$frame"
[ "$(exiftool -s3 -XResolution "$work/p/rich-a6@100.tif")" = 100 ] || fail "ppi of a size"
run 0 deliver --size 50% --ppi 72 --out "$work/q" "$frame"
[ "$(exiftool -s3 -XResolution "$work/q/rich-50pct.tif")" = 72 ] || fail "--ppi"

# Nothing is called nothing that was carried: a frame of which only the picture's own
# directory says something.
cp "$images/wedge-srgb8.tif" "$work/plain.tif"
exiftool -q -overwrite_original -EXIF:all= -XMP:all= -EXIF:ImageDescription=dusk \
    "$work/plain.tif"
run 0 deliver --size 50% --json "$work/json" --out "$work/n" "$work/plain.tif"
lacks "$out" "nothing was said"
[ "$(exiftool -s3 -ImageDescription "$work/n/plain-50pct.tif")" = dusk ] || fail "a text"

# Orientation: kept as it lies with its tag, or turned upright without.
exiftool -q -overwrite_original -n -EXIF:Orientation=6 -XMP-tiff:Orientation=6 "$frame"
run 0 deliver --size 50% --out "$work/t" "$frame"
[ "$(exiftool -n -s3 -EXIF:Orientation "$work/t/rich-50pct.tif")" = 6 ] || fail "the tag"
run 0 deliver --size 50% --upright --out "$work/u" "$frame"
file=$work/u/rich-50pct.tif
[ "$(exiftool -n -s3 -EXIF:Orientation "$file")" = 1 ] || fail "the tag, upright"
[ "$(exiftool -n -s3 -XMP:Orientation "$file")" = 1 ] || fail "the tag in XMP, upright"
[ "$(exiftool -s3 -ImageWidth -ImageHeight "$file" | tr '\n' x)" = 200x300x ] ||
    fail "sides, upright"
says "$out" "Turned upright"
finish
