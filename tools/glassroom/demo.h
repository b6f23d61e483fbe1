/* SPDX-License-Identifier: GPL-3.0-or-later */
/* demo.h - the demo frames: wedges over all ISOs, and the workshop at two of them */
#ifndef GLASSROOM_DEMO_H
#define GLASSROOM_DEMO_H

#include <stdbool.h>
#include <stdint.h>

#include "base/pool.h"
#include "base/status.h"

/*
 * Writes the frames to folder `dir`, made if need be, saying on stderr which
 * one is under way.  `small` frames have about 3 MP, others 24.
 *
 *   QS_OK
 *   QS_ERR_WRITE  the folder or a frame could not be written
 *   QS_ERR_MEMORY, QS_ERR_PROFILE
 */
QS_MUST_CHECK enum qs_status
gr_demo_write(const char *dir, bool small, uint64_t seed, struct qs_pool *pool,
              struct qs_error *err);

#endif
