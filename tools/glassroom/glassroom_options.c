/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "glassroom_options.h"

#include <errno.h>
#include <getopt.h>
#include <limits.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* What the text of an option turns into. */
enum kind {
    KIND_NUMBER, /* double */
    KIND_WHOLE,  /* int */
    KIND_SEED,   /* uint64_t */
    KIND_TEXT,   /* const char * */
    KIND_FLAG,   /* bool, takes no text */
    KIND_CHOICE  /* a name out of a table; `choose` takes it */
};

struct option_row {
    const char *name;
    enum kind kind;
    size_t at; /* in struct gr_options */
    bool (*choose)(struct gr_options *options, const char *name);
    const char *value; /* what the help calls the text, NULL without */
    const char *help;
};

/* Walks a table of structs that start with their name. */
#define CHOOSE(function, table, field)                                                 \
    static bool function(struct gr_options *options, const char *name)                 \
    {                                                                                  \
        for (size_t i = 0; table[i].name != NULL; i++)                                 \
            if (strcmp(table[i].name, name) == 0) {                                    \
                options->recipe.field = &table[i];                                     \
                return true;                                                           \
            }                                                                          \
        return false;                                                                  \
    }

CHOOSE(choose_scene, gr_scenes, scene)
CHOOSE(choose_light, gr_responses, response)
CHOOSE(choose_demosaic, gr_demosaics, demosaic)
CHOOSE(choose_curve, gr_spaces, space)

static int
index_of(const char *const *names, const char *name)
{
    for (int i = 0; names[i] != NULL; i++)
        if (strcmp(names[i], name) == 0)
            return i;
    return -1;
}

static bool
choose_depth(struct gr_options *options, const char *name)
{
    static const char *const names[] = {"8", "16", "32f", NULL};
    int i = index_of(names, name);

    options->recipe.depth = i < 0 ? GR_DEPTH_16 : (enum gr_depth)i;
    return i >= 0;
}

static bool
choose_compression(struct gr_options *options, const char *name)
{
    static const char *const names[] = {"none", "lzw", "deflate", NULL};
    int i = index_of(names, name);

    options->recipe.compression = i < 0 ? GR_COMPRESS_NONE : (enum gr_compression)i;
    return i >= 0;
}

static bool
choose_noise(struct gr_options *options, const char *name)
{
    struct gr_sensor *s = &options->recipe.sensor;

    if (strcmp(name, "none") != 0)
        return strcmp(name, "camera") == 0;
    s->shot_noise = false;
    s->read_e = s->row_e = s->column_e = s->offset_e = s->prnu = 0.0;
    return true;
}

static bool
choose_size(struct gr_options *options, const char *name)
{
    options->small = strcmp(name, "small") == 0;
    return options->small || strcmp(name, "full") == 0;
}

#define AT(field) offsetof(struct gr_options, field)
#define NUMBER(name, field, help)                                                      \
    {                                                                                  \
        name, KIND_NUMBER, AT(field), NULL, "X", help                                  \
    }
#define WHOLE(name, field, help)                                                       \
    {                                                                                  \
        name, KIND_WHOLE, AT(field), NULL, "N", help                                   \
    }
#define CHOICE(name, choose, value, help)                                              \
    {                                                                                  \
        name, KIND_CHOICE, 0, choose, value, help                                      \
    }

static const struct option_row rows[] = {
    {"out", KIND_TEXT, AT(out), NULL, "FILE", "frame to write, .tif or .png"},
    {"truth", KIND_TEXT, AT(truth), NULL, "FILE", "JSON of all that made the frame"},
    {"demo", KIND_TEXT, AT(demo), NULL, "DIR",
     "write the demo frames into DIR instead"},
    CHOICE("size", choose_size, "SIZE",
           "of the demo frames: full (24 MP), small (3 MP)"),
    CHOICE("scene", choose_scene, "NAME", "wedge, workshop, flat, chart"),
    WHOLE("width", recipe.width, "pixels (6000)"),
    WHOLE("height", recipe.height, "pixels (4000)"),
    NUMBER("tone", recipe.tone_stops, "stops brighter or darker (0)"),
    {"seed", KIND_SEED, AT(recipe.seed), NULL, "N",
     "of the noise that is new in every frame (1)"},
    NUMBER("iso", recipe.sensor.iso, "100 to 25600 (3200); sets the noise below"),
    CHOICE("noise", choose_noise, "KIND", "camera, or none for a noise-free frame"),
    NUMBER("gain", recipe.sensor.gain_dn_per_e, "codes per electron"),
    NUMBER("read", recipe.sensor.read_e, "read noise, electrons"),
    NUMBER("row", recipe.sensor.row_e, "noise that rows share, electrons"),
    NUMBER("column", recipe.sensor.column_e, "pattern that columns share, electrons"),
    NUMBER("offset", recipe.sensor.offset_e, "dark offsets of photosites, electrons"),
    NUMBER("prnu", recipe.sensor.prnu, "spread of sensitivities, a share of 1"),
    {"serial", KIND_SEED, AT(recipe.sensor.serial), NULL, "N",
     "of the camera: seeds all fixed patterns"},
    CHOICE("light", choose_light, "NAME", "daylight, warm, unit (no colour matrix)"),
    CHOICE("demosaic", choose_demosaic, "NAME",
           "gradient, bilinear, none (grey sensor)"),
    NUMBER("smooth-luma", recipe.retouch.smooth_luma_px,
           "sd of a Gaussian over luminance, px"),
    NUMBER("smooth-chroma", recipe.retouch.smooth_chroma_px,
           "the same over colour, px"),
    NUMBER("sharpen", recipe.retouch.sharpen, "share of detail added again"),
    NUMBER("sharpen-radius", recipe.retouch.sharpen_px,
           "sd that finds the detail, px (0.8)"),
    NUMBER("blotch", recipe.retouch.blotch, "soft blotches, a share of the signal"),
    NUMBER("blotch-radius", recipe.retouch.blotch_px, "sd that makes them, px (4)"),
    CHOICE("curve", choose_curve, "NAME", "srgb, linear, romm"),
    CHOICE("depth", choose_depth, "BITS", "16, 8, 32f"),
    WHOLE("pedestal", recipe.pedestal_code, "code of no light, linear curve only (0)"),
    CHOICE("compress", choose_compression, "KIND", "of TIFF: none, lzw, deflate"),
    NUMBER("exposure", recipe.exposure_s, "shutter time in EXIF, s (50 / ISO)"),
    NUMBER("f-number", recipe.f_number, "aperture in EXIF (2.8)"),
    NUMBER("bias", recipe.bias_stops, "exposure compensation in EXIF, stops (0)"),
    WHOLE("orientation", recipe.orientation, "1 to 8, in the tags alone (1)"),
    WHOLE("threads", threads, "0 = one per processor; frames do not depend on it"),
    {"help", KIND_FLAG, AT(help), NULL, NULL, "this text"},
};

enum {
    ROWS = sizeof rows / sizeof rows[0]
};

static const char examples[] =
    "glassroom makes frames of a camera that does not exist, with noise that is "
    "known.\n"
    "\n"
    "Examples:\n"
    "  glassroom --demo frames --size small\n"
    "      nine wedges from ISO 100 to 25600 and two views of the workshop\n"
    "  glassroom --scene workshop --iso 6400 --width 3000 --height 2000 --out "
    "shop.tif\n"
    "      one view of the workshop\n"
    "  glassroom --scene flat --tone -2 --light unit --demosaic none --curve linear "
    "\\\n"
    "            --gain 2 --read 3 --row 0 --column 0 --offset 0 --prnu 0 \\\n"
    "            --depth 32f --width 512 --height 512 --out flat.tif --truth "
    "flat.json\n"
    "      a grey field whose noise is all shot noise and a read noise of 3 electrons\n"
    "\n"
    "Options.  Without one, the first of its names holds, or what is in brackets:\n";

void
gr_options_help(FILE *to)
{
    fputs(examples, to);
    for (int i = 0; i < ROWS; i++) {
        const char *value = rows[i].value != NULL ? rows[i].value : "";
        int used = fprintf(to, "  --%s %s", rows[i].name, value);

        fprintf(to, "%*s%s\n", used < 24 ? 24 - used : 1, "", rows[i].help);
    }
}

static enum qs_status
bad_text(const struct option_row *row, const char *text, struct qs_error *err)
{
    const char *wanted = row->kind == KIND_CHOICE   ? row->help
                         : row->kind == KIND_NUMBER ? "a number"
                                                    : "a whole number";

    return qs_fail(err, QS_ERR_USAGE, "--%s does not take \"%s\"; give it %s.",
                   row->name, text, wanted);
}

static bool
read_number(const char *text, double *out)
{
    char *end;

    errno = 0;
    *out = strtod(text, &end);
    return end != text && *end == '\0' && errno == 0 && isfinite(*out);
}

static bool
read_whole(const char *text, int *out)
{
    char *end;
    long value;

    errno = 0;
    value = strtol(text, &end, 10);
    *out = (int)value;
    return end != text && *end == '\0' && errno == 0 && value >= INT_MIN &&
           value <= INT_MAX;
}

/* At most 2^53: JSON readers hold whole numbers no longer than that. */
static bool
read_seed(const char *text, uint64_t *out)
{
    char *end;

    errno = 0;
    *out = strtoull(text, &end, 10);
    return text[0] >= '0' && text[0] <= '9' && *end == '\0' && errno == 0 &&
           *out <= UINT64_C(1) << 53;
}

static enum qs_status
take(const struct option_row *row, const char *text, struct gr_options *out,
     struct qs_error *err)
{
    void *at = (char *)out + row->at;
    bool good = true;

    switch (row->kind) {
    case KIND_NUMBER:
        good = read_number(text, at);
        break;
    case KIND_WHOLE:
        good = read_whole(text, at);
        break;
    case KIND_SEED:
        good = read_seed(text, at);
        break;
    case KIND_TEXT:
        *(const char **)at = text;
        break;
    case KIND_FLAG:
        *(bool *)at = true;
        break;
    case KIND_CHOICE:
        good = row->choose(out, text);
        break;
    }
    return good ? QS_OK : bad_text(row, text, err);
}

/* Reads all arguments once; with `iso_alone` only the ISO is taken to heart. */
static enum qs_status
read_all(int argc, char **argv, bool iso_alone, struct gr_options *out,
         struct qs_error *err)
{
    struct option longs[ROWS + 1] = {{NULL, 0, NULL, 0}};
    enum qs_status status = QS_OK;
    int code, index = 0;

    for (int i = 0; i < ROWS; i++) {
        longs[i].name = rows[i].name;
        longs[i].has_arg = rows[i].kind == KIND_FLAG ? no_argument : required_argument;
        longs[i].val = 1;
    }
    optind = 1;
    opterr = 0;
    while (status == QS_OK &&
           (code = getopt_long(argc, argv, "", longs, &index)) != -1) {
        if (code != 1)
            return qs_fail(
                err, QS_ERR_USAGE,
                "\"%s\" is no option here, or its value is missing; see --help.",
                argv[optind - 1]);
        if (iso_alone == (strcmp(rows[index].name, "iso") == 0))
            status = take(&rows[index], optarg, out, err);
    }
    if (status == QS_OK && optind < argc)
        return qs_fail(err, QS_ERR_USAGE, "\"%s\" belongs to no option; see --help.",
                       argv[optind]);
    return status;
}

/* The ISO comes first wherever it stands, since the noise options override what it
 * sets. */
enum qs_status
gr_options_read(int argc, char **argv, struct gr_options *out, struct qs_error *err)
{
    enum qs_status status;

    *out = (struct gr_options){.recipe = gr_recipe_default()};
    status = read_all(argc, argv, true, out, err);
    if (status != QS_OK)
        return status;
    gr_recipe_set_iso(&out->recipe, out->recipe.sensor.iso);
    status = read_all(argc, argv, false, out, err);
    if (status != QS_OK || out->help)
        return status;
    if ((out->out == NULL) == (out->demo == NULL))
        return qs_fail(err, QS_ERR_USAGE,
                       "Say either --out FILE or --demo DIR; see --help for examples.");
    return gr_recipe_check(&out->recipe, err);
}
