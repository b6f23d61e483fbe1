/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * measure_options.h - the command line of `measure`
 *
 * Memory: holds pointers into argv.
 */
#ifndef QS_CLI_MEASURE_OPTIONS_H
#define QS_CLI_MEASURE_OPTIONS_H

#include <stdbool.h>

#include "base/status.h"
#include "cli/reading_options.h"
#include "frame/frame.h"

struct qs_measure_options {
    struct qs_reading_options reading; /* first; its lists of sizes are those below */
    struct qs_size *sizes;
    enum qs_filter filters[QS_FILTERS];
    const char *json_path; /* NULL = none, "-" = standard output */
    const char *csv_path;
    const char *show_path; /* NULL = none */
    bool same_scene;       /* the frames are repeats of one scene */
    bool all_patches;
    char **inputs;
    int input_count;
};

/*
 * Reads the command line; clear *out with qs_measure_options_clear, whatever the
 * result. With --help or --version nothing else is asked of it.
 *
 *   QS_OK
 *   QS_ERR_USAGE   it is wrong; the sentence says how
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_measure_options_read(int argc, char **argv, struct qs_measure_options *out,
                        struct qs_error *err);

void
qs_measure_options_clear(struct qs_measure_options *options);

#endif
