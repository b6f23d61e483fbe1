/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * claim.h - how a file is to be read: user, file, or assumption
 *
 * Settles the curve or profile, the luminance weights, and which codes are black
 * and white, from what the user says, else what the file says, else an
 * assumption that is reported as such.
 *
 * Method: docs/method/linear.md, "What is assumed when" and L13.
 */
#ifndef QS_LINEAR_CLAIM_H
#define QS_LINEAR_CLAIM_H

#include "base/status.h"
#include "linear/curve.h"
#include "linear/linear.h"
#include "linear/profile.h"

struct qs_claim {
    struct qs_encoding encoding;
    struct qs_profile *profile; /* owned; NULL = by the curve */
    struct qs_curve curve;
    double black; /* code that is 0.0 */
    double white; /* code that is 1.0, above black */
};

/*
 * Fills *out, which qs_claim_clear empties, also after a failure.  `choice` may
 * be NULL.  Statuses are those of qs_linear_new.
 */
QS_MUST_CHECK enum qs_status
qs_claim_settle(const struct qs_image_info *info,
                const struct qs_encoding_choice *choice, struct qs_claim *out,
                struct qs_error *err);

void
qs_claim_clear(struct qs_claim *claim);

/* The highest code of a sample type; 1.0 for floats. */
double
qs_claim_top_code(enum qs_sample sample);

#endif
