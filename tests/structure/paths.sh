#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# paths.sh ROOT: no file speaks of places that only one machine has.
set -u
cd "${1:?}" || exit 1

# Brackets keep the patterns from finding themselves.
found=$(grep -rnsIE '/(hom[e]|roo[t]|wor[k]|User[s])/|shared/(desig[n]|referenc[e])' \
    src tests tools docs testimages .ci ./*.md CMakeLists.txt CMakePresets.json)
[ -n "$found" ] || exit 0
printf '%s\n' "$found" "these lines name a place of one machine"
exit 1
