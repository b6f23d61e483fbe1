/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "base/memory.h"
#include "trace_picture.h"

/* Rows sum to 1: grey stays grey. */
static const double matrices[3][3][3] = {
    {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}},
    {{1.4, -0.3, -0.1}, {-0.1, 1.3, -0.2}, {0.0, -0.3, 1.3}},
    {{1.8, -0.6, -0.2}, {-0.2, 1.5, -0.3}, {0.05, -0.55, 1.5}},
};

bool
ts_picture_init(struct ts_picture *p, int channels, int width, int height)
{
    bool ready;

    *p = (struct ts_picture){.channels = channels, .width = width, .height = height};
    p->room = qs_alloc(ts_pixels(p), sizeof(float));
    ready = p->room != NULL;
    for (int c = 0; c < channels; c++) {
        p->px[c] = qs_alloc(ts_pixels(p), sizeof(float));
        ready = ready && p->px[c] != NULL;
    }
    if (!ready)
        ts_picture_clear(p);
    return ready;
}

void
ts_picture_clear(struct ts_picture *p)
{
    for (int c = 0; c < 3; c++)
        qs_free(p->px[c]);
    qs_free(p->room);
    *p = (struct ts_picture){.channels = 0};
}

/* Mirrored about the outermost pixel, which keeps the mosaic in step. */
static int
mirror(int i, int n)
{
    i = i < 0 ? -i : i;
    return i >= n ? 2 * n - 2 - i : i;
}

/* The mosaic, in p->room. */
static float
raw(const struct ts_picture *p, int x, int y)
{
    return p->room[(ptrdiff_t)mirror(y, p->height) * p->width + mirror(x, p->width)];
}

static int
colour_at(int x, int y)
{
    return (x & 1) + (y & 1);
}

/* Sums of neighbours: beside, above, corners, two beside, two above. */
struct around {
    float here, h, v, d, hh, vv;
};

static struct around
look(const struct ts_picture *p, int x, int y)
{
    return (struct around){
        raw(p, x, y),
        raw(p, x - 1, y) + raw(p, x + 1, y),
        raw(p, x, y - 1) + raw(p, x, y + 1),
        raw(p, x - 1, y - 1) + raw(p, x + 1, y - 1) + raw(p, x - 1, y + 1) +
            raw(p, x + 1, y + 1),
        raw(p, x - 2, y) + raw(p, x + 2, y),
        raw(p, x, y - 2) + raw(p, x, y + 2),
    };
}

static void
bilinear(const struct around *a, int x, int y, float out[3])
{
    int row = (y & 1) * 2, other = 2 - row;

    if (colour_at(x, y) == 1) {
        out[1] = a->here;
        out[row] = 0.5f * a->h;
        out[other] = 0.5f * a->v;
    } else {
        out[row] = a->here;
        out[1] = 0.25f * (a->h + a->v);
        out[other] = 0.25f * a->d;
    }
}

static void
gradient(const struct around *a, int x, int y, float out[3])
{
    int row = (y & 1) * 2, other = 2 - row;

    if (colour_at(x, y) == 1) {
        float common = 5.0f * a->here - a->d;

        out[1] = a->here;
        out[row] = 0.125f * (common + 4.0f * a->h - a->hh + 0.5f * a->vv);
        out[other] = 0.125f * (common + 4.0f * a->v - a->vv + 0.5f * a->hh);
    } else {
        out[row] = a->here;
        out[1] = 0.125f * (4.0f * a->here + 2.0f * (a->h + a->v) - a->hh - a->vv);
        out[other] = 0.125f * (6.0f * a->here + 2.0f * a->d - 1.5f * (a->hh + a->vv));
    }
}

static float
directed_green(const struct ts_picture *p, int x, int y)
{
    struct around a = look(p, x, y);
    float along_x, along_y;

    x = mirror(x, p->width);
    y = mirror(y, p->height);
    if (colour_at(x, y) == 1)
        return a.here;
    along_x = fabsf(raw(p, x - 1, y) - raw(p, x + 1, y)) + fabsf(2.0f * a.here - a.hh);
    along_y = fabsf(raw(p, x, y - 1) - raw(p, x, y + 1)) + fabsf(2.0f * a.here - a.vv);
    if (along_x < along_y)
        return 0.5f * a.h + 0.25f * (2.0f * a.here - a.hh);
    return 0.5f * a.v + 0.25f * (2.0f * a.here - a.vv);
}

/* Colour less green at a photosite. */
static float
off_green(const struct ts_picture *p, int x, int y)
{
    return raw(p, x, y) - directed_green(p, x, y);
}

static void
directional(const struct ts_picture *p, int x, int y, float out[3])
{
    int row = (y & 1) * 2, other = 2 - row;
    float g = directed_green(p, x, y);

    out[1] = g;
    if (colour_at(x, y) == 1) {
        out[row] = g + 0.5f * (off_green(p, x - 1, y) + off_green(p, x + 1, y));
        out[other] = g + 0.5f * (off_green(p, x, y - 1) + off_green(p, x, y + 1));
    } else {
        out[row] = raw(p, x, y);
        out[other] =
            g + 0.25f * (off_green(p, x - 1, y - 1) + off_green(p, x + 1, y - 1) +
                         off_green(p, x - 1, y + 1) + off_green(p, x + 1, y + 1));
    }
}

static void
demosaic(struct ts_picture *p, enum ts_demosaic kind)
{
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++) {
            struct around a = look(p, x, y);
            float out[3];

            if (kind == TS_BILINEAR)
                bilinear(&a, x, y, out);
            else if (kind == TS_GRADIENT)
                gradient(&a, x, y, out);
            else
                directional(p, x, y, out);
            for (int c = 0; c < 3; c++)
                p->px[c][(ptrdiff_t)y * p->width + x] = out[c];
        }
}

static void
mix(struct ts_picture *p, const double m[3][3])
{
    for (size_t i = 0; i < ts_pixels(p); i++) {
        double in[3] = {(double)p->px[0][i], (double)p->px[1][i], (double)p->px[2][i]};

        for (int c = 0; c < 3; c++)
            p->px[c][i] = (float)(m[c][0] * in[0] + m[c][1] * in[1] + m[c][2] * in[2]);
    }
}

void
ts_picture_noise(struct ts_picture *p, const struct ts_base *base,
                 struct qs_random *random)
{
    bool mosaic = base->demosaic != TS_PLAIN && base->demosaic != TS_GREY;

    for (size_t i = 0; i < ts_pixels(p); i++)
        for (int c = 0; c < (mosaic ? 1 : p->channels); c++) {
            int x = (int)(i % (size_t)p->width), y = (int)(i / (size_t)p->width);
            int colour = mosaic ? colour_at(x, y) : p->channels == 1 ? 1 : c;
            float *to = mosaic ? p->room : p->px[c];

            to[i] = (float)(sqrt(base->variance[colour]) * qs_random_normal(random));
        }
    if (mosaic)
        demosaic(p, base->demosaic);
    if (p->channels == 3)
        mix(p, matrices[base->matrix]);
}
