/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame_write.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "frame_make.h"

typedef enum qs_status
writer(const struct gr_writing *, const char *, struct qs_error *);

static writer *
writer_of(const char *path)
{
    static const struct {
        const char *ending;
        writer *write;
    } kinds[] = {
        {".tif", gr_write_tiff}, {".tiff", gr_write_tiff}, {".png", gr_write_png}};
    const char *ending = strrchr(path, '.');

    for (size_t i = 0; ending != NULL && i < sizeof kinds / sizeof kinds[0]; i++)
        if (strcasecmp(ending, kinds[i].ending) == 0)
            return kinds[i].write;
    return NULL;
}

static enum qs_status
check_kind(const struct gr_recipe *recipe, const char *path, struct qs_error *err)
{
    writer *write = writer_of(path);

    if (write == NULL)
        return qs_fail(
            err, QS_ERR_USAGE,
            "The name of the frame does not say its kind; end it in .tif or .png.");
    if (write == gr_write_png && recipe->depth == GR_DEPTH_32F)
        return qs_fail(
            err, QS_ERR_USAGE,
            "PNG cannot hold 32-bit floats; write a .tif, or use --depth 16.");
    return QS_OK;
}

/* Writes beside the target and renames, so that nobody ever sees half a file. */
static enum qs_status
write_beside(const struct gr_writing *w, const char *path, struct qs_error *err)
{
    size_t room = strlen(path) + sizeof ".part";
    char *part = qs_alloc(room, 1);
    enum qs_status status;

    if (part == NULL)
        return qs_fail_memory(err);
    snprintf(part, room, "%s.part", path);
    status = writer_of(path)(w, part, err);
    if (status == QS_OK && rename(part, path) != 0)
        status = qs_fail(err, QS_ERR_WRITE, "The frame could not be given its name.");
    if (status != QS_OK)
        remove(part);
    qs_free(part);
    return status;
}

enum qs_status
gr_frame_write(const struct gr_recipe *recipe, const struct gr_picture *picture,
               struct qs_pool *pool, const char *path, struct qs_error *err)
{
    struct gr_profile profile = {NULL, 0};
    struct gr_encoder encoder;
    struct gr_writing writing = {recipe, picture, &encoder, &profile, pool};
    enum qs_status status = check_kind(recipe, path, err);

    if (status != QS_OK)
        return status;
    status = gr_encoder_init(recipe, &encoder, err);
    if (status != QS_OK)
        return status;
    status = gr_profile_make(recipe->space, picture->channels, &profile, err);
    if (status == QS_OK)
        status = write_beside(&writing, path, err);
    qs_free(profile.bytes);
    gr_encoder_clear(&encoder);
    return status;
}

enum qs_status
gr_frame_to_file(const struct gr_recipe *recipe, struct qs_pool *pool, const char *path,
                 struct qs_error *err)
{
    struct gr_picture picture;
    enum qs_status status = check_kind(recipe, path, err);

    if (status == QS_OK)
        status = gr_recipe_check(recipe, err);
    if (status != QS_OK)
        return status;
    status = gr_frame_make(recipe, pool, &picture, err);
    if (status != QS_OK)
        return status;
    status = gr_frame_write(recipe, &picture, pool, path, err);
    qs_free(picture.px);
    return status;
}
