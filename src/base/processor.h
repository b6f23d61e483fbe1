/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * processor.h - one function, compiled for several processors
 *
 * The one that fits is chosen when the program starts.  Contraction is off everywhere
 * (CMakeLists.txt), so that all of them give the same bits.
 */
#ifndef QS_BASE_PROCESSOR_H
#define QS_BASE_PROCESSOR_H

/* Sanitizers are not ready when clones are chosen. */
#if defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define QS_SANITIZED 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define QS_SANITIZED 1
#endif

#if defined(__x86_64__) && defined(__linux__) && defined(__GLIBC__) &&                 \
    !defined(QS_SANITIZED) && (!defined(__clang__) || __clang_major__ >= 14)
#define QS_CLONES __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define QS_CLONES
#endif

#endif
