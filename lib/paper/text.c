/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A growing text.
 */
#include "paper/text.h"

#include "base/format.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum {
  FIRST_CAPACITY = 256
};

/* Make room for `more` bytes and the closing zero. */
static bool reserve(struct lb_text *text, size_t more) {
  if (text->failed)
    return false;
  size_t capacity = text->capacity ? text->capacity : FIRST_CAPACITY;
  while (capacity - text->length <= more)
    capacity *= 2;
  if (capacity == text->capacity)
    return true;
  char *bytes = realloc(text->bytes, capacity);
  if (!bytes) {
    text->failed = true;
    return false;
  }
  text->bytes = bytes;
  text->capacity = capacity;
  return true;
}

void lb_text_add(struct lb_text *text, const char *format, ...) {
  va_list arguments, again;
  va_start(arguments, format);
  va_copy(again, arguments);
  int length = lb_format_list(NULL, 0, format, arguments);
  va_end(arguments);
  if (length < 0)
    text->failed = true;
  else if (reserve(text, (size_t)length)) {
    lb_format_list(text->bytes + text->length, (size_t)length + 1, format, again);
    text->length += (size_t)length;
  }
  va_end(again);
}

/* Letters that are not one column wide. */
struct span {
  uint32_t first, last;
  size_t columns;
};

static const struct span spans[] = {
    {0x0300, 0x036F, 0},   {0x1100, 0x115F, 2},   {0x1AB0, 0x1AFF, 0},   {0x1DC0, 0x1DFF, 0},
    {0x200B, 0x200F, 0},   {0x20D0, 0x20FF, 0},   {0x2E80, 0x303E, 2},   {0x3041, 0xA4CF, 2},
    {0xAC00, 0xD7A3, 2},   {0xF900, 0xFAFF, 2},   {0xFE00, 0xFE0F, 0},   {0xFE20, 0xFE2F, 0},
    {0xFE30, 0xFE6F, 2},   {0xFF00, 0xFF60, 2},   {0xFFE0, 0xFFE6, 2},   {0x1F300, 0x1F64F, 2},
    {0x1F680, 0x1F6FF, 2}, {0x1F900, 0x1F9FF, 2}, {0x20000, 0x3FFFD, 2},
};

/* The letter at *at, which moves past it. A byte that begins none counts as one. */
static uint32_t next_letter(const unsigned char **at) {
  uint32_t lead = *(*at)++;
  int more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : lead >= 0xC0 ? 1 : 0;
  uint32_t letter = more ? lead & (0x3FU >> more) : lead;
  for (; more > 0 && (**at & 0xC0) == 0x80; more--)
    letter = letter << 6 | (*(*at)++ & 0x3FU);
  return letter;
}

static size_t letter_columns(uint32_t letter) {
  for (size_t i = 0; i < sizeof spans / sizeof spans[0]; i++)
    if (letter >= spans[i].first && letter <= spans[i].last)
      return spans[i].columns;
  return 1;
}

/* Columns of the first `length` bytes. */
static size_t columns(const char *utf8, size_t length) {
  const unsigned char *at = (const unsigned char *)utf8, *end = at + length;
  size_t sum = 0;
  while (at < end)
    sum += letter_columns(next_letter(&at));
  return sum;
}

size_t lb_text_columns(const char *utf8) {
  return columns(utf8, strlen(utf8));
}

/* Whether a unit has begun that goes on behind its blanks: "L/(s". */
static bool unit_is_open(const char *words, size_t length) {
  while (length > 0 && words[length - 1] != ' ' && words[length - 1] != ')' &&
         words[length - 1] != '(')
    length--;
  return length > 1 && words[length - 1] == '(' && words[length - 2] == '/';
}

/* Bytes up to where a line may be broken: the next blank that does not part a number from what it
 * counts, or a unit. */
static size_t unbroken(const char *words) {
  size_t length = strcspn(words, " ");
  while (words[length] && length > 0 &&
         ((words[length - 1] >= '0' && words[length - 1] <= '9') || unit_is_open(words, length)))
    length += 1 + strcspn(words + length + 1, " ");
  return length;
}

void lb_text_wrap(struct lb_text *text, size_t width, const char *first, const char *rest,
                  const char *words) {
  size_t used = lb_text_columns(first);
  lb_text_add(text, "%s", first);
  bool line_begins = true;
  for (const char *word = words; *word;) {
    size_t length = unbroken(word), wide = columns(word, length);
    if (!line_begins && used + 1 + wide > width) {
      lb_text_add(text, "\n%s", rest);
      used = lb_text_columns(rest);
      line_begins = true;
    }
    lb_text_add(text, "%s%.*s", line_begins ? "" : " ", (int)length, word);
    used += wide + !line_begins;
    line_begins = false;
    word += length + (word[length] == ' ');
  }
  lb_text_add(text, "\n");
}

enum lb_status lb_text_take(char **bytes, struct lb_text *text, struct lb_error *error) {
  lb_text_add(text, "%s", "");
  if (text->failed) {
    lb_text_free(text);
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the text of the answer");
  }
  *bytes = text->bytes;
  *text = (struct lb_text){0};
  return LB_OK;
}

void lb_text_free(struct lb_text *text) {
  free(text->bytes);
  *text = (struct lb_text){0};
}
