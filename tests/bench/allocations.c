/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The four functions that must be replaced together, each handed on to the allocator of the GNU C
 * library under its second name. A sanitizer brings its own four, which must stay in place.
 */
#include "allocations.h"

#include <stdlib.h>

#ifdef __has_feature /* clang's way to ask; gcc defines __SANITIZE_ADDRESS__ */
#if __has_feature(address_sanitizer)
#define SANITIZED 1
#endif
#endif
#ifdef __SANITIZE_ADDRESS__
#define SANITIZED 1
#endif

static unsigned long calls;

unsigned long allocations_count(void) {
  return calls;
}

#ifndef SANITIZED

extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *block, size_t size);
extern void __libc_free(void *block);

void *malloc(size_t size) {
  calls++;
  return __libc_malloc(size);
}

void *calloc(size_t count, size_t size) {
  calls++;
  return __libc_calloc(count, size);
}

void *realloc(void *block, size_t size) {
  calls++;
  return __libc_realloc(block, size);
}

void free(void *block) {
  __libc_free(block);
}

#endif
