/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Formatting that is the same everywhere: a decimal point, whatever the locale of the process says.
 */
#ifndef LASTBAR_BASE_FORMAT_H
#define LASTBAR_BASE_FORMAT_H

#include <stdarg.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* As snprintf and vsnprintf, with the thread switched to the C locale meanwhile.
 * text    out: at most `size` bytes with the closing zero; may be NULL when size is 0
 * format  of printf
 * Returns the bytes that the whole would have taken without the zero, negative on failure. */
int lb_format(char *text, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
int lb_format_list(char *text, size_t size, const char *format, va_list arguments)
    __attribute__((format(printf, 3, 0)));

#ifdef __cplusplus
}
#endif

#endif
