/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/surround.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "flat/shading.h"

enum {
    BLOCK_PX = 8 /* blocks of a strip: this long, as wide as the strip */
};

/* A strip's worst block may stray this many sd of the patch's own blocks. */
static const double WORST_BLOCK_SD = 5.0;

/* And all of its blocks together, as a ratio of root mean squares. */
static const double ALL_BLOCKS_RATIO = 2.0;

/* The patch's surface, known in the plane's coordinates, and its blocks' sd. */
struct patch {
    const struct qs_plane *plane;
    struct qs_box box;
    struct qs_shading_basis basis;
    struct qs_surface surface;
    double block_sd_across; /* blocks BLOCK_PX wide and a strip high */
    double block_sd_down;   /* blocks a strip wide and BLOCK_PX high */
};

/* Mean of the plane less the patch's surface, over a block anywhere in the plane. */
static double
block_mean(const struct patch *patch, struct qs_box block)
{
    double sum = 0.0;

    for (int y = block.y; y < block.y + block.height; y++)
        for (int x = block.x; x < block.x + block.width; x++)
            sum += qs_plane_row(patch->plane, y)[x];
    /* over a few pixels the surface is as good as flat: its value in the middle does */
    return sum / ((double)block.width * block.height) -
           qs_surface_at(&patch->basis, &patch->surface,
                         block.x - patch->box.x + 0.5 * (block.width - 1),
                         block.y - patch->box.y + 0.5 * (block.height - 1));
}

/* D9: root mean square of the patch's own blocks of one shape. */
static double
block_sd(const struct patch *patch, int width, int height)
{
    struct qs_box box = patch->box;
    double sum = 0.0;
    int count = 0;

    for (int y = 0; y + height <= box.height; y += height)
        for (int x = 0; x + width <= box.width; x += width) {
            struct qs_box block = {box.x + x, box.y + y, width, height};
            double mean = block_mean(patch, block);

            sum += mean * mean;
            count++;
        }
    return count > 0 ? sqrt(sum / count) : 0.0;
}

/* D10: whether a strip, cut into blocks along its length, continues the patch. */
static bool
continues(const struct patch *patch, struct qs_box strip, bool across)
{
    double sd = across ? patch->block_sd_across : patch->block_sd_down;
    int length = across ? strip.width : strip.height;
    double sum = 0.0;
    int count = 0;

    for (int at = 0; at < length; at += BLOCK_PX) {
        /* the last block is moved back where the length is no multiple: no pixel of
           the strip goes unseen */
        int from = at + BLOCK_PX <= length ? at : length - BLOCK_PX;
        struct qs_box block = strip;
        double mean;

        if (across) {
            block.x += from;
            block.width = BLOCK_PX;
        } else {
            block.y += from;
            block.height = BLOCK_PX;
        }
        mean = block_mean(patch, block);
        if (fabs(mean) > WORST_BLOCK_SD * sd)
            return false;
        sum += mean * mean;
        count++;
    }
    return sum <= ALL_BLOCKS_RATIO * ALL_BLOCKS_RATIO * sd * sd * count;
}

/* The next strip on one side of `reach` (0 left, 1 right, 2 above, 3 below). */
static struct qs_box
strip_beside(struct qs_box reach, int side)
{
    struct qs_box strip = reach;

    if (side < 2) {
        strip.x = side == 0 ? reach.x - QS_SURROUND_STEP_PX : reach.x + reach.width;
        strip.width = QS_SURROUND_STEP_PX;
    } else {
        strip.y = side == 2 ? reach.y - QS_SURROUND_STEP_PX : reach.y + reach.height;
        strip.height = QS_SURROUND_STEP_PX;
    }
    return strip;
}

static void
join(struct qs_box *reach, int side)
{
    if (side == 0)
        reach->x -= QS_SURROUND_STEP_PX;
    if (side == 2)
        reach->y -= QS_SURROUND_STEP_PX;
    if (side < 2)
        reach->width += QS_SURROUND_STEP_PX;
    else
        reach->height += QS_SURROUND_STEP_PX;
}

/* Goes round and round while a side can still be taken. */
static void
grow(const struct patch *patch, struct qs_box limit, struct qs_box *reach)
{
    bool open[4] = {true, true, true, true};

    while (open[0] || open[1] || open[2] || open[3])
        for (int side = 0; side < 4; side++) {
            struct qs_box strip = strip_beside(*reach, side);

            open[side] = open[side] && qs_box_within(strip, limit) &&
                         continues(patch, strip, side >= 2);
            if (open[side])
                join(reach, side);
        }
}

enum qs_status
qs_surround(const struct qs_plane *plane, struct qs_box box, struct qs_box limit,
            struct qs_box *reach, struct qs_error *err)
{
    struct patch patch = {.plane = plane, .box = box};
    struct qs_plane part = qs_plane_part(plane, box);
    double *residual =
        qs_alloc((size_t)box.width * (size_t)box.height, sizeof *residual);
    enum qs_status status;

    *reach = box;
    if (residual == NULL)
        return qs_fail_memory(err);
    status = qs_shading_basis_init(&patch.basis, box.width, box.height, err);
    if (status == QS_OK) {
        (void)qs_shading_remove(&patch.basis, &part, residual, &patch.surface);
        patch.block_sd_across = block_sd(&patch, BLOCK_PX, QS_SURROUND_STEP_PX);
        patch.block_sd_down = block_sd(&patch, QS_SURROUND_STEP_PX, BLOCK_PX);
        grow(&patch, limit, reach);
    }
    qs_shading_basis_clear(&patch.basis);
    qs_free(residual);
    return status;
}
