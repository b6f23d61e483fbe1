/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_svg.h - shapes by Cairo and text of ours, as one SVG file
 *
 * Threads: one at a time for a struct qs_chart_bytes.
 */
#ifndef QS_REPORT_CHART_SVG_H
#define QS_REPORT_CHART_SVG_H

#include "report/chart.h"
#include "report/chart_bytes.h"

/*
 * Adds the file to `file`: the root is an image by its role, its title and description
 * are those of the charts; then `shapes`, a whole SVG file of Cairo's, without its
 * root; then the elements `texts`.  Surfaces' ids are taken off, so that several such
 * files can stand in one page of HTML.  Whether memory was short is for
 * file->has_failed.
 */
void
qs_chart_svg_join(const struct qs_chart *charts, int count, double width, double height,
                  const struct qs_chart_bytes *shapes,
                  const struct qs_chart_bytes *texts, struct qs_chart_bytes *file);

#endif
