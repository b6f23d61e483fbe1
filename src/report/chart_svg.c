/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_svg.h"

#include <string.h>

#include "report/chart_layout.h"
#include "report/chart_clean.h"

/* A part of a file in memory. */
struct span {
    const char *from;
    const char *end;
};

/* The first place of `text` in the span, or its end. */
static const char *
find(struct span span, const char *text)
{
    const size_t length = strlen(text);

    for (; (size_t)(span.end - span.from) >= length; span.from++)
        if (memcmp(span.from, text, length) == 0)
            return span.from;
    return span.end;
}

/* What stands between the root's tags. */
static struct span
inside_root(const struct qs_chart_bytes *shapes)
{
    struct span span = {shapes->bytes, shapes->bytes + shapes->used};

    span.from = find(span, "<svg");
    span.from = find(span, ">");
    if (span.from < span.end)
        span.from++;
    span.end = find(span, "</svg>");
    return span;
}

/* Copies the span without the surfaces' ids: Cairo counts them on, so that no two files
   of one run would be alike, and nothing refers to them. */
static void
add_without_ids(struct span span, struct qs_chart_bytes *file)
{
    static const char id[] = " id=\"surface";

    while (span.from < span.end) {
        const char *at = find(span, id);

        qs_chart_bytes_add(file, span.from, (size_t)(at - span.from));
        span.from = at;
        if (at == span.end)
            break;
        span.from += sizeof id - 1;
        span.from = find(span, "\"");
        if (span.from < span.end)
            span.from++;
    }
}

/* The charts' titles or notes as the text of one element. */
static void
add_about(const char *tag, bool notes, const struct qs_chart *charts, int count,
          struct qs_chart_bytes *file)
{
    bool is_first = true;

    qs_chart_bytes_say(file, "<%s>", tag);
    for (int i = 0; i < count; i++) {
        const char *text = notes ? charts[i].note : charts[i].title;
        char clean[QS_CHART_TEXT_BYTES];

        if (!qs_chart_says(text))
            continue;
        qs_chart_clean(text, clean, sizeof clean);
        qs_chart_bytes_say(file, "%s", is_first ? "" : " / ");
        qs_chart_escape(file, clean);
        is_first = false;
    }
    qs_chart_bytes_say(file, "</%s>\n", tag);
}

void
qs_chart_svg_join(const struct qs_chart *charts, int count, double width, double height,
                  const struct qs_chart_bytes *shapes,
                  const struct qs_chart_bytes *texts, struct qs_chart_bytes *file)
{
    qs_chart_bytes_say(file, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                             "<svg xmlns=\"http://www.w3.org/2000/svg\" "
                             "xmlns:xlink=\"http://www.w3.org/1999/xlink\"");
    qs_chart_bytes_say(file,
                       " width=\"%g\" height=\"%g\" viewBox=\"0 0 %g %g\" "
                       "role=\"img\">\n",
                       width, height, width, height);
    add_about("title", false, charts, count, file);
    add_about("desc", true, charts, count, file);
    add_without_ids(inside_root(shapes), file);
    qs_chart_bytes_say(file, "<g font-family=\"sans-serif\">\n");
    if (texts->used > 0)
        qs_chart_bytes_add(file, texts->bytes, texts->used);
    qs_chart_bytes_say(file, "</g>\n</svg>\n");
}
