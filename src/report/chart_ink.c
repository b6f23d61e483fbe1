/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_ink.h"

#include <assert.h>
#include <stddef.h>
#include <string.h>

const struct qs_chart_ink qs_chart_paper = {1.0, 1.0, 1.0};
const struct qs_chart_ink qs_chart_text_ink = {0.09, 0.10, 0.13};
const struct qs_chart_ink qs_chart_soft_ink = {0.34, 0.36, 0.40};
const struct qs_chart_ink qs_chart_grid_ink = {0.885, 0.89, 0.90};
const struct qs_chart_ink qs_chart_rule_ink = {0.66, 0.27, 0.10};

/*
 * From light to dark, a hue that hardly turns.  The light end keeps a contrast of 3 to
 * 1 against paper, below which thin lines are lost; the dark end still shows as blue.
 */
static const struct qs_chart_ink family[] = {
    {0.330, 0.590, 0.770}, {0.165, 0.375, 0.600}, {0.050, 0.140, 0.330}};

enum {
    FAMILY_LAST = sizeof family / sizeof family[0] - 1
};

static const struct dash {
    int count;
    double px[QS_CHART_DASHES_MOST];
} dashes[] = {
    {0, {0.0}},
    {2, {8.0, 3.0}},
    {2, {3.0, 2.5}},
};

enum {
    DASHES = sizeof dashes / sizeof dashes[0]
};

static double
between(double from, double to, double share)
{
    return from + (to - from) * share;
}

static struct qs_chart_ink
family_ink(double share)
{
    double place = share * FAMILY_LAST;
    int step = place < FAMILY_LAST ? (int)place : FAMILY_LAST - 1;
    const struct qs_chart_ink *light = &family[step], *dark = &family[step + 1];

    place -= step;
    return (struct qs_chart_ink){between(light->red, dark->red, place),
                                 between(light->green, dark->green, place),
                                 between(light->blue, dark->blue, place)};
}

struct qs_chart_look
qs_chart_look_of(int rank, int ranks)
{
    struct qs_chart_look look = {.ink = family[FAMILY_LAST]};
    const struct dash *dash;

    if (ranks <= 1)
        return look;
    assert(rank >= 0 && rank < ranks);
    look.ink = family_ink((double)rank / (ranks - 1));
    /* counted from the dark end, which so is a whole line whatever the number */
    dash = &dashes[(ranks - 1 - rank) % DASHES];
    look.dashes = dash->count;
    memcpy(look.dash_px, dash->px, sizeof look.dash_px);
    look.marker = (enum qs_chart_marker)((ranks - 1 - rank) % QS_CHART_MARKERS);
    look.is_open = (ranks - 1 - rank) / QS_CHART_MARKERS % 2 == 1;
    return look;
}
