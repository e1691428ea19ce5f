/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Z is the spline through the table. Everything caloric follows from one more function,
 *
 *   G(p, T) = integral from 0 to p of (Z - 1) dp/p,
 *   h_r = -R T^2 dG/dT,  s_r = -R (G + T dG/dT),  cp_r = -R (2 T dG/dT + T^2 d2G/dT2),
 *
 * and dh = T ds + v dp then holds just because dG/dp = (Z - 1)/p. So G is the integral of that very
 * spline, in closed form: within a cell of the table Z is a cubic in p, and divided by p that is a
 * square and a logarithm. Over T, G is a cubic between two rows as Z is, known by its values and
 * slopes there; at the corners of the cells they are added up beforehand.
 */
#include "physics/real_air.h"

#include "base/constants.h"
#include "base/numeric.h"
#include "physics/real_air_table.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static const double entropy_temperature = 20 + LB_ZERO_CELSIUS; /* [K] where the entropy is 0 */
static const double entropy_pressure = LB_BAR;                  /* [Pa absolute], likewise */

/* A function along a row of pressures: what it is and its slope [1/Pa]. */
struct along {
  double value, slope;
};

/* A corner of four cells. */
struct corner {
  struct along excess;    /* Z - 1 [1] */
  struct along by_kelvin; /* dZ/dT [1/K] */
  double integral;        /* G [1] */
  double integral_slope;  /* dG/dT [1/K] */
};

struct lb_real_air {
  struct lb_surface *surface; /* Z over pressure and temperature */
  struct corner corner[LB_REAL_AIR_TEMPERATURES][LB_REAL_AIR_PRESSURES];
};

/* The last row at or below x, but not the last of all. */
static size_t row_below(const double *row, size_t rows, double x) {
  size_t low = 0, high = rows - 1;
  while (high - low > 1) {
    size_t middle = (low + high) / 2;
    if (row[middle] <= x)
      low = middle;
    else
      high = middle;
  }
  return low;
}

/* Part of a cell from its lower pressure to one within. */
struct stretch {
  double from, width, length; /* lower pressure, whole cell, part [Pa] */
  double logarithm;           /* ln((from + length)/from); 0 where from is 0 */
};

static struct stretch stretch_to(size_t lower, double pressure) {
  const double *row = lb_real_air_table_pressure;
  struct stretch s = {
      .from = row[lower], .width = row[lower + 1] - row[lower], .length = pressure - row[lower]};
  s.logarithm = s.from > 0 ? log1p(s.length / s.from) : 0;
  return s;
}

/* The integral of q dp/p over it, q being the cubic between a and b at the ends of the cell: q
 * divided by p leaves a square and a rest, which is 0 where p begins at 0, because q does. */
static double stretch_integral(const struct stretch *s, struct along a, struct along b) {
  double w = s->width, rise = (b.value - a.value) / w;
  double q2 = (3 * rise - 2 * a.slope - b.slope) / w;
  double q3 = (a.slope + b.slope - 2 * rise) / (w * w);
  double b1 = q2 - s->from * q3, b0 = a.slope - s->from * b1, rest = a.value - s->from * b0;
  return s->length * (b0 + s->length * (b1 / 2 + s->length * q3 / 3)) + rest * s->logarithm;
}

/* Fill the corners of one temperature, from pressure 0 upwards. Below it nothing is asked. */
static void fill_row(struct corner *corner, const struct lb_surface *surface, double temperature) {
  const double *row = lb_real_air_table_pressure;
  size_t zero = row_below(row, LB_REAL_AIR_PRESSURES, 0);
  for (size_t i = zero; i < LB_REAL_AIR_PRESSURES; i++) {
    struct corner *c = &corner[i], *before = &corner[i - (i > zero)];
    c->excess.value = lb_surface_value(surface, row[i], temperature) - 1;
    c->excess.slope = lb_surface_by_x(surface, row[i], temperature);
    c->by_kelvin.value = lb_surface_by_y(surface, row[i], temperature);
    c->by_kelvin.slope = lb_surface_by_xy(surface, row[i], temperature);
    if (i == zero)
      continue;
    struct stretch whole = stretch_to(i - 1, row[i]);
    c->integral = before->integral + stretch_integral(&whole, before->excess, c->excess);
    c->integral_slope =
        before->integral_slope + stretch_integral(&whole, before->by_kelvin, c->by_kelvin);
  }
}

struct lb_real_air *lb_real_air_new(void) {
  struct lb_real_air *air = calloc(1, sizeof *air);
  if (!air)
    return NULL;
  air->surface =
      lb_surface_new(lb_real_air_table_pressure, LB_REAL_AIR_PRESSURES,
                     lb_real_air_table_temperature, LB_REAL_AIR_TEMPERATURES, lb_real_air_table_z);
  if (!air->surface) {
    free(air);
    return NULL;
  }
  for (size_t j = 0; j < LB_REAL_AIR_TEMPERATURES; j++)
    fill_row(air->corner[j], air->surface, lb_real_air_table_temperature[j]);
  return air;
}

void lb_real_air_free(struct lb_real_air *air) {
  if (!air)
    return;
  lb_surface_free(air->surface);
  free(air);
}

/* G and its derivatives by temperature [1], [1/K], [1/K2]. */
struct residual {
  double value, slope, curvature;
};

/* The cubic over `width` with values and slopes at its ends, at `along` from its beginning. */
static struct residual cubic(double width, double along, const double value[2],
                             const double slope[2]) {
  double rise = (value[1] - value[0]) / width;
  double c2 = (3 * rise - 2 * slope[0] - slope[1]) / width;
  double c3 = (slope[0] + slope[1] - 2 * rise) / (width * width);
  return (struct residual){.value = value[0] + along * (slope[0] + along * (c2 + along * c3)),
                           .slope = slope[0] + along * (2 * c2 + along * 3 * c3),
                           .curvature = 2 * c2 + along * 6 * c3};
}

static struct residual residual_at(const struct lb_real_air *air, double pressure,
                                   double temperature) {
  const double *row = lb_real_air_table_temperature;
  size_t i = row_below(lb_real_air_table_pressure, LB_REAL_AIR_PRESSURES, pressure);
  size_t j = row_below(row, LB_REAL_AIR_TEMPERATURES, temperature);
  struct stretch part = stretch_to(i, pressure);
  double value[2], slope[2];
  for (size_t k = 0; k < 2; k++) {
    const struct corner *a = &air->corner[j + k][i], *b = a + 1;
    value[k] = a->integral + stretch_integral(&part, a->excess, b->excess);
    slope[k] = a->integral_slope + stretch_integral(&part, a->by_kelvin, b->by_kelvin);
  }
  return cubic(row[j + 1] - row[j], temperature - row[j], value, slope);
}

static double enthalpy(const struct residual *g, double temperature) {
  return LB_CP * temperature - LB_GAS_CONSTANT * temperature * temperature * g->slope;
}

static double isobaric_heat(const struct residual *g, double temperature) {
  return LB_CP - LB_GAS_CONSTANT * temperature * (2 * g->slope + temperature * g->curvature);
}

static double entropy(const struct residual *g, double pressure, double temperature) {
  return LB_CP * log(temperature / entropy_temperature) -
         LB_GAS_CONSTANT * (log(pressure / entropy_pressure) + g->value + temperature * g->slope);
}

static bool within(double pressure, double temperature) {
  return pressure > 0 && pressure <= LB_REAL_AIR_HIGHEST && temperature >= LB_REAL_AIR_COLDEST &&
         temperature <= LB_REAL_AIR_HOTTEST;
}

/* [degC] */
static double celsius(double temperature) {
  return temperature - LB_ZERO_CELSIUS;
}

static enum lb_status outside(double pressure, double temperature, struct lb_error *error) {
  return lb_error_set(error, LB_NO_ANSWER,
                      "air of %.6g bar absolute and %.6g degC is outside what is known of it; a "
                      "pressure above 0 up to %g bar absolute and %g ... %g degC would do",
                      pressure / LB_BAR, celsius(temperature), LB_REAL_AIR_HIGHEST / LB_BAR,
                      celsius(LB_REAL_AIR_COLDEST), celsius(LB_REAL_AIR_HOTTEST));
}

enum lb_status lb_real_air_state(struct lb_real_state *state, const struct lb_real_air *air,
                                 double pressure, double temperature, struct lb_error *error) {
  double p = pressure, t = temperature;
  if (!within(p, t))
    return outside(p, t, error);
  struct residual g = residual_at(air, p, t);
  double z = lb_surface_value(air->surface, p, t), z_p = lb_surface_by_x(air->surface, p, t);
  double z_t = lb_surface_by_y(air->surface, p, t);
  double expansion = LB_GAS_CONSTANT / p * (z + t * z_t); /* dv/dT at constant p [m3/(kg K)] */
  double coefficient = p * (z + t * z_t) / (t * (z - p * z_p));
  double cp = isobaric_heat(&g, t);
  *state = (struct lb_real_state){.compressibility = z,
                                  .density = p / (z * LB_GAS_CONSTANT * t),
                                  .enthalpy = enthalpy(&g, t),
                                  .entropy = entropy(&g, p, t),
                                  .pressure_coefficient = coefficient,
                                  .isobaric_heat = cp,
                                  .isochoric_heat = cp - t * expansion * coefficient,
                                  .compressibility_by_pressure = z_p};
  return LB_OK;
}

/* What is sought: where a rising function is as great as `target`, the other variable fixed. */
struct question {
  const struct lb_real_air *air;
  double fixed, target;
};

typedef double rising_function(const struct question *question, double x, double *slope);

/* Its root between two ends that have it between them, or NaN: Newton's steps, or the middle of the
 * ends met so far when a step would leave them. */
static double rising_root(rising_function *function, const struct question *question, double guess,
                          double low, double high) {
  enum {
    STEPS = 100
  };
  const double tolerance = 1e-13; /* relative: some roundings of the spline, of steep places too */
  double x = guess >= low && guess <= high ? guess : (low + high) / 2;
  for (int i = 0; i < STEPS; i++) {
    double slope, here = function(question, x, &slope) - question->target, next = x - here / slope;
    if (fabs(next - x) <= tolerance * x)
      return fmin(fmax(next, low), high);
    if (here > 0)
      high = x;
    else
      low = x;
    x = next > low && next < high ? next : (low + high) / 2;
  }
  return (double)NAN;
}

/* Density times R T [Pa] over pressure. */
static double rising_density(const struct question *question, double pressure, double *slope) {
  const struct lb_surface *surface = question->air->surface;
  double z = lb_surface_value(surface, pressure, question->fixed);
  *slope = (z - pressure * lb_surface_by_x(surface, pressure, question->fixed)) / (z * z);
  return pressure / z;
}

enum lb_status lb_real_air_pressure(double *pressure, const struct lb_real_air *air, double density,
                                    double temperature, struct lb_error *error) {
  const double rounding = 1e-13; /* of a density that was calculated from the highest pressure */
  if (!within(LB_REAL_AIR_HIGHEST, temperature) || !(density > 0))
    return lb_error_set(error, LB_NO_ANSWER,
                        "air of %.6g kg/m3 at %.6g degC is asked for; a density above 0 and "
                        "%g ... %g degC would do",
                        density, celsius(temperature), celsius(LB_REAL_AIR_COLDEST),
                        celsius(LB_REAL_AIR_HOTTEST));
  struct question question = {air, temperature, density * LB_GAS_CONSTANT * temperature};
  double slope, most = rising_density(&question, LB_REAL_AIR_HIGHEST, &slope);
  if (!(question.target <= most * (1 + rounding)))
    return lb_error_set(error, LB_NO_ANSWER,
                        "air of %.6g kg/m3 at %.6g degC would be above %g bar absolute, the most "
                        "that is known of it; up to %.4g kg/m3 would do",
                        density, celsius(temperature), LB_REAL_AIR_HIGHEST / LB_BAR,
                        density * most / question.target);
  double guess = *pressure > 0 ? *pressure : fmin(question.target, LB_REAL_AIR_HIGHEST);
  double found = question.target >= most
                     ? LB_REAL_AIR_HIGHEST
                     : rising_root(rising_density, &question, guess, 0, LB_REAL_AIR_HIGHEST);
  if (isnan(found))
    return lb_error_set(error, LB_NUMERIC, "no pressure found for %.6g kg/m3 at %.6g degC", density,
                        celsius(temperature));
  *pressure = found;
  return LB_OK;
}

/* Enthalpy [J/kg] over temperature. */
static double rising_enthalpy(const struct question *question, double temperature, double *slope) {
  struct residual g = residual_at(question->air, question->fixed, temperature);
  *slope = isobaric_heat(&g, temperature);
  return enthalpy(&g, temperature);
}

enum lb_status lb_real_air_throttled(double *temperature, const struct lb_real_air *air,
                                     double pressure_1, double temperature_1, double pressure_2,
                                     struct lb_error *error) {
  if (!within(pressure_1, temperature_1))
    return outside(pressure_1, temperature_1, error);
  if (!within(pressure_2, temperature_1))
    return outside(pressure_2, temperature_1, error);
  double slope;
  struct question question = {.air = air, .fixed = pressure_1};
  double before = rising_enthalpy(&question, temperature_1, &slope);
  question = (struct question){air, pressure_2, before};
  bool cold = before < rising_enthalpy(&question, LB_REAL_AIR_COLDEST, &slope);
  bool hot = before > rising_enthalpy(&question, LB_REAL_AIR_HOTTEST, &slope);
  if (cold || hot)
    return lb_error_set(
        error, LB_NO_ANSWER,
        "air of %.4g bar absolute and %.4g degC would be %s than %g degC behind a "
        "throttle to %.4g bar absolute, outside what is known of it; %s air would do",
        pressure_1 / LB_BAR, celsius(temperature_1), cold ? "colder" : "hotter",
        celsius(cold ? LB_REAL_AIR_COLDEST : LB_REAL_AIR_HOTTEST), pressure_2 / LB_BAR,
        cold ? "warmer" : "cooler");
  double found = rising_root(rising_enthalpy, &question, temperature_1, LB_REAL_AIR_COLDEST,
                             LB_REAL_AIR_HOTTEST);
  if (isnan(found))
    return lb_error_set(error, LB_NUMERIC,
                        "no temperature found behind a throttle from %.6g to %.6g bar absolute",
                        pressure_1 / LB_BAR, pressure_2 / LB_BAR);
  *temperature = found;
  return LB_OK;
}
