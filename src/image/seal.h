/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * seal.h - a line at the end of a picture file by which it is known again
 *
 * In a TIFF it stands after everything that the file's directories lead to; in a PNG
 * in a chunk of its own, private and to be dropped by whoever changes the picture.
 * No reader shows it.  Programs that write the file anew drop it, so that a file with
 * a seal is as it was sealed, as far as a seal can tell.
 *
 * Threads: results depend on the arguments and the disk alone.
 */
#ifndef QS_IMAGE_SEAL_H
#define QS_IMAGE_SEAL_H

#include <stdbool.h>

#include "base/status.h"
#include "image/writer.h"

enum {
    QS_SEAL_BYTES = 64
};

/*
 * Adds `text`, QS_SEAL_BYTES of it, to a whole file of this format, and waits until
 * the disk has all of the file.
 *
 *   QS_OK
 *   QS_ERR_WRITE
 */
QS_MUST_CHECK enum qs_status
qs_seal_put(const char *path, enum qs_file_format format, const char *text,
            struct qs_error *err);

/* Whether the file has QS_SEAL_BYTES at the place of a seal; they go to `text`, and a
   zero after them. */
bool
qs_seal_get(const char *path, char text[QS_SEAL_BYTES + 1]);

#endif
