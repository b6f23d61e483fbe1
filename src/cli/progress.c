/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/progress.h"

#include <stdio.h>
#include <unistd.h>

#include "base/plain_text.h"

enum {
    NAME_COLUMNS = 40 /* the whole line stays below 80 */
};

void
qs_progress_draw(struct qs_console *console, int index, int count, const char *path,
                 double share)
{
    int percent = (int)(100.0 * share);
    char clean[4096], name[512];

    if (console->quiet || isatty(STDERR_FILENO) == 0)
        return;
    if (console->progress_shown && percent == console->progress_percent)
        return;
    qs_text_clean(path, true, clean, sizeof clean);
    qs_text_tail(clean, NAME_COLUMNS, name, sizeof name);
    qs_progress_erase(console);
    (void)fprintf(stderr, "frame %d of %d  %3d %%  %s", index + 1, count, percent,
                  name);
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
