/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "demo.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/memory.h"
#include "frame_write.h"

struct shot_list {
    const char *scene;
    double iso;
};

static const struct shot_list shots[] = {
    {"wedge", 100},   {"wedge", 200},     {"wedge", 400},      {"wedge", 800},
    {"wedge", 1600},  {"wedge", 3200},    {"wedge", 6400},     {"wedge", 12800},
    {"wedge", 25600}, {"workshop", 3200}, {"workshop", 12800},
};

enum {
    SHOTS = sizeof shots / sizeof shots[0]
};

static const struct gr_scene *
scene_named(const char *name)
{
    const struct gr_scene *scene = gr_scenes;

    while (strcmp(scene->name, name) != 0)
        scene++;
    return scene;
}

/* All under the warm lamps of the workshop, so that they belong to one sheet. */
static struct gr_recipe
recipe_of(int index, bool small, uint64_t seed)
{
    struct gr_recipe recipe = gr_recipe_default();

    gr_recipe_set_iso(&recipe, shots[index].iso);
    recipe.scene = scene_named(shots[index].scene);
    recipe.response = &gr_responses[1];
    recipe.width = small ? 2160 : 6000;
    recipe.height = small ? 1440 : 4000;
    recipe.seed = seed * 1000 + (uint64_t)index;
    return recipe;
}

static enum qs_status
write_shot(const char *dir, int index, const struct gr_recipe *recipe,
           struct qs_pool *pool, struct qs_error *err)
{
    size_t room = strlen(dir) + 64;
    char *path = qs_alloc(room, 1);
    enum qs_status status;

    if (path == NULL)
        return qs_fail_memory(err);
    snprintf(path, room, "%s/%s-iso%05.0f.tif", dir, shots[index].scene,
             shots[index].iso);
    fprintf(stderr, "%2d of %d: %s\n", index + 1, SHOTS, path);
    status = gr_frame_to_file(recipe, pool, path, err);
    qs_free(path);
    return status;
}

enum qs_status
gr_demo_write(const char *dir, bool small, uint64_t seed, struct qs_pool *pool,
              struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (mkdir(dir, 0777) != 0 && errno != EEXIST)
        return qs_fail(
            err, QS_ERR_WRITE,
            "The folder %s could not be made; see whether the one above it exists.",
            dir);
    for (int i = 0; i < SHOTS && status == QS_OK; i++) {
        struct gr_recipe recipe = recipe_of(i, small, seed);

        status = write_shot(dir, i, &recipe, pool, err);
    }
    return status;
}
