/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/brief.h"

#include <errno.h>
#include <ini.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"

#define BYTE_ORDER_MARK "\xEF\xBB\xBF"

/* A brief being read; inih does not say which line it is at, so lines are counted. */
struct reading {
    FILE *file;
    int line;
    bool is_long; /* a line longer than inih takes */
    bool is_short_of_memory;
    struct qs_brief *brief;
};

static char *
copy_text(const char *text)
{
    size_t size = strlen(text) + 1;
    char *copy = qs_alloc(size, 1);

    if (copy != NULL)
        memcpy(copy, text, size);
    return copy;
}

static void
entry_clear(struct qs_brief_entry *entry)
{
    qs_free(entry->section);
    qs_free(entry->key);
    qs_free(entry->value);
}

/* Adds what the line at hand says; a key of NULL: it begins a section. */
static bool
add_entry(struct reading *reading, const char *section, const char *key,
          const char *value)
{
    struct qs_brief *brief = reading->brief;
    struct qs_brief_entry entry = {reading->line, copy_text(section),
                                   key != NULL ? copy_text(key) : NULL,
                                   key != NULL ? copy_text(value) : NULL};
    struct qs_brief_entry *grown =
        qs_realloc(brief->entries, (size_t)brief->count + 1, sizeof *brief->entries);

    if (grown != NULL)
        brief->entries = grown;
    if (grown == NULL || entry.section == NULL ||
        (key != NULL && (entry.key == NULL || entry.value == NULL))) {
        entry_clear(&entry);
        reading->is_short_of_memory = true;
        return false;
    }
    grown[brief->count++] = entry;
    return true;
}

/* inih's handler: 1 = go on. */
static int
take_entry(void *user, const char *section, const char *key, const char *value)
{
    return add_entry(user, section, key, value) ? 1 : 0;
}

/* inih tells of a section only by its entries; one without any would go unseen. */
static bool
note_section(struct reading *reading, char *line)
{
    char *name = line + (strncmp(line, BYTE_ORDER_MARK, 3) == 0 ? 3 : 0), *end;
    bool noted;

    if (name[0] != '[')
        return true;
    end = strchr(++name, ']');
    if (end == NULL)
        return true; /* inih says so */
    *end = '\0';
    noted = add_entry(reading, name, NULL, NULL);
    *end = ']';
    return noted;
}

/* A blank in front means nothing; inih would take the line for more of the last value.
 */
static void
unindent(char *line)
{
    size_t blank = strspn(line, " \t");

    memmove(line, line + blank, strlen(line + blank) + 1);
}

static char *
next_line(char *into, int size, void *stream)
{
    struct reading *reading = stream;
    char *got = fgets(into, size, reading->file);

    if (got == NULL || reading->is_long || reading->is_short_of_memory)
        return NULL;
    reading->line++;
    if (strchr(into, '\n') == NULL && !feof(reading->file)) {
        reading->is_long = true;
        return NULL;
    }
    unindent(into);
    return note_section(reading, into) ? got : NULL;
}

static enum qs_status
judge(const struct reading *reading, int result, struct qs_error *err)
{
    if (reading->is_short_of_memory || result == -2)
        return qs_fail_memory(err);
    if (ferror(reading->file) != 0)
        return qs_fail(err, QS_ERR_OPEN, "The brief can't be read: %s.",
                       strerror(errno));
    if (reading->is_long)
        return qs_fail(err, QS_ERR_USAGE,
                       "Line %d of the brief is too long, or holds what is no text; "
                       "keep lines below 190 letters.",
                       reading->line);
    if (result > 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "Line %d of the brief is neither a [section], nor key = value, "
                       "nor a comment that begins with ; or #.",
                       result);
    return QS_OK;
}

enum qs_status
qs_brief_read(const char *path, struct qs_brief *out, struct qs_error *err)
{
    struct reading reading = {.file = fopen(path, "rb"), .brief = out};
    enum qs_status status;

    *out = (struct qs_brief){.entries = NULL};
    if (reading.file == NULL)
        return qs_fail(err, QS_ERR_OPEN, "The brief %.200s can't be opened: %s.", path,
                       strerror(errno));
    status = judge(&reading,
                   ini_parse_stream(next_line, &reading, take_entry, &reading), err);
    (void)fclose(reading.file);
    if (status != QS_OK)
        qs_brief_clear(out);
    return status;
}

void
qs_brief_clear(struct qs_brief *brief)
{
    for (int i = 0; i < brief->count; i++)
        entry_clear(&brief->entries[i]);
    qs_free(brief->entries);
    *brief = (struct qs_brief){.entries = NULL};
}
