/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "resample/size.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const double MM_PER_INCH = 25.4;

/* Screens by name: BT.709, BT.2020 and DCI sizes. */
static const struct screen {
    const char *key;
    int width, height;
} screens[] = {{"hd", 1920, 1080}, {"uhd", 3840, 2160}, {"dci4k", 4096, 2160}};

/* ISO 216 sheets, long and short edge in mm. */
static const struct sheet {
    const char *key;
    int long_mm, short_mm;
} sheets[] = {{"a0", 1189, 841}, {"a1", 841, 594}, {"a2", 594, 420}, {"a3", 420, 297},
              {"a4", 297, 210},  {"a5", 210, 148}, {"a6", 148, 105}};

static const struct unit {
    const char *key;
    double mm;
} units[] = {{"cm", 10.0}, {"mm", 1.0}, {"in", 25.4}};

/* Of viewing distances; longer keys first, since "m" begins "mm". */
static const struct unit distances[] = {
    {"mm", 1.0}, {"cm", 10.0}, {"in", 25.4}, {"ft", 304.8}, {"m", 1000.0}};

static const double ARC_MINUTE = 3.14159265358979323846 / 180.0 / 60.0;

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/*
 * A plain positive decimal number, no sign, exponent or blanks, whatever the
 * locale; *end is where it stops, NULL where there is none.
 */
static double
number(const char *text, const char **end)
{
    double value = 0.0, place = 1.0;
    const char *p = text;
    bool digits = false;

    for (; isdigit((unsigned char)*p); p++, digits = true)
        value = value * 10.0 + (*p - '0');
    if (*p == '.')
        for (p++; isdigit((unsigned char)*p); p++, digits = true) {
            place /= 10.0;
            value += (*p - '0') * place;
        }
    *end = digits && value > 0.0 && value < 1e9 ? p : NULL;
    return value;
}

/* What stands behind a sheet: "@300", "+3mm@300" or "@2m". */
struct print {
    double bleed_mm;
    double ppi;
};

/* A size whose sheet edges are given in mm. */
static bool
set_sheet(struct qs_size *size, double a_mm, double b_mm, struct print print)
{
    double lengthy = fmax(a_mm, b_mm) + 2.0 * print.bleed_mm;
    double brief = fmin(a_mm, b_mm) + 2.0 * print.bleed_mm;

    size->kind = QS_SIZE_SHEET;
    size->ppi = print.ppi;
    size->is_filled = print.bleed_mm > 0.0;
    size->a = floor(lengthy / MM_PER_INCH * print.ppi + 0.5);
    size->b = floor(brief / MM_PER_INCH * print.ppi + 0.5);
    return size->b >= 1.0;
}

static bool
read_ppi(const char *text, double *ppi)
{
    const char *end;

    *ppi = number(text, &end);
    if (end == NULL)
        return false;
    for (size_t i = 0; *end != '\0' && i < COUNT(distances); i++)
        if (strcasecmp(end, distances[i].key) == 0) {
            double distance_mm = *ppi * distances[i].mm;

            *ppi = MM_PER_INCH / (2.0 * distance_mm * tan(0.5 * ARC_MINUTE));
            end += strlen(end);
        }
    return *end == '\0' && *ppi <= 10000.0;
}

static bool
read_print(const char *text, struct print *print)
{
    *print = (struct print){0.0, 0.0};
    if (*text == '+') {
        const char *end;

        print->bleed_mm = number(text + 1, &end);
        if (end == NULL)
            return false;
        for (size_t i = 0; i < COUNT(units); i++)
            if (strncasecmp(end, units[i].key, 2) == 0) {
                print->bleed_mm *= units[i].mm;
                text = end + 2;
                break;
            }
    }
    return *text == '@' && read_ppi(text + 1, &print->ppi);
}

static bool
read_named(const char *text, struct qs_size *size)
{
    struct print print;

    for (size_t i = 0; i < COUNT(screens); i++)
        if (strcasecmp(text, screens[i].key) == 0) {
            size->kind = QS_SIZE_INSIDE;
            size->a = screens[i].width;
            size->b = screens[i].height;
            return true;
        }
    for (size_t i = 0; i < COUNT(sheets); i++)
        if (strncasecmp(text, sheets[i].key, 2) == 0 && read_print(text + 2, &print))
            return set_sheet(size, sheets[i].long_mm, sheets[i].short_mm, print);
    return false;
}

/* "1920x1080", or a sheet "30x20cm@240". */
static bool
read_pair(double first, const char *text, struct qs_size *size)
{
    const char *end;
    double second = number(text, &end);
    struct print print;

    if (end == NULL)
        return false;
    if (*end == '\0') {
        size->kind = QS_SIZE_INSIDE;
        size->a = first;
        size->b = second;
        return first >= 1.0 && second >= 1.0;
    }
    for (size_t i = 0; i < COUNT(units); i++)
        if (strncasecmp(end, units[i].key, 2) == 0 && read_print(end + 2, &print))
            return set_sheet(size, first * units[i].mm, second * units[i].mm, print);
    return false;
}

static bool
read_size(const char *text, struct qs_size *size)
{
    const char *end;

    if (strcasecmp(text, "native") == 0) {
        size->kind = QS_SIZE_SHARE;
        size->a = 1.0;
        return true;
    }
    if (read_named(text, size))
        return true;
    size->a = number(text, &end);
    if (end == NULL)
        return false;
    if (*end == 'x' || *end == 'X')
        return read_pair(size->a, end + 1, size);
    if (strcmp(end, "%") == 0) {
        size->kind = QS_SIZE_SHARE;
        size->a /= 100.0;
    } else if (strcasecmp(end, "mp") == 0) {
        size->kind = QS_SIZE_PIXELS;
        size->a *= 1e6;
    } else if (strcasecmp(end, "px") == 0) {
        size->kind = QS_SIZE_LONG;
    } else {
        return false;
    }
    return true;
}

enum qs_status
qs_size_parse(const char *text, struct qs_size *out, struct qs_error *err)
{
    struct qs_size size = {0};

    if (strlen(text) >= sizeof size.text || !read_size(text, &size))
        return qs_fail(
            err, QS_ERR_USAGE,
            "The size \"%.40s\" is not understood; write it like native, 50%%, "
            "20MP, 3840px, 3840x2160, hd, uhd, dci4k, a4@300 or 30x20cm@240.",
            text);
    (void)snprintf(size.text, sizeof size.text, "%s", text);
    *out = size;
    return QS_OK;
}

/* The share of each side that a size asks for. */
static double
share_of(const struct qs_size *size, double width, double height)
{
    double lengthy = fmax(width, height), brief = fmin(width, height);

    switch (size->kind) {
    case QS_SIZE_SHARE:
        return size->a;
    case QS_SIZE_PIXELS:
        return sqrt(size->a / (width * height));
    case QS_SIZE_LONG:
        return size->a / lengthy;
    case QS_SIZE_INSIDE:
        return fmin(size->a / width, size->b / height);
    case QS_SIZE_SHEET:
        return fmin(size->a / lengthy, size->b / brief);
    }
    return 1.0;
}

static int
whole_pixels(double length)
{
    return length < 1.0 ? 1 : length > 1e9 ? 1000000000 : (int)floor(length + 0.5);
}

bool
qs_size_of(const struct qs_size *size, int width, int height, int *out_width,
           int *out_height)
{
    double share = share_of(size, width, height);

    *out_width = whole_pixels(width * share);
    *out_height = whole_pixels(height * share);
    return *out_width <= width && *out_height <= height;
}

double
qs_size_ladder_share(int step)
{
    return exp2(-step / 4.0);
}

enum qs_status
qs_shape_ratio_parse(const char *text, struct qs_shape_ratio *out, struct qs_error *err)
{
    const char *colon, *end = NULL;
    double width = number(text, &colon), height = 0.0;

    if (colon != NULL && *colon == ':')
        height = number(colon + 1, &end);
    if (end == NULL || *end != '\0' || width / height > 1000.0 ||
        height / width > 1000.0)
        return qs_fail(
            err, QS_ERR_USAGE,
            "The crop \"%.40s\" is not understood; write width and height like "
            "16:9, 4:5 or 1:1.",
            text);
    out->width = width;
    out->height = height;
    return QS_OK;
}

struct qs_box
qs_shape_ratio_box(struct qs_shape_ratio ratio, int width, int height)
{
    struct qs_box box = {0, 0, width, height};

    if (ratio.width <= 0.0)
        return box;
    if (width * ratio.height > height * ratio.width)
        box.width = whole_pixels(height * ratio.width / ratio.height);
    else
        box.height = whole_pixels(width * ratio.height / ratio.width);
    box.x = (width - box.width) / 2;
    box.y = (height - box.height) / 2;
    return box;
}
