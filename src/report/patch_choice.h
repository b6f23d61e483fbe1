/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * patch_choice.h - which patches a table shows when it can't show all
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_PATCH_CHOICE_H
#define QS_REPORT_PATCH_CHOICE_H

#include "frame/frame.h"

/*
 * Writes the indices of the frame's patches, or of `most` (>= 2) of them, from the
 * darkest to the brightest in even steps of rank and patch `must` among them, into
 * shown[], which has room for all, in their order; and how many they are into *count.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_choose_patches(const struct qs_frame *frame, int most, int must, int *shown,
                  int *count, struct qs_error *err);

#endif
