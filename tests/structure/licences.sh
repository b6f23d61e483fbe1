#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# licences.sh ROOT: every source and script names its licence in its first two lines.
set -u
cd "${1:?}" || exit 1
bad=0

# Code by its ending; scripts without one by their first line.
code() {
    find src tests tools CMakeLists.txt .ci -type f \
        \( -name '*.[ch]' -o -name '*.sh' -o -name '*.py' -o -name '*.cmake' \
        -o -name 'CMakeLists.txt' \)
    find tools .ci -type f ! -name '*.*' -exec sh -c '
        for file; do head -n 1 "$file" | grep -q "^#!" && echo "$file"; done' sh {} +
}

files=$(code)
for file in $files; do
    head -n 2 "$file" | grep -q 'SPDX-License-Identifier: GPL-3.0-or-later' && continue
    echo "$file names no licence: SPDX-License-Identifier: GPL-3.0-or-later"
    bad=1
done
[ -n "$files" ] && [ -s docs/COPYING ] && [ "$bad" -eq 0 ]
