/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * deliver_name.h - names of delivered files, from a pattern
 *
 *   {name}    the source's name without its ending
 *   {size}    the size as it was asked for; 50% becomes 50pct
 *   {width} {height}   pixels
 *   {filter}
 *   {number}  which of the pictures it is, from 1, with leading zeros
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_CLI_DELIVER_NAME_H
#define QS_CLI_DELIVER_NAME_H

#include <stddef.h>

#include "base/status.h"
#include "image/writer.h"
#include "resample/filter.h"

struct qs_name_parts {
    const char *source; /* its path */
    const char *size;
    int width, height;
    enum qs_filter filter;
    int number; /* from 1 */
    int count;  /* of all pictures */
    enum qs_file_format format;
};

/* QS_OK, or QS_ERR_USAGE for a pattern that is none; the sentence says why. */
QS_MUST_CHECK enum qs_status
qs_name_check(const char *pattern, struct qs_error *err);

/*
 * The file's name, with the format's ending, of a pattern that passed the check.
 *
 *   QS_OK
 *   QS_ERR_RANGE   it is longer than `size` holds
 */
QS_MUST_CHECK enum qs_status
qs_name_make(const char *pattern, const struct qs_name_parts *parts, char *out,
             size_t size, struct qs_error *err);

#endif
