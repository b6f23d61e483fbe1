/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "trace_picture.h"

static const double PI = 3.14159265358979323846;
static const double luma[3] = {0.2126, 0.7152, 0.0722}; /* ITU-R BT.709 */

double
ts_encode(double light)
{
    return light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1.0 / 2.4) - 0.055;
}

double
ts_decode(double code)
{
    return code <= 0.04045 ? code / 12.92 : pow((code + 0.055) / 1.055, 2.4);
}

static int
held(int i, int n)
{
    return i < 0 ? 0 : i >= n ? n - 1 : i;
}

enum {
    MOST_TAPS = 64
};

/* One pass of a Gaussian from `in` to `out`; along rows, or down columns. */
static void
blur_pass(const float *in, float *out, int width, int height, double sd_px, bool down)
{
    int reach = (int)ceil(4.0 * sd_px);
    double tap[MOST_TAPS], sum = 0.0;

    for (int k = -reach; k <= reach; k++)
        sum += tap[k + reach] = exp(-0.5 * k * k / (sd_px * sd_px));
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            double value = 0.0;

            for (int k = -reach; k <= reach; k++) {
                int at_x = down ? x : held(x + k, width);
                int at_y = down ? held(y + k, height) : y;

                value += tap[k + reach] * (double)in[(ptrdiff_t)at_y * width + at_x];
            }
            out[(ptrdiff_t)y * width + x] = (float)(value / sum);
        }
}

static void
blur(float *plane, const struct ts_picture *p, double sd_px)
{
    float *between = malloc(ts_pixels(p) * sizeof *between);

    if (between == NULL)
        abort();
    blur_pass(plane, between, p->width, p->height, sd_px, false);
    blur_pass(between, plane, p->width, p->height, sd_px, true);
    free(between);
}

static double
luma_at(const struct ts_picture *p, size_t i)
{
    double sum = 0.0;

    if (p->channels == 1)
        return (double)p->px[0][i];
    for (int c = 0; c < 3; c++)
        sum += luma[c] * (double)p->px[c][i];
    return sum;
}

static void
load_luma(struct ts_picture *p)
{
    for (size_t i = 0; i < ts_pixels(p); i++)
        p->room[i] = (float)luma_at(p, i);
}

/* Adds share x (luminance - blurred luminance) to all channels. */
static void
add_luma_detail(struct ts_picture *p, double sd_px, double share)
{
    load_luma(p);
    blur(p->room, p, sd_px);
    for (size_t i = 0; i < ts_pixels(p); i++) {
        float detail = (float)(share * (luma_at(p, i) - (double)p->room[i]));

        for (int c = 0; c < p->channels; c++)
            p->px[c][i] += detail;
    }
}

static void
add_detail(struct ts_picture *p, double sd_px, double share)
{
    for (int c = 0; c < p->channels; c++) {
        memcpy(p->room, p->px[c], ts_pixels(p) * sizeof(float));
        blur(p->room, p, sd_px);
        for (size_t i = 0; i < ts_pixels(p); i++)
            p->px[c][i] += (float)share * (p->px[c][i] - p->room[i]);
    }
}

static void
smooth_chroma(struct ts_picture *p, double sd_px)
{
    for (size_t i = 0; i < ts_pixels(p); i++)
        p->room[i] = (float)luma_at(p, i);
    for (int c = 0; c < p->channels; c++) {
        for (size_t i = 0; i < ts_pixels(p); i++)
            p->px[c][i] -= p->room[i];
        blur(p->px[c], p, sd_px);
        for (size_t i = 0; i < ts_pixels(p); i++)
            p->px[c][i] += p->room[i];
    }
}

static int
compare(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;

    return (x > y) - (x < y);
}

static void
median_3x3(struct ts_picture *p)
{
    for (int c = 0; c < p->channels; c++) {
        memcpy(p->room, p->px[c], ts_pixels(p) * sizeof(float));
        for (int y = 0; y < p->height; y++)
            for (int x = 0; x < p->width; x++) {
                float around[9];

                for (int k = 0; k < 9; k++)
                    around[k] =
                        p->room[(ptrdiff_t)held(y + k / 3 - 1, p->height) * p->width +
                                held(x + k % 3 - 1, p->width)];
                qsort(around, 9, sizeof around[0], compare);
                p->px[c][(ptrdiff_t)y * p->width + x] = around[4];
            }
    }
}

/* Rounds to so many bits through the sRGB curve. */
static void
round_bits(struct ts_picture *p, double bits)
{
    double top = exp2(bits) - 1.0;

    for (int c = 0; c < p->channels; c++)
        for (size_t i = 0; i < ts_pixels(p); i++)
            p->px[c][i] = (float)ts_decode(
                floor(ts_encode((double)p->px[c][i]) * top + 0.5) / top);
}

/* Rounds, then changes to other primaries (of Adobe RGB's kind) and rounds to 16 bits.
 */
static void
round_and_convert(struct ts_picture *p, double bits)
{
    static const double m[3][3] = {
        {0.7152, 0.2848, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0412, 0.9588}};

    round_bits(p, bits);
    for (size_t i = 0; i < ts_pixels(p); i++) {
        double in[3] = {(double)p->px[0][i], (double)p->px[1][i], (double)p->px[2][i]};

        for (int c = 0; c < 3; c++) {
            double v = m[c][0] * in[0] + m[c][1] * in[1] + m[c][2] * in[2];

            v = floor(65535.0 * pow(fmax(v, 0.0), 1.0 / 2.2) + 0.5) / 65535.0;
            p->px[c][i] = (float)pow(v, 2.2);
        }
    }
}

/* What is added to every channel alike, from `room`, times `sd`. */
static void
add_room(struct ts_picture *p, double sd)
{
    for (int c = 0; c < p->channels; c++)
        for (size_t i = 0; i < ts_pixels(p); i++)
            p->px[c][i] += (float)sd * p->room[i];
}

/* Fills the room: blotches, lines, waves, weave, or brushed, of sd near 1. */
static void
fill_blotches(struct ts_picture *p, double sd_px, struct qs_random *random)
{
    for (size_t i = 0; i < ts_pixels(p); i++)
        p->room[i] = (float)(2.0 * sqrt(PI) * sd_px * qs_random_normal(random));
    blur(p->room, p, sd_px);
}

static void
fill_rows(struct ts_picture *p, struct qs_random *random)
{
    for (int y = 0; y < p->height; y++) {
        float value = (float)qs_random_normal(random);

        for (int x = 0; x < p->width; x++)
            p->room[(ptrdiff_t)y * p->width + x] = value;
    }
}

static void
fill_wave(struct ts_picture *p, double u, double v)
{
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++)
            p->room[(ptrdiff_t)y * p->width + x] =
                (float)(sqrt(2.0) * sin(2.0 * PI * (u * x + v * y)));
}

static void
fill_brushed(struct ts_picture *p, struct qs_random *random)
{
    float *line = p->px[0];
    float *kept = malloc(ts_pixels(p) * sizeof *kept);

    if (kept == NULL)
        abort();
    memcpy(kept, line, ts_pixels(p) * sizeof *kept);
    for (size_t i = 0; i < ts_pixels(p); i++)
        line[i] = (float)(sqrt(2.0 * sqrt(PI) * 5.0) * qs_random_normal(random));
    blur_pass(line, p->room, p->width, p->height, 5.0, false);
    memcpy(line, kept, ts_pixels(p) * sizeof *kept);
    free(kept);
}

enum deed {
    CLEAN,
    BITS_15,
    BITS_14,
    BITS_12,
    BLOTCHY,
    FAINT_ROWS,
    BLUR_06,
    BLUR_07,
    LUMA_06,
    LUMA_07,
    CHROMA_1,
    CHROMA_2,
    CHROMA_4,
    MEDIAN,
    USM_05,
    USM_1,
    USM_LUMA_05,
    USM_LUMA_1,
    EIGHT,
    EIGHT_CONVERTED,
    JPEG_95,
    JPEG_90,
    JPEG_85,
    ROWS,
    FLICKER,
    WEAVE,
    BRUSHED,
    DIRT,
    DEEDS
};

const struct ts_deed ts_deeds[] = {
    [CLEAN] = {"nothing", 0.0, -1, -1, false},
    [BITS_15] = {"15 bits in 16", 15.0, -1, -1, false},
    [BITS_14] = {"14 bits in 16", 14.0, -1, -1, false},
    [BITS_12] = {"12 bits in 16", 12.0, -1, -1, false},
    [BLOTCHY] = {"blotches of 0.3 sd, 4 px", 0.3, -1, QS_WARN_TEXTURED, false},
    [FAINT_ROWS] = {"rows of 0.05 sd", 0.05, -1, -1, false},
    [BLUR_06] = {"Gaussian 0.6 px", 0.6, QS_WARN_NOISE_REDUCED, -1, false},
    [BLUR_07] = {"Gaussian 0.7 px", 0.7, QS_WARN_NOISE_REDUCED, -1, false},
    [LUMA_06] = {"luminance 0.6 px", 0.6, QS_WARN_NOISE_REDUCED, -1, true},
    [LUMA_07] = {"luminance 0.7 px", 0.7, QS_WARN_NOISE_REDUCED, -1, true},
    [CHROMA_1] = {"chroma 1 px", 1.0, QS_WARN_NOISE_REDUCED, -1, true},
    [CHROMA_2] = {"chroma 2 px", 2.0, QS_WARN_NOISE_REDUCED, -1, true},
    [CHROMA_4] = {"chroma 4 px", 4.0, QS_WARN_NOISE_REDUCED, -1, true},
    [MEDIAN] = {"median 3 x 3", 0.0, QS_WARN_NOISE_REDUCED, -1, false},
    [USM_05] = {"unsharp mask 1 px, 0.5", 0.5, QS_WARN_SHARPENED, -1, false},
    [USM_1] = {"unsharp mask 1 px, 1.0", 1.0, QS_WARN_SHARPENED, -1, false},
    [USM_LUMA_05] = {"of luminance, 0.5", 0.5, QS_WARN_SHARPENED, -1, true},
    [USM_LUMA_1] = {"of luminance, 1.0", 1.0, QS_WARN_SHARPENED, -1, true},
    [EIGHT] = {"8 bits in 16", 8.0, QS_WARN_EIGHT_BIT, -1, false},
    [EIGHT_CONVERTED] = {"8 bits, other primaries", 8.0, QS_WARN_EIGHT_BIT, -1, true},
    [JPEG_95] = {"JPEG, quality 95", 95.0, QS_WARN_LOSSY_BLOCKS, -2, false},
    [JPEG_90] = {"JPEG, quality 90", 90.0, QS_WARN_LOSSY_BLOCKS, -2, false},
    [JPEG_85] = {"JPEG, quality 85", 85.0, QS_WARN_LOSSY_BLOCKS, -2, false},
    [ROWS] = {"rows of 0.4 sd", 0.4, QS_WARN_BANDING, -1, false},
    [FLICKER] = {"wave of 0.15 sd, 23 px", 0.15, QS_WARN_BANDING, -1, false},
    [WEAVE] = {"weave of 0.15 sd", 0.15, QS_WARN_TEXTURED, -1, false},
    [BRUSHED] = {"brushed, 0.5 sd", 0.5, QS_WARN_TEXTURED, -2, false},
    [DIRT] = {"blotches of 0.7 sd, 6 px", 0.7, QS_WARN_TEXTURED, -1, false},
};

const int ts_deed_count = DEEDS;

static void
filter(struct ts_picture *p, enum deed deed, double strength)
{
    switch ((int)deed) {
    case BLUR_06:
    case BLUR_07:
        for (int c = 0; c < p->channels; c++)
            blur(p->px[c], p, strength);
        break;
    case LUMA_06:
    case LUMA_07:
        add_luma_detail(p, strength, -1.0);
        break;
    case CHROMA_1:
    case CHROMA_2:
    case CHROMA_4:
        smooth_chroma(p, strength);
        break;
    case MEDIAN:
        median_3x3(p);
        break;
    case USM_05:
    case USM_1:
        add_detail(p, 1.0, strength);
        break;
    case USM_LUMA_05:
    case USM_LUMA_1:
        add_luma_detail(p, 1.0, strength);
        break;
    default:
        break;
    }
}

static void
add_structure(struct ts_picture *p, enum deed deed, double sd, struct qs_random *random)
{
    switch ((int)deed) {
    case BLOTCHY:
        fill_blotches(p, 4.0, random);
        break;
    case DIRT:
        fill_blotches(p, 6.0, random);
        break;
    case ROWS:
    case FAINT_ROWS:
        fill_rows(p, random);
        break;
    case FLICKER:
        fill_wave(p, 0.0, 1.0 / 23.0);
        break;
    case WEAVE:
        fill_wave(p, 0.137, 0.093);
        break;
    case BRUSHED:
        fill_brushed(p, random);
        break;
    default:
        return;
    }
    add_room(p, sd);
}

static void
store(struct ts_picture *p, enum deed deed, double strength)
{
    switch ((int)deed) {
    case EIGHT:
    case BITS_12:
    case BITS_14:
    case BITS_15:
        round_bits(p, strength);
        break;
    case EIGHT_CONVERTED:
        round_and_convert(p, strength);
        break;
    case JPEG_95:
    case JPEG_90:
    case JPEG_85:
        ts_jpeg(p, (int)strength);
        break;
    default:
        round_bits(p, 16.0);
        break;
    }
}

void
ts_spoil(struct ts_picture *p, int deed, double strength, double noise_sd,
         struct qs_random *random)
{
    filter(p, (enum deed)deed, strength);
    add_structure(p, (enum deed)deed, strength * noise_sd, random);
    store(p, (enum deed)deed, strength);
}
