/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/xmp_edit.h"

#include <stdbool.h>
#include <string.h>

#include "base/memory.h"

enum {
    SPACES = 3
};

static const char *const addresses[SPACES] = {
    [QS_XMP_TIFF] = "http://ns.adobe.com/tiff/1.0/",
    [QS_XMP_EXIF] = "http://ns.adobe.com/exif/1.0/",
    [QS_XMP_BASIC] = "http://ns.adobe.com/xap/1.0/",
};

static const char previews[] = "Thumbnails";

/* A piece of the packet. */
struct piece {
    const char *at;
    size_t length;
};

struct editor {
    const char *at;  /* read up to here */
    const char *end; /* of the packet */
    const struct qs_xmp_value *values;
    int count;
    struct piece prefix[SPACES]; /* length 0 = not declared so far */
    uint8_t *out;                /* NULL where lengths are only counted */
    size_t used;
    const char *copied; /* the packet is in `out` up to here */
    bool changed;
};

/* ---- writing ---- */

static void
put(struct editor *e, const char *bytes, size_t count)
{
    if (e->out != NULL)
        memcpy(e->out + e->used, bytes, count);
    e->used += count;
}

/* Puts all up to `to` as it is, and goes on at `next`. */
static void
copy_up_to(struct editor *e, const char *to, const char *next)
{
    put(e, e->copied, (size_t)(to - e->copied));
    e->copied = next;
}

static void
replace(struct editor *e, struct piece old, const char *value)
{
    if (strlen(value) == old.length && memcmp(value, old.at, old.length) == 0)
        return;
    copy_up_to(e, old.at, old.at + old.length);
    put(e, value, strlen(value));
    e->changed = true;
}

/* ---- reading ---- */

static bool
is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

static bool
is_name(char c)
{
    return !is_blank(c) && strchr("<>/='\"", c) == NULL;
}

static bool
begins(const struct editor *e, const char *text)
{
    const size_t length = strlen(text);

    return (size_t)(e->end - e->at) >= length && memcmp(e->at, text, length) == 0;
}

/* Goes on behind `text`; false where it does not come any more. */
static bool
skip_past(struct editor *e, const char *text)
{
    for (; e->at < e->end; e->at++)
        if (begins(e, text)) {
            e->at += strlen(text);
            return true;
        }
    return false;
}

static void
skip_blanks(struct editor *e)
{
    while (e->at < e->end && is_blank(*e->at))
        e->at++;
}

static struct piece
read_name(struct editor *e)
{
    struct piece name = {e->at, 0};

    while (e->at < e->end && is_name(*e->at))
        e->at++;
    name.length = (size_t)(e->at - name.at);
    return name;
}

/* Whether a name is `prefix:local` of a namespace. */
static bool
is_property(const struct editor *e, struct piece name, enum qs_xmp_space space,
            const char *local)
{
    const struct piece prefix = e->prefix[space];

    return prefix.length > 0 && name.length == prefix.length + 1 + strlen(local) &&
           memcmp(name.at, prefix.at, prefix.length) == 0 &&
           name.at[prefix.length] == ':' &&
           memcmp(name.at + prefix.length + 1, local, strlen(local)) == 0;
}

static const struct qs_xmp_value *
value_of(const struct editor *e, struct piece name)
{
    for (int i = 0; i < e->count; i++)
        if (is_property(e, name, e->values[i].space, e->values[i].name))
            return &e->values[i];
    return NULL;
}

/* xmlns:prefix="address" */
static void
learn_prefix(struct editor *e, struct piece name, struct piece value)
{
    static const char mark[] = "xmlns:";
    const size_t length = sizeof mark - 1;

    if (name.length <= length || memcmp(name.at, mark, length) != 0)
        return;
    for (int i = 0; i < SPACES; i++)
        if (value.length == strlen(addresses[i]) &&
            memcmp(value.at, addresses[i], value.length) == 0)
            e->prefix[i] = (struct piece){name.at + length, name.length - length};
}

struct attribute {
    struct piece name, value;
};

/* The next attribute of a start tag; false at its end, or where there is none. */
static bool
read_attribute(struct editor *e, struct attribute *out)
{
    char quote;

    skip_blanks(e);
    out->name = read_name(e);
    skip_blanks(e);
    if (out->name.length == 0 || e->at == e->end || *e->at != '=')
        return false;
    e->at++;
    skip_blanks(e);
    if (e->at == e->end || (*e->at != '"' && *e->at != '\''))
        return false;
    quote = *e->at++;
    out->value.at = e->at;
    while (e->at < e->end && *e->at != quote)
        e->at++;
    out->value.length = (size_t)(e->at - out->value.at);
    if (e->at == e->end)
        return false;
    e->at++;
    return true;
}

/* Attributes of element `name` are read twice: prefixes may be declared behind their
   first use.  Those of a preview are left out with it. */
static bool
read_attributes(struct editor *e, struct piece name, bool *is_empty)
{
    const char *from = e->at;
    struct attribute one;

    while (read_attribute(e, &one))
        learn_prefix(e, one.name, one.value);
    e->at = from;
    while (read_attribute(e, &one)) {
        const struct qs_xmp_value *value = value_of(e, one.name);

        if (value != NULL && !is_property(e, name, QS_XMP_BASIC, previews))
            replace(e, one.value, value->value);
    }
    *is_empty = e->at < e->end && *e->at == '/';
    if (*is_empty)
        e->at++;
    if (e->at == e->end || *e->at != '>')
        return false;
    e->at++;
    return true;
}

/* The text of an element that holds nothing else. */
static void
edit_text(struct editor *e, struct piece name)
{
    const struct qs_xmp_value *value = value_of(e, name);
    struct piece text = {e->at, 0};

    if (value == NULL)
        return;
    while (e->at < e->end && *e->at != '<')
        e->at++;
    text.length = (size_t)(e->at - text.at);
    if (begins(e, "</"))
        replace(e, text, value->value);
}

/* Goes on behind the end of an element that began at `from`, and leaves it out. */
static bool
leave_out(struct editor *e, const char *from, struct piece name)
{
    for (int depth = 1; depth > 0;) {
        bool closes, is_same;

        if (!skip_past(e, "<"))
            return false;
        closes = e->at < e->end && *e->at == '/';
        if (closes)
            e->at++;
        is_same = (size_t)(e->end - e->at) > name.length &&
                  memcmp(e->at, name.at, name.length) == 0 &&
                  !is_name(e->at[name.length]);
        if (!skip_past(e, ">"))
            return false;
        if (is_same && (closes || e->at[-2] != '/')) /* else it is empty */
            depth += closes ? -1 : 1;
    }
    copy_up_to(e, from, e->at);
    e->changed = true;
    return true;
}

/* e->at is behind the "<". */
static bool
read_start_tag(struct editor *e)
{
    const char *from = e->at - 1;
    struct piece name = read_name(e);
    bool is_empty;

    if (name.length == 0 || !read_attributes(e, name, &is_empty))
        return false;
    if (is_property(e, name, QS_XMP_BASIC, previews)) {
        if (!is_empty)
            return leave_out(e, from, name);
        copy_up_to(e, from, e->at);
        e->changed = true;
        return true;
    }
    if (!is_empty)
        edit_text(e, name);
    return true;
}

static bool
read_markup(struct editor *e)
{
    if (begins(e, "<!--"))
        return skip_past(e, "-->");
    if (begins(e, "<![CDATA["))
        return skip_past(e, "]]>");
    if (begins(e, "<?"))
        return skip_past(e, "?>");
    if (begins(e, "</") || begins(e, "<!"))
        return skip_past(e, ">");
    e->at++;
    return read_start_tag(e);
}

/* All of the packet, once; false where it is not well formed. */
static bool
edit(struct editor *e, const char *packet, size_t size)
{
    e->at = e->copied = packet;
    e->end = packet + size;
    memset(e->prefix, 0, sizeof e->prefix);
    e->used = 0;
    while (e->at < e->end) {
        if (*e->at != '<')
            e->at++;
        else if (!read_markup(e))
            return false;
    }
    copy_up_to(e, e->end, e->end);
    return true;
}

enum qs_status
qs_xmp_edit(const uint8_t *packet, size_t size, const struct qs_xmp_value *values,
            int count, uint8_t **out, size_t *out_size, struct qs_error *err)
{
    const char *text = (const char *)packet;
    struct editor e = {.values = values, .count = count};

    *out = NULL;
    *out_size = 0;
    if (size == 0 || memchr(packet, '\0', size - 1) != NULL || !edit(&e, text, size) ||
        !e.changed)
        return QS_OK; /* the last byte may be a closing zero; UTF-16 is full of them */
    e.out = qs_alloc(e.used, 1);
    if (e.out == NULL)
        return qs_fail_memory(err);
    (void)edit(&e, text, size);
    *out = e.out;
    *out_size = e.used;
    return QS_OK;
}
