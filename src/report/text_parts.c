/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text_parts.h"

#include <string.h>

#include "report/phrase.h"
#include "base/plain_text.h"
#include "report/words.h"
#include "report/wrap.h"

static void
say_shot(struct qs_phrase *facts, const struct qs_shot *shot)
{
    char words[3 * sizeof shot->camera];

    if (shot->iso > 0.0)
        qs_say(facts, ", ISO" QS_GLUE "%.0f", shot->iso);
    if (shot->exposure_s > 0.0) {
        qs_words_shutter(shot->exposure_s, words, sizeof words);
        qs_say(facts, ", %s" QS_GLUE "s", words);
    }
    if (shot->f_number > 0.0)
        qs_say(facts, ", f/%.3g", shot->f_number);
    if (shot->camera[0] != '\0') {
        qs_text_clean(shot->camera, true, words, sizeof words);
        qs_say(facts, ", %s", words);
    }
}

static void
say_encoding(struct qs_phrase *facts, const struct qs_encoding *encoding)
{
    static const char *const from[] = {
        [QS_FROM_PROFILE] = "embedded profile",
        [QS_FROM_TAG] = "as the file says",
        [QS_FROM_OPTION] = "by --encoding",
        [QS_FROM_ASSUMED] = "assumed",
    };
    char name[3 * sizeof encoding->name];

    qs_text_clean(encoding->name, true, name, sizeof name);
    qs_say(facts, ", %s (%s)", name, from[encoding->from]);
}

static bool
is_cropped(const struct qs_frame *frame)
{
    return frame->crop.width != frame->width || frame->crop.height != frame->height;
}

void
qs_put_facts(FILE *out, const struct qs_frame *frame, bool encoded_light)
{
    struct qs_phrase facts = {.used = 0};
    char megapixels[QS_WORDS];

    qs_words_megapixels(frame->width, frame->height, megapixels, sizeof megapixels);
    qs_say(&facts, "%d" QS_GLUE "x" QS_GLUE "%d pixels (%s" QS_GLUE "MP), %d-bit%s %s",
           frame->width, frame->height, megapixels, frame->bits,
           frame->is_float ? " float" : "", frame->channels == 1 ? "grey" : "RGB");
    say_shot(&facts, &frame->shot);
    say_encoding(&facts, &frame->encoding);
    if (is_cropped(frame))
        qs_say(&facts, "; sizes are of its centre, %d" QS_GLUE "x" QS_GLUE "%d pixels",
               frame->crop.width, frame->crop.height);
    if (encoded_light)
        qs_say(&facts, "; shrunk in code values instead of linear light");
    qs_wrap(out, "  ", "  ", facts.text);
}

/* Names are long without blanks: what does not fit goes on in the next line. */
void
qs_put_name(FILE *out, const char *path)
{
    char name[2048];

    qs_text_clean(path, true, name, sizeof name);
    qs_wrap(out, "", "", name);
}

/* Whether two warnings differ in their patch and figures alone. */
static bool
are_alike(const struct qs_warning *a, const struct qs_warning *b)
{
    static const char figures[] = "0123456789.";
    const char *x = a->text, *y = b->text;

    if (a->code != b->code || a->patch < 0 || b->patch < 0)
        return false;
    for (;; x++, y++) {
        x += strspn(x, figures);
        y += strspn(y, figures);
        if (*x != *y)
            return false;
        if (*x == '\0')
            return true;
    }
}

/* The warnings alike to this one together: its text, and for which patches. */
static void
put_warning(FILE *out, const struct qs_frame *frame, int first)
{
    const struct qs_warning *warning = &frame->warnings[first];
    char clean[3 * sizeof warning->text];
    struct qs_phrase text = {.used = 0};
    int more = 0;

    qs_text_clean(warning->text, true, clean, sizeof clean);
    qs_say(&text, "[%s", qs_warning_key(warning->code));
    if (warning->patch >= 0)
        qs_say(&text, ", patch" QS_GLUE "%d", warning->patch + 1);
    qs_say(&text, "] %s", clean);
    for (int i = first + 1; i < frame->warning_count; i++)
        if (are_alike(warning, &frame->warnings[i]))
            qs_say(&text, "%s" QS_GLUE "%d",
                   more++ == 0 ? " The same holds for patch" : ",",
                   frame->warnings[i].patch + 1);
    if (more > 0)
        qs_say(&text, ".");
    qs_wrap(out, "  ", "    ", text.text);
}

/* Whether an earlier warning has told of this one already. */
static bool
is_told(const struct qs_frame *frame, int index)
{
    for (int i = 0; i < index; i++)
        if (are_alike(&frame->warnings[i], &frame->warnings[index]))
            return true;
    return false;
}

void
qs_put_warnings(FILE *out, const struct qs_frame *frame)
{
    if (frame->warning_count == 0)
        return;
    (void)fputs("\n  Mind this\n", out);
    for (int i = 0; i < frame->warning_count; i++)
        if (!is_told(frame, i))
            put_warning(out, frame, i);
}

void
qs_put_verdict(FILE *out, const struct qs_frame *frame)
{
    if (frame->verdict.text[0] == '\0')
        return;
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", frame->verdict.text);
}
