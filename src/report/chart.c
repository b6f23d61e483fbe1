/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart.h"

#include <assert.h>
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <errno.h>
#include <math.h>
#include <string.h>
#include <strings.h>

#include "report/chart_bytes.h"
#include "report/chart_draw.h"
#include "report/chart_svg.h"
#include "report/chart_clean.h"
#include "base/write_reason.h"

static const double PNG_SCALE = 2.0;
static const double POINTS_PER_PX = 72.0 / 96.0;

/* What is drawn, and on what page. */
struct page {
    const struct qs_chart *charts;
    int count;
    struct qs_chart_size size; /* of each chart; no zeros */
    double height;             /* of the page */
};

/* Cairo's bytes go to the stream; errno is kept for the sentence about a failure. */
struct sink {
    FILE *out;
    int number;
};

static cairo_status_t
write_sink(void *closure, const unsigned char *data, unsigned length)
{
    struct sink *sink = closure;

    errno = 0;
    if (fwrite(data, 1, length, sink->out) == length)
        return CAIRO_STATUS_SUCCESS;
    sink->number = errno;
    return CAIRO_STATUS_WRITE_ERROR;
}

static enum qs_status
status_of(cairo_status_t status, const struct sink *sink, struct qs_error *err)
{
    if (status == CAIRO_STATUS_SUCCESS)
        return QS_OK;
    if (status != CAIRO_STATUS_WRITE_ERROR)
        return qs_fail_memory(err);
    errno = sink->number;
    return qs_fail_write(err);
}

static enum qs_status
check_chart(const struct qs_chart *chart, struct qs_error *err)
{
    if (chart->line_count > QS_CHART_LINES_MOST)
        return qs_fail(err, QS_ERR_RANGE,
                       "A chart of %d lines cannot be read: draw at most %d in one.",
                       chart->line_count, QS_CHART_LINES_MOST);
    if (chart->rule_count > QS_CHART_RULES_MOST)
        return qs_fail(err, QS_ERR_RANGE,
                       "A chart with %d criteria cannot be read: give at most %d.",
                       chart->rule_count, QS_CHART_RULES_MOST);
    for (int i = 0; i < chart->line_count; i++)
        if (chart->lines[i].count > QS_CHART_POINTS_MOST)
            return qs_fail(err, QS_ERR_RANGE,
                           "A line of %d points is more than a chart can show: give "
                           "at most %d.",
                           chart->lines[i].count, QS_CHART_POINTS_MOST);
    return QS_OK;
}

/* How tall the page is; false where memory for measuring text was short. */
static bool
measure_page(struct page *page)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cairo = cairo_create(surface);
    bool well;

    qs_chart_text_start(cairo);
    page->height = 0.0;
    for (int i = 0; i < page->count; i++) {
        struct qs_chart_layout layout;

        qs_chart_lay_out(cairo, &page->charts[i], page->size, &layout);
        page->height += layout.height;
    }
    well = cairo_status(cairo) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return well;
}

static enum qs_status
prepare(struct page *page, struct qs_error *err)
{
    struct qs_chart_size *size = &page->size;

    if (size->width_px == 0.0)
        size->width_px = QS_CHART_WIDTH_PX;
    if (size->height_px == 0.0)
        size->height_px = QS_CHART_HEIGHT_PX;
    if (!(size->width_px >= QS_CHART_LEAST_PX && size->width_px <= QS_CHART_WIDEST_PX &&
          size->height_px >= QS_CHART_LEAST_PX &&
          size->height_px <= QS_CHART_TALLEST_PX))
        return qs_fail(err, QS_ERR_RANGE,
                       "A chart of %g x %g pixels cannot be drawn: choose %d to %d by "
                       "%d to %d.",
                       size->width_px, size->height_px, QS_CHART_LEAST_PX,
                       QS_CHART_WIDEST_PX, QS_CHART_LEAST_PX, QS_CHART_TALLEST_PX);
    size->width_px = ceil(size->width_px);
    for (int i = 0; i < page->count; i++) {
        enum qs_status status = check_chart(&page->charts[i], err);

        if (status != QS_OK)
            return status;
    }
    if (!measure_page(page))
        return qs_fail_memory(err);
    if (page->height > QS_CHART_TALLEST_PX)
        return qs_fail(err, QS_ERR_RANGE,
                       "A page of charts %.0f pixels tall is more than the %d that can "
                       "be drawn: put fewer charts on it.",
                       page->height, QS_CHART_TALLEST_PX);
    return QS_OK;
}

/* All charts on a surface, `scale` of its units to a pixel of the page. */
static cairo_status_t
draw_page(cairo_surface_t *surface, const struct page *page, double scale,
          struct qs_chart_bytes *elements)
{
    cairo_t *cairo = cairo_create(surface);
    struct qs_chart_pen pen = {cairo, elements, 0.0};
    cairo_status_t status;

    qs_chart_text_start(cairo);
    cairo_scale(cairo, scale, scale);
    cairo_set_source_rgb(cairo, qs_chart_paper.red, qs_chart_paper.green,
                         qs_chart_paper.blue);
    cairo_paint(cairo);
    for (int i = 0; i < page->count; i++) {
        struct qs_chart_layout layout;

        qs_chart_lay_out(cairo, &page->charts[i], page->size, &layout);
        qs_chart_draw(&pen, &page->charts[i], &layout);
        cairo_translate(cairo, 0.0, layout.height);
        pen.shift_px += layout.height;
    }
    cairo_show_page(cairo);
    status = cairo_status(cairo);
    cairo_destroy(cairo);
    return status;
}

static enum qs_status
write_png(FILE *out, const struct page *page, struct qs_error *err)
{
    struct sink sink = {out, 0};
    cairo_surface_t *surface = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, (int)(PNG_SCALE * page->size.width_px),
        (int)(PNG_SCALE * page->height));
    cairo_status_t status = draw_page(surface, page, PNG_SCALE, NULL);

    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, write_sink, &sink);
    cairo_surface_destroy(surface);
    return status_of(status, &sink, err);
}

static enum qs_status
write_pdf(FILE *out, const struct page *page, struct qs_error *err)
{
    struct sink sink = {out, 0};
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        write_sink, &sink, POINTS_PER_PX * page->size.width_px,
        POINTS_PER_PX * page->height);
    char title[QS_CHART_TEXT_BYTES];
    cairo_status_t status;

    qs_chart_clean(page->charts[0].title, title, sizeof title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    /* Left out, which the format allows: a date would change the file each second, and
       one made up would be untrue. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
    status = draw_page(surface, page, POINTS_PER_PX, NULL);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status_of(status, &sink, err);
}

static cairo_status_t
gather(void *closure, const unsigned char *data, unsigned length)
{
    struct qs_chart_bytes *bytes = closure;

    qs_chart_bytes_add(bytes, data, length);
    return bytes->has_failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

/* Cairo's shapes and our text, put together in `file`. */
static cairo_status_t
make_svg(const struct page *page, struct qs_chart_bytes *shapes,
         struct qs_chart_bytes *texts, struct qs_chart_bytes *file)
{
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(
        gather, shapes, page->size.width_px, page->height);
    cairo_status_t status = draw_page(surface, page, 1.0, texts);

    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (status != CAIRO_STATUS_SUCCESS)
        return status;
    if (shapes->has_failed || texts->has_failed)
        return CAIRO_STATUS_NO_MEMORY;
    qs_chart_svg_join(page->charts, page->count, page->size.width_px, page->height,
                      shapes, texts, file);
    return file->has_failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static enum qs_status
write_svg(FILE *out, const struct page *page, struct qs_error *err)
{
    struct qs_chart_bytes shapes = {0}, texts = {0}, file = {0};
    struct sink sink = {out, 0};
    cairo_status_t status = make_svg(page, &shapes, &texts, &file);

    if (status == CAIRO_STATUS_SUCCESS)
        status =
            write_sink(&sink, (const unsigned char *)file.bytes, (unsigned)file.used);
    qs_chart_bytes_clear(&shapes);
    qs_chart_bytes_clear(&texts);
    qs_chart_bytes_clear(&file);
    return status_of(status, &sink, err);
}

typedef enum qs_status
write_page(FILE *out, const struct page *page, struct qs_error *err);

static const struct format {
    const char *ending;
    write_page *write;
} formats[QS_CHART_FORMATS] = {
    [QS_CHART_SVG] = {".svg", write_svg},
    [QS_CHART_PNG] = {".png", write_png},
    [QS_CHART_PDF] = {".pdf", write_pdf},
};

enum qs_status
qs_chart_write(FILE *out, enum qs_chart_format format, const struct qs_chart *charts,
               int count, struct qs_chart_size size, struct qs_error *err)
{
    struct page page = {charts, count, size, 0.0};
    enum qs_status status = prepare(&page, err);

    assert(count >= 1);
    if (status == QS_OK)
        status = formats[format].write(out, &page, err);
    errno = 0;
    if (status == QS_OK && fflush(out) != 0)
        status = qs_fail_write(err);
    return status;
}

int
qs_chart_format_of(const char *path)
{
    const size_t length = strlen(path);

    for (int i = 0; i < (int)QS_CHART_FORMATS; i++) {
        size_t ending = strlen(formats[i].ending);

        if (length > ending &&
            strcasecmp(path + length - ending, formats[i].ending) == 0)
            return i;
    }
    return -1;
}
