#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# without_check.sh CMAKE GENERATOR ROOT: with QS_TESTS off the project needs no Check;
# it is hidden from pkg-config here.
set -u
cmake=${1:?}
generator=${2:?}
root=${3:?}
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
mkdir "$dir/pc" "$dir/build"

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
"$cmake" -G "$generator" -S "$root" -B "$dir/build" -DQS_TESTS=OFF >"$dir/log" 2>&1 && exit 0
cat "$dir/log"
exit 1
