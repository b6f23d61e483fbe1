/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/repeats_survey.h"

#include <math.h>
#include <stdint.h>

#include "base/memory.h"
#include "flat/cells.h"
#include "frame/repeats_motion.h"
#include "measure/stillness.h"

/* A frame this much brighter or darker than the first was not shot alike. */
static const double MOST_CHANGE = 1.25;

/* Frames darker than this (of white) on average are as good as black. */
static const double BLACK = 0.002;

/* One frame's rows of the strip that is being done. */
struct lane {
    struct qs_image *image;
    const struct qs_linear *linear;
    void *codes;
    float *planes[QS_CHANNELS]; /* from `first` on */
    unsigned char *ends;
    double sum[QS_CHANNELS]; /* of all values so far */
    uint64_t print;          /* of all codes so far: differs where any code does */
    enum qs_status status;
    struct qs_error error;
};

struct survey {
    const struct qs_repeat_set *set;
    struct qs_same_scene *scene;
    enum qs_channel first;
    int width;
    int height;
    int step; /* rows that are done at a time */
    int y;    /* first row of the strip, */
    int rows; /*   and how many it has */
    struct lane *lanes;
    float *mean[QS_CHANNELS];  /* of all frames, a strip each */
    float *block[QS_CHANNELS]; /* with two frames: what lies around in it */
    struct qs_tone_bins *tones[QS_CHANNELS];
    struct qs_stillness *still;
    struct qs_cells cells; /* rows 0: no patches are looked for */
};

static enum qs_status
lane_init(const struct survey *survey, struct lane *lane, int k, struct qs_error *err)
{
    size_t pixels = (size_t)survey->width * (size_t)survey->step;

    lane->image = survey->set->images[k];
    lane->linear = survey->set->linears[k];
    lane->codes = qs_alloc((size_t)survey->step, qs_image_row_bytes(lane->image));
    lane->ends = qs_alloc(pixels, 1);
    if (lane->codes == NULL || lane->ends == NULL)
        return qs_fail_memory(err);
    for (int c = (int)survey->first; c < QS_CHANNELS; c++) {
        lane->planes[c] = qs_alloc(pixels, sizeof(float));
        if (lane->planes[c] == NULL)
            return qs_fail_memory(err);
    }
    return QS_OK;
}

static enum qs_status
channels_init(struct survey *survey, struct qs_error *err)
{
    size_t pixels = (size_t)survey->width * (size_t)survey->step;

    for (int c = (int)survey->first; c < QS_CHANNELS; c++) {
        enum qs_status status =
            qs_tone_bins_new(survey->set->count, &survey->tones[c], err);

        if (status != QS_OK)
            return status;
        survey->mean[c] = qs_alloc(pixels, sizeof(float));
        survey->block[c] = qs_alloc(pixels, sizeof(float));
        if (survey->mean[c] == NULL || survey->block[c] == NULL)
            return qs_fail_memory(err);
    }
    return QS_OK;
}

/* Frames too small to look for patches in have none. */
static enum qs_status
cells_init(struct survey *survey, struct qs_error *err)
{
    enum qs_status status = qs_cells_init(&survey->cells, survey->width, survey->height,
                                          survey->first, NULL);

    if (status == QS_ERR_TOO_FEW)
        return QS_OK;
    if (status != QS_OK)
        return qs_fail_memory(err);
    if (survey->cells.side_px > survey->step)
        survey->step = survey->cells.side_px;
    return QS_OK;
}

static enum qs_status
survey_init(struct survey *survey, bool find, struct qs_error *err)
{
    int count = survey->set->count;
    enum qs_status status = QS_OK;

    survey->step = QS_STILL_ROWS;
    if (find)
        status = cells_init(survey, err);
    if (status == QS_OK)
        status = channels_init(survey, err);
    if (status == QS_OK)
        status =
            qs_stillness_new(count, survey->width, survey->height, &survey->still, err);
    survey->lanes = qs_alloc((size_t)count, sizeof *survey->lanes);
    if (status == QS_OK && survey->lanes == NULL)
        status = qs_fail_memory(err);
    for (int k = 0; status == QS_OK && k < count; k++)
        status = lane_init(survey, &survey->lanes[k], k, err);
    return status;
}

static void
survey_clear(struct survey *survey)
{
    for (int k = 0; survey->lanes != NULL && k < survey->set->count; k++) {
        qs_free(survey->lanes[k].codes);
        qs_free(survey->lanes[k].ends);
        for (int c = 0; c < QS_CHANNELS; c++)
            qs_free(survey->lanes[k].planes[c]);
    }
    for (int c = 0; c < QS_CHANNELS; c++) {
        qs_tone_bins_free(survey->tones[c]);
        qs_free(survey->mean[c]);
        qs_free(survey->block[c]);
    }
    qs_stillness_free(survey->still);
    qs_cells_clear(&survey->cells);
    qs_free(survey->lanes);
}

static void
decode_strip(const struct survey *survey, struct lane *lane)
{
    int count = survey->width * survey->rows;
    float **planes = lane->planes;
    float *out[3] = {planes[survey->first], planes[QS_G], planes[QS_B]};

    qs_linear_decode(lane->linear, lane->codes, count, out, lane->ends);
    if (survey->first != QS_Y)
        qs_linear_luminance(lane->linear, planes[QS_R], planes[QS_G], planes[QS_B],
                            count, planes[QS_Y]);
    for (int c = (int)survey->first; c < QS_CHANNELS; c++)
        for (int i = 0; i < count; i++)
            lane->sum[c] += (double)planes[c][i];
}

/* Carries a fingerprint on over more bytes (FNV-1a's constants, 64 bits). */
static uint64_t
add_print(uint64_t print, const void *codes, size_t bytes)
{
    const unsigned char *byte = codes;

    for (size_t i = 0; i < bytes; i++)
        print = (print ^ byte[i]) * UINT64_C(1099511628211);
    return print;
}

/* Each frame is read and decoded by a job of its own. */
static void
lane_job(void *context, int index)
{
    struct survey *survey = context;
    struct lane *lane = &survey->lanes[index];

    lane->status = qs_image_read(lane->image, survey->rows, lane->codes, &lane->error);
    if (lane->status != QS_OK)
        return;
    lane->print = add_print(lane->print, lane->codes,
                            (size_t)survey->rows * qs_image_row_bytes(lane->image));
    decode_strip(survey, lane);
}

static void
fill_mean(struct survey *survey, enum qs_channel channel)
{
    int count = survey->width * survey->rows, frames = survey->set->count;
    float *mean = survey->mean[channel];

    for (int i = 0; i < count; i++)
        mean[i] = 0.0f;
    for (int k = 0; k < frames; k++)
        for (int i = 0; i < count; i++)
            mean[i] += survey->lanes[k].planes[channel][i] / (float)frames;
}

/*
 * R13: each pixel of a block gets the mean of the others in it, cut off at the strip's
 * rim; a lone one keeps its own.
 */
static void
fill_block(const struct survey *survey, enum qs_channel channel, int left, int top)
{
    int right = left + QS_TONE_BLOCK_PX, below = top + QS_TONE_BLOCK_PX;
    const float *mean = survey->mean[channel];
    float *block = survey->block[channel];
    float sum = 0.0f;
    int count;

    right = right < survey->width ? right : survey->width;
    below = below < survey->rows ? below : survey->rows;
    count = (right - left) * (below - top);
    for (int y = top; y < below; y++)
        for (int x = left; x < right; x++)
            sum += mean[(ptrdiff_t)y * survey->width + x];
    for (int y = top; y < below; y++)
        for (int x = left; x < right; x++) {
            ptrdiff_t at = (ptrdiff_t)y * survey->width + x;

            block[at] = count > 1 ? (sum - mean[at]) / (float)(count - 1) : sum;
        }
}

static void
add_tones(struct survey *survey, enum qs_channel channel)
{
    const float *rows[QS_REPEATS_MOST];
    const unsigned char *ends[QS_REPEATS_MOST];
    bool two = survey->set->count == 2;
    struct qs_tone_row row = {.rows = rows,
                              .ends = ends,
                              .mask = channel == QS_Y ? 7u : 1u << channel,
                              .width = survey->width};

    for (int y = 0; two && y < survey->rows; y += QS_TONE_BLOCK_PX)
        for (int x = 0; x < survey->width; x += QS_TONE_BLOCK_PX)
            fill_block(survey, channel, x, y);
    for (int y = 0; y < survey->rows; y++) {
        ptrdiff_t at = (ptrdiff_t)y * survey->width;

        for (int k = 0; k < survey->set->count; k++) {
            rows[k] = survey->lanes[k].planes[channel] + at;
            ends[k] = survey->lanes[k].ends + at;
        }
        row.chooser = (two ? survey->block : survey->mean)[channel] + at;
        row.group = (survey->y + y) / QS_STILL_ROWS;
        qs_tone_bins_add(survey->tones[channel], &row);
    }
}

static void
add_stillness(struct survey *survey)
{
    const float *rows[QS_REPEATS_MOST];
    const unsigned char *ends[QS_REPEATS_MOST];

    for (int y = 0; y + QS_STILL_ROWS <= survey->rows; y += QS_STILL_ROWS) {
        for (int k = 0; k < survey->set->count; k++) {
            ptrdiff_t at = (ptrdiff_t)y * survey->width;

            rows[k] = survey->lanes[k].planes[QS_Y] + at;
            ends[k] = survey->lanes[k].ends + at;
        }
        qs_stillness_add(survey->still, survey->y + y, rows, ends);
    }
}

/* Each channel is a job of its own, and so is the comparison of the frames. */
static void
channel_job(void *context, int index)
{
    struct survey *survey = context;
    int c = (int)survey->first + index;

    if (c == QS_CHANNELS) {
        add_stillness(survey);
        return;
    }
    fill_mean(survey, (enum qs_channel)c);
    add_tones(survey, (enum qs_channel)c);
}

/* Rows of cells that lie in the strip. */
static void
fill_cells(struct survey *survey)
{
    int side = survey->cells.side_px;

    for (int y = 0; survey->cells.rows > 0 && y + side <= survey->rows; y += side) {
        const float *planes[QS_CHANNELS] = {NULL, NULL, NULL, NULL};
        ptrdiff_t at = (ptrdiff_t)y * survey->width;

        for (int c = (int)survey->first; c < QS_CHANNELS; c++)
            planes[c] = survey->mean[c] + at;
        qs_cells_fill_row(&survey->cells, (survey->y + y) / side, planes,
                          survey->lanes[0].ends + at, survey->width);
    }
}

static enum qs_status
do_strip(struct survey *survey, struct qs_pool *pool, int *culprit,
         struct qs_error *err)
{
    qs_pool_run(pool, survey->set->count, lane_job, survey);
    for (int k = 0; k < survey->set->count; k++)
        if (survey->lanes[k].status != QS_OK) {
            *culprit = k;
            return qs_fail(err, survey->lanes[k].status, "%s",
                           survey->lanes[k].error.text);
        }
    qs_pool_run(pool, QS_CHANNELS - (int)survey->first + 1, channel_job, survey);
    fill_cells(survey);
    return QS_OK;
}

static void
fill_light(const struct survey *survey)
{
    double pixels = (double)survey->width * survey->height;
    int frames = survey->set->count;

    for (int c = (int)survey->first; c < QS_CHANNELS; c++) {
        double sum = 0.0;

        for (int k = 0; k < frames; k++)
            sum += survey->lanes[k].sum[c] / frames;
        for (int k = 0; k < frames; k++)
            survey->scene->light[k].of_mean[c] =
                sum / pixels > BLACK ? survey->lanes[k].sum[c] / sum : 1.0;
    }
}

static enum qs_status
check_numbers(const struct survey *survey, int k, struct qs_error *err)
{
    for (int c = (int)survey->first; c < QS_CHANNELS; c++)
        if (!isfinite(survey->lanes[k].sum[c]))
            return qs_fail(err, QS_ERR_RANGE,
                           "It holds values that are not numbers; export the frame "
                           "again as 16-bit TIFF.");
    return QS_OK;
}

/* The same file twice, or a copy of it, would halve the random noise unnoticed. */
static enum qs_status
check_copies(const struct survey *survey, int k, struct qs_error *err)
{
    for (int i = 0; i < k; i++)
        if (survey->lanes[i].print == survey->lanes[k].print)
            return qs_fail(err, QS_ERR_UNSUPPORTED,
                           "It holds the very same pixels as frame %d of the scene, "
                           "noise and all, so it is a copy and no repeat; leave it "
                           "out.",
                           i + 1);
    return QS_OK;
}

static enum qs_status
check_light(const struct survey *survey, int k, struct qs_error *err)
{
    const struct qs_scene_light *light = survey->scene->light;
    double change = light[k].of_mean[QS_Y] / light[0].of_mean[QS_Y];

    if (change > 1.0 / MOST_CHANGE && change < MOST_CHANGE)
        return QS_OK;
    return qs_fail(err, QS_ERR_UNSUPPORTED,
                   "It is %.2g times as bright as the first frame; repeats need the "
                   "same light and exposure, so leave this frame out.",
                   change);
}

static enum qs_status
check_frames(const struct survey *survey, int *culprit, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    for (int k = 0; status == QS_OK && k < survey->set->count; k++) {
        *culprit = k;
        status = check_numbers(survey, k, err);
        if (status == QS_OK)
            status = check_copies(survey, k, err);
    }
    for (int k = 1; status == QS_OK && k < survey->set->count; k++) {
        struct qs_motion_found found;

        *culprit = k;
        status = check_light(survey, k, err);
        if (status == QS_OK)
            status = qs_stillness_judge(survey->still, k, &found, err);
        if (status == QS_OK)
            status = qs_refuse_motion(&found, err);
    }
    return status;
}

static enum qs_status
read_all(struct survey *survey, struct qs_pool *pool, qs_frame_progress *progress,
         void *context, int *culprit, struct qs_error *err)
{
    for (survey->y = 0; survey->y < survey->height; survey->y += survey->rows) {
        int rest = survey->height - survey->y;
        enum qs_status status;

        survey->rows = rest < survey->step ? rest : survey->step;
        status = do_strip(survey, pool, culprit, err);
        if (status != QS_OK)
            return status;
        if (progress != NULL)
            progress(context, (double)(survey->y + survey->rows) / survey->height);
    }
    return QS_OK;
}

enum qs_status
qs_repeats_survey(const struct qs_repeat_set *set, struct qs_pool *pool,
                  qs_frame_progress *progress, void *context,
                  struct qs_same_scene *scene, struct qs_box boxes[QS_FIND_MAX],
                  int *count, int *culprit, struct qs_error *err)
{
    struct survey survey = {.set = set,
                            .scene = scene,
                            .first = scene->random.first,
                            .width = scene->random.width,
                            .height = scene->random.height};
    enum qs_status status = survey_init(&survey, boxes != NULL, err);

    if (status == QS_OK)
        status = read_all(&survey, pool, progress, context, culprit, err);
    if (status == QS_OK) {
        fill_light(&survey);
        status = check_frames(&survey, culprit, err);
    }
    for (int c = (int)survey.first; status == QS_OK && c < QS_CHANNELS; c++)
        scene->tone_count[c] = qs_tone_bins_classes(survey.tones[c], scene->tones[c]);
    if (status == QS_OK && survey.cells.rows > 0)
        status = qs_find_flat(&survey.cells, boxes, count, err);
    survey_clear(&survey);
    return status;
}
