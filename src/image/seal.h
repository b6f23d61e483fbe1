/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * seal.h - a line at the end of a picture file by which it is known again
 *
 * In a TIFF it stands after everything that the file's directories lead to; in a PNG
 * in a chunk of its own, private and to be dropped by whoever changes the picture.
 * No reader shows it.  Programs that write the file anew drop it, so that a file with
 * a seal is as it was sealed, as far as a seal can tell.  qs_writer_close writes it.
 *
 * Threads: results depend on the disk alone.
 */
#ifndef QS_IMAGE_SEAL_H
#define QS_IMAGE_SEAL_H

#include <stdbool.h>

enum {
    QS_SEAL_BYTES = 64
};

/* PNG 3rd edition, 5.4: ancillary, private, unsafe to copy. */
#define QS_SEAL_CHUNK "qsDL"

/* Whether the file has QS_SEAL_BYTES at the place of a seal; they go to `text`, and a
   zero after them. */
bool
qs_seal_get(const char *path, char text[QS_SEAL_BYTES + 1]);

#endif
