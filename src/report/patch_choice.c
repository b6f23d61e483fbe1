/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/patch_choice.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"

struct toned {
    double mean;
    int patch;
};

static int
by_mean(const void *a, const void *b)
{
    const struct toned *x = a, *y = b;

    if (x->mean != y->mean)
        return x->mean < y->mean ? -1 : 1;
    return x->patch - y->patch;
}

static int
by_number(const void *a, const void *b)
{
    const struct toned *x = a, *y = b;

    return x->patch - y->patch;
}

/* Makes sure that the patch which the report speaks of is among those shown: it takes
   the place of the one nearest to it in tone. */
static void
include(struct toned *shown, int count, struct toned must)
{
    int nearest = 0;

    for (int i = 0; i < count; i++)
        if (fabs(shown[i].mean - must.mean) < fabs(shown[nearest].mean - must.mean))
            nearest = i;
    for (int i = 0; i < count; i++)
        if (shown[i].patch == must.patch)
            return;
    shown[nearest] = must;
}

/* Brings `most` of them to the front, from the darkest to the brightest in even steps
   of rank, patch `must` among them. */
static void
choose_patches(const struct qs_frame *frame, int most, int must, struct toned *shown)
{
    for (int p = 0; p < frame->patch_count; p++)
        shown[p] = (struct toned){frame->patches[p].channel[QS_Y].noise.mean, p};
    if (most >= frame->patch_count)
        return;
    qsort(shown, (size_t)frame->patch_count, sizeof *shown, by_mean);
    for (int i = 0; i < most; i++)
        shown[i] = shown[(long)i * (frame->patch_count - 1) / (most - 1)];
    include(shown, most,
            (struct toned){frame->patches[must].channel[QS_Y].noise.mean, must});
    qsort(shown, (size_t)most, sizeof *shown, by_number);
}

enum qs_status
qs_choose_patches(const struct qs_frame *frame, int most, int must, int *shown,
                  int *count, struct qs_error *err)
{
    struct toned *toned = qs_alloc((size_t)frame->patch_count, sizeof *toned);

    if (toned == NULL)
        return qs_fail_memory(err);
    choose_patches(frame, most, must, toned);
    *count = most < frame->patch_count ? most : frame->patch_count;
    for (int i = 0; i < *count; i++)
        shown[i] = toned[i].patch;
    qs_free(toned);
    return QS_OK;
}
