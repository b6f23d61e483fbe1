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

/*
 * The signals whose noise a camera sheet keeps: the channels, and the two colour
 * differences that the eye sees as colour noise.  For equal X, Y and Z (a grey) both
 * are 0, whatever its tone.
 */
enum qs_signal {
    QS_SIGNAL_RED_GREEN = QS_CHANNELS, /* X/Xn - Y/Yn, n: the file's white */
    QS_SIGNAL_YELLOW_BLUE,             /* Y/Yn - Z/Zn */
    QS_SIGNALS
};

/* A channel's key, "red_green" or "yellow_blue". */
static inline const char *
qs_signal_key(int signal)
{
    if (signal < (int)QS_CHANNELS)
        return qs_channel_key((enum qs_channel)signal);
    return signal == (int)QS_SIGNAL_RED_GREEN ? "red_green" : "yellow_blue";
}

/* First channel a picture with `colour_channels` (1 or 3) stored ones has. */
static inline enum qs_channel
qs_channel_first(int colour_channels)
{
    return colour_channels == 1 ? QS_Y : QS_R;
}

#endif
