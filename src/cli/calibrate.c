/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/calibrate.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "base/plain_text.h"
#include "plan/exposure.h"
#include "plan/units.h"

/* Squared distance of a patch's middle from the frame's. */
static double
off_middle(const struct qs_frame *frame, struct qs_box box)
{
    double x = box.x + 0.5 * box.width - 0.5 * frame->width;
    double y = box.y + 0.5 * box.height - 0.5 * frame->height;

    return x * x + y * y;
}

static int
card_of(const struct qs_frame *frame, bool given)
{
    int best = 0;

    for (int p = 1; p < frame->patch_count && !given; p++)
        if (off_middle(frame, frame->patches[p].box) <
            off_middle(frame, frame->patches[best].box))
            best = p;
    return best;
}

static enum qs_status
calibrate_frame(const struct qs_frame *frame, bool given, double light_lx,
                double *stops, struct qs_error *err)
{
    const struct qs_exposure exposure = {.f_number = frame->shot.f_number,
                                         .exposure_s = frame->shot.exposure_s,
                                         .iso = frame->shot.iso,
                                         .light_lx = light_lx};

    if (frame->patch_count == 0)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "No flat patch was found in it; say where the grey card is with "
                       "--patch X,Y,W,H.");
    return qs_calibrate(&exposure, QS_METER_C, QS_GREY_REFLECTANCE,
                        frame->patches[card_of(frame, given)].channel[QS_Y].noise.mean,
                        stops, err);
}

static enum qs_status
fail_choice(const char *text, struct qs_error *err)
{
    return qs_fail(
        err, QS_ERR_USAGE,
        "--calibrate takes FRAME=LUX: a frame of an 18 %% grey card, and the "
        "light that fell on it, such as --calibrate card.tif=80lux; not "
        "\"%.40s\".",
        text);
}

/* At the last "=", since names may hold one. */
enum qs_status
qs_calibration_read(const char *text, struct qs_calibration_choice *choice,
                    struct qs_error *err)
{
    const char *sign = strrchr(text, '=');
    size_t length = sign != NULL ? (size_t)(sign - text) : 0;
    enum qs_status status;

    if (length == 0)
        return fail_choice(text, err);
    qs_calibration_clear(choice);
    choice->path = qs_alloc(length + 1, 1);
    if (choice->path == NULL)
        return qs_fail_memory(err);
    memcpy(choice->path, text, length);
    status = qs_units_read(QS_UNIT_LIGHT, sign + 1, &choice->light_lx, err);
    if (status == QS_OK && !(choice->light_lx > 0.0))
        return qs_fail(err, QS_ERR_USAGE, "--calibrate needs some light, not 0 lux.");
    return status;
}

void
qs_calibration_clear(struct qs_calibration_choice *choice)
{
    qs_free(choice->path);
    *choice = (struct qs_calibration_choice){.path = NULL};
}

enum qs_status
qs_calibrate_by(const struct qs_calibration_choice *choice,
                const struct qs_frame_options *options, struct qs_pool *pool,
                struct qs_sheet_calibration *out, struct qs_error *err)
{
    struct qs_frame frame = {0};
    double stops = 0.0;
    enum qs_status status =
        qs_frame_measure(choice->path, options, pool, NULL, NULL, &frame, err);

    if (status == QS_OK)
        status = calibrate_frame(&frame, options->patches != NULL, choice->light_lx,
                                 &stops, err);
    qs_frame_clear(&frame);
    if (status != QS_OK)
        return status;
    *out = (struct qs_sheet_calibration){
        .known = true,
        .stops = qs_sheet_round(stops, QS_SHEET_DIGITS),
        .light_lx = qs_sheet_round(choice->light_lx, QS_SHEET_DIGITS)};
    qs_text_clean(choice->path, false, out->file, sizeof out->file);
    return QS_OK;
}
