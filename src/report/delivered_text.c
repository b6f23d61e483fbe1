/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <math.h>

#include "base/plain_text.h"
#include "base/write_reason.h"
#include "report/delivered.h"
#include "report/phrase.h"
#include "report/plan_words.h"
#include "report/wrap.h"

enum {
    WORDS = 64
};

static const char *const units[] = {"bytes", "kB", "MB", "GB", "TB"};

/* Three figures, in the unit that makes them one to three digits. */
static void
bytes_words(uint64_t bytes, char *out, size_t size)
{
    double value = (double)bytes;
    int unit = 0;

    for (; value >= 999.5 && unit < 4; unit++)
        value /= 1000.0;
    (void)snprintf(out, size, unit == 0 ? "%.0f" QS_GLUE "%s" : "%.3g" QS_GLUE "%s",
                   value, units[unit]);
}

/* "0.42 s", "1.4 s", "12 s", "3 min 20 s", "2 h 5 min" */
static void
time_words(double seconds, char *out, size_t size)
{
    if (seconds < 0.95)
        (void)snprintf(out, size, "%.2g" QS_GLUE "s", fmax(seconds, 0.001));
    else if (seconds < 9.95)
        (void)snprintf(out, size, "%.1f" QS_GLUE "s", seconds);
    else if (seconds < 59.5)
        (void)snprintf(out, size, "%.0f" QS_GLUE "s", seconds);
    else if (seconds < 3600.0)
        (void)snprintf(out, size, "%d" QS_GLUE "min %.0f" QS_GLUE "s",
                       (int)(seconds / 60.0), fmod(floor(seconds), 60.0));
    else
        (void)snprintf(out, size, "%d" QS_GLUE "h %.0f" QS_GLUE "min",
                       (int)(seconds / 3600.0), floor(fmod(seconds, 3600.0) / 60.0));
}

static void
say_carried(struct qs_phrase *phrase, const struct qs_picture_done *done)
{
    const struct {
        bool is_there;
        const char *name;
    } others[] = {{done->has_xmp, "XMP"}, {done->has_iptc, "IPTC"}};
    const char *before = "";

    qs_say(phrase, " Carried over: ");
    if (done->has_profile) {
        qs_say(phrase, done->made_profile ? "colour, as a profile" : "colour profile");
        before = ", ";
    }
    if (done->tags > 0) {
        qs_say(phrase, "%s%zu" QS_GLUE "tag%s", before, done->tags,
               done->tags == 1 ? "" : "s");
        before = ", ";
    }
    for (int i = 0; i < 2; i++)
        if (others[i].is_there) {
            qs_say(phrase, "%s%s", before, others[i].name);
            before = ", ";
        }
    qs_say(phrase, "%s", before[0] == '\0' ? "nothing, as nothing was said." : ".");
    if (done->ppi > 0.0)
        qs_say(phrase, " %.4g" QS_GLUE "ppi.", done->ppi);
}

/* A count and its plural. */
static const char *
s_of(size_t count)
{
    return count == 1 ? "" : "s";
}

static void
say_lying(struct qs_phrase *phrase, const struct qs_picture_done *done)
{
    if (done->turned)
        qs_say(phrase, " Turned upright.");
    else if (done->orientation != 1)
        qs_say(phrase,
               " It lies as the source does, with the tag that says how to turn it.");
}

/* What is not as it was. */
static void
say_changed(struct qs_phrase *phrase, const struct qs_delivered *delivered)
{
    const struct qs_image_info *info = delivered->info;
    const struct qs_picture_done *done = &delivered->done;

    if (info->bits > 16)
        qs_say(phrase, " Rounded from %d bits%s.", info->bits,
               info->is_float ? " of floats, and cut off at black and white" : "");
    else if (info->bits == 16 && delivered->order->bits == 8)
        qs_say(phrase, " Rounded to 8 bits, by chance up or down.");
    if (done->encoding_from == QS_FROM_ASSUMED)
        qs_say(phrase,
               " Nothing is said of its colour, so it was taken as %s; --encoding says "
               "otherwise.",
               info->is_float ? "linear" : "sRGB");
    if (info->alpha == QS_ALPHA_MASK && done->alpha == QS_ALPHA_NONE)
        qs_say(phrase, " A mask was left out, as PNG has none.");
    if (info->alpha == QS_ALPHA_MULTIPLIED && done->alpha == QS_ALPHA_STRAIGHT)
        qs_say(phrase, " Colours were divided by alpha, as PNG wants them.");
    if (info->had_extra)
        qs_say(phrase, " Further channels were left out.");
    if (info->pages > 1)
        qs_say(phrase, " Of %d pages this is the first.", info->pages);
    if (done->lost_tags > 0)
        qs_say(phrase, " %zu tag%s could not be read and %s lost.", done->lost_tags,
               s_of(done->lost_tags), done->lost_tags == 1 ? "is" : "are");
    if (done->unread > 0)
        qs_say(
            phrase,
            " %zu packet%s of notes (XMP or an editor's) could not be understood and "
            "went on unchanged, so sides in there may be the old ones.",
            done->unread, s_of(done->unread));
}

static const char *
verdict_of(const struct qs_delivered *delivered)
{
    if (delivered->check.as_predicted)
        return "as predicted";
    if (delivered->order->bits == 8)
        return "rounding to 8 bits adds noise of its own";
    return "not as predicted";
}

static void
put_check(FILE *out, const struct qs_delivered *delivered)
{
    const struct qs_noise_check *check = &delivered->check;
    struct qs_phrase phrase = {.used = 0};
    int digits;

    if (check->patches == 0) {
        qs_wrap(out, "  ", "  ",
                "Check: there is no flat part large enough to compare the noise in.");
        return;
    }
    digits = check->fall_high - check->fall_low < 0.02 ? 3 : 2;
    qs_say(&phrase,
           "Check: noise fell %.*f times (95" QS_GLUE "%% %.*f to %.*f) in %d flat "
           "part%s; %.*f was predicted: %s.",
           digits, check->fall, digits, check->fall_low, digits, check->fall_high,
           check->patches, check->patches == 1 ? "" : "s", digits, check->predicted,
           verdict_of(delivered));
    qs_wrap(out, "  ", "  ", phrase.text);
}

static void
say_file(struct qs_phrase *phrase, const struct qs_delivered *delivered)
{
    const struct qs_picture_sides *sides = &delivered->done.sides;
    char bytes[WORDS];

    bytes_words(delivered->bytes, bytes, sizeof bytes);
    qs_say(phrase, "%d" QS_GLUE "x" QS_GLUE "%d pixels of %d" QS_GLUE "bits, %s%s.",
           sides->final_width, sides->final_height, delivered->order->bits,
           delivered->state == QS_DELIVERED_NOT_YET ? "about" QS_GLUE : "", bytes);
}

static void
put_name(FILE *out, const char *path)
{
    char clean[4096];

    qs_text_clean(path, true, clean, sizeof clean);
    (void)fprintf(out, "%s\n", clean);
}

enum qs_status
qs_delivered_text(FILE *out, const struct qs_delivered *delivered, struct qs_error *err)
{
    struct qs_phrase phrase = {.used = 0};
    char time[WORDS];

    put_name(out, delivered->target);
    say_file(&phrase, delivered);
    if (delivered->state == QS_DELIVERED_BEFORE) {
        qs_say(&phrase, " Finished before, from the same picture and settings.");
    } else if (delivered->state == QS_DELIVERED_NOT_YET) {
        if (delivered->seconds > 0.0) {
            time_words(delivered->seconds, time, sizeof time);
            qs_say(&phrase, " About %s.", time);
        }
    } else {
        say_carried(&phrase, &delivered->done);
        say_lying(&phrase, &delivered->done);
        say_changed(&phrase, delivered);
    }
    qs_wrap(out, "  ", "  ", phrase.text);
    if (delivered->has_check)
        put_check(out, delivered);
    return ferror(out) == 0 ? QS_OK : qs_fail_write(err);
}

enum qs_status
qs_delivered_text_sum(FILE *out, const struct qs_delivered_sum *sum,
                      struct qs_error *err)
{
    struct qs_phrase phrase = {.used = 0};
    char bytes[WORDS], time[WORDS];

    bytes_words(sum->bytes, bytes, sizeof bytes);
    time_words(sum->seconds, time, sizeof time);
    if (sum->is_dry_run)
        qs_say(&phrase,
               "Nothing was written. %d file%s would take about %s, and about %s.",
               sum->delivered, sum->delivered == 1 ? "" : "s", bytes, time);
    else
        qs_say(&phrase, "%d file%s delivered, %s, in %s.", sum->delivered,
               sum->delivered == 1 ? "" : "s", bytes, time);
    if (sum->before > 0)
        qs_say(&phrase, " %d %s finished before.", sum->before,
               sum->before == 1 ? "was" : "were");
    if (sum->failed > 0)
        qs_say(&phrase, " %d %s not: see above.", sum->failed,
               sum->failed == 1 ? "was" : "were");
    (void)fputc('\n', out);
    qs_wrap(out, "", "", phrase.text);
    return fflush(out) == 0 && ferror(out) == 0 ? QS_OK : qs_fail_write(err);
}
