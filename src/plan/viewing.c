/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/viewing.h"

#include <assert.h>
#include <math.h>

#include "resample/size.h"

static const double PI = 3.14159265358979323846;
static const double MM_PER_INCH = 25.4;
static const double ARCMIN_PER_DEGREE = 60.0;
static const double MOST_PX = 1e9;

/* E33: what one degree straight ahead covers, in inches. */
static double
degree_in(double distance_m)
{
    assert(distance_m > 0.0);
    return 2.0 * distance_m * 1000.0 * tan(0.5 * PI / 180.0) / MM_PER_INCH;
}

double
qs_pixels_per_degree(double ppi, double distance_m)
{
    assert(ppi > 0.0);
    return ppi * degree_in(distance_m);
}

double
qs_ppi_for_viewing(double distance_m, double arcmin)
{
    assert(arcmin > 0.0);
    return ARCMIN_PER_DEGREE / arcmin / degree_in(distance_m);
}

double
qs_distance_for_viewing_m(double ppi, double arcmin)
{
    assert(ppi > 0.0 && arcmin > 0.0);
    return ARCMIN_PER_DEGREE / arcmin / (ppi * degree_in(1.0));
}

double
qs_ppi_of_pitch(double pitch_mm)
{
    assert(pitch_mm > 0.0);
    return MM_PER_INCH / pitch_mm;
}

double
qs_ppi_of_screen(double width_mm, int width_px)
{
    assert(width_px > 0);
    return qs_ppi_of_pitch(width_mm / width_px);
}

/* E35 for one side. */
static bool
side_px(double side_mm, const struct qs_paper *sheet, int *out)
{
    double px =
        floor((side_mm + 2.0 * sheet->bleed_mm) / MM_PER_INCH * sheet->ppi + 0.5);

    assert(side_mm > 0.0 && sheet->bleed_mm >= 0.0 && sheet->ppi > 0.0);
    if (!(px >= 1.0 && px <= MOST_PX))
        return false;
    *out = (int)px;
    return true;
}

bool
qs_paper_pixels(const struct qs_paper *sheet, int *width_px, int *height_px)
{
    int width, height;

    if (!side_px(sheet->width_mm, sheet, &width) ||
        !side_px(sheet->height_mm, sheet, &height))
        return false;
    *width_px = width;
    *height_px = height;
    return true;
}

bool
qs_paper_fit_of(const struct qs_paper *sheet, int frame_width_px, int frame_height_px,
                struct qs_paper_fit *out)
{
    struct qs_paper_fit fit;
    struct qs_shape_ratio shape;

    assert(frame_width_px > 0 && frame_height_px > 0);
    if (!qs_paper_pixels(sheet, &fit.width_px, &fit.height_px))
        return false;
    if ((frame_width_px < frame_height_px && fit.width_px > fit.height_px) ||
        (frame_width_px > frame_height_px && fit.width_px < fit.height_px)) {
        int turned = fit.width_px;

        fit.width_px = fit.height_px;
        fit.height_px = turned;
    }
    shape.width = fit.width_px;
    shape.height = fit.height_px;
    fit.crop = qs_shape_ratio_box(shape, frame_width_px, frame_height_px);
    /* the longer of the two ratios' roundings is the finer one */
    fit.reduction = fit.width_px >= fit.height_px
                        ? (double)fit.crop.width / fit.width_px
                        : (double)fit.crop.height / fit.height_px;
    *out = fit;
    return true;
}
