/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * exposure.h - how aperture, shutter, ISO and light hang together
 *
 * Any three of the four give the fourth.  The rest of the header is what goes with
 * it: exposure values, luminance of what is lit, the shutter of a film or video
 * camera, the least light that a noise criterion allows, and the one
 * measurement that fits the rule to a camera and its converter.
 *
 * What the rule promises: light of E lux on the subject, metered as in ISO 2720 with
 * the constant C, puts a grey of reflectance R at the tone R (linear light, 1.0 =
 * white).  Cameras and converters miss that by up to a stop; qs_calibrate tells by
 * how much.
 *
 * Units: f-numbers (T-numbers where a lens has them, they are what counts), seconds,
 * ISO as set, lux on the subject, candela per square metre, stops (factors of two).
 * Tones and noise are in linear light, 1.0 = white.
 * Ranges: numbers are finite; where nothing else is said they are above 0, and another
 * one is a mistake of the caller's.
 * Threads: results depend on the arguments alone; call from any thread.
 * Memory: nothing is allocated.
 * Method: docs/method/light.md, equations E1 to E15.
 */
#ifndef QS_PLAN_EXPOSURE_H
#define QS_PLAN_EXPOSURE_H

#include <stdbool.h>

#include "base/status.h"

/* Constants of light meters as ISO 2720 has them: of light that falls on the subject
   (flat receptor, in lux) and of the luminance seen from the camera (in cd/m^2). */
#define QS_METER_C 250.0
#define QS_METER_K 12.5

/* The grey card's reflectance; common practice, no source. */
#define QS_GREY_REFLECTANCE 0.18

/* Stops */

double
qs_stops_of_ratio(double ratio);

/* `stops` of either sign. */
double
qs_ratio_of_stops(double stops);

/* Stops of light won by going from one f-number to another; opening up gives more
   than 0. */
double
qs_stops_of_apertures(double from_f_number, double to_f_number);

/* Aperture, shutter, ISO and light */

struct qs_exposure {
    double f_number;   /* 0 = unknown, and so for the others */
    double exposure_s; /* time of one exposure */
    double iso;
    double light_lx; /* on the subject, from all lamps and the ambient together */
};

enum qs_exposure_part {
    QS_EXPOSURE_APERTURE,
    QS_EXPOSURE_SHUTTER,
    QS_EXPOSURE_ISO,
    QS_EXPOSURE_LIGHT,
    QS_EXPOSURE_PARTS
};

/* The part's name in a sentence: "aperture", "shutter", "ISO", "light". */
const char *
qs_exposure_part_name(enum qs_exposure_part part);

/* The part's number; 0 = unknown. */
double
qs_exposure_part_of(const struct qs_exposure *exposure, enum qs_exposure_part part);

/*
 * Fills in the one part that is unknown: E = C N^2 / (t S).  The number found is the
 * rule's own, not the nearest one that a dial has, and may be one that no lens or
 * camera has.
 *
 *   QS_OK         the unknown part is filled; where none is unknown, nothing is done
 *                 (qs_exposure_error_stops tells how well the four go together)
 *   QS_ERR_USAGE  two parts or more are unknown; the sentence names them
 *   QS_ERR_RANGE  a part is below 0 or not a finite number, or the one asked
 *                 for would be
 *
 * *exposure is as it was unless the result is QS_OK.
 */
QS_MUST_CHECK enum qs_status
qs_exposure_solve(struct qs_exposure *exposure, double meter_c, struct qs_error *err);

/* How many stops the four, all known, are over (> 0, too bright) or under. */
double
qs_exposure_error_stops(const struct qs_exposure *exposure, double meter_c);

/* Exposure values */

/* EV of a setting: 0 at f/1 and 1 s, one more for half the light let in. */
double
qs_ev_of_setting(double f_number, double exposure_s);

/* EV at ISO 100 of light on the subject, and back. */
double
qs_ev100_of_lux(double light_lx, double meter_c);

double
qs_lux_of_ev100(double ev, double meter_c);

/* Luminance, cd/m^2, that a meter with QS_METER_K reads as `ev` at ISO 100, and back.
 */
double
qs_luminance_of_ev100(double ev);

double
qs_ev100_of_luminance(double luminance);

/* Luminance of a matt surface of `reflectance` (0 to 1) in light of so many lux, and
   back. */
double
qs_luminance_of_lux(double light_lx, double reflectance);

double
qs_lux_of_luminance(double luminance, double reflectance);

/* Shutters of motion */

/* Time of one exposure at frames per second and shutter angle; 0 < angle <= 360. */
double
qs_shutter_of_motion(double fps, double angle_deg);

/* The angle of a shutter time; over 360, the time is longer than a frame lasts and
   the camera can't do it. */
double
qs_angle_of_shutter(double fps, double exposure_s);

/* The least light */

/*
 * Noise over tone m: var(m) = read2 + gain m + pattern2 m^2, all three >= 0 and from
 * one channel.  `ratio` is the noise's fall: sd delivered / sd at native size, in
 * one filter and size, 1 = native.  All parts of the noise are taken to fall alike.
 */

/* Signal to noise of a tone as delivered; false where there is no noise at all. */
bool
qs_snr_of_tone(double read2, double gain, double pattern2, double ratio, double tone,
               double *snr);

/*
 * The darkest tone that reaches `snr` as delivered.  It may be above 1: then white
 * is not bright enough, and the caller has to say so.  False where no light does it,
 * since noise that grows as the tone grows (pattern2) bounds the signal to noise.
 */
bool
qs_least_tone(double read2, double gain, double pattern2, double ratio, double snr,
              double *tone);

/*
 * What delivering at `ratio` is worth in stops of light at this criterion, against
 * native size: log2 of the two least tones.  Between -log2 ratio, where read noise
 * rules, and -2 log2 ratio, where photons do, as long as pattern2 is 0.  False where
 * either size can't meet the criterion, or where there is no noise.
 */
bool
qs_size_worth_stops(double read2, double gain, double pattern2, double ratio,
                    double snr, double *stops);

/* Electrons that reach `snr` in photon noise and a read noise of `read_e` >= 0. */
double
qs_electrons_for_snr(double snr, double read_e);

/*
 * Light that puts a surface of `reflectance` at `tone`, by the rule above: at aperture,
 * shutter and ISO of *exposure; its light is not looked at.
 */
double
qs_light_of_tone(const struct qs_exposure *exposure, double meter_c, double reflectance,
                 double tone);

/*
 * The same by saturation: ISO 12232's speed for a camera that maps the sensor's full
 * scale to white.  Gives 0.59 stop more than the rule with QS_METER_C: it keeps
 * half a stop free above white, and the two meter constants differ.
 * docs/method/light.md says which to take when; luminance, then lux by
 * qs_lux_of_luminance.
 */
double
qs_luminance_of_tone_saturation(const struct qs_exposure *exposure, double tone);

/* Calibration */

/* Off by more than this, look for a wrong lux, a wrong patch or a converter's
   brightening before you believe it; common practice, no source. */
#define QS_CALIBRATION_DOUBT_STOPS 2.0

/*
 * A grey of known reflectance was taken in known light, and `mean` is its tone in the
 * frame.  *stops is how much brighter it came out than the rule promises (< 0: darker),
 * over- or underexposure of the frame taken off.  A camera that is brighter needs less
 * light by as many stops.  It holds for this camera and this way of converting,
 * as a converter's exposure and tone curve are part of it.
 *
 *   QS_OK         *stops is filled
 *   QS_ERR_USAGE  a part of the exposure is unknown; the sentence names it
 *   QS_ERR_RANGE  the mean is not between 0 and 1, both left out (a clipped or black
 *                 patch tells nothing), or the reflectance not above 0 and at most 1
 */
QS_MUST_CHECK enum qs_status
qs_calibrate(const struct qs_exposure *exposure, double meter_c, double reflectance,
             double mean, double *stops, struct qs_error *err);

/* The meter constant that carries a calibration into all of the above:
   meter_c 2^-stops. */
double
qs_calibrated_meter_c(double meter_c, double stops);

#endif
