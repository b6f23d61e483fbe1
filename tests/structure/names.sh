#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# names.sh ROOT: no two files of src, and no two of tests and tools, share a name.
set -u
cd "${1:?}" || exit 1

twice() {
    find "$@" -name '*.[ch]' | sed 's|.*/||' | sort | uniq -d
}
names=$(twice src; twice tests tools)
[ -z "$names" ] && exit 0
echo "more than one file has the name: $names"
exit 1
