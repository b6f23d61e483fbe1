/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <limits.h>
#include <math.h>

#include "report/digest.h"
#include "report/fields.h"
#include "report/phrase.h"
#include "report/text_parts.h"
#include "report/text_patches.h"
#include "report/text_sizes.h"
#include "report/why.h"
#include "report/words.h"
#include "report/wrap.h"

void
qs_text_start(struct qs_text *text, FILE *out, struct qs_text_options options)
{
    *text = (struct qs_text){.out = out, .options = options};
}

/* "is 0.9 ± 0.1 stop quieter than at full size", or louder, or neither. */
static void
say_fall(struct qs_phrase *sentence, const struct qs_digest *digest)
{
    double worth = digest->worth.worth_stops;
    double interval = digest->interval_stops;
    char stops[QS_WORDS];

    qs_words_stops(fabs(worth), interval, stops, sizeof stops);
    if (worth > interval) {
        qs_say(sentence, "is %s quieter than at full size", stops);
    } else if (worth < -interval) {
        qs_say(sentence, "is %s noisier than at full size", stops);
    } else {
        qs_words_stops(worth, interval, stops, sizeof stops);
        qs_say(sentence,
               "is as noisy as at full size, as far as can be told (%s quieter)",
               stops);
    }
}

static void
say_answer(struct qs_phrase *sentence, const struct qs_frame *frame,
           const struct qs_digest *digest)
{
    const struct qs_delivery *delivery = &frame->deliveries[digest->delivery];
    char size[QS_WORDS], name[QS_WORDS];

    qs_words_delivered(delivery, size, sizeof size);
    qs_words_frame(frame, name, sizeof name);
    qs_say(sentence, "Delivered %s with %s, %s ", size,
           qs_filter_row(frame->filters[0])->key, name);
    if (digest->worth.patches == 0) {
        qs_say(sentence, "has no patch large enough to tell how much quieter it gets.");
        return;
    }
    say_fall(sentence, digest);
    qs_say(sentence, "; plain averaging of independent noise would give %.*f.",
           qs_words_digits(digest->interval_stops), digest->worth.ideal_stops);
}

/* At full size there is no fall to tell of, but a level. */
static void
say_level(struct qs_phrase *sentence, const struct qs_frame *frame,
          const struct qs_digest *digest)
{
    const struct qs_subject subject = {
        .frame = frame, .patch = &frame->patches[digest->mid], .channel = QS_Y};
    char name[QS_WORDS], sd[QS_WORDS], snr[QS_WORDS];

    qs_words_frame(frame, name, sizeof name);
    qs_field_text(QS_FIELDS_PATCH, "sd", &subject, sd, sizeof sd);
    qs_field_text(QS_FIELDS_PATCH, "snr", &subject, snr, sizeof snr);
    qs_say(sentence,
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
    struct qs_phrase sentence = {.used = 0};

    if (digest->mid < 0)
        qs_say(&sentence, "Nothing in this frame could be measured.");
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
    struct qs_phrase sentence = {.used = 0};

    if (frame->channels == 1)
        return;
    for (int c = QS_R; c <= QS_B; c++)
        if (snr_of(patch, (enum qs_channel)c) < snr_of(patch, weakest))
            weakest = (enum qs_channel)c;
    qs_say(&sentence,
           "Weakest colour: %s. SNR in patch %d: red %.1f, green %.1f, blue %.1f, "
           "luminance "
           "%.1f.",
           qs_words_channel(weakest), digest->mid + 1, snr_of(patch, QS_R),
           snr_of(patch, QS_G), snr_of(patch, QS_B), snr_of(patch, QS_Y));
    qs_wrap(out, "  ", "  ", sentence.text);
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
    qs_put_name(text->out, path);
    qs_put_facts(text->out, frame, text->options.encoded_light);
    qs_put_verdict(text->out, frame);
    put_sentence(text->out, frame, &digest);
    if (digest.mid >= 0)
        status = put_figures(text, frame, &digest, err);
    if (status != QS_OK)
        return status;
    qs_put_warnings(text->out, frame);
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
