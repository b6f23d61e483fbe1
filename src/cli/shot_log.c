/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/shot_log.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "cli/options.h"
#include "plan/units.h"

enum {
    COLUMNS = 64,
    BYTES_MOST = 16 * 1024 * 1024 /* a log of a year; more is some other file */
};

/* Puts a cell's text into a row. */
typedef enum qs_status
take_cell(const char *text, struct qs_logged *row, struct qs_error *err);

static enum qs_status
take_file(const char *text, struct qs_logged *row, struct qs_error *err)
{
    size_t size = strlen(text) + 1;

    row->file = qs_alloc(size, 1);
    if (row->file == NULL)
        return qs_fail_memory(err);
    memcpy(row->file, text, size);
    return QS_OK;
}

static enum qs_status
take_iso(const char *text, struct qs_logged *row, struct qs_error *err)
{
    return qs_read_number("iso", text, 1.0, 1e8, &row->shot.iso, err);
}

static enum qs_status
take_shutter(const char *text, struct qs_logged *row, struct qs_error *err)
{
    return qs_read_shutter("shutter", text, &row->shot.exposure_s, err);
}

static enum qs_status
take_aperture(const char *text, struct qs_logged *row, struct qs_error *err)
{
    return qs_read_aperture("aperture", text, &row->shot.f_number, err);
}

static enum qs_status
take_lux(const char *text, struct qs_logged *row, struct qs_error *err)
{
    return qs_units_read(QS_UNIT_LIGHT, text, &row->light_lx, err);
}

static enum qs_status
take_camera(const char *text, struct qs_logged *row, struct qs_error *err)
{
    if (snprintf(row->shot.camera, sizeof row->shot.camera, "%s", text) >=
        (int)sizeof row->shot.camera)
        return qs_fail(err, QS_ERR_USAGE, "the camera's name is too long");
    return QS_OK;
}

static const struct column {
    const char *name;
    take_cell *take;
} known[] = {{"file", take_file},         {"iso", take_iso}, {"shutter", take_shutter},
             {"aperture", take_aperture}, {"lux", take_lux}, {"camera", take_camera}};

/* A log being read. */
struct reading {
    char *at; /* the rest of the text */
    int line;
    take_cell *columns[COLUMNS]; /* NULL = left alone */
    int column_count;
};

static enum qs_status
fail_line(const struct reading *reading, const char *why, struct qs_error *err)
{
    return qs_fail(err, QS_ERR_USAGE, "Line %d of the log: %s.", reading->line, why);
}

/* Ends a quoted cell: RFC 4180, two quotes stand for one; it may hold line ends. */
static bool
unquote(struct reading *reading, char *into)
{
    char *p = reading->at + 1;

    for (; *p != '\0'; p++) {
        if (*p == '"' && p[1] != '"')
            break;
        if (*p == '"')
            p++;
        reading->line += *p == '\n';
        *into++ = *p;
    }
    if (*p != '"')
        return false;
    reading->at = p + 1 + strspn(p + 1, " \t");
    *into = '\0';
    return true;
}

static void
trim(char *text)
{
    size_t length = strlen(text), blanks = strspn(text, " \t");

    memmove(text, text + blanks, length - blanks + 1);
    length -= blanks;
    while (length > 0 && strchr(" \t", text[length - 1]) != NULL)
        text[--length] = '\0';
}

/* The next cell of the line; *last says that it is the line's last one. */
static enum qs_status
next_cell(struct reading *reading, char **cell, bool *last, struct qs_error *err)
{
    char end;

    *cell = reading->at;
    if (*reading->at == '"') {
        if (!unquote(reading, *cell))
            return fail_line(reading, "a quoted text has no end", err);
    } else {
        reading->at += strcspn(reading->at, ",\r\n");
    }
    end = *reading->at;
    if (end != '\0' && strchr(",\r\n", end) == NULL)
        return fail_line(reading, "there is text after a closing quote", err);
    *last = end != ',';
    if (end != '\0')
        *reading->at++ = '\0';
    if (end == '\r' && *reading->at == '\n')
        reading->at++;
    trim(*cell);
    return QS_OK;
}

static bool
has_column(const struct reading *reading, take_cell *take)
{
    for (int i = 0; i < reading->column_count; i++)
        if (reading->columns[i] == take)
            return true;
    return false;
}

static enum qs_status
take_heading(struct reading *reading, const char *name, struct qs_error *err)
{
    if (reading->column_count >= COLUMNS)
        return fail_line(reading, "there are more than 64 columns", err);
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (strcasecmp(name, known[i].name) != 0)
            continue;
        if (has_column(reading, known[i].take))
            return qs_fail(err, QS_ERR_USAGE,
                           "The log has two columns named %s; keep one.",
                           known[i].name);
        reading->columns[reading->column_count] = known[i].take;
    }
    reading->column_count++;
    return QS_OK;
}

static enum qs_status
read_headings(struct reading *reading, struct qs_error *err)
{
    bool last = false;

    reading->line = 1;
    while (!last) {
        char *cell;
        enum qs_status status = next_cell(reading, &cell, &last, err);

        if (status == QS_OK)
            status = take_heading(reading, cell, err);
        if (status != QS_OK)
            return status;
    }
    if (!has_column(reading, take_file))
        return qs_fail(err, QS_ERR_USAGE,
                       "The log's first line should name its columns, with commas "
                       "between: file, and any of iso, shutter, aperture, lux, "
                       "camera.");
    return QS_OK;
}

/* Puts a cell where its column says. */
static enum qs_status
put_cell(const struct reading *reading, int column, const char *cell,
         struct qs_logged *row, struct qs_error *err)
{
    struct qs_error own = {QS_OK, ""};
    enum qs_status status;

    if (cell[0] == '\0')
        return QS_OK;
    if (column >= reading->column_count) /* "2,8" makes two cells of an aperture */
        return fail_line(reading,
                         "it has more cells than the first line has columns; put a "
                         "text with a comma in quotes, and write 2.8 with a point",
                         err);
    if (reading->columns[column] == NULL)
        return QS_OK;
    status = reading->columns[column](cell, row, &own);
    if (status == QS_OK)
        return QS_OK;
    if (status == QS_ERR_MEMORY)
        return qs_fail_memory(err);
    own.text[strcspn(own.text, "\n")] = '\0';
    return qs_fail(err, QS_ERR_USAGE, "Line %d of the log: %.300s", reading->line,
                   own.text);
}

/* A row without any text leaves *row empty: spreadsheets end with such. */
static enum qs_status
read_row(struct reading *reading, struct qs_logged *row, struct qs_error *err)
{
    bool last = false, any = false;

    for (int column = 0; !last; column++) {
        char *cell;
        enum qs_status status = next_cell(reading, &cell, &last, err);

        if (status == QS_OK)
            status = put_cell(reading, column, cell, row, err);
        if (status != QS_OK)
            return status;
        any = any || cell[0] != '\0';
    }
    if (any && row->file == NULL)
        return fail_line(reading, "the file's name is missing", err);
    return QS_OK;
}

static enum qs_status
check_new(const struct reading *reading, struct qs_shot_log *log, struct qs_error *err)
{
    const char *file = log->rows[log->count - 1].file;

    for (int i = 0; i < log->count - 1; i++)
        if (strcmp(log->rows[i].file, file) == 0)
            return qs_fail(err, QS_ERR_USAGE,
                           "Line %d of the log names %.200s a second time; keep one of "
                           "the lines.",
                           reading->line, file);
    return QS_OK;
}

static enum qs_status
add_row(struct reading *reading, struct qs_shot_log *log, struct qs_error *err)
{
    struct qs_logged *grown =
        qs_realloc(log->rows, (size_t)log->count + 1, sizeof *log->rows);
    enum qs_status status;

    if (grown == NULL)
        return qs_fail_memory(err);
    log->rows = grown;
    grown[log->count] = (struct qs_logged){.file = NULL};
    status = read_row(reading, &grown[log->count++], err);
    if (status == QS_OK && grown[log->count - 1].file == NULL)
        log->count--;
    else if (status == QS_OK)
        status = check_new(reading, log, err);
    return status;
}

static enum qs_status
read_rows(struct reading *reading, struct qs_shot_log *log, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    while (status == QS_OK && *reading->at != '\0') {
        reading->line++;
        status = add_row(reading, log, err);
    }
    return status;
}

/* The whole file as a text; the caller frees it. */
static enum qs_status
read_text(const char *path, char **out, struct qs_error *err)
{
    FILE *file = fopen(path, "rb");
    size_t got = 0;

    *out = NULL;
    if (file == NULL)
        return qs_fail(err, QS_ERR_OPEN, "The log can't be opened: %s.",
                       strerror(errno));
    *out = qs_alloc(BYTES_MOST + 1, 1);
    if (*out != NULL)
        got = fread(*out, 1, BYTES_MOST + 1, file);
    (void)fclose(file);
    if (*out == NULL)
        return qs_fail_memory(err);
    if (got > BYTES_MOST)
        return qs_fail(err, QS_ERR_USAGE, "The log is larger than 16 MB.");
    (*out)[got] = '\0';
    return QS_OK;
}

enum qs_status
qs_shot_log_read(const char *path, struct qs_shot_log *log, struct qs_error *err)
{
    static const char mark[] = "\xEF\xBB\xBF"; /* spreadsheets put it in front */
    struct reading reading = {.at = NULL};
    char *text;
    enum qs_status status = read_text(path, &text, err);

    *log = (struct qs_shot_log){.rows = NULL};
    if (status == QS_OK) {
        reading.at = text;
        if (strncmp(text, mark, strlen(mark)) == 0)
            reading.at += strlen(mark);
        status = read_headings(&reading, err);
    }
    if (status == QS_OK)
        status = read_rows(&reading, log, err);
    qs_free(text);
    if (status != QS_OK)
        qs_shot_log_clear(log);
    return status;
}

void
qs_shot_log_clear(struct qs_shot_log *log)
{
    for (int i = 0; i < log->count; i++)
        qs_free(log->rows[i].file);
    qs_free(log->rows);
    *log = (struct qs_shot_log){.rows = NULL};
}

static const char *
last_part(const char *path)
{
    const char *slash = strrchr(path, '/');

    return slash != NULL ? slash + 1 : path;
}

bool
qs_names_frame(const char *name, const char *path)
{
    if (strcmp(name, path) == 0)
        return true;
    return strchr(name, '/') == NULL && strcmp(name, last_part(path)) == 0;
}

struct qs_logged *
qs_shot_log_find(struct qs_shot_log *log, const char *path)
{
    for (int i = 0; i < log->count; i++)
        if (qs_names_frame(log->rows[i].file, path))
            return &log->rows[i];
    return NULL;
}
