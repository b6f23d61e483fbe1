/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * reading_options.h - options of all commands that read frames
 *
 * A command's own options begin with a struct qs_reading_options, so that the rows of
 * its table can take these functions.
 *
 * Memory: holds pointers into argv.
 */
#ifndef QS_CLI_READING_OPTIONS_H
#define QS_CLI_READING_OPTIONS_H

#include <stdbool.h>

#include "base/status.h"
#include "frame/frame.h"

struct qs_reading_options {
    struct qs_frame_options frame; /* its patches are the list below */
    struct qs_box *patches;
    int threads; /* 0 = one for each processor */
    bool quiet;
    bool help;
    bool version;
};

/* Makes room for the patches of a command line.  QS_OK, QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_reading_options_init(struct qs_reading_options *options, int argc,
                        struct qs_error *err);

void
qs_reading_options_clear(struct qs_reading_options *options);

/* What no single one of them can tell.  QS_OK, QS_ERR_USAGE. */
QS_MUST_CHECK enum qs_status
qs_reading_options_check(const struct qs_reading_options *options,
                         struct qs_error *err);

/* Each is a qs_option_take into a struct qs_reading_options. */

enum qs_status
qs_take_patch(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_encoding(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_black(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_white(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_camera(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_threads(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_quiet(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_help(void *into, const char *value, struct qs_error *err);

enum qs_status
qs_take_version(void *into, const char *value, struct qs_error *err);

#endif
