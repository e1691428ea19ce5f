/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures of an answer as a person reads them: in metric or inch units, with sensible digits, never
 * "nan" or "-0.0".
 *
 * A pressure that stands alone is given as gauge, with absolute beside it and in the other trade's
 * unit: "3.60 bar gauge (4.59 bar absolute, 52.2 psig)". In a column the unit stands in the row.
 */
#ifndef LASTBAR_PAPER_SHOW_H
#define LASTBAR_PAPER_SHOW_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* For whom figures are shown. */
struct lb_style {
  bool inch;
  double ambient; /* [Pa absolute] what gauge pressures are relative to */
};

/* What a figure is; says its units and digits. */
enum lb_measure {
  LB_SHOW_ANGLE,       /* of [rad]: deg */
  LB_SHOW_LENGTH,      /* of [m]: mm, in */
  LB_SHOW_VOLUME,      /* of [m3]: cm3, cu in */
  LB_SHOW_GAUGE,       /* of [Pa absolute]: bar gauge, psi gauge */
  LB_SHOW_PRESSURE,    /* of [Pa], a difference: bar, psi */
  LB_SHOW_TEMPERATURE, /* of [K]: degC, degF */
  LB_SHOW_TORQUE,      /* of [N m]: N m, lb ft */
  LB_SHOW_WORK,        /* of [J]: J, ft lbf */
  LB_SHOW_POWER,       /* of [W]: W, hp */
  LB_SHOW_AIR,         /* of [kg]: L ANR, cu ft ANR (the volume at 100 kPa, 20 degC) */
  LB_SHOW_YIELD,       /* of [J/kg]: J/L ANR, ft lbf/cu ft ANR */
  LB_SHOW_SHARE,       /* of [1]: % */
  LB_SHOW_DISTANCE,    /* of [m] on the ground: m, ft */
  LB_SHOW_ROAD,        /* of [m], long ones: km, miles */
  LB_SHOW_ROAD_SPEED,  /* of [m/s]: km/h, mph */
  LB_SHOW_DURATION,    /* of [s]: min */
  LB_SHOW_MASS,        /* of [kg]: kg, lb */
  LB_SHOW_FORCE,       /* of [N]: N, lbf */
  LB_SHOW_ROOM,        /* of [m3], of a vessel: L, cu ft */
  LB_SHOW_ENERGY,      /* of [J], of many revolutions: kJ, ft lbf */
  LB_MEASURES
};

/* A short text, to be used at once: `printf("%s", lb_show(...).text)`. */
struct lb_shown {
  char text[112];
};

/* The value in the style's unit; NaN stays NaN. */
double lb_show_value(const struct lb_style *style, enum lb_measure measure, double si);

/* The style's unit: "N m", "lb ft". */
const char *lb_show_unit(const struct lb_style *style, enum lb_measure measure);

/* Decimals that suit some values, so that a row reads in one precision: three or four digits of the
 * smallest of them that is not less than a tenth of the largest.
 * value  value[count] [SI]; those that are not finite are passed over */
int lb_show_decimals(const struct lb_style *style, enum lb_measure measure, const double *value,
                     size_t count);

/* A number with a fixed count of decimals; "-" when it is not finite. */
struct lb_shown lb_show_number(double value, int decimals);

/* Any crank angle [rad] in degrees within one turn, "0.0" ... "359.9": what would be rounded to a
 * whole turn is 0. */
struct lb_shown lb_show_crank(double angle, int decimals);

/* The value with its unit: "57.3 J". */
struct lb_shown lb_show(const struct lb_style *style, enum lb_measure measure, double si);

/* A pressure [Pa absolute] that stands alone, as above; in inch style
 * "52.2 psi gauge (66.6 psi absolute, 3.60 bar gauge)". */
struct lb_shown lb_show_pressure(const struct lb_style *style, double pressure);

/* A pressure [Pa absolute] near that of the surroundings: "0.992 bar absolute (14.39 psi
 * absolute)", in inch style the other way round. */
struct lb_shown lb_show_absolute(const struct lb_style *style, double pressure);

/* A sentence or two of the library's, to be used at once. */
struct lb_sentence {
  char text[1664];
};

/* A sentence in which figures are given twice, "3.60 bar gauge (52.2 psig)", as the style wants it:
 * in inch style "52.2 psig (3.60 bar gauge)". What does not fit is cut off. */
struct lb_sentence lb_show_sentence(const struct lb_style *style, const char *sentence);

#ifdef __cplusplus
}
#endif

#endif
