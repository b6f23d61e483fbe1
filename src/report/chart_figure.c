/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_figure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/chart_clean.h"

#define MINUS "\xE2\x88\x92"
#define RAISED_MINUS "\xE2\x81\xBB"
#define TIMES "\xC3\x97"
#define FRACTION_BAR "\xE2\x81\x84"
#define NARROW_BLANK "\xE2\x80\xAF"

enum {
    GROUPED_FROM = 5, /* digits: longer numbers are parted into threes */
    LABEL_BYTES = 256 /* of a caller's label, before what does not fit is cut */
};

static void
add_text(char *out, size_t size, const char *text)
{
    size_t used = strlen(out);

    (void)snprintf(out + used, size - used, "%s", text);
}

static void
add_raised(char *out, size_t size, char digit)
{
    static const char *const digits[] = {
        "\xE2\x81\xB0", "\xC2\xB9",     "\xC2\xB2",     "\xC2\xB3",     "\xE2\x81\xB4",
        "\xE2\x81\xB5", "\xE2\x81\xB6", "\xE2\x81\xB7", "\xE2\x81\xB8", "\xE2\x81\xB9"};

    add_text(out, size, digits[digit - '0']);
}

static void
add_lowered(char *out, size_t size, char digit)
{
    const char lowered[] = {'\xE2', '\x82', (char)('\x80' + (digit - '0')), '\0'};

    add_text(out, size, lowered);
}

static void
add_exponent(char *out, size_t size, int exponent)
{
    char plain[16];

    (void)snprintf(plain, sizeof plain, "%d", abs(exponent));
    if (exponent < 0)
        add_text(out, size, RAISED_MINUS);
    for (const char *p = plain; *p != '\0'; p++)
        add_raised(out, size, *p);
}

/* "12 500": digits before the point parted into threes. */
static void
add_plain(char *out, size_t size, double value, int decimals)
{
    char plain[48];
    int whole;

    (void)snprintf(plain, sizeof plain, "%.*f", decimals, value);
    whole = (int)strcspn(plain, ".");
    for (int i = 0; plain[i] != '\0'; i++) {
        const char one[] = {plain[i], '\0'};

        if (i > 0 && i < whole && whole >= GROUPED_FROM && (whole - i) % 3 == 0)
            add_text(out, size, NARROW_BLANK);
        add_text(out, size, one);
    }
}

/* "2.0" is "2": powers differ along an axis, so that zeros would not line up. */
static void
drop_zeros(char *plain)
{
    size_t length = strlen(plain);

    if (strchr(plain, '.') == NULL)
        return;
    while (plain[length - 1] == '0')
        plain[--length] = '\0';
    if (plain[length - 1] == '.')
        plain[--length] = '\0';
}

/* "10^4", "2 x 10^-5" as they are printed. */
static void
add_power(char *out, size_t size, double value, int decimals)
{
    char plain[48];
    char *e;
    int exponent;

    (void)snprintf(plain, sizeof plain, "%.*e", decimals, value);
    e = strchr(plain, 'e');
    exponent = atoi(e + 1);
    *e = '\0';
    drop_zeros(plain);
    if (strcmp(plain, "1") != 0) {
        add_text(out, size, plain);
        add_text(out, size, TIMES);
    }
    add_text(out, size, "10");
    add_exponent(out, size, exponent);
}

void
qs_chart_write_figure(double value, struct qs_chart_figures figures, char *out,
                      size_t size)
{
    out[0] = '\0';
    if (value < 0.0)
        add_text(out, size, MINUS);
    if (figures.powers && value != 0.0)
        add_power(out, size, fabs(value), figures.decimals);
    else
        add_plain(out, size, fabs(value), figures.powers ? 0 : figures.decimals);
}

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Where the text's fraction, which it starts with, has its bar and its end. */
static bool
find_fraction(const char *text, size_t *bar, size_t *end)
{
    static const char digits[] = "0123456789";
    size_t sign = *text == '-';

    *bar = sign + strspn(text + sign, digits);
    if (*bar == sign || text[*bar] != '/')
        return false;
    *end = *bar + 1 + strspn(text + *bar + 1, digits);
    return *end > *bar + 1 && (text[*end] == '\0' || text[*end] == ' ');
}

static bool
is_minus(const char *text, size_t i)
{
    return text[i] == '-' && (i == 0 || text[i - 1] == ' ') && is_digit(text[i + 1]);
}

void
qs_chart_set_label(const char *text, char *out, size_t size)
{
    char set[LABEL_BYTES] = "";
    size_t bar = 0, end = 0;

    if (text == NULL)
        text = "";
    if (!find_fraction(text, &bar, &end))
        bar = end = 0;
    for (size_t i = 0; text[i] != '\0'; i++) {
        const char one[] = {text[i], '\0'};

        if (is_minus(text, i))
            add_text(set, sizeof set, MINUS);
        else if (i < end && i == bar)
            add_text(set, sizeof set, FRACTION_BAR);
        else if (i < bar)
            add_raised(set, sizeof set, text[i]);
        else if (i < end)
            add_lowered(set, sizeof set, text[i]);
        else
            add_text(set, sizeof set, one);
    }
    qs_chart_clean(set, out, size);
}
