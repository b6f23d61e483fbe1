/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * json.h - the figures as JSON, format 1
 *
 * Writes one document, frame by frame, so that memory holds one frame's figures
 * at a time.  Every figure has the digits that bring the same number back; what is
 * not known is null.
 *
 * Threads: one at a time.
 */
#ifndef QS_REPORT_JSON_H
#define QS_REPORT_JSON_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"
#include "frame/frame.h"
#include "frame/repeats_run.h"
#include "report/filter_figures.h"

enum {
    QS_JSON_FORMAT = 1
};

/* A document being written; all zero = nothing. */
struct qs_json {
    FILE *out;
    int frames;
    void *errors; /* frames that failed, kept for the end */
    void *scene;  /* of repeats of one scene, likewise; NULL = none */
};

/*
 * Starts the document of `measure` on `out`, which stays the caller's.  End it with
 * qs_json_end, or drop it with qs_json_drop.
 *
 *   QS_OK
 *   QS_ERR_MEMORY
 *   QS_ERR_WRITE   as for all below: `out` took no more
 */
QS_MUST_CHECK enum qs_status
qs_json_start(struct qs_json *json, FILE *out, struct qs_error *err);

/* Adds a frame that was measured, from file `path`. */
QS_MUST_CHECK enum qs_status
qs_json_frame(struct qs_json *json, const char *path, const struct qs_frame *frame,
              struct qs_error *err);

/* Adds a file that could not be measured, and why. */
QS_MUST_CHECK enum qs_status
qs_json_failed(struct qs_json *json, const char *path, const char *why,
               struct qs_error *err);

/* Adds what the frames say together as repeats of one scene, from files `paths`. */
QS_MUST_CHECK enum qs_status
qs_json_same_scene(struct qs_json *json, const char *const *paths,
                   const struct qs_same_scene *scene, struct qs_error *err);

/* Ends the document and frees, whatever the result. */
QS_MUST_CHECK enum qs_status
qs_json_end(struct qs_json *json, struct qs_error *err);

/* Frees; for a document that is not to be ended, or was. */
void
qs_json_drop(struct qs_json *json);

/* Writes the whole document of `filters`. */
QS_MUST_CHECK enum qs_status
qs_json_filters(FILE *out, const struct qs_filter_figures *figures, int count,
                struct qs_error *err);

/* Jansson's version, as linked. */
const char *
qs_json_library_version(void);

#endif
