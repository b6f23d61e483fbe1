# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC1091,SC2154 # lib/check.sh sets work, out and err
# Deliveries: where they go, what they say, what is never written over or half written.
set -u
. "$(dirname "$0")/lib/check.sh"

frame=$images/wedge-srgb16.tif
romm=$images/workshop-romm16.tif
chart=$images/chart-srgb16.png
d=$work/out

# Wrong command lines: status 2, and nothing done.
wrong() {
    text=$1
    shift
    run 2 deliver "$@"
    says "$err" "$text"
    says "$err" "quietsize deliver --help"
    empty "$out"
    [ ! -e "$d" ] || fail "a folder was made"
}
wrong "Name at least one picture" --size 50% --out "$d"
wrong "Say how large" --out "$d" "$frame"
wrong "Name a folder" --size 50% "$frame"
wrong "--bits is 8 or 16" --bits 12 --size 50% --out "$d" "$frame"
wrong "--format is tiff or png" --format jpeg --size 50% --out "$d" "$frame"
wrong "--compress is none" --compress zip --size 50% --out "$d" "$frame"
wrong "PNG can't be compressed by lzw" --format png --compress lzw --size 50% --out "$d" "$frame"
wrong "in braces it takes" --name '{nome}' --size 50% --out "$d" "$frame"
wrong "without a folder" --name '../{name}' --size 50% --out "$d" "$frame"
wrong "differs between pictures" --name delivery --size 50% --out "$d" "$frame"
wrong "did you mean --overwrite?" --overwirte --size 50% --out "$d" "$frame"
wrong "leave one of them out" --check --dry-run --size 50% --out "$d" "$frame"

# Folders are made; names tell the size; depth and format stay.
run 0 deliver --size 50% --size 100px --out "$d/a/b" "$frame" "$chart"
for name in wedge-srgb16-50pct.tif wedge-srgb16-100px.tif chart-srgb16-50pct.png \
    chart-srgb16-100px.png; do
    [ -s "$d/a/b/$name" ] || fail "no $name"
    says "$out" "$name"
done
says "$out" "16 bits"
says "$out" "Carried over: "
says "$out" "4 files delivered"
fits "$out"
tidy "$d/a/b"
empty "$err"

# The same bytes, whatever the number of threads, and whatever the locale.
for threads in 1 2 3 8; do
    run 0 deliver --threads "$threads" --size 37% --compress deflate --out "$d/t$threads" \
        "$frame" "$romm" "$chart"
    for name in wedge-srgb16-37pct.tif workshop-romm16-37pct.tif chart-srgb16-37pct.png; do
        cmp -s "$d/t1/$name" "$d/t$threads/$name" || fail "$name differs by threads"
    done
done

# What is there stays, unless --overwrite says otherwise.
before=$(cksum <"$d/a/b/wedge-srgb16-50pct.tif")
run 1 deliver --size 50% --filter area --out "$d/a/b" "$frame"
says "$err" "is there already"
[ "$before" = "$(cksum <"$d/a/b/wedge-srgb16-50pct.tif")" ] || fail "written over"
run 0 deliver --size 50% --filter area --overwrite --out "$d/a/b" "$frame"
[ "$before" != "$(cksum <"$d/a/b/wedge-srgb16-50pct.tif")" ] || fail "not written over"

# --resume keeps what is finished, by pixels and settings, and makes the rest.
cp "$frame" "$work/own.tif"
run 0 deliver --size 50% --out "$d/r" "$work/own.tif"
ln "$d/r/own-50pct.tif" "$work/kept"
run 0 deliver --resume --size 50% --size 40% --out "$d/r" "$work/own.tif"
says "$out" "Finished before"
[ -s "$d/r/own-40pct.tif" ] || fail "the rest was not made"
[ "$d/r/own-50pct.tif" -ef "$work/kept" ] || fail "made again"
touch -t 203001010000 "$work/own.tif"
run 0 deliver --resume --size 50% --out "$d/r" "$work/own.tif"
[ "$d/r/own-50pct.tif" -ef "$work/kept" ] || fail "made again for its date"
run 0 deliver --resume --size 50% --compress deflate --out "$d/r" "$work/own.tif"
[ ! "$d/r/own-50pct.tif" -ef "$work/kept" ] || fail "kept in spite of other settings"
ln -f "$d/r/own-50pct.tif" "$work/kept"
# one sample changed, size and date as before
touch -r "$work/own.tif" "$work/date"
printf '\001' | dd of="$work/own.tif" bs=1 seek=5001 conv=notrunc 2>/dev/null
touch -r "$work/date" "$work/own.tif"
run 0 deliver --resume --size 50% --compress deflate --out "$d/r" "$work/own.tif"
[ ! "$d/r/own-50pct.tif" -ef "$work/kept" ] || fail "kept in spite of another pixel"
# something else under the name
echo "not a picture" >"$d/r/own-30pct.tif"
run 1 deliver --resume --size 30% --out "$d/r" "$work/own.tif"
says "$err" "is no delivery"
says "$d/r/own-30pct.tif" "not a picture"
# cut short by others
dd if="$d/r/own-40pct.tif" of="$d/r/cut" bs=1000 count=20 2>/dev/null
mv "$d/r/cut" "$d/r/own-40pct.tif"
run 1 deliver --resume --size 40% --out "$d/r" "$work/own.tif"
says "$err" "was changed since"
run 0 deliver --resume --overwrite --size 40% --out "$d/r" "$work/own.tif"

# A PNG is known by a chunk of its own, which readers pass over.
run 0 deliver --size 50% --format png --out "$d/r" "$work/own.tif"
ln -f "$d/r/own-50pct.png" "$work/kept"
run 0 deliver --resume --size 50% --format png --out "$d/r" "$work/own.tif"
says "$out" "Finished before"
[ "$d/r/own-50pct.png" -ef "$work/kept" ] || fail "a PNG was made again"

# A source is never written over, and no two deliveries have one name.
cp "$frame" "$work/s.tif"
run 2 deliver --size native --overwrite --name '{name}' --out "$work" "$work/s.tif"
says "$err" "never written over"
cmp -s "$frame" "$work/s.tif" || fail "a source was written to"
ln -s s.tif "$work/link-50pct.tif"
cp "$frame" "$work/link.tif"
run 2 deliver --size 50% --overwrite --out "$work" "$work/link.tif" "$work/s.tif"
cmp -s "$frame" "$work/s.tif" || fail "a source was written to by a link"
mkdir "$work/one" "$work/two"
cp "$frame" "$work/one/x.tif"
cp "$romm" "$work/two/x.tif"
run 2 deliver --size 50% --out "$d/x" "$work/one/x.tif" "$work/two/x.tif"
says "$err" "would both be delivered as"
run 0 deliver --size 50% --name '{number}-{name}-{width}x{height}' --out "$d/x" \
    "$work/one/x.tif" "$work/two/x.tif"
[ "$(find "$d/x" -name '[12]-x-*x*.tif' | wc -l)" -eq 2 ] || fail "names by number"

# Into the folder the frames are in: what was delivered is not delivered again.
mkdir "$work/same"
cp "$frame" "$work/same/f.tif"
run 0 deliver --size 50% --out "$work/same" "$work/same"
run 0 deliver --resume --size 50% --size 40% --out "$work/same" "$work/same"
[ "$(find "$work/same" -type f | wc -l)" -eq 3 ] || fail "deliveries of deliveries"

# A bad file is named and passed over; so is a size that is too large.
head -c 3000 "$frame" >"$work/one/bad.tif"
run 1 deliver --size 50% --out "$d/bad" "$work/one"
says "$err" "bad.tif"
[ -s "$d/bad/x-50pct.tif" ] || fail "the good one was not made"
[ ! -e "$d/bad/bad-50pct.tif" ] || fail "half a picture was delivered"
tidy "$d/bad"
run 1 deliver --size 100MP --size 50% --out "$d/large" "$frame"
says "$err" "never made larger"
[ -s "$d/large/wedge-srgb16-50pct.tif" ] || fail "the smaller one was not made"
run 1 deliver --size 50% --out "$frame" "$chart"
says "$err" "is a file, where a folder"

# A dry run writes nothing.
run 0 deliver --dry-run --size 50% --compress deflate --out "$d/dry" "$frame" "$romm"
says "$out" "Nothing was written"
says "$out" "about "
[ ! -e "$d/dry" ] || fail "a dry run made a folder"

# The disk full, as far as a limit can play it: a word, and nothing half done.
(
    ulimit -f 40
    "$quietsize" deliver --size 90% --out "$d/full" "$frame" >"$out" 2>"$err"
    [ $? -eq 1 ]
) || fail "a file that may not grow"
says "$err" "wedge-srgb16"
if [ -d "$d/full" ]; then
    [ -z "$(ls -A "$d/full")" ] || fail "something is left of a full disk"
fi

# JSON, and the noise looked at in the file.
"$glassroom" --scene wedge --iso 3200 --width 1400 --height 700 --out "$work/flat.tif" >/dev/null 2>&1 || exit 1
run 0 deliver --check --json "$work/j" --size 50% --out "$d/c" "$work/flat.tif"
says "$work/j" '"fall_predicted"'
says "$work/j" '"tags"'
says "$out" "as predicted"
run 0 deliver --quiet --size 50% --out "$d/q" "$frame"
empty "$out"
empty "$err"

# Stopped in the middle: whole files under final names, and nothing else.
mkdir "$work/many"
here=$(cd "$(dirname "$frame")" && pwd)/$(basename "$frame")
for i in 1 2 3 4 5 6 7 8 9; do
    for j in 0 1 2 3 4 5 6 7 8 9; do
        ln -s "$here" "$work/many/$i$j.tif"
    done
done
"$quietsize" deliver --size 95% --compress deflate --out "$d/stop" "$work/many" \
    >"$out" 2>"$err" &
child=$!
tries=0
while [ "$(find "$d/stop" -name '*.tif' 2>/dev/null | wc -l)" -lt 3 ] && [ $tries -lt 200 ]; do
    sleep 0.05
    tries=$((tries + 1))
done
kill -INT "$child" 2>/dev/null
wait "$child"
tidy "$d/stop"
run 0 deliver --size 95% --compress deflate --out "$d/whole" "$work/many/10.tif"
for file in "$d/stop"/*.tif; do
    cmp -s "$file" "$d/whole/10-95pct.tif" || fail "$file is not whole"
done
run 0 deliver --resume --size 95% --compress deflate --out "$d/stop" "$work/many"
[ "$(find "$d/stop" -name '*.tif' | wc -l)" -eq 90 ] || fail "not all were finished"
finish
