/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The general unit library, udunits2, behind one lock and one function.
 *
 * The library is not safe for threads and says what it thinks of a unit on standard error; so every
 * call of it stands between lock and unlock, with its messages turned off and the caller's handler
 * of them put back.
 */
#include "base/units_library.h"

#include "base/plain.h"

#include <locale.h>
#include <math.h>
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>
#include <udunits2.h>

/* The one unit system of the process; `lock` guards it and every call of the library. Nothing frees
 * it: another thread may still be reading a unit when the process ends. */
static struct {
  pthread_mutex_t lock;
  ut_system *system;
} library = {.lock = PTHREAD_MUTEX_INITIALIZER};

/* Whether a plain unit is safe to show to the library: letters, powers behind them, and what joins
 * them. Anything else (@, since, 2 m, %) would call up its origins, dates and factors. */
static bool library_takes(const char *form) {
  for (size_t i = 0; form[i]; i++) {
    char c = form[i], before = i > 0 ? form[i - 1] : '\0';
    bool power = lb_plain_letter(before) || lb_plain_digit(before) || before == '-';
    bool minus = lb_plain_letter(before) && lb_plain_digit(form[i + 1]);
    if (lb_plain_digit(c) ? !power : c == '-' ? !minus : !lb_plain_letter(c) && !strchr(" /()_", c))
      return false;
  }
  return form[0] != '\0';
}

/* The system, locked by the caller. Its own reader fails where the decimal mark is a comma. NULL
 * when its tables cannot be read. */
static ut_system *library_system(void) {
  locale_t c = library.system ? (locale_t)0 : newlocale(LC_ALL_MASK, "C", (locale_t)0);
  if (!c)
    return library.system;
  locale_t before = uselocale(c);
  library.system = ut_read_xml(NULL);
  uselocale(before);
  freelocale(c);
  return library.system;
}

/* How many `to` make one `from`, if twice the one is twice the other. A reciprocal, a logarithm and
 * a scale with another zero, all of which the library converts too, do not pass. */
static bool multiple(double *factor, ut_unit *from, ut_unit *to) {
  cv_converter *converter = ut_get_converter(from, to);
  if (!converter)
    return false;
  double one = cv_convert_double(converter, 1), two = cv_convert_double(converter, 2);
  cv_free(converter);
  if (!(one > 0 && isfinite(one) && two == 2 * one))
    return false;
  *factor = one;
  return true;
}

enum lb_status lb_units_library_factor(double *factor, const char *form, const char *si) {
  if (!library_takes(form))
    return LB_BAD_INPUT;
  pthread_mutex_lock(&library.lock);
  ut_error_message_handler before = ut_set_error_message_handler(ut_ignore);
  enum lb_status status = LB_IO;
  ut_system *system = library_system();
  if (system) {
    ut_unit *from = ut_parse(system, form, UT_ASCII), *to = ut_parse(system, si, UT_ASCII);
    status = from && to && multiple(factor, from, to) ? LB_OK : LB_BAD_INPUT;
    ut_free(from);
    ut_free(to);
  }
  ut_set_error_message_handler(before);
  pthread_mutex_unlock(&library.lock);
  return status;
}
