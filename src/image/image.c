/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/image.h"

#include <assert.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/memory.h"
#include "image/image_reader.h"
#include "image/png_read.h"
#include "image/tiff_read.h"

struct qs_image {
    const struct qs_image_reader *reader;
    void *state; /* the reader's */
    struct qs_image_info info;
    int next_row;
};

enum {
    LONGEST_MARK = 8
};

/* How files of a kind begin.  Without a reader: known, and refused by name. */
struct file_kind {
    const char *mark;
    size_t mark_bytes;
    const struct qs_image_reader *reader;
    const char *name;
};

static const struct file_kind file_kinds[] = {
    {"II*\0", 4, &qs_tiff_reader, "TIFF"},
    {"MM\0*", 4, &qs_tiff_reader, "TIFF"},
    {"II+\0", 4, &qs_tiff_reader, "BigTIFF"},
    {"MM\0+", 4, &qs_tiff_reader, "BigTIFF"},
    {"\x89PNG\r\n\x1a\n", 8, &qs_png_reader, "PNG"},
    {"\xff\xd8\xff", 3, NULL, "JPEG"},
    {"8BPS", 4, NULL, "layered (PSD)"},
    {"v/1\x01", 4, NULL, "OpenEXR"},
};

static enum qs_status
check_ordinary_file(const char *path, struct qs_error *err)
{
    struct stat about;

    if (stat(path, &about) != 0)
        return qs_fail(err, QS_ERR_OPEN,
                       "The file can't be opened (%s); check its name and place.",
                       strerror(errno));
    if (S_ISDIR(about.st_mode))
        return qs_fail(err, QS_ERR_OPEN,
                       "This is a folder, where a picture file was asked for.");
    /* A pipe would block at once, and neither format can be read without seeking. */
    if (!S_ISREG(about.st_mode))
        return qs_fail(
            err, QS_ERR_OPEN,
            "This is not an ordinary file; save the picture to a disk first.");
    return QS_OK;
}

static enum qs_status
read_mark(const char *path, char mark[LONGEST_MARK], size_t *got, struct qs_error *err)
{
    enum qs_status status = check_ordinary_file(path, err);
    FILE *file;

    if (status != QS_OK)
        return status;
    file = fopen(path, "rb");
    if (file == NULL)
        return qs_fail(err, QS_ERR_OPEN,
                       "The file can't be opened (%s); check its name and permissions.",
                       strerror(errno));
    *got = fread(mark, 1, LONGEST_MARK, file);
    (void)fclose(file);
    return QS_OK;
}

static const struct file_kind *
kind_of(const char mark[LONGEST_MARK], size_t bytes)
{
    for (size_t i = 0; i < sizeof file_kinds / sizeof file_kinds[0]; i++) {
        const struct file_kind *kind = &file_kinds[i];

        if (bytes >= kind->mark_bytes &&
            memcmp(mark, kind->mark, kind->mark_bytes) == 0)
            return kind;
    }
    return NULL;
}

static enum qs_status
find_reader(const char *path, const struct qs_image_reader **reader,
            struct qs_error *err)
{
    char mark[LONGEST_MARK];
    size_t got = 0;
    const struct file_kind *kind;
    enum qs_status status = read_mark(path, mark, &got, err);

    if (status != QS_OK)
        return status;
    kind = kind_of(mark, got);
    if (kind == NULL)
        return qs_fail(err, QS_ERR_READ,
                       "This is neither a TIFF nor a PNG file, or its beginning is "
                       "damaged; export the picture as 16-bit TIFF.");
    if (kind->reader == NULL)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This is a %s file, and only TIFF and PNG are read; export the "
                       "picture as 16-bit TIFF.",
                       kind->name);
    *reader = kind->reader;
    return QS_OK;
}

static enum qs_status
open_image(const char *path, bool with_alpha, struct qs_image **out,
           struct qs_error *err)
{
    struct qs_image *image;
    const struct qs_image_reader *reader = NULL;
    enum qs_status status;

    *out = NULL;
    status = find_reader(path, &reader, err);
    if (status != QS_OK)
        return status;
    image = qs_alloc(1, sizeof *image);
    if (image == NULL)
        return qs_fail_memory(err);
    image->reader = reader;
    image->info.is_png = reader == &qs_png_reader;
    image->info.shot.orientation = 1;
    status = reader->open(path, with_alpha, &image->info, &image->state, err);
    if (status != QS_OK) {
        qs_free(image);
        return status;
    }
    *out = image;
    return QS_OK;
}

enum qs_status
qs_image_open(const char *path, struct qs_image **out, struct qs_error *err)
{
    return open_image(path, false, out, err);
}

enum qs_status
qs_image_open_with_alpha(const char *path, struct qs_image **out, struct qs_error *err)
{
    return open_image(path, true, out, err);
}

void
qs_image_close(struct qs_image *image)
{
    if (image == NULL)
        return;
    image->reader->close(image->state);
    qs_free(image);
}

const struct qs_image_info *
qs_image_info(const struct qs_image *image)
{
    return &image->info;
}

enum qs_status
qs_image_notes(struct qs_image *image, struct qs_notes *out, struct qs_error *err)
{
    *out = (struct qs_notes){0};
    return image->reader->notes != NULL ? image->reader->notes(image->state, out, err)
                                        : QS_OK;
}

size_t
qs_sample_bytes(enum qs_sample sample)
{
    static const size_t bytes[] = {
        [QS_SAMPLE_U8] = 1,  [QS_SAMPLE_U16] = 2, [QS_SAMPLE_U32] = 4,
        [QS_SAMPLE_F32] = 4, [QS_SAMPLE_F64] = 8,
    };

    return bytes[sample];
}

int
qs_image_samples(const struct qs_image_info *info)
{
    return info->channels + (info->alpha != QS_ALPHA_NONE ? 1 : 0);
}

size_t
qs_image_row_bytes(const struct qs_image *image)
{
    return (size_t)image->info.width * (size_t)qs_image_samples(&image->info) *
           qs_sample_bytes(image->info.sample);
}

enum qs_status
qs_image_read(struct qs_image *image, int rows, void *into, struct qs_error *err)
{
    enum qs_status status;

    assert(rows >= 0 && rows <= image->info.height - image->next_row);
    status = image->reader->read(image->state, image->next_row, rows, into, err);
    if (status == QS_OK)
        image->next_row += rows;
    return status;
}

bool
qs_image_has_windows(const struct qs_image *image)
{
    return image->reader->has_windows != NULL &&
           image->reader->has_windows(image->state);
}

enum qs_status
qs_image_window(const struct qs_image *image, struct qs_box box, void *into,
                struct qs_error *err)
{
    assert(qs_image_has_windows(image));
    assert(qs_box_within(box,
                         (struct qs_box){0, 0, image->info.width, image->info.height}));
    return image->reader->window(image->state, box, into, err);
}

enum qs_status
qs_image_skip(struct qs_image *image, int rows, struct qs_error *err)
{
    (void)err; /* nothing is decoded before the next read */
    assert(rows >= 0 && rows <= image->info.height - image->next_row);
    image->next_row += rows;
    return QS_OK;
}

enum qs_status
qs_image_rewind(struct qs_image *image, struct qs_error *err)
{
    (void)err; /* the next read starts over */
    image->next_row = 0;
    return QS_OK;
}
