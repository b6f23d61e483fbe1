/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * measure_scene.h - `measure --same-scene`
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_MEASURE_SCENE_H
#define QS_CLI_MEASURE_SCENE_H

#include "cli/measure_run.h"

/*
 * Measures all inputs of the run as repeats of one scene, then each by itself in the
 * same patches.  A frame that is no repeat is named, and nothing is measured.
 */
void
qs_measure_scene(struct qs_measure_run *run);

#endif
