/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * measure_run.h - one run of `measure`: its inputs and where its figures go
 *
 * An output that fails is named on standard error and given up; the others go on.
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_MEASURE_RUN_H
#define QS_CLI_MEASURE_RUN_H

#include <stdbool.h>

#include "base/pool.h"
#include "cli/inputs.h"
#include "cli/measure_options.h"
#include "cli/messages.h"
#include "cli/whole_file.h"
#include "frame/series.h"
#include "report/csv.h"
#include "report/json.h"
#include "report/text.h"

/* All zero but for the first three at the start. */
struct qs_measure_run {
    struct qs_console *console;
    const struct qs_measure_options *options;
    struct qs_pool *pool;
    struct qs_inputs inputs;
    struct qs_whole_file json_file; /* not open: not asked for, or given up */
    struct qs_whole_file csv_file;
    struct qs_json json;
    struct qs_text text;
    struct qs_series series; /* of the frames measured so far */
    bool has_text;
    int index; /* of the frame being measured */
    bool failed;
};

/* Opens what the options ask for. */
void
qs_run_open(struct qs_measure_run *run);

/* Whether anything would come of measuring one more frame. */
bool
qs_run_has_output(struct qs_measure_run *run);

/* Names an input that could not be used. */
void
qs_run_fail_input(struct qs_measure_run *run, const char *path, const char *why);

/* Fills run->inputs from the options. */
void
qs_run_gather(struct qs_measure_run *run);

/* Gives a frame that was measured to every output. */
void
qs_run_report(struct qs_measure_run *run, const char *path,
              const struct qs_frame *frame);

/* Gives one to the outputs for machines alone. */
void
qs_run_report_figures(struct qs_measure_run *run, const char *path,
                      const struct qs_frame *frame);

/* Gives the frames as repeats of one scene to the outputs that have a place for it. */
void
qs_run_report_scene(struct qs_measure_run *run, const struct qs_same_scene *scene);

/* Draws the patches of a frame into the file of --show, where that was asked for. */
void
qs_run_show(struct qs_measure_run *run, const char *path, const struct qs_frame *frame);

/* Draws the progress of frame run->index; a qs_frame_progress. */
void
qs_run_progress(void *context, double share);

/* Ends the outputs. */
void
qs_run_close(struct qs_measure_run *run);

#endif
