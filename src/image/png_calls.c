/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/png_calls.h"

#include "base/memory.h"

void
qs_png_leave(png_structp png, png_const_charp message)
{
    struct qs_png_calls *calls = png_get_error_ptr(png);

    (void)message; /* libpng's words are no help to a photographer */
    longjmp(calls->way_out, 1);
}

void
qs_png_keep_quiet(png_structp png, png_const_charp message)
{
    (void)png;
    (void)message;
}

png_voidp
qs_png_take_memory(png_structp png, png_alloc_size_t bytes)
{
    struct qs_png_calls *calls = png_get_mem_ptr(png);
    void *memory = qs_alloc(bytes, 1);

    if (memory == NULL)
        calls->out_of_memory = true;
    return memory;
}

void
qs_png_give_memory(png_structp png, png_voidp memory)
{
    (void)png;
    qs_free(memory);
}
