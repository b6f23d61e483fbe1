/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plan_light_text.h"

#include <math.h>
#include <stdbool.h>

#include "base/plain_text.h"
#include "plan/motion.h"
#include "report/field_cells.h"
#include "report/phrase.h"
#include "report/plan_words.h"
#include "report/table.h"
#include "report/words.h"
#include "report/wrap.h"

static void
put(FILE *out, const struct qs_phrase *phrase)
{
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", phrase->text);
}

/* "f/2.8" and the like. */
static void
part_words(const struct qs_exposure *exposure, enum qs_exposure_part part, char *out,
           size_t size)
{
    char number[40];

    switch (part) {
    case QS_EXPOSURE_APERTURE:
        (void)snprintf(out, size, "f/%.2g", exposure->f_number);
        break;
    case QS_EXPOSURE_SHUTTER:
        qs_words_shutter(exposure->exposure_s, number, sizeof number);
        (void)snprintf(out, size, "%s" QS_GLUE "s", number);
        break;
    case QS_EXPOSURE_ISO:
        qs_words_figures(exposure->iso, 2, number, sizeof number);
        (void)snprintf(out, size, "ISO" QS_GLUE "%s", number);
        break;
    default:
        qs_words_figures(exposure->light_lx, 2, number, sizeof number);
        (void)snprintf(out, size, "%s" QS_GLUE "lux", number);
        break;
    }
}

static void
put_exposure(FILE *out, const struct qs_light_plan *light)
{
    struct qs_phrase phrase = {.used = 0};
    char text[QS_WORDS];
    bool first = true;

    if (!light->solved && !light->has_error)
        return;
    for (int p = 0; p < (int)QS_EXPOSURE_PARTS; p++) {
        if (light->solved && p == (int)light->part)
            continue;
        part_words(&light->exposure, (enum qs_exposure_part)p, text, sizeof text);
        qs_say(&phrase, "%s%s", first ? "" : ", ", text);
        first = false;
    }
    if (light->solved) {
        part_words(&light->exposure, light->part, text, sizeof text);
        qs_say(&phrase, " ask for %s.", text);
    } else if (fabs(light->error_stops) < 0.05) {
        qs_say(&phrase, " go together.");
    } else {
        qs_say(&phrase, " give a picture %.1f" QS_GLUE "stop%s too %s.",
               fabs(light->error_stops), fabs(light->error_stops) < 1.05 ? "" : "s",
               light->error_stops > 0.0 ? "bright" : "dark");
    }
    put(out, &phrase);
}

/* The row of a kind that asks for most light, or NULL. */
static const struct qs_plan_row *
hungriest(const struct qs_plan *plan, bool is_motion)
{
    const struct qs_plan_row *found = NULL;

    for (int r = 0; r < plan->row_count; r++) {
        const struct qs_plan_row *row = &plan->rows[r];

        if (row->use->is_motion == is_motion && row->has_light &&
            (found == NULL || row->light_lx > found->light_lx))
            found = row;
    }
    return found;
}

/* Stills and motion share the light, so the hungrier one sets it. */
static void
put_both(FILE *out, const struct qs_plan *plan)
{
    const struct qs_plan_row *stills = hungriest(plan, false);
    const struct qs_plan_row *motion = hungriest(plan, true);
    struct qs_phrase phrase = {.used = 0};
    char a[QS_WORDS], b[QS_WORDS], s[QS_WORDS], m[QS_WORDS];

    if (stills == NULL || motion == NULL)
        return;
    qs_words_figures(stills->light_lx, 2, a, sizeof a);
    qs_words_figures(motion->light_lx, 2, b, sizeof b);
    qs_words_shutter(stills->exposure_s, s, sizeof s);
    qs_words_shutter(motion->exposure_s, m, sizeof m);
    qs_say(&phrase,
           "The light can't change between stills and motion: stills at %s" QS_GLUE
           "s take %s" QS_GLUE "lux, motion at %s" QS_GLUE "s takes %s" QS_GLUE
           "lux, so %s what to light for.",
           s, a, m, b,
           stills->light_lx >= motion->light_lx ? "stills set" : "motion sets");
    if (stills->has_needed && motion->has_needed) {
        qs_words_figures(stills->needed_iso, 2, a, sizeof a);
        qs_words_figures(motion->needed_iso, 2, b, sizeof b);
        qs_say(&phrase,
               " In the light there is, stills ask for ISO" QS_GLUE
               "%s and motion for ISO" QS_GLUE "%s.",
               a, b);
    }
    put(out, &phrase);
}

static void
set_blur(struct qs_table *table, int r, const struct qs_plan_row *row,
         const struct qs_movement *movement, double limit_px)
{
    char size[QS_WORDS], shutter[QS_WORDS] = "-";
    double longest;

    qs_words_size(row->text, size, sizeof size);
    qs_table_set(table, r, 0, "%s%s", size, row->use->is_motion ? " (motion)" : "");
    if (row->exposure_s > 0.0) {
        qs_words_shutter(row->exposure_s, shutter, sizeof shutter);
        qs_table_set(table, r, 2, "%.1f px",
                     qs_blur_px(movement, row->width, row->exposure_s));
    } else {
        qs_table_set(table, r, 2, "-");
    }
    qs_table_set(table, r, 1, "%s", shutter);
    if (qs_blur_longest_s(movement, row->width, limit_px, &longest)) {
        qs_words_shutter(longest, shutter, sizeof shutter);
        qs_table_set(table, r, 3, "%s", shutter);
    } else {
        qs_table_set(table, r, 3, "-");
    }
}

/* Rows of the first filter: blur knows no filter. */
static int
one_filter_rows(const struct qs_plan *plan, const struct qs_plan_row **rows)
{
    int count = 0;

    for (int r = 0; r < plan->row_count; r++)
        if (plan->rows[r].filter == plan->rows[0].filter)
            rows[count++] = &plan->rows[r];
    return count;
}

static enum qs_status
put_blur_table(FILE *out, const struct qs_plan_row **rows, int count,
               const struct qs_movement *movement, double limit_px,
               struct qs_error *err)
{
    struct qs_table table;
    struct qs_phrase title = {.used = 0};
    enum qs_status status = qs_table_init(&table, count, 1, err);

    if (status != QS_OK)
        return status;
    qs_table_column(&table,
                    (struct qs_column){.top = "", .bottom = "size", .left = true});
    qs_table_column(&table, (struct qs_column){.top = "shutter", .bottom = "s"});
    qs_table_column(&table, (struct qs_column){.top = "", .bottom = "blur"});
    qs_table_column(&table, (struct qs_column){.top = "slowest", .bottom = "s"});
    for (int r = 0; r < count; r++)
        set_blur(&table, r, rows[r], movement, limit_px);
    qs_say(&title,
           "Movement across the picture at %.3g" QS_GLUE "m/s; slowest: keeps blur to "
           "%.3g" QS_GLUE "delivered pixel%s",
           movement->speed_m_s, limit_px, limit_px == 1.0 ? "" : "s");
    put(out, &title);
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

static enum qs_status
put_blur(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    const struct qs_set_up *set_up = &report->request->set_up;
    const struct qs_movement movement = {set_up->moves_m_s, set_up->field_width_m};
    double limit = set_up->blur_px > 0.0 ? set_up->blur_px : QS_BLUR_LIMIT_PX;
    const struct qs_plan_row *rows[64];

    if (!(movement.speed_m_s > 0.0) || !(movement.field_width_m > 0.0) ||
        report->plan->row_count == 0 || report->plan->row_count > 64)
        return QS_OK;
    return put_blur_table(out, rows, one_filter_rows(report->plan, rows), &movement,
                          limit, err);
}

static void
put_ambient(FILE *out, const struct qs_light_plan *light,
            const struct qs_light_request *request)
{
    struct qs_phrase phrase = {.used = 0};
    char lux[QS_WORDS];

    if (light->has_ambient_below)
        qs_say(&phrase,
               "Ambient lies %.1f" QS_GLUE
               "stops below lamps and ambient together. A faster shutter darkens both "
               "alike: continuous light can't be told from ambient by the shutter. ",
               light->ambient_below_stops);
    if (light->has_hold) {
        qs_words_figures(light->hold_lamp_lx, 2, lux, sizeof lux);
        qs_say(&phrase,
               "To hold ambient %.3g" QS_GLUE
               "stops down, the lamps have to give %s" QS_GLUE "lux at the subject",
               request->hold_stops, lux);
        if (request->lamp_count == 0)
            qs_say(&phrase, ".");
        else if (light->hold_short_stops > 0.05)
            qs_say(&phrase, "; they are %.1f" QS_GLUE "stops short of it.",
                   light->hold_short_stops);
        else
            qs_say(&phrase, "; they do.");
    }
    if (phrase.used > 0)
        put(out, &phrase);
}

enum {
    LAMP_ROWS = 4 /* sizes that lamps are held against */
};

/* Short of a role at a row's need, or to spare. */
static void
set_need(struct qs_table *table, int row, int column, double lamp_lx, double ambient_lx,
         double needed_lx, enum qs_lamp_role role)
{
    struct qs_lamp_need need =
        qs_lamp_need_of(lamp_lx, ambient_lx, needed_lx, qs_lamp_role_under_stops(role));

    if (need.ambient_is_enough)
        qs_table_set(table, row, column, "not needed");
    else if (need.short_stops > 0.05)
        qs_table_set(table, row, column, "%.1f short", need.short_stops);
    else
        qs_table_set(table, row, column, "%.1f to spare", fabs(need.short_stops));
}

static void
set_lamp(struct qs_table *table, int row, const char *name, double lamp_lx,
         double ambient_lx, const struct qs_plan_row **rows, int count)
{
    char clean[160], lux[QS_WORDS];
    double stops;
    int column = 0;

    qs_text_clean(name, true, clean, sizeof clean);
    qs_words_figures(lamp_lx, 2, lux, sizeof lux);
    qs_table_set(table, row, column++, "%s", clean);
    qs_table_set(table, row, column++, "%s", lux);
    if (qs_lamp_over_ambient_stops(lamp_lx, ambient_lx, &stops))
        qs_set_signed(table, row, column++, stops, "");
    else
        qs_table_set(table, row, column++, "-");
    for (int r = 0; r < count; r++) {
        set_need(table, row, column++, lamp_lx, ambient_lx, rows[r]->light_lx,
                 QS_LAMP_KEY);
        set_need(table, row, column++, lamp_lx, ambient_lx, rows[r]->light_lx,
                 QS_LAMP_FILL);
    }
}

static void
lamp_columns(struct qs_table *table, char sizes[LAMP_ROWS][QS_WORDS], int count)
{
    qs_table_column(table,
                    (struct qs_column){.top = "", .bottom = "lamp", .left = true});
    qs_table_column(table, (struct qs_column){.top = "at subject", .bottom = "lux"});
    qs_table_column(table, (struct qs_column){.top = "over ambient",
                                              .bottom = "stops",
                                              .narrow_top = "ambient",
                                              .narrow_bottom = "+stops"});
    for (int r = 0; r < count; r++) {
        qs_table_column(table, (struct qs_column){.top = sizes[r], .bottom = "as key"});
        qs_table_column(table,
                        (struct qs_column){.top = sizes[r], .bottom = "as fill"});
    }
}

/* Rows whose light is known, a few. */
static int
lit_rows(const struct qs_plan *plan, const struct qs_plan_row *rows[LAMP_ROWS],
         char sizes[LAMP_ROWS][QS_WORDS])
{
    int count = 0;

    for (int r = 0; plan != NULL && r < plan->row_count && count < LAMP_ROWS; r++)
        if (plan->rows[r].has_light) {
            rows[count] = &plan->rows[r];
            qs_words_size(plan->rows[r].text, sizes[count], QS_WORDS);
            count++;
        }
    return count;
}

static enum qs_status
put_lamps(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    const struct qs_light_request *request = report->light_request;
    const struct qs_plan_row *rows[LAMP_ROWS];
    char sizes[LAMP_ROWS][QS_WORDS];
    int count = lit_rows(report->plan, rows, sizes);
    bool several = request->lamp_count > 1;
    struct qs_table table;
    enum qs_status status;

    if (request->lamp_count == 0)
        return QS_OK;
    status = qs_table_init(&table, request->lamp_count + several, 1, err);
    if (status != QS_OK)
        return status;
    lamp_columns(&table, sizes, count);
    for (int i = 0; i < request->lamp_count; i++)
        set_lamp(&table, i, request->lamps[i].name, qs_lamp_lux(&request->lamps[i]),
                 request->ambient_lx, rows, count);
    if (several)
        set_lamp(&table, request->lamp_count, "together", report->light->lamps_lx,
                 request->ambient_lx, rows, count);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ",
            "Lamps, in stops; as fill: half the light of the key. Light falls with the "
            "square of the distance only where the lamp is small against it");
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

static void
put_mains(FILE *out, const struct qs_flicker_plan *flicker, const char *what,
          const struct qs_light_request *request)
{
    struct qs_phrase phrase = {.used = 0};
    char shutter[QS_WORDS], slower[QS_WORDS], faster[QS_WORDS];
    double mains = qs_mains_hz(request->mains);

    qs_words_shutter(flicker->exposure_s, shutter, sizeof shutter);
    qs_words_shutter(flicker->near.slower_s, slower, sizeof slower);
    if (flicker->is_safe) {
        qs_say(&phrase,
               "%s at %s" QS_GLUE
               "s hold whole pulses of lamps that follow the %.0f" QS_GLUE
               "Hz mains: no flicker from those.",
               what, shutter, mains);
    } else {
        qs_say(&phrase,
               "%s at %s" QS_GLUE
               "s hold %.2f pulses of lamps that follow the %.0f" QS_GLUE
               "Hz mains, so frames may differ and bands may show; %s" QS_GLUE "s",
               what, shutter, flicker->pulses, mains, slower);
        if (flicker->near.has_faster) {
            qs_words_shutter(flicker->near.faster_s, faster, sizeof faster);
            qs_say(&phrase, " and %s" QS_GLUE "s are safe.", faster);
        } else {
            qs_say(&phrase, " is the fastest that is safe.");
        }
    }
    put(out, &phrase);
}

static void
put_pwm(FILE *out, const struct qs_flicker_plan *flicker, const char *what,
        const struct qs_light_request *request)
{
    struct qs_phrase phrase = {.used = 0};
    char shutter[QS_WORDS];

    qs_words_shutter(flicker->exposure_s, shutter, sizeof shutter);
    qs_say(&phrase,
           "%s at %s" QS_GLUE "s hold %.1f pulses of a dimmer of %.4g" QS_GLUE
           "Hz; dimmed to half, ",
           what, shutter, flicker->pwm_pulses, request->pwm_hz);
    if (!flicker->swing.has_stops)
        qs_say(&phrase, "an exposure may get no light at all");
    else
        qs_say(&phrase,
               "exposures, or bands in one, differ by up to %.2f" QS_GLUE "stop",
               flicker->swing.stops);
    qs_say(&phrase,
           ". Shutters that suit the mains don't help: the dimmer has a rate of its "
           "own. %.0f pulses or more keep it within 0.1" QS_GLUE
           "stop: a slower shutter, a dimmer of a higher rate, or distance and "
           "diffusion instead of dimming.",
           flicker->pulses_for_tenth);
    put(out, &phrase);
}

static void
put_flicker(FILE *out, const struct qs_light_plan *light,
            const struct qs_light_request *request)
{
    const struct {
        bool there;
        const struct qs_flicker_plan *flicker;
        const char *what;
    } uses[] = {{light->has_stills, &light->stills, "Stills"},
                {light->has_motion, &light->motion, "Motion frames"}};

    for (size_t i = 0; i < sizeof uses / sizeof uses[0]; i++) {
        if (!uses[i].there)
            continue;
        if (uses[i].flicker->has_mains)
            put_mains(out, uses[i].flicker, uses[i].what, request);
        if (uses[i].flicker->has_pwm)
            put_pwm(out, uses[i].flicker, uses[i].what, request);
    }
}

static void
put_angles(FILE *out, const struct qs_light_plan *light,
           const struct qs_light_request *request)
{
    struct qs_phrase phrase = {.used = 0};

    if (!light->has_angles)
        return;
    if (light->angles == 0)
        qs_say(&phrase,
               "At %.4g frames a second no shutter angle is safe under %.0f" QS_GLUE
               "Hz mains.",
               request->fps, qs_mains_hz(request->mains));
    else
        qs_say(&phrase,
               "At %.4g frames a second these shutter angles are safe under "
               "%.0f" QS_GLUE "Hz mains:",
               request->fps, qs_mains_hz(request->mains));
    for (int n = 1; n <= light->angles && n <= 12; n++)
        qs_say(&phrase, "%s %.4g", n > 1 ? "," : "",
               qs_safe_angle_deg(request->mains, request->fps, n));
    qs_say(&phrase, light->angles > 0 ? " degrees." : "");
    put(out, &phrase);
}

/* Once, short, where lamps are spoken of. */
static void
put_cautions(FILE *out, const struct qs_light_request *request)
{
    if (request->lamp_count == 0 && !request->has_mains && !(request->pwm_hz > 0.0) &&
        !(request->hold_stops > 0.0))
        return;
    (void)fputc('\n', out);
    qs_wrap(
        out, "  ", "  ",
        "With lamps: they are hot, keep cloth and hands off and let them cool; weigh "
        "stands down and tie lamps above heads; use tested leads, uncoil drums, keep "
        "mains dry; nobody is to stare into a lamp; keep a work light on, since a "
        "dark set trips people; warn people of strobing light. These figures are "
        "for pictures, not for light to work or walk by. Local rules, and licensed "
        "people for fixed wiring and rigging, come first.");
}

enum qs_status
qs_plan_light_text(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    put_exposure(out, report->light);
    if (report->plan != NULL) {
        put_both(out, report->plan);
        status = put_blur(out, report, err);
    }
    put_ambient(out, report->light, report->light_request);
    if (status == QS_OK)
        status = put_lamps(out, report, err);
    put_flicker(out, report->light, report->light_request);
    put_angles(out, report->light, report->light_request);
    put_cautions(out, report->light_request);
    return status;
}
