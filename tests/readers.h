/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files read back by programs that are not ours: what tests/paper/read_*.py and the tools of
 * poppler print about them, line by line.
 */
#ifndef LASTBAR_TESTS_READERS_H
#define LASTBAR_TESTS_READERS_H

#include <stddef.h>

enum {
  READERS_NUMBERS = 64,
  READERS_LINE = 2048
};

/* A line that a reader printed: words, and the numbers among them in order. */
struct readers_line {
  char text[READERS_LINE];
  double number[READERS_NUMBERS];
  size_t numbers;
};

/* Write bytes[length] to a scratch file and run a command on it.
 * command  of the shell, run in the source tree; "FILE" in it stands for the file
 * ending   of the file's name: ".pdf"
 * Returns what the command printed, to be released with free. The test fails, with what was said,
 * when the command does. */
char *readers_run(const char *command, const char *ending, const char *bytes, size_t length);

/* Take the next line that begins with these words; *at, at first the whole output, moves behind it.
 * Returns 0 when there is none. */
int readers_next(struct readers_line *line, const char **at, const char *words);

/* How many lines begin with these words. */
size_t readers_count(const char *output, const char *words);

/* The first line that begins with these words; the test fails when there is none. */
struct readers_line readers_first(const char *output, const char *words);

#endif
