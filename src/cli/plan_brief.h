/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_brief.h - what the lines of a brief mean to `plan`
 */
#ifndef QS_CLI_PLAN_BRIEF_H
#define QS_CLI_PLAN_BRIEF_H

#include "cli/options.h"
#include "cli/plan_options.h"

/*
 * Takes all entries of a brief into *options, which then points into the brief.
 *
 *   QS_OK
 *   QS_ERR_USAGE   an entry makes no sense: the sentence names its line, and the
 * nearest right key
 */
QS_MUST_CHECK enum qs_status
qs_plan_brief_apply(const struct qs_brief *brief, struct qs_plan_options *options,
                    struct qs_error *err);

/* The row of the command line's table with that name, or NULL. */
const struct qs_option *
qs_plan_option(const char *name);

/* Adds a use; those typed take the place of those of the brief. */
QS_MUST_CHECK enum qs_status
qs_plan_add_use(struct qs_plan_options *options, const struct qs_use *use,
                struct qs_error *err);

/* A qs_option_take of NAME=LUX@DISTANCE... */
QS_MUST_CHECK enum qs_status
qs_plan_take_lamp(void *into, const char *value, struct qs_error *err);

#endif
