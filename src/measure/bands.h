/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bands.h - the noise that whole rows or whole columns share
 *
 * Units: the plane's; threads: depends on its arguments alone.
 * Method: docs/method/bands.md, equations B1 to B4, after EMVA 1288 Release 4.0,
 * equation 42, with the pixel noise's correlation allowed for.
 */
#ifndef QS_MEASURE_BANDS_H
#define QS_MEASURE_BANDS_H

#include "base/status.h"

/*
 * Variance shared by whole rows and by whole columns of residual[height x width],
 * a patch less its second-order surface.  Unbiased: without any shared noise it is
 * zero on average, and below zero about as often as above.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_bands(const double *residual, int width, int height, double *row_variance,
         double *column_variance, struct qs_error *err);

#endif
