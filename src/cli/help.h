/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * help.h - what --help prints, examples first, at most 80 columns wide
 */
#ifndef QS_CLI_HELP_H
#define QS_CLI_HELP_H

extern const char qs_help_program[];
extern const char qs_help_measure[];
extern const char qs_help_sheet[];
extern const char qs_help_plan[];
extern const char qs_help_deliver[];
extern const char qs_help_filters[];

#endif
