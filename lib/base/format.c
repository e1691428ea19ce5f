/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * printf without the locale. The C locale is built into the C library, so that asking for it takes
 * no memory.
 */
#include "base/format.h"

#include <locale.h>
#include <stdio.h>

int lb_format_list(char *text, size_t size, const char *format, va_list arguments) {
  locale_t c = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  locale_t before = c ? uselocale(c) : (locale_t)0;
  int length = vsnprintf(text, size, format, arguments);
  if (c) {
    uselocale(before);
    freelocale(c);
  }
  return length;
}

int lb_format(char *text, size_t size, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  int length = lb_format_list(text, size, format, arguments);
  va_end(arguments);
  return length;
}
