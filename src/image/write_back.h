/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * write_back.h - the disk set to work while there is more to be written
 *
 * Private to this folder.  Waiting for the disk at the end of a file is short when it
 * has had most of it before.  Where the system has no call for it, nothing happens.
 */
#ifndef QS_IMAGE_WRITE_BACK_H
#define QS_IMAGE_WRITE_BACK_H

/* Starts bringing to the disk what was written to `descriptor`; does not wait. */
void
qs_write_back_start(int descriptor);

#endif
