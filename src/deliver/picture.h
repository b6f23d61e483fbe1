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
    double ppi;   /* 0 = the size's own, or else the source's */
    bool upright; /* turned as the orientation tag says; sizes are of what is upright */
};

struct qs_picture_sides {
    struct qs_box crop; /* the part of the stored picture that is delivered */
    int width;          /* of the delivery, lying as the source does, */
    int height;
    int final_width; /*   and as it is written */
    int final_height;
};

/* What came of it. */
struct qs_picture_done {
    struct qs_picture_sides sides;
    enum qs_encoding_from encoding_from;
    double ppi; /* 0 = not said */
    bool has_profile;
    bool made_profile;   /* from what a PNG said of its colour */
    enum qs_alpha alpha; /* as written */
    bool turned;         /* upright, from another orientation */
    int orientation;     /* as written */
    size_t tags;         /* carried, of all directories; but for the two below */
    size_t lost_tags;    /* that could not be read */
    size_t unread;       /* packets carried as they are, too damaged to be made true */
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
                 struct qs_picture_sides *out, struct qs_error *err);

/*
 * Delivers `image`, from its first row on, to the file `path`, which is created or
 * emptied.  The image was opened with its alpha.  The file ends with a fingerprint of
 * source and order, and is on the disk when this returns.
 *
 *   QS_OK       *done is filled
 *   otherwise   a file of no use may be there; statuses of qs_picture_sides,
 *               qs_linear_new, qs_image_read and the qs_writer calls
 */
QS_MUST_CHECK enum qs_status
qs_picture_deliver(struct qs_image *image, const struct qs_picture_order *order,
                   const char *path, struct qs_pool *pool,
                   void (*progress)(void *context, double share), void *context,
                   struct qs_picture_done *done, struct qs_error *err);

/* What is at `path`, where a delivery is to go. */
enum qs_picture_found {
    QS_FOUND_NOTHING,
    QS_FOUND_SAME,    /* this very delivery, whole */
    QS_FOUND_EARLIER, /* a delivery, of another picture or another order */
    QS_FOUND_OTHER    /* something that is no delivery, or was changed since */
};

/*
 * Looks whether the file `path` is what qs_picture_deliver would make.  Reads all of
 * the image where there is a delivery; statuses as of qs_picture_deliver.
 */
QS_MUST_CHECK enum qs_status
qs_picture_find(struct qs_image *image, const struct qs_picture_order *order,
                const char *path, enum qs_picture_found *found, struct qs_error *err);

#endif
