/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Strips packed by many threads at once: the file is the same to the byte as that of
 * one thread.
 */
#include <string.h>
#include <unistd.h>

#include "base/pool.h"
#include "check_main.h"
#include "image_check.h"
#include "writer_check.h"

struct work {
    const struct qs_picture_plan *plan;
    const uint8_t *codes;
    struct qs_writer *writer;
    struct qs_packed *packed;
    enum qs_status *status;
};

static void
pack_one(void *context, int index)
{
    struct work *work = context;
    size_t first = (size_t)(index * qs_writer_strip_rows(work->writer));

    work->status[index] = qs_writer_pack(
        work->writer, index, work->codes + first * line_bytes(work->plan),
        rows_of_strip(work->writer, work->plan, index), &work->packed[index], NULL);
}

static void
write_by_many(const char *path, const struct qs_picture_plan *plan,
              const uint8_t *codes, struct qs_pool *pool)
{
    struct work work = {.plan = plan, .codes = codes};
    struct qs_error err = {0};
    int strips;

    ck_assert_int_eq(qs_writer_open(path, plan, &work.writer, &err), QS_OK);
    strips = qs_writer_strips(work.writer);
    work.packed = calloc((size_t)strips, sizeof *work.packed);
    work.status = calloc((size_t)strips, sizeof *work.status);
    qs_pool_run(pool, strips, pack_one, &work);
    for (int i = 0; i < strips; i++) {
        ck_assert_int_eq(work.status[i], QS_OK);
        ck_assert_int_eq(qs_writer_put(work.writer, &work.packed[i], &err), QS_OK);
        qs_packed_clear(&work.packed[i]);
    }
    ck_assert_int_eq(qs_writer_close(work.writer, NULL, &err), QS_OK);
    free(work.packed);
    free(work.status);
}

static void
same_by_one_and_by_many(const struct qs_picture_plan *plan, struct qs_pool *pool)
{
    uint8_t *codes = noise_of(plan), *one, *many;
    size_t one_size = 0, many_size = 0;
    char by_one[64], by_many[64];

    scratch_file(by_one);
    scratch_file(by_many);
    write_by_one(by_one, plan, codes);
    write_by_many(by_many, plan, codes, pool);
    one = read_bytes(by_one, &one_size);
    many = read_bytes(by_many, &many_size);
    ck_assert_uint_eq(one_size, many_size);
    ck_assert_mem_eq(one, many, one_size);
    unlink(by_one);
    unlink(by_many);
    free(one);
    free(many);
    free(codes);
}

START_TEST(threads_do_not_show)
{
    struct qs_pool *pool;
    struct qs_error err = {0};

    ck_assert_int_eq(qs_pool_new(4, &pool, &err), QS_OK);
    for (int compression = 0; compression < QS_COMPRESSIONS; compression++)
        for (int format = 0; format < 2; format++) {
            const struct qs_picture_plan plan = {.width = 200,
                                                 .height = 650,
                                                 .channels = 3,
                                                 .bits = 16,
                                                 .format = (enum qs_file_format)format,
                                                 .compression =
                                                     (enum qs_compression)compression,
                                                 .orientation = 1};

            if (is_possible(&plan))
                same_by_one_and_by_many(&plan, pool);
        }
    qs_pool_free(pool);
}
END_TEST

QS_TEST_MAIN("writer_threads", threads_do_not_show)
