/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/gather.h"

#include <stdbool.h>

#include "base/memory.h"
#include "frame/patch_pixels.h"
#include "frame/strips.h"

/* Finished patches wait to be measured together until they hold this much. */
static const size_t BATCH_BYTES = (size_t)48 << 20;

enum stage {
    WAITING,  /* no row of it has come */
    FILLING,  /* pixels are being taken */
    FINISHED, /* all rows are there */
    MEASURED
};

struct slot {
    enum stage stage;
    struct qs_patch_pixels pixels;
    enum qs_status status;
    struct qs_error error;
};

struct gathering {
    const struct qs_gather_plan *plan;
    const struct qs_frame *frame;
    const struct qs_image *image;
    const struct qs_strips *strips;
    struct slot *slots; /* one for each patch */
    int *batch;         /* patches the jobs of the moment work on */
    int batch_count;
};

static void
take_job(void *context, int index)
{
    struct gathering *now = context;
    struct slot *slot = &now->slots[now->batch[index]];

    qs_patch_pixels_take(&slot->pixels, now->strips, now->plan->linear);
}

static void
measure_job(void *context, int index)
{
    struct gathering *now = context;
    int p = now->batch[index];
    struct slot *slot = &now->slots[p];

    slot->status = now->plan->visit(now->plan->visitor, p, &slot->pixels, &slot->error);
    qs_patch_pixels_clear(&slot->pixels);
    slot->stage = MEASURED;
}

/* Rows the patch's pixels come from, before room for them is made. */
static void
rows_wanted(const struct gathering *now, int p, int *from, int *to)
{
    struct qs_box box = now->frame->patches[p].box;
    int margin = now->plan->margin;

    *from = box.y - margin > 0 ? box.y - margin : 0;
    *to = box.y + box.height + margin;
    if (*to > now->frame->height)
        *to = now->frame->height;
}

/* Makes room for patches that begin in the strip; lists all that it feeds. */
static enum qs_status
list_fed(struct gathering *now, struct qs_error *err)
{
    int top = now->strips->y, below = top + now->strips->rows;

    now->batch_count = 0;
    for (int p = 0; p < now->frame->patch_count; p++) {
        struct slot *slot = &now->slots[p];
        int from, to;

        rows_wanted(now, p, &from, &to);
        if (from >= below || to <= top)
            continue;
        if (slot->stage == WAITING) {
            enum qs_status status = qs_patch_pixels_init(
                &slot->pixels, now->frame->patches[p].box, now->plan->margin,
                now->frame->width, now->frame->height, now->frame->first,
                now->plan->fractions, err);

            if (status != QS_OK)
                return status;
            slot->stage = FILLING;
        }
        now->batch[now->batch_count++] = p;
    }
    return QS_OK;
}

/* The codes of the strip's rows that lie in patches themselves. */
static void
note_codes(const struct gathering *now)
{
    for (int k = 0; now->plan->codes != NULL && k < now->batch_count; k++) {
        struct qs_box box = now->frame->patches[now->batch[k]].box;
        int top = box.y > now->strips->y ? box.y : now->strips->y;

        for (int y = top;
             y < box.y + box.height && y < now->strips->y + now->strips->rows; y++)
            qs_codes_add(now->plan->codes, qs_strips_at(now->strips, box.x, y),
                         (size_t)box.width);
    }
}

/* Marks the patches that got their last row. */
static void
finish_fed(struct gathering *now)
{
    for (int k = 0; k < now->batch_count; k++) {
        int from, to;

        rows_wanted(now, now->batch[k], &from, &to);
        if (to <= now->strips->y + now->strips->rows)
            now->slots[now->batch[k]].stage = FINISHED;
    }
}

/* The first failure among the jobs that ran. */
static enum qs_status
first_failure(const struct gathering *now, struct qs_error *err)
{
    for (int k = 0; k < now->batch_count; k++) {
        const struct slot *slot = &now->slots[now->batch[k]];

        if (slot->status != QS_OK)
            return qs_fail(err, slot->status, "%s", slot->error.text);
    }
    return QS_OK;
}

/* Measures finished patches, if they hold enough or if it is the end. */
static enum qs_status
measure_finished(struct gathering *now, struct qs_pool *pool, bool at_end,
                 struct qs_error *err)
{
    size_t bytes = 0;

    now->batch_count = 0;
    for (int p = 0; p < now->frame->patch_count; p++)
        if (now->slots[p].stage == FINISHED) {
            bytes += qs_patch_pixels_bytes(&now->slots[p].pixels);
            now->batch[now->batch_count++] = p;
        }
    if (!at_end && bytes < BATCH_BYTES)
        return QS_OK;
    qs_pool_run(pool, now->batch_count, measure_job, now);
    return first_failure(now, err);
}

static enum qs_status
feed(struct gathering *now, struct qs_strips *strips, struct qs_pool *pool,
     qs_frame_progress *progress, void *context, struct qs_error *err)
{
    while (qs_strips_next(strips)) {
        enum qs_status status = list_fed(now, err);

        if (status == QS_OK)
            status = now->batch_count > 0 ? qs_strips_read(strips, err)
                                          : qs_strips_skip(strips, err);
        if (status != QS_OK)
            return status;
        qs_pool_run(pool, now->batch_count, take_job, now);
        note_codes(now);
        finish_fed(now);
        status = measure_finished(now, pool, false, err);
        if (status != QS_OK)
            return status;
        if (progress != NULL)
            progress(context, (double)(strips->y + strips->rows) / strips->height);
    }
    return measure_finished(now, pool, true, err);
}

/* The strips of the frame, patch by patch as their rows come. */
static enum qs_status
gather_strips(struct gathering *now, struct qs_image *image, struct qs_pool *pool,
              qs_frame_progress *progress, void *context, struct qs_error *err)
{
    struct qs_strips strips = {0};
    enum qs_status status = qs_strips_init(&strips, image, err);

    now->strips = &strips;
    if (status == QS_OK)
        status = feed(now, &strips, pool, progress, context, err);
    qs_strips_clear(&strips);
    return status;
}

/* ---- files whose pixels can be read in any order ---- */

/* Reads the rows of a patch's area; `row` holds one. */
static enum qs_status
read_area(const struct gathering *now, struct qs_patch_pixels *pixels, void *row,
          struct qs_error *err)
{
    enum qs_status status = QS_OK;

    for (int y = 0; status == QS_OK && y < pixels->area.height; y++) {
        struct qs_box line = {pixels->area.x, pixels->area.y + y, pixels->area.width,
                              1};

        status = qs_image_window(now->image, line, row, err);
        if (status == QS_OK)
            qs_patch_pixels_take_row(pixels, y, row, now->plan->linear);
    }
    return status;
}

static enum qs_status
read_patch(const struct gathering *now, int p, struct qs_patch_pixels *pixels,
           struct qs_error *err)
{
    const struct qs_frame *frame = now->frame;
    void *row;
    enum qs_status status = qs_patch_pixels_init(
        pixels, frame->patches[p].box, now->plan->margin, frame->width, frame->height,
        frame->first, now->plan->fractions, err);

    if (status != QS_OK)
        return status;
    row = qs_alloc(qs_image_row_bytes(now->image), 1);
    status = row != NULL ? read_area(now, pixels, row, err) : qs_fail_memory(err);
    qs_free(row);
    return status;
}

/* Reads one patch and hands it on. */
static void
patch_job(void *context, int index)
{
    struct gathering *now = context;
    int p = now->batch[index];
    struct slot *slot = &now->slots[p];

    slot->status = read_patch(now, p, &slot->pixels, &slot->error);
    if (slot->status == QS_OK)
        measure_job(context, index);
}

/* The codes of a patch itself. */
static enum qs_status
note_window(const struct gathering *now, struct qs_box box, struct qs_error *err)
{
    enum qs_status status = QS_OK;
    void *row = qs_alloc(qs_image_row_bytes(now->image), 1);

    if (row == NULL)
        return qs_fail_memory(err);
    for (int y = 0; status == QS_OK && y < box.height; y++) {
        struct qs_box line = {box.x, box.y + y, box.width, 1};

        status = qs_image_window(now->image, line, row, err);
        if (status == QS_OK)
            qs_codes_add(now->plan->codes, row, (size_t)box.width);
    }
    qs_free(row);
    return status;
}

/* Several patches for each thread at a time, so that few wait for the last one. */
static enum qs_status
gather_windows(struct gathering *now, struct qs_pool *pool, qs_frame_progress *progress,
               void *context, struct qs_error *err)
{
    const int count = now->frame->patch_count, most = 16 * qs_pool_threads(pool);

    for (int first = 0; first < count; first += now->batch_count) {
        enum qs_status status;

        now->batch_count = count - first < most ? count - first : most;
        for (int k = 0; k < now->batch_count; k++)
            now->batch[k] = first + k;
        qs_pool_run(pool, now->batch_count, patch_job, now);
        status = first_failure(now, err);
        for (int k = 0;
             status == QS_OK && now->plan->codes != NULL && k < now->batch_count; k++)
            status = note_window(now, now->frame->patches[first + k].box, err);
        if (status != QS_OK)
            return status;
        if (progress != NULL)
            progress(context, (double)(first + now->batch_count) / count);
    }
    return QS_OK;
}

enum qs_status
qs_gather_each(struct qs_image *image, const struct qs_frame *frame,
               const struct qs_gather_plan *plan, struct qs_pool *pool,
               qs_frame_progress *progress, void *context, struct qs_error *err)
{
    struct gathering now = {.plan = plan, .frame = frame, .image = image};
    size_t count = (size_t)frame->patch_count;
    enum qs_status status;

    now.slots = qs_alloc(count, sizeof *now.slots);
    now.batch = qs_alloc(count, sizeof *now.batch);
    if (now.slots == NULL || now.batch == NULL)
        status = qs_fail_memory(err);
    else if (qs_image_has_windows(image))
        status = gather_windows(&now, pool, progress, context, err);
    else
        status = gather_strips(&now, image, pool, progress, context, err);
    for (int p = 0; now.slots != NULL && p < frame->patch_count; p++)
        qs_patch_pixels_clear(&now.slots[p].pixels);
    qs_free(now.slots);
    qs_free(now.batch);
    return status;
}

/* What qs_gather does with each patch. */
struct figuring {
    const struct qs_patch_task *task;
    struct qs_frame *frame;
};

static enum qs_status
visit_figures(void *visitor, int patch, struct qs_patch_pixels *pixels,
              struct qs_error *err)
{
    struct figuring *figuring = visitor;
    struct qs_frame *frame = figuring->frame;

    return qs_patch_figures(figuring->task, pixels, &frame->patches[patch],
                            frame->falls + patch, frame->patch_count, err);
}

enum qs_status
qs_gather(struct qs_image *image, const struct qs_patch_task *task, int margin,
          bool fractions, struct qs_codes *codes, struct qs_pool *pool,
          qs_frame_progress *progress, void *context, struct qs_frame *frame,
          struct qs_error *err)
{
    struct figuring figuring = {.task = task, .frame = frame};
    const struct qs_gather_plan plan = {.linear = task->linear,
                                        .margin = margin,
                                        .fractions = fractions,
                                        .codes = codes,
                                        .visit = visit_figures,
                                        .visitor = &figuring};

    return qs_gather_each(image, frame, &plan, pool, progress, context, err);
}
