/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plan_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/words.h"
#include "report/wrap.h"

void
qs_words_figures(double value, int figures, char *out, size_t size)
{
    double step;
    int before;

    if (!(value > 0.0)) {
        (void)snprintf(out, size, "0");
        return;
    }
    before = (int)floor(log10(value)) + 1; /* digits before the point */
    step = pow(10.0, before - figures);
    value = floor(value / step + 0.5) * step;
    (void)snprintf(out, size, "%.*f", before >= figures ? 0 : figures - before, value);
}

void
qs_words_plan_size(const struct qs_plan_row *row, char *out, size_t size)
{
    struct qs_delivery delivery = {
        .width = row->width, .height = row->height, .reduction = row->reduction};

    (void)snprintf(delivery.text, sizeof delivery.text, "%s", row->text);
    qs_words_delivered(&delivery, out, size);
}

void
qs_words_setting(double f_number, double exposure_s, char *out, size_t size)
{
    char shutter[QS_WORDS];

    qs_words_shutter(exposure_s, shutter, sizeof shutter);
    (void)snprintf(out, size, "f/%.3g and %s" QS_GLUE "s", f_number, shutter);
}
