/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/deliver_trial.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/write_reason.h"
#include "cli/clock.h"

enum {
    BAND_ROWS = 400, /* of the source */
    PATH_BYTES = 4096
};

/* An order of the same kind for a band that is shrunk as much. */
static struct qs_picture_order
band_order(const struct qs_picture_order *order, const struct qs_picture_sides *sides)
{
    struct qs_picture_order band = *order;
    const int rows = sides->crop.height < BAND_ROWS ? sides->crop.height : BAND_ROWS;

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
             struct qs_pool *pool, struct qs_picture_done *done, uint64_t *bytes,
             struct qs_error *err)
{
    const char *folder = getenv("TMPDIR");
    char path[PATH_BYTES];
    struct stat about;
    enum qs_status status;
    int file;

    (void)snprintf(path, sizeof path, "%s/quietsize-trial-XXXXXX",
                   folder != NULL && folder[0] != '\0' ? folder : "/tmp");
    file = mkstemp(path);
    if (file < 0)
        return qs_fail_write(err);
    status = qs_picture_deliver(image, order, path, pool, NULL, NULL, done, err);
    *bytes = fstat(file, &about) == 0 ? (uint64_t)about.st_size : 0;
    (void)close(file);
    (void)unlink(path);
    return status;
}

enum qs_status
qs_deliver_trial(const char *source, const struct qs_picture_order *order,
                 struct qs_pool *pool, uint64_t *bytes, double *seconds,
                 struct qs_error *err)
{
    struct qs_image *image = NULL;
    struct qs_picture_sides sides;
    struct qs_picture_done done;
    double started, share;
    enum qs_status status = qs_image_open_with_alpha(source, &image, err);

    if (status != QS_OK)
        return status;
    status = qs_picture_sides(order, qs_image_info(image), &sides, err);
    if (status == QS_OK) {
        const struct qs_picture_order band = band_order(order, &sides);

        started = qs_now_s();
        status = deliver_band(image, &band, pool, &done, bytes, err);
        *seconds = qs_now_s() - started;
    }
    if (status == QS_OK) {
        share = (double)sides.width * sides.height /
                ((double)done.sides.width * done.sides.height);
        *bytes = (uint64_t)((double)*bytes * share);
        *seconds *= share;
    }
    qs_image_close(image);
    return status;
}
