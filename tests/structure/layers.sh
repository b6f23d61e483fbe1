#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# layers.sh ROOT: a file of src includes only headers of its own folder and of those
# above it in src/LAYERS, and each outside library is met in one folder only.
set -u
cd "${1:?}/src" || exit 1

# Header of an outside library, and the folder that may include it.
libraries='
tiffio.h  image
png.h     image
zlib.h    image
zstd.h    image
expat.h   image
lcms2.h   linear
xxhash.h  deliver
fftw3.h   measure
ini.h     plan
jansson.h report sheet
cairo.h   report
cairo-pdf.h report
cairo-svg.h report
getopt.h  cli
'

{
    sed 's/^/layer /' LAYERS
    printf '%s\n' "$libraries" | sed -n 's/^\([a-z]\)/library \1/p'
    for folder in */; do
        printf 'folder %s\n' "${folder%/}"
    done
    # "include file header": angle brackets stay, so that ours and theirs are told apart
    grep -EHo '^[[:space:]]*#[[:space:]]*include[[:space:]]*[<"][^>"]*[>"]' ./*/*.[ch] |
        sed 's|^\./\([^:]*\):.*include[[:space:]]*|include \1 |'
} | awk '
    function complain(text) { print "src/" text; bad = 1 }
    $1 == "layer"   { rank[$2] = ++ranks; next }
    $1 == "library" { for (i = 3; i <= NF; i++) home[$2, $i] = 1; known[$2] = 1; next }
    $1 == "folder"  { if (!($2 in rank)) complain("LAYERS lacks the folder " $2); next }
    {
        own = $2; sub("/.*", "", own)
        header = substr($3, 2, length($3) - 2)
        includes++
    }
    $3 ~ /^"/ {
        other = header
        if (!sub("/.*", "", other) || !(other in rank))
            complain($2 " includes " $3 ", which names no folder of src/LAYERS")
        else if (rank[other] > rank[own])
            complain($2 " includes " $3 ", which lies below it in src/LAYERS")
        next
    }
    {
        library = header; sub("/.*", "", library)
        if ((library in known) && !((library, own) in home))
            complain($2 " includes <" header ">, which another folder keeps to itself")
    }
    END {
        if (includes == 0) complain(": no include was found, so nothing was checked")
        exit bad
    }'
