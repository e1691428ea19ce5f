/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * UTF-8, and the widths of DejaVu Sans as the font's own table of advance widths gives them.
 */
#include "paper/drawing_letters.h"

#include "paper/text.h"

#include <string.h>

/* The letters of a lead byte: how many bytes follow, and the least letter that needs them. */
struct lead {
  unsigned char mask, bits;
  int more;
  uint32_t least;
};

uint32_t lb_letter_next(const char **at) {
  static const struct lead leads[] = {
      {0x80, 0x00, 0, 0}, {0xE0, 0xC0, 1, 0x80}, {0xF0, 0xE0, 2, 0x800}, {0xF8, 0xF0, 3, 0x10000}};
  const unsigned char *byte = (const unsigned char *)*at;
  *at += 1;
  for (size_t i = 0; i < sizeof leads / sizeof leads[0]; i++) {
    if ((byte[0] & leads[i].mask) != leads[i].bits)
      continue;
    uint32_t letter = byte[0] & (unsigned char)~leads[i].mask;
    int more = 0;
    for (; more < leads[i].more && (byte[more + 1] & 0xC0) == 0x80; more++)
      letter = letter << 6 | (byte[more + 1] & 0x3FU);
    bool surrogate = letter >= 0xD800 && letter <= 0xDFFF;
    if (more < leads[i].more || letter < leads[i].least || letter > 0x10FFFF || surrogate)
      break;
    *at += more;
    return letter;
  }
  return LB_LETTER_REPLACEMENT;
}

bool lb_letter_control(uint32_t letter) {
  return letter < ' ' || (letter >= 0x7F && letter < 0xA0);
}

size_t lb_letters_clean(char *to, const char *utf8) {
  static const char replacement[LB_LETTERS_CLEAN] = {'\xEF', '\xBF', '\xBD'};
  char *end = to;
  for (const char *at = utf8; *at;) {
    const char *start = at;
    uint32_t letter = lb_letter_next(&at);
    if (lb_letter_control(letter))
      continue;
    bool replaced = letter == LB_LETTER_REPLACEMENT;
    size_t bytes = replaced ? sizeof replacement : (size_t)(at - start);
    memcpy(end, replaced ? replacement : start, bytes);
    end += bytes;
  }
  *end++ = '\0';
  return (size_t)(end - to);
}

enum {
  HUNDREDTHS = 100,
  BOLD = 113 /* of the upright letter, in hundredths: a capital I is 126, a digit 109 */
};

/* Advance widths of ASCII from the blank to the tilde, in hundredths of the body. */
static const unsigned char ascii[] = {
    32,  41, 46, 84, 64, 96, 78, 28, 40, 40, 50, 84, 32, 37, 32, 34, /*   ! ... / */
    64,  64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84, 84, 84, 54, /* 0 ... ? */
    100, 69, 69, 70, 78, 64, 58, 78, 76, 30, 30, 66, 56, 87, 75, 79, /* @ ... O */
    61,  79, 70, 64, 62, 74, 69, 99, 69, 62, 69, 40, 34, 40, 84, 50, /* P ... _ */
    50,  62, 64, 55, 64, 62, 36, 64, 64, 28, 28, 58, 28, 98, 64, 62, /* ` ... o */
    64,  64, 42, 53, 40, 64, 60, 82, 60, 60, 53, 64, 34, 64, 84      /* p ... ~ */
};

/* Other letters by ranges; the first that holds a letter counts. */
struct range {
  uint32_t first, last;
  unsigned char width; /* hundredths */
  bool accented;       /* there are marks above its capitals */
};

static const struct range ranges[] = {
    {0x00A0, 0x00A0, 32, false}, /* a blank that does not part */
    {0x00B0, 0x00B0, 50, false}, /* degree */
    {0x00B2, 0x00B3, 41, false}, /* squared, cubed */
    {0x00B5, 0x00B5, 64, false}, /* micro */
    {0x00B7, 0x00B7, 32, false}, /* middle dot */
    {0x00B9, 0x00B9, 41, false}, /* to the power of one */
    {0x00D7, 0x00D7, 84, false}, /* times */
    {0x00C0, 0x024F, 70, true},  /* Latin letters; capitals with two stems are narrowed */
    {0x0300, 0x036F, 0, true},   /* marks set above the letter before them */
    {0x0370, 0x03FF, 70, true},  /* Greek */
    {0x2007, 0x2007, 64, false}, /* blanks as wide as a digit and narrow ones */
    {0x2009, 0x2009, 20, false}, {0x202F, 0x202F, 20, false},
    {0x2013, 0x2013, 50, false}, /* dash between figures */
    {0x2018, 0x201A, 32, false}, /* quotation marks, single and double */
    {0x201C, 0x201E, 52, false}, {0x2032, 0x2032, 23, false},
    {0x2033, 0x2033, 38, false}, /* seconds */
    {0x2190, 0x22FF, 84, false}, /* arrows and signs of mathematics */
};

/* Any other letter: an em where a terminal takes two columns, nothing for a combining mark. */
enum {
  OTHER = 84,
  WIDE = 100,
  FIRST_OF_THREE = 0x800, /* takes three bytes in UTF-8 */
  FIRST_OF_FOUR = 0x10000
};

static const struct range *range_of(uint32_t letter) {
  for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++)
    if (letter >= ranges[i].first && letter <= ranges[i].last)
      return &ranges[i];
  return NULL;
}

/* Columns that a letter from U+0800 on takes on a terminal. */
static size_t columns(uint32_t letter) {
  char utf8[5] = "", *to = utf8;
  if (letter >= FIRST_OF_FOUR) {
    *to++ = (char)(0xF0 | letter >> 18);
    *to++ = (char)(0x80 | (letter >> 12 & 0x3F));
  } else
    *to++ = (char)(0xE0 | letter >> 12);
  *to++ = (char)(0x80 | (letter >> 6 & 0x3F));
  *to = (char)(0x80 | (letter & 0x3F));
  return lb_text_columns(utf8);
}

static int upright_width(uint32_t letter) {
  if (lb_letter_control(letter))
    return 0;
  if (letter < 0x7F)
    return ascii[letter - ' '];
  const struct range *range = range_of(letter);
  if (range)
    return range->width;
  size_t wide = letter < FIRST_OF_THREE ? 1 : columns(letter);
  return wide == 0 ? 0 : wide == 1 ? OTHER : WIDE;
}

double lb_letter_width(uint32_t letter, bool bold) {
  double width = upright_width(letter) / (double)HUNDREDTHS;
  return bold ? width * BOLD / HUNDREDTHS : width;
}

double lb_letter_height(uint32_t letter) {
  if (letter < 0xC0)
    return LB_LETTER_UPPER;
  const struct range *range = range_of(letter);
  return range && !range->accented ? LB_LETTER_UPPER : LB_LETTER_ACCENT;
}
