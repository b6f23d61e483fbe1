#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# warnings.sh ROOT: the table of docs/warnings.md explains, by codes in its first
# column, every warning the program knows, and no other.
set -u
cd "${1:?}" || exit 1
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT

sed -n 's/.*\[QS_WARN_[A-Z_]*\] = "\([a-z-]*\)".*/\1/p' src/frame/warnings.c |
    sort >"$dir/known"
# shellcheck disable=SC2016 # the backticks are Markdown's
awk -F '|' '/^\|/ { print $2 }' docs/warnings.md | grep -o '`[a-z-]*`' | tr -d '`' |
    sort >"$dir/told"

[ -s "$dir/known" ] && diff "$dir/known" "$dir/told" >"$dir/diff" && exit 0
sed -n 's/^< \(.*\)/docs\/warnings.md lacks \1/p
    s/^> \(.*\)/docs\/warnings.md tells of \1 once more than src\/frame\/warnings.c/p' "$dir/diff"
exit 1
