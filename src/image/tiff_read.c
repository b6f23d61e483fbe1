/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/tiff_read.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "image/exif_shot.h"
#include "image/half_float.h"
#include "image/tiff_handle.h"
#include "image/tiff_kind.h"
#include "image/tiff_rows.h"

struct tiff_file {
    struct qs_tiff_rows rows;
    uint64_t directory;    /* offset of the page that is read */
    uint8_t *icc;          /* NULL = none */
    unsigned char *halves; /* one row of half floats; NULL for other kinds */
};

static const double inches_per_unit[] = {
    [RESUNIT_NONE] = 0.0,
    [RESUNIT_INCH] = 1.0,
    [RESUNIT_CENTIMETER] = 1.0 / 2.54,
};

static double
pixels_per_inch(TIFF *tiff)
{
    float per_unit = 0.0F;
    uint16_t unit = RESUNIT_NONE;
    double ppi;

    (void)TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &per_unit);
    (void)TIFFGetFieldDefaulted(tiff, TIFFTAG_RESOLUTIONUNIT, &unit);
    if (unit == RESUNIT_NONE || unit > RESUNIT_CENTIMETER)
        return 0.0;
    ppi = (double)per_unit / inches_per_unit[unit];
    return isfinite(ppi) && ppi > 0.0 ? ppi : 0.0;
}

static enum qs_status
copy_profile(TIFF *tiff, struct tiff_file *file, struct qs_colour_tags *colour,
             struct qs_error *err)
{
    uint32_t bytes = 0;
    void *profile = NULL;

    if (TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &bytes, &profile) == 0 || bytes == 0)
        return QS_OK;
    file->icc = qs_alloc(bytes, 1);
    if (file->icc == NULL)
        return qs_fail_memory(err);
    memcpy(file->icc, profile, bytes);
    colour->claim = QS_CLAIM_ICC;
    colour->icc = file->icc;
    colour->icc_size = bytes;
    return QS_OK;
}

static void
describe(const struct qs_tiff_kind *kind, struct qs_image_info *info)
{
    info->width = kind->width;
    info->height = kind->height;
    info->channels = kind->channels;
    info->alpha = kind->alpha;
    info->bits = kind->bits;
    info->is_float = kind->is_float;
    info->sample = kind->sample;
    info->had_alpha = kind->had_alpha;
    info->had_extra = kind->had_extra;
    info->lossy = kind->lossy;
}

/* All that is said of the current page, before its rows are read. */
static enum qs_status
read_about(TIFF *tiff, uint64_t directory, struct tiff_file *file,
           struct qs_image_info *info, struct qs_error *err)
{
    struct qs_exif_source source = {qs_tiff_read_at, tiff};

    info->ppi = pixels_per_inch(tiff);
    qs_exif_shot(source, directory, &info->shot);
    return copy_profile(tiff, file, &info->colour, err);
}

static enum qs_status
allocate_halves(struct tiff_file *file, struct qs_error *err)
{
    const struct qs_tiff_kind *kind = &file->rows.kind;

    if (!kind->is_half)
        return QS_OK;
    file->halves = qs_alloc((size_t)kind->width, kind->pixel_bytes);
    return file->halves != NULL ? QS_OK : qs_fail_memory(err);
}

/* Owns `tiff` from the start: whatever happens, file->rows will close it. */
static enum qs_status
open_rows(TIFF *tiff, const char *path, bool with_alpha, struct tiff_file *file,
          struct qs_image_info *info, struct qs_error *err)
{
    struct qs_tiff_kind kind;
    uint64_t directory = 0;
    enum qs_status status;

    file->rows.plane[0].tiff = tiff;
    status = qs_tiff_choose_page(tiff, &directory, &info->pages, err);
    if (status == QS_OK)
        status = qs_tiff_understand(tiff, with_alpha, &kind, err);
    if (status != QS_OK)
        return status;
    describe(&kind, info);
    file->directory = directory;
    status = read_about(tiff, directory, file, info, err);
    if (status == QS_OK)
        status = qs_tiff_rows_init(&file->rows, tiff, path, directory, &kind, err);
    return status == QS_OK ? allocate_halves(file, err) : status;
}

/* A page that says nothing of the exposure leaves that to the first one. */
static enum qs_status
notes_of_first(const struct qs_exif_stream *stream, struct qs_notes *out,
               struct qs_error *err)
{
    struct qs_notes first;
    enum qs_status status = qs_notes_read(stream, stream->first_directory, &first, err);

    if (status != QS_OK)
        return status;
    for (int place = QS_NOTES_EXIF; place < QS_NOTE_PLACES; place++) {
        struct qs_note_list swapped = out->at[place];

        out->at[place] = first.at[place];
        first.at[place] = swapped;
    }
    qs_notes_free(&first);
    return QS_OK;
}

static enum qs_status
read_notes(void *state, struct qs_notes *out, struct qs_error *err)
{
    struct tiff_file *file = state;
    struct qs_exif_source source = {qs_tiff_read_at, file->rows.plane[0].tiff};
    struct qs_exif_stream stream;
    enum qs_status status;

    if (!qs_exif_start(&stream, source))
        return QS_OK;
    status = qs_notes_read(&stream, file->directory, out, err);
    if (status != QS_OK || file->directory == stream.first_directory ||
        out->at[QS_NOTES_EXIF].count > 0)
        return status;
    status = notes_of_first(&stream, out, err);
    if (status != QS_OK)
        qs_notes_free(out);
    return status;
}

static void
close_tiff(void *state)
{
    struct tiff_file *file = state;

    qs_tiff_rows_clear(&file->rows);
    qs_free(file->icc);
    qs_free(file->halves);
    qs_free(file);
}

static enum qs_status
open_tiff(const char *path, bool with_alpha, struct qs_image_info *info, void **state,
          struct qs_error *err)
{
    struct tiff_file *file = qs_alloc(1, sizeof *file);
    enum qs_status status;
    TIFF *tiff;

    if (file == NULL)
        return qs_fail_memory(err);
    tiff = qs_tiff_open(path);
    if (tiff == NULL) {
        qs_free(file);
        return qs_fail(
            err, QS_ERR_READ,
            "The TIFF's description of its picture can't be read: the file is "
            "damaged or was not copied whole; copy or export it again.");
    }
    status = open_rows(tiff, path, with_alpha, file, info, err);
    if (status != QS_OK) {
        close_tiff(file);
        return status;
    }
    *state = file;
    return QS_OK;
}

static void
widen_halves(const unsigned char *halves, float *into, size_t samples)
{
    for (size_t i = 0; i < samples; i++) {
        uint16_t half;

        memcpy(&half, halves + 2 * i, sizeof half);
        into[i] = qs_half_to_float(half);
    }
}

/* Min-is-white: the darkest code becomes the lowest.  Exact, but for floats. */
static void
turn_over(enum qs_sample sample, void *row, size_t samples)
{
    switch (sample) {
    case QS_SAMPLE_U8:
    case QS_SAMPLE_U16:
    case QS_SAMPLE_U32: { /* highest code - v is v with every bit flipped */
        unsigned char *bytes = row;

        for (size_t i = 0; i < samples * qs_sample_bytes(sample); i++)
            bytes[i] = (unsigned char)~bytes[i];
        break;
    }
    case QS_SAMPLE_F32:
        for (size_t i = 0; i < samples; i++)
            ((float *)row)[i] = 1.0F - ((float *)row)[i];
        break;
    case QS_SAMPLE_F64:
        for (size_t i = 0; i < samples; i++)
            ((double *)row)[i] = 1.0 - ((double *)row)[i];
        break;
    }
}

/* Of `count` pixels; alpha stays as it is. */
static void
turn_over_colours(const struct qs_tiff_kind *kind, unsigned char *row, size_t count)
{
    size_t bytes = qs_sample_bytes(kind->sample) * (size_t)kind->kept;

    if (kind->kept == kind->channels)
        turn_over(kind->sample, row, count * (size_t)kind->channels);
    else
        for (size_t i = 0; i < count; i++)
            turn_over(kind->sample, row + i * bytes, (size_t)kind->channels);
}

static enum qs_status
read_row(struct tiff_file *file, int row, unsigned char *into, struct qs_error *err)
{
    const struct qs_tiff_kind *kind = &file->rows.kind;
    size_t samples = (size_t)kind->width * (size_t)kind->kept;
    unsigned char *stored = kind->is_half ? file->halves : into;
    enum qs_status status = qs_tiff_row(&file->rows, row, stored, err);

    if (status != QS_OK)
        return status;
    if (kind->is_half)
        widen_halves(stored, (float *)(void *)into, samples);
    if (kind->min_is_white)
        turn_over_colours(kind, into, (size_t)kind->width);
    return QS_OK;
}

static bool
has_windows(const void *state)
{
    const struct tiff_file *file = state;

    return qs_tiff_is_open(&file->rows) && !file->rows.kind.is_half;
}

static enum qs_status
read_window(const void *state, struct qs_box box, void *into, struct qs_error *err)
{
    const struct tiff_file *file = state;
    const struct qs_tiff_kind *kind = &file->rows.kind;
    enum qs_status status = qs_tiff_window(&file->rows, box, into, err);

    if (status == QS_OK && kind->min_is_white)
        turn_over_colours(kind, into, (size_t)box.width * (size_t)box.height);
    return status;
}

static enum qs_status
read_tiff(void *state, int first, int rows, void *into, struct qs_error *err)
{
    struct tiff_file *file = state;
    const struct qs_tiff_kind *kind = &file->rows.kind;
    size_t row_bytes =
        (size_t)kind->width * (size_t)kind->kept * qs_sample_bytes(kind->sample);
    enum qs_status status = QS_OK;

    if (rows > 0 && has_windows(state))
        return read_window(state, (struct qs_box){0, first, kind->width, rows}, into,
                           err);
    for (int i = 0; i < rows && status == QS_OK; i++)
        status = read_row(file, first + i,
                          (unsigned char *)into + (size_t)i * row_bytes, err);
    return status;
}

const struct qs_image_reader qs_tiff_reader = {open_tiff,  read_tiff,   read_notes,
                                               close_tiff, has_windows, read_window};
