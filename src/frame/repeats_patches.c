/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/repeats_patches.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "frame/gather.h"

/* One patch between the frames. */
struct kept {
    struct qs_patch_pixels mean; /* of the frames so far */
    struct qs_repeats_sums sums[QS_CHANNELS];
};

struct scene_run {
    const struct qs_repeat_set *set;
    const struct qs_patch_task *task;
    struct qs_same_scene *scene;
    struct kept *kept; /* one for each patch */
    int frame;         /* the one being read */
    qs_frame_progress *progress;
    void *context;
};

static int
area_count(const struct qs_patch_pixels *pixels)
{
    return pixels->area.width * pixels->area.height;
}

/* R2: every frame as bright as the mean of all. */
static void
even_out(const struct scene_run *run, struct qs_patch_pixels *pixels)
{
    const struct qs_scene_light *light = &run->scene->light[run->frame];
    int count = area_count(pixels);

    for (int c = (int)pixels->first; c == (int)pixels->first || c < QS_Y; c++)
        for (int i = 0; i < count; i++)
            pixels->plane[c][i] /= (float)light->of_mean[c];
    if (pixels->first != QS_Y)
        qs_linear_luminance(run->task->linear, pixels->plane[QS_R], pixels->plane[QS_G],
                            pixels->plane[QS_B], count, pixels->plane[QS_Y]);
}

/* Adds this frame's share of the samples at the ends of the code range. */
static void
add_clipped(const struct scene_run *run, const struct qs_patch_pixels *pixels,
            struct qs_patch *patch)
{
    for (int c = (int)pixels->first; c < QS_CHANNELS; c++) {
        struct qs_patch_channel here = {0};

        qs_patch_clipped(pixels, (enum qs_channel)c, &here);
        patch->channel[c].clipped_low += here.clipped_low / run->set->count;
        patch->channel[c].clipped_high += here.clipped_high / run->set->count;
    }
}

/* R3: turns a further frame into its contrast, and takes it into the mean. */
static void
make_contrast(int frame, struct qs_patch_pixels *mean, struct qs_patch_pixels *pixels)
{
    float factor = (float)qs_repeats_contrast(frame);
    int count = area_count(pixels);

    for (int c = (int)pixels->first; c < QS_CHANNELS; c++)
        for (int i = 0; i < count; i++) {
            float difference = pixels->plane[c][i] - mean->plane[c][i];

            mean->plane[c][i] += difference / (float)(frame + 1);
            pixels->plane[c][i] = factor * difference;
        }
    memset(pixels->ends, 0, (size_t)count);
}

static struct qs_plane
box_plane(const struct qs_patch_pixels *pixels, int channel)
{
    struct qs_plane plane = qs_patch_pixels_plane(pixels, (enum qs_channel)channel);
    struct qs_box box = pixels->box;

    box.x -= pixels->area.x;
    box.y -= pixels->area.y;
    return qs_plane_part(&plane, box);
}

/* Adds a contrast's figure to the sums of a size; squares add, as variances do. */
static void
add_fall(const struct qs_fall_value *one, bool is_first, struct qs_fall_value *sum)
{
    sum->has_predicted = one->has_predicted && (is_first || sum->has_predicted);
    sum->has_measured = one->has_measured && (is_first || sum->has_measured);
    sum->has_fall = one->has_fall && (is_first || sum->has_fall);
    sum->sd_predicted += one->sd_predicted * one->sd_predicted;
    sum->sd_measured += one->sd_measured * one->sd_measured;
    sum->sd_low += one->sd_low > 0.0 ? log(one->sd_low) : 0.0;
    sum->sd_high += one->sd_high > 0.0 ? log(one->sd_high) : 0.0;
    sum->fall_db += one->fall_db;
    sum->worth_stops += one->worth_stops;
    sum->worth_se_stops += one->worth_se_stops * one->worth_se_stops;
}

/*
 * R11: sums over contrasts to the figure of all; independent, so that the interval gets
 * narrower as their number's root.
 */
static void
finish_fall(int contrasts, struct qs_fall_value *value)
{
    double n = contrasts, half, sd;

    half = (value->sd_high - value->sd_low) / n / 2.0 / sqrt(n);
    value->sd_predicted = sqrt(value->sd_predicted / n);
    value->sd_measured = sqrt(value->sd_measured / n);
    sd = value->has_measured ? value->sd_measured : value->sd_predicted;
    value->sd_low = sd * exp(-half);
    value->sd_high = sd * exp(half);
    value->fall_db /= n;
    value->worth_stops /= n;
    value->worth_se_stops = sqrt(value->worth_se_stops) / n;
}

/* Measures a contrast like a patch of its own. */
static enum qs_status
measure_contrast(struct scene_run *run, int p, struct qs_patch_pixels *pixels,
                 struct qs_error *err)
{
    int rows = run->task->reduction_count;
    struct qs_frame *random = &run->scene->random;
    struct qs_fall_row *falls = qs_alloc((size_t)rows, sizeof *falls);
    struct qs_patch patch = {.box = pixels->box};
    enum qs_status status;

    if (falls == NULL)
        return qs_fail_memory(err);
    status = qs_patch_figures(run->task, pixels, &patch, falls, 1, err);
    for (int c = (int)pixels->first; status == QS_OK && c < QS_CHANNELS; c++) {
        struct qs_plane plane = box_plane(pixels, c);
        struct qs_repeats_plane contrast = {.noise = patch.channel[c].noise};

        status = qs_repeats_bands(&plane, &contrast, err);
        qs_repeats_add(&run->kept[p].sums[c], &contrast);
        for (int r = 0; r < rows; r++)
            add_fall(&falls[r].channel[c], run->frame == 1,
                     &random->falls[(ptrdiff_t)r * random->patch_count + p].channel[c]);
    }
    qs_free(falls);
    return status;
}

/* What the random frame's patch says: the random part, at the mean of all frames. */
static void
fill_random(const struct qs_repeats *repeats, const struct qs_repeats_sums *sums,
            struct qs_noise *noise)
{
    *noise = (struct qs_noise){.mean = repeats->mean,
                               .sd = repeats->random.sd,
                               .sd_low = repeats->random.sd_low,
                               .sd_high = repeats->random.sd_high,
                               .row_sd = repeats->random.row_sd,
                               .column_sd = repeats->random.column_sd,
                               .has_grain = repeats->has_grain,
                               .grain_px = repeats->grain_px};
    if (sums->spread > 0.0)
        noise->freedom = 2.0 * sums->variance * sums->variance / sums->spread;
}

static enum qs_status
finish_channel(struct scene_run *run, int p, int c, struct qs_error *err)
{
    struct kept *kept = &run->kept[p];
    struct qs_frame *random = &run->scene->random;
    struct qs_repeats *repeats = &run->scene->patches[p].channel[c];
    struct qs_plane plane = box_plane(&kept->mean, c);
    struct qs_repeats_plane mean = {0};
    struct qs_noise_shape shape;
    enum qs_status status = qs_noise_measure(&plane, kept->mean.box.x, kept->mean.box.y,
                                             0, 0, &mean.noise, &shape, err);

    qs_noise_shape_clear(&shape);
    if (status == QS_OK)
        status = qs_repeats_bands(&plane, &mean, err);
    if (status != QS_OK)
        return status;
    qs_repeats_solve(&mean, &kept->sums[c], repeats);
    fill_random(repeats, &kept->sums[c], &random->patches[p].channel[c].noise);
    for (int r = 0; r < run->task->reduction_count; r++)
        finish_fall(run->set->count - 1,
                    &random->falls[(ptrdiff_t)r * random->patch_count + p].channel[c]);
    return QS_OK;
}

/* A patch's pixels in one frame are there. */
static enum qs_status
visit(void *visitor, int p, struct qs_patch_pixels *pixels, struct qs_error *err)
{
    struct scene_run *run = visitor;
    struct kept *kept = &run->kept[p];
    enum qs_status status = QS_OK;

    add_clipped(run, pixels, &run->scene->random.patches[p]);
    even_out(run, pixels);
    if (run->frame == 0) {
        kept->mean = *pixels;
        *pixels = (struct qs_patch_pixels){0};
        return QS_OK;
    }
    make_contrast(run->frame, &kept->mean, pixels);
    status = measure_contrast(run, p, pixels, err);
    if (status == QS_OK && run->frame == 1)
        status = qs_patch_sites_look(pixels,
                                     &run->scene->random.patches[p].traces.sites, err);
    if (run->frame < run->set->count - 1)
        return status;
    for (int c = (int)kept->mean.first; status == QS_OK && c < QS_CHANNELS; c++)
        status = finish_channel(run, p, c, err);
    qs_patch_pixels_clear(&kept->mean);
    return status;
}

static void
frame_progress(void *context, double share)
{
    struct scene_run *run = context;

    if (run->progress != NULL)
        run->progress(run->context, (run->frame + share) / run->set->count);
}

enum qs_status
qs_repeats_patches(const struct qs_repeat_set *set, const struct qs_patch_task *task,
                   int margin, struct qs_pool *pool, qs_frame_progress *progress,
                   void *context, struct qs_same_scene *scene, int *culprit,
                   struct qs_error *err)
{
    struct scene_run run = {.set = set,
                            .task = task,
                            .scene = scene,
                            .progress = progress,
                            .context = context};
    size_t patches = (size_t)scene->random.patch_count;
    enum qs_status status = QS_OK;

    run.kept = qs_alloc(patches, sizeof *run.kept);
    if (run.kept == NULL)
        return qs_fail_memory(err);
    for (; status == QS_OK && run.frame < set->count; run.frame++) {
        struct qs_gather_plan plan = {.linear = set->linears[run.frame],
                                      .margin = margin,
                                      .visit = visit,
                                      .visitor = &run};

        *culprit = run.frame;
        status = qs_image_rewind(set->images[run.frame], err);
        if (status == QS_OK)
            status = qs_gather_each(set->images[run.frame], &scene->random, &plan, pool,
                                    frame_progress, &run, err);
    }
    for (size_t p = 0; p < patches; p++)
        qs_patch_pixels_clear(&run.kept[p].mean);
    qs_free(run.kept);
    return status;
}
