/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/fingerprint.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <xxhash.h>

/* The number changes whenever the same source and settings give other pixels. */
#define BEGINNING "\nquietsize delivery 1 "

/* A struct qs_fingerprint is xxHash's own state under a name of ours. */

enum qs_status
qs_fingerprint_new(struct qs_fingerprint **out, struct qs_error *err)
{
    XXH3_state_t *state = XXH3_createState();

    *out = (struct qs_fingerprint *)(void *)state;
    if (state == NULL)
        return qs_fail_memory(err);
    (void)XXH3_128bits_reset(state);
    return QS_OK;
}

static XXH3_state_t *
state_of(struct qs_fingerprint *fingerprint)
{
    return (XXH3_state_t *)(void *)fingerprint;
}

void
qs_fingerprint_free(struct qs_fingerprint *fingerprint)
{
    (void)XXH3_freeState(state_of(fingerprint));
}

void
qs_fingerprint_add(struct qs_fingerprint *fingerprint, const void *bytes, size_t count)
{
    if (count > 0)
        (void)XXH3_128bits_update(state_of(fingerprint), bytes, count);
}

void
qs_fingerprint_text(const struct qs_fingerprint *fingerprint,
                    char text[QS_SEAL_BYTES + 1])
{
    XXH128_hash_t hash =
        XXH3_128bits_digest((const XXH3_state_t *)(const void *)fingerprint);

    (void)snprintf(text, QS_SEAL_BYTES + 1, "%s%016" PRIx64 "%016" PRIx64 "%*s\n",
                   BEGINNING, hash.high64, hash.low64,
                   QS_SEAL_BYTES - 1 - 32 - (int)strlen(BEGINNING), "");
}

bool
qs_fingerprint_is_text(const char text[QS_SEAL_BYTES + 1])
{
    return strncmp(text, BEGINNING, strlen(BEGINNING)) == 0 &&
           text[QS_SEAL_BYTES - 1] == '\n';
}
