/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_patches.c - how well the finder of flat patches does, and where it fails
 *
 *   bench_patches [pictures [first-seed]]
 *   bench_patches photos [--each] [--reduce N] [--pedestal P] FILE...
 *
 * The first draws scenes.  For every scene and kind of noise it draws so many pictures
 * at each of three strengths of noise, runs the finder and prints a row: pictures,
 * share with no patch, median, 90th percentile and worst of the pictures' errors (a
 * picture's error is the median over its patches and channels of sd / truth - 1),
 * patches a picture, patches across an edge of known regions, share of the frame
 * covered, least side, time.
 *
 * The second takes clean pictures from files and gives them noise of known strength, as
 * 16-bit linear files have it, cut at both ends; a row for each kind and strength.
 * --reduce N takes means of N by N pixels first, which takes most of a picture's own
 * noise away; --pedestal P leaves room for P below black and above white, so that
 * hardly any noise is cut; --each prints every picture's outcome too.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "photos.h"
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

/* Shadows' read noise goes with the strength: b is from a camera's low to high ISO. */
static const struct strength photo_strengths[] = {
    {2e-4, 1e-6}, {5e-4, 2e-6}, {2e-3, 1e-5}, {1e-2, 1e-4}};

static const enum noise_kind photo_kinds[] = {NOISE_WHITE, NOISE_DEMOSAICED,
                                              NOISE_GRADIENT};

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

/* What is asked for of the pictures in files. */
struct request {
    char **file;
    int files;
    int reduce;
    double pedestal;
    bool each;
};

static void
run_photo(const char *path, int index, const struct request *request,
          const struct noise *noise, struct tally *tally)
{
    struct qs_random random;
    struct picture picture = photo_read(path, request->reduce);
    struct frame frame;
    struct outcome outcome;

    qs_random_seed(&random, 1 + (unsigned long)index * 7919UL);
    frame = frame_make(&picture, noise, &random);
    frame_to_codes(&frame, request->pedestal);
    outcome = outcome_of(&frame, NULL);
    count_outcome(tally, &outcome);
    if (request->each)
        printf("  %s %s a %g: %d patches of %d px and more, error %+.1f %%, "
               "worst %+.1f %%\n",
               path, noise_name[noise->kind], noise->a, outcome.patches,
               outcome.smallest, 100.0 * outcome.error, 100.0 * outcome.worst);
    frame_free(&frame);
    picture_free(&picture);
}

static void
run_photos(const struct request *request)
{
    static struct tally tally;

    for (size_t k = 0; k < sizeof photo_kinds / sizeof photo_kinds[0]; k++) {
        for (size_t l = 0; l < sizeof photo_strengths / sizeof photo_strengths[0];
             l++) {
            struct noise noise = {photo_kinds[k], photo_strengths[l].a,
                                  photo_strengths[l].b};
            char name[32];

            tally = (struct tally){0};
            for (int i = 0; i < request->files; i++)
                run_photo(request->file[i], i, request, &noise, &tally);
            snprintf(name, sizeof name, "a = %g", noise.a);
            print_tally(name, noise_name[noise.kind], &tally);
        }
    }
}

static void
print_head(const char *first)
{
    printf("| %-12s | noise      | pics | none %%  | median %% |  p90 %% | worst %% | "
           "patches | across | cover | px | ms |\n"
           "|---|---|---|---|---|---|---|---|---|---|---|---|\n",
           first);
}

static int
usage(void)
{
    fprintf(stderr,
            "usage: bench_patches [pictures 1..%d [first-seed]]\n"
            "       bench_patches photos [--each] [--reduce 1..16] [--pedestal 0..1] "
            "FILE...\n",
            PICTURES_MAX / 3);
    return 2;
}

static int
main_photos(int argc, char **argv)
{
    struct request request = {.reduce = 1};
    int i = 0;

    for (; i < argc && argv[i][0] == '-'; i++) {
        if (strcmp(argv[i], "--each") == 0)
            request.each = true;
        else if (strcmp(argv[i], "--reduce") == 0 && i + 1 < argc)
            request.reduce = atoi(argv[++i]);
        else if (strcmp(argv[i], "--pedestal") == 0 && i + 1 < argc)
            request.pedestal = strtod(argv[++i], NULL);
        else
            return usage();
    }
    request.file = argv + i;
    request.files = argc - i;
    if (request.files < 1 || request.files > PICTURES_MAX || request.reduce < 1 ||
        request.reduce > 16 || !(request.pedestal >= 0.0 && request.pedestal <= 1.0))
        return usage();
    print_head("strength");
    run_photos(&request);
    return 0;
}

int
main(int argc, char **argv)
{
    int pictures = argc > 1 ? atoi(argv[1]) : 10;
    unsigned long seed = argc > 2 ? strtoul(argv[2], NULL, 10) : 1;

    if (argc > 1 && strcmp(argv[1], "photos") == 0)
        return main_photos(argc - 2, argv + 2);
    if (pictures < 1 || pictures > PICTURES_MAX / 3)
        return usage();
    print_head("scene");
    for (int s = 0; s < scene_count; s++) {
        for (int kind = 0; kind < NOISE_KINDS; kind++)
            run_row(&scene_table[s], (enum noise_kind)kind, pictures, seed);
    }
    return 0;
}
