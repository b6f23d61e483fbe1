/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * driver.c - one patch of raw float pixels, measured and shrunk, figures as plain text
 *
 *   qs_driver FILE WIDTH HEIGHT  X Y W H  FILTER OUT_WIDTH OUT_HEIGHT  OUT_FILE
 *
 * For spectra.py, which works the same figures out with numpy and scipy.  FILE holds
 * WIDTH x HEIGHT floats of this machine's byte order; X Y W H is the patch.  The whole
 * frame, shrunk, goes to OUT_FILE.  Not installed.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "fall/fall.h"
#include "resample/shrink.h"

struct job {
    struct qs_plane frame;
    struct qs_box box;
    enum qs_filter filter;
    int out_width, out_height;
    const char *out_file;
};

static int
fail(const char *what)
{
    fprintf(stderr, "qs_driver: %s\n", what);
    return EXIT_FAILURE;
}

static int
whole(const char *text)
{
    long value = strtol(text, NULL, 10);

    return value < 0 || value > 100000 ? 0 : (int)value;
}

static float *
read_floats(const char *name, size_t count)
{
    FILE *file = fopen(name, "rb");
    float *px = file == NULL ? NULL : qs_alloc(count, sizeof *px);
    size_t got = px == NULL ? 0 : fread(px, sizeof *px, count, file);

    if (file != NULL)
        (void)fclose(file);
    if (got == count)
        return px;
    qs_free(px);
    return NULL;
}

static enum qs_status
write_whole(const struct job *job, const struct qs_reduction *reduction,
            struct qs_error *err)
{
    struct qs_box box = {0, 0, job->out_width, job->out_height};
    size_t count = (size_t)box.width * (size_t)box.height;
    struct qs_plane out = {qs_alloc(count, sizeof(float)), box.width, box.height,
                           box.width};
    enum qs_status status;
    FILE *file;

    if (out.px == NULL)
        return qs_fail_memory(err);
    status = qs_shrink(&job->frame, 0, 0, &reduction->across, &reduction->down, box,
                       &out, err);
    file = fopen(job->out_file, "wb");
    if (file == NULL || fwrite(out.px, sizeof(float), count, file) != count)
        status = qs_fail(err, QS_ERR_WRITE, "The shrunk frame could not be written.");
    if (file != NULL && fclose(file) != 0)
        status = qs_fail(err, QS_ERR_WRITE, "The shrunk frame could not be written.");
    qs_free(out.px);
    return status;
}

static void
print_noise(const struct qs_noise *noise, const struct qs_noise_shape *shape)
{
    printf("mean %.17g\nsd %.17g\nsd_low %.17g\nsd_high %.17g\nfreedom %.17g\n",
           noise->mean, noise->sd, noise->sd_low, noise->sd_high, noise->freedom);
    printf("row_sd %.17g\ncolumn_sd %.17g\ngrain_px %.17g\n", noise->row_sd,
           noise->column_sd, noise->has_grain ? noise->grain_px : 0.0);
    printf("removed %.17g\nremoved_square %.17g\n", shape->removed,
           shape->removed_square);
}

static void
print_fall(const struct qs_fall_value *fall, struct qs_box box)
{
    printf("sd_predicted %.17g\nsd_measured %.17g\n",
           fall->has_predicted ? fall->sd_predicted : 0.0,
           fall->has_measured ? fall->sd_measured : 0.0);
    printf("out_x %d\nout_y %d\nout_width %d\nout_height %d\n", box.x, box.y, box.width,
           box.height);
}

/* Measures the patch, its kernels free to see the whole frame. */
static enum qs_status
measure(const struct job *job, const struct qs_reduction *reduction,
        struct qs_error *err)
{
    struct qs_patch_view view = {
        .plane = job->frame,
        .box = job->box,
        .reach = {0, 0, job->frame.width, job->frame.height},
    };
    struct qs_plane patch = qs_plane_part(&job->frame, job->box);
    struct qs_box box = qs_fall_pixels(reduction, &view);
    struct qs_plane out = {NULL, box.width, box.height, box.width};
    struct qs_fall_value fall;
    struct qs_noise_shape shape;
    struct qs_noise noise;
    enum qs_status status =
        qs_noise_measure(&patch, job->box.x, job->box.y, reduction->across.taps - 1,
                         reduction->down.taps - 1, &noise, &shape, err);

    if (status != QS_OK)
        return status;
    out.px = qs_alloc((size_t)box.width * (size_t)box.height, sizeof(float));
    status = out.px == NULL ? qs_fail_memory(err)
                            : qs_shrink(&job->frame, 0, 0, &reduction->across,
                                        &reduction->down, box, &out, err);
    if (status == QS_OK)
        status = qs_fall(reduction, &noise, &shape,
                         box.width >= QS_FALL_MIN_SIDE && box.height >= QS_FALL_MIN_SIDE
                             ? &out
                             : NULL,
                         &fall, err);
    if (status == QS_OK) {
        print_noise(&noise, &shape);
        print_fall(&fall, box);
    }
    qs_free(out.px);
    qs_noise_shape_clear(&shape);
    return status;
}

static enum qs_status
run(const struct job *job, struct qs_error *err)
{
    struct qs_box crop = {0, 0, job->frame.width, job->frame.height};
    struct qs_reduction reduction;
    enum qs_status status = qs_reduction_init(&reduction, job->filter, crop,
                                              job->out_width, job->out_height, err);

    if (status == QS_OK)
        status = write_whole(job, &reduction, err);
    if (status == QS_OK)
        status = measure(job, &reduction, err);
    qs_reduction_clear(&reduction);
    return status;
}

int
main(int argc, char **argv)
{
    struct qs_error err = {QS_OK, ""};
    struct job job;
    int filter;

    if (argc != 12 || (filter = qs_filter_find(argv[8])) < 0)
        return fail("FILE WIDTH HEIGHT X Y W H FILTER OUT_WIDTH OUT_HEIGHT OUT_FILE");
    job = (struct job){
        .frame = {NULL, whole(argv[2]), whole(argv[3]), whole(argv[2])},
        .box = {whole(argv[4]), whole(argv[5]), whole(argv[6]), whole(argv[7])},
        .filter = (enum qs_filter)filter,
        .out_width = whole(argv[9]),
        .out_height = whole(argv[10]),
        .out_file = argv[11],
    };
    if (!qs_box_within(job.box,
                       (struct qs_box){0, 0, job.frame.width, job.frame.height}) ||
        job.out_width < 1 || job.out_width > job.frame.width || job.out_height < 1 ||
        job.out_height > job.frame.height)
        return fail("a box or size lies outside the frame");
    job.frame.px =
        read_floats(argv[1], (size_t)job.frame.width * (size_t)job.frame.height);
    if (job.frame.px == NULL)
        return fail("the pixels can't be read");
    if (run(&job, &err) != QS_OK)
        return fail(err.text);
    qs_free(job.frame.px);
    return EXIT_SUCCESS;
}
