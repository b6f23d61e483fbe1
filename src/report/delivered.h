/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * delivered.h - what `deliver` has to tell, as text and as JSON
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_DELIVERED_H
#define QS_REPORT_DELIVERED_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "base/status.h"
#include "deliver/noise_check.h"
#include "deliver/picture.h"

enum qs_delivered_state {
    QS_DELIVERED,
    QS_DELIVERED_BEFORE, /* and left as it was */
    QS_DELIVERED_NOT_YET /* a dry run */
};

struct qs_delivered {
    enum qs_delivered_state state;
    const char *source;
    const char *target;
    const struct qs_image_info *info; /* of the source */
    const struct qs_picture_order *order;
    struct qs_picture_done done; /* QS_DELIVERED; of the others, the sides alone */
    uint64_t bytes;              /* of the file; of a dry run, about */
    double seconds;              /* it took, or will take; 0 = not known */
    bool has_check;
    struct qs_noise_check check;
};

/* What all of them come to. */
struct qs_delivered_sum {
    int delivered;
    int before;
    int failed;
    uint64_t bytes;
    double seconds;
    bool is_dry_run;
};

/* One delivery.  QS_OK or QS_ERR_WRITE. */
QS_MUST_CHECK enum qs_status
qs_delivered_text(FILE *out, const struct qs_delivered *delivered,
                  struct qs_error *err);

/* The last sentence.  QS_OK or QS_ERR_WRITE. */
QS_MUST_CHECK enum qs_status
qs_delivered_text_sum(FILE *out, const struct qs_delivered_sum *sum,
                      struct qs_error *err);

/* A document being put together; all zero = none. */
struct qs_delivered_json {
    void *deliveries;
    void *errors;
};

/* QS_OK or QS_ERR_MEMORY, as for the next two; free with qs_delivered_json_drop. */
QS_MUST_CHECK enum qs_status
qs_delivered_json_start(struct qs_delivered_json *json, struct qs_error *err);

QS_MUST_CHECK enum qs_status
qs_delivered_json_add(struct qs_delivered_json *json,
                      const struct qs_delivered *delivered, struct qs_error *err);

/* A picture that was not delivered; `target` may be NULL. */
QS_MUST_CHECK enum qs_status
qs_delivered_json_failed(struct qs_delivered_json *json, const char *source,
                         const char *target, const char *why, struct qs_error *err);

/* Writes the document.  QS_OK, QS_ERR_MEMORY or QS_ERR_WRITE. */
QS_MUST_CHECK enum qs_status
qs_delivered_json_write(struct qs_delivered_json *json, FILE *out,
                        struct qs_error *err);

void
qs_delivered_json_drop(struct qs_delivered_json *json);

#endif
