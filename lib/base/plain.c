/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What people type, made plain.
 */
#include "base/plain.h"

#include <string.h>

bool lb_plain_digit(char c) {
  return c >= '0' && c <= '9';
}

char lb_plain_lower(char c) {
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool lb_plain_letter(char c) {
  return lb_plain_lower(c) >= 'a' && lb_plain_lower(c) <= 'z';
}

static bool is_control(char c) {
  return (unsigned char)c < ' ' || c == '\x7f';
}

static bool starts(const char *at, const char *start) {
  return strncmp(at, start, strlen(start)) == 0;
}

/* Length of the blank at this place [bytes], 0 when there is none. */
static size_t blank(const char *at) {
  static const char *const blanks[] = {" ",  "\t",     "\r",     "\n",     "\v",
                                       "\f", "\u00a0", "\u2007", "\u2009", "\u202f"};
  for (size_t i = 0; i < sizeof blanks / sizeof blanks[0]; i++)
    if (starts(at, blanks[i]))
      return strlen(blanks[i]);
  return 0;
}

const char *lb_plain_skip(const char *at) {
  for (size_t length; (length = blank(at)) > 0;)
    at += length;
  return at;
}

const char *lb_plain_shown(char *shown, const char *text, size_t length) {
  const size_t room = LB_PLAIN_SHOWN - sizeof "...";
  const char *start = lb_plain_skip(text), *end = start;
  for (const char *at = start; *at && (size_t)(at - text) < length;) {
    size_t gap = blank(at);
    at += gap ? gap : 1;
    if (!gap)
      end = at;
  }
  size_t count = (size_t)(end - start), kept = count < room ? count : room;
  while (kept < count && kept > 0 && ((unsigned char)start[kept] & 0xC0) == 0x80)
    kept--; /* a byte 10xxxxxx continues a character of UTF-8 */
  memcpy(shown, start, kept);
  for (size_t i = 0; i < kept; i++)
    if (is_control(shown[i]))
      shown[i] = ' ';
  strcpy(shown + kept, kept < count ? "..." : "");
  return shown;
}

static size_t least(size_t a, size_t b) {
  return a < b ? a : b;
}

/* row[i][j] is the distance between the first i letters of `a` and the first j of `b`. */
size_t lb_plain_distance(const char *a, const char *b) {
  size_t height = strlen(a), width = strlen(b), row[LB_PLAIN_SHOWN][LB_PLAIN_SHOWN];
  if (height >= LB_PLAIN_SHOWN || width >= LB_PLAIN_SHOWN)
    return LB_PLAIN_SHOWN;
  for (size_t j = 0; j <= width; j++)
    row[0][j] = j;
  for (size_t i = 1; i <= height; i++) {
    row[i][0] = i;
    for (size_t j = 1; j <= width; j++) {
      size_t replaced = row[i - 1][j - 1] + (a[i - 1] != b[j - 1]);
      row[i][j] = least(replaced, least(row[i - 1][j], row[i][j - 1]) + 1);
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[i][j] = least(row[i][j], row[i - 2][j - 2] + 1);
    }
  }
  return row[height][width];
}

/* Take one character as typed, and say what it is in ASCII; NULL when it stays as it is. Marks of
 * multiplication become '*' until the ends are known. A raising '^' goes only where a power
 * follows, so that "m^m" is not taken for millimetres. */
static const char *plain_character(const char **at) {
  static const struct {
    const char *typed, *plain;
  } table[] = {
      {".", " "},         {"\u00b7", "*"},   {"\u22c5", "*"},   {"\u2219", "*"},
      {"\u00b5", "u"},    {"\u03bc", "u"},   {"\u00b9", "1"},   {"\u00b2", "2"},
      {"\u00b3", "3"},    {"\u2074", "4"},   {"\u207b", "-"},   {"\u2212", "-"},
      {"\u00b0", "deg"},  {"\u00ba", "deg"}, {"\u02da", "deg"}, {"\u2103", "degC"},
      {"\u2109", "degF"}, {"\u2032", "'"},   {"\u2019", "'"},   {"\u2033", "\""},
      {"\u201d", "\""},
  };
  size_t gap = blank(*at);
  if (gap) {
    *at += gap;
    return " ";
  }
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
    if (starts(*at, table[i].typed)) {
      *at += strlen(table[i].typed);
      return table[i].plain;
    }
  bool raises = **at == '^' && (lb_plain_digit((*at)[1]) || (*at)[1] == '-');
  *at += raises;
  return raises ? "" : NULL;
}

/* Whether the blank at form[i] says nothing: next to a blank, a mark, or an end. */
static bool needless(const char *form, size_t i, char before) {
  char after = form[i + 1];
  return !before || !after || strchr(" */(", before) || strchr(" */()", after);
}

/* Leave single blanks, and those only where they part words or units. */
static void tidy(char *form) {
  size_t kept = 0;
  for (size_t i = 0; form[i]; i++) {
    char before = kept > 0 ? form[kept - 1] : '\0';
    if (form[i] == '-' && lb_plain_letter(before) && lb_plain_letter(form[i + 1]))
      form[i] = ' ';
    bool again = form[i] == '*' && before == '*';
    if (!again && (form[i] != ' ' || !needless(form, i, before)))
      form[kept++] = form[i];
  }
  form[kept] = '\0';
}

/* "miles per hour" -> "miles/hour" */
static void divide(char *form) {
  static const char per[] = " per ";
  for (char *at; (at = strstr(form, per));) {
    *at = '/';
    memmove(at + 1, at + sizeof per - 1, strlen(at + sizeof per - 1) + 1);
  }
}

/* Copy a unit character by character in ASCII; false when it does not fit. */
static bool fold(char *form, const char *unit) {
  size_t length = 0;
  for (const char *at = unit; *at;) {
    const char *place = at;
    const char *piece = plain_character(&at);
    size_t count = piece ? strlen(piece) : 1;
    if (length + count >= LB_PLAIN_UNIT)
      return false;
    memcpy(form + length, piece ? piece : place, count);
    length += count;
    at += !piece;
  }
  form[length] = '\0';
  return true;
}

void lb_plain_unit(char *form, const char *unit) {
  static const char no_unit[] = "?";
  if (!fold(form, unit)) {
    strcpy(form, no_unit);
    return;
  }
  tidy(form);
  divide(form);
  size_t length = strlen(form);
  bool only_marks = length == 0 && *lb_plain_skip(unit);
  bool open_end = length > 0 && (form[0] == '*' || form[length - 1] == '*');
  if (only_marks || open_end)
    strcpy(form, no_unit);
  for (char *at = form; *at; at++)
    if (*at == '*')
      *at = ' ';
}
