/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/json_scene.h"

#include <stdio.h>

#include "report/json_values.h"
#include "report/scene_words.h"

static bool
put_number(json_t *object, const char *name, const char *of, double value)
{
    char key[48];

    (void)snprintf(key, sizeof key, "%s%s", name, of);
    return qs_json_put(object, key, qs_json_number(value));
}

/* "sd_random", "sd_random_low" ... */
static bool
put_part(json_t *object, const char *name, const struct qs_repeats_part *part)
{
    char sd[32];

    (void)snprintf(sd, sizeof sd, "sd_%s", name);
    return put_number(object, sd, "", part->sd) &&
           put_number(object, sd, "_low", part->sd_low) &&
           put_number(object, sd, "_high", part->sd_high) &&
           put_number(object, "row_sd_", name, part->row_sd) &&
           put_number(object, "column_sd_", name, part->column_sd) &&
           put_number(object, "pixel_sd_", name, part->pixel_sd);
}

/* {"2": ..., "4": ...}: the noise left in the mean of so many frames. */
static bool
put_averaged(json_t *object, const struct qs_repeats *repeats)
{
    json_t *made = json_object();
    bool ok = qs_json_put(object, "sd_averaged", made);

    for (int i = 0; ok && i < QS_AVERAGES; i++) {
        char key[16];

        (void)snprintf(key, sizeof key, "%d", qs_averages[i]);
        ok = qs_json_put(made, key,
                         qs_json_number(qs_repeats_averaged(repeats, qs_averages[i])));
    }
    return ok;
}

static bool
put_repeats(json_t *object, const struct qs_repeats *repeats)
{
    return put_number(object, "mean", "", repeats->mean) &&
           put_part(object, "total", &repeats->total) &&
           put_part(object, "random", &repeats->random) &&
           put_part(object, "fixed", &repeats->fixed) &&
           qs_json_put(object, "fixed_below_zero", json_boolean(repeats->fixed_lost)) &&
           qs_json_put(object, "grain_px_random",
                       repeats->has_grain ? qs_json_number(repeats->grain_px)
                                          : json_null()) &&
           put_averaged(object, repeats);
}

static bool
put_patches(json_t *object, const struct qs_same_scene *scene)
{
    const struct qs_frame *random = &scene->random;
    json_t *patches = json_array();
    bool ok = qs_json_put(object, "patches", patches);

    for (int p = 0; ok && p < random->patch_count; p++) {
        const struct qs_patch *patch = &random->patches[p];
        json_t *made = json_object(), *channels = json_object();

        ok = json_array_append_new(patches, made) == 0 &&
             qs_json_put_box(made, patch->box) &&
             qs_json_put(made, "chosen", json_string(patch->found ? "found" : "given"));
        ok = qs_json_put(made, "channels", channels) && ok;
        for (int c = (int)random->first; ok && c < QS_CHANNELS; c++) {
            json_t *channel = json_object();

            ok = qs_json_put(channels, qs_channel_key((enum qs_channel)c), channel) &&
                 put_repeats(channel, &scene->patches[p].channel[c]);
        }
    }
    return ok;
}

static bool
put_class(json_t *object, const struct qs_tone_class *tone)
{
    return put_number(object, "mean", "", tone->mean) &&
           put_number(object, "sd_random", "", tone->sd) &&
           put_number(object, "sd_random", "_low", tone->sd_low) &&
           put_number(object, "sd_random", "_high", tone->sd_high) &&
           qs_json_put(object, "snr",
                       tone->sd > 0.0 ? qs_json_number(tone->mean / tone->sd)
                                      : json_null()) &&
           put_number(object, "pixels", "", tone->pixels) &&
           put_number(object, "clipped", "", tone->clipped);
}

/* "tones": {"r": [{...}, ...], ...}: each channel has classes of its own. */
static bool
put_tones(json_t *object, const struct qs_same_scene *scene)
{
    json_t *tones = json_object();
    bool ok = qs_json_put(object, "tones", tones);

    for (int c = (int)scene->random.first; ok && c < QS_CHANNELS; c++) {
        json_t *list = json_array();

        ok = qs_json_put(tones, qs_channel_key((enum qs_channel)c), list);
        for (int i = 0; ok && i < scene->tone_count[c]; i++) {
            json_t *made = json_object();

            ok = json_array_append_new(list, made) == 0 &&
                 put_class(made, &scene->tones[c][i]);
        }
    }
    return ok;
}

/* "light": [{"file", "r", "g", "b", "y"}, ...]: brightness, 1 = the mean of all. */
static bool
put_light(json_t *object, const char *const *paths, const struct qs_same_scene *scene)
{
    json_t *light = json_array();
    bool ok = qs_json_put(object, "light", light);

    for (int k = 0; ok && k < scene->frames; k++) {
        json_t *made = json_object();

        ok = json_array_append_new(light, made) == 0 &&
             qs_json_put(made, "file", qs_json_text(paths[k]));
        for (int c = (int)scene->random.first; ok && c < QS_CHANNELS; c++)
            ok = put_number(made, qs_channel_key((enum qs_channel)c), "",
                            scene->light[k].of_mean[c]);
    }
    return ok;
}

json_t *
qs_json_scene(const char *const *paths, const struct qs_same_scene *scene)
{
    json_t *made = json_object();

    if (qs_json_put(made, "frames", json_integer(scene->frames)) &&
        put_patches(made, scene) && put_tones(made, scene) &&
        put_light(made, paths, scene) && qs_json_put_falls(made, &scene->random) &&
        qs_json_put_warnings(made, &scene->random))
        return made;
    json_decref(made);
    return NULL;
}
