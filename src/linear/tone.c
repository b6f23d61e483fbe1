/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/tone.h"

#include <math.h>
#include <stddef.h>

#include "base/memory.h"

enum qs_status
qs_tone_fail_flat(struct qs_error *err)
{
    return qs_fail(
        err, QS_ERR_PROFILE,
        "The colour profile in this file does not lead from black to white; say "
        "how the file is encoded with --encoding, for example --encoding srgb.");
}

void
qs_tone_use_formula(struct qs_tone *tone,
                    double (*formula)(const void *curve, double fraction),
                    const void *curve)
{
    const double half = formula(curve, -0.5);

    tone->formula = formula;
    tone->curve = curve;
    tone->mirrored = !(formula(curve, -1.0) < half && half < formula(curve, 0.0));
}

enum qs_status
qs_tone_use_table(struct qs_tone *tone, int entries, struct qs_error *err)
{
    tone->table = qs_alloc((size_t)entries, sizeof *tone->table);
    tone->entries = entries;
    tone->mirrored = true;
    return tone->table != NULL ? QS_OK : qs_fail_memory(err);
}

void
qs_tone_clear(struct qs_tone *tone)
{
    qs_free(tone->table);
    tone->table = NULL;
}

/* Above 1 the last step goes on; `fraction` is not below 0. */
static double
table_value(const struct qs_tone *tone, double fraction)
{
    const int last = tone->entries - 1;
    const double place = fraction * last;
    const int i = place < last - 1 ? (int)place : last - 1;

    return tone->table[i] + (place - i) * (tone->table[i + 1] - tone->table[i]);
}

static double
curve_value(const struct qs_tone *tone, double fraction)
{
    if (tone->formula != NULL)
        return tone->formula(tone->curve, fraction);
    return table_value(tone, fraction);
}

/* L12: L* in hundredths to Y: CIE 15, with the exact constants. */
static double
y_of_lightness(double lightness)
{
    const double l = 100.0 * lightness;

    return l > 8.0 ? pow((l + 16.0) / 116.0, 3.0) : l * 27.0 / 24389.0;
}

/* The curve with its continuations, before black and white are settled. */
static double
raw_light(const struct qs_tone *tone, double fraction)
{
    double value;

    if (isnan(fraction))
        return fraction;
    if (fraction < 0.0 && tone->mirrored)
        value = 2.0 * curve_value(tone, 0.0) - curve_value(tone, -fraction);
    else
        value = curve_value(tone, fraction);
    return tone->is_lightness ? y_of_lightness(value) : value;
}

enum qs_status
qs_tone_finish(struct qs_tone *tone, struct qs_error *err)
{
    tone->black = raw_light(tone, 0.0);
    tone->white = raw_light(tone, 1.0);
    if (!isfinite(tone->black) || !isfinite(tone->white) || tone->white <= tone->black)
        return qs_tone_fail_flat(err);
    return QS_OK;
}

/* L8 */
double
qs_tone_light(const struct qs_tone *tone, double fraction)
{
    return (raw_light(tone, fraction) - tone->black) / (tone->white - tone->black);
}
