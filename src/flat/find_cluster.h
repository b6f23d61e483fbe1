/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_cluster.h - the clusters that numbers in order form
 *
 * Part of the search for flat patches (find.h).  The numbers are logarithms of
 * variances; noise makes them a cluster with nothing below it, and texture adds
 * numbers above it.
 *
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equation P6.
 */
#ifndef QS_FLAT_FIND_CLUSTER_H
#define QS_FLAT_FIND_CLUSTER_H

#include <stddef.h>

/*
 * Climbs from `at` to the mean of the sorted values within `reach` of it, and so on
 * until it stays: the centre of a cluster.  Stays where it is if none is near.
 */
double
qs_cluster_climb(const double *sorted, size_t count, double at, double reach);

/*
 * The cluster's spread by what lies below its centre, out to 3.5 times the spread
 * itself; never less than `least` nor more than `most`.
 */
double
qs_cluster_spread(const double *sorted, size_t count, double centre, double least,
                  double most);

#endif
