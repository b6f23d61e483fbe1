/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * picture_sink.h - where shrunk strips go: into the file, or to be turned first
 *
 * Private to picture.c.
 */
#ifndef QS_DELIVER_PICTURE_SINK_H
#define QS_DELIVER_PICTURE_SINK_H

#include "deliver/shrinker.h"
#include "deliver/turn.h"
#include "image/writer.h"

/* Strips are packed by the shrinker's threads and put into the file. */
struct qs_strip_sink
qs_sink_into_writer(struct qs_writer *writer);

struct qs_turn_sink {
    struct qs_turn *turn;
    int strip_rows;
};

/* Strips are kept to be turned; `into` is the caller's until the shrinker has run. */
struct qs_strip_sink
qs_sink_into_turn(struct qs_turn_sink *into);

#endif
