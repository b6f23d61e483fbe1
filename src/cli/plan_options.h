/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_options.h - the command line of `plan`, and the brief
 *
 * A brief holds the same as the command line, by the same names; what stands on the
 * command line goes before it.
 *
 * Memory: holds pointers into argv and the brief; qs_plan_options_clear frees what it
 * owns.
 */
#ifndef QS_CLI_PLAN_OPTIONS_H
#define QS_CLI_PLAN_OPTIONS_H

#include <stdbool.h>

#include "base/status.h"
#include "cli/calibrate.h"
#include "plan/brief.h"
#include "plan/decide.h"
#include "plan/light_plan.h"

enum {
    QS_USES_MOST = 32
};

struct qs_plan_options {
    struct qs_use uses[QS_USES_MOST];
    int use_count;
    enum qs_filter filters[QS_FILTERS];
    int filter_count;
    struct qs_shape_ratio crop; /* of uses without one of their own */
    struct qs_criterion criterion;
    bool has_snr;
    bool has_like;
    bool has_seen;
    struct qs_set_up set_up;
    double iso;
    double fps;
    double angle_deg;
    struct qs_light_request light;
    const char *job; /* from the brief; NULL = none */
    struct qs_calibration_choice calibration;
    const char *sheet_path; /* NULL = none: the light alone */
    const char *brief_path;
    const char *json_path;
    const char *csv_path;
    bool quiet;
    bool help;
    bool version;
    bool is_typed;       /* the command line is being read, not the brief */
    bool has_typed_uses; /* uses of the brief were put aside for those typed */
    bool has_typed_lamps;
    struct qs_brief brief;
};

/*
 * Reads the command line, and the brief it names; clear *out with
 * qs_plan_options_clear, whatever the result.  With --help or --version nothing else is
 * asked of it.
 *
 *   QS_OK
 *   QS_ERR_USAGE   the command line or the brief is wrong; the sentence says how
 *   QS_ERR_OPEN    the brief can't be read
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_plan_options_read(int argc, char **argv, struct qs_plan_options *out,
                     struct qs_error *err);

void
qs_plan_options_clear(struct qs_plan_options *options);

#endif
