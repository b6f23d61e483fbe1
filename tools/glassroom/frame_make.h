/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * frame_make.h - from a recipe to a frame in linear light
 *
 * Threads: every row is seeded by itself, so that the frame is the same to the
 * bit for any number of threads of the pool.
 * Method: README.md, equations G5 to G12.
 */
#ifndef GLASSROOM_FRAME_MAKE_H
#define GLASSROOM_FRAME_MAKE_H

#include <stdint.h>

#include "base/pool.h"
#include "picture.h"
#include "recipe.h"

/*
 * Exposes the sensor: codes, width x height, in *out, to be freed by qs_free.
 *
 *   QS_OK
 *   QS_ERR_MEMORY  *out is NULL
 */
QS_MUST_CHECK enum qs_status
gr_expose(const struct gr_recipe *recipe, struct qs_pool *pool, uint16_t **out,
          struct qs_error *err);

/*
 * Turns codes into linear light of the output space, without any retouching.
 *
 *   QS_OK          out->px is to be freed by qs_free
 *   QS_ERR_MEMORY  out->px is NULL
 */
QS_MUST_CHECK enum qs_status
gr_develop(const struct gr_recipe *recipe, const uint16_t *dn, struct qs_pool *pool,
           struct gr_picture *out, struct qs_error *err);

/*
 * Smooths, sharpens and blotches as the recipe says, in this order, in place.
 *
 *   QS_OK
 *   QS_ERR_MEMORY  the picture is half done
 */
QS_MUST_CHECK enum qs_status
gr_retouch(const struct gr_recipe *recipe, struct qs_pool *pool,
           struct gr_picture *picture, struct qs_error *err);

/*
 * All three: the finished frame in linear light.
 *
 *   QS_OK          out->px is to be freed by qs_free
 *   QS_ERR_MEMORY  out->px is NULL
 */
QS_MUST_CHECK enum qs_status
gr_frame_make(const struct gr_recipe *recipe, struct qs_pool *pool,
              struct gr_picture *out, struct qs_error *err);

#endif
