/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * device_table.h - a profile's table, at the precision of floats
 *
 * Private to profile.c.  Little CMS rounds to 16 bits what goes into sampled curves
 * and tables and what comes out, also where all else is floats.  In shadows, where
 * curves are flat, a step of light would then be several codes.  Here its own stages
 * are put together again with the same points as floats.
 *
 * Units: fractions of the code range to XYZ, relative colorimetric.
 * Threads: after qs_device_table_open only read.
 * Method: docs/method/linear.md, L9.
 */
#ifndef QS_LINEAR_DEVICE_TABLE_H
#define QS_LINEAR_DEVICE_TABLE_H

#include <lcms2.h>
#include <stdbool.h>

#include "base/status.h"

struct qs_device_table {
    cmsPipeline *stages; /* NULL = none */
    bool is_lab;
};

/*
 * Puts together the table that relative colorimetric goes by: AToB1, or else AToB0,
 * of a profile with 3 channels.
 *
 *   QS_OK           *out is to be emptied with qs_device_table_close
 *   QS_ERR_PROFILE  the table can't be read
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_device_table_open(cmsContext context, cmsHPROFILE profile,
                     struct qs_device_table *out, struct qs_error *err);

/* Empties; an empty one is allowed. */
void
qs_device_table_close(struct qs_device_table *table);

/* XYZ of `count` pixels r, g, b in [0, 1]; `table`: a struct qs_device_table. */
void
qs_device_table_xyz(void *table, const float *rgb, float *xyz, int count);

#endif
