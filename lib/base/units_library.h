/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The units of the world at large, for those that the trade's own table (base/units) lacks.
 *
 * The general library's table is read once, when a unit is first asked for, which takes some
 * milliseconds, and kept until the process ends. Any number of threads may call. The rest of the
 * process may use the same library, but not at the same time.
 */
#ifndef LASTBAR_BASE_UNITS_LIBRARY_H
#define LASTBAR_BASE_UNITS_LIBRARY_H

#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* How many SI units make one of this unit.
 * factor  out: [SI unit], finite and positive
 * form    a unit in plain form (lb_plain_unit)
 * si      the SI unit wanted, in the same form: "m3/(s Pa)"
 * Fails with LB_BAD_INPUT when the unit is not known, or is not a plain multiple of the SI unit
 * (another dimension, a reciprocal, a logarithm, a scale with a zero of its own), and with LB_IO
 * when the library's tables cannot be read. Angles are the number 1 to the library, and torques are
 * energies: ask it for neither. */
enum lb_status lb_units_library_factor(double *factor, const char *form, const char *si);

#ifdef __cplusplus
}
#endif

#endif
