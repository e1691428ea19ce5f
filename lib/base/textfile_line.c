/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bytes of one line.
 */
#include "base/textfile_line.h"

#include <stdint.h>

bool lb_line_is_blank(char c) {
  return c == ' ' || c == '\t';
}

struct lb_span lb_line_trimmed(struct lb_span s) {
  while (s.length > 0 && lb_line_is_blank(s.at[0])) {
    s.at++;
    s.length--;
  }
  while (s.length > 0 && lb_line_is_blank(s.at[s.length - 1]))
    s.length--;
  return s;
}

struct lb_span lb_line_content(struct lb_span s) {
  for (size_t i = 0; i < s.length; i++) {
    bool sign = s.at[i] == ';' || s.at[i] == '#';
    if (sign && (i == 0 || lb_line_is_blank(s.at[i - 1])))
      return (struct lb_span){s.at, i};
  }
  return s;
}

bool lb_line_fold(char name[LB_NAME_MOST + 1], struct lb_span s) {
  size_t n = 0;
  s = lb_line_trimmed(s);
  for (size_t i = 0; i < s.length; i++) {
    char c = s.at[i];
    if (lb_line_is_blank(c)) {
      if (lb_line_is_blank(s.at[i - 1]))
        continue;
      c = ' ';
    }
    if (n == LB_NAME_MOST) {
      name[0] = '\0';
      return false;
    }
    name[n++] = (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  }
  name[n] = '\0';
  return true;
}

/* The code point at s, and how many bytes it takes: 0 when it is no well-formed UTF-8. */
static size_t decode(uint32_t *code, struct lb_span s) {
  static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000}; /* for each length: no overlong */
  const unsigned char *byte = (const unsigned char *)s.at;
  *code = byte[0];
  if (byte[0] < 0x80)
    return 1;
  size_t length = byte[0] >= 0xF0 ? 4 : byte[0] >= 0xE0 ? 3 : 2;
  if (byte[0] < 0xC0 || byte[0] > 0xF7 || length > s.length)
    return 0;
  *code = byte[0] & (0x7Fu >> length);
  for (size_t i = 1; i < length; i++) {
    if ((byte[i] & 0xC0) != 0x80)
      return 0;
    *code = *code << 6 | (byte[i] & 0x3F);
  }
  bool surrogate = *code >= 0xD800 && *code <= 0xDFFF;
  return *code < least[length] || *code > 0x10FFFF || surrogate ? 0 : length;
}

bool lb_line_is_text(struct lb_span s, struct lb_error *error) {
  uint32_t code;
  for (size_t i = 0, n; i < s.length; i += n) {
    n = decode(&code, (struct lb_span){s.at + i, s.length - i});
    if (n == 0)
      lb_error_set(error, LB_BAD_INPUT, "byte %zu (0x%02X) is not UTF-8; save the text as UTF-8",
                   i + 1, (unsigned)(unsigned char)s.at[i]);
    else if (code == 0)
      lb_error_set(error, LB_BAD_INPUT, "byte %zu is NUL; give a plain text", i + 1);
    else if (code == '\r')
      lb_error_set(error, LB_BAD_INPUT,
                   "byte %zu is a lone carriage return; end lines with LF or CR LF", i + 1);
    else if ((code < ' ' && code != '\t') || (code >= 0x7F && code < 0xA0))
      lb_error_set(error, LB_BAD_INPUT, "byte %zu is the control character U+%04X; remove it",
                   i + 1, (unsigned)code);
    else
      continue;
    return false;
  }
  return true;
}
