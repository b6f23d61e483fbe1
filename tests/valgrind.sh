#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# valgrind.sh FOLDER: runs each test program in FOLDER under valgrind, two at a time;
# a program that exits with 77 had something missing and is shown as skipped.
# shellcheck disable=SC2016 # xargs' own shell expands them
set -u
cd "${1:?}" || exit 1
export CK_DEFAULT_TIMEOUT=0

find . -maxdepth 1 -name 'test_*' -type f -perm -u+x | sort |
    xargs -n 1 -P 2 sh -c '
        log=$(mktemp) || exit 1
        valgrind -q --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite \
            "$1" >"$log" 2>&1
        status=$?
        case $status in
        0) echo "passed   $1" ;;
        77) echo "skipped  $1" ;;
        *)
            echo "FAILED   $1 ($status)"
            cat "$log"
            ;;
        esac
        rm -f "$log"
        [ "$status" -eq 0 ] || [ "$status" -eq 77 ]' sh
