/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace_sim.h - small frames whose past is known: demosaiced, and spoiled or not
 *
 * Makes flat patches of noise as a sensor and a converter leave it, spoils them in
 * one way, and has them judged as a frame is, without a file.
 *
 * Threads: the same seed gives the same frame; call from any thread.
 */
#ifndef TRACE_SIM_H
#define TRACE_SIM_H

#include <stdbool.h>
#include <stdint.h>

#include "frame/frame.h"

enum ts_demosaic {
    TS_PLAIN, /* every channel measured in every pixel */
    TS_GREY,  /* one channel */
    TS_BILINEAR,
    TS_GRADIENT,   /* Malvar, He, Cutler 2004; coefficients from memory */
    TS_DIRECTIONAL /* green along the smoother axis, colour differences bilinear */
};

/* A sensor and converter before anything is spoiled. */
struct ts_base {
    const char *name;
    enum ts_demosaic demosaic;
    double variance[3]; /* of r, g, b photosites, white balance counted; g = 1 */
    int matrix;         /* 0 none, 1 and 2: of cameras, mild and strong */
};

extern const struct ts_base ts_bases[];
extern const int ts_base_count;

/* Something done to the frame. */
struct ts_deed {
    const char *name;
    double strength;
    int expected; /* enum qs_warning_code, or -1: no warning ought to come */
    int also;     /* one that may come as well, or -1 */
    bool colour;  /* makes no sense on grey */
};

extern const struct ts_deed ts_deeds[];
extern const int ts_deed_count;

struct ts_setting {
    int patches;  /* up to 12 */
    int side_px;  /* of each */
    double noise; /* 1: sd 0.006 at middle grey */
    uint64_t seed;
};

/*
 * Makes a frame and has it judged: out->warnings says what was seen.  Clear it with
 * qs_frame_clear.  Returns false where memory is short.
 */
bool
ts_judge(const struct ts_base *base, const struct ts_deed *deed,
         const struct ts_setting *setting, struct qs_frame *out);

#endif
