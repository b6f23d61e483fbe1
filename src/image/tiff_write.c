/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/tiff_write.h"

#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <tiffio.h>

#include "base/memory.h"
#include "image/out_file.h"
#include "image/tiff_handle.h"
#include "image/tiff_notes.h"

/* w: write; m: no mapping into memory; 4, 8: classic or BigTIFF. */
#define MODE_CLASSIC "wm4"
#define MODE_BIG "wm8"

/* What others add once the pixels are in: EXIF, maker notes, XMP, previews. */
#define LATER_BYTES ((uint64_t)64 << 20)

/* An offset and a count of 64 bits, and what closes a compressed strip. */
#define STRIP_BYTES ((uint64_t)(16 + 1024))

#define TAG_BYTES ((uint64_t)4096)

enum {
    PREDICTOR_LEFT = 2
};

/* The longest that each compression can make `bytes` of noise, as a share of it. */
static const struct growth {
    uint64_t of; /* one byte more for each so many, 0 = none */
} growths[QS_COMPRESSIONS] = {
    [QS_COMPRESS_NONE] = {0},
    [QS_COMPRESS_DEFLATE] =
        {1024},                 /* stored blocks; zlib's bound is 1/4096 + 1/16384 */
    [QS_COMPRESS_LZW] = {2},    /* 12 bits for each byte */
    [QS_COMPRESS_ZSTD] = {256}, /* zstd's own bound */
};

static _Atomic uint64_t classic_limit = QS_TIFF_CLASSIC_BYTES;

struct tiff_file {
    struct qs_out_file file;
    TIFF *tiff; /* NULL = not open */
    enum qs_compression compression;
    const struct qs_notes *notes; /* the caller's; NULL = none */
};

void
qs_tiff_set_classic_limit(uint64_t bytes)
{
    atomic_store(&classic_limit, bytes);
}

uint64_t
qs_tiff_most_bytes(const struct qs_picture_plan *plan, int strip_rows)
{
    uint64_t samples =
        (uint64_t)(plan->channels + (plan->alpha != QS_ALPHA_NONE ? 1 : 0));
    uint64_t pixels = (uint64_t)plan->width * (uint64_t)plan->height;
    uint64_t plain = pixels * samples * (uint64_t)(plan->bits / 8);
    uint64_t strips = ((uint64_t)plan->height - 1) / (uint64_t)strip_rows + 1;
    uint64_t of = growths[plan->compression].of;

    return plain + (of > 0 ? plain / of + 1 : 0) + strips * STRIP_BYTES +
           plan->icc_size + TAG_BYTES + LATER_BYTES;
}

/* ---- libtiff's way to the file; `handle` is a struct qs_out_file ---- */

static tmsize_t
write_bytes(thandle_t handle, void *bytes, tmsize_t size)
{
    return qs_out_write(handle, bytes, (size_t)size) ? size : -1;
}

/* libtiff asks for a reader, and does not use it for a file with one directory. */
static tmsize_t
read_bytes(thandle_t handle, void *into, tmsize_t size)
{
    return (tmsize_t)qs_out_read(handle, into, (size_t)size);
}

static toff_t
seek(thandle_t handle, toff_t offset, int whence)
{
    uint64_t position;

    if (whence == SEEK_CUR || offset > INT64_MAX ||
        !qs_out_seek(handle, (int64_t)offset, whence == SEEK_END, &position))
        return (toff_t)-1;
    return position;
}

/* The file is closed by its owner, who wants to know how that went. */
static int
close_nothing(thandle_t handle)
{
    (void)handle;
    return 0;
}

static toff_t
file_size(thandle_t handle)
{
    const struct qs_out_file *file = handle;
    struct stat about;

    return fstat(file->descriptor, &about) == 0 ? (toff_t)about.st_size : 0;
}

static const struct qs_tiff_calls calls = {read_bytes, write_bytes, seek, close_nothing,
                                           file_size};

/* ---- the directory ---- */

static bool
set_samples(TIFF *tiff, const struct qs_picture_plan *plan)
{
    static const uint16_t extra_kinds[] = {
        [QS_ALPHA_STRAIGHT] = EXTRASAMPLE_UNASSALPHA,
        [QS_ALPHA_MULTIPLIED] = EXTRASAMPLE_ASSOCALPHA,
        [QS_ALPHA_MASK] = EXTRASAMPLE_UNSPECIFIED,
    };
    int samples = plan->channels + (plan->alpha != QS_ALPHA_NONE ? 1 : 0);
    int meaning = plan->channels == 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK;

    return TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, samples) == 1 &&
           TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, plan->bits) == 1 &&
           TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, SAMPLEFORMAT_UINT) == 1 &&
           TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) == 1 &&
           TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, meaning) == 1 &&
           (plan->alpha == QS_ALPHA_NONE ||
            TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &extra_kinds[plan->alpha]) ==
                1);
}

static bool
set_layout(TIFF *tiff, const struct qs_picture_plan *plan, int strip_rows)
{
    int tag = qs_compression_kind(plan->compression)->tiff_tag;

    return TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, plan->width) == 1 &&
           TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, plan->height) == 1 &&
           TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, strip_rows) == 1 &&
           TIFFSetField(tiff, TIFFTAG_COMPRESSION, tag) == 1 &&
           (plan->compression == QS_COMPRESS_NONE ||
            TIFFSetField(tiff, TIFFTAG_PREDICTOR, PREDICTOR_LEFT) == 1);
}

static bool
set_notes(TIFF *tiff, const struct qs_picture_plan *plan)
{
    if (plan->ppi > 0.0 &&
        (TIFFSetField(tiff, TIFFTAG_XRESOLUTION, plan->ppi) != 1 ||
         TIFFSetField(tiff, TIFFTAG_YRESOLUTION, plan->ppi) != 1 ||
         TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH) != 1))
        return false;
    if (plan->icc != NULL && TIFFSetField(tiff, TIFFTAG_ICCPROFILE,
                                          (uint32_t)plan->icc_size, plan->icc) != 1)
        return false;
    return TIFFSetField(tiff, TIFFTAG_ORIENTATION, plan->orientation) == 1;
}

/* ---- what writer.c calls ---- */

/* libtiff writes what it still holds when it closes: not after a failure. */
static void
free_tiff(void *state)
{
    struct tiff_file *tiff = state;

    qs_out_mute(&tiff->file);
    if (tiff->tiff != NULL)
        TIFFClose(tiff->tiff);
    qs_out_close(&tiff->file);
    qs_free(tiff);
}

static enum qs_status
start(struct tiff_file *tiff, const char *path, const struct qs_picture_plan *plan,
      int strip_rows, struct qs_error *err)
{
    uint64_t most = qs_tiff_most_bytes(plan, strip_rows);
    enum qs_status status = qs_out_open(&tiff->file, path, err);

    if (status != QS_OK)
        return status;
    tiff->tiff = qs_tiff_open_through(
        path, most > atomic_load(&classic_limit) ? MODE_BIG : MODE_CLASSIC, &tiff->file,
        &calls);
    if (tiff->tiff == NULL || !set_layout(tiff->tiff, plan, strip_rows) ||
        !set_samples(tiff->tiff, plan) || !set_notes(tiff->tiff, plan))
        return qs_out_fail(&tiff->file, err);
    return QS_OK;
}

static enum qs_status
open_tiff(const char *path, const struct qs_picture_plan *plan, int strip_rows,
          void **state, struct qs_error *err)
{
    struct tiff_file *tiff;
    enum qs_status status;

    if (TIFFIsCODECConfigured(qs_compression_kind(plan->compression)->tiff_tag) != 1)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "The libtiff of this computer does not know %s; choose deflate.",
                       qs_compression_kind(plan->compression)->key);
    tiff = qs_alloc(1, sizeof *tiff);
    if (tiff == NULL)
        return qs_fail_memory(err);
    tiff->file.descriptor = -1;
    tiff->compression = plan->compression;
    tiff->notes = plan->notes;
    status = start(tiff, path, plan, strip_rows, err);
    if (status != QS_OK) {
        free_tiff(tiff);
        return status;
    }
    *state = tiff;
    return QS_OK;
}

static enum qs_status
squeeze(const uint8_t *bytes, size_t size, enum qs_compression compression,
        struct qs_packed *out, struct qs_error *err)
{
    if (compression == QS_COMPRESS_ZSTD)
        return qs_pack_zstd(bytes, size, &out->owned, &out->size, err);
    return qs_pack_deflate(bytes, size, QS_DEFLATE_WHOLE, false, &out->owned,
                           &out->size, err);
}

static enum qs_status
pack_tiff(const struct qs_strip *strip, enum qs_compression compression, bool is_first,
          bool is_last, struct qs_packed *out, struct qs_error *err)
{
    size_t size = strip->rows * qs_strip_row_bytes(strip);
    enum qs_status status;
    uint8_t *bytes;

    (void)is_first;
    (void)is_last;
    if (compression == QS_COMPRESS_NONE || compression == QS_COMPRESS_LZW) {
        out->bytes = strip->codes;
        out->size = size;
        return QS_OK;
    }
    bytes = qs_alloc(size, 1);
    if (bytes == NULL)
        return qs_fail_memory(err);
    qs_strip_difference(strip, bytes);
    status = squeeze(bytes, size, compression, out, err);
    qs_free(bytes);
    return status;
}

static enum qs_status
put_tiff(void *state, const struct qs_packed *packed, struct qs_error *err)
{
    struct tiff_file *tiff = state;
    uint32_t index = (uint32_t)packed->index;
    tmsize_t size = (tmsize_t)packed->size, written;

    if (tiff->compression == QS_COMPRESS_LZW)
        written = TIFFWriteEncodedStrip(tiff->tiff, index, (void *)packed->bytes, size);
    else
        written = TIFFWriteRawStrip(tiff->tiff, index, (void *)packed->bytes, size);
    return written == size ? QS_OK : qs_out_fail(&tiff->file, err);
}

static enum qs_status
finish_tiff(void *state, const char *seal, struct qs_error *err)
{
    struct tiff_file *tiff = state;
    enum qs_status status = QS_OK;
    uint64_t end;

    if (TIFFWriteDirectory(tiff->tiff) != 1)
        return qs_out_fail(&tiff->file, err);
    TIFFClose(tiff->tiff);
    tiff->tiff = NULL;
    if (tiff->file.reason == 0 && tiff->notes != NULL)
        status = qs_tiff_add_notes(&tiff->file, tiff->notes, err);
    if (status != QS_OK)
        return status;
    if (seal != NULL && qs_out_seek(&tiff->file, 0, true, &end))
        (void)qs_out_write(&tiff->file, seal, QS_SEAL_BYTES);
    return qs_out_finish(&tiff->file, err); /* what went wrong is kept */
}

const struct qs_picture_format qs_tiff_format = {open_tiff, pack_tiff, put_tiff,
                                                 finish_tiff, free_tiff};
