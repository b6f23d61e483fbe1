/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * xmp_edit.h - a packet of XMP made true for a picture of another size
 *
 * Changes the values of simple properties, written as attributes or as elements, and
 * takes out the previews of xmp:Thumbnails; every other byte stays as it is.  Prefixes
 * are those that the packet declares for the namespaces.
 *
 * Private to this folder.  Standard: ISO 16684-1 (XMP), XML 1.0; names of properties
 * from CIPA DC-010 (Exif metadata for XMP), from memory.
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_IMAGE_XMP_EDIT_H
#define QS_IMAGE_XMP_EDIT_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

enum qs_xmp_space {
    QS_XMP_TIFF, /* http://ns.adobe.com/tiff/1.0/ */
    QS_XMP_EXIF, /* http://ns.adobe.com/exif/1.0/ */
    QS_XMP_BASIC /* http://ns.adobe.com/xap/1.0/ */
};

/* One property, where the packet has it, gets this value; none is added. */
struct qs_xmp_value {
    enum qs_xmp_space space;
    const char *name;
    char value[24];
};

/*
 * Edits `packet`, of `size` bytes.
 *
 *   QS_OK           *out, of *out_size bytes, is to be freed with qs_free; NULL =
 *                   nothing is to be changed, or the packet is not UTF-8 or not well
 *                   formed, and is better left alone
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_xmp_edit(const uint8_t *packet, size_t size, const struct qs_xmp_value *values,
            int count, uint8_t **out, size_t *out_size, struct qs_error *err);

#endif
