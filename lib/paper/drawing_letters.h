/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The letters of a drawing's texts one by one: taken from UTF-8, and the room each needs.
 *
 * The measures are those of DejaVu Sans, rounded up to a hundredth of the body's height; they hold
 * a little generously for other sans-serif letters. Internal to the drawings.
 */
#ifndef LASTBAR_PAPER_DRAWING_LETTERS_H
#define LASTBAR_PAPER_DRAWING_LETTERS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* How far letters reach above and below the line they stand on, as a share of the body [1]. */
#define LB_LETTER_CAPITAL 0.73 /* digits and capitals */
#define LB_LETTER_UPPER 0.76   /* also letters like b, brackets and signs */
#define LB_LETTER_ACCENT 1.03  /* also marks above capitals */
#define LB_LETTER_LOWER 0.24   /* letters like g, brackets and the underscore */

/* What is written for bytes that are no letter: U+FFFD. */
enum {
  LB_LETTER_REPLACEMENT = 0xFFFD,
  LB_LETTERS_CLEAN = 3 /* bytes that the replacement takes in UTF-8 */
};

/* The letter at *at [code point], which moves past it; LB_LETTER_REPLACEMENT, and one byte on, for
 * what is not well-formed UTF-8. *at must not be at the closing zero. */
uint32_t lb_letter_next(const char **at);

/* Whether it is a control character, which has no place in a line of text. */
bool lb_letter_control(uint32_t letter);

/* Copy a text without control characters, its ill-formed bytes replaced.
 * to    out: closed by a zero; room for LB_LETTERS_CLEAN * strlen(utf8) + 1 bytes
 * Returns the bytes written, the closing zero included. */
size_t lb_letters_clean(char *to, const char *utf8);

/* How far a letter moves the next one on, as a share of the body's height [1]; 0 for a combining
 * mark and for a control character. */
double lb_letter_width(uint32_t letter, bool bold);

/* How far it may reach above the line, as a share of the body's height [1]. */
double lb_letter_height(uint32_t letter);

#endif
