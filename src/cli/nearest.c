/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/nearest.h"

#include <stddef.h>
#include <string.h>

enum {
    LONGEST = 31, /* letters compared; longer words are far from everything */
    FAR = LONGEST + 1
};

static int
least(int a, int b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance (textbook; from memory). */
static int
slips(const char *a, const char *b)
{
    const int m = (int)strlen(a), n = (int)strlen(b);
    int d[LONGEST + 1][LONGEST + 1];

    if (m > LONGEST || n > LONGEST)
        return FAR;
    for (int i = 0; i <= m; i++)
        for (int j = 0; j <= n; j++) {
            if (i == 0 || j == 0) {
                d[i][j] = i + j;
                continue;
            }
            d[i][j] = least(least(d[i - 1][j], d[i][j - 1]) + 1,
                            d[i - 1][j - 1] + (a[i - 1] != b[j - 1]));
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                d[i][j] = least(d[i][j], d[i - 2][j - 2] + 1);
        }
    return d[m][n];
}

const char *
qs_nearest(const char *word, const char *const *names, int count)
{
    const char *best = NULL;
    int fewest = (int)strlen(word) / 3 + 1;

    for (int i = 0; i < count; i++) {
        int distance = slips(word, names[i]);

        if (distance < fewest || (distance == fewest && best == NULL)) {
            fewest = distance;
            best = names[i];
        }
    }
    return best;
}
