/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/criterion.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan/units.h"

static const double PI = 3.14159265358979323846;

#define SNR_LEAST 0.1
#define SNR_MOST 10000.0
#define METRES_PER_INCH 0.0254

struct qs_criterion
qs_criterion_default(void)
{
    return (struct qs_criterion){.kind = QS_BY_SNR,
                                 .is_default = true,
                                 .snr = QS_SNR_ACCEPTABLE,
                                 .channel = QS_Y};
}

enum qs_status
qs_criterion_read_snr(const char *text, double *snr, struct qs_error *err)
{
    const char *rest = text;
    double value;

    if (strcmp(text, "excellent") == 0) {
        *snr = QS_SNR_EXCELLENT;
        return QS_OK;
    }
    if (strcmp(text, "acceptable") == 0) {
        *snr = QS_SNR_ACCEPTABLE;
        return QS_OK;
    }
    if (!qs_units_number(&rest, &value) || *rest != '\0' || value < SNR_LEAST ||
        value > SNR_MOST)
        return qs_fail(err, QS_ERR_USAGE,
                       "A signal-to-noise ratio is a number from 0.1 to 10000, or "
                       "excellent (40) or acceptable (10) as in ISO 12232; not "
                       "\"%.40s\".",
                       text);
    *snr = value;
    return QS_OK;
}

double
qs_criterion_tone(const struct qs_criterion *criterion)
{
    return QS_GREY_TONE * exp2(criterion->tone_stops);
}

/* P11: 3.17 of a viewing geometry: 2 d tan(half a degree) / pixel pitch. */
double
qs_criterion_pixels_per_degree(const struct qs_criterion *criterion)
{
    return 2.0 * criterion->distance_m * tan(0.5 * PI / 180.0) * criterion->ppi /
           METRES_PER_INCH;
}

/* "at an 18 % grey", "2 stops below an 18 % grey" */
static void
tone_words(double stops, char *out, size_t size)
{
    if (stops == 0.0)
        (void)snprintf(out, size, "at an 18 %% grey");
    else
        (void)snprintf(out, size, "%g stop%s %s an 18 %% grey", fabs(stops),
                       fabs(stops) == 1.0 ? "" : "s", stops < 0.0 ? "below" : "above");
}

/* ", as seen from 50 cm at 300 ppi" */
static void
view_words(const struct qs_criterion *criterion, char *out, size_t size)
{
    if (!criterion->is_viewed)
        out[0] = '\0';
    else if (criterion->distance_m < 1.0)
        (void)snprintf(out, size, ", as seen from %.3g cm at %.4g ppi",
                       100.0 * criterion->distance_m, criterion->ppi);
    else
        (void)snprintf(out, size, ", as seen from %.3g m at %.4g ppi",
                       criterion->distance_m, criterion->ppi);
}

static const char *
standard_name(double snr)
{
    if (snr == QS_SNR_EXCELLENT)
        return " (\"excellent\" in ISO 12232)";
    return snr == QS_SNR_ACCEPTABLE ? " (\"acceptable\" in ISO 12232)" : "";
}

void
qs_criterion_words(const struct qs_criterion *criterion, char *out, int size)
{
    static const char *const channels[QS_CHANNELS] = {"red", "green", "blue",
                                                      "luminance"};
    char tone[64], view[80];

    tone_words(criterion->tone_stops, tone, sizeof tone);
    view_words(criterion, view, sizeof view);
    switch (criterion->kind) {
    case QS_BY_SNR:
        (void)snprintf(out, (size_t)size,
                       "a signal-to-noise ratio of %g%s in %s, %s, per delivered pixel",
                       criterion->snr, standard_name(criterion->snr),
                       channels[criterion->channel], tone);
        break;
    case QS_BY_LIKE:
        (void)snprintf(out, (size_t)size, "as quiet as ISO %g at full size, in %s %s%s",
                       criterion->like_iso,
                       criterion->is_viewed ? "lightness and colour"
                                            : channels[criterion->channel],
                       tone, view);
        break;
    case QS_BY_SEEN:
        (void)snprintf(out, (size_t)size,
                       "visible noise of at most %g (CIELAB units) %s%s",
                       criterion->seen, tone, view);
        break;
    }
}
