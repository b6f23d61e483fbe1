/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sheet_json.h - a camera sheet as a file, and back
 *
 * The form is that of docs/camera-sheet.schema.json (JSON Schema 2020-12), format 1.
 * Figures for people (read, its interval and so on) stand beside those that are read
 * back, and are ignored then.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_SHEET_SHEET_JSON_H
#define QS_SHEET_SHEET_JSON_H

#include <stdio.h>

#include "sheet/sheet.h"

/*
 * Writes a finished sheet to `out`, which stays the caller's.
 *
 *   QS_OK
 *   QS_ERR_WRITE   `out` took no more
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_sheet_write(FILE *out, const struct qs_sheet *sheet, struct qs_error *err);

/*
 * Reads a sheet from file `path`.
 *
 *   QS_OK           *out is to be cleared with qs_sheet_clear
 *   QS_ERR_OPEN     the file is missing or may not be read
 *   QS_ERR_READ     it is no camera sheet, or one that is damaged: the sentence says
 *                   where
 *   QS_ERR_UNSUPPORTED  it was made by a newer program
 *   QS_ERR_MEMORY
 *
 * *out is empty unless the result is QS_OK.
 */
QS_MUST_CHECK enum qs_status
qs_sheet_read(const char *path, struct qs_sheet *out, struct qs_error *err);

#endif
