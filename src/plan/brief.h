/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * brief.h - a job on a page: an INI file as a list of entries
 *
 * Knows how such a file is written, not what its keys mean: that is the command's to
 * say, line by line.
 *
 * Memory: the brief owns its texts; qs_brief_clear frees them.
 * Threads: one at a time for a brief.
 * Form: docs/brief.md.
 */
#ifndef QS_PLAN_BRIEF_H
#define QS_PLAN_BRIEF_H

#include "base/status.h"

struct qs_brief_entry {
    int line;      /* from 1 */
    char *section; /* as written between brackets; "" before the first */
    char *key;     /* NULL, with the value: this is the section's own line */
    char *value;
};

struct qs_brief {
    struct qs_brief_entry *entries; /* in order */
    int count;
};

/*
 * Reads a brief from file `path`.
 *
 *   QS_OK          clear with qs_brief_clear
 *   QS_ERR_OPEN    it can't be read
 *   QS_ERR_USAGE   a line is neither a section, an entry nor a comment, or too long:
 *                  the sentence names it
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_brief_read(const char *path, struct qs_brief *out, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_brief_clear(struct qs_brief *brief);

#endif
