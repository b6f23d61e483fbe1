/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sheet/session.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "frame/opening.h"
#include "frame/repeats_run.h"
#include "sheet/session_take.h"

/* A frame of the session that was looked at and may be used. */
struct member {
    const struct qs_session_frame *from;
    struct qs_shot shot;
    int width;
    int height;
    int channels;
    char encoding[QS_SHEET_TEXT];
};

struct session {
    const struct qs_session_listener *listener;
    struct qs_pool *pool;
    struct qs_frame_options options;
    struct qs_size native;
    struct qs_sheet *sheet;
    struct member *members; /* in order of ISO, exposure and file */
    int count;
    int done;         /* members dealt with, for progress */
    const char *path; /* under way */
};

static const char too_many_isos[] =
    "A sheet holds 256 ISO values at most; make another one.";

static enum qs_status
refuse(struct session *session, const char *path, const char *why, struct qs_error *err)
{
    session->listener->told(session->listener->context, path, QS_NEWS_REFUSED, why);
    return qs_sheet_refuse(session->sheet, path, why, err);
}

static void
progress(void *context, double share)
{
    struct session *session = context;
    const struct qs_session_listener *listener = session->listener;

    listener->progress(listener->context, session->done, session->count, session->path,
                       share);
}

/* The camera, size and kind of the sheet are those of its first frame. */
static const char *
reason_against(const struct qs_sheet *sheet, const struct member *member, char *room,
               size_t size)
{
    if (!(member->shot.iso > 0.0))
        return "The file doesn't say its ISO; give it with --iso FILE=VALUE, or for "
               "all frames in a table with --log.";
    if (qs_sheet_holds(sheet, member->from->path))
        return "The sheet holds a frame of this name already; counted twice, it would "
               "seem to tell more than it does. Leave it out, or make the sheet anew.";
    if (sheet->width == 0)
        return NULL;
    if (sheet->camera[0] != '\0' && member->shot.camera[0] != '\0' &&
        strcmp(sheet->camera, member->shot.camera) != 0)
        (void)snprintf(room, size,
                       "It is from another camera (%.60s) than the sheet (%.60s); make "
                       "a sheet for each camera.",
                       member->shot.camera, sheet->camera);
    else if (sheet->width != member->width || sheet->height != member->height)
        (void)snprintf(room, size,
                       "It is %d x %d pixels, while the sheet is about frames of %d x "
                       "%d; export all frames at full size, without a crop.",
                       member->width, member->height, sheet->width, sheet->height);
    else if (sheet->channels != member->channels)
        (void)snprintf(room, size,
                       "It is %s, while the sheet is about %s frames; make a sheet for "
                       "each kind.",
                       member->channels == 1 ? "grey" : "in colour",
                       sheet->channels == 1 ? "grey" : "colour");
    else if (strcmp(sheet->encoding, member->encoding) != 0)
        (void)snprintf(room, size,
                       "It is read as %.80s, while the sheet is about frames read as "
                       "%.80s; export all frames alike, and give --encoding, --black "
                       "and --white as they were given before.",
                       member->encoding, sheet->encoding);
    else
        return NULL;
    return room;
}

static void
start_sheet(struct qs_sheet *sheet, const struct member *member)
{
    if (sheet->width == 0) {
        sheet->width = member->width;
        sheet->height = member->height;
        sheet->channels = member->channels;
        memcpy(sheet->encoding, member->encoding, sizeof sheet->encoding);
    }
    if (sheet->camera[0] == '\0')
        memcpy(sheet->camera, member->shot.camera, sizeof sheet->camera);
}

/* Curve and ends of the code range: what must be one for all frames. */
static void
name_encoding(const struct qs_encoding *encoding,
              const struct qs_encoding_choice *choice, char name[QS_SHEET_TEXT])
{
    char black[32] = "", white[32] = "";

    if (choice->has_black)
        (void)snprintf(black, sizeof black, ", black %.7g", choice->black);
    if (choice->has_white)
        (void)snprintf(white, sizeof white, ", white %.7g", choice->white);
    (void)snprintf(name, QS_SHEET_TEXT, "%s%s%s", encoding->name, black, white);
}

/* Opens a file for what it says of itself. */
static enum qs_status
look(const struct session *session, const struct qs_session_frame *from,
     struct member *member, struct qs_error *err)
{
    struct qs_frame_options options = session->options;
    struct qs_image *image = NULL;
    struct qs_linear *linear = NULL;
    struct qs_frame frame = {0};
    enum qs_status status;

    options.shot = from->shot;
    status = qs_frame_open(from->path, &options, &image, &linear, &frame, err);
    if (status == QS_OK) {
        *member = (struct member){.from = from,
                                  .shot = frame.shot,
                                  .width = frame.width,
                                  .height = frame.height,
                                  .channels = frame.channels};
        name_encoding(&frame.encoding, &options.encoding, member->encoding);
    }
    qs_linear_free(linear);
    qs_image_close(image);
    return status;
}

static bool
is_there(const struct session *session, const char *path)
{
    for (int i = 0; i < session->count; i++)
        if (strcmp(session->members[i].from->path, path) == 0)
            return true;
    return false;
}

static enum qs_status
look_at_all(struct session *session, const struct qs_session_frame *frames, int count,
            struct qs_error *err)
{
    session->members = qs_alloc((size_t)count, sizeof *session->members);
    if (session->members == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < count; i++) {
        struct member *member = &session->members[session->count];

        struct qs_error own = {QS_OK, ""};
        enum qs_status status = look(session, &frames[i], member, &own);
        char room[320];
        const char *why = own.text;

        if (status == QS_ERR_MEMORY)
            return qs_fail_memory(err);
        if (status == QS_OK && is_there(session, frames[i].path))
            why = "It is named twice; it counts once.";
        else if (status == QS_OK)
            why = reason_against(session->sheet, member, room, sizeof room);
        if (why == NULL) {
            start_sheet(session->sheet, member);
            session->count++;
        } else if (refuse(session, frames[i].path, why, err) != QS_OK) {
            return QS_ERR_MEMORY;
        }
    }
    return QS_OK;
}

/* What must be equal for frames to be repeats. */
static int
compare_exposures(const struct member *a, const struct member *b)
{
    const double keys[][2] = {{a->shot.iso, b->shot.iso},
                              {a->shot.exposure_s, b->shot.exposure_s},
                              {a->shot.f_number, b->shot.f_number},
                              {a->from->light_lx, b->from->light_lx}};

    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        if (keys[i][0] != keys[i][1])
            return keys[i][0] < keys[i][1] ? -1 : 1;
    return 0;
}

static int
compare_members(const void *a, const void *b)
{
    const struct member *p = a, *q = b;
    int order = compare_exposures(p, q);

    return order != 0 ? order : strcmp(p->from->path, q->from->path);
}

static enum qs_status
take(struct session *session, const struct member *member, const struct qs_frame *frame,
     const struct qs_same_scene *scene, struct qs_error *err)
{
    struct qs_sheet_iso *iso = qs_sheet_iso_at(session->sheet, member->shot.iso);
    struct qs_sheet_frame record = {.exposure_s = member->shot.exposure_s,
                                    .f_number = member->shot.f_number,
                                    .light_lx = member->from->light_lx,
                                    .repeat = scene != NULL};

    if (iso == NULL)
        return refuse(session, member->from->path, too_many_isos, err);
    qs_sheet_readmit(session->sheet, member->from->path);
    return qs_session_take(iso, member->from->path, frame, scene, &record, err);
}

/* A frame by itself; `why` it was not taken as a repeat, or NULL. */
static enum qs_status
measure_one(struct session *session, const struct member *member, const char *why,
            struct qs_error *err)
{
    const char *path = member->from->path;
    struct qs_frame_options options = session->options;
    struct qs_frame frame = {0};
    struct qs_error own = {QS_OK, ""};
    enum qs_status status;

    session->path = path;
    options.shot = member->from->shot;
    status = qs_frame_measure(path, &options, session->pool, progress, session, &frame,
                              &own);
    session->done++;
    if (status == QS_ERR_MEMORY)
        return qs_fail_memory(err);
    if (status != QS_OK)
        return refuse(session, path, own.text, err);
    if (qs_session_reason(&frame) != NULL) {
        status = refuse(session, path, qs_session_reason(&frame), err);
    } else {
        status = take(session, member, &frame, NULL, err);
        session->listener->told(session->listener->context, path, QS_NEWS_MEASURED,
                                why);
    }
    qs_frame_clear(&frame);
    return status;
}

/* The members of a scene, each measured by itself where the scene was. */
struct repeats {
    struct member **members;
    int count;
    struct qs_same_scene scene;
    struct qs_frame *frames;
    struct qs_box *boxes;
};

static void
repeats_clear(struct repeats *repeats)
{
    for (int k = 0; repeats->frames != NULL && k < repeats->count; k++)
        qs_frame_clear(&repeats->frames[k]);
    qs_free(repeats->frames);
    qs_free(repeats->boxes);
    qs_same_scene_clear(&repeats->scene);
}

static enum qs_status
measure_members(struct session *session, struct repeats *repeats, struct qs_error *err)
{
    struct qs_frame_options options = session->options;
    const struct qs_frame *random = &repeats->scene.random;
    enum qs_status status = QS_OK;

    repeats->frames = qs_alloc((size_t)repeats->count, sizeof *repeats->frames);
    repeats->boxes = qs_alloc((size_t)random->patch_count, sizeof *repeats->boxes);
    if (repeats->frames == NULL || repeats->boxes == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < random->patch_count; p++)
        repeats->boxes[p] = random->patches[p].box;
    options.patches = repeats->boxes;
    options.patch_count = random->patch_count;
    for (int k = 0; status == QS_OK && k < repeats->count; k++) {
        options.shot = repeats->members[k]->from->shot;
        session->path = repeats->members[k]->from->path;
        status = qs_frame_measure(session->path, &options, session->pool, progress,
                                  session, &repeats->frames[k], err);
        if (status == QS_OK)
            status = qs_same_scene_heed(&repeats->scene, &repeats->frames[k], err);
        session->done++;
    }
    return status == QS_OK ? qs_same_scene_judge(&repeats->scene, err) : status;
}

static enum qs_status
take_members(struct session *session, struct repeats *repeats, struct qs_error *err)
{
    const char *why = qs_session_reason(&repeats->scene.random);
    struct qs_sheet_iso *iso = NULL;
    enum qs_status status = QS_OK;

    if (why == NULL) {
        iso = qs_sheet_iso_at(session->sheet, repeats->members[0]->shot.iso);
        why = iso == NULL ? too_many_isos : NULL;
    }

    for (int k = 0; status == QS_OK && k < repeats->count; k++) {
        const struct member *member = repeats->members[k];

        if (why != NULL) {
            status = refuse(session, member->from->path, why, err);
            continue;
        }
        status = take(session, member, &repeats->frames[k], &repeats->scene, err);
        session->listener->told(session->listener->context, member->from->path,
                                QS_NEWS_REPEATS, NULL);
    }
    if (status == QS_OK && why == NULL)
        status = qs_session_take_scene(iso, &repeats->scene, repeats->frames, err);
    return status;
}

/*
 * Tries members as repeats of one scene.  QS_ERR_UNSUPPORTED: they are not, and
 * *culprit is the one that isn't; nothing was taken.
 */
static enum qs_status
try_repeats(struct session *session, struct member **members, int count, int *culprit,
            struct qs_error *err)
{
    struct repeats repeats = {.members = members, .count = count};
    const char **paths = qs_alloc((size_t)count, sizeof *paths);
    struct qs_frame_options options = session->options;
    enum qs_status status;
    int before = session->done;

    if (paths == NULL)
        return qs_fail_memory(err);
    for (int k = 0; k < count; k++)
        paths[k] = members[k]->from->path;
    options.shot = members[0]->from->shot;
    session->path = paths[0];
    status = qs_same_scene_measure(paths, count, &options, session->pool, progress,
                                   session, &repeats.scene, culprit, err);
    if (status == QS_OK)
        status = measure_members(session, &repeats, err);
    if (status == QS_OK)
        status = take_members(session, &repeats, err);
    else
        session->done = before;
    repeats_clear(&repeats);
    qs_free(paths);
    return status;
}

/*
 * Deals with members of one exposure: as repeats of one scene, less those that turn out
 * to show something else; what is left over is tried again by itself.
 */
static enum qs_status
deal_with(struct session *session, struct member **members, int count,
          struct member **room, struct qs_error *err)
{
    enum qs_status status = QS_OK;
    char why[sizeof err->text] = "";
    int left = 0;

    while (count > 1 && count <= QS_REPEATS_MOST) {
        struct qs_error own = {QS_OK, ""};
        int culprit = 0;

        status = try_repeats(session, members, count, &culprit, &own);
        if (status == QS_ERR_MEMORY)
            return qs_fail_memory(err);
        if (status == QS_OK) {
            count = 0;
            break;
        }
        memcpy(why, own.text, sizeof why);
        /* where it can't be told which one it is, the first is taken to be */
        room[left++] = members[culprit];
        memmove(members + culprit, members + culprit + 1,
                (size_t)(count - culprit - 1) * sizeof *members);
        count--;
    }
    status = QS_OK;
    for (int k = 0; status == QS_OK && k < count; k++)
        status = measure_one(session, members[k], why[0] != '\0' ? why : NULL, err);
    memcpy(members, room, (size_t)left * sizeof *members);
    if (status != QS_OK || left == 0)
        return status;
    if (left == 1)
        return measure_one(session, members[0], why, err);
    return deal_with(session, members, left, room, err);
}

static enum qs_status
run_groups(struct session *session, struct qs_error *err)
{
    struct member **members = qs_alloc((size_t)session->count, sizeof *members);
    struct member **room = qs_alloc((size_t)session->count, sizeof *room);
    enum qs_status status =
        members == NULL || room == NULL ? qs_fail_memory(err) : QS_OK;

    for (int from = 0, to; status == QS_OK && from < session->count; from = to) {
        for (to = from; to < session->count; to++) {
            if (compare_exposures(&session->members[from], &session->members[to]) != 0)
                break;
            members[to - from] = &session->members[to];
        }
        status = deal_with(session, members, to - from, room, err);
    }
    qs_free(members);
    qs_free(room);
    return status;
}

enum qs_status
qs_session_run(const struct qs_session_frame *frames, int count,
               const struct qs_frame_options *options, struct qs_pool *pool,
               const struct qs_session_listener *listener, struct qs_sheet *sheet,
               struct qs_error *err)
{
    struct session session = {.listener = listener,
                              .pool = pool,
                              .options = *options,
                              .native = {.kind = QS_SIZE_SHARE, .a = 1.0},
                              .sheet = sheet};
    enum qs_status status;

    session.options.sizes = &session.native;
    session.options.size_count = 1;
    session.options.filters = NULL;
    session.options.filter_count = 0;
    session.options.signals = true;
    status = look_at_all(&session, frames, count, err);
    if (status == QS_OK && session.count > 0) {
        qsort(session.members, (size_t)session.count, sizeof *session.members,
              compare_members);
        status = run_groups(&session, err);
    }
    if (status == QS_OK)
        status = qs_sheet_finish(sheet, err);
    qs_free(session.members);
    return status;
}
