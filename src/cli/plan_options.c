/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/plan_options.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/inputs.h"
#include "cli/options.h"
#include "cli/plan_brief.h"
#include "plan/units.h"
#include "plan/viewing.h"

#define ISO_MOST 1e8

/* A number that stands for itself. */
#define TAKE_NUMBER(name, option, field, least, most)                                  \
    static enum qs_status take_##name(void *into, const char *value,                   \
                                      struct qs_error *err)                            \
    {                                                                                  \
        struct qs_plan_options *options = into;                                        \
                                                                                       \
        return qs_read_number(option, value, least, most, &options->field, err);       \
    }

/* A quantity with its unit. */
#define TAKE_UNIT(name, kind, field)                                                   \
    static enum qs_status take_##name(void *into, const char *value,                   \
                                      struct qs_error *err)                            \
    {                                                                                  \
        struct qs_plan_options *options = into;                                        \
                                                                                       \
        return qs_units_read(kind, value, &options->field, err);                       \
    }

#define TAKE_FLAG(name, field)                                                         \
    static enum qs_status take_##name(void *into, const char *value,                   \
                                      struct qs_error *err)                            \
    {                                                                                  \
        struct qs_plan_options *options = into;                                        \
                                                                                       \
        (void)value;                                                                   \
        (void)err;                                                                     \
        options->field = true;                                                         \
        return QS_OK;                                                                  \
    }

#define TAKE_PATH(name, option, field)                                                 \
    static enum qs_status take_##name(void *into, const char *value,                   \
                                      struct qs_error *err)                            \
    {                                                                                  \
        struct qs_plan_options *options = into;                                        \
                                                                                       \
        return qs_read_text(option, value, &options->field, err);                      \
    }

TAKE_NUMBER(iso, "--iso", iso, 1.0, ISO_MOST)
TAKE_NUMBER(fps, "--fps", fps, 0.1, 100000.0)
TAKE_NUMBER(angle, "--angle", angle_deg, 0.1, 360.0)
TAKE_NUMBER(blur, "--blur", set_up.blur_px, 0.01, 1000.0)
TAKE_NUMBER(pwm, "--pwm", light.pwm_hz, 1.0, 1e9)
TAKE_NUMBER(hold, "--hold-ambient", light.hold_stops, 0.1, 20.0)
TAKE_NUMBER(meter, "--meter-constant", set_up.meter_c, 100.0, 1000.0)
TAKE_NUMBER(tone, "--tone", criterion.tone_stops, -12.0, 2.4)
TAKE_NUMBER(ppi, "--ppi", criterion.ppi, 1.0, 10000.0)
TAKE_UNIT(ambient, QS_UNIT_LIGHT, light.ambient_lx)
TAKE_UNIT(moves, QS_UNIT_SPEED, set_up.moves_m_s)
TAKE_UNIT(field_width, QS_UNIT_LENGTH, set_up.field_width_m)
TAKE_FLAG(quiet, quiet)
TAKE_FLAG(help, help)
TAKE_FLAG(version, version)
TAKE_PATH(brief, "--brief", brief_path)
TAKE_PATH(json, "--json", json_path)
TAKE_PATH(csv, "--csv", csv_path)

enum qs_status
qs_plan_add_use(struct qs_plan_options *options, const struct qs_use *use,
                struct qs_error *err)
{
    if (options->is_typed && !options->has_typed_uses) {
        options->has_typed_uses = true;
        options->use_count = 0;
    }
    if (options->use_count >= QS_USES_MOST)
        return qs_fail(err, QS_ERR_USAGE, "A plan takes %d sizes at most.",
                       QS_USES_MOST);
    options->uses[options->use_count++] = *use;
    return QS_OK;
}

static enum qs_status
take_size(void *into, const char *value, struct qs_error *err)
{
    struct qs_use use = {.is_motion = false};
    enum qs_status status = qs_size_parse(value, &use.size, err);

    return status == QS_OK ? qs_plan_add_use(into, &use, err) : status;
}

static enum qs_status
take_motion(void *into, const char *value, struct qs_error *err)
{
    struct qs_use use = {.is_motion = true};
    enum qs_status status = qs_size_parse(value, &use.size, err);

    return status == QS_OK ? qs_plan_add_use(into, &use, err) : status;
}

static enum qs_status
take_crop(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    return qs_shape_ratio_parse(value, &options->crop, err);
}

static enum qs_status
take_filter(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    return qs_read_filter(value, options->filters, &options->filter_count, err);
}

static enum qs_status
take_snr(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    options->has_snr = true;
    return qs_criterion_read_snr(value, &options->criterion.snr, err);
}

static enum qs_status
take_like(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    options->has_like = true;
    return qs_read_number("--like", value, 1.0, ISO_MOST, &options->criterion.like_iso,
                          err);
}

static enum qs_status
take_visible(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    options->has_seen = true;
    return qs_read_number("--visible", value, 0.001, 100.0, &options->criterion.seen,
                          err);
}

static enum qs_status
take_channel(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    for (int c = 0; c < (int)QS_CHANNELS; c++)
        if (strcmp(value, qs_channel_key((enum qs_channel)c)) == 0) {
            options->criterion.channel = (enum qs_channel)c;
            return QS_OK;
        }
    return qs_fail(err, QS_ERR_USAGE,
                   "--channel is r, g, b or y (luminance), not \"%.40s\".", value);
}

static enum qs_status
take_seen_from(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    options->criterion.is_viewed = true;
    return qs_units_read(QS_UNIT_LENGTH, value, &options->criterion.distance_m, err);
}

static enum qs_status
take_eye(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;
    int eye = qs_eye_find(value);

    if (eye < 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "--eye is johnson-fairchild or barten, not \"%.40s\".", value);
    options->criterion.eye = (enum qs_eye)eye;
    return QS_OK;
}

static enum qs_status
take_aperture(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    return qs_read_aperture("--aperture", value, &options->set_up.f_number, err);
}

static enum qs_status
take_light(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;
    enum qs_status status =
        qs_units_read(QS_UNIT_LIGHT, value, &options->set_up.light_lx, err);

    if (status == QS_OK && !(options->set_up.light_lx > 0.0))
        return qs_fail(err, QS_ERR_USAGE, "--light needs some light, not 0 lux.");
    return status;
}

static enum qs_status
take_widest(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    return qs_read_aperture("--widest", value, &options->set_up.widest_f, err);
}

static enum qs_status
take_shutter(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    return qs_read_shutter("--shutter", value, &options->set_up.exposure_s, err);
}

static enum qs_status
take_mains(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;
    int hz;
    enum qs_status status = qs_read_whole("--mains", value, 50, 60, &hz, err);

    if (status == QS_OK && hz != 50 && hz != 60)
        return qs_fail(err, QS_ERR_USAGE, "--mains is 50 or 60, not %d.", hz);
    options->light.has_mains = true;
    options->light.mains = hz == 50 ? QS_MAINS_50 : QS_MAINS_60;
    return status;
}

static enum qs_status
take_calibrate(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;

    return qs_calibration_read(value, &options->calibration, err);
}

enum qs_status
qs_plan_take_lamp(void *into, const char *value, struct qs_error *err)
{
    struct qs_plan_options *options = into;
    struct qs_light_request *light = &options->light;

    if (options->is_typed && !options->has_typed_lamps) {
        options->has_typed_lamps = true;
        light->lamp_count = 0;
    }
    if (light->lamp_count >= QS_LAMPS_MOST)
        return qs_fail(err, QS_ERR_USAGE, "A plan takes %d lamps at most.",
                       QS_LAMPS_MOST);
    return qs_lamp_parse(value, &light->lamps[light->lamp_count], err) == QS_OK
               ? (light->lamp_count++, QS_OK)
               : QS_ERR_USAGE;
}

static const struct qs_option rows[] = {
    {"size", true, take_size},
    {"motion", true, take_motion},
    {"crop", true, take_crop},
    {"filter", true, take_filter},
    {"snr", true, take_snr},
    {"tone", true, take_tone},
    {"channel", true, take_channel},
    {"like", true, take_like},
    {"visible", true, take_visible},
    {"seen-from", true, take_seen_from},
    {"ppi", true, take_ppi},
    {"eye", true, take_eye},
    {"aperture", true, take_aperture},
    {"shutter", true, take_shutter},
    {"iso", true, take_iso},
    {"light", true, take_light},
    {"fps", true, take_fps},
    {"angle", true, take_angle},
    {"widest", true, take_widest},
    {"moves", true, take_moves},
    {"field-width", true, take_field_width},
    {"blur", true, take_blur},
    {"meter-constant", true, take_meter},
    {"mains", true, take_mains},
    {"pwm", true, take_pwm},
    {"lamp", true, qs_plan_take_lamp},
    {"ambient", true, take_ambient},
    {"hold-ambient", true, take_hold},
    {"calibrate", true, take_calibrate},
    {"brief", true, take_brief},
    {"json", true, take_json},
    {"csv", true, take_csv},
    {"quiet", false, take_quiet},
    {"help", false, take_help},
    {"version", false, take_version},
};

const struct qs_option *
qs_plan_option(const char *name)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].name, name) == 0)
            return &rows[i];
    return NULL;
}

static void
start(struct qs_plan_options *out)
{
    struct qs_brief brief = out->brief;

    qs_calibration_clear(&out->calibration);
    *out = (struct qs_plan_options){.criterion = qs_criterion_default()};
    out->brief = brief;
}

static enum qs_status
read_line(int argc, char **argv, struct qs_plan_options *out, int *first,
          struct qs_error *err)
{
    out->is_typed = true;
    return qs_options_read(rows, (int)(sizeof rows / sizeof rows[0]), argc, argv, out,
                           first, err);
}

/* The brief is read before the command line has its say; which brief, that line says.
 */
static enum qs_status
read_brief_first(int argc, char **argv, struct qs_plan_options *out, int *first,
                 struct qs_error *err)
{
    const char *path = out->brief_path;
    enum qs_status status = qs_brief_read(path, &out->brief, err);

    if (status != QS_OK)
        return status;
    start(out);
    status = qs_plan_brief_apply(&out->brief, out, err);
    return status == QS_OK ? read_line(argc, argv, out, first, err) : status;
}

static enum qs_status
settle_criterion(struct qs_plan_options *out, struct qs_error *err)
{
    struct qs_criterion *criterion = &out->criterion;

    if (out->has_snr + out->has_like + out->has_seen > 1)
        return qs_fail(
            err, QS_ERR_USAGE,
            "--snr, --like and --visible are three ways to say what is quiet "
            "enough; take one.");
    criterion->is_default = !out->has_snr && !out->has_like && !out->has_seen;
    if (out->has_like)
        criterion->kind = QS_BY_LIKE;
    if (out->has_seen)
        criterion->kind = QS_BY_SEEN;
    if (criterion->is_viewed && (criterion->is_default || out->has_snr))
        return qs_fail(err, QS_ERR_USAGE,
                       "--seen-from needs --visible N, the most noise to be seen, or "
                       "--like ISO, the ISO to be held against.");
    if (out->has_seen && !criterion->is_viewed)
        return qs_fail(err, QS_ERR_USAGE,
                       "--visible needs to know from where: --seen-from 50cm.");
    return QS_OK;
}

/* Without --ppi, that of the first size that has one. */
static enum qs_status
settle_ppi(struct qs_plan_options *out, struct qs_error *err)
{
    struct qs_criterion *criterion = &out->criterion;

    if (!criterion->is_viewed || criterion->ppi > 0.0)
        return QS_OK;
    for (int u = 0; u < out->use_count && !(criterion->ppi > 0.0); u++)
        criterion->ppi = out->uses[u].size.ppi;
    if (criterion->ppi > 0.0)
        return QS_OK;
    return qs_fail(err, QS_ERR_USAGE,
                   "--seen-from needs the pixels per inch of the print or screen: "
                   "--ppi 300.");
}

static enum qs_status
settle_motion(struct qs_plan_options *out, struct qs_error *err)
{
    bool has_motion = false;

    for (int u = 0; u < out->use_count; u++)
        has_motion = has_motion || out->uses[u].is_motion;
    if (out->fps > 0.0) {
        double angle = out->angle_deg > 0.0 ? out->angle_deg : 180.0;

        out->set_up.motion_s = qs_shutter_of_motion(out->fps, angle);
    } else if (out->angle_deg > 0.0 || has_motion) {
        return qs_fail(err, QS_ERR_USAGE,
                       "Motion needs its frame rate: --fps 25, and --angle 180 for the "
                       "shutter.");
    }
    return QS_OK;
}

/* No size: the usual ladder. */
static enum qs_status
settle_uses(struct qs_plan_options *out, struct qs_error *err)
{
    if (out->use_count == 0) {
        for (int step = 0; step < QS_SIZE_LADDER; step++) {
            struct qs_use *use = &out->uses[out->use_count++];
            double share = qs_size_ladder_share(step);

            *use = (struct qs_use){.size = {.kind = QS_SIZE_SHARE, .a = share}};
            (void)snprintf(use->size.text, sizeof use->size.text,
                           step == 0 ? "native" : "%.3g%%", 100.0 * share);
        }
    }
    for (int u = 0; u < out->use_count; u++)
        if (!(out->uses[u].crop.width > 0.0))
            out->uses[u].crop = out->crop;
    if (out->filter_count == 0)
        out->filters[out->filter_count++] = QS_FILTER_LANCZOS3;
    if (out->use_count * out->filter_count > 128)
        return qs_fail(err, QS_ERR_USAGE,
                       "Sizes times filters are more than 128; ask for fewer.");
    return QS_OK;
}

/* Neither sheet nor brief is ever overwritten. */
static enum qs_status
check_output(const struct qs_plan_options *out, const char *path, struct qs_error *err)
{
    const char *sources[] = {out->sheet_path, out->brief_path};

    for (size_t i = 0; path != NULL && i < sizeof sources / sizeof sources[0]; i++)
        if (sources[i] != NULL && qs_is_same_file(path, sources[i]))
            return qs_fail(err, QS_ERR_USAGE,
                           "%.200s is read here, and would be written over; name "
                           "another file to write to.",
                           path);
    return QS_OK;
}

/* What says nothing without its other half, or against it. */
static enum qs_status
settle_pairs(const struct qs_plan_options *out, struct qs_error *err)
{
    const struct qs_set_up *set_up = &out->set_up;

    if (set_up->widest_f > 0.0 && set_up->f_number > 0.0 &&
        set_up->widest_f > set_up->f_number)
        return qs_fail(err, QS_ERR_USAGE,
                       "--widest f/%.3g is narrower than --aperture f/%.3g; give the "
                       "widest aperture the lens has.",
                       set_up->widest_f, set_up->f_number);
    if (out->criterion.ppi > 0.0 && !out->criterion.is_viewed)
        return qs_fail(err, QS_ERR_USAGE,
                       "--ppi says how a picture is seen, which needs --seen-from "
                       "50cm too.");
    if (out->light.hold_stops > 0.0 && !(out->light.ambient_lx > 0.0))
        return qs_fail(err, QS_ERR_USAGE,
                       "--hold-ambient needs the ambient light: --ambient 20lux.");
    if (out->set_up.moves_m_s > 0.0 && !(out->set_up.field_width_m > 0.0))
        return qs_fail(err, QS_ERR_USAGE,
                       "--moves needs the width of the picture at the subject: "
                       "--field-width 2m.");
    return QS_OK;
}

static void
settle_light(struct qs_plan_options *out)
{
    struct qs_light_request *light = &out->light;
    struct qs_set_up *set_up = &out->set_up;

    if (!(set_up->meter_c > 0.0))
        set_up->meter_c = QS_METER_C;
    light->meter_c = set_up->meter_c;
    light->exposure = (struct qs_exposure){set_up->f_number, set_up->exposure_s,
                                           out->iso, set_up->light_lx};
    light->motion_s = set_up->motion_s;
    light->fps = out->fps;
    /* lamps and ambient are the light where no other is given */
    if (!(set_up->light_lx > 0.0))
        set_up->light_lx =
            qs_lamps_lux(light->lamps, light->lamp_count) + light->ambient_lx;
}

static enum qs_status
settle_sheet(int argc, char **argv, int first, struct qs_plan_options *out,
             struct qs_error *err)
{
    if (argc - first > 1)
        return qs_fail(err, QS_ERR_USAGE,
                       "plan takes one camera sheet; %.80s is one more.",
                       argv[first + 1]);
    if (argc - first == 1)
        out->sheet_path = argv[first];
    if (out->sheet_path == NULL &&
        (out->use_count > 0 || out->has_snr || out->has_like || out->has_seen))
        return qs_fail(err, QS_ERR_USAGE,
                       "Name a camera sheet; quietsize sheet FRAME... --out sheet.json "
                       "makes one.");
    if (out->sheet_path == NULL && out->csv_path != NULL)
        return qs_fail(err, QS_ERR_USAGE,
                       "--csv writes the table over ISO, which needs a camera sheet.");
    if (out->json_path != NULL && out->csv_path != NULL &&
        strcmp(out->json_path, out->csv_path) == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "--json and --csv can't both go to the same place; name a file "
                       "for one of them.");
    return QS_OK;
}

enum qs_status
qs_plan_options_read(int argc, char **argv, struct qs_plan_options *out,
                     struct qs_error *err)
{
    int first = 1;
    enum qs_status status;

    *out = (struct qs_plan_options){.use_count = 0};
    start(out);
    status = read_line(argc, argv, out, &first, err);
    if (status == QS_OK && !out->help && !out->version && out->brief_path != NULL)
        status = read_brief_first(argc, argv, out, &first, err);
    if (status != QS_OK || out->help || out->version)
        return status;
    status = settle_sheet(argc, argv, first, out, err);
    if (status == QS_OK)
        status = settle_criterion(out, err);
    if (status == QS_OK)
        status = settle_ppi(out, err);
    if (status == QS_OK)
        status = settle_motion(out, err);
    if (status == QS_OK)
        status = settle_uses(out, err);
    if (status == QS_OK)
        status = settle_pairs(out, err);
    if (status == QS_OK)
        status = check_output(out, out->json_path, err);
    if (status == QS_OK)
        status = check_output(out, out->csv_path, err);
    settle_light(out);
    return status;
}

void
qs_plan_options_clear(struct qs_plan_options *options)
{
    qs_brief_clear(&options->brief);
    qs_calibration_clear(&options->calibration);
}
