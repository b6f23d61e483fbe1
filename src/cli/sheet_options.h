/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sheet_options.h - the command line of `sheet`
 *
 * Memory: holds pointers into argv.
 */
#ifndef QS_CLI_SHEET_OPTIONS_H
#define QS_CLI_SHEET_OPTIONS_H

#include "base/status.h"
#include "cli/calibrate.h"
#include "cli/reading_options.h"

/* FILE=VALUE; no file = all frames. */
struct qs_given_iso {
    const char *text; /* FILE=VALUE as typed */
    int name_length;  /* bytes of FILE, 0 = none */
    double iso;
};

struct qs_sheet_options {
    struct qs_reading_options reading; /* first */
    const char *out_path;              /* NULL = none, "-" = standard output */
    const char *add_path;              /* a sheet to be extended */
    const char *log_path;
    const char *chart_path;
    struct qs_calibration_choice calibration;
    struct qs_given_iso *isos;
    int iso_count;
    char **inputs;
    int input_count;
};

/*
 * Reads the command line; clear *out with qs_sheet_options_clear, whatever the
 * result.  With --help or --version nothing else is asked of it.
 *
 *   QS_OK
 *   QS_ERR_USAGE   it is wrong; the sentence says how
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_sheet_options_read(int argc, char **argv, struct qs_sheet_options *out,
                      struct qs_error *err);

void
qs_sheet_options_clear(struct qs_sheet_options *options);

/* Whether the one input is a sheet to be shown rather than frames. */
bool
qs_sheet_options_show(const struct qs_sheet_options *options);

#endif
