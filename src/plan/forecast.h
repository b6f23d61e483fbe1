/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * forecast.h - the noise a camera sheet foretells at a tone, size and filter
 *
 * At an ISO that was tested: the model's variance at the tone, times what the filter
 * leaves of it by the noise's spectrum there.
 *
 * Units: linear light, 1.0 = white.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/plan.md, equations P1 and P2.
 */
#ifndef QS_PLAN_FORECAST_H
#define QS_PLAN_FORECAST_H

#include "base/status.h"
#include "fall/contrast.h"
#include "fall/visible.h"
#include "resample/axis_gain.h"
#include "sheet/sheet.h"

/* A size made of the frame (or its crop) through a filter. */
struct qs_shrinking {
    struct qs_axis_gain across;
    struct qs_axis_gain down;
    struct qs_node_weights across_power; /* of the response */
    struct qs_node_weights down_power;
    struct qs_node_weights across_square; /* of its square, for the uncertainty */
    struct qs_node_weights down_square;
};

/*
 * Prepares shrinking width x height pixels to out_width x out_height, not larger.
 *
 *   QS_OK           clear with qs_shrinking_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_shrinking_init(struct qs_shrinking *shrinking, enum qs_filter filter, int width,
                  int height, int out_width, int out_height, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_shrinking_clear(struct qs_shrinking *shrinking);

struct qs_forecast {
    bool known;      /* false: no model, or no spectrum, at this ISO */
    double variance; /* delivered */
    double spread;   /* relative variance of `variance` */
    double ratio;    /* delivered variance / native variance */
};

/* The noise of a signal at a tested ISO and a tone > 0. */
struct qs_forecast
qs_forecast_at(const struct qs_sheet_iso *iso, int signal, double tone,
               const struct qs_shrinking *shrinking);

/* How the delivered noise looks. */
struct qs_viewing_condition {
    double pixels_per_degree; /* of the delivered picture */
    enum qs_eye eye;
    const struct qs_onlooker *onlooker; /* the two above, filled */
};

struct qs_seen_forecast {
    bool known;
    struct qs_visible visible;
    double spread; /* relative variance of visible.total squared */
};

/* Visible noise at a tested ISO and a tone > 0; `channels` is the sheet's. */
struct qs_seen_forecast
qs_forecast_seen(const struct qs_sheet_iso *iso, int channels, double tone,
                 const struct qs_shrinking *shrinking,
                 const struct qs_viewing_condition *viewing);

#endif
