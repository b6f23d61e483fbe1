/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tiff_kind.h - which TIFF pictures are taken, and how their samples are stored
 *
 * Private to the tiff_*.c files.
 */
#ifndef QS_IMAGE_TIFF_KIND_H
#define QS_IMAGE_TIFF_KIND_H

#include <stdbool.h>
#include <stddef.h>
#include <tiffio.h>

#include "image/image_reader.h"

struct qs_tiff_kind {
    bool wants_alpha; /* one extra sample is to be kept, if there is one */
    int width;
    int height;
    int samples;  /* of a pixel as stored, extra ones counted */
    int channels; /* of colour: the first 1 or 3 samples */
    int kept;     /* samples handed out: of colour, and alpha where there is any */
    int alpha_at; /* place of alpha among the stored samples */
    enum qs_alpha alpha;
    int bits; /* of a sample as stored: 8, 16, 32, 64 */
    enum qs_sample sample;
    bool is_float;
    bool is_half;       /* 16-bit floats, handed out as 32-bit ones */
    bool min_is_white;  /* codes are to be turned over */
    bool planes;        /* each sample in a plane of its own */
    bool tiled;         /* else strips */
    bool plain;         /* uncompressed, and no bits to be reversed */
    bool lossy;         /* JPEG */
    bool had_alpha;     /* extra samples left aside, of which one is alpha */
    bool had_extra;     /* extra samples left aside, of other kinds */
    int rows_per_strip; /* 1 to height; strips only */
    int tile_width;     /* pixels; tiles only */
    int tile_height;    /* rows; tiles only */
    size_t pixel_bytes; /* kept samples as stored */
    size_t line_bytes;  /* one row of a strip as decoded: all samples, or one plane's */
    size_t tile_bytes;  /* one tile as decoded, likewise */
};

/*
 * Fills *kind from the current page; `with_alpha`: one extra sample is kept.
 *
 *   QS_ERR_UNSUPPORTED  a sentence says what to export instead
 *   QS_ERR_READ         the page contradicts itself
 */
QS_MUST_CHECK enum qs_status
qs_tiff_understand(TIFF *tiff, bool with_alpha, struct qs_tiff_kind *kind,
                   struct qs_error *err);

#endif
