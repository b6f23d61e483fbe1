/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/help.h"
#include "cli/nearest.h"
#include "cli/whole_file.h"
#include "report/json.h"
#include "report/show.h"

static const struct command {
    const char *name;
    enum qs_exit (*run)(struct qs_console *console, int argc, char **argv);
} commands[] = {
    {"measure", qs_cmd_measure}, {"sheet", qs_cmd_sheet},     {"plan", qs_cmd_plan},
    {"deliver", qs_cmd_deliver}, {"filters", qs_cmd_filters},
};

enum {
    COMMANDS = sizeof commands / sizeof commands[0]
};

void
qs_print_version(void)
{
    (void)printf("quietsize %s\nJansson %s\nCairo %s\n", QS_VERSION,
                 qs_json_library_version(), qs_show_library_version());
}

static enum qs_exit
refuse(struct qs_console *console, const char *word)
{
    const char *names[COMMANDS];
    const char *near;
    char sentence[320], list[120] = "";

    for (size_t i = 0; i < COMMANDS; i++) {
        size_t used = strlen(list);

        names[i] = commands[i].name;
        (void)snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "",
                       names[i]);
    }
    near = qs_nearest(word, names, COMMANDS);
    if (near != NULL)
        (void)snprintf(sentence, sizeof sentence,
                       "Unknown command \"%.40s\"; did you mean %s? The commands are: "
                       "%s.",
                       word, near, list);
    else
        (void)snprintf(sentence, sizeof sentence,
                       "Unknown command \"%.40s\"; the commands are: %s.", word, list);
    qs_say_usage(console, "", sentence);
    return QS_EXIT_USAGE;
}

static enum qs_exit
run(struct qs_console *console, int argc, char **argv)
{
    if (argc < 2) {
        (void)fputs(qs_help_program, stderr);
        return QS_EXIT_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0) {
        (void)fputs(qs_help_program, stdout);
        return QS_EXIT_DONE;
    }
    if (strcmp(argv[1], "--version") == 0) {
        qs_print_version();
        return QS_EXIT_DONE;
    }
    for (size_t i = 0; i < COMMANDS; i++)
        if (strcmp(argv[1], commands[i].name) == 0)
            return commands[i].run(console, argc - 1, argv + 1);
    return refuse(console, argv[1]);
}

int
main(int argc, char **argv)
{
    struct qs_console console = {0};
    enum qs_exit status;

    /* A closed pipe is told in words, as a write that failed. */
    (void)signal(SIGPIPE, SIG_IGN);
#ifdef SIGXFSZ
    (void)signal(SIGXFSZ, SIG_IGN); /* so is a file that may grow no further */
#endif
    qs_whole_file_guard();
    status = run(&console, argc, argv);
    if (!qs_output_is_well(&console) && status == QS_EXIT_DONE)
        status = QS_EXIT_FAILED;
    return (int)status;
}
