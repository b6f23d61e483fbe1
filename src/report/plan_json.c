/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <jansson.h>

#include "base/write_reason.h"
#include "report/json.h"
#include "report/json_values.h"
#include "report/plan_report.h"

static bool
put_number_if(json_t *object, const char *key, bool known, double value)
{
    return qs_json_put(object, key, known ? qs_json_number(value) : json_null());
}

static bool
put_flag(json_t *object, const char *key, bool value)
{
    return qs_json_put(object, key, json_boolean(value));
}

static json_t *
criterion_json(const struct qs_plan *plan)
{
    static const char *const kinds[] = {
        [QS_BY_SNR] = "snr", [QS_BY_LIKE] = "like", [QS_BY_SEEN] = "visible"};
    const struct qs_criterion *criterion = &plan->criterion;
    char words[QS_CRITERION_WORDS];
    json_t *object = json_object();
    bool viewed = criterion->is_viewed;

    qs_criterion_words(criterion, words, sizeof words);
    if (qs_json_put(object, "kind", json_string(kinds[criterion->kind])) &&
        qs_json_put(object, "text", qs_json_text(words)) &&
        put_flag(object, "default", criterion->is_default) &&
        put_number_if(object, "snr", criterion->kind == QS_BY_SNR, criterion->snr) &&
        put_number_if(object, "like_iso", criterion->kind == QS_BY_LIKE,
                      criterion->like_iso) &&
        put_number_if(object, "visible", criterion->kind == QS_BY_SEEN,
                      criterion->seen) &&
        put_number_if(object, "tone_stops", true, criterion->tone_stops) &&
        put_number_if(object, "tone", true, plan->tone) &&
        put_flag(object, "tone_tested", plan->tone_tested) &&
        qs_json_put(object, "channel",
                    json_string(qs_channel_key(criterion->channel))) &&
        put_number_if(object, "seen_from_m", viewed, criterion->distance_m) &&
        put_number_if(object, "ppi", viewed, criterion->ppi) &&
        qs_json_put(object, "eye",
                    viewed ? json_string(qs_eye_row(criterion->eye)->key)
                           : json_null()))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
cell_json(const struct qs_plan_cell *cell, double iso)
{
    struct qs_subject subject = {.plan_cell = cell};
    json_t *object = json_object();

    if (put_number_if(object, "iso", true, iso) &&
        qs_json_put_figures(object, QS_FIELDS_CELL, &subject) &&
        put_flag(object, "meets", cell->meets))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
way_json(const struct qs_way *way, enum qs_way_kind kind)
{
    static const char *const values[QS_WAYS] = {[QS_WAY_OPEN_UP] = "f_number",
                                                [QS_WAY_SLOWER] = "exposure_s",
                                                [QS_WAY_MORE_LIGHT] = "light_lux",
                                                [QS_WAY_RAISE_ISO] = "iso",
                                                [QS_WAY_SMALLER] = "width"};
    static const char *const others[QS_WAYS] = {[QS_WAY_MORE_LIGHT] =
                                                    "lamp_distance_share",
                                                [QS_WAY_RAISE_ISO] = "leaves",
                                                [QS_WAY_SMALLER] = "height"};
    json_t *object = json_object();

    if (qs_json_put(object, "way", json_string(qs_way_key(kind))) &&
        put_flag(object, "enough", way->is_enough) &&
        put_number_if(object, "stops", way->known, way->stops) &&
        put_number_if(object, values[kind], way->known, way->value) &&
        (others[kind] == NULL ||
         put_number_if(object, others[kind], way->has_other, way->other)))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
ways_json(const struct qs_ways *ways)
{
    json_t *array = json_array();

    for (int w = 0; ways->known && w < (int)QS_WAYS; w++)
        if (json_array_append_new(array,
                                  way_json(&ways->way[w], (enum qs_way_kind)w)) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static bool
put_size(json_t *object, const struct qs_plan_row *row)
{
    return qs_json_put(object, "use", qs_json_text(row->use->name)) &&
           qs_json_put(object, "kind",
                       json_string(row->use->is_motion ? "motion" : "stills")) &&
           qs_json_put(object, "size", qs_json_text(row->text)) &&
           qs_json_put(object, "width", json_integer(row->width)) &&
           qs_json_put(object, "height", json_integer(row->height)) &&
           qs_json_put(object, "megapixels",
                       qs_json_number((double)row->width * row->height / 1e6)) &&
           qs_json_put_filter(object, row->filter);
}

static json_t *
row_json(const struct qs_plan_row *row, const struct qs_sheet *sheet)
{
    struct qs_subject subject = {.plan_row = row};
    json_t *object = json_object(), *table = json_array();
    bool well = put_size(object, row) &&
                qs_json_put_figures(object, QS_FIELDS_PLAN, &subject) &&
                put_flag(object, "beyond_test", row->beyond_test) &&
                put_flag(object, "high_beyond_test", row->high_beyond_test) &&
                qs_json_put(object, "ways", ways_json(&row->ways)) &&
                qs_json_put(object, "table", table);

    for (int i = 0; well && i < sheet->iso_count; i++)
        well = json_array_append_new(
                   table, cell_json(&row->cells[i], sheet->isos[i].iso)) == 0;
    if (well)
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
plan_json(const struct qs_plan_report *report)
{
    const struct qs_plan *plan = report->plan;
    json_t *object = json_object(), *rows = json_array();
    bool well = qs_json_put(object, "camera", qs_json_text(report->sheet->camera)) &&
                qs_json_put(object, "criterion", criterion_json(plan)) &&
                put_number_if(object, "light_factor", true, plan->light_factor) &&
                qs_json_put(object, "left_out", json_integer(plan->skipped)) &&
                qs_json_put(object, "rows", rows);

    for (int r = 0; well && r < plan->row_count; r++)
        well =
            json_array_append_new(rows, row_json(&plan->rows[r], report->sheet)) == 0;
    if (well)
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
flicker_json(const struct qs_flicker_plan *flicker)
{
    json_t *object = json_object();
    bool mains = flicker->has_mains, pwm = flicker->has_pwm;

    if (put_number_if(object, "exposure_s", true, flicker->exposure_s) &&
        put_number_if(object, "mains_pulses", mains, flicker->pulses) &&
        qs_json_put(object, "mains_safe",
                    mains ? json_boolean(flicker->is_safe) : json_null()) &&
        put_number_if(object, "safe_faster_s", mains && flicker->near.has_faster,
                      flicker->near.faster_s) &&
        put_number_if(object, "safe_slower_s", mains, flicker->near.slower_s) &&
        put_number_if(object, "pwm_pulses", pwm, flicker->pwm_pulses) &&
        put_number_if(object, "pwm_swing_stops", pwm && flicker->swing.has_stops,
                      flicker->swing.stops))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
lamps_json(const struct qs_light_request *request)
{
    json_t *array = json_array();

    for (int i = 0; i < request->lamp_count; i++) {
        json_t *one = json_object();

        if (!qs_json_put(one, "name", qs_json_text(request->lamps[i].name)) ||
            !put_number_if(one, "distance_m", true, request->lamps[i].distance_m) ||
            !put_number_if(one, "light_lux", true, qs_lamp_lux(&request->lamps[i])) ||
            json_array_append(array, one) != 0) {
            json_decref(one);
            json_decref(array);
            return NULL;
        }
        json_decref(one);
    }
    return array;
}

static json_t *
light_json(const struct qs_light_plan *light, const struct qs_light_request *request)
{
    const struct qs_exposure *exposure = &light->exposure;
    json_t *object = json_object();
    bool well =
        put_number_if(object, "f_number", exposure->f_number > 0.0,
                      exposure->f_number) &&
        put_number_if(object, "exposure_s", exposure->exposure_s > 0.0,
                      exposure->exposure_s) &&
        put_number_if(object, "iso", exposure->iso > 0.0, exposure->iso) &&
        put_number_if(object, "light_lux", exposure->light_lx > 0.0,
                      exposure->light_lx) &&
        qs_json_put(object, "solved",
                    light->solved ? json_string(qs_exposure_part_name(light->part))
                                  : json_null()) &&
        put_number_if(object, "over_stops", light->has_error, light->error_stops) &&
        put_number_if(object, "motion_s", request->motion_s > 0.0, request->motion_s) &&
        qs_json_put(object, "lamps", lamps_json(request)) &&
        put_number_if(object, "lamps_lux", request->lamp_count > 0, light->lamps_lx) &&
        put_number_if(object, "ambient_lux", request->ambient_lx > 0.0,
                      request->ambient_lx) &&
        put_number_if(object, "ambient_below_stops", light->has_ambient_below,
                      light->ambient_below_stops) &&
        put_number_if(object, "hold_lamp_lux", light->has_hold, light->hold_lamp_lx) &&
        put_number_if(object, "hold_short_stops",
                      light->has_hold && request->lamp_count > 0,
                      light->hold_short_stops) &&
        qs_json_put(object, "stills_flicker",
                    light->has_stills ? flicker_json(&light->stills) : json_null()) &&
        qs_json_put(object, "motion_flicker",
                    light->has_motion ? flicker_json(&light->motion) : json_null());

    if (well)
        return object;
    json_decref(object);
    return NULL;
}

enum qs_status
qs_plan_json(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    json_t *document = json_object();
    bool well =
        qs_json_put(document, "tool", json_string("quietsize")) &&
        qs_json_put(document, "version", json_string(QS_VERSION)) &&
        qs_json_put(document, "format", json_integer(QS_JSON_FORMAT)) &&
        qs_json_put(document, "job",
                    report->job != NULL ? qs_json_text(report->job) : json_null()) &&
        qs_json_put(document, "plan",
                    report->plan != NULL ? plan_json(report) : json_null()) &&
        qs_json_put(document, "light",
                    light_json(report->light, report->light_request));
    int dumped;

    if (!well) {
        json_decref(document);
        return qs_fail_memory(err);
    }
    errno = 0;
    dumped = json_dumpf(document, out, JSON_INDENT(2));
    json_decref(document);
    if (dumped != 0 || fputc('\n', out) < 0 || fflush(out) != 0)
        return qs_fail_write(err);
    return QS_OK;
}
