/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/fields.h"
#include "report/plain_text.h"
#include "report/write_reason.h"

static const char LINE_END[] = "\r\n";

/* A line being written: whether a comma is due before the next field. */
struct line {
    FILE *out;
    bool begun;
};

static void
put_plain(struct line *line, const char *text)
{
    (void)fprintf(line->out, "%s%s", line->begun ? "," : "", text);
    line->begun = true;
}

/* RFC 4180: quoted where it holds a quote, comma or line end, quotes doubled. */
static void
put_text(struct line *line, const char *text)
{
    if (strpbrk(text, "\",\r\n") == NULL) {
        put_plain(line, text);
        return;
    }
    put_plain(line, "\"");
    for (; *text != '\0'; text++) {
        if (*text == '"')
            (void)fputc('"', line->out);
        (void)fputc((unsigned char)*text, line->out);
    }
    (void)fputc('"', line->out);
}

/* The fewest digits that bring the same number back. */
static void
put_number(struct line *line, double value)
{
    char text[40];

    for (int digits = 15; digits <= 17; digits++) {
        (void)snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    put_plain(line, text);
}

static void
put_whole(struct line *line, int value)
{
    char text[16];

    (void)snprintf(text, sizeof text, "%d", value);
    put_plain(line, text);
}

static void
end_line(struct line *line)
{
    (void)fputs(LINE_END, line->out);
    line->begun = false;
}

static void
put_keys(struct line *line, enum qs_field_group group, const char *before)
{
    int count;
    const struct qs_field *fields = qs_fields(group, &count);

    for (int i = 0; i < count; i++) {
        char key[64];

        (void)snprintf(key, sizeof key, "%s%s", before, fields[i].key);
        put_plain(line, key);
    }
}

/* The subject's figures, or nothing between the commas where it has no fall. */
static void
put_figures(struct line *line, enum qs_field_group group,
            const struct qs_subject *subject, bool there)
{
    int count;
    const struct qs_field *fields = qs_fields(group, &count);

    for (int i = 0; i < count; i++) {
        struct qs_value value = {false, 0.0};

        if (there)
            value = fields[i].get(subject);
        if (value.known)
            put_number(line, value.number);
        else
            put_plain(line, "");
    }
}

static const char *const patch_keys[] = {
    "patch", "x", "y", "patch_width", "patch_height", "chosen", "channel"};
static const char *const size_keys[] = {"size", "width", "height", "megapixels",
                                        "filter"};

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static enum qs_status
written(FILE *out, struct qs_error *err)
{
    if (ferror(out) == 0)
        return QS_OK;
    return qs_fail_write(err);
}

enum qs_status
qs_csv_start(FILE *out, struct qs_error *err)
{
    struct line line = {out, false};

    put_plain(&line, "file");
    put_keys(&line, QS_FIELDS_SHOT, "");
    put_plain(&line, "camera");
    for (size_t i = 0; i < COUNT(patch_keys); i++)
        put_plain(&line, patch_keys[i]);
    put_keys(&line, QS_FIELDS_PATCH, "");
    for (size_t i = 0; i < COUNT(size_keys); i++)
        put_plain(&line, size_keys[i]);
    put_keys(&line, QS_FIELDS_SIZE, "");
    put_keys(&line, QS_FIELDS_FALL, "fall_");
    end_line(&line);
    return written(out, err);
}

static void
put_patch(struct line *line, const struct qs_subject *subject)
{
    const struct qs_patch *patch = subject->patch;

    put_whole(line, (int)(patch - subject->frame->patches));
    put_whole(line, patch->box.x);
    put_whole(line, patch->box.y);
    put_whole(line, patch->box.width);
    put_whole(line, patch->box.height);
    put_plain(line, patch->found ? "found" : "given");
    put_plain(line, qs_channel_key(subject->channel));
    put_figures(line, QS_FIELDS_PATCH, subject, true);
}

static void
put_delivery(struct line *line, const struct qs_subject *subject)
{
    const struct qs_delivery *delivery =
        &subject->frame->deliveries[subject->fall->delivery];

    put_text(line, delivery->text);
    put_whole(line, delivery->width);
    put_whole(line, delivery->height);
    put_number(line, (double)delivery->width * delivery->height / 1e6);
    put_plain(line, qs_filter_row(subject->fall->filter)->key);
}

static void
put_row(struct line *line, const char *path, const char *camera,
        const struct qs_subject *subject)
{
    bool there = subject->fall != NULL;

    put_text(line, path);
    put_figures(line, QS_FIELDS_SHOT, subject, true);
    put_text(line, camera);
    put_patch(line, subject);
    if (there)
        put_delivery(line, subject);
    for (size_t i = 0; !there && i < COUNT(size_keys); i++)
        put_plain(line, "");
    put_figures(line, QS_FIELDS_SIZE, subject, there);
    put_figures(line, QS_FIELDS_FALL, subject, there);
    end_line(line);
}

/* All rows of one patch in one channel. */
static void
put_rows(struct line *line, const char *path, const char *camera,
         struct qs_subject *subject)
{
    const struct qs_frame *frame = subject->frame;
    const int patch = (int)(subject->patch - frame->patches);

    subject->fall = NULL;
    if (frame->fall_count == 0)
        put_row(line, path, camera, subject);
    for (int i = 0; i < frame->fall_count; i++)
        if (frame->falls[i].patch == patch) {
            subject->fall = &frame->falls[i];
            put_row(line, path, camera, subject);
        }
}

enum qs_status
qs_csv_frame(FILE *out, const char *path, const struct qs_frame *frame,
             struct qs_error *err)
{
    struct line line = {out, false};
    const size_t room = qs_text_clean_room(path);
    char *file = qs_alloc(room, 1);
    char camera[3 * sizeof frame->shot.camera];

    if (file == NULL)
        return qs_fail_memory(err);
    qs_text_clean(path, false, file, room);
    qs_text_clean(frame->shot.camera, false, camera, sizeof camera);
    for (int p = 0; p < frame->patch_count; p++)
        for (int c = (int)frame->first; c < QS_CHANNELS; c++) {
            struct qs_subject subject = {.frame = frame,
                                         .patch = &frame->patches[p],
                                         .channel = (enum qs_channel)c};

            put_rows(&line, file, camera, &subject);
        }
    qs_free(file);
    return written(out, err);
}
