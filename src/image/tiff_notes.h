/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tiff_notes.h - notes added to a TIFF that is whole but for them
 *
 * Private to this folder.  The directory of a one-page TIFF is written a second time
 * at the end of the file, with the notes in it, and the header made to lead there.
 * So every tag keeps its type and its bytes, whatever libtiff makes of them.
 */
#ifndef QS_IMAGE_TIFF_NOTES_H
#define QS_IMAGE_TIFF_NOTES_H

#include "image/notes.h"
#include "image/out_file.h"

/*
 * Adds the notes to `file`, a TIFF or BigTIFF in this machine's byte order, open for
 * reading and writing; without any note nothing is done.
 *
 *   QS_OK
 *   QS_ERR_WRITE, QS_ERR_MEMORY   the file is lost
 */
QS_MUST_CHECK enum qs_status
qs_tiff_add_notes(struct qs_out_file *file, const struct qs_notes *notes,
                  struct qs_error *err);

#endif
