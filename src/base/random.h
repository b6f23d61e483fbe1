/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * random.h - seeded random numbers, the same on every machine
 *
 * For simulated frames and tests, never for secrets.  The generator is
 * xoshiro256** (Blackman and Vigna 2018, from memory), seeded by splitmix64.
 *
 * Threads: one struct qs_random per thread.
 */
#ifndef QS_BASE_RANDOM_H
#define QS_BASE_RANDOM_H

#include <stdbool.h>
#include <stdint.h>

struct qs_random {
    uint64_t state[4];
    bool has_spare; /* a second normal value waits in `spare` */
    double spare;
};

void
qs_random_seed(struct qs_random *random, uint64_t seed);

uint64_t
qs_random_bits(struct qs_random *random);

/* Even in [0, 1). */
double
qs_random_even(struct qs_random *random);

/* Normal with mean 0 and sd 1 (polar method). */
double
qs_random_normal(struct qs_random *random);

/*
 * Poisson with the given mean, >= 0.  Exact below 60 (counting); above that a
 * normal rounded to whole numbers and cut at 0, whose variance is exact to
 * 1/12 and whose skew is left out.
 */
double
qs_random_poisson(struct qs_random *random, double mean);

#endif
