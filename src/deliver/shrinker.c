/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/shrinker.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "deliver/round_codes.h"
#include "deliver/transparency.h"
#include "resample/quads.h"
#include "resample/weights.h"

enum {
    STRIPS_PER_THREAD = 1, /* of a round: more are slower, being out of the caches */
    RING_MOST = 64,        /* source rows that are kept decoded; beyond, sums are */
    MORE_JOBS = 2          /* of a round: reading ahead, and putting */
};

/* One delivered strip on its way. */
struct strip {
    void *codes;
    void *made; /* by the sink; NULL = none */
    int rows;
    enum qs_status status;
    struct qs_error err;
};

/* What one strip is worked out in; as many as there are strips in a round. */
struct bench {
    float **ring; /* decoded source rows, by row modulo `ring_rows` */
    int *holds;   /* which row each holds, -1 = none */
    float *sums;  /* delivered rows of a strip as they grow; NULL where rows are kept */
    float *mixed; /* one delivered row, still as wide as the source, */
    float *shrunk;  /*   shrunk across, */
    float *encoded; /*   and as codes */
    const float **rows;
};

struct shrinker {
    const struct qs_shrink_job *job;
    const struct qs_strip_sink *sink;
    struct qs_weights across, down;
    int samples; /* of a delivered pixel, alpha counted */
    enum qs_quad_part part;
    enum qs_alpha alpha; /* of the source */
    int strips;          /* of the picture */
    int per_round;
    int ring_rows; /* as many as taps; 1 where sums grow row by row */
    int first;     /* strip of the round */
    size_t row_bytes, pixel_bytes;
    unsigned char *codes; /* source rows, by row modulo `room` */
    int room;
    int read_to;                /* rows read so far, from the top of the picture */
    struct strip *now, *before; /* strips of this round, and of the one before */
    int now_count, before_count, before_first;
    struct bench *benches;
    enum qs_status read_status, put_status;
    struct qs_error read_err, put_err;
};

static int
strips_from(const struct shrinker *s, int first)
{
    int left = s->strips - first;

    return left < s->per_round ? (left > 0 ? left : 0) : s->per_round;
}

static int
rows_of_strip(const struct shrinker *s, int strip)
{
    int left = s->job->out_height - strip * s->sink->strip_rows;

    return left < s->sink->strip_rows ? left : s->sink->strip_rows;
}

/* Source rows (of the picture) that strips first ... first + count - 1 need: up to
 * here.  With the last strip all of the crop is read, needed or not. */
static int
needed_to(const struct shrinker *s, int first, int count)
{
    int last;

    if (count == 0)
        return s->read_to;
    last = (first + count) * s->sink->strip_rows;
    if (last >= s->job->out_height)
        return s->job->crop.y + s->job->crop.height;
    return s->job->crop.y + s->down.first[last - 1] + s->down.count[last - 1];
}

static unsigned char *
row_place(const struct shrinker *s, int row)
{
    return s->codes + (size_t)(row % s->room) * s->row_bytes;
}

/* Reads on to row `end`; rows that lie together in the ring in one go. */
static enum qs_status
read_rows(struct shrinker *s, int end, struct qs_error *err)
{
    while (s->read_to < end) {
        int count = end - s->read_to, till_wrap = s->room - s->read_to % s->room;
        enum qs_status status;

        if (count > till_wrap)
            count = till_wrap;
        status = qs_image_read(s->job->image, count, row_place(s, s->read_to), err);
        if (status != QS_OK)
            return status;
        if (s->job->print != NULL)
            qs_fingerprint_add(s->job->print, row_place(s, s->read_to),
                               (size_t)count * s->row_bytes);
        s->read_to += count;
    }
    return QS_OK;
}

/* Rows above the crop are passed over. */
static enum qs_status
skip_to_crop(struct shrinker *s, struct qs_error *err)
{
    int top = s->job->crop.y;

    s->read_to = top;
    return top > 0 ? qs_image_skip(s->job->image, top, err) : QS_OK;
}

static void
decode(const struct shrinker *s, const unsigned char *codes, float *quads)
{
    const int width = s->job->crop.width;

    if (s->alpha == QS_ALPHA_NONE)
        qs_linear_decode_quads(s->job->linear, codes, width, quads);
    else
        qs_alpha_decode(s->job->linear, qs_image_info(s->job->image)->sample, s->alpha,
                        codes, width, quads);
}

/* A source row of the crop, decoded; kept until `taps` rows further on, also from one
   strip to a later one of the same bench. */
static const float *
decoded(const struct shrinker *s, struct bench *bench, int row)
{
    int place = row % s->ring_rows;

    if (bench->holds[place] != row) {
        const unsigned char *codes = row_place(s, s->job->crop.y + row) +
                                     (size_t)s->job->crop.x * s->pixel_bytes;

        decode(s, codes, bench->ring[place]);
        bench->holds[place] = row;
    }
    return bench->ring[place];
}

/* A delivered row that is still as wide as the source, made codes. */
static void
finish_row(const struct shrinker *s, struct bench *bench, const float *mixed, int y,
           struct strip *strip, int row_in_strip)
{
    const int width = s->job->out_width;
    const size_t values = (size_t)width * (size_t)s->samples;

    qs_quads_across(mixed, &s->across, s->part, bench->shrunk);
    if (s->job->alpha_out != QS_ALPHA_NONE)
        qs_alpha_divide(s->alpha, s->samples, bench->shrunk, width);
    qs_encode(s->job->encoder, bench->shrunk, width, s->samples, bench->encoded);
    if (s->job->alpha_out != QS_ALPHA_NONE)
        qs_alpha_encode(s->job->alpha_out, s->samples, bench->shrunk, bench->encoded,
                        width);
    if (s->job->bits == 16)
        qs_round_16(bench->encoded, (int)values,
                    (uint16_t *)strip->codes + (size_t)row_in_strip * values);
    else
        qs_round_8(bench->encoded, (int)values, y,
                   (uint8_t *)strip->codes + (size_t)row_in_strip * values);
}

/* Row by row from source rows that are kept decoded. */
static void
make_rows(const struct shrinker *s, struct bench *bench, int top, struct strip *strip)
{
    for (int row = 0; row < strip->rows; row++) {
        const int y = top + row, first = s->down.first[y], count = s->down.count[y];

        for (int k = 0; k < count; k++)
            bench->rows[k] = decoded(s, bench, first + k);
        qs_quads_down(bench->rows, s->down.weight + (ptrdiff_t)y * s->down.taps, count,
                      QS_QUAD * s->job->crop.width, bench->mixed);
        finish_row(s, bench, bench->mixed, y, strip, row);
    }
}

/* All rows together, where each is made of so many source rows that keeping them would
   take too much memory: each is decoded once and added where it belongs. */
static void
add_up_rows(const struct shrinker *s, struct bench *bench, int top, struct strip *strip)
{
    const int values = QS_QUAD * s->job->crop.width, last = top + strip->rows - 1;
    const int end = s->down.first[last] + s->down.count[last];

    for (int source = s->down.first[top]; source < end; source++) {
        const float *row = decoded(s, bench, source);

        for (int i = 0; i < strip->rows; i++) {
            const int k = source - s->down.first[top + i];

            if (k >= 0 && k < s->down.count[top + i])
                qs_quads_add(row,
                             s->down.weight[(ptrdiff_t)(top + i) * s->down.taps + k],
                             values, k == 0, bench->sums + (ptrdiff_t)i * values);
        }
    }
    for (int i = 0; i < strip->rows; i++)
        finish_row(s, bench, bench->sums + (ptrdiff_t)i * values, top + i, strip, i);
}

static void
make_strip(struct shrinker *s, int index)
{
    struct strip *strip = &s->now[index];
    struct bench *bench = &s->benches[index];
    int number = s->first + index, top = number * s->sink->strip_rows;

    strip->rows = rows_of_strip(s, number);
    if (bench->sums == NULL)
        make_rows(s, bench, top, strip);
    else
        add_up_rows(s, bench, top, strip);
    qs_error_clear(&strip->err);
    strip->status = s->sink->pack(s->sink->context, number, strip->codes, strip->rows,
                                  &strip->made, &strip->err);
}

static void
read_ahead(struct shrinker *s)
{
    int next = s->first + s->per_round;

    s->read_status =
        read_rows(s, needed_to(s, next, strips_from(s, next)), &s->read_err);
}

static void
put_before(struct shrinker *s)
{
    for (int i = 0; i < s->before_count && s->put_status == QS_OK; i++) {
        s->put_status = s->sink->put(s->sink->context, s->before_first + i,
                                     s->before[i].made, &s->put_err);
        s->before[i].made = NULL;
    }
}

/* The jobs of a round, the longest first and the shortest last: so threads end about
   together. */
static void
one_job(void *context, int index)
{
    struct shrinker *s = context;

    if (index == 0)
        read_ahead(s);
    else if (index <= s->now_count)
        make_strip(s, index - 1);
    else
        put_before(s);
}

static enum qs_status
first_failure(struct shrinker *s, int count, struct qs_error *err)
{
    if (s->put_status != QS_OK)
        return qs_fail(err, s->put_status, "%s", s->put_err.text);
    for (int i = 0; i < count; i++)
        if (s->now[i].status != QS_OK)
            return qs_fail(err, s->now[i].status, "%s", s->now[i].err.text);
    if (s->read_status != QS_OK)
        return qs_fail(err, s->read_status, "%s", s->read_err.text);
    return QS_OK;
}

static void
change_places(struct shrinker *s, int count)
{
    struct strip *other = s->before;

    s->before = s->now;
    s->now = other;
    s->before_first = s->first;
    s->before_count = count;
    s->first += count;
}

static enum qs_status
run_rounds(struct shrinker *s, struct qs_error *err)
{
    enum qs_status status = skip_to_crop(s, err);

    if (status == QS_OK)
        status = read_rows(s, needed_to(s, 0, strips_from(s, 0)), err);
    while (status == QS_OK && s->first < s->strips) {
        int count = strips_from(s, s->first);

        s->now_count = count;
        qs_pool_run(s->job->pool, count + MORE_JOBS, one_job, s);
        status = first_failure(s, count, err);
        change_places(s, count);
        if (s->job->progress != NULL)
            s->job->progress(s->job->progress_context, (double)s->first / s->strips);
    }
    if (status != QS_OK)
        return status;
    put_before(s);
    return s->put_status == QS_OK ? QS_OK
                                  : qs_fail(err, s->put_status, "%s", s->put_err.text);
}

static bool
bench_init(const struct shrinker *s, struct bench *bench)
{
    size_t wide = (size_t)s->job->crop.width * QS_QUAD;
    size_t narrow = (size_t)(s->job->out_width + 1) * QS_QUAD;
    bool well;

    bench->ring = qs_alloc((size_t)s->ring_rows, sizeof *bench->ring);
    bench->holds = qs_alloc((size_t)s->ring_rows, sizeof *bench->holds);
    bench->rows = qs_alloc((size_t)s->down.taps, sizeof *bench->rows);
    bench->mixed = qs_alloc(wide, sizeof(float));
    bench->shrunk = qs_alloc(narrow, sizeof(float));
    bench->encoded = qs_alloc(narrow, sizeof(float));
    well = bench->ring != NULL && bench->holds != NULL && bench->rows != NULL &&
           bench->mixed != NULL && bench->shrunk != NULL && bench->encoded != NULL;
    if (s->ring_rows < s->down.taps) {
        bench->sums = qs_alloc((size_t)s->sink->strip_rows * wide, sizeof(float));
        well = well && bench->sums != NULL;
    }
    for (int i = 0; bench->ring != NULL && i < s->ring_rows; i++) {
        bench->ring[i] = qs_alloc(wide, sizeof(float));
        if (bench->holds != NULL)
            bench->holds[i] = -1;
        well = well && bench->ring[i] != NULL;
    }
    return well;
}

static void
bench_clear(const struct shrinker *s, struct bench *bench)
{
    for (int i = 0; bench->ring != NULL && i < s->ring_rows; i++)
        qs_free(bench->ring[i]);
    qs_free(bench->sums);
    qs_free(bench->ring);
    qs_free(bench->holds);
    qs_free((void *)bench->rows);
    qs_free(bench->mixed);
    qs_free(bench->shrunk);
    qs_free(bench->encoded);
}

/* Source rows of two rounds, and what the filter reaches over. */
static int
rows_for_rounds(const struct shrinker *s)
{
    double rows = 2.0 * s->per_round * s->sink->strip_rows * s->down.scale +
                  2.0 * s->down.taps + 4.0;

    return (int)fmin(ceil(rows), (double)s->job->crop.y + s->job->crop.height);
}

static enum qs_status
allocate(struct shrinker *s, struct qs_error *err)
{
    size_t bytes = (size_t)s->job->out_width * (size_t)s->samples *
                   (size_t)(s->job->bits / 8) * (size_t)s->sink->strip_rows;
    bool well = true;

    s->room = rows_for_rounds(s);
    s->codes = qs_alloc((size_t)s->room, s->row_bytes);
    s->now = qs_alloc((size_t)s->per_round, sizeof *s->now);
    s->before = qs_alloc((size_t)s->per_round, sizeof *s->before);
    s->benches = qs_alloc((size_t)s->per_round, sizeof *s->benches);
    if (s->codes == NULL || s->now == NULL || s->before == NULL || s->benches == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < s->per_round; i++) {
        s->now[i].codes = qs_alloc(bytes, 1);
        s->before[i].codes = qs_alloc(bytes, 1);
        well = bench_init(s, &s->benches[i]) && well && s->now[i].codes != NULL &&
               s->before[i].codes != NULL;
    }
    return well ? QS_OK : qs_fail_memory(err);
}

static void
clear_strips(const struct shrinker *s, struct strip *strips)
{
    for (int i = 0; strips != NULL && i < s->per_round; i++) {
        if (strips[i].made != NULL)
            s->sink->drop(s->sink->context, strips[i].made);
        qs_free(strips[i].codes);
    }
    qs_free(strips);
}

static void
clear(struct shrinker *s)
{
    for (int i = 0; s->benches != NULL && i < s->per_round; i++)
        bench_clear(s, &s->benches[i]);
    qs_free(s->benches);
    clear_strips(s, s->now);
    clear_strips(s, s->before);
    qs_free(s->codes);
    qs_weights_clear(&s->across);
    qs_weights_clear(&s->down);
}

enum qs_status
qs_shrinker_run(const struct qs_shrink_job *job, const struct qs_strip_sink *sink,
                struct qs_error *err)
{
    struct shrinker s = {.job = job, .sink = sink};
    enum qs_status status;

    s.alpha = qs_image_info(job->image)->alpha;
    s.samples =
        qs_linear_channels(job->linear) + (job->alpha_out == QS_ALPHA_NONE ? 0 : 1);
    s.part = (enum qs_quad_part)s.samples;
    s.row_bytes = qs_image_row_bytes(job->image);
    s.pixel_bytes = s.row_bytes / (size_t)qs_image_info(job->image)->width;
    s.strips = (job->out_height + sink->strip_rows - 1) / sink->strip_rows;
    s.per_round = STRIPS_PER_THREAD * qs_pool_threads(job->pool);
    status =
        qs_weights_init(&s.across, job->filter, job->crop.width, job->out_width, err);
    if (status == QS_OK)
        status = qs_weights_init(&s.down, job->filter, job->crop.height,
                                 job->out_height, err);
    s.ring_rows = s.down.taps <= RING_MOST ? s.down.taps : 1;
    if (status == QS_OK)
        status = allocate(&s, err);
    if (status == QS_OK)
        status = run_rounds(&s, err);
    clear(&s);
    return status;
}
