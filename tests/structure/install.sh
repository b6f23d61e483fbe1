#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# install.sh CMAKE BUILD: what is installed is whole, and runs from where it lies.
set -u
cmake=${1:?}
build=${2:?}
prefix=$(mktemp -d) || exit 1
trap 'rm -rf "$prefix"' EXIT

"$cmake" --install "$build" --prefix "$prefix" >"$prefix/log" 2>&1 || {
    cat "$prefix/log"
    exit 1
}
for file in bin/quietsize share/doc/quietsize/README.md share/doc/quietsize/COPYING; do
    [ -s "$prefix/$file" ] || {
        echo "$file was not installed"
        exit 1
    }
done
cd "$prefix" && bin/quietsize --version && bin/quietsize filters --size 50% >/dev/null
