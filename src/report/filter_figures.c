/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/filter_figures.h"

#include <math.h>

#include "resample/axis_gain.h"
#include "resample/weights.h"

enum qs_status
qs_filter_figures(enum qs_filter filter, const struct qs_filter_size *size,
                  struct qs_filter_figures *out, struct qs_error *err)
{
    struct qs_axis_response x, y;
    enum qs_status status = qs_axis_response(filter, size->scale_x, &x, err);

    if (status == QS_OK)
        status = qs_axis_response(filter, size->scale_y, &y, err);
    if (status != QS_OK)
        return status;
    *out = (struct qs_filter_figures){
        .size = size,
        .filter = filter,
        .white_noise_gain = x.white_gain * y.white_gain,
        .worth_stops = -2.0 * log2(x.white_gain * y.white_gain),
        .contrast_half_nyquist = sqrt(x.kept_half_nyquist * y.kept_half_nyquist),
        .contrast_nyquist = sqrt(x.kept_nyquist * y.kept_nyquist),
        .alias_share = qs_alias_share_2d(x.alias_share, y.alias_share),
        .alias_share_1d = (x.alias_share + y.alias_share) / 2.0,
    };
    return QS_OK;
}

double
qs_filter_size_reduction(const struct qs_filter_size *size)
{
    return sqrt(size->scale_x * size->scale_y);
}

double
qs_filter_size_ideal_stops(const struct qs_filter_size *size)
{
    return 2.0 * log2(qs_filter_size_reduction(size));
}
