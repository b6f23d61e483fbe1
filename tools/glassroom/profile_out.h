/* SPDX-License-Identifier: GPL-3.0-or-later */
/* profile_out.h - the ICC profile that says what the file's code values mean */
#ifndef GLASSROOM_PROFILE_OUT_H
#define GLASSROOM_PROFILE_OUT_H

#include <stddef.h>

#include "base/status.h"
#include "output_space.h"

struct gr_profile {
    unsigned char *bytes; /* freed by qs_free */
    size_t size;
};

/*
 * A matrix and curve profile of the space, or a curve alone for 1 channel.
 * Its date is fixed, so that the same frame gives the same file.
 *
 *   QS_OK
 *   QS_ERR_MEMORY   out->bytes is NULL
 *   QS_ERR_PROFILE  Little CMS could not make it; out->bytes is NULL
 */
QS_MUST_CHECK enum qs_status
gr_profile_make(const struct gr_space *space, int channels, struct gr_profile *out,
                struct qs_error *err);

#endif
