/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fingerprint.h - a delivery known again by what it was made of
 *
 * A hash over the source's samples, profile and notes, and over all settings: the same
 * picture under another name has the same one, and a picture changed in a single
 * sample another one.  It guards against mistakes, not against forgers.
 *
 * Threads: a fingerprint belongs to one thread at a time.
 */
#ifndef QS_DELIVER_FINGERPRINT_H
#define QS_DELIVER_FINGERPRINT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "image/seal.h"

struct qs_fingerprint;

/* QS_OK: *out is to be freed with qs_fingerprint_free; QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_fingerprint_new(struct qs_fingerprint **out, struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_fingerprint_free(struct qs_fingerprint *fingerprint);

/* Adds what follows; how it is cut into pieces makes no difference. */
void
qs_fingerprint_add(struct qs_fingerprint *fingerprint, const void *bytes, size_t count);

/* What was added so far as a line of exactly QS_SEAL_BYTES, its end counted. */
void
qs_fingerprint_text(const struct qs_fingerprint *fingerprint,
                    char text[QS_SEAL_BYTES + 1]);

/* Whether `text` is such a line, whatever it was made of. */
bool
qs_fingerprint_is_text(const char text[QS_SEAL_BYTES + 1]);

#endif
