/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/fields.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct qs_value unknown = {false, 0.0};

/* No figure leaves the program that is not a number. */
static struct qs_value
number(double value)
{
    return isfinite(value) ? (struct qs_value){true, value} : unknown;
}

static struct qs_value
number_if(bool known, double value)
{
    return known ? number(value) : unknown;
}

/* 0 stands for "not recorded" in a struct qs_shot. */
static struct qs_value
iso(const struct qs_subject *s)
{
    return number_if(s->frame->shot.iso > 0.0, s->frame->shot.iso);
}

static struct qs_value
exposure_s(const struct qs_subject *s)
{
    return number_if(s->frame->shot.exposure_s > 0.0, s->frame->shot.exposure_s);
}

static struct qs_value
f_number(const struct qs_subject *s)
{
    return number_if(s->frame->shot.f_number > 0.0, s->frame->shot.f_number);
}

static struct qs_value
exposure_bias(const struct qs_subject *s)
{
    return number_if(s->frame->shot.has_exposure_bias,
                     s->frame->shot.exposure_bias_stops);
}

static const struct qs_patch_channel *
patch_of(const struct qs_subject *s)
{
    return &s->patch->channel[s->channel];
}

static const struct qs_noise *
noise_of(const struct qs_subject *s)
{
    return &patch_of(s)->noise;
}

static struct qs_value
mean(const struct qs_subject *s)
{
    return number(noise_of(s)->mean);
}

static struct qs_value
sd(const struct qs_subject *s)
{
    return number(noise_of(s)->sd);
}

static struct qs_value
sd_low(const struct qs_subject *s)
{
    return number(noise_of(s)->sd_low);
}

static struct qs_value
sd_high(const struct qs_subject *s)
{
    return number(noise_of(s)->sd_high);
}

static struct qs_value
ratio(double signal, double sd_here)
{
    return number_if(sd_here > 0.0, signal / sd_here);
}

/* A signal of nothing, or less, has no level in decibels. */
static struct qs_value
decibels(double signal, double sd_here)
{
    return number_if(sd_here > 0.0 && signal > 0.0, 20.0 * log10(signal / sd_here));
}

static struct qs_value
snr(const struct qs_subject *s)
{
    return ratio(noise_of(s)->mean, noise_of(s)->sd);
}

static struct qs_value
snr_db(const struct qs_subject *s)
{
    return decibels(noise_of(s)->mean, noise_of(s)->sd);
}

static struct qs_value
row_sd(const struct qs_subject *s)
{
    return number(noise_of(s)->row_sd);
}

static struct qs_value
column_sd(const struct qs_subject *s)
{
    return number(noise_of(s)->column_sd);
}

static struct qs_value
clipped(const struct qs_subject *s)
{
    return number(patch_of(s)->clipped_low + patch_of(s)->clipped_high);
}

static struct qs_value
clipped_low(const struct qs_subject *s)
{
    return number(patch_of(s)->clipped_low);
}

static struct qs_value
clipped_high(const struct qs_subject *s)
{
    return number(patch_of(s)->clipped_high);
}

static struct qs_value
grain_px(const struct qs_subject *s)
{
    return number_if(noise_of(s)->has_grain, noise_of(s)->grain_px);
}

static struct qs_value
contrast_kept(const struct qs_subject *s)
{
    return number(s->fall->contrast_kept);
}

static struct qs_value
alias_share(const struct qs_subject *s)
{
    return number(s->fall->alias_share);
}

static struct qs_value
ideal_stops(const struct qs_subject *s)
{
    return number(2.0 * log2(s->frame->deliveries[s->fall->delivery].reduction));
}

static const struct qs_fall_value *
fall_of(const struct qs_subject *s)
{
    return &s->fall->channel[s->channel];
}

static bool
has_sd(const struct qs_subject *s)
{
    return fall_of(s)->has_measured || fall_of(s)->has_predicted;
}

static struct qs_value
sd_predicted(const struct qs_subject *s)
{
    return number_if(fall_of(s)->has_predicted, fall_of(s)->sd_predicted);
}

static struct qs_value
sd_measured(const struct qs_subject *s)
{
    return number_if(fall_of(s)->has_measured, fall_of(s)->sd_measured);
}

static struct qs_value
fall_sd_low(const struct qs_subject *s)
{
    return number_if(has_sd(s), fall_of(s)->sd_low);
}

static struct qs_value
fall_sd_high(const struct qs_subject *s)
{
    return number_if(has_sd(s), fall_of(s)->sd_high);
}

/* Measured where it could be, else predicted. */
static double
sd_here(const struct qs_subject *s)
{
    const struct qs_fall_value *fall = fall_of(s);

    return fall->has_measured    ? fall->sd_measured
           : fall->has_predicted ? fall->sd_predicted
                                 : 0.0;
}

static struct qs_value
fall_snr(const struct qs_subject *s)
{
    return ratio(noise_of(s)->mean, sd_here(s));
}

static struct qs_value
fall_snr_db(const struct qs_subject *s)
{
    return decibels(noise_of(s)->mean, sd_here(s));
}

static struct qs_value
fall_db(const struct qs_subject *s)
{
    return number_if(fall_of(s)->has_fall, fall_of(s)->fall_db);
}

static struct qs_value
worth_stops(const struct qs_subject *s)
{
    return number_if(fall_of(s)->has_fall, fall_of(s)->worth_stops);
}

static struct qs_value
worth_se_stops(const struct qs_subject *s)
{
    return number_if(fall_of(s)->has_fall, fall_of(s)->worth_se_stops);
}

static const struct qs_field shot_fields[] = {
    {"iso", "ISO", "", 0, 1.0, iso},
    {"exposure_s", "shutter", "s", 4, 1.0, exposure_s},
    {"f_number", "aperture", "f/", 1, 1.0, f_number},
    {"exposure_bias_stops", "bias", "stops", 1, 1.0, exposure_bias},
};

static const struct qs_field patch_fields[] = {
    {"mean", "mean", "% white", 2, 100.0, mean},
    {"sd", "noise", "% white", 3, 100.0, sd},
    {"sd_low", "from", "% white", 3, 100.0, sd_low},
    {"sd_high", "to", "% white", 3, 100.0, sd_high},
    {"snr", "SNR", "", 1, 1.0, snr},
    {"snr_db", "SNR", "dB", 1, 1.0, snr_db},
    {"row_sd", "rows", "% white", 3, 100.0, row_sd},
    {"column_sd", "columns", "% white", 3, 100.0, column_sd},
    {"clipped", "clipped", "%", 1, 100.0, clipped},
    {"clipped_low", "black", "%", 1, 100.0, clipped_low},
    {"clipped_high", "white", "%", 1, 100.0, clipped_high},
    {"grain_px", "grain", "px", 1, 1.0, grain_px},
};

static const struct qs_field size_fields[] = {
    {"contrast_kept", "contrast", "%", 0, 100.0, contrast_kept},
    {"alias_share", "aliased", "%", 1, 100.0, alias_share},
    {"ideal_stops", "ideal", "stops", 2, 1.0, ideal_stops},
};

static const struct qs_field fall_fields[] = {
    {"sd_predicted", "predicted", "% white", 3, 100.0, sd_predicted},
    {"sd_measured", "noise", "% white", 3, 100.0, sd_measured},
    {"sd_low", "from", "% white", 3, 100.0, fall_sd_low},
    {"sd_high", "to", "% white", 3, 100.0, fall_sd_high},
    {"snr", "SNR", "", 1, 1.0, fall_snr},
    {"snr_db", "SNR", "dB", 1, 1.0, fall_snr_db},
    {"fall_db", "fall", "dB", 1, 1.0, fall_db},
    {"worth_stops", "quieter", "stops", 2, 1.0, worth_stops},
    {"worth_se_stops", "se", "stops", 2, 1.0, worth_se_stops},
};

static struct qs_value
plan_reduction(const struct qs_subject *s)
{
    return number(s->plan_row->reduction);
}

static struct qs_value
plan_contrast(const struct qs_subject *s)
{
    return number(s->plan_row->contrast_kept);
}

static struct qs_value
plan_exposure(const struct qs_subject *s)
{
    return number_if(s->plan_row->exposure_s > 0.0, s->plan_row->exposure_s);
}

static struct qs_value
max_iso(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_max_iso, s->plan_row->max_iso);
}

static struct qs_value
max_iso_low(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_max_low, s->plan_row->max_low);
}

static struct qs_value
max_iso_high(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_max_high, s->plan_row->max_high);
}

static struct qs_value
light_lux(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_light, s->plan_row->light_lx);
}

static struct qs_value
ev100(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_light, s->plan_row->ev100);
}

static struct qs_value
luminance(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_light, s->plan_row->luminance_cd_m2);
}

static struct qs_value
saves_stops(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_saves, s->plan_row->saves_stops);
}

static struct qs_value
short_stops(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_short, s->plan_row->short_stops);
}

static struct qs_value
needed_iso(const struct qs_subject *s)
{
    return number_if(s->plan_row->has_needed, s->plan_row->needed_iso);
}

static struct qs_value
cell_snr(const struct qs_subject *s)
{
    return number_if(s->plan_cell->known, s->plan_cell->snr);
}

static struct qs_value
cell_snr_low(const struct qs_subject *s)
{
    return number_if(s->plan_cell->known, s->plan_cell->snr_low);
}

static struct qs_value
cell_snr_high(const struct qs_subject *s)
{
    return number_if(s->plan_cell->known, s->plan_cell->snr_high);
}

static struct qs_value
cell_seen(const struct qs_subject *s)
{
    return number_if(s->plan_cell->has_seen, s->plan_cell->seen);
}

static const struct qs_field plan_fields[] = {
    {"reduction", "reduction", "", 2, 1.0, plan_reduction},
    {"contrast_kept", "contrast", "%", 0, 100.0, plan_contrast},
    {"exposure_s", "shutter", "s", 4, 1.0, plan_exposure},
    {"max_iso", "highest", "ISO", 0, 1.0, max_iso},
    {"max_iso_low", "from", "ISO", 0, 1.0, max_iso_low},
    {"max_iso_high", "to", "ISO", 0, 1.0, max_iso_high},
    {"light_lux", "light", "lux", 1, 1.0, light_lux},
    {"ev100", "EV at", "ISO 100", 1, 1.0, ev100},
    {"luminance_cd_m2", "grey", "cd/m2", 2, 1.0, luminance},
    {"saves_stops", "saves", "stops", 1, 1.0, saves_stops},
    {"short_stops", "short", "stops", 1, 1.0, short_stops},
    {"needed_iso", "asks for", "ISO", 0, 1.0, needed_iso},
};

static const struct qs_field cell_fields[] = {
    {"snr", "SNR", "", 1, 1.0, cell_snr},
    {"snr_low", "from", "", 1, 1.0, cell_snr_low},
    {"snr_high", "to", "", 1, 1.0, cell_snr_high},
    {"visible", "visible", "", 2, 1.0, cell_seen},
};

#define ROWS(table)                                                                    \
    {                                                                                  \
        table, (int)(sizeof(table) / sizeof((table)[0]))                               \
    }

static const struct group {
    const struct qs_field *rows;
    int count;
} groups[QS_FIELD_GROUPS] = {
    [QS_FIELDS_SHOT] = ROWS(shot_fields), [QS_FIELDS_PATCH] = ROWS(patch_fields),
    [QS_FIELDS_SIZE] = ROWS(size_fields), [QS_FIELDS_FALL] = ROWS(fall_fields),
    [QS_FIELDS_PLAN] = ROWS(plan_fields), [QS_FIELDS_CELL] = ROWS(cell_fields),
};

const struct qs_field *
qs_fields(enum qs_field_group group, int *count)
{
    *count = groups[group].count;
    return groups[group].rows;
}

const struct qs_field *
qs_field(enum qs_field_group group, const char *key)
{
    int i = 0;

    while (i < groups[group].count && strcmp(groups[group].rows[i].key, key) != 0)
        i++;
    assert(i < groups[group].count);
    return &groups[group].rows[i];
}

struct qs_value
qs_field_value(enum qs_field_group group, const char *key,
               const struct qs_subject *subject)
{
    return qs_field(group, key)->get(subject);
}

void
qs_field_text(enum qs_field_group group, const char *key,
              const struct qs_subject *subject, char *out, size_t size)
{
    const struct qs_field *field = qs_field(group, key);
    struct qs_value value = field->get(subject);

    if (value.known)
        (void)snprintf(out, size, "%.*f", field->digits, field->scale * value.number);
    else
        (void)snprintf(out, size, "-");
}
