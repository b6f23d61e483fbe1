/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/show.h"

#include <cairo.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/memory.h"
#include "base/write_reason.h"

/* Widths in pixels of the picture. */
static const double DARK_LINE = 5.0;
static const double LIGHT_LINE = 2.0;
static const double TALLEST_TEXT = 22.0;
static const double LEAST_TEXT = 13.0;
static const double PADDING = 4.0;

/* Height of the text as a share of the patch's shorter side. */
static const double LABEL_SHARE = 0.4;

/* A label may take this share of its patch's sides; else it stands outside. */
static const double MOST_INSIDE = 0.6;

/* What it costs to hide other labels, or to lie off the picture, against patches. */
static const double LABEL_COST = 8.0;
static const double OFF_COST = 100.0;

/* Earlier places of the list are clearer, and better for many labels to share. */
static const double RANK_COST = 8.0;

struct drawing {
    cairo_t *cairo;
    double width;
    double height;
    double scale_x; /* pixels of the picture for one of the frame */
    double scale_y;
};

struct rectangle {
    double x, y, width, height;
};

static void
dark(cairo_t *cairo)
{
    cairo_set_source_rgb(cairo, 0.05, 0.05, 0.08);
}

static void
light(cairo_t *cairo)
{
    cairo_set_source_rgb(cairo, 1.0, 1.0, 1.0);
}

static struct rectangle
place_of(const struct drawing *drawing, struct qs_box box)
{
    return (struct rectangle){box.x * drawing->scale_x, box.y * drawing->scale_y,
                              box.width * drawing->scale_x,
                              box.height * drawing->scale_y};
}

/*
 * The light line runs along the inside of the patch's rim, the dark one on both sides
 * of it: whatever the tone, one of them stands out.
 */
static void
draw_outline(const struct drawing *drawing, struct rectangle at)
{
    cairo_t *cairo = drawing->cairo;

    cairo_rectangle(cairo, at.x, at.y, at.width, at.height);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_MITER);
    dark(cairo);
    cairo_set_line_width(cairo, DARK_LINE);
    cairo_stroke_preserve(cairo);
    light(cairo);
    cairo_set_line_width(cairo, LIGHT_LINE);
    cairo_stroke(cairo);
}

/* A label with its text, and how large it is. */
struct label {
    char text[16];
    double size; /* of the text */
    struct rectangle at;
    cairo_text_extents_t extents;
};

static void
measure_label(const struct drawing *drawing, struct rectangle patch,
              struct label *label)
{
    double side = fmin(patch.width, patch.height);

    label->size = fmin(TALLEST_TEXT, fmax(LEAST_TEXT, LABEL_SHARE * side));
    cairo_set_font_size(drawing->cairo, label->size);
    cairo_text_extents(drawing->cairo, label->text, &label->extents);
    label->at.width = label->extents.width + 2.0 * PADDING;
    label->at.height = label->extents.height + 2.0 * PADDING;
}

/* Places a label may have at its patch: shares of the patch's size and of its own. */
static const struct place {
    double patch_x, patch_y;
    double own_x, own_y;
    bool inside;
} places[] = {
    {0.0, 0.0, 0.0, 0.0, true},    {1.0, 0.0, -1.0, 0.0, true},
    {0.0, 1.0, 0.0, -1.0, true},   {1.0, 1.0, -1.0, -1.0, true},
    {0.0, 0.0, 0.0, -1.0, false},  {1.0, 0.0, -1.0, -1.0, false},
    {0.0, 1.0, 0.0, 0.0, false},   {1.0, 1.0, -1.0, 0.0, false},
    {0.0, 0.0, -1.0, 0.0, false},  {1.0, 0.0, 0.0, 0.0, false},
    {0.0, 1.0, -1.0, -1.0, false}, {1.0, 1.0, 0.0, -1.0, false},
    {0.0, 0.0, -1.0, -1.0, false}, {1.0, 0.0, 0.0, -1.0, false},
    {0.0, 1.0, -1.0, 0.0, false},  {1.0, 1.0, 0.0, 0.0, false},
};

static double
overlap(struct rectangle a, struct rectangle b)
{
    double width = fmin(a.x + a.width, b.x + b.width) - fmax(a.x, b.x);
    double height = fmin(a.y + a.height, b.y + b.height) - fmax(a.y, b.y);

    return width > 0.0 && height > 0.0 ? width * height : 0.0;
}

/* What a label would hide there: other numbers first of all, then other patches. */
static double
cost_of(const struct drawing *drawing, const struct qs_frame *frame,
        const struct label *labels, int own)
{
    struct rectangle at = labels[own].at;
    struct rectangle picture = {0.0, 0.0, drawing->width, drawing->height};
    double cost = OFF_COST * (at.width * at.height - overlap(at, picture));

    for (int p = 0; p < own; p++)
        cost += LABEL_COST * overlap(at, labels[p].at);
    for (int p = 0; p < frame->patch_count; p++)
        if (p != own)
            cost += overlap(at, place_of(drawing, frame->patches[p].box));
    return cost;
}

/* A label stays at its patch's rim, where it hides least. */
static void
place_label(const struct drawing *drawing, const struct qs_frame *frame,
            struct label *labels, int own)
{
    struct rectangle patch = place_of(drawing, frame->patches[own].box);
    struct label *label = &labels[own];
    struct rectangle best = label->at;
    bool fits = label->at.width < MOST_INSIDE * patch.width &&
                label->at.height < MOST_INSIDE * patch.height;
    double least = HUGE_VAL;

    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        const struct place *place = &places[i];
        double cost;

        if (place->inside && !fits)
            continue;
        label->at.x =
            patch.x + place->patch_x * patch.width + place->own_x * label->at.width;
        label->at.y =
            patch.y + place->patch_y * patch.height + place->own_y * label->at.height;
        cost = cost_of(drawing, frame, labels, own) + RANK_COST * (double)i;
        if (cost < least) {
            least = cost;
            best = label->at;
        }
    }
    label->at = best;
}

static void
draw_label(const struct drawing *drawing, const struct label *label)
{
    cairo_t *cairo = drawing->cairo;

    cairo_rectangle(cairo, label->at.x, label->at.y, label->at.width, label->at.height);
    light(cairo);
    cairo_fill_preserve(cairo);
    dark(cairo);
    cairo_set_line_width(cairo, 1.5);
    cairo_stroke(cairo);
    cairo_set_font_size(cairo, label->size);
    cairo_move_to(cairo, label->at.x + PADDING - label->extents.x_bearing,
                  label->at.y + PADDING - label->extents.y_bearing);
    cairo_show_text(cairo, label->text);
}

static void
draw_patches(const struct drawing *drawing, const struct qs_frame *frame,
             struct label *labels)
{
    for (int p = 0; p < frame->patch_count; p++) {
        struct rectangle patch = place_of(drawing, frame->patches[p].box);

        draw_outline(drawing, patch);
        (void)snprintf(labels[p].text, sizeof labels[p].text, "%d", p + 1);
        measure_label(drawing, patch, &labels[p]);
        place_label(drawing, frame, labels, p);
    }
    for (int p = 0; p < frame->patch_count; p++)
        draw_label(drawing, &labels[p]);
}

/* Copies the picture into Cairo's own form: 32 bits a pixel, blue lowest. */
static void
copy_picture(const struct qs_preview *preview, cairo_surface_t *surface)
{
    unsigned char *data = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);

    cairo_surface_flush(surface);
    for (int y = 0; y < preview->height; y++) {
        const unsigned char *in = preview->rgb + (ptrdiff_t)y * 3 * preview->width;
        uint32_t *out = (uint32_t *)(void *)(data + (ptrdiff_t)y * stride);

        for (int x = 0; x < preview->width; x++)
            out[x] = (uint32_t)in[3 * x] << 16 | (uint32_t)in[3 * x + 1] << 8 |
                     in[3 * x + 2];
    }
    cairo_surface_mark_dirty(surface);
}

static cairo_status_t
write_bytes(void *closure, const unsigned char *data, unsigned length)
{
    return fwrite(data, 1, length, closure) == length ? CAIRO_STATUS_SUCCESS
                                                      : CAIRO_STATUS_WRITE_ERROR;
}

static enum qs_status
write_picture(FILE *out, cairo_surface_t *surface, cairo_status_t so_far,
              struct qs_error *err)
{
    cairo_status_t status = so_far;

    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, write_bytes, out);
    if (status == CAIRO_STATUS_SUCCESS)
        return QS_OK;
    return status == CAIRO_STATUS_WRITE_ERROR ? qs_fail_write(err)
                                              : qs_fail_memory(err);
}

enum qs_status
qs_show(FILE *out, const struct qs_preview *preview, const struct qs_frame *frame,
        struct qs_error *err)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, preview->width, preview->height);
    cairo_t *cairo = cairo_create(surface);
    struct drawing drawing = {.cairo = cairo,
                              .width = preview->width,
                              .height = preview->height,
                              .scale_x = (double)preview->width / frame->width,
                              .scale_y = (double)preview->height / frame->height};
    struct label *labels = qs_alloc((size_t)frame->patch_count, sizeof *labels);
    enum qs_status status = labels == NULL ? qs_fail_memory(err) : QS_OK;

    if (status == QS_OK && cairo_status(cairo) == CAIRO_STATUS_SUCCESS) {
        copy_picture(preview, surface);
        cairo_select_font_face(cairo, "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                               CAIRO_FONT_WEIGHT_BOLD);
        draw_patches(&drawing, frame, labels);
    }
    if (status == QS_OK)
        status = write_picture(out, surface, cairo_status(cairo), err);
    qs_free(labels);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return status;
}

const char *
qs_show_library_version(void)
{
    return cairo_version_string();
}
