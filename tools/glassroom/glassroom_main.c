/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <tiffio.h>

#include "base/pool.h"
#include "demo.h"
#include "frame_write.h"
#include "glassroom_options.h"
#include "truth.h"

enum {
    EXIT_USAGE = 2
};

static enum qs_status
run(const struct gr_options *options, struct qs_error *err)
{
    struct qs_pool *pool;
    enum qs_status status = qs_pool_new(options->threads, &pool, err);

    if (status != QS_OK)
        return status;
    status = options->demo != NULL
                 ? gr_demo_write(options->demo, options->small, options->recipe.seed,
                                 pool, err)
                 : gr_frame_to_file(&options->recipe, pool, options->out, err);
    if (status == QS_OK && options->truth != NULL && options->demo == NULL)
        status = gr_truth_write(&options->recipe, options->truth, err);
    qs_pool_free(pool);
    return status;
}

int
main(int argc, char **argv)
{
    struct gr_options options;
    struct qs_error err;
    enum qs_status status;

    qs_error_clear(&err);
    TIFFSetErrorHandler(NULL);
    TIFFSetWarningHandler(NULL);
    status = gr_options_read(argc, argv, &options, &err);
    if (status == QS_OK && options.help) {
        gr_options_help(stdout);
        return EXIT_SUCCESS;
    }
    if (status == QS_OK)
        status = run(&options, &err);
    if (status == QS_OK)
        return EXIT_SUCCESS;
    fprintf(stderr, "glassroom: %s\n", err.text);
    return status == QS_ERR_USAGE ? EXIT_USAGE : EXIT_FAILURE;
}
