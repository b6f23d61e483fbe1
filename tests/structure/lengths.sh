#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# lengths.sh ROOT: no function is longer than 60 lines between its braces, which the
# format puts in the first column.
set -u
cd "${1:?}" || exit 1

find src tests tools -name '*.c' -exec awk -v most=60 '
    /^\{$/ { start = FNR; name = before }
    /^\}$/ && start {
        functions++
        if (FNR - start - 1 > most) {
            printf "%s:%d: %s has %d lines, more than %d\n", FILENAME, start, name,
                   FNR - start - 1, most
            bad = 1
        }
        start = 0
    }
    { before = $0 }
    END { exit bad || functions == 0 }' {} +
