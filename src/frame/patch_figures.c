/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/patch_figures.h"

#include "base/memory.h"
#include "flat/surround.h"
#include "resample/shrink.h"

/* A patch being measured. */
struct measuring {
    const struct qs_patch_task *task;
    const struct qs_patch_pixels *pixels;
    struct qs_patch *patch;
    struct qs_box reach; /* even surround of the patch, in the frame */
    struct qs_noise_shape shape[QS_CHANNELS];
};

static struct qs_box
in_area(const struct qs_patch_pixels *pixels, struct qs_box box)
{
    box.x -= pixels->area.x;
    box.y -= pixels->area.y;
    return box;
}

void
qs_patch_clipped(const struct qs_patch_pixels *pixels, enum qs_channel channel,
                 struct qs_patch_channel *out)
{
    struct qs_box box = in_area(pixels, pixels->box);
    unsigned mask = channel == QS_Y ? 7u : 1u << channel;
    long low = 0, high = 0;

    for (int y = box.y; y < box.y + box.height; y++)
        for (int x = box.x; x < box.x + box.width; x++) {
            ptrdiff_t at = (ptrdiff_t)y * pixels->area.width + x;

            if ((pixels->ends[at] & mask) == 0)
                continue;
            /* the ends are far apart: the middle tells them from each other */
            if (pixels->plane[channel][at] > 0.5f)
                high++;
            else
                low++;
        }
    out->clipped_low = (double)low / ((double)box.width * box.height);
    out->clipped_high = (double)high / ((double)box.width * box.height);
}

static enum qs_status
measure_native(struct measuring *now, struct qs_error *err)
{
    const struct qs_patch_pixels *pixels = now->pixels;

    for (int c = (int)pixels->first; c < QS_CHANNELS; c++) {
        struct qs_plane all = qs_patch_pixels_plane(pixels, (enum qs_channel)c);
        struct qs_plane part = qs_plane_part(&all, in_area(pixels, pixels->box));
        enum qs_status status = qs_noise_measure(
            &part, pixels->box.x, pixels->box.y, now->task->lags_x, now->task->lags_y,
            &now->patch->channel[c].noise, &now->shape[c], err);

        if (status != QS_OK)
            return status;
        qs_patch_clipped(pixels, (enum qs_channel)c, &now->patch->channel[c]);
    }
    return QS_OK;
}

/* A colour difference of the patch's pixels, whole. */
static void
fill_difference(const struct measuring *now, const double weight[3],
                struct qs_plane *out)
{
    const struct qs_patch_pixels *pixels = now->pixels;
    struct qs_box box = in_area(pixels, pixels->box);

    for (int y = 0; y < box.height; y++) {
        ptrdiff_t at = (ptrdiff_t)(box.y + y) * pixels->area.width + box.x;
        float *row = qs_plane_row(out, y);

        for (int x = 0; x < box.width; x++)
            row[x] = (float)(weight[0] * (double)pixels->plane[QS_R][at + x] +
                             weight[1] * (double)pixels->plane[QS_G][at + x] +
                             weight[2] * (double)pixels->plane[QS_B][at + x]);
    }
}

static enum qs_status
look_at_difference(const struct measuring *now, const double weight[3],
                   struct qs_plane *room, struct qs_patch_signal *out,
                   struct qs_error *err)
{
    const struct qs_box box = now->pixels->box;
    struct qs_noise_shape shape;
    enum qs_status status;

    fill_difference(now, weight, room);
    status = qs_noise_measure(room, box.x, box.y, 0, 0, &out->noise, &shape, err);
    if (status == QS_OK)
        status = qs_spectrum_measure(&shape, &out->spectrum, err);
    qs_noise_shape_clear(&shape);
    return status;
}

static enum qs_status
look_at_differences(const struct measuring *now, struct qs_error *err)
{
    const struct qs_colour_weights *weights =
        &qs_linear_encoding(now->task->linear)->weights;
    const struct qs_box box = now->pixels->box;
    struct qs_patch_signal *signal = now->patch->signal;
    struct qs_plane room = {NULL, box.width, box.height, box.width};
    enum qs_status status;

    room.px = qs_alloc((size_t)box.width * (size_t)box.height, sizeof *room.px);
    if (room.px == NULL)
        return qs_fail_memory(err);
    status = look_at_difference(now, weights->red_green, &room,
                                &signal[QS_SIGNAL_RED_GREEN], err);
    if (status == QS_OK)
        status = look_at_difference(now, weights->yellow_blue, &room,
                                    &signal[QS_SIGNAL_YELLOW_BLUE], err);
    qs_free(room.px);
    return status;
}

static enum qs_status
look_at_signals(const struct measuring *now, struct qs_error *err)
{
    for (int c = (int)now->pixels->first; c < QS_CHANNELS; c++) {
        enum qs_status status =
            qs_spectrum_measure(&now->shape[c], &now->patch->signal[c].spectrum, err);

        if (status != QS_OK)
            return status;
        now->patch->signal[c].noise = now->patch->channel[c].noise;
    }
    return now->pixels->first == QS_Y ? QS_OK : look_at_differences(now, err);
}

/* The surround that is even in every stored channel. */
static enum qs_status
find_reach(struct measuring *now, struct qs_error *err)
{
    const struct qs_patch_pixels *pixels = now->pixels;
    struct qs_box limit = {0, 0, pixels->area.width, pixels->area.height};

    for (int c = (int)pixels->first; c == (int)pixels->first || c < QS_Y; c++) {
        struct qs_plane plane = qs_patch_pixels_plane(pixels, (enum qs_channel)c);
        enum qs_status status =
            qs_surround(&plane, in_area(pixels, pixels->box), limit, &now->reach, err);

        if (status != QS_OK)
            return status;
        limit = now->reach;
    }
    now->reach.x += pixels->area.x;
    now->reach.y += pixels->area.y;
    return QS_OK;
}

/* The delivered pixels of the patch: a plane per channel. */
struct delivered {
    struct qs_plane plane[QS_CHANNELS];
    float *room;
};

static enum qs_status
delivered_init(struct delivered *delivered, struct qs_box out, struct qs_error *err)
{
    size_t count = (size_t)out.width * (size_t)out.height;

    delivered->room = qs_alloc(count * QS_CHANNELS, sizeof(float));
    if (delivered->room == NULL)
        return qs_fail_memory(err);
    for (int c = 0; c < QS_CHANNELS; c++)
        delivered->plane[c] = (struct qs_plane){delivered->room + (size_t)c * count,
                                                out.width, out.height, out.width};
    return QS_OK;
}

/* Shrunk code values through the curve, in place: what `--light encoded` shows. */
static void
through_curve(const struct measuring *now, struct delivered *delivered)
{
    struct qs_plane *plane = delivered->plane;
    int count = plane[QS_Y].width * plane[QS_Y].height;
    bool grey = now->pixels->first == QS_Y;
    float *out[3] = {grey ? plane[QS_Y].px : plane[QS_R].px, plane[QS_G].px,
                     plane[QS_B].px};
    const float *in[3] = {out[0], out[1], out[2]};

    qs_linear_from_fractions(now->task->linear, in, count, out);
}

static enum qs_status
shrink_channels(const struct measuring *now, const struct qs_reduction *reduction,
                struct qs_box out, struct delivered *delivered, struct qs_error *err)
{
    const struct qs_patch_pixels *pixels = now->pixels;
    bool encoded = pixels->fraction[0] != NULL;
    int x = pixels->area.x - reduction->origin_x,
        y = pixels->area.y - reduction->origin_y;
    int colours = pixels->first == QS_Y ? 1 : 3;

    for (int k = 0; k < colours; k++) {
        int c = colours == 1 ? (int)QS_Y : k;
        struct qs_plane source = qs_patch_pixels_plane(pixels, (enum qs_channel)c);
        enum qs_status status;

        if (encoded)
            source.px = pixels->fraction[k];
        status = qs_shrink(&source, x, y, &reduction->across, &reduction->down, out,
                           &delivered->plane[c], err);
        if (status != QS_OK)
            return status;
    }
    if (encoded)
        through_curve(now, delivered);
    if (colours == 3)
        qs_linear_luminance(now->task->linear, delivered->plane[QS_R].px,
                            delivered->plane[QS_G].px, delivered->plane[QS_B].px,
                            out.width * out.height, delivered->plane[QS_Y].px);
    return QS_OK;
}

/* At native size the patch's own figures stand. */
static void
fall_native(const struct measuring *now, struct qs_fall_row *row)
{
    for (int c = (int)now->pixels->first; c < QS_CHANNELS; c++) {
        const struct qs_noise *noise = &now->patch->channel[c].noise;

        row->channel[c] = (struct qs_fall_value){
            .has_predicted = true,
            .sd_predicted = noise->sd,
            .has_measured = true,
            .sd_measured = noise->sd,
            .sd_low = noise->sd_low,
            .sd_high = noise->sd_high,
            .has_fall = noise->sd > 0.0,
        };
    }
}

static enum qs_status
fall_at(struct measuring *now, const struct qs_reduction *reduction,
        struct qs_fall_row *row, struct qs_error *err)
{
    struct qs_patch_view view = {.box = now->pixels->box, .reach = now->reach};
    struct qs_box out = qs_fall_pixels(reduction, &view);
    bool enough = out.width >= QS_FALL_MIN_SIDE && out.height >= QS_FALL_MIN_SIDE;
    struct delivered delivered = {.room = NULL};
    enum qs_status status = QS_OK;

    if (enough)
        status = delivered_init(&delivered, out, err);
    if (enough && status == QS_OK)
        status = shrink_channels(now, reduction, out, &delivered, err);
    for (int c = (int)now->pixels->first; status == QS_OK && c < QS_CHANNELS; c++)
        status = qs_fall(reduction, &now->patch->channel[c].noise, &now->shape[c],
                         enough ? &delivered.plane[c] : NULL, &row->channel[c], err);
    qs_free(delivered.room);
    return status;
}

enum qs_status
qs_patch_figures(const struct qs_patch_task *task, const struct qs_patch_pixels *pixels,
                 struct qs_patch *patch, struct qs_fall_row *falls, int fall_step,
                 struct qs_error *err)
{
    struct measuring now = {.task = task, .pixels = pixels, .patch = patch};
    enum qs_status status = measure_native(&now, err);

    if (status == QS_OK && task->traces)
        status = qs_patch_traces_look(pixels, &now.shape[QS_Y], &patch->traces, err);
    if (status == QS_OK && task->signals)
        status = look_at_signals(&now, err);
    if (status == QS_OK)
        status = find_reach(&now, err);
    for (int r = 0; status == QS_OK && r < task->reduction_count; r++) {
        const struct qs_reduction *reduction = &task->reductions[r];
        struct qs_fall_row *row = &falls[(ptrdiff_t)r * fall_step];

        if (reduction->across.in == reduction->across.out &&
            reduction->down.in == reduction->down.out)
            fall_native(&now, row);
        else
            status = fall_at(&now, reduction, row, err);
    }
    for (int c = 0; c < QS_CHANNELS; c++)
        qs_noise_shape_clear(&now.shape[c]);
    return status;
}
