/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * picture.h - one picture delivered at one size, into one file
 *
 * Cropped, shrunk in linear light, encoded as it was and written with what its source
 * says: profile, EXIF, XMP, IPTC.  Tags that would be untrue at the new size are made
 * true.
 *
 * Units: pixels.
 * Threads: uses those of the pool it is given.
 * Method: docs/method/deliver.md.
 */
#ifndef QS_DELIVER_PICTURE_H
#define QS_DELIVER_PICTURE_H

#include <stdbool.h>

#include "base/pool.h"
#include "base/status.h"
#include "image/image.h"
#include "image/writer.h"
#include "linear/linear.h"
#include "resample/filter.h"
#include "resample/size.h"

struct qs_picture_order {
    struct qs_size size;
    struct qs_shape_ratio crop; /* taken, centred, before the size */
    enum qs_filter filter;
    const struct qs_encoding_choice *encoding; /* NULL = as the file says */
    int bits;                                  /* 8 or 16 */
    enum qs_file_format format;
    enum qs_compression compression;
    double ppi; /* 0 = the size's own, or else the source's */
};

/* What came of it. */
struct qs_picture_done {
    int width;
    int height;
    double ppi; /* 0 = not said */
    bool has_profile;
    size_t exif_tags; /* carried, GPS and interoperability counted */
    size_t lost_tags; /* that could not be read */
    bool has_xmp;
    bool has_iptc;
};

/*
 * The delivery's sides and the part of the picture it is made of.
 *
 *   QS_OK
 *   QS_ERR_RANGE   the size is above the picture's own
 */
QS_MUST_CHECK enum qs_status
qs_picture_sides(const struct qs_picture_order *order, const struct qs_image_info *info,
                 struct qs_box *crop, int *width, int *height, struct qs_error *err);

/*
 * Delivers `image`, from its first row on, to the file `path`, which is created or
 * emptied.
 *
 *   QS_OK       *done is filled
 *   otherwise   a file of no use may be there; statuses of qs_picture_sides,
 *               qs_linear_new, qs_image_read and the qs_writer calls, and
 *               QS_ERR_UNSUPPORTED for what can't be delivered yet
 */
QS_MUST_CHECK enum qs_status
qs_picture_deliver(struct qs_image *image, const struct qs_picture_order *order,
                   const char *path, struct qs_pool *pool,
                   void (*progress)(void *context, double share), void *context,
                   struct qs_picture_done *done, struct qs_error *err);

#endif
