/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recipe.h"

#include <math.h>
#include <stddef.h>

/* The workshop is lit for 1/64 s at ISO 3200 and f/2.8. */
#define EXPOSURE_X_ISO_S 50.0

/* One number that must lie within bounds. */
struct bound {
    const char *option;
    double value;
    double low;
    double high;
};

void
gr_recipe_set_iso(struct gr_recipe *recipe, double iso)
{
    recipe->sensor = gr_sensor_at_iso(iso);
    recipe->exposure_s = EXPOSURE_X_ISO_S / iso;
}

struct gr_recipe
gr_recipe_default(void)
{
    struct gr_recipe recipe = {
        .scene = &gr_scenes[0],
        .response = &gr_responses[0],
        .demosaic = &gr_demosaics[0],
        .space = &gr_spaces[0],
        .retouch = {.sharpen_px = 0.8, .blotch_px = 4.0},
        .width = 6000,
        .height = 4000,
        .seed = 1,
        .depth = GR_DEPTH_16,
        .f_number = 2.8,
        .orientation = 1,
    };

    gr_recipe_set_iso(&recipe, 3200.0);
    return recipe;
}

static enum qs_status
check_bounds(const struct bound *bounds, size_t count, struct qs_error *err)
{
    for (size_t i = 0; i < count; i++) {
        const struct bound *b = &bounds[i];

        if (!(b->value >= b->low && b->value <= b->high))
            return qs_fail(err, QS_ERR_USAGE,
                           "--%s is %g, but must lie between %g and %g; give it "
                           "another value.",
                           b->option, b->value, b->low, b->high);
    }
    return QS_OK;
}

static enum qs_status
check_numbers(const struct gr_recipe *r, struct qs_error *err)
{
    const struct gr_sensor *s = &r->sensor;
    const struct gr_retouch *t = &r->retouch;
    const struct bound bounds[] = {
        {"width", r->width, GR_SIDE_MIN_PX, GR_SIDE_MAX_PX},
        {"height", r->height, GR_SIDE_MIN_PX, GR_SIDE_MAX_PX},
        {"iso", s->iso, GR_ISO_LOW, GR_ISO_HIGH},
        {"tone", r->tone_stops, -20.0, 10.0},
        {"gain", s->gain_dn_per_e, 1e-3, 1e4},
        {"read", s->read_e, 0.0, 1e4},
        {"row", s->row_e, 0.0, 1e4},
        {"column", s->column_e, 0.0, 1e4},
        {"offset", s->offset_e, 0.0, 1e4},
        {"prnu", s->prnu, 0.0, 0.2},
        {"exposure", r->exposure_s, 1e-5, 3600.0},
        {"f-number", r->f_number, 0.5, 128.0},
        {"bias", r->bias_stops, -10.0, 10.0},
        {"orientation", r->orientation, 1, 8},
        {"smooth-luma", t->smooth_luma_px, 0.0, 20.0},
        {"smooth-chroma", t->smooth_chroma_px, 0.0, 20.0},
        {"sharpen", t->sharpen, 0.0, 10.0},
        {"sharpen-radius", t->sharpen_px, 0.1, 20.0},
        {"blotch", t->blotch, 0.0, 1.0},
        {"blotch-radius", t->blotch_px, 0.1, 20.0},
        {"pedestal", r->pedestal_code, 0, r->depth == GR_DEPTH_8 ? 127 : 32767},
    };

    return check_bounds(bounds, sizeof bounds / sizeof bounds[0], err);
}

enum qs_status
gr_recipe_check(const struct gr_recipe *recipe, struct qs_error *err)
{
    enum qs_status status = check_numbers(recipe, err);

    if (status != QS_OK)
        return status;
    if (recipe->pedestal_code != 0 &&
        (!recipe->space->is_linear || recipe->depth == GR_DEPTH_32F))
        return qs_fail(err, QS_ERR_USAGE,
                       "--pedestal needs --curve linear and --depth 8 or 16; add "
                       "them, or leave the pedestal out.");
    return QS_OK;
}
