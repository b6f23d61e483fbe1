/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * encode.h - linear light to the code values of a file
 *
 * Whole-number files end at 0 and at their highest code: light beyond is cut
 * there, as every converter does.  32-bit float files keep it.
 */
#ifndef GLASSROOM_ENCODE_H
#define GLASSROOM_ENCODE_H

#include <stddef.h>

#include "base/status.h"
#include "recipe.h"

struct gr_encoder {
    const struct gr_space *space;
    enum gr_depth depth;
    int pedestal_code;
    float *curve; /* owned: the tone curve at whole 1/GR_CURVE_STEPS of light */
};

enum {
    GR_CURVE_STEPS = 65536
};

/*
 * Prepares; between the steps the curve is a straight line, which is off by less
 * than 0.01 of a 16-bit code.
 *
 *   QS_OK          to be ended with gr_encoder_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
gr_encoder_init(const struct gr_recipe *recipe, struct gr_encoder *out,
                struct qs_error *err);

void
gr_encoder_clear(struct gr_encoder *encoder);

/* Bytes of one sample. */
size_t
gr_encoder_sample_bytes(const struct gr_encoder *encoder);

/* Encodes `count` samples; `out` has room for them and fits their kind. */
void
gr_encode(const struct gr_encoder *encoder, const float *light, size_t count,
          void *out);

#endif
