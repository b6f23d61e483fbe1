/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "truth.h"

#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>

/* Variance of rounding to whole codes. */
#define ROUNDING_DN2 (1.0 / 12.0)

struct gr_expected
gr_expect(const struct gr_sensor *sensor)
{
    double white_e = gr_sensor_white_e(sensor);
    double rounding_e = sqrt(ROUNDING_DN2) / sensor->gain_dn_per_e;
    struct gr_expected out = {
        .gain = sensor->shot_noise ? 1.0 / white_e : 0.0,
        .read = hypot(sensor->read_e, rounding_e) / white_e,
        .row = sensor->row_e / white_e,
        .column = sensor->column_e / white_e,
        .offset = sensor->offset_e / white_e,
        .pattern = sensor->prnu,
    };

    return out;
}

static json_t *
sensor_json(const struct gr_sensor *s)
{
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:i, s:i, s:b, s:I}", "iso",
                     s->iso, "gain_dn_per_e", s->gain_dn_per_e, "read_e", s->read_e,
                     "row_e", s->row_e, "column_e", s->column_e, "offset_e",
                     s->offset_e, "prnu", s->prnu, "black_dn", s->black_dn, "white_dn",
                     s->white_dn, "shot_noise", s->shot_noise, "serial",
                     (json_int_t)s->serial);
}

static json_t *
retouch_json(const struct gr_retouch *t)
{
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f}", "smooth_luma_px",
                     t->smooth_luma_px, "smooth_chroma_px", t->smooth_chroma_px,
                     "sharpen", t->sharpen, "sharpen_px", t->sharpen_px, "blotch",
                     t->blotch, "blotch_px", t->blotch_px);
}

static json_t *
expected_json(const struct gr_expected *e)
{
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f}", "gain", e->gain, "read", e->read,
                     "row", e->row, "column", e->column, "offset", e->offset, "pattern",
                     e->pattern);
}

/* Stops of the steps, so that a test knows the tone of every patch of a wedge. */
static json_t *
steps_json(const struct gr_recipe *recipe)
{
    json_t *steps = json_array();

    for (int i = 0; recipe->scene == &gr_scenes[0] && i < GR_WEDGE_STEPS; i++)
        if (json_array_append_new(steps, json_real(gr_wedge_stops(i))) != 0)
            break;
    return steps;
}

static json_t *
truth_json(const struct gr_recipe *r)
{
    static const char *const depths[] = {
        [GR_DEPTH_8] = "8", [GR_DEPTH_16] = "16", [GR_DEPTH_32F] = "32f"};
    struct gr_expected expected = gr_expect(&r->sensor);

    return json_pack(
        "{s:s, s:s, s:i, s:i, s:f, s:I, s:s, s:s, s:s, s:s, s:i, s:f, s:f, s:f, "
        "s:i, s:o, s:o, s:o, s:o}",
        "camera", GR_MODEL, "scene", r->scene->name, "width", r->width, "height",
        r->height, "tone_stops", r->tone_stops, "seed", (json_int_t)r->seed, "light",
        r->response->name, "demosaic", r->demosaic->name, "curve", r->space->name,
        "depth", depths[r->depth], "pedestal_code", r->pedestal_code, "exposure_s",
        r->exposure_s, "f_number", r->f_number, "bias_stops", r->bias_stops,
        "orientation", r->orientation, "sensor", sensor_json(&r->sensor), "retouch",
        retouch_json(&r->retouch), "expected", expected_json(&expected), "steps_stops",
        steps_json(r));
}

enum qs_status
gr_truth_write(const struct gr_recipe *recipe, const char *path, struct qs_error *err)
{
    json_t *truth = truth_json(recipe);
    FILE *file;
    bool good;

    if (truth == NULL)
        return qs_fail_memory(err);
    file = fopen(path, "w");
    good = file != NULL &&
           json_dumpf(truth, file, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) == 0;
    good = file != NULL && fputc('\n', file) != EOF && good;
    good = file != NULL && fclose(file) == 0 && good;
    json_decref(truth);
    if (!good)
        return qs_fail(
            err, QS_ERR_WRITE,
            "The truth file could not be written; see whether its folder exists.");
    return QS_OK;
}
