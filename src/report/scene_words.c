/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/scene_words.h"

#include <math.h>

const int qs_averages[QS_AVERAGES] = {2, 4, 8, 16};

double
qs_random_share(const struct qs_repeats *repeats)
{
    double total = repeats->total.sd * repeats->total.sd;

    return total > 0.0 ? repeats->random.sd * repeats->random.sd / total : 1.0;
}

double
qs_averaged_stops(const struct qs_repeats *repeats, int count)
{
    double left = qs_repeats_averaged(repeats, count);

    return left > 0.0 ? 2.0 * log2(repeats->total.sd / left) : 0.0;
}
