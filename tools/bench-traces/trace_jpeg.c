/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "trace_picture.h"

static const double PI = 3.14159265358979323846;

/* ITU-T T.81, tables K.1 and K.2 (from memory), row by row. */
static const int luma_steps[64] = {
    16, 11, 10, 16, 24,  40,  51,  61,  12, 12, 14, 19, 26,  58,  60,  55,
    14, 13, 16, 24, 40,  57,  69,  56,  14, 17, 22, 29, 51,  87,  80,  62,
    18, 22, 37, 56, 68,  109, 103, 77,  24, 35, 55, 64, 81,  104, 113, 92,
    49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99};
static const int chroma_steps[64] = {17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99,
                                     99, 99, 99, 24, 26, 56, 99, 99, 99, 99, 99, 47, 66,
                                     99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
                                     99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
                                     99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99};

/* The customary scale of quality: 50 is the tables' own (common practice). */
static double
step_at(int quality, bool chroma, int k)
{
    int base = chroma ? chroma_steps[k] : luma_steps[k];
    int scale = quality < 50 ? 5000 / quality : 200 - 2 * quality;
    int step = (base * scale + 50) / 100;

    return step < 1 ? 1.0 : step;
}

static double
wave(int k, int n)
{
    return (k == 0 ? sqrt(0.125) : 0.5) * cos(PI * (2 * n + 1) * k / 16.0);
}

/* Along rows then columns, forwards or back, by the table of waves. */
static void
transform(double table[8][8], double block[64], bool back)
{
    for (int pass = 0; pass < 2; pass++) {
        double out[64] = {0.0};

        for (int i = 0; i < 8; i++)
            for (int k = 0; k < 8; k++)
                for (int n = 0; n < 8; n++)
                    /* turned over each pass, so that the second does the columns */
                    out[8 * k + i] +=
                        block[8 * i + n] * (back ? table[n][k] : table[k][n]);
        for (int i = 0; i < 64; i++)
            block[i] = out[i];
    }
}

static void
lose(double table[8][8], double block[64], int quality, bool chroma)
{
    transform(table, block, false);
    for (int k = 0; k < 64; k++) {
        double step = step_at(quality, chroma, k);

        block[k] = step * floor(block[k] / step + 0.5);
    }
    transform(table, block, true);
}

static void
to_luma_chroma(double px[3])
{
    double y = 0.299 * px[0] + 0.587 * px[1] + 0.114 * px[2];
    double cb = (px[2] - y) / 1.772, cr = (px[0] - y) / 1.402;

    px[0] = y;
    px[1] = cb;
    px[2] = cr;
}

static void
from_luma_chroma(double px[3])
{
    double r = px[0] + 1.402 * px[2], b = px[0] + 1.772 * px[1];
    double g = (px[0] - 0.299 * r - 0.114 * b) / 0.587;

    px[0] = r;
    px[1] = g;
    px[2] = b;
}

static void
one_block(struct ts_picture *p, double table[8][8], int x0, int y0, int quality)
{
    double block[3][64];

    for (int i = 0; i < 64; i++) {
        size_t at = (size_t)(y0 + i / 8) * (size_t)p->width + (size_t)(x0 + i % 8);
        double px[3] = {0.0, 0.0, 0.0};

        for (int c = 0; c < p->channels; c++)
            px[c] = floor(255.0 * ts_encode((double)p->px[c][at]) + 0.5);
        if (p->channels == 3)
            to_luma_chroma(px);
        for (int c = 0; c < 3; c++)
            block[c][i] = px[c];
    }
    for (int c = 0; c < p->channels; c++)
        lose(table, block[c], quality, c > 0);
    for (int i = 0; i < 64; i++) {
        size_t at = (size_t)(y0 + i / 8) * (size_t)p->width + (size_t)(x0 + i % 8);
        double px[3] = {block[0][i], block[1][i], block[2][i]};

        if (p->channels == 3)
            from_luma_chroma(px);
        for (int c = 0; c < p->channels; c++)
            p->px[c][at] = (float)ts_decode(floor(px[c] + 0.5) / 255.0);
    }
}

void
ts_jpeg(struct ts_picture *p, int quality)
{
    double table[8][8];

    for (int k = 0; k < 8; k++)
        for (int n = 0; n < 8; n++)
            table[k][n] = wave(k, n);
    for (int y = 0; y + 8 <= p->height; y += 8)
        for (int x = 0; x + 8 <= p->width; x += 8)
            one_block(p, table, x, y, quality);
}
