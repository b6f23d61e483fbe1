/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "encode.h"

#include <stdint.h>

#include "base/memory.h"

enum qs_status
gr_encoder_init(const struct gr_recipe *recipe, struct gr_encoder *out,
                struct qs_error *err)
{
    struct gr_encoder e = {recipe->space, recipe->depth, recipe->pedestal_code, NULL};

    e.curve = qs_alloc(GR_CURVE_STEPS + 2, sizeof *e.curve);
    if (e.curve == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < GR_CURVE_STEPS + 2; i++)
        e.curve[i] = (float)gr_space_encode(e.space, (double)i / GR_CURVE_STEPS);
    *out = e;
    return QS_OK;
}

void
gr_encoder_clear(struct gr_encoder *encoder)
{
    qs_free(encoder->curve);
    encoder->curve = NULL;
}

size_t
gr_encoder_sample_bytes(const struct gr_encoder *encoder)
{
    static const size_t bytes[] = {
        [GR_DEPTH_8] = 1, [GR_DEPTH_16] = 2, [GR_DEPTH_32F] = sizeof(float)};

    return bytes[encoder->depth];
}

/* Light to 0..1, cut at both ends. */
static float
curved(const struct gr_encoder *e, float light)
{
    float step;
    int i;

    if (!(light > 0.0f))
        return 0.0f;
    if (light >= 1.0f)
        return 1.0f;
    if (e->space->is_linear)
        return light;
    step = light * GR_CURVE_STEPS;
    i = (int)step;
    return e->curve[i] + (step - (float)i) * (e->curve[i + 1] - e->curve[i]);
}

/* A pedestal lifts the black, so that noise below it survives. */
static float
code_of(const struct gr_encoder *e, float light, float top)
{
    float base = (float)e->pedestal_code;

    if (e->pedestal_code == 0)
        return curved(e, light) * top;
    light = base + light * (top - base);
    return light < 0.0f ? 0.0f : light > top ? top : light;
}

/* Floats have no ends: the curve goes on above 1, and is mirrored below 0. */
static float
open_ended(const struct gr_encoder *e, float light)
{
    if (e->space->is_linear || (light >= 0.0f && light < 1.0f))
        return e->space->is_linear ? light : curved(e, light);
    return light < 0.0f ? -(float)gr_space_encode(e->space, -(double)light)
                        : (float)gr_space_encode(e->space, (double)light);
}

void
gr_encode(const struct gr_encoder *encoder, const float *light, size_t count, void *out)
{
    uint8_t *bytes = out;
    uint16_t *words = out;
    float *floats = out;

    switch (encoder->depth) {
    case GR_DEPTH_8:
        for (size_t i = 0; i < count; i++)
            bytes[i] = (uint8_t)(code_of(encoder, light[i], 255.0f) + 0.5f);
        break;
    case GR_DEPTH_16:
        for (size_t i = 0; i < count; i++)
            words[i] = (uint16_t)(code_of(encoder, light[i], 65535.0f) + 0.5f);
        break;
    case GR_DEPTH_32F:
        for (size_t i = 0; i < count; i++)
            floats[i] = open_ended(encoder, light[i]);
        break;
    }
}
