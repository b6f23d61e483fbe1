/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * processor.h - one function, compiled for several processors
 *
 * QS_CLONES before a static function has it compiled for wider processors as well;
 * which one runs is settled when the program starts.  Elsewhere it is nothing, and the
 * plain function stays.  QS_CLONES_AVX2 leaves the widest processors out: loops that
 * look up tables or wait for memory are a fifth slower by their instructions.
 * Contraction is off everywhere (CMakeLists.txt), so that all of them give the same
 * bits.
 */
#ifndef QS_BASE_PROCESSOR_H
#define QS_BASE_PROCESSOR_H

#include <stdint.h> /* any header of the C library: it says whether that is glibc */

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
#define QS_CLONES_AVX2 __attribute__((target_clones("avx2", "default")))
#else
#define QS_CLONES
#define QS_CLONES_AVX2
#endif

#endif
