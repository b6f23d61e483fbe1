/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text_scene.h"

#include <limits.h>
#include <math.h>

#include "report/digest.h"
#include "report/phrase.h"
#include "report/scene_tables.h"
#include "report/scene_words.h"
#include "report/text.h"
#include "report/text_parts.h"
#include "report/text_sizes.h"
#include "report/words.h"
#include "report/wrap.h"

/* Of fixed noise this much of the power hardly shows. */
static const double LITTLE = 0.02;

/* "this scene's noise at ISO 3200" */
static void
say_noise(struct qs_phrase *sentence, const struct qs_frame *random)
{
    qs_say(sentence, "this scene's noise");
    if (random->shot.iso > 0.0)
        qs_say(sentence, " at ISO" QS_GLUE "%.0f", random->shot.iso);
}

static void
say_parts(struct qs_phrase *sentence, const struct qs_same_scene *scene, int mid)
{
    const struct qs_repeats *repeats = &scene->patches[mid].channel[QS_Y];
    double share = qs_random_share(repeats);

    qs_say(sentence, "Of ");
    say_noise(sentence, &scene->random);
    qs_say(sentence,
           ", %.0f" QS_GLUE "%% is random, different in every frame, and %.0f" QS_GLUE
           "%% fixed, the same in all; averaging 4" QS_GLUE
           "frames would make it %.1f" QS_GLUE "stops quieter, averaging 16" QS_GLUE
           "frames %.1f.",
           100.0 * share, 100.0 * (1.0 - share), qs_averaged_stops(repeats, 4),
           qs_averaged_stops(repeats, 16));
    if (1.0 - share <= LITTLE)
        qs_say(sentence, " Fixed noise hardly counts here.");
}

/* Without a flat patch there is a random part alone. */
static void
say_random_alone(struct qs_phrase *sentence, const struct qs_same_scene *scene)
{
    const struct qs_tone_class *tones = scene->tones[QS_Y];
    int best = 0;

    for (int i = 1; i < scene->tone_count[QS_Y]; i++)
        if (fabs(tones[i].mean - QS_MID_GREY) < fabs(tones[best].mean - QS_MID_GREY))
            best = i;
    if (scene->tone_count[QS_Y] == 0) {
        qs_say(sentence, "Nothing in this scene could be measured.");
        return;
    }
    qs_say(sentence, "The random part of ");
    say_noise(sentence, &scene->random);
    qs_say(sentence,
           " is %.3g" QS_GLUE
           "%% of white at the tone nearest to middle grey (%.1f" QS_GLUE
           "%% of white); averaging 4" QS_GLUE "frames would make it 2 stops quieter.",
           100.0 * tones[best].sd, 100.0 * tones[best].mean);
}

static void
put_sentence(FILE *out, const struct qs_same_scene *scene, int mid)
{
    struct qs_phrase sentence = {.used = 0};

    if (mid >= 0)
        say_parts(&sentence, scene, mid);
    else
        say_random_alone(&sentence, scene);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", sentence.text);
}

static void
put_title(FILE *out, const char *const *paths, const struct qs_same_scene *scene)
{
    (void)fprintf(out, "%d repeats of one scene, the first one\n", scene->frames);
    qs_put_name(out, paths[0]);
    qs_put_facts(out, &scene->random, false);
}

static void
put_light(FILE *out, const struct qs_same_scene *scene)
{
    double low = HUGE_VAL, high = -HUGE_VAL;
    struct qs_phrase phrase = {.used = 0};

    for (int k = 0; k < scene->frames; k++) {
        low = fmin(low, scene->light[k].of_mean[QS_Y]);
        high = fmax(high, scene->light[k].of_mean[QS_Y]);
    }
    qs_say(&phrase,
           "The frames show the same, pixel by pixel, as far as can be told; their "
           "brightness keeps within %.2f" QS_GLUE "%%.",
           100.0 * (high / low - 1.0));
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", phrase.text);
}

static void
put_fall_note(FILE *out)
{
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ",
            "The random part falls with the delivery size as below, whether frames are "
            "averaged or not.");
}

enum qs_status
qs_text_scene(FILE *out, const char *const *paths, const struct qs_same_scene *scene,
              bool all_patches, struct qs_error *err)
{
    const struct qs_frame *random = &scene->random;
    struct qs_digest digest;
    enum qs_status status = qs_digest(random, &digest, err);

    if (status != QS_OK)
        return status;
    put_title(out, paths, scene);
    put_sentence(out, scene, digest.mid);
    if (digest.mid >= 0)
        status = qs_scene_patches(out, scene, all_patches ? INT_MAX : QS_TEXT_PATCHES,
                                  digest.mid, err);
    if (status == QS_OK)
        status = qs_scene_tones(out, scene, err);
    if (status == QS_OK && digest.mid >= 0 && digest.delivery >= 0) {
        put_fall_note(out);
        status = qs_text_sizes(out, random, &digest, err);
    }
    if (status != QS_OK)
        return status;
    put_light(out, scene);
    qs_put_warnings(out, random);
    (void)fputc('\n', out);
    return QS_OK;
}
