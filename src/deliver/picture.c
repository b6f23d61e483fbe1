/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/picture.h"

#include "base/memory.h"
#include "deliver/shrinker.h"
#include "image/notes.h"

/* Exif 2.3, 4.6.5: sides of the picture, in its EXIF directory; TIFF/EP: IPTC. */
enum {
    TAG_PIXELS_ACROSS = 0xA002,
    TAG_PIXELS_DOWN = 0xA003,
    TAG_IPTC = 0x83BB
};

/* What a delivery is made with. */
struct tools {
    struct qs_linear *linear;
    struct qs_encoder *encoder;
    struct qs_notes notes;
    struct qs_writer *writer;
};

enum qs_status
qs_picture_sides(const struct qs_picture_order *order, const struct qs_image_info *info,
                 struct qs_box *crop, int *width, int *height, struct qs_error *err)
{
    *crop = (struct qs_box){0, 0, info->width, info->height};
    if (order->crop.width > 0.0)
        *crop = qs_shape_ratio_box(order->crop, info->width, info->height);
    if (qs_size_of(&order->size, crop->width, crop->height, width, height))
        return QS_OK;
    return qs_fail(
        err, QS_ERR_RANGE,
        "%s is larger than the picture, which has %d x %d pixels; a delivery "
        "is never made larger: choose a smaller size.",
        order->size.text, crop->width, crop->height);
}

/* ---- the writer as the shrinker's sink ---- */

static enum qs_status
pack(void *context, int index, void *codes, int rows, void **made, struct qs_error *err)
{
    struct qs_packed *packed = qs_alloc(1, sizeof *packed);
    enum qs_status status;

    if (packed == NULL)
        return qs_fail_memory(err);
    status = qs_writer_pack(context, index, codes, rows, packed, err);
    if (status != QS_OK) {
        qs_free(packed);
        return status;
    }
    *made = packed;
    return QS_OK;
}

static void
drop(void *context, void *made)
{
    (void)context;
    qs_packed_clear(made);
    qs_free(made);
}

static enum qs_status
put(void *context, int index, void *made, struct qs_error *err)
{
    enum qs_status status = qs_writer_put(context, made, err);

    (void)index;
    drop(context, made);
    return status;
}

/* ---- the steps ---- */

static enum qs_status
prepare_light(const struct qs_image_info *info, const struct qs_picture_order *order,
              struct tools *tools, struct qs_error *err)
{
    enum qs_status status = qs_linear_new(info, order->encoding, &tools->linear, err);

    if (status != QS_OK)
        return status;
    return qs_encoder_new(tools->linear, &tools->encoder, err);
}

/* Tags that name the sides are made true; where there are none, none are added. */
static enum qs_status
correct_notes(struct qs_notes *notes, int width, int height, struct qs_error *err)
{
    const struct {
        uint16_t tag;
        int pixels;
    } sides[] = {{TAG_PIXELS_ACROSS, width}, {TAG_PIXELS_DOWN, height}};
    struct qs_note_list *exif = &notes->at[QS_NOTES_EXIF];
    enum qs_status status = QS_OK;

    for (int i = 0; i < 2 && status == QS_OK; i++)
        if (qs_notes_find(exif, sides[i].tag) != NULL)
            status =
                qs_notes_set_number(exif, sides[i].tag, (uint32_t)sides[i].pixels, err);
    return status;
}

static void
tell(const struct qs_picture_plan *plan, struct qs_notes *notes,
     struct qs_picture_done *done)
{
    *done = (struct qs_picture_done){
        .width = plan->width,
        .height = plan->height,
        .ppi = plan->ppi,
        .has_profile = plan->icc != NULL,
        .exif_tags = notes->at[QS_NOTES_EXIF].count + notes->at[QS_NOTES_GPS].count +
                     notes->at[QS_NOTES_INTEROP].count,
        .lost_tags = notes->lost,
        .has_xmp = qs_notes_find(&notes->at[QS_NOTES_PICTURE], QS_NOTE_XMP) != NULL,
        .has_iptc = qs_notes_find(&notes->at[QS_NOTES_PICTURE], TAG_IPTC) != NULL};
}

/* PNG has straight alpha only, and no masks. */
static enum qs_alpha
alpha_out(const struct qs_image_info *info, const struct qs_picture_order *order)
{
    if (order->format != QS_FILE_PNG)
        return info->alpha;
    return info->alpha == QS_ALPHA_MULTIPLIED ? QS_ALPHA_STRAIGHT
           : info->alpha == QS_ALPHA_MASK     ? QS_ALPHA_NONE
                                              : info->alpha;
}

static enum qs_status
open_writer(const struct qs_image_info *info, const struct qs_picture_order *order,
            const char *path, int width, int height, struct tools *tools,
            struct qs_picture_done *done, struct qs_error *err)
{
    struct qs_picture_plan plan = {.width = width,
                                   .height = height,
                                   .channels = info->channels,
                                   .alpha = alpha_out(info, order),
                                   .bits = order->bits,
                                   .format = order->format,
                                   .compression = order->compression,
                                   .ppi = info->ppi,
                                   .orientation = info->shot.orientation,
                                   .icc = info->colour.icc,
                                   .icc_size = info->colour.icc_size,
                                   .notes = &tools->notes};

    if (order->size.ppi > 0.0)
        plan.ppi = order->size.ppi;
    if (order->ppi > 0.0)
        plan.ppi = order->ppi;
    tell(&plan, &tools->notes, done);
    return qs_writer_open(path, &plan, &tools->writer, err);
}

static enum qs_status
write_rows(const struct qs_shrink_job *job, struct tools *tools, struct qs_error *err)
{
    const struct qs_strip_sink sink = {
        tools->writer, qs_writer_strip_rows(tools->writer), pack, put, drop};
    enum qs_status status = qs_shrinker_run(job, &sink, err);
    struct qs_writer *writer = tools->writer;

    if (status != QS_OK)
        return status;
    tools->writer = NULL;
    return qs_writer_close(writer, err);
}

static void
put_away(struct tools *tools)
{
    qs_writer_drop(tools->writer);
    qs_notes_free(&tools->notes);
    qs_encoder_free(tools->encoder);
    qs_linear_free(tools->linear);
}

enum qs_status
qs_picture_deliver(struct qs_image *image, const struct qs_picture_order *order,
                   const char *path, struct qs_pool *pool,
                   void (*progress)(void *context, double share), void *context,
                   struct qs_picture_done *done, struct qs_error *err)
{
    const struct qs_image_info *info = qs_image_info(image);
    struct qs_shrink_job job = {.image = image,
                                .filter = order->filter,
                                .alpha_out = alpha_out(info, order),
                                .bits = order->bits,
                                .pool = pool,
                                .progress = progress,
                                .progress_context = context};
    struct tools tools = {0};
    enum qs_status status =
        qs_picture_sides(order, info, &job.crop, &job.out_width, &job.out_height, err);

    if (status == QS_OK)
        status = prepare_light(info, order, &tools, err);
    if (status == QS_OK)
        status = qs_image_notes(image, &tools.notes, err);
    if (status == QS_OK)
        status = correct_notes(&tools.notes, job.out_width, job.out_height, err);
    if (status == QS_OK)
        status = open_writer(info, order, path, job.out_width, job.out_height, &tools,
                             done, err);
    job.linear = tools.linear;
    job.encoder = tools.encoder;
    if (status == QS_OK)
        status = write_rows(&job, &tools, err);
    put_away(&tools);
    return status;
}
