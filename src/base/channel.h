/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * channel.h - the four channels every figure is given for
 *
 * r, g and b are linear light of the file's own primaries; y is luminance by
 * those primaries.  A grey file has y alone.
 */
#ifndef QS_BASE_CHANNEL_H
#define QS_BASE_CHANNEL_H

enum qs_channel {
    QS_R,
    QS_G,
    QS_B,
    QS_Y,
    QS_CHANNELS
};

/* "r", "g", "b" or "y". */
static inline const char *
qs_channel_key(enum qs_channel channel)
{
    static const char *const keys[QS_CHANNELS] = {"r", "g", "b", "y"};

    return keys[channel];
}

/* First channel a picture with `colour_channels` (1 or 3) stored ones has. */
static inline enum qs_channel
qs_channel_first(int colour_channels)
{
    return colour_channels == 1 ? QS_Y : QS_R;
}

#endif
