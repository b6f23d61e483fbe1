/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which patches lie so near an end of the range that their noise may be cut off,
 * and whose noise is small against the steps of 8 bits.
 */
#include "frame/mark_ends.h"

#include <math.h>

#include "linear/curve.h"

/* Normal noise has 0.13 % beyond 3 sd: what is cut off there moves nothing. */
static const double NEAR_SD = 3.0;
static const double NEAR_SHARE = 0.00135;

/* Linear light of the ends of the range, by channel. */
struct ends {
    double low[QS_CHANNELS];
    double high[QS_CHANNELS];
};

/* One pixel at each end, in the samples of the file. */
union ends_px {
    uint8_t u8[6];
    uint16_t u16[6];
    uint32_t u32[6];
    float f32[6];
    double f64[6];
};

static void
fill_px(enum qs_sample sample, int channels, union ends_px *px)
{
    for (int i = 0; i < 2 * channels; i++) {
        bool top = i >= channels;

        switch (sample) {
        case QS_SAMPLE_U8:
            px->u8[i] = top ? UINT8_MAX : 0;
            break;
        case QS_SAMPLE_U16:
            px->u16[i] = top ? UINT16_MAX : 0;
            break;
        case QS_SAMPLE_U32:
            px->u32[i] = top ? UINT32_MAX : 0;
            break;
        case QS_SAMPLE_F32:
            px->f32[i] = top ? 1.0f : 0.0f;
            break;
        case QS_SAMPLE_F64:
            px->f64[i] = top ? 1.0 : 0.0;
            break;
        }
    }
}

static void
find_ends(const struct qs_image_info *info, const struct qs_linear *linear,
          struct ends *ends)
{
    union ends_px px;
    float value[3][2] = {{0.0f}}, y[2];
    float *out[3] = {value[0], value[1], value[2]};
    int first = (int)qs_channel_first(info->channels);

    fill_px(info->sample, info->channels, &px);
    qs_linear_decode(linear, &px, 2, out, NULL);
    for (int c = 0; c < info->channels; c++) {
        ends->low[first + c] = (double)value[c][0];
        ends->high[first + c] = (double)value[c][1];
    }
    if (info->channels == 1)
        return;
    qs_linear_luminance(linear, value[0], value[1], value[2], 2, y);
    ends->low[QS_Y] = (double)y[0];
    ends->high[QS_Y] = (double)y[1];
}

/* The lowest value any patch piles up at takes the place of the top of the range. */
static void
lower_to_piles(const struct qs_frame *frame, struct ends *ends)
{
    for (int p = 0; p < frame->patch_count; p++)
        for (int c = (int)frame->first; c < QS_CHANNELS; c++) {
            const struct qs_pile *pile = &frame->patches[p].traces.pile[c];

            if (pile->seen && pile->value < ends->high[c])
                ends->high[c] = pile->value;
        }
}

static void
mark(const struct qs_frame *frame, const struct ends *ends, int c,
     struct qs_patch_channel *channel)
{
    double reach = NEAR_SD * channel->noise.sd;

    /* floats have no lowest code: values below 0 are kept */
    channel->near_low =
        channel->clipped_low > NEAR_SHARE ||
        (!frame->is_float && channel->noise.mean - reach < ends->low[c]);
    channel->near_high = channel->clipped_high > NEAR_SHARE ||
                         channel->noise.mean + reach > ends->high[c];
}

void
qs_mark_ends(const struct qs_image_info *info, const struct qs_linear *linear,
             struct qs_frame *frame)
{
    struct ends ends = {{0.0}, {0.0}};

    find_ends(info, linear, &ends);
    lower_to_piles(frame, &ends);
    for (int p = 0; p < frame->patch_count; p++)
        for (int c = (int)frame->first; c < QS_CHANNELS; c++)
            mark(frame, &ends, c, &frame->patches[p].channel[c]);
}

bool
qs_patch_is_cut(const struct qs_frame *frame, const struct qs_patch *patch)
{
    for (int c = (int)frame->first; c < QS_CHANNELS; c++)
        if (patch->channel[c].near_low || patch->channel[c].near_high)
            return true;
    return false;
}

double
qs_patch_steps(const struct qs_patch *patch)
{
    const struct qs_noise *noise = &patch->channel[QS_Y].noise;

    return 255.0 * noise->sd * qs_curve_steepness(qs_curve_srgb(), noise->mean);
}
