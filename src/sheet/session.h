/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * session.h - the frames of a test session, from files to a camera sheet
 *
 * Frames are put in order of ISO and exposure.  Those that are repeats of one scene are
 * compared with each other, which tells random from fixed noise; the others are
 * measured one by one.  A frame that is not fit to use, has no flat patch, or belongs
 * to another camera or size is left out and named.
 *
 * Threads: uses those of the pool it is given; results don't depend on their number.
 * Method: docs/method/sheet.md.
 */
#ifndef QS_SHEET_SESSION_H
#define QS_SHEET_SESSION_H

#include "base/pool.h"
#include "base/status.h"
#include "frame/frame.h"
#include "sheet/sheet.h"

/* A frame, and what the user says of it; 0 or empty = as its file says. */
struct qs_session_frame {
    const char *path;
    struct qs_shot shot;
    double light_lx; /* at the subject, 0 = unknown */
};

/* What becomes of a frame, told while the session runs. */
enum qs_session_news {
    QS_NEWS_MEASURED, /* one by one; `why` says why not as a repeat, or is NULL */
    QS_NEWS_REPEATS,  /* as one of the repeats of a scene */
    QS_NEWS_REFUSED   /* left out; `why` is a plain sentence */
};

struct qs_session_listener {
    void *context;
    /* from the thread that runs the session; each frame once */
    void (*told)(void *context, const char *path, enum qs_session_news news,
                 const char *why);
    /* `share` of the session is done, frame `path` is under way */
    void (*progress)(void *context, int index, int count, const char *path,
                     double share);
};

/*
 * Measures the frames and adds them to *sheet, which may hold others already and is
 * finished anew.  `options` tells patches and encoding; its sizes and shot are not
 * used.  Frames that are left out are named in the sheet, too.
 *
 *   QS_OK           also where every frame was left out
 *   QS_ERR_MEMORY   *sheet holds what was added so far
 */
QS_MUST_CHECK enum qs_status
qs_session_run(const struct qs_session_frame *frames, int count,
               const struct qs_frame_options *options, struct qs_pool *pool,
               const struct qs_session_listener *listener, struct qs_sheet *sheet,
               struct qs_error *err);

#endif
