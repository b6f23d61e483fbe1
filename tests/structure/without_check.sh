#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# without_check.sh CMAKE GENERATOR ROOT: with QS_TESTS off the project needs no Check;
# without a library that it does need it says which, and how to get it.  They are hidden
# from pkg-config here.
set -u
cmake=${1:?}
generator=${2:?}
root=${3:?}
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
mkdir "$dir/pc"

folders=$(pkg-config --variable pc_path pkg-config)
for folder in $(printf '%s' "${PKG_CONFIG_PATH:-}:$folders" | tr ':' ' '); do
    for file in "$folder"/*.pc; do
        [ -e "$file" ] && [ ! -e "$dir/pc/${file##*/}" ] && ln -s "$file" "$dir/pc/"
    done
done
rm -f "$dir/pc/check.pc"
unset PKG_CONFIG_PATH
PKG_CONFIG_LIBDIR=$dir/pc
export PKG_CONFIG_LIBDIR
if pkg-config --exists check; then
    echo "Check could not be hidden"
    exit 77
fi
configure() {
    "$cmake" -G "$generator" -S "$root" -B "$dir/$1" -DQS_TESTS=OFF >"$dir/log" 2>&1
}
complain() {
    cat "$dir/log"
    echo "$1"
    exit 1
}
configure build || complain "it can't be built without Check"

rm -f "$dir/pc/cairo.pc" "$dir/pc/jansson.pc"
configure bare && complain "nothing was missed"
grep -q 'headers: jansson, cairo' "$dir/log" || complain "what is missing is not named"
grep -q 'tools/setup' "$dir/log" || complain "the way out is not named"
exit 0
