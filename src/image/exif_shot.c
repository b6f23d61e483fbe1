/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/exif_shot.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* 0x8827 is a SHORT; a higher speed is recorded as this and told elsewhere. */
#define ISO_FULL 65535.0

/* Directories in the order in which they are believed. */
enum {
    PAGE_EXIF,
    PAGE_MAIN,
    FIRST_EXIF,
    FIRST_MAIN,
    DIRECTORIES
};

/*
 * Which of the three speeds SensitivityType says the recorded one is; where it
 * names two they are the same number.  Order of search, the rest as fallback.
 */
static const enum qs_exif_field speed_order[][3] = {
    /* not said */
    {QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_ISO_SPEED, QS_EXIF_OUTPUT_SENSITIVITY},
    /* 1 SOS */
    {QS_EXIF_OUTPUT_SENSITIVITY, QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_ISO_SPEED},
    /* 2 REI */
    {QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_ISO_SPEED, QS_EXIF_OUTPUT_SENSITIVITY},
    /* 3 ISO speed */
    {QS_EXIF_ISO_SPEED, QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_OUTPUT_SENSITIVITY},
    /* 4 SOS and REI */
    {QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_OUTPUT_SENSITIVITY, QS_EXIF_ISO_SPEED},
    /* 5 SOS and ISO speed */
    {QS_EXIF_ISO_SPEED, QS_EXIF_OUTPUT_SENSITIVITY, QS_EXIF_RECOMMENDED_EXPOSURE},
    /* 6 REI and ISO speed */
    {QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_ISO_SPEED, QS_EXIF_OUTPUT_SENSITIVITY},
    /* 7 all three */
    {QS_EXIF_RECOMMENDED_EXPOSURE, QS_EXIF_ISO_SPEED, QS_EXIF_OUTPUT_SENSITIVITY},
};

/* 0 = unknown, as for everything that must be positive. */
static double
positive(double number)
{
    return isfinite(number) && number > 0.0 ? number : 0.0;
}

static double
positive_field(const struct qs_exif_fields *fields, enum qs_exif_field field)
{
    return fields->has[field] ? positive(fields->number[field]) : 0.0;
}

static double
long_speed(const struct qs_exif_fields *fields)
{
    size_t types = sizeof speed_order / sizeof speed_order[0];
    double said = positive_field(fields, QS_EXIF_SENSITIVITY_TYPE);
    size_t type = said < (double)types ? (size_t)said : 0;

    for (size_t i = 0; i < 3; i++) {
        double speed = positive_field(fields, speed_order[type][i]);

        if (speed > 0.0)
            return speed;
    }
    return 0.0;
}

/* A full 0x8827 without a long speed means "65535 or more": that is unknown. */
static double
iso_of(const struct qs_exif_fields *fields)
{
    double iso = positive_field(fields, QS_EXIF_ISO);

    return iso > 0.0 && iso < ISO_FULL ? iso : long_speed(fields);
}

static double
exposure_of(const struct qs_exif_fields *fields)
{
    double time_s = positive_field(fields, QS_EXIF_EXPOSURE_TIME);

    if (time_s > 0.0 || !fields->has[QS_EXIF_SHUTTER_SPEED])
        return time_s;
    return positive(exp2(-fields->number[QS_EXIF_SHUTTER_SPEED]));
}

/*
 * Seven significant digits: f/2.8 written by way of a 32-bit float arrives as
 * 2.7999999523, and no lens is marked finer.
 */
static double
to_seven_digits(double value)
{
    double scale = value > 0.0 ? pow(10.0, 6.0 - floor(log10(value))) : 1.0;

    return floor(value * scale + 0.5) / scale;
}

static double
f_number_of(const struct qs_exif_fields *fields)
{
    double f_number = positive_field(fields, QS_EXIF_F_NUMBER);

    if (f_number > 0.0 || !fields->has[QS_EXIF_APERTURE])
        return to_seven_digits(f_number);
    return positive(exp2(fields->number[QS_EXIF_APERTURE] / 2.0));
}

static double
first_known(const struct qs_exif_fields directories[DIRECTORIES],
            double (*value_of)(const struct qs_exif_fields *))
{
    for (int i = 0; i < DIRECTORIES; i++) {
        double value = value_of(&directories[i]);

        if (value > 0.0)
            return value;
    }
    return 0.0;
}

static void
take_bias(const struct qs_exif_fields directories[DIRECTORIES], struct qs_shot *shot)
{
    for (int i = 0; i < DIRECTORIES && !shot->has_exposure_bias; i++) {
        shot->has_exposure_bias = directories[i].has[QS_EXIF_EXPOSURE_BIAS];
        shot->exposure_bias_stops = directories[i].number[QS_EXIF_EXPOSURE_BIAS];
    }
}

static int
orientation_of(const struct qs_exif_fields *main_fields)
{
    double said = positive_field(main_fields, QS_EXIF_ORIENTATION);

    return said >= 1.0 && said <= 8.0 ? (int)said : 1;
}

/* Bytes of the UTF-8 character at `text`, 0 where there is none (RFC 3629). */
static size_t
utf8_bytes(const unsigned char *text)
{
    unsigned char lead = text[0];
    unsigned char low = 0x80, high = 0xbf; /* allowed range of the second byte */
    size_t bytes = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : 2;

    if (lead < 0x80)
        return 1;
    if (lead < 0xc2 || lead > 0xf4)
        return 0;
    if (lead == 0xe0)
        low = 0xa0;
    else if (lead == 0xf0)
        low = 0x90;
    else if (lead == 0xed)
        high = 0x9f;
    else if (lead == 0xf4)
        high = 0x8f;
    if (text[1] < low || text[1] > high)
        return 0;
    for (size_t i = 2; i < bytes; i++)
        if ((text[i] & 0xc0) != 0x80)
            return 0;
    return bytes;
}

/* Control characters: C0, DEL and, in UTF-8, C1 (U+0080 to U+009F). */
static bool
is_control(const unsigned char *text)
{
    return text[0] < 0x20 || text[0] == 0x7f || (text[0] == 0xc2 && text[1] < 0xa0);
}

/*
 * Copies what is printable and valid UTF-8 into `clean`, of `size` bytes, without
 * spaces at either end; characters that have no room are left out whole.
 */
static void
clean_text(const char *raw, char *clean, size_t size)
{
    const unsigned char *from = (const unsigned char *)raw;
    size_t used = 0;

    while (*from != '\0') {
        size_t bytes = utf8_bytes(from);
        bool leading_space = used == 0 && *from == ' ';

        if (bytes > 0 && used + bytes >= size)
            break;
        if (bytes > 0 && !is_control(from) && !leading_space) {
            memcpy(clean + used, from, bytes);
            used += bytes;
        }
        from += bytes > 0 ? bytes : 1;
    }
    while (used > 0 && clean[used - 1] == ' ')
        used--;
    clean[used] = '\0';
}

/* Model names often begin with the maker's name, or with its first word. */
static bool
names_maker(const char *model, const char *make)
{
    size_t word = strcspn(make, " ");

    return strncasecmp(model, make, word) == 0 &&
           (model[word] == ' ' || model[word] == '\0');
}

static void
append(char *text, size_t size, const char *more)
{
    size_t used = strlen(text);
    size_t bytes = strlen(more);

    if (used + bytes < size)
        memcpy(text + used, more, bytes + 1);
}

static void
take_camera(const struct qs_exif_fields *fields, struct qs_shot *shot)
{
    char make[sizeof shot->camera / 2];
    char model[sizeof shot->camera / 2];

    clean_text(fields->make, make, sizeof make);
    clean_text(fields->model, model, sizeof model);
    if (model[0] == '\0' || !names_maker(model, make))
        append(shot->camera, sizeof shot->camera, make);
    if (shot->camera[0] != '\0' && model[0] != '\0')
        append(shot->camera, sizeof shot->camera, " ");
    append(shot->camera, sizeof shot->camera, model);
}

static void
read_directories(const struct qs_exif_stream *stream, uint64_t main_directory,
                 struct qs_exif_fields *exif_fields, struct qs_exif_fields *main_fields)
{
    memset(exif_fields, 0, sizeof *exif_fields);
    qs_exif_read(stream, main_directory, main_fields);
    if (positive_field(main_fields, QS_EXIF_DIRECTORY) > 0.0 &&
        main_fields->number[QS_EXIF_DIRECTORY] < 0x1p62)
        qs_exif_read(stream, (uint64_t)main_fields->number[QS_EXIF_DIRECTORY],
                     exif_fields);
}

void
qs_exif_shot(struct qs_exif_source source, uint64_t page_directory,
             struct qs_shot *shot)
{
    struct qs_exif_stream stream;
    struct qs_exif_fields directories[DIRECTORIES];

    memset(shot, 0, sizeof *shot);
    shot->orientation = 1;
    if (!qs_exif_start(&stream, source))
        return;
    if (page_directory == 0)
        page_directory = stream.first_directory;
    read_directories(&stream, page_directory, &directories[PAGE_EXIF],
                     &directories[PAGE_MAIN]);
    read_directories(&stream, stream.first_directory, &directories[FIRST_EXIF],
                     &directories[FIRST_MAIN]);

    shot->iso = first_known(directories, iso_of);
    shot->exposure_s = first_known(directories, exposure_of);
    shot->f_number = first_known(directories, f_number_of);
    shot->orientation = orientation_of(&directories[PAGE_MAIN]);
    take_bias(directories, shot);
    for (int i = 0; i < DIRECTORIES && shot->camera[0] == '\0'; i++)
        take_camera(&directories[i], shot);
}
