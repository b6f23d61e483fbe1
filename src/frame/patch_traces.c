/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/patch_traces.h"

enum {
    PATCHES = 64 /* most patches of a frame: chance is counted over all */
};

/* Of the variance: a quarter of all is a third of the rest. */
static const double MOSAIC_SHARE = 0.25;

/* The patch in one channel, without what lies around it. */
static struct qs_plane
patch_plane(const struct qs_patch_pixels *pixels, enum qs_channel channel)
{
    struct qs_plane all = qs_patch_pixels_plane(pixels, channel);
    struct qs_box box = pixels->box;

    box.x -= pixels->area.x;
    box.y -= pixels->area.y;
    return qs_plane_part(&all, box);
}

/* All the patch's own channels, from the first on; returns how many. */
static int
fill_planes(const struct qs_patch_pixels *pixels, struct qs_plane planes[QS_CHANNELS])
{
    int channels = pixels->first == QS_Y ? 1 : 3;

    for (int c = 0; c < channels; c++)
        planes[c] = patch_plane(pixels, (enum qs_channel)((int)pixels->first + c));
    return channels;
}

static enum qs_status
look_sites(const struct qs_patch_pixels *pixels, const struct qs_plane *planes,
           int channels, struct qs_sites *out, struct qs_error *err)
{
    struct qs_cross cross;
    enum qs_status status;

    *out = (struct qs_sites){.known = false};
    if (pixels->box.width < QS_CROSS_LEAST_PX || pixels->box.height < QS_CROSS_LEAST_PX)
        return QS_OK;
    status =
        qs_cross_measure(planes, channels, pixels->box.x, pixels->box.y, &cross, err);
    if (status == QS_OK)
        qs_sites_look(&cross, out);
    return status;
}

/* JPEG leaves 8-bit values; among finer ones its steps are not looked for. */
static enum qs_status
look_levels(const struct qs_patch_pixels *pixels, const struct qs_plane *planes,
            int channels, struct qs_patch_traces *out, struct qs_error *err)
{
    enum qs_status status = qs_lattice_look(planes, channels, &out->lattice, err);

    out->steps = (struct qs_dct_steps){.known = false};
    if (status != QS_OK || !out->lattice.known ||
        out->lattice.step <= qs_lattice_coarse)
        return status;
    return qs_dct_steps_look(planes, channels, pixels->box.x, pixels->box.y,
                             &out->steps, err);
}

enum qs_status
qs_patch_sites_look(const struct qs_patch_pixels *pixels, struct qs_sites *out,
                    struct qs_error *err)
{
    struct qs_plane planes[QS_CHANNELS];
    int channels = fill_planes(pixels, planes);

    return look_sites(pixels, planes, channels, out, err);
}

enum qs_status
qs_patch_traces_look(const struct qs_patch_pixels *pixels,
                     const struct qs_noise_shape *shape, struct qs_patch_traces *out,
                     struct qs_error *err)
{
    struct qs_plane planes[QS_CHANNELS], y = patch_plane(pixels, QS_Y);
    int channels = fill_planes(pixels, planes);
    enum qs_status status = look_sites(pixels, planes, channels, &out->sites, err);
    if (status == QS_OK)
        status = look_levels(pixels, planes, channels, out, err);
    for (int c = 0; c < channels; c++)
        qs_pile_look(&planes[c], &out->pile[(int)pixels->first + c]);
    qs_blocks_init(&out->blocks, pixels->box);
    qs_blocks_add(&out->blocks, &y, pixels->box.y);
    qs_stripes_look(shape, true, &out->rows);
    qs_stripes_look(shape, false, &out->columns);
    qs_texture_look(shape, PATCHES, &out->texture);
    return status;
}

bool
qs_patch_is_mosaic(const struct qs_patch_traces *traces)
{
    return traces->sites.known && traces->sites.places > MOSAIC_SHARE;
}
