/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tiff_handle.h - opening TIFF files quietly, and choosing the page to read
 *
 * Private to the tiff_*.c files.  A handle never prints; one for reading never maps
 * the file into memory (a file cut short under a mapping kills the process), and never
 * asks for more than QS_READER_LARGEST_BYTES at a time.
 *
 * Threads: each handle belongs to one thread at a time; any number of handles.
 */
#ifndef QS_IMAGE_TIFF_HANDLE_H
#define QS_IMAGE_TIFF_HANDLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <tiffio.h>

#include "base/status.h"

/* Opens for reading; NULL where libtiff cannot.  Close with TIFFClose. */
TIFF *
qs_tiff_open(const char *path);

/* Opens for reading the page whose directory is at `directory`, else as above. */
TIFF *
qs_tiff_open_page(const char *path, uint64_t directory);

/* How libtiff gets at a file of the caller's; each as TIFFClientOpen asks for it. */
struct qs_tiff_calls {
    TIFFReadWriteProc read;
    TIFFReadWriteProc write;
    TIFFSeekProc seek;
    TIFFCloseProc close;
    TIFFSizeProc size;
};

/* Opens `file` through the calls, in libtiff's `mode`; `path` is a name for it. */
TIFF *
qs_tiff_open_through(const char *path, const char *mode, thandle_t file,
                     const struct qs_tiff_calls *calls);

/*
 * Reads bytes of the file as they are; `tiff` is a TIFF *.  False at its end.  Safe
 * from any thread, whatever else is being read.
 */
bool
qs_tiff_read_at(void *tiff, uint64_t offset, void *into, size_t bytes);

/*
 * Sets *directory to the offset of the page to read and *pages to the number of
 * pages of its size, and makes it the current page.
 *
 * Pages marked as reduced picture or as mask do not count.  Of the others, the
 * first one that has as many pixels as the largest: an unmarked thumbnail may
 * come first.  The first QS_TIFF_MOST_PAGES are looked at.
 *
 *   QS_ERR_UNSUPPORTED  no page of full size
 *   QS_ERR_READ         the page could not be read a second time
 */
QS_MUST_CHECK enum qs_status
qs_tiff_choose_page(TIFF *tiff, uint64_t *directory, int *pages, struct qs_error *err);

enum {
    QS_TIFF_MOST_PAGES = 64
};

#endif
