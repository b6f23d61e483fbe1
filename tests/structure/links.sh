#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# links.sh ROOT: files that pages link to, and project files that pages and comments
# name, exist.  No name has a space in it.
# shellcheck disable=SC2013,SC2016 # words are wanted; the backticks are Markdown's
set -u
cd "${1:?}" || exit 1
bad=0

complain() {
    echo "$1 names $2, which does not exist"
    bad=1
}

pages=$(find . \( -name .git -o -name 'build*' -o -name demo-output \) -prune -o -name '*.md' -print)

# [text](target), from the page's own folder; addresses and places within a page left out
for page in $pages; do
    for target in $(grep -Eo '\]\([^) ]+\)' "$page" | sed 's/^](//; s/)$//; s/#.*//'); do
        case $target in
        *:*) continue ;;
        esac
        [ -e "${page%/*}/$target" ] || complain "$page" "$target"
    done
done

# `src/...` in pages, from the project's folder; patterns and results of a build left out
for page in $pages; do
    for target in $(grep -Eo '`(src|tests|tools|docs|testimages)/[A-Za-z0-9_./-]+`' "$page" |
        tr -d '`'); do
        [ -e "$target" ] || complain "$page" "$target"
    done
done

# docs/....md in code
for place in $(grep -rEo 'docs/[A-Za-z0-9_/-]+\.md' src tests tools --include='*.[ch]' | sort -u); do
    [ -e "${place#*:}" ] || complain "${place%%:*}" "${place#*:}"
done
exit "$bad"
