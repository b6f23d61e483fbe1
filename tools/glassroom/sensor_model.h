/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sensor_model.h - the invented camera: its noise and its colour response
 *
 * The camera "Halden Q48" does not exist.  Its figures are of the order common
 * for a 24 MP full-frame body, chosen by us, not measured from any product.
 *
 * Method: README.md, equations G1 to G6.
 */
#ifndef GLASSROOM_SENSOR_MODEL_H
#define GLASSROOM_SENSOR_MODEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "colour.h"

#define GR_MAKER "Halden"
#define GR_MODEL "Halden Q48"
#define GR_ISO_LOW 100.0
#define GR_ISO_HIGH 25600.0

struct gr_sensor {
    double iso;
    double gain_dn_per_e; /* > 0 */
    double read_e;        /* sd of the noise added to every reading, >= 0 */
    double row_e;         /* sd of what a whole row shares, new in every frame, >= 0 */
    double column_e; /* sd of what a whole column shares, the same in every frame */
    double offset_e; /* sd of each photosite's dark offset, the same in every frame */
    double prnu;     /* sd of each photosite's sensitivity, a share of 1 */
    int black_dn;    /* code of no light */
    int white_dn;    /* highest code, > black_dn */
    bool shot_noise; /* false: photons arrive evenly, for noise-free frames */
    uint64_t serial; /* seeds what is the same in every frame */
};

/* How the camera sees one kind of light. */
struct gr_response {
    const char *name;
    const char *what;
    double white[3];        /* camera red, green, blue of a white scene; green = 1 */
    struct gr_matrix scene; /* scene colour to camera colour, rows sum to 1 */
};

/* Kinds of light, ending with a row whose name is NULL. */
extern const struct gr_response gr_responses[];

/* The camera at this ISO; equations G1 to G4. */
struct gr_sensor
gr_sensor_at_iso(double iso);

/* Electrons that a scene value of 1.0 gives in a green (or grey) photosite. */
double
gr_sensor_white_e(const struct gr_sensor *sensor);

/* Scene colour to camera colour as the photosites see it, white balance not yet done.
 */
struct gr_matrix
gr_response_to_camera(const struct gr_response *response);

/* White-balanced camera colour back to scene colour. */
struct gr_matrix
gr_response_to_scene(const struct gr_response *response);

#endif
