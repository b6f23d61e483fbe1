/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * xmp_true.h - what an XMP packet says of the pixels, made true of another picture
 *
 * Private to this folder.  Properties are found by their namespaces, whatever prefix a
 * packet binds to them (XMP, ISO 16684-1), as attributes and as elements, in the
 * descriptions right below rdf:RDF: those of other pictures, which a packet may hold
 * further down, stay.  All bytes but those that were untrue stay as they are; padding
 * too, so that the packet gets some bytes longer or shorter.
 *
 * Set: sides (tiff:ImageWidth, tiff:ImageLength, exif:PixelXDimension,
 * exif:PixelYDimension), tiff:Orientation, tiff:XResolution, tiff:YResolution and
 * tiff:ResolutionUnit, tiff:Compression, tiff:SamplesPerPixel,
 * tiff:PhotometricInterpretation, tiff:PlanarConfiguration, dc:format.  One that has no
 * true value (resolution, where none is said; compression, in PNG) is dropped, and so
 * is one that has qualifiers.
 * Dropped: xmp:Thumbnails; what holds for JPEG alone (tiff:YCbCrSubSampling,
 * tiff:YCbCrPositioning, tiff:YCbCrCoefficients, exif:ComponentsConfiguration,
 * exif:CompressedBitsPerPixel); tiff:BitsPerSample, where it is untrue.
 * Never added: what a packet does not speak of.
 *
 * Made for hostile input: Expat reads the packet, and stops at a document type, so no
 * entity can be declared.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_IMAGE_XMP_TRUE_H
#define QS_IMAGE_XMP_TRUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "image/writer.h"

/*
 * Sets *out, of *out_size bytes, to the packet made true of the picture of `plan`;
 * *out is NULL where the packet, of at most QS_NOTES_MOST_BYTES, is to stay as it is:
 * all of it is true, or, with *is_sound false, it is not well-formed XML in UTF-8 or
 * another code that has ASCII in single bytes.  Zeros after its end are allowed, and
 * kept.
 *
 *   QS_OK           *out is to be freed with qs_free
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_xmp_make_true(const uint8_t *packet, size_t size, const struct qs_picture_plan *plan,
                 uint8_t **out, size_t *out_size, bool *is_sound, struct qs_error *err);

#endif
