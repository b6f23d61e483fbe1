/* SPDX-License-Identifier: GPL-3.0-or-later */
/* glassroom_options.h - the command line of glassroom */
#ifndef GLASSROOM_OPTIONS_H
#define GLASSROOM_OPTIONS_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"
#include "recipe.h"

struct gr_options {
    struct gr_recipe recipe;
    const char *out;   /* frame to write, NULL with a demo */
    const char *truth; /* JSON to write beside it, or NULL */
    const char *demo;  /* folder for the demo frames, or NULL */
    bool small;        /* demo frames of 3 MP */
    bool help;
    int threads; /* 0 = one per processor */
};

/*
 * Reads the arguments of main.
 *
 *   QS_OK
 *   QS_ERR_USAGE  the sentence in *err says which argument means nothing
 */
QS_MUST_CHECK enum qs_status
gr_options_read(int argc, char **argv, struct gr_options *out, struct qs_error *err);

/* Examples first, then every option. */
void
gr_options_help(FILE *to);

#endif
