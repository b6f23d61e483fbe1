/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/writer.h"

#include <assert.h>

#include "base/memory.h"
#include "image/picture_format.h"
#include "image/png_write.h"
#include "image/tiff_write.h"

#define STRIP_BYTES ((size_t)1 << 20)
#define LOWEST_PPI 1.0
#define HIGHEST_PPI 100000.0

#ifdef QS_HAVE_ZSTD
#define HAS_ZSTD true
#else
#define HAS_ZSTD false
#endif

/* 1 and 5: TIFF 6.0, sections 8 and 13; 8: Adobe's TIFF notes of 2002; 50000: libtiff.
 */
static const struct qs_compression_kind compressions[QS_COMPRESSIONS] = {
    [QS_COMPRESS_NONE] = {"none", 1, true, true},
    [QS_COMPRESS_DEFLATE] = {"deflate", 8, true, true},
    [QS_COMPRESS_LZW] = {"lzw", 5, false, true},
    [QS_COMPRESS_ZSTD] = {"zstd", 50000, false, HAS_ZSTD},
};

static const struct qs_picture_format *const formats[] = {
    [QS_FILE_TIFF] = &qs_tiff_format,
    [QS_FILE_PNG] = &qs_png_format,
};

struct qs_writer {
    const struct qs_picture_format *format;
    void *state;
    enum qs_compression compression;
    size_t width;
    size_t samples;
    int bits;
    int height;
    int strip_rows;
    int strips;
    int next; /* strip to be put */
};

const struct qs_compression_kind *
qs_compression_kind(enum qs_compression compression)
{
    assert((int)compression >= 0 && compression < QS_COMPRESSIONS);
    return &compressions[compression];
}

static void
check_plan(const struct qs_picture_plan *plan)
{
    assert(plan->width >= 1 && plan->width <= QS_WRITER_LONGEST_SIDE);
    assert(plan->height >= 1 && plan->height <= QS_WRITER_LONGEST_SIDE);
    assert(plan->channels == 1 || plan->channels == 3);
    assert(plan->bits == 8 || plan->bits == 16);
    assert(plan->format == QS_FILE_TIFF || plan->format == QS_FILE_PNG);
    assert(plan->format == QS_FILE_TIFF || plan->alpha <= QS_ALPHA_STRAIGHT);
    assert(plan->orientation >= 1 && plan->orientation <= 8);
    (void)plan;
}

static enum qs_status
check_supported(const struct qs_picture_plan *plan, struct qs_error *err)
{
    const struct qs_compression_kind *kind = qs_compression_kind(plan->compression);

    if (plan->format == QS_FILE_PNG && !kind->in_png)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "A PNG can't be compressed by %s; choose deflate, or write a "
                       "TIFF.",
                       kind->key);
    if (!kind->built)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This build can't write %s; choose deflate, or build again "
                       "where lib%s is installed.",
                       kind->key, kind->key);
    if (!(plan->ppi == 0.0 || (plan->ppi >= LOWEST_PPI && plan->ppi <= HIGHEST_PPI)))
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "%g pixels per inch can't be written; give %.0f to %.0f.",
                       plan->ppi, LOWEST_PPI, HIGHEST_PPI);
    if (plan->icc_size > INT32_MAX)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "The colour profile is larger than a file can hold; choose "
                       "another one.");
    return QS_OK;
}

static int
choose_strip_rows(size_t row_bytes, int height)
{
    int rows = QS_WRITER_MOST_ROWS;

    while (rows > QS_WRITER_FEWEST_ROWS && (size_t)rows * row_bytes > STRIP_BYTES)
        rows--;
    return rows < height ? rows : height;
}

static void
lay_out(struct qs_writer *writer, const struct qs_picture_plan *plan)
{
    writer->format = formats[plan->format];
    writer->compression = plan->compression;
    writer->width = (size_t)plan->width;
    writer->samples = (size_t)plan->channels + (plan->alpha != QS_ALPHA_NONE ? 1 : 0);
    writer->bits = plan->bits;
    writer->height = plan->height;
    writer->strip_rows = choose_strip_rows(
        writer->width * writer->samples * (size_t)(plan->bits / 8), plan->height);
    if (plan->most_rows > 0 && writer->strip_rows > plan->most_rows)
        writer->strip_rows = plan->most_rows;
    writer->strips = (plan->height - 1) / writer->strip_rows + 1;
}

enum qs_status
qs_writer_open(const char *path, const struct qs_picture_plan *plan,
               struct qs_writer **out, struct qs_error *err)
{
    struct qs_writer *writer;
    enum qs_status status;

    check_plan(plan);
    *out = NULL;
    status = check_supported(plan, err);
    if (status != QS_OK)
        return status;
    writer = qs_alloc(1, sizeof *writer);
    if (writer == NULL)
        return qs_fail_memory(err);
    lay_out(writer, plan);
    status = writer->format->open(path, plan, writer->strip_rows, &writer->state, err);
    if (status != QS_OK) {
        qs_free(writer);
        return status;
    }
    *out = writer;
    return QS_OK;
}

int
qs_writer_strip_rows(const struct qs_writer *writer)
{
    return writer->strip_rows;
}

int
qs_writer_strips(const struct qs_writer *writer)
{
    return writer->strips;
}

enum qs_status
qs_writer_pack(const struct qs_writer *writer, int index, const void *codes, int rows,
               struct qs_packed *out, struct qs_error *err)
{
    const struct qs_strip strip = {codes, (size_t)rows, writer->width, writer->samples,
                                   writer->bits};
    bool is_last = index == writer->strips - 1;
    enum qs_status status;

    assert(index >= 0 && index < writer->strips);
    assert(rows == (is_last ? writer->height - index * writer->strip_rows
                            : writer->strip_rows));
    *out = (struct qs_packed){.index = index};
    status = writer->format->pack(&strip, writer->compression, index == 0, is_last, out,
                                  err);
    if (status == QS_OK && out->bytes == NULL)
        out->bytes = out->owned;
    return status;
}

enum qs_status
qs_writer_put(struct qs_writer *writer, const struct qs_packed *packed,
              struct qs_error *err)
{
    enum qs_status status;

    assert(packed->index == writer->next && packed->bytes != NULL);
    status = writer->format->put(writer->state, packed, err);
    if (status == QS_OK)
        writer->next++;
    return status;
}

void
qs_packed_clear(struct qs_packed *packed)
{
    qs_free(packed->owned);
    *packed = (struct qs_packed){0};
}

enum qs_status
qs_writer_close(struct qs_writer *writer, const char *seal, struct qs_error *err)
{
    enum qs_status status;

    assert(writer->next == writer->strips);
    status = writer->format->finish(writer->state, seal, err);
    qs_writer_drop(writer);
    return status;
}

void
qs_writer_drop(struct qs_writer *writer)
{
    if (writer == NULL)
        return;
    writer->format->free(writer->state);
    qs_free(writer);
}
