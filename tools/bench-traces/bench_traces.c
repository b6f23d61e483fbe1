/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_traces - how often each spoiler is seen, and how often one is seen that is not
 * there: the table of docs/method/traces.md
 *
 *     bench_traces [FRAMES [SIDE [PATCHES [NOISE [WORDS]]]]]
 *
 * FRAMES per sensor and deed (20), SIDE of a patch in px (160), PATCHES in a frame (6),
 * NOISE 1 = sd 0.006 at middle grey; of the deeds those that have WORDS in their name.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "frame/warnings.h"
#include "trace_sim.h"

struct tally {
    int frames;
    int seen;  /* the warning that was expected */
    int other; /* frames with one that was not */
};

static void
count_frame(const struct ts_deed *deed, const struct qs_frame *frame,
            struct tally *tally)
{
    int other = 0;

    for (int code = 0; code < QS_WARNINGS; code++)
        if (code != deed->expected && code != deed->also && deed->also != -2)
            other += qs_is_warned(frame, (enum qs_warning_code)code);
    tally->frames++;
    tally->seen += deed->expected >= 0 &&
                   qs_is_warned(frame, (enum qs_warning_code)deed->expected);
    tally->other += other > 0;
}

/* The worst sensor's share seen goes into the table as well: an average hides it. */
static void
bench(const struct ts_deed *deed, int frames, struct ts_setting setting)
{
    struct tally all = {0, 0, 0};
    const char *worst = "";
    double least = 2.0;

    for (int b = 0; b < ts_base_count; b++) {
        struct tally own = {0, 0, 0};

        if (deed->colour && ts_bases[b].demosaic == TS_GREY)
            continue;
        for (int i = 0; i < frames; i++) {
            struct qs_frame frame;

            setting.seed = 1000003u * (uint64_t)(deed - ts_deeds) +
                           1009u * (uint64_t)b + (uint64_t)i;
            if (!ts_judge(&ts_bases[b], deed, &setting, &frame))
                abort();
            count_frame(deed, &frame, &own);
            qs_frame_clear(&frame);
        }
        all.frames += own.frames;
        all.seen += own.seen;
        all.other += own.other;
        if ((double)own.seen / own.frames < least) {
            least = (double)own.seen / own.frames;
            worst = ts_bases[b].name;
        }
    }
    printf("| %s | %s | %d | ", deed->name,
           deed->expected < 0 ? "none"
                              : qs_warning_key((enum qs_warning_code)deed->expected),
           all.frames);
    if (deed->expected < 0)
        printf("| ");
    else
        printf("%.1f %%%s%s | ", 100.0 * all.seen / all.frames,
               least < 1.0 ? ", worst " : "", least < 1.0 ? worst : "");
    printf("%d |\n", all.other);
    (void)fflush(stdout);
}

static double
argument(int argc, char **argv, int at, double otherwise)
{
    double value = at < argc ? strtod(argv[at], NULL) : otherwise;

    return value > 0.0 ? value : otherwise;
}

int
main(int argc, char **argv)
{
    int frames = (int)argument(argc, argv, 1, 20.0);
    struct ts_setting setting = {.side_px = (int)argument(argc, argv, 2, 160.0),
                                 .patches = (int)argument(argc, argv, 3, 6.0),
                                 .noise = argument(argc, argv, 4, 1.0)};

    if (setting.patches > 12 || setting.side_px < 32) {
        (void)fputs("At most 12 patches, of 32 px and more.\n", stderr);
        return EXIT_FAILURE;
    }
    printf("%d frames for each of %d sensors; %d patches of %d px; noise %g\n\n",
           frames, ts_base_count, setting.patches, setting.side_px, setting.noise);
    printf("| done to the frame | expected | frames | seen | with a false alarm |\n"
           "|---|---|---|---|---|\n");
    for (int d = 0; d < ts_deed_count; d++)
        if (argc <= 5 || strstr(ts_deeds[d].name, argv[5]) != NULL)
            bench(&ts_deeds[d], frames, setting);
    return EXIT_SUCCESS;
}
