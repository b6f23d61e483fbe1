/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "report/digest.h"
#include "report/fields.h"
#include "report/plain_text.h"
#include "report/text_patches.h"
#include "report/text_sizes.h"
#include "report/why.h"
#include "report/words.h"
#include "report/wrap.h"

/* A sentence or list put together bit by bit; what does not fit is cut off. */
struct phrase {
    char text[1200];
    size_t used;
};

static void
say(struct phrase *phrase, const char *format, ...) QS_PRINTF(2, 3);

static void
say(struct phrase *phrase, const char *format, ...)
{
    size_t room = sizeof phrase->text - phrase->used;
    va_list args;
    int count;

    va_start(args, format);
    count = vsnprintf(phrase->text + phrase->used, room, format, args);
    va_end(args);
    if (count > 0)
        phrase->used += (size_t)count < room ? (size_t)count : room - 1;
}

void
qs_text_start(struct qs_text *text, FILE *out, struct qs_text_options options)
{
    *text = (struct qs_text){.out = out, .options = options};
}

static void
say_shot(struct phrase *facts, const struct qs_shot *shot)
{
    char words[3 * sizeof shot->camera];

    if (shot->iso > 0.0)
        say(facts, ", ISO" QS_GLUE "%.0f", shot->iso);
    if (shot->exposure_s > 0.0) {
        qs_words_shutter(shot->exposure_s, words, sizeof words);
        say(facts, ", %s" QS_GLUE "s", words);
    }
    if (shot->f_number > 0.0)
        say(facts, ", f/%.3g", shot->f_number);
    if (shot->camera[0] != '\0') {
        qs_text_clean(shot->camera, true, words, sizeof words);
        say(facts, ", %s", words);
    }
}

static void
say_encoding(struct phrase *facts, const struct qs_encoding *encoding)
{
    static const char *const from[] = {
        [QS_FROM_PROFILE] = "embedded profile",
        [QS_FROM_TAG] = "as the file says",
        [QS_FROM_OPTION] = "by --encoding",
        [QS_FROM_ASSUMED] = "assumed",
    };
    char name[3 * sizeof encoding->name];

    qs_text_clean(encoding->name, true, name, sizeof name);
    say(facts, ", %s (%s)", name, from[encoding->from]);
}

static bool
is_cropped(const struct qs_frame *frame)
{
    return frame->crop.width != frame->width || frame->crop.height != frame->height;
}

static void
put_facts(struct qs_text *text, const struct qs_frame *frame)
{
    struct phrase facts = {.used = 0};
    char megapixels[QS_WORDS];

    qs_words_megapixels(frame->width, frame->height, megapixels, sizeof megapixels);
    say(&facts, "%d" QS_GLUE "x" QS_GLUE "%d pixels (%s" QS_GLUE "MP), %d-bit%s %s",
        frame->width, frame->height, megapixels, frame->bits,
        frame->is_float ? " float" : "", frame->channels == 1 ? "grey" : "RGB");
    say_shot(&facts, &frame->shot);
    say_encoding(&facts, &frame->encoding);
    if (is_cropped(frame))
        say(&facts, "; sizes are of its centre, %d" QS_GLUE "x" QS_GLUE "%d pixels",
            frame->crop.width, frame->crop.height);
    if (text->options.encoded_light)
        say(&facts, "; shrunk in code values instead of linear light");
    qs_wrap(text->out, "  ", "  ", facts.text);
}

/* Names are long without blanks: what does not fit goes on in the next line. */
static void
put_name(FILE *out, const char *path)
{
    char name[2048];

    qs_text_clean(path, true, name, sizeof name);
    qs_wrap(out, "", "", name);
}

/* "is 0.9 ± 0.1 stop quieter than at full size", or louder, or neither. */
static void
say_fall(struct phrase *sentence, const struct qs_digest *digest)
{
    double worth = digest->worth.worth_stops;
    double interval = digest->interval_stops;
    char stops[QS_WORDS];

    qs_words_stops(fabs(worth), interval, stops, sizeof stops);
    if (worth > interval) {
        say(sentence, "is %s quieter than at full size", stops);
    } else if (worth < -interval) {
        say(sentence, "is %s noisier than at full size", stops);
    } else {
        qs_words_stops(worth, interval, stops, sizeof stops);
        say(sentence, "is as noisy as at full size, as far as can be told (%s quieter)",
            stops);
    }
}

static void
say_answer(struct phrase *sentence, const struct qs_frame *frame,
           const struct qs_digest *digest)
{
    const struct qs_delivery *delivery = &frame->deliveries[digest->delivery];
    char size[QS_WORDS], name[QS_WORDS];

    qs_words_delivered(delivery, size, sizeof size);
    qs_words_frame(frame, name, sizeof name);
    say(sentence, "Delivered %s with %s, %s ", size,
        qs_filter_row(frame->filters[0])->key, name);
    if (digest->worth.patches == 0) {
        say(sentence, "has no patch large enough to tell how much quieter it gets.");
        return;
    }
    say_fall(sentence, digest);
    say(sentence, "; plain averaging of independent noise would give %.*f.",
        qs_words_digits(digest->interval_stops), digest->worth.ideal_stops);
}

/* At full size there is no fall to tell of, but a level. */
static void
say_level(struct phrase *sentence, const struct qs_frame *frame,
          const struct qs_digest *digest)
{
    const struct qs_subject subject = {
        .frame = frame, .patch = &frame->patches[digest->mid], .channel = QS_Y};
    char name[QS_WORDS], sd[QS_WORDS], snr[QS_WORDS];

    qs_words_frame(frame, name, sizeof name);
    qs_field_text(QS_FIELDS_PATCH, "sd", &subject, sd, sizeof sd);
    qs_field_text(QS_FIELDS_PATCH, "snr", &subject, snr, sizeof snr);
    say(sentence,
        "At full size the noise of %s is %s" QS_GLUE
        "%% of white in the patch nearest to middle grey, and its SNR %s.",
        name, sd, snr);
}

static bool
is_about_a_fall(const struct qs_frame *frame, const struct qs_digest *digest)
{
    return digest->mid >= 0 && digest->delivery >= 0 &&
           !qs_is_native(&frame->deliveries[digest->delivery]);
}

static void
put_sentence(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest)
{
    struct phrase sentence = {.used = 0};

    if (digest->mid < 0)
        say(&sentence, "Nothing in this frame could be measured.");
    else if (is_about_a_fall(frame, digest))
        say_answer(&sentence, frame, digest);
    else
        say_level(&sentence, frame, digest);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", sentence.text);
}

/* SNR of a colour, 0 where it has none. */
static double
snr_of(const struct qs_patch *patch, enum qs_channel channel)
{
    const struct qs_noise *noise = &patch->channel[channel].noise;

    return noise->sd > 0.0 ? noise->mean / noise->sd : 0.0;
}

/* Which colour limits the picture; under coloured light that is what decides. */
static void
put_weakest(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest)
{
    const struct qs_patch *patch = &frame->patches[digest->mid];
    enum qs_channel weakest = QS_R;
    struct phrase sentence = {.used = 0};

    if (frame->channels == 1)
        return;
    for (int c = QS_R; c <= QS_B; c++)
        if (snr_of(patch, (enum qs_channel)c) < snr_of(patch, weakest))
            weakest = (enum qs_channel)c;
    say(&sentence,
        "Weakest colour: %s. SNR in patch %d: red %.1f, green %.1f, blue %.1f, "
        "luminance "
        "%.1f.",
        qs_words_channel(weakest), digest->mid + 1, snr_of(patch, QS_R),
        snr_of(patch, QS_G), snr_of(patch, QS_B), snr_of(patch, QS_Y));
    qs_wrap(out, "  ", "  ", sentence.text);
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
    struct phrase text = {.used = 0};
    int more = 0;

    qs_text_clean(warning->text, true, clean, sizeof clean);
    say(&text, "[%s", qs_warning_key(warning->code));
    if (warning->patch >= 0)
        say(&text, ", patch" QS_GLUE "%d", warning->patch + 1);
    say(&text, "] %s", clean);
    for (int i = first + 1; i < frame->warning_count; i++)
        if (are_alike(warning, &frame->warnings[i]))
            say(&text, "%s" QS_GLUE "%d",
                more++ == 0 ? " The same holds for patch" : ",",
                frame->warnings[i].patch + 1);
    if (more > 0)
        say(&text, ".");
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

static void
put_warnings(FILE *out, const struct qs_frame *frame)
{
    if (frame->warning_count == 0)
        return;
    (void)fputs("\n  Mind this\n", out);
    for (int i = 0; i < frame->warning_count; i++)
        if (!is_told(frame, i))
            put_warning(out, frame, i);
}

/* What a frame with patches has besides its sentence. */
static enum qs_status
put_figures(struct qs_text *text, const struct qs_frame *frame,
            const struct qs_digest *digest, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (digest->delivery >= 0)
        status = qs_text_sizes(text->out, frame, digest, err);
    if (status == QS_OK)
        status = qs_text_patches(text->out, frame,
                                 text->options.all_patches ? INT_MAX : QS_TEXT_PATCHES,
                                 digest->mid, err);
    if (status != QS_OK)
        return status;
    put_weakest(text->out, frame, digest);
    if (is_about_a_fall(frame, digest) && digest->worth.patches > 0)
        status = qs_why(text->out, frame, digest, err);
    return status;
}

enum qs_status
qs_text_frame(struct qs_text *text, const char *path, const struct qs_frame *frame,
              struct qs_error *err)
{
    struct qs_digest digest;
    enum qs_status status = qs_digest(frame, &digest, err);

    if (status != QS_OK)
        return status;
    put_name(text->out, path);
    put_facts(text, frame);
    put_sentence(text->out, frame, &digest);
    if (digest.mid >= 0)
        status = put_figures(text, frame, &digest, err);
    if (status != QS_OK)
        return status;
    put_warnings(text->out, frame);
    (void)fputc('\n', text->out);
    return qs_frame_list_add(&text->list, path, frame, &digest, err);
}

enum qs_status
qs_text_end(struct qs_text *text, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (text->list.count > 1)
        status = qs_frame_list_print(&text->list, text->out, err);
    if (text->list.count > 0)
        qs_why_stops(text->out);
    qs_frame_list_clear(&text->list);
    return status;
}
