#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# headers.sh ROOT COMPILER: each header compiles alone, and twice.
set -u
cd "${1:?}" || exit 1
compiler=${2:?}
checked=0
bad=0
# shellcheck disable=SC2046 # the flags are to be split
set -- -std=c11 -D_POSIX_C_SOURCE=200809L -D_DARWIN_C_SOURCE -Wall -Wextra -Werror \
    -fsyntax-only -Isrc -Itests -Itools/glassroom \
    $(pkg-config --cflags libtiff-4 libpng fftw3 lcms2 jansson cairo inih expat check)

for header in src/*/*.h tests/*.h tools/*/*.h; do
    [ -e "$header" ] || continue
    checked=$((checked + 1))
    if ! printf '#include "%s/%s"\n#include "%s/%s"\n' "$PWD" "$header" "$PWD" "$header" |
        "$compiler" "$@" -I"${header%/*}" -x c -; then
        echo "$header does not compile alone"
        bad=1
    fi
done
echo "$checked headers"
[ "$checked" -gt 0 ] && [ "$bad" -eq 0 ]
