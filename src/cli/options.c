/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/options.h"

#include <assert.h>
#include <ctype.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "cli/nearest.h"

#define APERTURE_MOST 1000.0

/* Above what getopt_long returns of its own. */
enum {
    FIRST_ROW = 256
};

/* The typed option that getopt_long has just refused. */
static const char *
refused(char **argv, char letters[3])
{
    const char *word = argv[optind - 1];

    if (strncmp(word, "--", 2) == 0)
        return word;
    letters[0] = '-';
    letters[1] = (char)optopt;
    letters[2] = '\0';
    return letters;
}

static enum qs_status
fail_unknown(const struct qs_option *rows, int count, const char *word,
             struct qs_error *err)
{
    const char *names[QS_OPTIONS];
    const char *near;
    char name[40];

    for (int i = 0; i < count; i++)
        names[i] = rows[i].name;
    (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(word, "="), word);
    near = qs_nearest(name + strspn(name, "-"), names, count);
    if (near == NULL)
        return qs_fail(err, QS_ERR_USAGE, "There is no option %s.", name);
    return qs_fail(err, QS_ERR_USAGE, "There is no option %s; did you mean --%s?", name,
                   near);
}

/* An option without value that was given one, or one nobody knows. */
static enum qs_status
fail_refused(const struct qs_option *rows, int count, const char *word,
             struct qs_error *err)
{
    for (int i = 0; i < count; i++) {
        size_t length = strlen(rows[i].name);

        if (!rows[i].has_value && strncmp(word, "--", 2) == 0 &&
            strncmp(word + 2, rows[i].name, length) == 0 && word[2 + length] == '=')
            return qs_fail(err, QS_ERR_USAGE, "--%s takes no value.", rows[i].name);
    }
    return fail_unknown(rows, count, word, err);
}

static void
fill_long(const struct qs_option *rows, int count, struct option *options)
{
    assert(count <= QS_OPTIONS);
    for (int i = 0; i < count; i++)
        options[i] = (struct option){
            rows[i].name, rows[i].has_value ? required_argument : no_argument, NULL,
            FIRST_ROW + i};
    options[count] = (struct option){NULL, 0, NULL, 0};
}

enum qs_status
qs_options_read(const struct qs_option *rows, int count, int argc, char **argv,
                void *into, int *first, struct qs_error *err)
{
    struct option options[QS_OPTIONS + 1];
    char letters[3];
    enum qs_status status = QS_OK;

    fill_long(rows, count, options);
    opterr = 0;
    optind = 1;
    while (status == QS_OK) {
        int got = getopt_long(argc, argv, ":", options, NULL);

        if (got == -1)
            break;
        if (got == ':')
            status =
                qs_fail(err, QS_ERR_USAGE, "%s needs a value.", refused(argv, letters));
        else if (got < FIRST_ROW)
            status = fail_refused(rows, count, refused(argv, letters), err);
        else
            status = rows[got - FIRST_ROW].take(into, optarg, err);
    }
    *first = optind;
    return status;
}

/* A plain decimal number: digits, a point, a sign; no more, in any locale. */
static bool
is_number(const char *text, double *value)
{
    const size_t length = strlen(text);
    char *end;

    if (length == 0 || strspn(text, "+-.0123456789eE") != length)
        return false;
    *value = strtod(text, &end);
    return *end == '\0' && isfinite(*value);
}

enum qs_status
qs_read_number(const char *option, const char *text, double least, double most,
               double *out, struct qs_error *err)
{
    double value;

    if (!is_number(text, &value))
        return qs_fail(err, QS_ERR_USAGE, "%s takes a number, not \"%.40s\".", option,
                       text);
    if (value < least || value > most)
        return qs_fail(err, QS_ERR_USAGE, "%s takes a number from %g to %g, not %.40s.",
                       option, least, most, text);
    *out = value;
    return QS_OK;
}

enum qs_status
qs_read_whole(const char *option, const char *text, int least, int most, int *out,
              struct qs_error *err)
{
    double value;

    if (!is_number(text, &value) || value != floor(value) || value < least ||
        value > most)
        return qs_fail(err, QS_ERR_USAGE,
                       "%s takes a whole number from %d to %d, not \"%.40s\".", option,
                       least, most, text);
    *out = (int)value;
    return QS_OK;
}

/* Reads digits as a whole number and moves on; false where there is none. */
static bool
take_whole(const char **text, int *out)
{
    long value = 0;

    if (!isdigit((unsigned char)**text))
        return false;
    for (; isdigit((unsigned char)**text); (*text)++) {
        value = value * 10 + (**text - '0');
        if (value > 1000000000L)
            return false;
    }
    *out = (int)value;
    return true;
}

static bool
take_mark(const char **text, char mark)
{
    if (**text != mark)
        return false;
    (*text)++;
    return true;
}

enum qs_status
qs_read_box(const char *text, struct qs_box *out, struct qs_error *err)
{
    const char *p = text;
    struct qs_box box;

    if (!take_whole(&p, &box.x) || !take_mark(&p, ',') || !take_whole(&p, &box.y) ||
        !take_mark(&p, ',') || !take_whole(&p, &box.width) || !take_mark(&p, ',') ||
        !take_whole(&p, &box.height) || *p != '\0' || box.width == 0 || box.height == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "--patch takes X,Y,W,H: left, top, width and height in pixels, "
                       "such as --patch 1200,800,400,400; not \"%.40s\".",
                       text);
    *out = box;
    return QS_OK;
}

enum qs_status
qs_read_shutter(const char *option, const char *text, double *out, struct qs_error *err)
{
    double value, over;
    const char *fraction = strncmp(text, "1/", 2) == 0 ? text + 2 : NULL;

    if (fraction != NULL && is_number(fraction, &over) && over > 0.0)
        value = 1.0 / over;
    else if (fraction != NULL || !is_number(text, &value))
        value = 0.0;
    if (!(value > 0.0) || value > 1e6)
        return qs_fail(err, QS_ERR_USAGE,
                       "%s takes seconds, such as 1/125, 0.008 or 2; not \"%.40s\".",
                       option, text);
    *out = value;
    return QS_OK;
}

enum qs_status
qs_read_aperture(const char *option, const char *text, double *out,
                 struct qs_error *err)
{
    const char *number = strncasecmp(text, "f/", 2) == 0 ? text + 2 : text;

    return qs_read_number(option, number, 0.1, APERTURE_MOST, out, err);
}

enum qs_status
qs_read_text(const char *option, const char *text, const char **out,
             struct qs_error *err)
{
    if (text[0] == '\0')
        return qs_fail(err, QS_ERR_USAGE, "%s needs a value.", option);
    *out = text;
    return QS_OK;
}

enum qs_status
qs_read_pixels(const char *text, int *width, int *height, struct qs_error *err)
{
    const char *p = text;
    int w, h;

    if (!take_whole(&p, &w) || !(take_mark(&p, 'x') || take_mark(&p, 'X')) ||
        !take_whole(&p, &h) || *p != '\0' || w == 0 || h == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "--frame takes the frame's width and height in pixels, such as "
                       "8256x5504; not \"%.40s\".",
                       text);
    *width = w;
    *height = h;
    return QS_OK;
}

static void
add_filter(enum qs_filter filter, enum qs_filter *filters, int *count)
{
    for (int i = 0; i < *count; i++)
        if (filters[i] == filter)
            return;
    filters[(*count)++] = filter;
}

static enum qs_status
fail_filter(const char *text, struct qs_error *err)
{
    const char *names[QS_FILTERS + 1];
    char list[200] = "";
    const char *near;

    for (int i = 0; i < QS_FILTERS; i++) {
        size_t used = strlen(list);

        names[i] = qs_filter_row((enum qs_filter)i)->key;
        (void)snprintf(list + used, sizeof list - used, "%s, ", names[i]);
    }
    names[QS_FILTERS] = "all";
    near = qs_nearest(text, names, QS_FILTERS + 1);
    if (near != NULL)
        return qs_fail(err, QS_ERR_USAGE,
                       "There is no filter \"%.40s\"; did you mean %s? The filters are "
                       "%sand all.",
                       text, near, list);
    return qs_fail(err, QS_ERR_USAGE,
                   "There is no filter \"%.40s\"; the filters are %sand all.", text,
                   list);
}

enum qs_status
qs_read_filter(const char *text, enum qs_filter *filters, int *count,
               struct qs_error *err)
{
    int filter = qs_filter_find(text);

    if (strcmp(text, "all") == 0) {
        for (int i = 0; i < QS_FILTERS; i++)
            add_filter((enum qs_filter)i, filters, count);
        return QS_OK;
    }
    if (filter < 0)
        return fail_filter(text, err);
    add_filter((enum qs_filter)filter, filters, count);
    return QS_OK;
}
