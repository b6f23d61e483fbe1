/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fields.h - the table of figures: what each is called and where it comes from
 *
 * Text, CSV and JSON all walk these rows, so that they cannot drift apart.  A new
 * figure is one row more.
 *
 * Units: a row's `unit` is that of the value; text shows value x `scale`.
 * Threads: the tables are constant; results depend on the arguments alone.
 */
#ifndef QS_REPORT_FIELDS_H
#define QS_REPORT_FIELDS_H

#include <stdbool.h>
#include <stddef.h>

#include "frame/frame.h"
#include "plan/decide.h"

/* What a figure is about; the parts a group does not use may be NULL. */
struct qs_subject {
    const struct qs_frame *frame;
    const struct qs_patch *patch;
    const struct qs_fall_row *fall;
    enum qs_channel channel;
    const struct qs_plan_row *plan_row;
    const struct qs_plan_cell *plan_cell;
};

struct qs_value {
    bool known; /* false: null in JSON, empty in CSV, "-" in text */
    double number;
};

enum qs_field_group {
    QS_FIELDS_SHOT,  /* of the exposure; uses frame */
    QS_FIELDS_PATCH, /* of a patch in a channel; uses patch, channel */
    QS_FIELDS_SIZE,  /* of a size and filter; uses frame, fall */
    QS_FIELDS_FALL,  /* of a patch at a size in a channel; uses all the above */
    QS_FIELDS_PLAN,  /* of a use and filter of a plan; uses plan_row */
    QS_FIELDS_CELL,  /* of one ISO of that; uses plan_cell */
    QS_FIELD_GROUPS
};

struct qs_field {
    const char *key;   /* in JSON and CSV */
    const char *label; /* over a column of text */
    const char *unit;  /* under it; "" = a plain number */
    int digits;        /* after the point, in text */
    double scale;      /* of what text shows: 100 for per cent */
    struct qs_value (*get)(const struct qs_subject *subject);
};

/* The rows of one group, *count of them. */
const struct qs_field *
qs_fields(enum qs_field_group group, int *count);

/* The row of a group with that key, which must be there. */
const struct qs_field *
qs_field(enum qs_field_group group, const char *key);

/* The subject's value for the group's `key`. */
struct qs_value
qs_field_value(enum qs_field_group group, const char *key,
               const struct qs_subject *subject);

/* Writes the value as text shows it, without its unit; "-" where unknown. */
void
qs_field_text(enum qs_field_group group, const char *key,
              const struct qs_subject *subject, char *out, size_t size);

#endif
