/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv.h"

#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "report/csv_line.h"
#include "report/fields.h"
#include "base/plain_text.h"

static const char *const patch_keys[] = {
    "patch", "x", "y", "patch_width", "patch_height", "chosen", "channel"};
static const char *const size_keys[] = {"size", "width", "height", "megapixels",
                                        "filter"};

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

enum qs_status
qs_csv_start(FILE *out, struct qs_error *err)
{
    struct qs_csv_line line = {out, false};

    qs_csv_plain(&line, "file");
    qs_csv_keys(&line, QS_FIELDS_SHOT, "");
    qs_csv_plain(&line, "camera");
    for (size_t i = 0; i < COUNT(patch_keys); i++)
        qs_csv_plain(&line, patch_keys[i]);
    qs_csv_keys(&line, QS_FIELDS_PATCH, "");
    for (size_t i = 0; i < COUNT(size_keys); i++)
        qs_csv_plain(&line, size_keys[i]);
    qs_csv_keys(&line, QS_FIELDS_SIZE, "");
    qs_csv_keys(&line, QS_FIELDS_FALL, "fall_");
    qs_csv_end(&line);
    return qs_csv_written(out, err);
}

static void
put_patch(struct qs_csv_line *line, const struct qs_subject *subject)
{
    const struct qs_patch *patch = subject->patch;

    qs_csv_whole(line, (int)(patch - subject->frame->patches));
    qs_csv_whole(line, patch->box.x);
    qs_csv_whole(line, patch->box.y);
    qs_csv_whole(line, patch->box.width);
    qs_csv_whole(line, patch->box.height);
    qs_csv_plain(line, patch->found ? "found" : "given");
    qs_csv_plain(line, qs_channel_key(subject->channel));
    qs_csv_figures(line, QS_FIELDS_PATCH, subject, true);
}

static void
put_delivery(struct qs_csv_line *line, const struct qs_subject *subject)
{
    const struct qs_delivery *delivery =
        &subject->frame->deliveries[subject->fall->delivery];

    qs_csv_text(line, delivery->text);
    qs_csv_whole(line, delivery->width);
    qs_csv_whole(line, delivery->height);
    qs_csv_number(line, (double)delivery->width * delivery->height / 1e6);
    qs_csv_plain(line, qs_filter_row(subject->fall->filter)->key);
}

static void
put_row(struct qs_csv_line *line, const char *path, const char *camera,
        const struct qs_subject *subject)
{
    bool there = subject->fall != NULL;

    qs_csv_text(line, path);
    qs_csv_figures(line, QS_FIELDS_SHOT, subject, true);
    qs_csv_text(line, camera);
    put_patch(line, subject);
    if (there)
        put_delivery(line, subject);
    for (size_t i = 0; !there && i < COUNT(size_keys); i++)
        qs_csv_plain(line, "");
    qs_csv_figures(line, QS_FIELDS_SIZE, subject, there);
    qs_csv_figures(line, QS_FIELDS_FALL, subject, there);
    qs_csv_end(line);
}

/* All rows of one patch in one channel. */
static void
put_rows(struct qs_csv_line *line, const char *path, const char *camera,
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
    struct qs_csv_line line = {out, false};
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
    return qs_csv_written(out, err);
}
