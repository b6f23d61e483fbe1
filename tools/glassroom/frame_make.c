/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame_make.h"

#include <math.h>

#include "base/memory.h"
#include "base/random.h"

/* What random numbers are for; each purpose has its own, so that none moves another. */
enum stream {
    STREAM_PHOTONS = 1,
    STREAM_READ,
    STREAM_ROW,
    STREAM_PRNU,
    STREAM_OFFSET,
    STREAM_COLUMN
};

struct exposing {
    const struct gr_recipe *recipe;
    struct gr_matrix to_camera;
    double white_e;
    double light;     /* by which the tone brightens the scene */
    double *column_e; /* the columns' pattern */
    uint16_t *dn;
};

struct developing {
    const struct gr_recipe *recipe;
    struct gr_mosaic mosaic;
    struct gr_matrix to_output;
    struct gr_picture picture;
};

static void
seed_row(struct qs_random *random, uint64_t seed, enum stream stream, int row)
{
    uint64_t mixed = seed * UINT64_C(0xd1342543de82ef95) + (uint64_t)stream;

    /* The seeding itself scrambles; neighbouring rows only need to differ. */
    qs_random_seed(random, mixed * UINT64_C(0x9fb21c651e98df25) + (uint64_t)row * 8191);
}

/* One normal number of this sd; a sd of 0 costs nothing. */
static double
draw(struct qs_random *random, double sd)
{
    return sd > 0.0 ? sd * qs_random_normal(random) : 0.0;
}

/* Light on a photosite, 1.0 = just filling a green one (G5). */
static double
light_on(const struct exposing *e, const struct gr_view *view, int x, int y)
{
    struct gr_rgb scene = e->recipe->scene->shade(view, x, y), camera;

    scene = gr_scaled(scene, e->light);
    if (e->recipe->demosaic->channels == 1)
        return gr_luma(scene);
    camera = gr_apply(&e->to_camera, scene);
    switch (gr_mosaic_channel(x, y)) {
    case 0:
        return camera.r;
    case 1:
        return camera.g;
    default:
        return camera.b;
    }
}

static uint16_t
to_code(const struct gr_sensor *s, double electrons)
{
    double dn = floor(s->black_dn + s->gain_dn_per_e * electrons + 0.5);

    return (uint16_t)fmin(fmax(dn, 0.0), s->white_dn);
}

static void
expose_row(void *context, int y)
{
    const struct exposing *e = context;
    const struct gr_recipe *r = e->recipe;
    const struct gr_sensor *s = &r->sensor;
    const struct gr_view view = {r->width, r->height};
    struct qs_random photons, read, row, prnu, offset;
    uint16_t *out = e->dn + (size_t)y * (size_t)r->width;
    double row_e;

    seed_row(&photons, r->seed, STREAM_PHOTONS, y);
    seed_row(&read, r->seed, STREAM_READ, y);
    seed_row(&row, r->seed, STREAM_ROW, y);
    seed_row(&prnu, s->serial, STREAM_PRNU, y);
    seed_row(&offset, s->serial, STREAM_OFFSET, y);
    row_e = draw(&row, s->row_e);
    for (int x = 0; x < r->width; x++) {
        double mean_e = light_on(e, &view, x, y) * e->white_e;
        double seen_e;

        mean_e *= fmax(1.0 + draw(&prnu, s->prnu), 0.0);
        seen_e = s->shot_noise ? qs_random_poisson(&photons, mean_e) : mean_e;
        seen_e += draw(&offset, s->offset_e) + draw(&read, s->read_e);
        out[x] = to_code(s, seen_e + row_e + e->column_e[x]);
    }
}

static void
draw_columns(const struct gr_sensor *sensor, int width, double *column_e)
{
    struct qs_random random;

    seed_row(&random, sensor->serial, STREAM_COLUMN, 0);
    for (int x = 0; x < width; x++)
        column_e[x] = draw(&random, sensor->column_e);
}

enum qs_status
gr_expose(const struct gr_recipe *recipe, struct qs_pool *pool, uint16_t **out,
          struct qs_error *err)
{
    size_t width = (size_t)recipe->width;
    struct exposing e = {
        .recipe = recipe,
        .to_camera = gr_response_to_camera(recipe->response),
        .white_e = gr_sensor_white_e(&recipe->sensor),
        .light = exp2(recipe->tone_stops),
        .column_e = qs_alloc(width, sizeof *e.column_e),
        .dn = qs_alloc(width * (size_t)recipe->height, sizeof *e.dn),
    };

    *out = NULL;
    if (e.column_e == NULL || e.dn == NULL) {
        qs_free(e.column_e);
        qs_free(e.dn);
        return qs_fail_memory(err);
    }
    draw_columns(&recipe->sensor, recipe->width, e.column_e);
    qs_pool_run(pool, recipe->height, expose_row, &e);
    qs_free(e.column_e);
    *out = e.dn;
    return QS_OK;
}

static void
develop_row(void *context, int y)
{
    const struct developing *d = context;
    float *px = gr_picture_row(&d->picture, y);

    d->recipe->demosaic->row(&d->mosaic, y, px);
    if (d->picture.channels == 1)
        return;
    for (int x = 0; x < d->picture.width; x++, px += 3) {
        struct gr_rgb v = gr_apply(&d->to_output, (struct gr_rgb){px[0], px[1], px[2]});

        px[0] = (float)v.r;
        px[1] = (float)v.g;
        px[2] = (float)v.b;
    }
}

/* Black is taken off and every colour brought to the white of green (G8). */
static struct gr_mosaic
balanced(const struct gr_recipe *recipe, const uint16_t *dn)
{
    const struct gr_sensor *s = &recipe->sensor;
    struct gr_mosaic m = {.dn = dn,
                          .width = recipe->width,
                          .height = recipe->height,
                          .black_dn = (float)s->black_dn};

    for (int i = 0; i < 4; i++) {
        double white = recipe->demosaic->channels == 1
                           ? 1.0
                           : recipe->response->white[gr_mosaic_channel(i & 1, i >> 1)];

        m.per_dn[i] = (float)(1.0 / (white * (s->white_dn - s->black_dn)));
    }
    return m;
}

enum qs_status
gr_develop(const struct gr_recipe *recipe, const uint16_t *dn, struct qs_pool *pool,
           struct gr_picture *out, struct qs_error *err)
{
    struct gr_matrix scene = gr_response_to_scene(recipe->response);
    struct gr_matrix space = gr_space_from_scene(recipe->space);
    struct developing d = {
        .recipe = recipe,
        .mosaic = balanced(recipe, dn),
        .to_output = gr_matrix_product(&space, &scene),
        .picture = {NULL, recipe->width, recipe->height, recipe->demosaic->channels}};

    d.picture.px = qs_alloc((size_t)recipe->width * (size_t)recipe->height,
                            (size_t)d.picture.channels * sizeof(float));
    *out = d.picture;
    if (d.picture.px == NULL)
        return qs_fail_memory(err);
    qs_pool_run(pool, recipe->height, develop_row, &d);
    return QS_OK;
}

enum qs_status
gr_frame_make(const struct gr_recipe *recipe, struct qs_pool *pool,
              struct gr_picture *out, struct qs_error *err)
{
    uint16_t *dn;
    enum qs_status status = gr_expose(recipe, pool, &dn, err);

    out->px = NULL;
    if (status != QS_OK)
        return status;
    status = gr_develop(recipe, dn, pool, out, err);
    qs_free(dn);
    if (status != QS_OK)
        return status;
    status = gr_retouch(recipe, pool, out, err);
    if (status != QS_OK) {
        qs_free(out->px);
        out->px = NULL;
    }
    return status;
}
