/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/progress.h"

#include <stdio.h>
#include <unistd.h>

#include "base/plain_text.h"

enum {
    NAME_COLUMNS = 32 /* the whole line stays below 80 */
};

/* "  3 min left" */
static void
left_words(double left_s, char *out, size_t size)
{
    if (!(left_s >= 0.0))
        out[0] = '\0';
    else if (left_s < 60.0)
        (void)snprintf(out, size, "%.0f s left  ", left_s);
    else if (left_s < 3600.0)
        (void)snprintf(out, size, "%.0f min left  ", left_s / 60.0);
    else
        (void)snprintf(out, size, "%.1f h left  ", left_s / 3600.0);
}

void
qs_progress_draw(struct qs_console *console, int index, int count, const char *path,
                 double share)
{
    qs_progress_draw_left(console, index, count, path, share, -1.0);
}

void
qs_progress_draw_left(struct qs_console *console, int index, int count,
                      const char *path, double share, double left_s)
{
    int percent = (int)(100.0 * share);
    char clean[4096], name[512], left[32];

    if (console->quiet || isatty(STDERR_FILENO) == 0)
        return;
    if (console->progress_shown && percent == console->progress_percent)
        return;
    qs_text_clean(path, true, clean, sizeof clean);
    qs_text_tail(clean, NAME_COLUMNS, name, sizeof name);
    qs_progress_erase(console);
    left_words(left_s, left, sizeof left);
    (void)fprintf(stderr, "frame %d of %d  %3d %%  %s%s", index + 1, count, percent,
                  left, name);
    (void)fflush(stderr);
    console->progress_shown = true;
    console->progress_percent = percent;
}

void
qs_progress_erase(struct qs_console *console)
{
    if (!console->progress_shown)
        return;
    (void)fputs("\r\033[K", stderr);
    console->progress_shown = false;
}
