/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/messages.h"

#include <stdio.h>

#include "cli/progress.h"
#include "base/plain_text.h"

/* What comes from outside may hold codes that a terminal acts on. */
static void
put_clean(const char *text)
{
    char clean[4096];

    qs_text_clean(text, true, clean, sizeof clean);
    (void)fputs(clean, stderr);
}

void
qs_say_error(struct qs_console *console, const char *path, const char *sentence)
{
    qs_progress_erase(console);
    (void)fputs("quietsize: ", stderr);
    put_clean(path);
    (void)fputs(": ", stderr);
    put_clean(sentence);
    (void)fputc('\n', stderr);
}

void
qs_say_usage(struct qs_console *console, const char *command, const char *sentence)
{
    const char *space = command[0] != '\0' ? " " : "";

    qs_progress_erase(console);
    (void)fputs("quietsize: ", stderr);
    put_clean(sentence);
    (void)fprintf(stderr, "\nquietsize%s%s --help shows examples.\n", space, command);
}

void
qs_say_warnings(struct qs_console *console, const char *path,
                const struct qs_frame *frame)
{
    if (console->quiet)
        return;
    for (int i = 0; i < frame->warning_count; i++) {
        const struct qs_warning *warning = &frame->warnings[i];
        char line[sizeof warning->text + 80];
        const char *key = qs_warning_key(warning->code);

        if (warning->patch >= 0)
            (void)snprintf(line, sizeof line, "[%s] Patch %d: %s", key,
                           warning->patch + 1, warning->text);
        else
            (void)snprintf(line, sizeof line, "[%s] %s", key, warning->text);
        qs_say_error(console, path, line);
    }
}

bool
qs_output_is_well(struct qs_console *console)
{
    if (fflush(stdout) == 0 && ferror(stdout) == 0)
        return true;
    if (!console->output_told)
        qs_say_error(console, "standard output",
                     "It takes no more: the disk is full, or the program that was "
                     "reading it has stopped. What was written is not whole.");
    console->output_told = true;
    return false;
}
