/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sheet/sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

/* Zones begin here: 3.5 stops and 1 stop below middle grey. */
static const double ZONE_FROM[QS_SHEET_ZONES] = {0.0, 0.016, 0.09};

static void
signal_clear(struct qs_sheet_signal *signal)
{
    qs_free(signal->points);
}

static void
frame_clear(struct qs_sheet_frame *frame)
{
    qs_free(frame->file);
    qs_free(frame->warnings);
}

static void
iso_clear(struct qs_sheet_iso *iso)
{
    for (int s = 0; s < (int)QS_SIGNALS; s++)
        signal_clear(&iso->signals[s]);
    for (int f = 0; f < iso->frame_count; f++)
        frame_clear(&iso->frames[f]);
    qs_free(iso->frames);
}

void
qs_sheet_clear(struct qs_sheet *sheet)
{
    for (int i = 0; i < sheet->iso_count; i++)
        iso_clear(&sheet->isos[i]);
    for (int i = 0; i < sheet->refused_count; i++) {
        qs_free(sheet->refused[i].file);
        qs_free(sheet->refused[i].why);
    }
    qs_free(sheet->isos);
    qs_free(sheet->refused);
    *sheet = (struct qs_sheet){0};
}

int
qs_sheet_first(const struct qs_sheet *sheet)
{
    return (int)qs_channel_first(sheet->channels);
}

int
qs_sheet_end(const struct qs_sheet *sheet)
{
    return sheet->channels == 1 ? (int)QS_CHANNELS : (int)QS_SIGNALS;
}

struct qs_sheet_iso *
qs_sheet_iso_at(struct qs_sheet *sheet, double iso)
{
    int place = 0;
    struct qs_sheet_iso *grown;

    while (place < sheet->iso_count && sheet->isos[place].iso < iso)
        place++;
    if (place < sheet->iso_count && sheet->isos[place].iso == iso)
        return &sheet->isos[place];
    if (sheet->iso_count >= QS_SHEET_ISOS)
        return NULL;
    grown = qs_realloc(sheet->isos, (size_t)sheet->iso_count + 1, sizeof *sheet->isos);
    if (grown == NULL)
        return NULL;
    sheet->isos = grown;
    memmove(grown + place + 1, grown + place,
            (size_t)(sheet->iso_count - place) * sizeof *grown);
    grown[place] = (struct qs_sheet_iso){.iso = iso};
    sheet->iso_count++;
    return &grown[place];
}

int
qs_sheet_zone_of(double tone)
{
    int zone = QS_SHEET_ZONES - 1;

    while (zone > 0 && tone < ZONE_FROM[zone])
        zone--;
    return zone;
}

enum qs_status
qs_sheet_add_point(struct qs_sheet_signal *signal, const struct qs_sheet_point *point,
                   struct qs_error *err)
{
    struct qs_sheet_point *grown = qs_realloc(
        signal->points, (size_t)signal->point_count + 1, sizeof *signal->points);

    if (grown == NULL)
        return qs_fail_memory(err);
    signal->points = grown;
    grown[signal->point_count] = *point;
    if (point->kind == QS_POINT_FIXED) /* what a kind doesn't use is not kept */
        grown[signal->point_count].freedom = 0.0;
    else
        grown[signal->point_count].se = 0.0;
    signal->point_count++;
    return QS_OK;
}

void
qs_sheet_add_spectrum(struct qs_sheet_signal *signal, double tone,
                      struct qs_sheet_ground ground, const struct qs_spectrum *spectrum)
{
    static const double unfiltered[1] = {1.0};
    struct qs_sheet_zone *zone = &signal->zones[qs_sheet_zone_of(tone)];
    struct qs_node_weights all;
    double total, share;

    qs_node_weights_fill(unfiltered, 0, &all);
    total = qs_spectrum_variance(spectrum, &all, &all);
    if (!(total > 0.0))
        return;
    share = ground.pixels / (zone->pixels + ground.pixels);
    qs_spectrum_mix(&zone->spectrum, 1.0 - share, spectrum, share / total);
    zone->tone += share * (tone - zone->tone);
    zone->pixels += ground.pixels;
    zone->rows += ground.rows;
    zone->columns += ground.columns;
    zone->known = true;
}

static char *
copy_text(const char *text)
{
    size_t size = strlen(text) + 1;
    char *copy = qs_alloc(size, 1);

    if (copy != NULL)
        memcpy(copy, text, size);
    return copy;
}

void
qs_sheet_readmit(struct qs_sheet *sheet, const char *file)
{
    int kept = 0;

    for (int i = 0; i < sheet->refused_count; i++) {
        struct qs_sheet_refused *one = &sheet->refused[i];

        if (strcmp(one->file, file) != 0) {
            sheet->refused[kept++] = *one;
            continue;
        }
        qs_free(one->file);
        qs_free(one->why);
    }
    sheet->refused_count = kept;
}

bool
qs_sheet_holds(const struct qs_sheet *sheet, const char *file)
{
    for (int i = 0; i < sheet->iso_count; i++)
        for (int f = 0; f < sheet->isos[i].frame_count; f++)
            if (strcmp(sheet->isos[i].frames[f].file, file) == 0)
                return true;
    return false;
}

enum qs_status
qs_sheet_refuse(struct qs_sheet *sheet, const char *file, const char *why,
                struct qs_error *err)
{
    struct qs_sheet_refused one = {copy_text(file), copy_text(why)};
    struct qs_sheet_refused *grown = qs_realloc(
        sheet->refused, (size_t)sheet->refused_count + 1, sizeof *sheet->refused);

    if (grown != NULL)
        sheet->refused = grown;
    if (grown == NULL || one.file == NULL || one.why == NULL) {
        qs_free(one.file);
        qs_free(one.why);
        return qs_fail_memory(err);
    }
    qs_sheet_readmit(sheet, file);
    sheet->refused[sheet->refused_count++] = one;
    return QS_OK;
}

enum qs_status
qs_sheet_add_frame(struct qs_sheet_iso *iso, const struct qs_sheet_frame *frame,
                   const char *file, const char *warnings, struct qs_error *err)
{
    struct qs_sheet_frame own = *frame;
    struct qs_sheet_frame *grown =
        qs_realloc(iso->frames, (size_t)iso->frame_count + 1, sizeof *iso->frames);

    own.file = copy_text(file);
    own.warnings = copy_text(warnings);
    if (grown != NULL)
        iso->frames = grown;
    if (grown == NULL || own.file == NULL || own.warnings == NULL) {
        frame_clear(&own);
        return qs_fail_memory(err);
    }
    grown[iso->frame_count++] = own;
    return QS_OK;
}

double
qs_sheet_round(double value, int digits)
{
    char text[40];

    /* printed and read under one locale, so its decimal sign does not matter */
    (void)snprintf(text, sizeof text, "%.*g", digits, value);
    return strtod(text, NULL);
}
