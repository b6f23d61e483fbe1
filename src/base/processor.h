/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * processor.h - one function, compiled for several processors
 *
 * The one that fits is chosen when the program starts.  Contraction is off everywhere
 * (CMakeLists.txt), so that all of them give the same bits.
 */
#ifndef QS_BASE_PROCESSOR_H
#define QS_BASE_PROCESSOR_H

/* Sanitizers run before the choice can be made; clang has it under other names. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                 \
    defined(__linux__) && !defined(__SANITIZE_ADDRESS__) &&                            \
    !defined(__SANITIZE_THREAD__)
#define QS_FOR_EACH_PROCESSOR __attribute__((target_clones("avx2", "default")))
#else
#define QS_FOR_EACH_PROCESSOR
#endif

#endif
