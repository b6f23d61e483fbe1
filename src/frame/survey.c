/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/survey.h"

#include "base/memory.h"
#include "flat/cells.h"
#include "frame/strips.h"

enum {
    PART_PX = 2 * QS_CELLS_PART_PX, /* least columns of a part; a multiple of a tile */
    PARTS_EACH = 2,                 /* parts for each thread, where there is room */
    TILE_ROWS = QS_STRIP_ROWS / QS_BLOCK_TILE_PX
};

/* What a job found: pixels at an end of the codes; below a tenth of white is dark. */
struct part {
    long black, white;
    enum qs_status status;
    struct qs_error error;
};

/* One strip on its way into the cells; each job does a part of its columns. */
struct survey {
    struct qs_strips *strips;
    const struct qs_linear *linear;
    struct qs_cells *cells;
    int width;
    int parts;
    int part_px;
    bool own_rows;               /* jobs read their own pixels; else *strips has them */
    float *y;                    /* the strip's luminance */
    float *planes[3];            /* r, g and b of one row of cells, or none */
    unsigned char *ends;         /* of one row of cells */
    unsigned char *codes;        /* of a row, part by part */
    struct part *part;           /* what each job found */
    struct qs_block_tile *tiles; /* [TILE_ROWS][columns of tiles] */
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

static int
tile_columns(const struct survey *survey)
{
    return survey->width / QS_BLOCK_TILE_PX;
}

/* Rows of the strip that make whole rows of cells. */
static int
cell_rows_px(const struct survey *survey)
{
    int side = survey->cells->side_px;

    return survey->strips->rows / side * side;
}

/* Rows that jobs share; the last ones of a frame may be fewer than a row of cells. */
static struct qs_plane
luminance(const struct survey *survey)
{
    return (struct qs_plane){survey->y, survey->width, cell_rows_px(survey),
                             survey->width};
}

static void
count_ends(const float *y, const unsigned char *ends, int count, struct part *part)
{
    for (int x = 0; x < count; x++)
        if (ends[x] != 0) {
            part->black += y[x] < 0.1F;
            part->white += y[x] >= 0.1F;
        }
}

/* Columns from .. to - 1 of row `y` of the strip, from where they are or from the file.
 */
static const void *
codes_of(const struct survey *survey, int y, int from, int to, struct part *part)
{
    struct qs_box line = {from, survey->strips->y + y, to - from, 1};
    unsigned char *room = survey->codes + (size_t)from * survey->strips->pixel_bytes;

    if (!survey->own_rows)
        return qs_strips_at(survey->strips, from, line.y);
    if (part->status == QS_OK)
        part->status = qs_image_window(survey->strips->image, line, room, &part->error);
    return room;
}

/* Decodes columns from .. to - 1 of row `y` of the strip, number `line` of its cells;
 * whether any code is at an end. */
static bool
decode_row(const struct survey *survey, int y, int line, int from, int to,
           struct part *part)
{
    const int count = to - from;
    const size_t at = (size_t)line * (size_t)survey->width + (size_t)from;
    float *luma = survey->y + (size_t)y * (size_t)survey->width + from;
    float *out[3] = {luma, NULL, NULL};
    const void *codes = codes_of(survey, y, from, to, part);
    bool any;

    for (int c = 0; survey->cells->first == QS_R && c < 3; c++)
        out[c] = survey->planes[c] + at;
    any = qs_linear_decode(survey->linear, codes, count, out, survey->ends + at);
    if (survey->cells->first == QS_R)
        qs_linear_luminance(survey->linear, out[0], out[1], out[2], count, luma);
    if (any)
        count_ends(luma, survey->ends + at, count, part);
    return any;
}

/* Decodes a part of one row of cells, and fills it. */
static void
fill_cell_row(const struct survey *survey, int row, int from, int to, struct part *part)
{
    const int side = survey->cells->side_px;
    const float *planes[QS_CHANNELS] = {NULL, NULL, NULL, NULL};
    bool any = false;

    for (int line = 0; line < side; line++)
        any |= decode_row(survey, row * side + line, line, from, to, part);
    for (int c = 0; survey->cells->first == QS_R && c < 3; c++)
        planes[c] = survey->planes[c];
    planes[QS_Y] = survey->y + (size_t)row * (size_t)side * (size_t)survey->width;
    /* cells start out as not clipped */
    qs_cells_fill_part(survey->cells, survey->strips->y / side + row, from, to, planes,
                       any ? survey->ends : NULL, survey->width);
}

static void
look_at_tiles(const struct survey *survey, int from, int to)
{
    const struct qs_plane y = luminance(survey);
    int first = from / QS_BLOCK_TILE_PX, last = to / QS_BLOCK_TILE_PX;

    for (int k = 0; (k + 1) * QS_BLOCK_TILE_PX <= y.height; k++)
        for (int column = first; column < last; column++)
            qs_blocks_look(&survey->traces->blocks, &y, survey->strips->y,
                           k * QS_BLOCK_TILE_PX, column,
                           &survey->tiles[k * tile_columns(survey) + column]);
}

static void
do_part(struct survey *survey, int index)
{
    int from = index * survey->part_px, to = from + survey->part_px;
    struct part *part = &survey->part[index];

    *part = (struct part){0, 0, QS_OK, {0}};
    to = to < survey->width ? to : survey->width;
    for (int row = 0; row < survey->strips->rows / survey->cells->side_px; row++)
        fill_cell_row(survey, row, from, to, part);
    look_at_tiles(survey, from, to);
}

static void
do_own_part(void *context, int index)
{
    do_part(context, index);
}

/* Job 0 reads the next strip, as it may take longest. */
static void
do_strip_part(void *context, int index)
{
    struct survey *survey = context;
    struct part *reading = &survey->part[survey->parts];

    if (index == 0)
        reading->status = qs_strips_read_ahead(survey->strips, &reading->error);
    else
        do_part(survey, index - 1);
}

static enum qs_status
do_parts(struct survey *survey, struct qs_pool *pool, struct qs_error *err)
{
    if (survey->own_rows)
        qs_pool_run(pool, survey->parts, do_own_part, survey);
    else
        qs_pool_run(pool, 1 + survey->parts, do_strip_part, survey);
    for (int p = 0; p <= survey->parts; p++) {
        const struct part *part = &survey->part[p];

        if (part->status != QS_OK)
            return qs_fail(err, part->status, "%s", part->error.text);
    }
    return QS_OK;
}

enum {
    WAVE_JOBS = 8
};

static void
add_waves(void *context, int index)
{
    const struct survey *survey = context;
    struct qs_plane rows = luminance(survey);
    int from = index * rows.height / WAVE_JOBS;

    rows.height = (index + 1) * rows.height / WAVE_JOBS - from;
    rows.px += (ptrdiff_t)from * rows.stride;
    qs_row_waves_add(&survey->traces->waves, &rows, survey->strips->y + from);
}

/* Serial, in the order of the parts, so that sums come out the same to the bit. */
static void
take_in(struct survey *survey)
{
    const struct qs_strips *strips = survey->strips;
    struct qs_frame_traces *traces = survey->traces;
    const int rows = cell_rows_px(survey), columns = tile_columns(survey);
    long black = 0, white = 0;

    traces->surveyed = true;
    for (int p = 0; p < survey->parts; p++) {
        black += survey->part[p].black;
        white += survey->part[p].white;
    }
    traces->at_black += (double)black / survey->pixels;
    traces->at_white += (double)white / survey->pixels;
    for (int i = 0; i < rows / QS_BLOCK_TILE_PX * columns; i++)
        qs_blocks_note(&traces->blocks, strips->y + i / columns * QS_BLOCK_TILE_PX,
                       i % columns, &survey->tiles[i]);
    traces->waves.rows = strips->y + rows;
    if (traces->codes.channels > 0 && !survey->own_rows)
        qs_codes_add(&traces->codes, qs_strips_at(strips, 0, strips->y),
                     (size_t)survey->width * (size_t)strips->rows);
    /* until codes are settled whole strips are wanted; then what a job reads stays near
       its processor */
    survey->own_rows = qs_image_has_windows(strips->image) &&
                       (traces->codes.channels == 0 || traces->codes.are_fine);
}

/* Figures don't depend on the parts, so that their number may follow the threads'. */
static void
plan_parts(struct survey *survey, const struct qs_pool *pool)
{
    int most = PARTS_EACH * qs_pool_threads(pool);
    int steps = (survey->width + PART_PX - 1) / PART_PX;

    survey->part_px = (steps + most - 1) / most * PART_PX;
    survey->parts = (survey->width + survey->part_px - 1) / survey->part_px;
}

static enum qs_status
survey_init(struct survey *survey, const struct qs_pool *pool, struct qs_error *err)
{
    const size_t width = (size_t)survey->width, side = (size_t)survey->cells->side_px;
    bool ready = true;

    plan_parts(survey, pool);
    survey->y = qs_alloc(width * QS_STRIP_ROWS, sizeof *survey->y);
    for (int c = 0; survey->cells->first == QS_R && c < 3; c++) {
        survey->planes[c] = qs_alloc(width * side, sizeof(float));
        ready = ready && survey->planes[c] != NULL;
    }
    survey->ends = qs_alloc(width * side, 1);
    survey->codes = qs_alloc(survey->strips->row_bytes, 1);
    survey->part = qs_alloc((size_t)survey->parts + 1, sizeof *survey->part);
    survey->tiles =
        qs_alloc(TILE_ROWS * (size_t)tile_columns(survey), sizeof *survey->tiles);
    return ready && survey->y != NULL && survey->ends != NULL &&
                   survey->codes != NULL && survey->part != NULL &&
                   survey->tiles != NULL
               ? QS_OK
               : qs_fail_memory(err);
}

static void
survey_clear(struct survey *survey)
{
    for (int c = 0; c < 3; c++)
        qs_free(survey->planes[c]);
    qs_free(survey->y);
    qs_free(survey->ends);
    qs_free(survey->codes);
    qs_free(survey->part);
    qs_free(survey->tiles);
}

static enum qs_status
fill_cells(struct survey *survey, struct qs_strips *strips, struct qs_pool *pool,
           qs_frame_progress *progress, void *context, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (qs_strips_next(strips))
        status = qs_strips_read(strips, err);
    if (status != QS_OK)
        return status;
    do {
        status = do_parts(survey, pool, err);
        if (status != QS_OK)
            return status;
        qs_pool_run(pool, WAVE_JOBS, add_waves, survey);
        take_in(survey);
        if (progress != NULL)
            progress(context, (double)(strips->y + strips->rows) / strips->height);
    } while (qs_strips_next(strips));
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
        status = survey_init(&survey, pool, err);
    if (status == QS_OK)
        status = fill_cells(&survey, &strips, pool, progress, context, err);
    if (status == QS_OK)
        status = qs_find_flat(&cells, boxes, count, err);
    survey_clear(&survey);
    qs_strips_clear(&strips);
    qs_cells_clear(&cells);
    return status;
}
