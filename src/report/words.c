/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "report/wrap.h"

/* Shutter times are called by their fraction up to here, then by seconds. */
static const double FRACTION_UP_TO_S = 0.3;

/* An interval below this is given with two decimals. */
static const double FINE_STOPS = 0.05;

void
qs_words_shutter(double exposure_s, char *out, size_t size)
{
    if (exposure_s < FRACTION_UP_TO_S)
        (void)snprintf(out, size, "1/%.0f", 1.0 / exposure_s);
    else
        (void)snprintf(out, size, "%.3g", exposure_s);
}

void
qs_words_megapixels(int width, int height, char *out, size_t size)
{
    double megapixels = (double)width * height / 1e6;

    (void)snprintf(out, size, megapixels < 999.5 ? "%.3g" : "%.0f", megapixels);
}

/* Units that stand apart from their number, as they are to be written. */
static const char *const units[] = {"%", "MP", "px"};

void
qs_words_size(const char *text, char *out, size_t size)
{
    size_t digits = strspn(text, "0123456789.");

    for (size_t i = 0; digits > 0 && i < sizeof units / sizeof units[0]; i++)
        if (strcasecmp(text + digits, units[i]) == 0) {
            (void)snprintf(out, size, "%.*s %s", (int)digits, text, units[i]);
            return;
        }
    (void)snprintf(out, size, "%s", text);
    if (strcmp(text, "native") == 0 || digits > 0)
        return;
    for (; *out != '\0' && strchr("@+", *out) == NULL; out++)
        *out = (char)toupper((unsigned char)*out);
}

/* Shares of a side that have a name. */
static const struct share_name {
    double share;
    const char *name;
} share_names[] = {
    {1.0, "full size"},
    {0.7071067811865476, "half its pixels"},
    {0.5, "half its width"},
    {0.25, "a quarter of its width"},
};

static void
say_share(const struct qs_delivery *delivery, double share, char *out, size_t size)
{
    char megapixels[QS_WORDS];

    qs_words_megapixels(delivery->width, delivery->height, megapixels,
                        sizeof megapixels);
    for (size_t i = 0; i < sizeof share_names / sizeof share_names[0]; i++)
        if (fabs(share / share_names[i].share - 1.0) < 1e-3) {
            (void)snprintf(out, size, "at %s (%s" QS_GLUE "MP)", share_names[i].name,
                           megapixels);
            return;
        }
    (void)snprintf(out, size, "at %.3g" QS_GLUE "%% of its width (%s" QS_GLUE "MP)",
                   100.0 * share, megapixels);
}

static void
say_sheet(const struct qs_delivery *delivery, const struct qs_size *asked, char *out,
          size_t size)
{
    char sheet[QS_WORDS];

    qs_words_size(delivery->text, sheet, sizeof sheet);
    sheet[strcspn(sheet, "@")] = '\0';
    (void)snprintf(out, size,
                   "for %s at %.4g" QS_GLUE "ppi (%d" QS_GLUE "x" QS_GLUE "%d pixels)",
                   sheet, asked->ppi, delivery->width, delivery->height);
}

/* "uhd" by its name; "3840x2160" by the pixels that came of it. */
static void
say_inside(const struct qs_delivery *delivery, char *out, size_t size)
{
    char name[QS_WORDS];
    bool named = isalpha((unsigned char)delivery->text[0]) != 0;

    qs_words_size(delivery->text, name, sizeof name);
    if (named)
        (void)snprintf(out, size, "for %s (%d" QS_GLUE "x" QS_GLUE "%d pixels)", name,
                       delivery->width, delivery->height);
    else
        (void)snprintf(out, size, "at %d" QS_GLUE "x" QS_GLUE "%d pixels",
                       delivery->width, delivery->height);
}

static void
say_pixels(const struct qs_delivery *delivery, const struct qs_size *asked, char *out,
           size_t size)
{
    char megapixels[QS_WORDS];

    qs_words_megapixels(delivery->width, delivery->height, megapixels,
                        sizeof megapixels);
    if (asked->kind == QS_SIZE_PIXELS)
        (void)snprintf(out, size, "at %.3g" QS_GLUE "MP", asked->a / 1e6);
    else
        (void)snprintf(out, size,
                       "at %.0f" QS_GLUE "px on the long edge (%s" QS_GLUE "MP)",
                       asked->a, megapixels);
}

void
qs_words_delivered(const struct qs_delivery *delivery, char *out, size_t size)
{
    struct qs_size asked;

    if (qs_size_parse(delivery->text, &asked, NULL) != QS_OK) {
        say_share(delivery, 1.0 / delivery->reduction, out, size);
        return;
    }
    switch (asked.kind) {
    case QS_SIZE_SHARE:
        say_share(delivery, asked.a, out, size);
        break;
    case QS_SIZE_INSIDE:
        say_inside(delivery, out, size);
        break;
    case QS_SIZE_SHEET:
        say_sheet(delivery, &asked, out, size);
        break;
    case QS_SIZE_PIXELS:
    case QS_SIZE_LONG:
        say_pixels(delivery, &asked, out, size);
        break;
    }
}

int
qs_words_digits(double interval)
{
    return interval < FINE_STOPS ? 2 : 1;
}

void
qs_words_stops(double stops, double interval, char *out, size_t size)
{
    int digits = qs_words_digits(interval);
    double shown = fmax(interval, digits == 2 ? 0.01 : 0.1);

    (void)snprintf(out, size, "%.*f" QS_GLUE "\xC2\xB1" QS_GLUE "%.*f" QS_GLUE "%s",
                   digits, stops, digits, shown, fabs(stops) <= 1.0 ? "stop" : "stops");
}

const char *
qs_words_channel(enum qs_channel channel)
{
    static const char *const names[QS_CHANNELS] = {"red", "green", "blue", "luminance"};

    return names[channel];
}

void
qs_words_frame(const struct qs_frame *frame, char *out, size_t size)
{
    if (frame->shot.iso > 0.0)
        (void)snprintf(out, size, "this ISO" QS_GLUE "%.0f frame", frame->shot.iso);
    else
        (void)snprintf(out, size, "this frame");
}
