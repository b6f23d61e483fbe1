/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/deliver_trial.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/write_reason.h"
#include "cli/clock.h"

enum {
    FEW_ROWS = 128, /* of the source, in the smaller band */
    MANY_ROWS = 640,
    PATH_BYTES = 4096
};

/* What a band took. */
struct trial {
    double pixels; /* delivered */
    double bytes, seconds;
};

/* An order of the same kind for a band that is shrunk as much. */
static struct qs_picture_order
band_order(const struct qs_picture_order *order, const struct qs_picture_sides *sides,
           int most_rows)
{
    struct qs_picture_order band = *order;
    const int rows = sides->crop.height < most_rows ? sides->crop.height : most_rows;

    band.upright = false;
    band.crop = (struct qs_shape_ratio){sides->crop.width, rows};
    band.size = (struct qs_size){.kind = QS_SIZE_SHARE,
                                 .a = (double)sides->width / sides->crop.width,
                                 .ppi = order->size.ppi,
                                 .text = "trial"};
    return band;
}

static enum qs_status
deliver_band(struct qs_image *image, const struct qs_picture_order *order,
             struct qs_pool *pool, struct trial *out, struct qs_error *err)
{
    const char *folder = getenv("TMPDIR");
    char path[PATH_BYTES];
    struct qs_picture_done done;
    struct stat about;
    const double started = qs_now_s();
    enum qs_status status;
    int file;

    (void)snprintf(path, sizeof path, "%s/quietsize-trial-XXXXXX",
                   folder != NULL && folder[0] != '\0' ? folder : "/tmp");
    file = mkstemp(path);
    if (file < 0)
        return qs_fail_write(err);
    status = qs_picture_deliver(image, order, path, pool, NULL, NULL, &done, err);
    if (status == QS_OK && fstat(file, &about) == 0)
        *out = (struct trial){(double)done.sides.width * done.sides.height,
                              (double)about.st_size, qs_now_s() - started};
    (void)close(file);
    (void)unlink(path);
    return status;
}

static enum qs_status
try_band(const char *source, const struct qs_picture_order *order, int rows,
         struct qs_pool *pool, struct trial *out, double *pixels, struct qs_error *err)
{
    struct qs_image *image = NULL;
    struct qs_picture_sides sides;
    enum qs_status status = qs_image_open_with_alpha(source, &image, err);

    if (status == QS_OK)
        status = qs_picture_sides(order, qs_image_info(image), &sides, err);
    if (status == QS_OK) {
        const struct qs_picture_order band = band_order(order, &sides, rows);

        *pixels = (double)sides.width * sides.height;
        status = deliver_band(image, &band, pool, out, err);
    }
    qs_image_close(image);
    return status;
}

enum qs_status
qs_deliver_trial(const char *source, const struct qs_picture_order *order,
                 struct qs_pool *pool, uint64_t *bytes, double *seconds,
                 struct qs_error *err)
{
    struct trial few = {0.0, 0.0, 0.0}, many = few;
    double pixels = 0.0, more;
    enum qs_status status = try_band(source, order, FEW_ROWS, pool, &few, &pixels, err);

    if (status == QS_OK)
        status = try_band(source, order, MANY_ROWS, pool, &many, &pixels, err);
    if (status != QS_OK)
        return status;
    /* what lies between them goes on, beyond the larger one, for all other pixels */
    more = many.pixels > few.pixels
               ? (pixels - many.pixels) / (many.pixels - few.pixels)
               : 0.0;
    *bytes = (uint64_t)(many.bytes + more * (many.bytes - few.bytes));
    *seconds = many.seconds + more * fmax(many.seconds - few.seconds, 0.0);
    return QS_OK;
}
