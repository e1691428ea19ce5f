/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What every test shares: the few named tolerances, closeness that a NaN fails, a seeded random
 * source, and a reader of data/published that asserts how many rows it saw.
 */
#ifndef LASTBAR_TESTS_SUPPORT_H
#define LASTBAR_TESTS_SUPPORT_H

#include <check.h>
#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define EXACT (16 * DBL_EPSILON) /* a few roundings */
#define IDENTITY 1e-12           /* an identity after a chain of roundings */
#define SOLVER 1e-10             /* 100 times the tolerance the solvers are given */

/* |actual - expected| <= tolerance, absolute; NaN on either side fails. */
#define ck_close(actual, expected, tolerance)                                                      \
  do {                                                                                             \
    double close_a = (actual), close_e = (expected), close_t = (tolerance);                        \
    if (!(fabs(close_a - close_e) <= close_t))                                                     \
      ck_abort_msg("%s is %.17g, expected %s = %.17g within %.3g", #actual, close_a, #expected,    \
                   close_e, close_t);                                                              \
  } while (0)

/* |actual - expected| <= tolerance * |expected|. */
#define ck_close_relative(actual, expected, tolerance)                                             \
  do {                                                                                             \
    double relative_e = (expected);                                                                \
    ck_close((actual), relative_e, (tolerance)*fabs(relative_e));                                  \
  } while (0)

/* Next number in [0, 1) of a seeded sequence (splitmix64); the same on every machine. */
double support_uniform(uint64_t *state);

/* Next number in [low, high). */
double support_between(uint64_t *state, double low, double high);

/* How often to repeat a test with another sample: `times`, or an Nth of it under LASTBAR_ROUGH=N,
 * where another part of the tests has seen them all and a few reach all lines. */
int support_times(int times);

/* How many of these samples at least are to be of some kind: `count`, or under LASTBAR_ROUGH=N half
 * of an Nth, as fewer scatter more. */
int support_least(int count);

/* Whether N is 10 or more, and every step takes fifty times as long: a test without samples may
 * look at less then. */
bool support_is_rough(void);

/* One row of a file in data/published: columns by name. */
struct support_row {
  const char *file;
  int line;
  int columns;
  const char *name[40];
  const char *cell[40];
};

/* A cell as number or text; the test fails when the column is missing, or is no number. */
double support_number(const struct support_row *row, const char *column);
const char *support_text(const struct support_row *row, const char *column);

/* Call `each` for every data row of data/published/NAME and fail unless the number of rows is the
 * one declared in the file's own "# rows = N" line. Lines that start with # are comments, the first
 * other line names the columns, cells are separated by commas and may be quoted with ". */
void support_published(const char *name, void (*each)(const struct support_row *row));

/* The path of a file in the source tree ("data/machines/trolley.ini"); static buffer. */
const char *support_source(const char *path);

/* Enter a locale that writes a decimal comma: one that is installed, else one made with localedef
 * in a scratch folder. Returns false, in the C locale, where there is none; under LASTBAR_STRICT
 * (the slow tests) that fails the test. Leave it with setlocale(LC_ALL, "C"). */
bool support_decimal_comma(void);

/* Run the suites given (NULL-terminated) and return the exit status for main. */
int support_run(Suite *first, ...);

#endif
