/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/order_print.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static void
add_text(struct qs_fingerprint *print, const char *text)
{
    qs_fingerprint_add(print, text, strlen(text) + 1);
}

void
qs_fingerprint_add_order(struct qs_fingerprint *print,
                         const struct qs_picture_order *order,
                         const struct qs_image_info *info,
                         const struct qs_picture_sides *sides)
{
    char text[400];

    (void)snprintf(text, sizeof text,
                   "source %d x %d, %d channels, alpha %d, sample %d; "
                   "crop %d %d %d %d to %d x %d, written %d x %d; filter %s",
                   info->width, info->height, info->channels, (int)info->alpha,
                   (int)info->sample, sides->crop.x, sides->crop.y, sides->crop.width,
                   sides->crop.height, sides->width, sides->height, sides->final_width,
                   sides->final_height, qs_filter_row(order->filter)->key);
    add_text(print, text);
    add_text(print, order->encoding != NULL && order->encoding->name != NULL
                        ? order->encoding->name
                        : "profile");
    /* what a PNG says of its colour beside a profile */
    (void)snprintf(text, sizeof text, "claim %d, cicp %d %d %d %d, gama %.9g",
                   (int)info->colour.claim, info->colour.cicp[0], info->colour.cicp[1],
                   info->colour.cicp[2], info->colour.cicp[3], info->colour.gama);
    add_text(print, text);
    for (int i = 0; i < 8; i++) {
        (void)snprintf(text, sizeof text, "%.9g", info->colour.chromaticity[i]);
        add_text(print, info->colour.has_chromaticity ? text : "");
    }
}

static void
add_notes(struct qs_fingerprint *print, const struct qs_note_list *list)
{
    char text[80];

    for (size_t i = 0; i < list->count; i++) {
        const struct qs_note *note = &list->notes[i];

        (void)snprintf(text, sizeof text, "tag %d type %d count %" PRIu64 " bytes %zu",
                       note->tag, note->type, note->count, note->size);
        add_text(print, text);
        qs_fingerprint_add(print, note->bytes, note->size);
    }
    add_text(print, "end");
}

void
qs_fingerprint_add_plan(struct qs_fingerprint *print,
                        const struct qs_picture_plan *plan)
{
    char text[160];

    (void)snprintf(text, sizeof text,
                   "%d bits, format %d, %s, alpha %d, %.9g ppi, orientation %d, "
                   "profile of %zu bytes",
                   plan->bits, (int)plan->format,
                   qs_compression_kind(plan->compression)->key, (int)plan->alpha,
                   plan->ppi, plan->orientation, plan->icc_size);
    add_text(print, text);
    qs_fingerprint_add(print, plan->icc, plan->icc_size);
    for (int place = 0; place < QS_NOTE_PLACES; place++)
        add_notes(print, &plan->notes->at[place]);
}
