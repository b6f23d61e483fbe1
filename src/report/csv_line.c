/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv_line.h"

#include <stdlib.h>
#include <string.h>

#include "base/write_reason.h"

static const char LINE_END[] = "\r\n";

void
qs_csv_plain(struct qs_csv_line *line, const char *text)
{
    (void)fprintf(line->out, "%s%s", line->begun ? "," : "", text);
    line->begun = true;
}

void
qs_csv_text(struct qs_csv_line *line, const char *text)
{
    if (strpbrk(text, "\",\r\n") == NULL) {
        qs_csv_plain(line, text);
        return;
    }
    qs_csv_plain(line, "\"");
    for (; *text != '\0'; text++) {
        if (*text == '"')
            (void)fputc('"', line->out);
        (void)fputc((unsigned char)*text, line->out);
    }
    (void)fputc('"', line->out);
}

void
qs_csv_number(struct qs_csv_line *line, double value)
{
    char text[40];

    for (int digits = 15; digits <= 17; digits++) {
        (void)snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    qs_csv_plain(line, text);
}

void
qs_csv_whole(struct qs_csv_line *line, int value)
{
    char text[16];

    (void)snprintf(text, sizeof text, "%d", value);
    qs_csv_plain(line, text);
}

void
qs_csv_end(struct qs_csv_line *line)
{
    (void)fputs(LINE_END, line->out);
    line->begun = false;
}

void
qs_csv_keys(struct qs_csv_line *line, enum qs_field_group group, const char *before)
{
    int count;
    const struct qs_field *fields = qs_fields(group, &count);

    for (int i = 0; i < count; i++) {
        char key[64];

        (void)snprintf(key, sizeof key, "%s%s", before, fields[i].key);
        qs_csv_plain(line, key);
    }
}

void
qs_csv_figures(struct qs_csv_line *line, enum qs_field_group group,
               const struct qs_subject *subject, bool there)
{
    int count;
    const struct qs_field *fields = qs_fields(group, &count);

    for (int i = 0; i < count; i++) {
        struct qs_value value = {false, 0.0};

        if (there)
            value = fields[i].get(subject);
        if (value.known)
            qs_csv_number(line, value.number);
        else
            qs_csv_plain(line, "");
    }
}

enum qs_status
qs_csv_written(FILE *out, struct qs_error *err)
{
    if (ferror(out) == 0)
        return QS_OK;
    return qs_fail_write(err);
}
