/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * status.h - how a call says that it failed, and why
 *
 * Every call that can fail returns an enum qs_status and writes one plain
 * sentence into a struct qs_error: what is wrong, then what to do about it.
 * The first cause stays: a caller that fails because its callee failed just
 * passes the status on.  Mistakes of the calling code are asserts, not statuses.
 *
 * Threads: a struct qs_error belongs to one thread at a time.
 */
#ifndef QS_BASE_STATUS_H
#define QS_BASE_STATUS_H

#if defined(__GNUC__)
#define QS_MUST_CHECK __attribute__((warn_unused_result))
#define QS_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))
#else
#define QS_MUST_CHECK
#define QS_PRINTF(fmt, args)
#endif

enum qs_status {
    QS_OK = 0,
    QS_ERR_MEMORY,      /* an allocation failed */
    QS_ERR_OPEN,        /* a file is missing or may not be read */
    QS_ERR_READ,        /* a file is damaged, or ends too soon */
    QS_ERR_UNSUPPORTED, /* a sound file of a kind this program does not measure */
    QS_ERR_PROFILE,     /* a colour profile that cannot be turned into linear light */
    QS_ERR_WRITE,       /* a file could not be written whole */
    QS_ERR_USAGE,       /* text from the user that means nothing here */
    QS_ERR_TOO_FEW,     /* not enough pixels for the question */
    QS_ERR_RANGE        /* a value outside what the call's contract allows */
};

struct qs_error {
    enum qs_status status;
    char text[512]; /* a plain sentence, without file name or newline */
};

/* Sets *err to "nothing failed". */
void
qs_error_clear(struct qs_error *err);

/*
 * Records a failure and returns `status`, so that a failing call can end in
 * `return qs_fail(err, ...)`.  Where *err already holds a failure it is left
 * alone.  `err` may be NULL: then only the status is returned.
 */
enum qs_status
qs_fail(struct qs_error *err, enum qs_status status, const char *format, ...)
    QS_PRINTF(3, 4);

/* The sentence for a failed allocation; returns QS_ERR_MEMORY. */
enum qs_status
qs_fail_memory(struct qs_error *err);

#endif
