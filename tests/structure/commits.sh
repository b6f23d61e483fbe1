#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# commits.sh ROOT [COUNT]: subjects of the last commits read "part: what changes",
# under 72 characters, without a full stop.  A checkout without history is skipped.
set -u
cd "${1:?}" || exit 1
git rev-parse -q --verify HEAD >/dev/null 2>&1 || exit 77

git log --no-merges --format=%s -n "${2:-20}" | LC_ALL=C.UTF-8 awk '
    length($0) >= 72      { print "72 characters or more: " $0; bad = 1 }
    /\.$/                 { print "ends in a full stop: " $0; bad = 1 }
    !/^[^:]*[^: ]: [^ ]/  { print "does not read \"part: what changes\": " $0; bad = 1 }
    END { exit bad }'
