/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * linear.h - code values to linear light
 *
 * Turns the code values of a file into linear light of the file's own
 * primaries, 0.0 = its black and 1.0 = its white, and says how much each
 * primary gives to luminance.  Decides by, in this order: what the user says,
 * what the file says (profile or tag), else an assumption that is reported.
 *
 * Nothing is clamped: codes below a given black become negative light, codes
 * above a given white become more than 1.
 *
 * Threads: after qs_linear_new a struct qs_linear is only read; any number of
 * threads may use it at once.
 * Method: docs/method/linear.md.
 */
#ifndef QS_LINEAR_LINEAR_H
#define QS_LINEAR_LINEAR_H

#include <stdbool.h>
#include <stdint.h>

#include "base/status.h"
#include "image/image.h"
#include "linear/primaries.h"

struct qs_linear;

enum qs_encoding_from {
    QS_FROM_PROFILE, /* the embedded ICC profile */
    QS_FROM_TAG,     /* a PNG colour chunk: cICP, sRGB or gAMA */
    QS_FROM_OPTION,  /* --encoding */
    QS_FROM_ASSUMED  /* nothing to go by: sRGB for whole numbers, linear for floats */
};

/*
 * What the user says of the encoding; all zero = nothing.  A black or white that is
 * not given is that of the file: the ends of its code range, 0 and 1 for floats.
 */
struct qs_encoding_choice {
    const char
        *name; /* NULL or "profile" = go by the file; else see qs_encoding_check */
    bool has_black;
    double black; /* code that is 0.0, in the file's own units */
    bool has_white;
    double white; /* code that is 1.0 */
};

/* How a file is being read. */
struct qs_encoding {
    char name[96]; /* "sRGB", "linear", "gamma 2.2", or the profile's description */
    enum qs_encoding_from from;
    struct qs_colour_weights weights; /* of r, g, b; zeros for grey */
    bool is_linear;                   /* code values are already linear light */
};

/*
 * Whether `name` means an encoding: "profile", "linear", "srgb", "bt709",
 * "rec2020" (transfer of BT.2020), "prophoto" (ROMM), "adobe1998" (563/256)
 * or "gamma:G" with G from 0.2 to 5.
 *
 *   QS_OK         it does
 *   QS_ERR_USAGE  it does not; the sentence lists those that do
 */
QS_MUST_CHECK enum qs_status
qs_encoding_check(const char *name, struct qs_error *err);

/*
 * Prepares the way from the code values of a file described by `info` to
 * linear light.  `choice` may be NULL.  An encoding named there replaces the
 * file's curve; the file's primaries stay, where it has usable ones.
 *
 *   QS_OK           *out is to be freed with qs_linear_free; it does not
 *                   refer to `info` or `choice` afterwards
 *   QS_ERR_USAGE    an unknown encoding name, or a white not above the black
 *   QS_ERR_PROFILE  the embedded profile is damaged, for another kind of
 *                   picture, or cannot be made linear, or a colour chunk says
 *                   what this program cannot undo (HDR); the sentence says to
 *                   use --encoding, or what to export
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_linear_new(const struct qs_image_info *info, const struct qs_encoding_choice *choice,
              struct qs_linear **out, struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_linear_free(struct qs_linear *linear);

/* How the file is being read; valid until `linear` is freed. */
const struct qs_encoding *
qs_linear_encoding(const struct qs_linear *linear);

/*
 * Turns `count` pixels of code values, laid out as qs_image_read gives them,
 * into one plane per colour channel: out[0..2] = r, g, b, or out[0] alone for
 * grey.  Where `ends` is not NULL, ends[i] gets bit c set when channel c of
 * pixel i sits at the lowest or highest code of the file's sample type (for
 * floats: <= 0.0 or >= 1.0).  Returns whether any bit was set.
 */
bool
qs_linear_decode(const struct qs_linear *linear, const void *codes, int count,
                 float *const out[3], uint8_t *ends);

/*
 * Code values as fractions of the code range (black = 0, white = 1), before any
 * curve: what `--light encoded` shrinks.  Layout as above.
 */
void
qs_linear_fractions(const struct qs_linear *linear, const void *codes, int count,
                    float *const out[3]);

/*
 * The curve alone: fractions of the code range to linear light (in and out may be
 * the same planes).  Follows qs_linear_decode within
 * 1e-6 of full scale for values in [0, 1].
 */
void
qs_linear_from_fractions(const struct qs_linear *linear, const float *const in[3],
                         int count, float *const out[3]);

enum {
    QS_QUAD = 4 /* floats of a pixel: r, g, b and alpha, or grey first */
};

/*
 * As qs_linear_decode, but pixel by pixel, four floats for each (r, g, b or grey
 * first); what a pixel has not is 0.
 */
void
qs_linear_decode_quads(const struct qs_linear *linear, const void *codes, int count,
                       float *quads);

/* Channels of the pictures it reads: 1 or 3. */
int
qs_linear_channels(const struct qs_linear *linear);

/* Whether each channel has a curve of its own, rather than a table of all three. */
bool
qs_linear_is_separate(const struct qs_linear *linear);

/*
 * Light of one channel at `count` >= 2 evenly spaced fractions of the code range, from
 * its lowest to its highest code; only where channels are separate.
 */
void
qs_linear_lights(const struct qs_linear *linear, int channel, int count,
                 double *lights);

/* y from r, g, b of an RGB file; out may be one of them. */
void
qs_linear_luminance(const struct qs_linear *linear, const float *r, const float *g,
                    const float *b, int count, float *out);

#endif
