/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * options.h - options of a command as a table, and the values they take
 *
 * A command has a constant table of rows; reading walks the command line and
 * calls each row's function.  All sentences are for the person who typed it.
 *
 * Threads: from the main thread alone (getopt_long).
 */
#ifndef QS_CLI_OPTIONS_H
#define QS_CLI_OPTIONS_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"
#include "resample/filter.h"

/* Takes an option's value, NULL for one without, into the command's options. */
typedef enum qs_status
qs_option_take(void *into, const char *value, struct qs_error *err);

struct qs_option {
    const char *name; /* without the dashes */
    bool has_value;
    qs_option_take *take;
};

enum {
    QS_OPTIONS = 64 /* most rows of a table */
};

/*
 * Reads the options of argv[1 ..], in any order with the operands; "--" ends them.
 * argv is put in order: *first is the index of the first operand.
 *
 *   QS_OK
 *   QS_ERR_USAGE  an unknown option, a value missing or too much
 *   otherwise     what a row's function returned; the sentence is of the first one
 */
QS_MUST_CHECK enum qs_status
qs_options_read(const struct qs_option *rows, int count, int argc, char **argv,
                void *into, int *first, struct qs_error *err);

/*
 * The rest read one value each; QS_OK or QS_ERR_USAGE with a sentence that begins with
 * the option's name.
 */

/* A plain decimal number, from `least` to `most`. */
QS_MUST_CHECK enum qs_status
qs_read_number(const char *option, const char *text, double least, double most,
               double *out, struct qs_error *err);

QS_MUST_CHECK enum qs_status
qs_read_whole(const char *option, const char *text, int least, int most, int *out,
              struct qs_error *err);

/* X,Y,W,H in pixels. */
QS_MUST_CHECK enum qs_status
qs_read_box(const char *text, struct qs_box *out, struct qs_error *err);

/* 1/125 or 0.008 or 2, in seconds. */
QS_MUST_CHECK enum qs_status
qs_read_shutter(const char *option, const char *text, double *out,
                struct qs_error *err);

/* 2.8 or f/2.8. */
QS_MUST_CHECK enum qs_status
qs_read_aperture(const char *option, const char *text, double *out,
                 struct qs_error *err);

/* A text that is not empty. */
QS_MUST_CHECK enum qs_status
qs_read_text(const char *option, const char *text, const char **out,
             struct qs_error *err);

/* WxH in pixels. */
QS_MUST_CHECK enum qs_status
qs_read_pixels(const char *text, int *width, int *height, struct qs_error *err);

/* Adds the filter called `text`, or all of them for "all", those there already left
   out; filters[] has room for QS_FILTERS. */
QS_MUST_CHECK enum qs_status
qs_read_filter(const char *text, enum qs_filter *filters, int *count,
               struct qs_error *err);

#endif
