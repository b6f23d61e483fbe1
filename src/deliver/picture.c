/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/picture.h"

#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "deliver/order_print.h"
#include "deliver/picture_sink.h"
#include "deliver/shrinker.h"
#include "deliver/turn.h"
#include "image/notes.h"
#include "image/notes_true.h"
#include "linear/written_profile.h"

/* TIFF/EP: IPTC. */
enum {
    TAG_IPTC = 0x83BB
};

#define STRIP_SOURCE_BYTES 8e6

/* What a delivery is made with. */
struct tools {
    struct qs_picture_sides sides;
    struct qs_linear *linear;
    struct qs_encoder *encoder;
    struct qs_notes notes;
    uint8_t *profile; /* made from what a PNG says; NULL = none */
    size_t profile_size;
    struct qs_fingerprint *print;
    struct qs_turn *turn; /* NULL = the picture stays as it lies */
    struct qs_writer *writer;
};

static bool
swaps(const struct qs_picture_order *order, const struct qs_image_info *info)
{
    return order->upright && qs_turn_swaps(info->shot.orientation);
}

static struct qs_box
centred(int width, int height, const struct qs_image_info *info)
{
    return (struct qs_box){(info->width - width) / 2, (info->height - height) / 2,
                           width, height};
}

enum qs_status
qs_picture_sides(const struct qs_picture_order *order, const struct qs_image_info *info,
                 struct qs_picture_sides *out, struct qs_error *err)
{
    const bool lies = swaps(order, info);
    const int width = lies ? info->height : info->width;
    const int height = lies ? info->width : info->height;
    const struct qs_box crop = qs_shape_ratio_box(order->crop, width, height);
    int across, down;

    if (!qs_size_of(&order->size, crop.width, crop.height, &across, &down))
        return qs_fail(
            err, QS_ERR_RANGE,
            "%s is larger than the picture, which has %d x %d pixels; a delivery "
            "is never made larger: choose a smaller size.",
            order->size.text, crop.width, crop.height);
    out->final_width = across;
    out->final_height = down;
    out->width = lies ? down : across;
    out->height = lies ? across : down;
    out->crop = lies ? centred(crop.height, crop.width, info) : crop;
    return QS_OK;
}

static enum qs_status
prepare_light(const struct qs_image_info *info, const struct qs_picture_order *order,
              struct tools *tools, struct qs_error *err)
{
    enum qs_status status = qs_linear_new(info, order->encoding, &tools->linear, err);

    if (status != QS_OK)
        return status;
    return qs_encoder_new(tools->linear, &tools->encoder, err);
}

/* A TIFF says by a profile what a PNG says by chunks. */
static enum qs_status
prepare_profile(const struct qs_image_info *info, const struct qs_picture_order *order,
                struct tools *tools, struct qs_error *err)
{
    const struct qs_colour_tags *colour = &info->colour;

    if (order->format != QS_FILE_TIFF)
        return QS_OK;
    if (colour->claim == QS_CLAIM_CICP && colour->cicp[3] == 0)
        return qs_fail(
            err, QS_ERR_UNSUPPORTED,
            "This PNG keeps to the narrow range of video codes, which a TIFF "
            "can't say; deliver it with --format png.");
    return qs_written_profile(info, &tools->profile, &tools->profile_size, err);
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

static bool
turns(const struct qs_picture_order *order, const struct qs_image_info *info)
{
    return order->upright && info->shot.orientation != 1;
}

static double
ppi_of(const struct qs_picture_order *order, const struct qs_image_info *info)
{
    if (order->ppi > 0.0)
        return order->ppi;
    return order->size.ppi > 0.0 ? order->size.ppi : info->ppi;
}

static void
tell(const struct qs_picture_plan *plan, struct tools *tools, bool turned,
     struct qs_picture_done *done)
{
    struct qs_notes *notes = &tools->notes;

    *done = (struct qs_picture_done){
        .sides = tools->sides,
        .encoding_from = qs_linear_encoding(tools->linear)->from,
        .ppi = plan->ppi,
        .has_profile = plan->icc != NULL,
        .made_profile = tools->profile != NULL,
        .alpha = plan->alpha,
        .turned = turned,
        .orientation = plan->orientation,
        .lost_tags = notes->lost,
        .unread = notes->unread,
        .has_xmp = qs_notes_find(&notes->at[QS_NOTES_PICTURE], QS_NOTE_XMP) != NULL,
        .has_iptc = qs_notes_find(&notes->at[QS_NOTES_PICTURE], TAG_IPTC) != NULL};
    for (int place = 0; place < QS_NOTE_PLACES; place++)
        done->tags += notes->at[place].count;
    done->tags -= (done->has_xmp ? 1U : 0U) + (done->has_iptc ? 1U : 0U);
}

/* Source rows of a strip are held in memory: where the picture is made much smaller,
   strips get fewer rows. */
static int
most_rows(const struct qs_image_info *info, const struct qs_picture_sides *sides)
{
    const double row_bytes = (double)info->width * qs_image_samples(info) *
                             (double)qs_sample_bytes(info->sample);
    const double rows =
        STRIP_SOURCE_BYTES / row_bytes * sides->height / sides->crop.height;

    return rows < 1.0                   ? 1
           : rows > QS_WRITER_MOST_ROWS ? QS_WRITER_MOST_ROWS
                                        : (int)rows;
}

static struct qs_picture_plan
plan_of(const struct qs_image_info *info, const struct qs_picture_order *order,
        const struct tools *tools)
{
    return (struct qs_picture_plan){
        .width = tools->sides.final_width,
        .height = tools->sides.final_height,
        .channels = info->channels,
        .alpha = alpha_out(info, order),
        .bits = order->bits,
        .format = order->format,
        .compression = order->compression,
        .most_rows = most_rows(info, &tools->sides),
        .ppi = ppi_of(order, info),
        .orientation = turns(order, info) ? 1 : info->shot.orientation,
        .icc = tools->profile != NULL ? tools->profile : info->colour.icc,
        .icc_size =
            tools->profile != NULL ? tools->profile_size : info->colour.icc_size,
        .colour = &info->colour,

        .notes = &tools->notes};
}

/* Sides, notes, and what is known of the delivery before its pixels are. */
static enum qs_status
prepare(struct qs_image *image, const struct qs_picture_order *order,
        struct tools *tools, struct qs_error *err)
{
    const struct qs_image_info *info = qs_image_info(image);
    enum qs_status status = qs_picture_sides(order, info, &tools->sides, err);

    if (status == QS_OK)
        status = prepare_profile(info, order, tools, err);
    if (status == QS_OK)
        status = qs_image_notes(image, &tools->notes, err);
    if (status == QS_OK)
        status = qs_fingerprint_new(&tools->print, err);
    if (status == QS_OK) {
        struct qs_picture_plan plan = plan_of(info, order, tools);

        status = qs_notes_make_true(&tools->notes, &plan, err);
        qs_fingerprint_add_order(tools->print, order, info, &tools->sides);
        qs_fingerprint_add_plan(tools->print, &plan);
    }
    return status;
}

static enum qs_status
open_outputs(const struct qs_image_info *info, const struct qs_picture_order *order,
             const char *path, struct tools *tools, struct qs_picture_done *done,
             struct qs_error *err)
{
    const struct qs_picture_plan plan = plan_of(info, order, tools);
    const size_t pixel_bytes =
        (size_t)(plan.channels + (plan.alpha != QS_ALPHA_NONE)) * (size_t)plan.bits / 8;
    enum qs_status status = qs_writer_open(path, &plan, &tools->writer, err);

    tell(&plan, tools, turns(order, info), done);
    if (status != QS_OK || !turns(order, info))
        return status;
    return qs_turn_new(path, tools->sides.width, tools->sides.height, pixel_bytes,
                       info->shot.orientation, &tools->turn, err);
}

static enum qs_status
run(const struct qs_shrink_job *job, struct tools *tools, struct qs_error *err)
{
    struct qs_turn_sink turning = {tools->turn, qs_writer_strip_rows(tools->writer)};
    struct qs_strip_sink sink = tools->turn != NULL
                                    ? qs_sink_into_turn(&turning)
                                    : qs_sink_into_writer(tools->writer);
    enum qs_status status = qs_shrinker_run(job, &sink, err);

    if (status == QS_OK && tools->turn != NULL)
        status = qs_turn_write(tools->turn, tools->writer, job->pool, err);
    return status;
}

static enum qs_status
close_file(struct tools *tools, struct qs_error *err)
{
    char text[QS_SEAL_BYTES + 1];
    struct qs_writer *writer = tools->writer;

    tools->writer = NULL;
    qs_fingerprint_text(tools->print, text);
    return qs_writer_close(writer, text, err);
}

static void
put_away(struct tools *tools)
{
    qs_writer_drop(tools->writer);
    qs_turn_free(tools->turn);
    qs_fingerprint_free(tools->print);
    qs_notes_free(&tools->notes);
    qs_free(tools->profile);
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
    struct tools tools = {.linear = NULL};
    enum qs_status status = prepare(image, order, &tools, err);

    if (status == QS_OK)
        status = prepare_light(info, order, &tools, err);
    if (status == QS_OK)
        status = open_outputs(info, order, path, &tools, done, err);
    if (status == QS_OK) {
        const struct qs_shrink_job job = {.image = image,
                                          .linear = tools.linear,
                                          .encoder = tools.encoder,
                                          .crop = tools.sides.crop,
                                          .out_width = tools.sides.width,
                                          .out_height = tools.sides.height,
                                          .filter = order->filter,
                                          .alpha_out = alpha_out(info, order),
                                          .bits = order->bits,
                                          .print = tools.print,
                                          .pool = pool,
                                          .progress = progress,
                                          .progress_context = context};

        status = run(&job, &tools, err);
    }
    if (status == QS_OK)
        status = close_file(&tools, err);
    put_away(&tools);
    return status;
}

/* The rows that are delivered, into the fingerprint. */
static enum qs_status
read_all(struct qs_image *image, struct tools *tools, struct qs_error *err)
{
    enum {
        ROWS = 16
    };
    const size_t row_bytes = qs_image_row_bytes(image);
    const struct qs_box crop = tools->sides.crop;
    unsigned char *rows = qs_alloc(ROWS, row_bytes);
    enum qs_status status =
        rows != NULL ? qs_image_skip(image, crop.y, err) : qs_fail_memory(err);

    for (int row = 0; status == QS_OK && row < crop.height; row += ROWS) {
        int count = crop.height - row < ROWS ? crop.height - row : ROWS;

        status = qs_image_read(image, count, rows, err);
        if (status == QS_OK)
            qs_fingerprint_add(tools->print, rows, (size_t)count * row_bytes);
    }
    qs_free(rows);
    return status;
}

enum qs_status
qs_picture_find(struct qs_image *image, const struct qs_picture_order *order,
                const char *path, enum qs_picture_found *found, struct qs_error *err)
{
    char there[QS_SEAL_BYTES + 1], wanted[QS_SEAL_BYTES + 1];
    struct tools tools = {.linear = NULL};
    enum qs_status status;

    *found = access(path, F_OK) == 0 ? QS_FOUND_OTHER : QS_FOUND_NOTHING;
    if (*found == QS_FOUND_NOTHING || !qs_seal_get(path, there) ||
        !qs_fingerprint_is_text(there))
        return QS_OK;
    status = prepare(image, order, &tools, err);
    if (status == QS_OK)
        status = read_all(image, &tools, err);
    if (status == QS_OK) {
        qs_fingerprint_text(tools.print, wanted);
        *found = strcmp(there, wanted) == 0 ? QS_FOUND_SAME : QS_FOUND_EARLIER;
    }
    put_away(&tools);
    return status;
}
