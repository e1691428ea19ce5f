/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From what a builder writes ("6 bar gauge", "1-1/4 in", "3.6 L/(s bar)") to SI, and back.
 *
 * A table of the trade's own spellings is asked first, the general unit library second; angles,
 * rotational speeds, torques and masses are left to the table alone. A value whose meaning is not
 * certain (bare "6 bar", "10,585 m", "20 C") is refused with the readings it could have. Units
 * exist only here: every other room works in SI.
 *
 * Spelling: "N m", "N·m", "Nm"; "m/s", "m per s"; "cm3", "cm³", "cm^3"; "°C" or "degC"; "5 µm" and
 * "5mm" with or without a blank. Capitals matter where they are prefixes (mPa, MPa) and are free in
 * the trade's words (PSI, Bar, RPM). lb is a force unless a mass is asked for, gal the US gallon,
 * oz in a torque the ounce force. Gauge is also written g, (g), gage, ü; absolute a, (a), abs;
 * touching the unit only behind those of the table: barg, psia, MPaG.
 *
 * Every function may be called by any number of threads, in any locale.
 */
#ifndef LASTBAR_BASE_UNITS_H
#define LASTBAR_BASE_UNITS_H

#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What a value measures; decides which units are accepted and what the SI unit is. */
enum lb_quantity {
  LB_ANGLE,                    /* [rad] */
  LB_LENGTH,                   /* [m] */
  LB_VOLUME,                   /* [m3] */
  LB_PRESSURE,                 /* [Pa] absolute; the text must say gauge or absolute */
  LB_PRESSURE_DIFFERENCE,      /* [Pa]; the text says neither */
  LB_TEMPERATURE,              /* [K] */
  LB_FORCE,                    /* [N] */
  LB_TORQUE,                   /* [N m] */
  LB_SPEED,                    /* [m/s] */
  LB_ROTATIONAL_SPEED,         /* [rad/s]; "Hz" means turns a second */
  LB_TIME,                     /* [s] */
  LB_FRACTION,                 /* [1]; written with % or as "0.04" */
  LB_NUMBER,                   /* [1]; a bare number, no unit allowed */
  LB_CONDUCTANCE,              /* [m3/(s Pa)] sonic conductance or leakage, volume ANR */
  LB_HEAT_TRANSFER,            /* [W/(m2 K)] */
  LB_AREA,                     /* [m2] */
  LB_VOLUME_FLOW,              /* [m3/s] of a liquid */
  LB_FREE_FLOW,                /* [m3/s] of air, volume ANR; "L/min" means "L/min ANR" */
  LB_MASS,                     /* [kg]; "lb" is the pound of mass */
  LB_TORQUE_PER_SPEED,         /* [N m s/rad] */
  LB_TORQUE_PER_SPEED_SQUARED, /* [N m s2/rad2] */
  LB_DROOP,                    /* [Pa s/m3] fall of pressure for a free flow, volume ANR */
  LB_QUANTITIES
};

/* Split "number unit" at the end of the number.
 * text    [UTF-8] leading and trailing blanks are ignored
 * number  out: the value, always finite
 * unit    out: points into text at the first byte of the unit, or at its end when there is none
 * The unit is not looked at. Plain decimals with optional exponent, fractions ("1/2", "1-1/4"), a
 * true minus sign (U+2212) and a decimal comma are read. Fails (LB_BAD_INPUT) on anything else:
 * "1,000" or "10,585" (a decimal or two numbers: both readings are shown; "0,250" is certain), inf,
 * nan, hexadecimal, "4 5 mm". */
enum lb_status lb_units_split(double *number, const char **unit, const char *text,
                              struct lb_error *error);

/* Read a value with its unit into SI.
 * si       out: [SI unit of quantity]
 * text     [UTF-8]
 * quantity what it measures
 * ambient  [Pa absolute] what gauge pressures are relative to (used for LB_PRESSURE only); a value
 *          that is not finite and positive means that it is not known, and a gauge pressure is then
 *          refused
 * Fails (LB_BAD_INPUT) with a text that offers the right spelling: no number, no unit, a unit of
 * another dimension, a reciprocal, a pressure without gauge or absolute, a difference with either;
 * below vacuum or absolute zero; beyond the range of a double. Fails with LB_IO when a unit is not
 * in the table and the unit library's own files cannot be read. */
enum lb_status lb_units_read(double *si, const char *text, enum lb_quantity quantity,
                             double ambient, struct lb_error *error);

/* The same, with an example of one's own for the messages.
 * example  a number, and a unit behind a blank unless the quantity has none: "180 m" */
enum lb_status lb_units_read_like(double *si, const char *text, enum lb_quantity quantity,
                                  double ambient, const char *example, struct lb_error *error);

/* The value in another unit.
 * value    out: [unit]
 * si       [SI unit of quantity]; a pressure is absolute
 * unit     any spelling lb_units_read takes for this quantity, e.g. "bar gauge", "mm", "deg", "%"
 * ambient  as in lb_units_read
 * Reading the value back gives si within 1e-15 of it, or of the ambient pressure where that is
 * larger. Fails as lb_units_read does when the unit does not belong to the quantity, and when si is
 * not finite. */
enum lb_status lb_units_write(double *value, double si, enum lb_quantity quantity, const char *unit,
                              double ambient, struct lb_error *error);

/* An example of how a value of this quantity is written, e.g. "6 bar gauge"; never NULL. */
const char *lb_units_example(enum lb_quantity quantity);

/* The SI unit, e.g. "Pa absolute", "rad", "1"; never NULL. */
const char *lb_units_si(enum lb_quantity quantity);

#ifdef __cplusplus
}
#endif

#endif
