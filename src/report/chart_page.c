/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_page.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/plain_text.h"
#include "base/write_reason.h"

#define PNG_DOTS 2.0

static const char FONT[] = "sans-serif";

static cairo_status_t
write_out(void *closure, const unsigned char *data, unsigned length)
{
    struct qs_page *page = closure;

    return fwrite(data, 1, length, page->out) == length ? CAIRO_STATUS_SUCCESS
                                                        : CAIRO_STATUS_WRITE_ERROR;
}

static cairo_status_t
keep(void *closure, const unsigned char *data, unsigned length)
{
    struct qs_page *page = closure;

    if (page->size + length > page->room) {
        size_t room = 2 * page->room + length + 4096;
        unsigned char *grown = qs_realloc(page->bytes, room, 1);

        if (grown == NULL) {
            page->short_of_memory = true;
            return CAIRO_STATUS_NO_MEMORY;
        }
        page->bytes = grown;
        page->room = room;
    }
    memcpy(page->bytes + page->size, data, length);
    page->size += length;
    return CAIRO_STATUS_SUCCESS;
}

static cairo_surface_t *
surface_for(struct qs_page *page, double width, double height)
{
    switch (page->format) {
    case QS_CHART_SVG:
        return cairo_svg_surface_create_for_stream(keep, page, width, height);
    case QS_CHART_PDF:
        return cairo_pdf_surface_create_for_stream(write_out, page, width, height);
    default:
        return cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(PNG_DOTS * width),
                                          (int)(PNG_DOTS * height));
    }
}

void
qs_page_start(struct qs_page *page, FILE *out, enum qs_chart_format format,
              double width, double height)
{
    *page = (struct qs_page){.format = format, .out = out};
    page->surface = surface_for(page, width, height);
    if (format == QS_CHART_PDF) /* the hour is no part of a chart */
        cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                       "2000-01-01T00:00:00Z");
    page->cairo = cairo_create(page->surface);
    if (format == QS_CHART_PNG)
        cairo_scale(page->cairo, PNG_DOTS, PNG_DOTS);
    cairo_set_source_rgb(page->cairo, 1.0, 1.0, 1.0);
    cairo_paint(page->cairo);
}

static void
choose_font(struct qs_page *page, double size, bool bold)
{
    cairo_select_font_face(page->cairo, FONT, CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(page->cairo, size);
}

double
qs_page_text_width(struct qs_page *page, const char *text, double size, bool bold)
{
    cairo_text_extents_t extents;

    choose_font(page, size, bold);
    cairo_text_extents(page->cairo, text, &extents);
    return extents.x_advance;
}

static void
keep_text(struct qs_page *page, const struct qs_page_text *text)
{
    struct qs_page_text *grown =
        qs_realloc(page->texts, (size_t)page->text_count + 1, sizeof *page->texts);

    if (grown == NULL) {
        page->short_of_memory = true;
        return;
    }
    page->texts = grown;
    grown[page->text_count++] = *text;
}

static void
draw_text(struct qs_page *page, const struct qs_page_text *text)
{
    double width = qs_page_text_width(page, text->text, text->size, text->bold);

    cairo_save(page->cairo);
    cairo_translate(page->cairo, text->x, text->y);
    if (text->upwards)
        cairo_rotate(page->cairo, -2.0 * atan(1.0));
    cairo_move_to(page->cairo, -text->anchor * width, 0.0);
    cairo_set_source_rgb(page->cairo, text->grey, text->grey, text->grey);
    choose_font(page, text->size, text->bold);
    cairo_show_text(page->cairo, text->text);
    cairo_restore(page->cairo);
}

void
qs_page_put(struct qs_page *page, const struct qs_page_text *text)
{
    struct qs_page_text clean = *text;

    qs_text_clean(text->text, true, clean.text, sizeof clean.text);
    if (page->format == QS_CHART_SVG)
        keep_text(page, &clean);
    else
        draw_text(page, &clean);
}

static void
put_escaped(FILE *out, const char *text)
{
    for (; *text != '\0'; text++)
        switch (*text) {
        case '&':
            (void)fputs("&amp;", out);
            break;
        case '<':
            (void)fputs("&lt;", out);
            break;
        case '>':
            (void)fputs("&gt;", out);
            break;
        case '"':
            (void)fputs("&quot;", out);
            break;
        default:
            (void)fputc((unsigned char)*text, out);
        }
}

static void
put_svg_text(FILE *out, const struct qs_page_text *text)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    int level = (int)(255.0 * text->grey + 0.5);

    (void)fprintf(out,
                  "<text x=\"%.1f\" y=\"%.1f\" font-family=\"%s\" font-size=\"%.1f\"%s "
                  "fill=\"#%02x%02x%02x\" text-anchor=\"%s\"",
                  text->x, text->y, FONT, text->size,
                  text->bold ? " font-weight=\"bold\"" : "", (unsigned)level,
                  (unsigned)level, (unsigned)level,
                  anchors[(int)(2.0 * text->anchor + 0.5)]);
    if (text->upwards)
        (void)fprintf(out, " transform=\"rotate(-90 %.1f %.1f)\"", text->x, text->y);
    (void)fputc('>', out);
    put_escaped(out, text->text);
    (void)fputs("</text>\n", out);
}

/* Where `what` begins for the first (or last) time, or the end. */
static size_t
find(const struct qs_page *page, const char *what, bool last)
{
    size_t length = strlen(what), found = page->size;

    for (size_t i = 0; i + length <= page->size; i++)
        if (memcmp(page->bytes + i, what, length) == 0) {
            found = i;
            if (!last)
                break;
        }
    return found;
}

/* Cairo's file with a name for those who hear it, and the texts at its end. */
static void
splice_svg(struct qs_page *page, const char *title)
{
    size_t tag = find(page, "<svg ", false), end = find(page, "</svg>", true);
    size_t inside = tag;
    char clean[400];

    while (inside < page->size && page->bytes[inside] != '>')
        inside++;
    if (tag + 5 > page->size || inside >= end)
        return;
    qs_text_clean(title, true, clean, sizeof clean);
    (void)fwrite(page->bytes, 1, tag + 5, page->out);
    (void)fputs("role=\"img\" ", page->out);
    (void)fwrite(page->bytes + tag + 5, 1, inside + 1 - tag - 5, page->out);
    (void)fputs("\n<title>", page->out);
    put_escaped(page->out, clean);
    (void)fputs("</title>", page->out);
    (void)fwrite(page->bytes + inside + 1, 1, end - inside - 1, page->out);
    for (int i = 0; i < page->text_count; i++)
        put_svg_text(page->out, &page->texts[i]);
    (void)fwrite(page->bytes + end, 1, page->size - end, page->out);
}

static cairo_status_t
finish(struct qs_page *page, const char *title)
{
    cairo_status_t status = cairo_status(page->cairo);

    if (page->format == QS_CHART_PNG && status == CAIRO_STATUS_SUCCESS)
        return cairo_surface_write_to_png_stream(page->surface, write_out, page);
    cairo_surface_finish(page->surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(page->surface);
    if (page->format == QS_CHART_SVG && status == CAIRO_STATUS_SUCCESS &&
        !page->short_of_memory)
        splice_svg(page, title);
    return status;
}

enum qs_status
qs_page_end(struct qs_page *page, const char *title, struct qs_error *err)
{
    cairo_status_t status = finish(page, title);
    bool lacks_memory = page->short_of_memory || (status != CAIRO_STATUS_SUCCESS &&
                                                  status != CAIRO_STATUS_WRITE_ERROR);

    cairo_destroy(page->cairo);
    cairo_surface_destroy(page->surface);
    qs_free(page->texts);
    qs_free(page->bytes);
    if (lacks_memory)
        return qs_fail_memory(err);
    if (status != CAIRO_STATUS_SUCCESS || fflush(page->out) != 0 || ferror(page->out))
        return qs_fail_write(err);
    return QS_OK;
}
