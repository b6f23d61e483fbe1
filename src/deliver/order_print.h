/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * order_print.h - all but the pixels of what a delivery is known by
 *
 * Private to picture.c.
 */
#ifndef QS_DELIVER_ORDER_PRINT_H
#define QS_DELIVER_ORDER_PRINT_H

#include "deliver/fingerprint.h"
#include "deliver/picture.h"

/* What is done to the pixels. */
void
qs_fingerprint_add_order(struct qs_fingerprint *print,
                         const struct qs_picture_order *order,
                         const struct qs_image_info *info,
                         const struct qs_picture_sides *sides);

/* What is written beside them: format, profile, notes. */
void
qs_fingerprint_add_plan(struct qs_fingerprint *print,
                        const struct qs_picture_plan *plan);

#endif
