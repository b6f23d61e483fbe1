/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * decide.h - which ISO, which size, how much light
 *
 * From a camera sheet, the uses and the criterion: for each use and filter the highest
 * ISO that meets the criterion, the light that takes, what the smaller size saves, and
 * where the light is given, what is missing and how to close the gap.
 *
 * Units: light in lux at the subject; stops; seconds; pixels.
 * Memory: a plan owns its lists; qs_plan_clear frees them.
 * Threads: one at a time for a plan; the sheet is only read.
 * Method: docs/method/plan.md, equations P1 to P12.
 */
#ifndef QS_PLAN_DECIDE_H
#define QS_PLAN_DECIDE_H

#include <stdbool.h>

#include "base/status.h"
#include "plan/criterion.h"
#include "plan/ways.h"
#include "resample/filter.h"
#include "resample/size.h"
#include "sheet/sheet.h"

enum {
    QS_USE_NAME = 64
};

/* A size that is to be delivered. */
struct qs_use {
    char name[QS_USE_NAME]; /* "" = none */
    bool is_motion;         /* its shutter is that of motion */
    struct qs_size size;
    struct qs_shape_ratio crop; /* taken before the size; 0 = none */
};

/* 0 = unknown. */
struct qs_set_up {
    double f_number;
    double exposure_s; /* of stills */
    double motion_s;   /* of motion */
    double light_lx;
    double meter_c;       /* of the incident meter; 0 = QS_METER_C */
    double widest_f;      /* the lens's widest aperture */
    double moves_m_s;     /* movement across the picture */
    double field_width_m; /* at the subject */
    double blur_px;       /* most blur, in delivered pixels; 0 = the usual */
};

struct qs_plan_request {
    const struct qs_use *uses;
    int use_count;
    const enum qs_filter *filters;
    int filter_count;
    struct qs_criterion criterion;
    struct qs_set_up set_up;
};

/* One ISO of a row. */
struct qs_plan_cell {
    bool known;
    double snr; /* delivered, in the criterion's channel and tone */
    double snr_low;
    double snr_high;
    bool has_seen;
    double seen; /* noise as seen; with a viewed criterion */
    bool meets;
};

struct qs_plan_row {
    const struct qs_use *use;
    enum qs_filter filter;
    char text[32]; /* the size, "native" for the frame's own */
    int width;
    int height;
    double reduction;
    double contrast_kept;       /* at half the new Nyquist frequency */
    double exposure_s;          /* of this use; 0 = unknown */
    struct qs_plan_cell *cells; /* one for each ISO of the sheet */
    bool has_max_iso;           /* false: not met at any ISO tested */
    double max_iso;
    bool has_max_low; /* of the 95 % interval; false: not at any ISO tested */
    double max_low;
    bool has_max_high;
    double max_high;
    bool beyond_test;      /* still met at the highest ISO tested, which max_iso is */
    bool high_beyond_test; /* the interval's upper end, likewise */
    bool has_light;        /* the four below: aperture and shutter are known */
    double light_lx;       /* the lowest light */
    double ev100;
    double luminance_cd_m2;
    bool has_saves;
    double saves_stops; /* against full size */
    bool has_needed;    /* with the light given, too */
    double needed_iso;  /* that the light, aperture and shutter ask for */
    bool has_short;
    double short_stops; /* negative = to spare */
    struct qs_ways ways;
};

struct qs_plan {
    struct qs_criterion criterion;
    double tone;
    bool tone_tested;    /* within the tones of every ISO of the sheet */
    double light_factor; /* lux really needed / lux by the formula: calibration */
    int iso_count;
    struct qs_plan_row *rows; /* by use, then filter; full size first where asked */
    int row_count;
    int skipped; /* uses left out since they are larger than the frame */
    bool any_met;
};

/*
 * Makes the plan.  Uses that are larger than the frame are left out and counted.
 *
 *   QS_OK           *out is to be cleared with qs_plan_clear; *request is to outlive it
 *   QS_ERR_USAGE    the criterion names an ISO that was not tested, or colour of a
 *                   grey sheet
 *   QS_ERR_TOO_FEW  the sheet holds no noise that a plan can rest on
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_plan_make(const struct qs_sheet *sheet, const struct qs_plan_request *request,
             struct qs_plan *out, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_plan_clear(struct qs_plan *plan);

#endif
