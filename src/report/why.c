/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/why.h"

#include <math.h>

#include "report/filter_figures.h"
#include "report/words.h"
#include "report/wrap.h"

/* Noise whose power in stripes is below this share needs no word. */
static const double STRIPES_WORTH_A_WORD = 0.03;

/* Falls this near to one another are called equal, in stops. */
static const double ALIKE_STOPS = 0.1;

/* Above this grain noise is coarse; below, neighbours share it. Common practice, no
   source. */
static const double COARSE_PX = 3.5;

/* How far apart two falls must be to be called different. */
static double
alike(const struct qs_digest *digest)
{
    return fmax(digest->interval_stops, ALIKE_STOPS);
}

static void
say_title(FILE *out, const struct qs_digest *digest)
{
    double over = digest->worth.worth_stops - digest->worth.ideal_stops;
    const char *title = over < -alike(digest) ? "Why it falls less than the ideal"
                        : over > alike(digest)
                            ? "Why it falls more than the ideal"
                            : "Why it falls about as far as the ideal";

    (void)fprintf(out, "\n  %s\n", title);
}

/* What the filter alone would do, against plain averaging. */
static const char *
filter_text(const struct qs_digest *digest, const struct qs_filter_figures *filter)
{
    double over = filter->worth_stops - digest->worth.ideal_stops;

    if (over > ALIKE_STOPS)
        return ", more than plain averaging, because each delivered pixel draws on "
               "more of the frame's pixels";
    if (over < -ALIKE_STOPS)
        return ", less than plain averaging";
    return ", as much as plain averaging";
}

/* What this frame's noise does instead, and what usually leaves noise like that. */
static const char *
noise_text(const struct qs_digest *digest, const struct qs_filter_figures *filter)
{
    double over = digest->worth.worth_stops - filter->worth_stops;

    if (over > alike(digest))
        return "Here the noise of neighbouring pixels partly cancels, as after "
               "sharpening, so it falls faster once pixels are averaged";
    if (over >= -alike(digest))
        return "This frame's noise is close to that";
    if (digest->has_grain && digest->grain_px > COARSE_PX)
        return "Here the noise is coarse, as smoothing or noise reduction leaves it, "
               "and shrinking hardly touches noise that is coarser than the delivered "
               "pixels";
    return "Here neighbouring pixels share part of their noise, as they do after "
           "demosaicing, and what they share does not average away";
}

static void
say_noise(FILE *out, const struct qs_digest *digest,
          const struct qs_filter_figures *filter)
{
    char text[640], grain[64] = "";

    if (digest->has_grain)
        (void)snprintf(grain, sizeof grain, " (grain %.2g" QS_GLUE "px)",
                       digest->grain_px);
    (void)snprintf(
        text, sizeof text,
        "On noise that is independent from pixel to pixel, %s would be worth "
        "%.*f" QS_GLUE "%s at this size%s. %s%s.",
        qs_filter_row(filter->filter)->key, qs_words_digits(digest->interval_stops),
        filter->worth_stops, fabs(filter->worth_stops) <= 1.0 ? "stop" : "stops",
        filter_text(digest, filter), noise_text(digest, filter), grain);
    qs_wrap(out, "  - ", "    ", text);
}

static void
say_stripes(FILE *out, const struct qs_digest *digest)
{
    char text[320];

    if (digest->stripes_share < STRIPES_WORTH_A_WORD)
        return;
    (void)snprintf(
        text, sizeof text,
        "Stripes, noise that whole rows or columns share, make up %.0f" QS_GLUE
        "%% of the noise power at full size. They lose only half as "
        "many stops as single pixels do, so the smaller the picture, the "
        "more of what is left is stripes.",
        100.0 * digest->stripes_share);
    qs_wrap(out, "  - ", "    ", text);
}

static void
say_contrast(FILE *out, const struct qs_filter_figures *filter)
{
    const char *name = qs_filter_row(filter->filter)->key;
    double kept = 100.0 * filter->contrast_half_nyquist;
    char text[400], share[64];

    if (kept >= 99.5)
        (void)snprintf(share, sizeof share, "all the contrast");
    else
        (void)snprintf(share, sizeof share, "%.0f" QS_GLUE "%% of the contrast", kept);
    (void)snprintf(text, sizeof text,
                   "%s keeps %s of detail twice as coarse as the finest this size can "
                   "hold. Filters that take away more noise take away more detail too; "
                   "quietsize filters compares them.",
                   name, share);
    qs_wrap(out, "  - ", "    ", text);
}

enum qs_status
qs_why(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest,
       struct qs_error *err)
{
    const struct qs_delivery *delivery = &frame->deliveries[digest->delivery];
    const struct qs_filter_size size = {
        .scale_x = (double)frame->crop.width / delivery->width,
        .scale_y = (double)frame->crop.height / delivery->height,
    };
    struct qs_filter_figures filter;
    enum qs_status status = qs_filter_figures(frame->filters[0], &size, &filter, err);

    if (status != QS_OK)
        return status;
    say_title(out, digest);
    say_noise(out, digest, &filter);
    say_stripes(out, digest);
    say_contrast(out, &filter);
    return QS_OK;
}

void
qs_why_stops(FILE *out)
{
    qs_wrap(
        out, "", "",
        "Stops quieter are stops of light saved where the noise is that of the light "
        "itself, as in mid-tones. In deep shadows, where the camera's own noise "
        "rules, the same fall saves about half as much light.");
}
