/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * notes_true.h - notes carried from another picture, made true of the one written
 *
 * What notes say of the pixels as they were is set to what they will be, or dropped:
 * sides in EXIF (PixelXDimension, PixelYDimension), what EXIF says of JPEG alone
 * (ComponentsConfiguration, CompressedBitsPerPixel), what the XMP packet says
 * (image/xmp_true.h has the list), previews and resolution in an editor's image
 * resources (image/resources.h).  Nothing is added that was not spoken of.
 *
 * Left as they are, though they are about pixels: SubjectArea, SubjectLocation and
 * FocalPlaneXResolution (they are of the picture as the camera took it), maker notes,
 * previews within IPTC, and whatever is in words.
 *
 * Threads: each struct belongs to one thread at a time.
 */
#ifndef QS_IMAGE_NOTES_TRUE_H
#define QS_IMAGE_NOTES_TRUE_H

#include "image/writer.h"

/*
 * Makes *notes true of the picture of `plan`; plan->notes is not looked at.  Where the
 * XMP packet or the image resources are too damaged to be understood they stay, and
 * notes->unread counts them.
 *
 *   QS_OK
 *   QS_ERR_MEMORY   *notes is sound, and true in parts
 */
QS_MUST_CHECK enum qs_status
qs_notes_make_true(struct qs_notes *notes, const struct qs_picture_plan *plan,
                   struct qs_error *err);

#endif
