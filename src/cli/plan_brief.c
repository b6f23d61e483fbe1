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
    KEYS = sizeof sections[0].keys / sizeof sections[0].keys[0]
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

    for (int i = 0; i < (int)SECTIONS; i++)
        names[i] = sections[i].name;
    near = qs_nearest(entry->section, names, SECTIONS);
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

static enum qs_status
open_use(struct taking *now, const struct qs_brief_entry *entry, struct qs_error *err)
{
    enum qs_status status;

    if (now->use_section != NULL && strcmp(now->use_section, entry->section) == 0)
        return QS_OK;
    status = end_use(now, err);
    if (status != QS_OK || !is_use(entry->section))
        return status;
    now->use = (struct qs_use){.is_motion = false};
    now->use_section = entry->section;
    now->use_line = entry->line;
    now->has_size = false;
    if (strlen(entry->section) > 4)
        (void)snprintf(now->use.name, sizeof now->use.name, "%s", entry->section + 4);
    return QS_OK;
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
        status = open_use(&now, entry, err);
        if (status != QS_OK)
            return status;
        if (strcmp(section->name, "lamps") != 0 && !has_key(section, entry->key))
            return fail_key(section, entry, err);
        status = take_line(&now, section, entry, err);
        if (status != QS_OK)
            return status;
    }
    return end_use(&now, err);
}
