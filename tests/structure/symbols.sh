#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# symbols.sh LIBRARY NM: every symbol the library shows starts with qs_ (macOS puts
# an underscore before it).
set -u
library=${1:?}
nm=${2:?}

"$nm" -g "$library" | awk '
    NF == 3 && $2 != "U" {
        count++
        if ($3 !~ /^_?qs_/) { print $3 " does not start with qs_"; bad = 1 }
    }
    END {
        print count + 0 " symbols"
        exit bad || count == 0
    }'
