/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * png_calls.h - what libpng calls back: errors, warnings, memory
 *
 * Private to the png_*.c files.  Whoever reads or writes has a struct that begins with
 * a struct qs_png_calls, gives libpng that as its pointer for errors and for memory,
 * and makes all calls that may give up behind a setjmp to `way_out`.
 */
#ifndef QS_IMAGE_PNG_CALLS_H
#define QS_IMAGE_PNG_CALLS_H

#include <png.h>
#include <setjmp.h>
#include <stdbool.h>

struct qs_png_calls {
    jmp_buf way_out;
    bool out_of_memory; /* an allocation failed, even where libpng made do without */
};

void
qs_png_leave(png_structp png, png_const_charp message);

void
qs_png_keep_quiet(png_structp png, png_const_charp message);

png_voidp
qs_png_take_memory(png_structp png, png_alloc_size_t bytes);

void
qs_png_give_memory(png_structp png, png_voidp memory);

#endif
