/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * deliver_options.h - the command line of `deliver`
 *
 * Memory: holds pointers into argv.
 */
#ifndef QS_CLI_DELIVER_OPTIONS_H
#define QS_CLI_DELIVER_OPTIONS_H

#include <stdbool.h>

#include "base/status.h"
#include "cli/reading_options.h"
#include "image/writer.h"
#include "resample/filter.h"
#include "resample/size.h"

struct qs_deliver_options {
    struct qs_reading_options reading; /* first */
    struct qs_size *sizes;
    int size_count;
    enum qs_filter filters[QS_FILTERS];
    int filter_count; /* at least 1 */
    struct qs_shape_ratio crop;
    const char *out_path; /* a folder */
    const char *name;     /* a pattern; NULL = the usual one */
    int bits;             /* 0 = the source's */
    bool has_format;
    enum qs_file_format format;
    bool has_compression;
    enum qs_compression compression;
    double ppi; /* 0 = not said */
    const char *json_path;
    bool upright;
    bool overwrite;
    bool resume;
    bool dry_run;
    bool check;
    char **inputs;
    int input_count;
};

/*
 * Reads the command line; clear *out with qs_deliver_options_clear, whatever the
 * result.  With --help or --version nothing else is asked of it.
 *
 *   QS_OK
 *   QS_ERR_USAGE   it is wrong; the sentence says how
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_deliver_options_read(int argc, char **argv, struct qs_deliver_options *out,
                        struct qs_error *err);

void
qs_deliver_options_clear(struct qs_deliver_options *options);

#endif
