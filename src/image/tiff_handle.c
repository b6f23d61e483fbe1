/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/tiff_handle.h"

#include "base/file_at.h"
#include "image/image_reader.h"

/* r: read; m: no mapping into memory. */
#define OPEN_MODE "rm"

#if TIFFLIB_VERSION >= 20221213 /* 4.5.0: handlers and limits of each handle's own */

static int
keep_quiet(TIFF *tiff, void *context, const char *module, const char *format,
           va_list args)
{
    (void)tiff;
    (void)context;
    (void)module;
    (void)format;
    (void)args;
    return 1; /* dealt with: the process-wide handlers are not called */
}

static TIFFOpenOptions *
quiet_options(void)
{
    TIFFOpenOptions *options = TIFFOpenOptionsAlloc();

    if (options == NULL)
        return NULL;
    TIFFOpenOptionsSetErrorHandlerExtR(options, keep_quiet, NULL);
    TIFFOpenOptionsSetWarningHandlerExtR(options, keep_quiet, NULL);
    return options;
}

TIFF *
qs_tiff_open(const char *path)
{
    TIFFOpenOptions *options = quiet_options();
    TIFF *tiff;

    if (options == NULL)
        return NULL;
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, (tmsize_t)QS_READER_LARGEST_BYTES);
    tiff = TIFFOpenExt(path, OPEN_MODE, options);
    TIFFOpenOptionsFree(options);
    return tiff;
}

TIFF *
qs_tiff_open_through(const char *path, const char *mode, thandle_t file,
                     const struct qs_tiff_calls *calls)
{
    TIFFOpenOptions *options = quiet_options();
    TIFF *tiff;

    if (options == NULL)
        return NULL;
    tiff = TIFFClientOpenExt(path, mode, file, calls->read, calls->write, calls->seek,
                             calls->close, calls->size, NULL, NULL, options);
    TIFFOpenOptionsFree(options);
    return tiff;
}

#else

#include <pthread.h>

static void
keep_quiet_everywhere(void)
{
    TIFFSetErrorHandler(NULL);
    TIFFSetWarningHandler(NULL);
}

static void
keep_quiet(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;

    (void)pthread_once(&once, keep_quiet_everywhere);
}

TIFF *
qs_tiff_open(const char *path)
{
    keep_quiet();
    return TIFFOpen(path, OPEN_MODE);
}

TIFF *
qs_tiff_open_through(const char *path, const char *mode, thandle_t file,
                     const struct qs_tiff_calls *calls)
{
    keep_quiet();
    return TIFFClientOpen(path, mode, file, calls->read, calls->write, calls->seek,
                          calls->close, calls->size, NULL, NULL);
}

#endif

TIFF *
qs_tiff_open_page(const char *path, uint64_t directory)
{
    TIFF *tiff = qs_tiff_open(path);

    if (tiff != NULL && TIFFSetSubDirectory(tiff, directory) == 0) {
        TIFFClose(tiff);
        return NULL;
    }
    return tiff;
}

bool
qs_tiff_read_at(void *tiff, uint64_t offset, void *into, size_t bytes)
{
    return qs_read_at(TIFFFileno(tiff), offset, into, bytes);
}

struct page_choice {
    uint64_t directory;
    uint64_t pixels; /* 0 = none yet */
    int pages;
};

static void
consider_page(TIFF *tiff, struct page_choice *best)
{
    uint32_t kind = 0, width = 0, height = 0;
    uint64_t pixels;

    (void)TIFFGetField(tiff, TIFFTAG_SUBFILETYPE, &kind);
    (void)TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &width);
    (void)TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &height);
    pixels = (uint64_t)width * height;
    if ((kind & (FILETYPE_REDUCEDIMAGE | FILETYPE_MASK)) != 0 || pixels < best->pixels)
        return;
    if (pixels == best->pixels && best->pages > 0) {
        best->pages++;
        return;
    }
    best->directory = TIFFCurrentDirOffset(tiff);
    best->pixels = pixels;
    best->pages = 1;
}

enum qs_status
qs_tiff_choose_page(TIFF *tiff, uint64_t *directory, int *pages, struct qs_error *err)
{
    struct page_choice best = {0, 0, 0};
    int seen = 0;

    /* libtiff ends the walk at a directory seen before; the count is the belt. */
    do {
        consider_page(tiff, &best);
        seen++;
    } while (seen < QS_TIFF_MOST_PAGES && TIFFReadDirectory(tiff) == 1);

    if (best.pages == 0)
        return qs_fail(
            err, QS_ERR_UNSUPPORTED,
            "This TIFF holds previews alone, as camera raw files do; develop "
            "the picture and export it as 16-bit TIFF.");
    if (TIFFSetSubDirectory(tiff, best.directory) == 0)
        return qs_fail(
            err, QS_ERR_READ,
            "The description of the TIFF's picture can't be read; the file is "
            "damaged: copy or export it again.");
    *directory = best.directory;
    *pages = best.pages;
    return QS_OK;
}
