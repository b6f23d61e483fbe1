/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * units.h - light levels, lengths and speeds as people type them
 *
 *   light          80  80lux  80lx  7.4fc       no unit means lux
 *   speed          0.5m/s  50cm/s  2km/h  1.5ft/s  3mph
 *   length         2m  50cm  400mm  20in  6ft
 *   lamp distance  as a length                  no unit means metres
 *
 * A length and a speed need their unit: "50" of a viewing distance is meant in
 * centimetres as often as in metres, and a guess would be off a hundredfold.
 * A lamp's distance is short to type, stands beside others, and is in metres.
 *
 * Numbers are digits with a decimal point, at most QS_UNITS_DIGITS of them; no sign,
 * no exponent and no blanks.  They are read digit by digit, not by strtod, which
 * takes a decimal comma where the locale has one: neither the locale nor who
 * sets it can change what is read here.
 *
 * Units: lux, metres per second, metres.
 * Threads: results depend on the arguments alone; call from any thread.
 * Memory: nothing is allocated.
 * Method: docs/method/light.md, equation E25.
 */
#ifndef QS_PLAN_UNITS_H
#define QS_PLAN_UNITS_H

#include <stdbool.h>

#include "base/status.h"

enum qs_unit_kind {
    QS_UNIT_LIGHT,
    QS_UNIT_SPEED,
    QS_UNIT_LENGTH,
    QS_UNIT_LAMP_DISTANCE,
    QS_UNIT_KINDS
};

enum {
    QS_UNITS_DIGITS = 15 /* digits that are read to the last bit; zeros in front free */
};

/*
 * Reads a number at *text, moves *text to what follows it, and returns true.
 * Returns false, and leaves *text and *out, where there is none or one with too many
 * digits.  What is read is the double nearest to what is written.
 */
bool
qs_units_number(const char **text, double *out);

/*
 * Reads all of `text`.  Light and speed may be 0 (a dark room, a subject that holds
 * still), lengths may not.
 *
 *   QS_OK         *out_si is filled
 *   QS_ERR_USAGE  no number, a unit that is none of the kind's or that is missing, or
 *                 a value beyond what the kind allows; the sentence gives examples
 */
QS_MUST_CHECK enum qs_status
qs_units_read(enum qs_unit_kind kind, const char *text, double *out_si,
              struct qs_error *err);

#endif
