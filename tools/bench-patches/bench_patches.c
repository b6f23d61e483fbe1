/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_patches.c - how well the finder of flat patches does, and where it fails
 *
 *   bench_patches [pictures [first-seed]]
 *
 * For every scene and kind of noise it draws so many pictures at each of three
 * strengths of noise, runs the finder and prints a row: pictures, share with no
 * patch, median, 90th percentile and worst of the pictures' errors (a picture's error
 * is the median over its patches of sd / truth - 1), patches a picture, patches across
 * an edge of known regions, share of the frame covered, least side, time.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "scenes.h"
#include "sim.h"

enum {
    WIDTH = 640,
    HEIGHT = 480,
    PICTURES_MAX = 4096
};

/* Variance of a sample of value m: a m + b.  A mid-grey's SNR is about 18, 9 and 4. */
static const struct strength {
    double a;
    double b;
} strength_table[] = {{5e-4, 2e-6}, {2e-3, 1e-5}, {1e-2, 5e-5}};

struct tally {
    int pictures;
    int refused;
    int patches;
    int across;
    int smallest;
    double covered;
    double seconds;
    double error[PICTURES_MAX];
    int errors;
};

static int
by_size(const void *a, const void *b)
{
    double x = fabs(*(const double *)a), y = fabs(*(const double *)b);

    return (x > y) - (x < y);
}

static void
count_outcome(struct tally *t, const struct outcome *o)
{
    t->pictures++;
    t->seconds += o->seconds;
    if (o->patches == 0) {
        t->refused++;
        return;
    }
    t->patches += o->patches;
    t->across += o->across;
    t->covered += o->covered;
    if (t->smallest == 0 || o->smallest < t->smallest)
        t->smallest = o->smallest;
    if (t->errors < PICTURES_MAX)
        t->error[t->errors++] = o->error;
}

static void
print_tally(const char *scene, const char *noise, struct tally *t)
{
    printf("| %-12s | %-10s | %4d | %5.1f | ", scene, noise, t->pictures,
           100.0 * t->refused / t->pictures);
    if (t->errors == 0) {
        printf("     - |     - |     - |     - |    - |    - |   - |");
    } else {
        qsort(t->error, (size_t)t->errors, sizeof t->error[0], by_size);
        printf("%6.1f | %5.1f | %5.1f | %5.1f | %4d | %4.2f | %3d |",
               100.0 * fabs(t->error[t->errors / 2]),
               100.0 * fabs(t->error[t->errors * 9 / 10]),
               100.0 * fabs(t->error[t->errors - 1]), (double)t->patches / t->errors,
               t->across, t->covered / t->errors, t->smallest);
    }
    printf(" %4.0f |\n", 1e3 * t->seconds / t->pictures);
    fflush(stdout);
}

static void
run_picture(const struct scene *scene, const struct noise *noise, unsigned long seed,
            struct tally *tally)
{
    struct qs_random random;
    struct picture picture;
    struct frame frame;
    struct outcome outcome;

    qs_random_seed(&random, seed);
    picture = scene->draw(WIDTH, HEIGHT, &random);
    frame = frame_make(&picture, noise, &random);
    outcome = outcome_of(&frame, picture.label);
    count_outcome(tally, &outcome);
    frame_free(&frame);
    picture_free(&picture);
}

static void
run_row(const struct scene *scene, enum noise_kind kind, int pictures,
        unsigned long seed)
{
    static struct tally tally;

    tally = (struct tally){0};
    for (size_t l = 0; l < sizeof strength_table / sizeof strength_table[0]; l++) {
        struct noise noise = {kind, strength_table[l].a, strength_table[l].b};

        for (int i = 0; i < pictures; i++)
            run_picture(scene, &noise, seed + (unsigned long)i * 7919UL, &tally);
    }
    print_tally(scene->name, noise_name[kind], &tally);
}

int
main(int argc, char **argv)
{
    int pictures = argc > 1 ? atoi(argv[1]) : 10;
    unsigned long seed = argc > 2 ? strtoul(argv[2], NULL, 10) : 1;

    if (pictures < 1 || pictures > PICTURES_MAX / 3) {
        fprintf(stderr, "usage: bench_patches [pictures 1..%d [first-seed]]\n",
                PICTURES_MAX / 3);
        return 2;
    }
    puts("| scene        | noise      | pics | none %  | median % |  p90 % | worst % | "
         "patches "
         "| across | cover | px | ms |");
    puts("|---|---|---|---|---|---|---|---|---|---|---|---|");
    for (int s = 0; s < scene_count; s++) {
        for (int kind = 0; kind < NOISE_KINDS; kind++)
            run_row(&scene_table[s], (enum noise_kind)kind, pictures, seed);
    }
    return 0;
}
