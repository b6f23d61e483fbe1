/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/random.h"

#include <math.h>

static uint64_t
rotate(uint64_t x, int bits)
{
    return (x << bits) | (x >> (64 - bits));
}

void
qs_random_seed(struct qs_random *random, uint64_t seed)
{
    for (int i = 0; i < 4; i++) {
        uint64_t z;

        seed += UINT64_C(0x9e3779b97f4a7c15);
        z = seed;
        z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
        z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
        random->state[i] = z ^ (z >> 31);
    }
    random->has_spare = false;
    random->spare = 0.0;
}

uint64_t
qs_random_bits(struct qs_random *random)
{
    uint64_t *s = random->state;
    uint64_t result = rotate(s[1] * 5, 7) * 9;
    uint64_t t = s[1] << 17;

    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate(s[3], 45);
    return result;
}

double
qs_random_even(struct qs_random *random)
{
    return (double)(qs_random_bits(random) >> 11) * 0x1.0p-53;
}

double
qs_random_normal(struct qs_random *random)
{
    double u, v, r2, scale;

    if (random->has_spare) {
        random->has_spare = false;
        return random->spare;
    }
    do {
        u = 2.0 * qs_random_even(random) - 1.0;
        v = 2.0 * qs_random_even(random) - 1.0;
        r2 = u * u + v * v;
    } while (r2 >= 1.0 || r2 == 0.0);
    scale = sqrt(-2.0 * log(r2) / r2);
    random->spare = v * scale;
    random->has_spare = true;
    return u * scale;
}

double
qs_random_poisson(struct qs_random *random, double mean)
{
    double limit, product;
    int count = 0;

    if (mean >= 60.0) {
        double value = floor(mean + sqrt(mean) * qs_random_normal(random) + 0.5);

        return value > 0.0 ? value : 0.0;
    }
    limit = exp(-mean);
    product = qs_random_even(random);
    while (product > limit) {
        product *= qs_random_even(random);
        count++;
    }
    return count;
}
