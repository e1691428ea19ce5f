/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers as people write them.
 *
 * The reader checks the form itself and hands only a clean decimal to strtod, which rounds
 * correctly but obeys the locale; so strtod is called with the thread switched to
 * the C locale.
 */
#include "base/number.h"

#include "base/format.h"
#include "base/plain.h"

#include <float.h>
#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The longest decimal taken [bytes], far beyond what anyone measures. */
#define DECIMAL_MOST 100

/* The most digits of each part of a fraction: whole * denominator + numerator is then an exact
 * double, and the fraction is rounded only once. */
#define FRACTION_DIGITS 7

/* How every message about a text that is no number ends. */
#define WRITE_NUMBER "write a decimal such as 12.5 or a fraction such as 1-1/4"

static const char *skip_digits(const char *at) {
  while (lb_plain_digit(*at))
    at++;
  return at;
}

/* Step over a sign; '-', '+', or 0 when there is none. */
static char take_sign(const char **at) {
  static const char minus[] = "\u2212";
  if (strncmp(*at, minus, sizeof minus - 1) == 0) {
    *at += sizeof minus - 1;
    return '-';
  }
  return **at == '-' || **at == '+' ? *(*at)++ : 0;
}

/* A message "'TEXT' found; remedy". */
static enum lb_status refuse(const char *text, const char *found, const char *remedy,
                             struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  return lb_error_set(error, LB_BAD_INPUT, "'%s' %s; %s", lb_plain_shown(shown, text, strlen(text)),
                      found, remedy);
}

/* The value of a clean decimal ("-12.5e3"), whatever the locale. */
static enum lb_status convert(double *number, const char *clean, const char *text,
                              struct lb_error *error) {
  locale_t c = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  if (!c)
    return lb_error_set(error, LB_NO_MEMORY, "no memory to read a number");
  locale_t before = uselocale(c);
  double value = strtod(clean, NULL);
  uselocale(before);
  freelocale(c);
  if (!isfinite(value))
    return refuse(text, "is larger than any number the computer holds", "write less than 1e308",
                  error);
  bool written_zero = strcspn(clean, "123456789") >= strcspn(clean, "e");
  if (fabs(value) < DBL_MIN && !written_zero)
    return refuse(text, "is too close to zero for the computer to hold",
                  "write 0, or more than 1e-307", error);
  *number = written_zero ? 0 : value;
  return LB_OK;
}

/* The two readings of an uncertain comma. The parts are the text before the comma with its sign,
 * and the digits behind it. */
static enum lb_status refuse_comma(const char *start, const char *comma, const char *end,
                                   struct lb_error *error) {
  char text[LB_PLAIN_SHOWN], whole[LB_PLAIN_SHOWN], part[LB_PLAIN_SHOWN], rest[LB_PLAIN_SHOWN];
  lb_plain_shown(text, start, strlen(start));
  lb_plain_shown(whole, start, (size_t)(comma - start));
  lb_plain_shown(part, comma + 1, (size_t)(end - comma - 1));
  lb_plain_shown(rest, end, strlen(end));
  const char *gap = lb_plain_skip(end) != end && *rest ? " " : "";
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' could be %s.%s or %s%s; write '%s.%s%s%s' or '%s%s%s%s'", text, whole,
                      part, whole, part, whole, part, gap, rest, whole, part, gap, rest);
}

/* A comma may part thousands if the groups are those of thousands and more than zeros lead. */
static bool comma_uncertain(const char *whole, const char *comma, const char *end) {
  return *comma == ',' && comma - whole >= 1 && comma - whole <= 3 && *whole != '0' &&
         end - comma == 4 && !lb_plain_digit(*end) && *end != ',' && *end != '.';
}

/* The end of an exponent that starts here, or the same place when none does. */
static const char *exponent_end(const char *at) {
  if (*at != 'e' && *at != 'E')
    return at;
  const char *digits = at + 1;
  take_sign(&digits);
  return lb_plain_digit(*digits) ? skip_digits(digits) : at;
}

/* Copy a decimal in ASCII, with a point and 'e'. */
static void clean_decimal(char *clean, const char *at, const char *end, char sign) {
  if (sign == '-')
    *clean++ = '-';
  while (at < end) {
    char between = take_sign(&at);
    char c = between ? between : *at++;
    *clean++ = c == ',' ? '.' : c == 'E' ? 'e' : c;
  }
  *clean = '\0';
}

/* A decimal at `at`, behind its sign. */
static enum lb_status read_decimal(double *number, const char **rest, const char *text,
                                   const char *at, char sign, struct lb_error *error) {
  const char *mark = skip_digits(at);
  const char *end = *mark == '.' || *mark == ',' ? skip_digits(mark + 1) : mark;
  if (mark == at && (*at != '.' || end == at + 1))
    return refuse(text, "does not begin with a number", WRITE_NUMBER, error);
  if (comma_uncertain(at, mark, end))
    return refuse_comma(lb_plain_skip(text), mark, end, error);
  if (*mark == ',' && end == mark + 1)
    return refuse(text, "has a comma with no digit behind it", WRITE_NUMBER, error);
  end = exponent_end(end);
  if (end - at > DECIMAL_MOST)
    return refuse(text, "has too many digits to be a measurement", "write fewer", error);
  char clean[DECIMAL_MOST + 2];
  clean_decimal(clean, at, end, sign);
  *rest = end;
  return convert(number, clean, text, error);
}

/* Step over the digits of one part of a fraction; false when there are none or too many. */
static bool take_integer(double *value, const char **at) {
  const char *end = skip_digits(*at);
  if (end == *at || end - *at > FRACTION_DIGITS)
    return false;
  *value = 0;
  while (*at < end)
    *value = 10 * *value + (*(*at)++ - '0');
  return true;
}

/* Whether a fraction stands here: "1/2", or "1-1/4" with its whole part. */
static bool fraction_ahead(const char *at) {
  const char *end = skip_digits(at);
  if (end != at && *end == '-' && lb_plain_digit(end[1]))
    end = skip_digits(end + 1);
  return end != at && *end == '/' && lb_plain_digit(end[1]);
}

/* A fraction at `at`, behind its sign. */
static enum lb_status read_fraction(double *number, const char **rest, const char *text,
                                    const char *at, char sign, struct lb_error *error) {
  double whole = 0, numerator, denominator;
  bool mixed = *skip_digits(at) == '-';
  bool fits = !mixed || (take_integer(&whole, &at) && at++);
  fits = fits && take_integer(&numerator, &at) && *at++ == '/' && take_integer(&denominator, &at);
  if (!fits)
    return refuse(text, "is a fraction of too many digits", "write a decimal such as 12.5", error);
  if (denominator < 1)
    return refuse(text, "divides by zero", "write a fraction such as 1-1/4", error);
  if (mixed && numerator >= denominator)
    return refuse(text, "has a fraction of one or more behind its whole number",
                  "write a fraction such as 1-1/4", error);
  double value = (whole * denominator + numerator) / denominator;
  *number = sign == '-' && value > 0 ? -value : value;
  *rest = at;
  return LB_OK;
}

/* Two numbers. "1 1/4 in" is a mixed fraction with a blank in it: the right spelling is known. */
static enum lb_status refuse_second(const char *text, const char *first, const char *end,
                                    const char *second, struct lb_error *error) {
  bool mixed = lb_plain_skip(end) != end && skip_digits(first) == end && fraction_ahead(second) &&
               *skip_digits(second) == '/';
  if (!mixed)
    return refuse(text, "holds two numbers", "write one, then its unit", error);
  char shown[LB_PLAIN_SHOWN], whole[LB_PLAIN_SHOWN], rest[LB_PLAIN_SHOWN];
  return lb_error_set(error, LB_BAD_INPUT, "'%s' holds two numbers; write '%s-%s'",
                      lb_plain_shown(shown, text, strlen(text)),
                      lb_plain_shown(whole, text, (size_t)(end - text)),
                      lb_plain_shown(rest, second, strlen(second)));
}

/* Step over blanks and whatever may stand in or between numbers. */
static const char *skip_marks(const char *at) {
  for (const char *before = NULL; at != before;) {
    before = at;
    at = lb_plain_skip(at);
    take_sign(&at);
    at += strspn(at, "/.,");
  }
  return at;
}

/* What may not follow a number: another number, or a mark that could belong to one. */
static enum lb_status check_rest(const char *text, const char *first, const char *end,
                                 struct lb_error *error) {
  const char *second = skip_marks(end);
  if (lb_plain_digit(*second) && (*end == '.' || *end == ','))
    return refuse(text, "has more than one point or comma",
                  "write one decimal point and no mark between thousands", error);
  if (lb_plain_digit(*second))
    return refuse_second(text, first, end, second, error);
  const char *next = lb_plain_skip(end);
  if (*next == '.' || *next == ',' || *next == '_' || take_sign(&next))
    return refuse(text, "has a stray mark behind its number", "write the number, then its unit",
                  error);
  return LB_OK;
}

enum lb_status lb_number_read(double *number, const char **rest, const char *text,
                              struct lb_error *error) {
  const char *at = lb_plain_skip(text);
  if (!*at)
    return lb_error_set(error, LB_BAD_INPUT, "nothing is written; " WRITE_NUMBER);
  char sign = take_sign(&at);
  if (at[0] == '0' && (at[1] == 'x' || at[1] == 'X'))
    return refuse(text, "is hexadecimal", WRITE_NUMBER, error);
  double value = 0;
  const char *end = at;
  enum lb_status status = fraction_ahead(at) ? read_fraction(&value, &end, text, at, sign, error)
                                             : read_decimal(&value, &end, text, at, sign, error);
  if (status == LB_OK)
    status = check_rest(text, at, end, error);
  if (status != LB_OK)
    return status;
  *number = value;
  *rest = lb_plain_skip(end);
  return LB_OK;
}

const char *lb_number_write(char *text, double value, int digits) {
  const double tiny = 1e-4, huge = 1e15;
  double size = fabs(value);
  bool plain = size == 0 || (size >= tiny && size < huge);
  int before = size > 0 ? (int)floor(log10(size)) + 1 : digits; /* digits before the point */
  int decimals = digits > before ? digits - before : 0;
  if (plain)
    lb_format(text, LB_NUMBER_TEXT, "%.*f", decimals, size);
  else
    lb_format(text, LB_NUMBER_TEXT, "%.*g", digits, size);
  if (value < 0 && strcspn(text, "123456789") < strlen(text)) {
    memmove(text + 1, text, strlen(text) + 1);
    text[0] = '-';
  }
  return text;
}

double lb_number_round(double value, int digits) {
  if (value == 0)
    return 0;
  int decimals = digits - 1 - (int)floor(log10(fabs(value)));
  double unit = pow(10, decimals < 0 ? -decimals : decimals); /* whole, so that it is exact */
  return decimals < 0 ? round(value / unit) * unit : round(value * unit) / unit;
}
