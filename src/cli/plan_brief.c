/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/plan_brief.h"

#include <stdio.h>
#include <string.h>

#include "cli/nearest.h"

/* What each section may hold, by the names of the command line. */
static const struct section {
    const char *name;
    const char *keys[16];
} sections[] = {
    {"job", {"name", "sheet"}},
    {"exposure",
     {"aperture", "shutter", "iso", "fps", "angle", "widest", "moves", "field-width",
      "blur"}},
    {"light", {"light", "ambient", "hold-ambient", "mains", "pwm", "meter-constant"}},
    {"criterion",
     {"snr", "tone", "channel", "like", "visible", "seen-from", "ppi", "eye"}},
    {"delivery", {"filter", "crop"}},
    {"use", {"size", "kind", "crop"}},
    {"lamps", {NULL}},
};

enum {
    SECTIONS = sizeof sections / sizeof sections[0],
    KEYS = sizeof sections[0].keys / sizeof sections[0].keys[0],
    LONGEST_SECTION = 49 /* inih cuts what is longer */
};

/* A brief being taken in; a use ends where its section does. */
struct taking {
    struct qs_plan_options *options;
    struct qs_use use;
    const char *use_section; /* whole: "use web"; NULL = none open */
    int use_line;
    bool has_size;
};

static bool
is_use(const char *section)
{
    return strcmp(section, "use") == 0 || strncmp(section, "use ", 4) == 0;
}

static const struct section *
find_section(const char *name)
{
    for (int i = 0; i < (int)SECTIONS; i++)
        if (strcmp(sections[i].name, is_use(name) ? "use" : name) == 0)
            return &sections[i];
    return NULL;
}

static enum qs_status
fail_section(const struct qs_brief_entry *entry, struct qs_error *err)
{
    const char *names[SECTIONS];
    const char *near;
    char word[40]; /* "Use" of [Use web] */

    for (int i = 0; i < (int)SECTIONS; i++)
        names[i] = sections[i].name;
    (void)snprintf(word, sizeof word, "%.*s", (int)strcspn(entry->section, " "),
                   entry->section);
    near = qs_nearest(word, names, SECTIONS);
    if (entry->section[0] == '\0')
        return qs_fail(
            err, QS_ERR_USAGE,
            "Line %d of the brief stands before the first [section]; the "
            "sections are job, use NAME, delivery, exposure, light, lamps and "
            "criterion.",
            entry->line);
    return qs_fail(err, QS_ERR_USAGE,
                   "Line %d of the brief: there is no section [%.40s]%s%s%s; the "
                   "sections are job, use NAME, delivery, exposure, light, lamps and "
                   "criterion.",
                   entry->line, entry->section, near != NULL ? "; did you mean [" : "",
                   near != NULL ? near : "", near != NULL ? "]" : "");
}

static enum qs_status
fail_key(const struct section *section, const struct qs_brief_entry *entry,
         struct qs_error *err)
{
    char list[240] = "";
    const char *near;
    int count = 0;

    while (count < (int)KEYS && section->keys[count] != NULL) {
        size_t used = strlen(list);

        (void)snprintf(list + used, sizeof list - used, "%s%s", count > 0 ? ", " : "",
                       section->keys[count]);
        count++;
    }
    near = qs_nearest(entry->key, section->keys, count);
    return qs_fail(err, QS_ERR_USAGE,
                   "Line %d of the brief: [%s] has no \"%.40s\"%s%s; it has %s.",
                   entry->line, section->name, entry->key,
                   near != NULL ? "; did you mean " : "", near != NULL ? near : "",
                   list);
}

static bool
has_key(const struct section *section, const char *key)
{
    for (int i = 0; i < (int)KEYS && section->keys[i] != NULL; i++)
        if (strcmp(section->keys[i], key) == 0)
            return true;
    return false;
}

/* The use whose section has ended. */
static enum qs_status
end_use(struct taking *now, struct qs_error *err)
{
    if (now->use_section == NULL)
        return QS_OK;
    if (!now->has_size)
        return qs_fail(err, QS_ERR_USAGE,
                       "Line %d of the brief: [%.60s] has no size; add one, such as "
                       "size = 20MP.",
                       now->use_line, now->use_section);
    now->use_section = NULL;
    return qs_plan_add_use(now->options, &now->use, err);
}

/* Two uses of one name would be one, or look as if they were. */
static enum qs_status
check_use(const struct qs_brief *brief, int index, struct qs_error *err)
{
    const struct qs_brief_entry *entry = &brief->entries[index];

    if (strlen(entry->section) > LONGEST_SECTION)
        return qs_fail(err, QS_ERR_USAGE,
                       "Line %d of the brief: the name of the use is too long; give it "
                       "%d letters at most.",
                       entry->line, LONGEST_SECTION - 4);
    for (int i = 0; i < index; i++)
        if (brief->entries[i].key == NULL &&
            strcmp(brief->entries[i].section, entry->section) == 0)
            return qs_fail(err, QS_ERR_USAGE,
                           "Line %d of the brief: [%.60s] begins a second time, after "
                           "line %d; give each use a name of its own.",
                           entry->line, entry->section, brief->entries[i].line);
    return QS_OK;
}

/* A section begins, and the use before it ends. */
static enum qs_status
open_section(struct taking *now, const struct qs_brief *brief, int index,
             struct qs_error *err)
{
    const struct qs_brief_entry *entry = &brief->entries[index];
    enum qs_status status = end_use(now, err);

    if (status != QS_OK || !is_use(entry->section))
        return status;
    now->use = (struct qs_use){.is_motion = false};
    now->use_section = entry->section;
    now->use_line = entry->line;
    now->has_size = false;
    if (strlen(entry->section) > 4)
        (void)snprintf(now->use.name, sizeof now->use.name, "%s", entry->section + 4);
    return check_use(brief, index, err);
}

static enum qs_status
take_kind(struct taking *now, const char *value, struct qs_error *err)
{
    now->use.is_motion = strcmp(value, "motion") == 0;
    if (now->use.is_motion || strcmp(value, "stills") == 0)
        return QS_OK;
    return qs_fail(err, QS_ERR_USAGE, "kind is stills or motion, not \"%.40s\".",
                   value);
}

static enum qs_status
take_use(struct taking *now, const struct qs_brief_entry *entry, struct qs_error *err)
{
    if (strcmp(entry->key, "kind") == 0)
        return take_kind(now, entry->value, err);
    if (strcmp(entry->key, "crop") == 0)
        return qs_shape_ratio_parse(entry->value, &now->use.crop, err);
    now->has_size = true;
    return qs_size_parse(entry->value, &now->use.size, err);
}

/* [lamps] NAME = LUX@DISTANCE... */
static enum qs_status
take_lamp(struct taking *now, const struct qs_brief_entry *entry, struct qs_error *err)
{
    char text[512];

    if (snprintf(text, sizeof text, "%s=%s", entry->key, entry->value) >=
        (int)sizeof text)
        return qs_fail(err, QS_ERR_USAGE, "The lamp's description is too long.");
    return qs_plan_take_lamp(now->options, text, err);
}

static enum qs_status
take_job(struct taking *now, const struct qs_brief_entry *entry)
{
    if (strcmp(entry->key, "name") == 0)
        now->options->job = entry->value;
    else
        now->options->sheet_path = entry->value;
    return QS_OK;
}

static enum qs_status
take_entry(struct taking *now, const struct section *section,
           const struct qs_brief_entry *entry, struct qs_error *err)
{
    if (strcmp(section->name, "use") == 0)
        return take_use(now, entry, err);
    if (strcmp(section->name, "lamps") == 0)
        return take_lamp(now, entry, err);
    if (strcmp(section->name, "job") == 0)
        return take_job(now, entry);
    return qs_plan_option(entry->key)->take(now->options, entry->value, err);
}

/* Two values for one thing: which one is meant, the brief doesn't say. */
static enum qs_status
check_once(const struct qs_brief *brief, int index, struct qs_error *err)
{
    const struct qs_brief_entry *entry = &brief->entries[index];

    if (strcmp(entry->key, "filter") == 0)
        return QS_OK; /* each line adds one */
    for (int i = 0; i < index; i++)
        if (brief->entries[i].key != NULL &&
            strcmp(brief->entries[i].section, entry->section) == 0 &&
            strcmp(brief->entries[i].key, entry->key) == 0)
            return qs_fail(
                err, QS_ERR_USAGE,
                "Line %d of the brief: [%.60s] has a second %.40s; the first "
                "is on line %d. Keep one of them.",
                entry->line, entry->section, entry->key, brief->entries[i].line);
    return QS_OK;
}

/* An entry whose section and key are right, with its line in what may be said of it. */
static enum qs_status
take_line(struct taking *now, const struct section *section,
          const struct qs_brief_entry *entry, struct qs_error *err)
{
    struct qs_error own = {QS_OK, ""};
    enum qs_status status;

    if (entry->value[0] == '\0')
        return qs_fail(err, QS_ERR_USAGE, "Line %d of the brief: %s needs a value.",
                       entry->line, entry->key);
    status = take_entry(now, section, entry, &own);
    if (status == QS_OK)
        return QS_OK;
    return qs_fail(err, status, "Line %d of the brief: %.400s", entry->line, own.text);
}

enum qs_status
qs_plan_brief_apply(const struct qs_brief *brief, struct qs_plan_options *options,
                    struct qs_error *err)
{
    struct taking now = {.options = options};

    options->is_typed = false;
    for (int i = 0; i < brief->count; i++) {
        const struct qs_brief_entry *entry = &brief->entries[i];
        const struct section *section = find_section(entry->section);
        enum qs_status status;

        if (section == NULL)
            return fail_section(entry, err);
        if (entry->key == NULL) {
            status = open_section(&now, brief, i, err);
        } else if (strcmp(section->name, "lamps") != 0 &&
                   !has_key(section, entry->key)) {
            status = fail_key(section, entry, err);
        } else {
            status = check_once(brief, i, err);
            if (status == QS_OK)
                status = take_line(&now, section, entry, err);
        }
        if (status != QS_OK)
            return status;
    }
    return end_use(&now, err);
}
