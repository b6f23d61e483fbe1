/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/survey.h"

#include "base/memory.h"
#include "flat/cells.h"
#include "frame/strips.h"

/* One strip on its way into the cells; each job does one row of cells. */
struct survey {
    const struct qs_strips *strips;
    const struct qs_linear *linear;
    struct qs_cells *cells;
    int width;
    float *planes[QS_CHANNELS]; /* a strip each, from cells->first on */
    unsigned char *ends;
    struct qs_frame_traces *traces;
    double pixels; /* of the frame */
};

enum qs_status
qs_frame_traces_init(struct qs_frame_traces *traces, const struct qs_image_info *info,
                     struct qs_error *err)
{
    enum qs_status status = QS_OK;

    *traces = (struct qs_frame_traces){.codes = {.channels = 0}};
    qs_blocks_init(&traces->blocks, (struct qs_box){0, 0, info->width, info->height});
    if (info->sample == QS_SAMPLE_U16)
        status = qs_codes_init(&traces->codes, info->channels, err);
    if (status == QS_OK)
        status = qs_row_waves_init(&traces->waves, info->width, info->height, err);
    if (status != QS_OK)
        qs_frame_traces_clear(traces);
    return status;
}

void
qs_frame_traces_clear(struct qs_frame_traces *traces)
{
    qs_codes_clear(&traces->codes);
    qs_row_waves_clear(&traces->waves);
}

/* Shares of the frame's pixels; darker than a tenth of white is called dark. */
static void
add_ends(struct survey *survey, size_t pixels)
{
    const float *y = survey->planes[QS_Y];
    long black = 0, white = 0;

    for (size_t i = 0; i < pixels; i++)
        if (survey->ends[i] != 0) {
            black += y[i] < 0.1F;
            white += y[i] >= 0.1F;
        }
    survey->traces->at_black += (double)black / survey->pixels;
    survey->traces->at_white += (double)white / survey->pixels;
}

/* Serial, in the order of the strips, so that sums come out the same to the bit. */
static void
look_at_strip(struct survey *survey)
{
    const struct qs_strips *strips = survey->strips;
    int side = survey->cells->side_px, rows = strips->rows / side * side;
    struct qs_plane y = {survey->planes[QS_Y], survey->width, rows, survey->width};

    survey->traces->surveyed = true;
    if (rows > 0) {
        add_ends(survey, (size_t)survey->width * (size_t)rows);
        qs_blocks_add(&survey->traces->blocks, &y, strips->y);
        qs_row_waves_add(&survey->traces->waves, &y);
    }
    if (survey->traces->codes.channels > 0)
        qs_codes_add(&survey->traces->codes, qs_strips_at(strips, 0, strips->y),
                     (size_t)survey->width * (size_t)strips->rows);
}

static enum qs_status
survey_init(struct survey *survey, struct qs_error *err)
{
    size_t pixels = (size_t)survey->width * QS_STRIP_ROWS;

    for (int c = (int)survey->cells->first; c < QS_CHANNELS; c++) {
        survey->planes[c] = qs_alloc(pixels, sizeof(float));
        if (survey->planes[c] == NULL)
            return qs_fail_memory(err);
    }
    survey->ends = qs_alloc(pixels, 1);
    return survey->ends == NULL ? qs_fail_memory(err) : QS_OK;
}

static void
survey_clear(struct survey *survey)
{
    for (int c = 0; c < QS_CHANNELS; c++)
        qs_free(survey->planes[c]);
    qs_free(survey->ends);
}

/* Decodes the rows of one row of cells, and fills it. */
static void
do_cell_row(void *context, int index)
{
    const struct survey *survey = context;
    struct qs_cells *cells = survey->cells;
    int side = cells->side_px;
    size_t start = (size_t)index * (size_t)side * (size_t)survey->width;
    int first_y = survey->strips->y + index * side;
    const float *planes[QS_CHANNELS] = {NULL, NULL, NULL, NULL};
    int count = survey->width;

    for (int y = 0; y < side; y++) {
        size_t at = start + (size_t)y * (size_t)survey->width;
        float *row[QS_CHANNELS] = {NULL, NULL, NULL, NULL};
        float *out[3];

        for (int c = (int)cells->first; c < QS_CHANNELS; c++)
            row[c] = survey->planes[c] + at;
        out[0] = row[cells->first];
        out[1] = row[QS_G];
        out[2] = row[QS_B];
        qs_linear_decode(survey->linear, qs_strips_at(survey->strips, 0, first_y + y),
                         count, out, survey->ends + at);
        if (cells->first != QS_Y)
            qs_linear_luminance(survey->linear, row[QS_R], row[QS_G], row[QS_B], count,
                                row[QS_Y]);
    }
    for (int c = (int)cells->first; c < QS_CHANNELS; c++)
        planes[c] = survey->planes[c] + start;
    qs_cells_fill_row(cells, first_y / side, planes, survey->ends + start,
                      survey->width);
}

static enum qs_status
fill_cells(struct survey *survey, struct qs_strips *strips, struct qs_pool *pool,
           qs_frame_progress *progress, void *context, struct qs_error *err)
{
    while (qs_strips_next(strips)) {
        enum qs_status status = qs_strips_read(strips, err);

        if (status != QS_OK)
            return status;
        qs_pool_run(pool, strips->rows / survey->cells->side_px, do_cell_row, survey);
        look_at_strip(survey);
        if (progress != NULL)
            progress(context, (double)(strips->y + strips->rows) / strips->height);
    }
    return QS_OK;
}

enum qs_status
qs_survey(struct qs_image *image, const struct qs_linear *linear, struct qs_pool *pool,
          qs_frame_progress *progress, void *context, struct qs_frame_traces *traces,
          struct qs_box boxes[QS_FIND_MAX], int *count, struct qs_error *err)
{
    const struct qs_image_info *info = qs_image_info(image);
    struct qs_cells cells = {0};
    struct qs_strips strips = {0};
    struct survey survey = {.strips = &strips,
                            .linear = linear,
                            .cells = &cells,
                            .width = info->width,
                            .traces = traces,
                            .pixels = (double)info->width * info->height};
    enum qs_status status;

    *count = 0;
    status = qs_cells_init(&cells, info->width, info->height,
                           qs_channel_first(info->channels), NULL);
    if (status == QS_ERR_TOO_FEW)
        return QS_OK;
    if (status != QS_OK)
        return qs_fail_memory(err);
    status = qs_strips_init(&strips, image, err);
    if (status == QS_OK)
        status = survey_init(&survey, err);
    if (status == QS_OK)
        status = fill_cells(&survey, &strips, pool, progress, context, err);
    if (status == QS_OK)
        status = qs_find_flat(&cells, boxes, count, err);
    survey_clear(&survey);
    qs_strips_clear(&strips);
    qs_cells_clear(&cells);
    return status;
}
