/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Real air between the rows of its table against the equation of state itself; the laws that its
 * functions must keep among themselves; inverses, limits, and the edge of the range.
 */
#include "base/constants.h"
#include "physics/real_air.h"
#include "support.h"

#include <gsl/gsl_integration.h>

static const double normal = 293.15, bar = 1e5; /* [K], [Pa]: where the entropy is 0 */

static struct lb_real_air *air;

static void set_up(void) {
  air = lb_real_air_new();
  ck_assert_ptr_nonnull(air);
}

static void tear_down(void) {
  lb_real_air_free(air);
}

static struct lb_real_state state_at(double pressure, double temperature) {
  struct lb_real_state state;
  ck_assert_int_eq(lb_real_air_state(&state, air, pressure, temperature, NULL), LB_OK);
  return state;
}

/* The equation of Lemmon, Jacobsen, Penoncello and Friend (2000): terms
 * N delta^d tau^t exp(-delta^l) of the residual Helmholtz energy alpha. */
static const struct term {
  double n, t;
  int d, l;
} terms[] = {
    {0.118160747229, 0, 1, 0},        {0.713116392079, 0.33, 1, 0},
    {-1.61824192067, 1.01, 1, 0},     {0.0714140178971, 0, 2, 0},
    {-0.0865421396646, 0, 3, 0},      {0.134211176704, 0.15, 3, 0},
    {0.0112626704218, 0, 4, 0},       {-0.0420533228842, 0.2, 4, 0},
    {0.0349008431982, 0.35, 4, 0},    {0.000164957183186, 1.35, 6, 0},
    {-0.101365037912, 1.6, 1, 1},     {-0.17381369097, 0.8, 3, 1},
    {-0.0472103183731, 0.95, 5, 1},   {-0.0122523554253, 1.25, 6, 1},
    {-0.146629609713, 3.6, 1, 2},     {-0.0316055879821, 6, 3, 2},
    {0.000233594806142, 3.25, 11, 2}, {0.0148287891978, 3.5, 1, 3},
    {-0.00938782884667, 15, 3, 3},
};

static const double critical = 132.6312;               /* [K] tau = critical/T */
static const double unit_pressure = 10447.7 * 8.31451; /* [Pa/K] p = Z delta T times this */

/* alpha and its derivatives times delta and tau: d = delta d/d(delta), t = tau d/d(tau). */
struct helmholtz {
  double a, d, dd, t, tt, dt;
};

static struct helmholtz helmholtz(double delta, double tau) {
  struct helmholtz h = {0};
  for (size_t i = 0; i < sizeof terms / sizeof terms[0]; i++) {
    const struct term *k = &terms[i];
    double decay = k->l ? pow(delta, k->l) : 0, factor = k->d - k->l * decay;
    double a = k->n * pow(delta, k->d) * pow(tau, k->t) * exp(-decay);
    h.a += a;
    h.d += a * factor;
    h.dd += a * (factor * (factor - 1) - k->l * k->l * decay);
    h.t += a * k->t;
    h.tt += a * k->t * (k->t - 1);
    h.dt += a * factor * k->t;
  }
  return h;
}

/* The reduced density at a pressure. */
static double reduced_density(double pressure, double temperature) {
  double target = pressure / (unit_pressure * temperature), low = 0, high = 5;
  for (int i = 0; i < 100; i++) {
    double delta = (low + high) / 2;
    if (delta * (1 + helmholtz(delta, critical / temperature).d) < target)
      low = delta;
    else
      high = delta;
  }
  return low;
}

/* What the equation says, with the library's gas constant and its ideal gas. */
static struct lb_real_state by_equation(double pressure, double temperature) {
  const double r = LB_GAS_CONSTANT;
  double delta = reduced_density(pressure, temperature);
  struct helmholtz h = helmholtz(delta, critical / temperature);
  double z = 1 + h.d, stiffness = 1 + 2 * h.d + h.dd, thermal = 1 + h.d - h.dt;
  double cv = LB_CV - r * h.tt;
  return (struct lb_real_state){.compressibility = z,
                                .density = pressure / (z * r * temperature),
                                .enthalpy = LB_CP * temperature + r * temperature * (h.t + h.d),
                                .entropy = LB_CP * log(temperature / normal) -
                                           r * log(pressure / bar) + r * (h.t - h.a + log(z)),
                                .pressure_coefficient = delta * unit_pressure * thermal,
                                .isochoric_heat = cv,
                                .isobaric_heat = cv + r * thermal * thermal / stiffness,
                                .compressibility_by_pressure =
                                    z * (h.d + h.dd) / (stiffness * pressure)};
}

/* How far off the nodes may be. */
struct reach {
  double compressibility, enthalpy, entropy, heat; /* [1], [J/kg], [J/(kg K)], [J/(kg K)] */
  double coefficient, by_pressure;                 /* dp/dT relative; p dZ/dp [1] */
};

static void compare(double pressure, double temperature, const struct reach *reach) {
  struct lb_real_state e = by_equation(pressure, temperature), s = state_at(pressure, temperature);
  ck_close(s.compressibility, e.compressibility, reach->compressibility);
  ck_close_relative(s.density, e.density, 2 * reach->compressibility / e.compressibility);
  ck_close(s.enthalpy, e.enthalpy, reach->enthalpy);
  ck_close(s.entropy, e.entropy, reach->entropy);
  ck_close(s.isobaric_heat, e.isobaric_heat, reach->heat);
  ck_close(s.isochoric_heat, e.isochoric_heat, reach->heat);
  ck_close_relative(s.pressure_coefficient, e.pressure_coefficient, reach->coefficient);
  ck_close(pressure * s.compressibility_by_pressure, pressure * e.compressibility_by_pressure,
           reach->by_pressure);
}

static const struct reach cold = {3e-6, 5, 0.03, 8, 3e-4, 2e-4};
static const struct reach warm = {3e-7, 2, 0.01, 4, 5e-5, 5e-5};

START_TEST(off_the_nodes) {
  uint64_t state = 61;
  for (int i = 0; i < support_times(4000); i++)
    compare(support_between(&state, 0, LB_REAL_AIR_HIGHEST),
            support_between(&state, LB_REAL_AIR_COLDEST, LB_REAL_AIR_HOTTEST), &cold);
}
END_TEST

/* From -73 degC upwards it is closer. */
START_TEST(off_the_nodes_where_it_is_used) {
  uint64_t state = 62;
  for (int i = 0; i < support_times(4000); i++)
    compare(support_between(&state, 0, LB_REAL_AIR_HIGHEST),
            support_between(&state, 200, LB_REAL_AIR_HOTTEST), &warm);
}
END_TEST

/* Near the critical point Z is steep. */
START_TEST(off_the_nodes_in_the_cold) {
  uint64_t state = 63;
  for (int i = 0; i < support_times(4000); i++)
    compare(support_between(&state, 30e5, 90e5), support_between(&state, LB_REAL_AIR_COLDEST, 165),
            &cold);
}
END_TEST

START_TEST(at_the_edge_of_the_range) {
  for (int i = 0; i <= 100; i++) {
    double pressure = LB_REAL_AIR_HIGHEST * fmax(i, 1e-3) / 100;
    compare(pressure, LB_REAL_AIR_COLDEST, &cold);
    compare(pressure, LB_REAL_AIR_HOTTEST, &warm);
    double temperature =
        LB_REAL_AIR_COLDEST + (LB_REAL_AIR_HOTTEST - LB_REAL_AIR_COLDEST) * i / 100;
    compare(LB_REAL_AIR_HIGHEST, temperature, &cold);
  }
}
END_TEST

/* At the end of all pressure air is ideal, and departs from that in proportion to it. */
START_TEST(ideal_limit) {
  const double departure = 2e-7; /* [1/Pa]; twice that of Z at the coldest */
  for (double temperature = LB_REAL_AIR_COLDEST; temperature <= LB_REAL_AIR_HOTTEST;
       temperature += 2.5)
    for (double pressure = 1e3; pressure > 1e-7; pressure /= 10) {
      struct lb_real_state s = state_at(pressure, temperature);
      double off = departure * pressure + EXACT;
      ck_close(s.compressibility, 1, off);
      ck_close_relative(s.density, pressure / (LB_GAS_CONSTANT * temperature), off);
      ck_close_relative(s.enthalpy, LB_CP * temperature, off);
      double ideal = LB_CP * log(temperature / normal) - LB_GAS_CONSTANT * log(pressure / bar);
      ck_close(s.entropy, ideal, 10 * LB_CP * off);
      ck_close_relative(s.isobaric_heat, LB_CP, 4 * off);
      ck_close_relative(s.isochoric_heat, LB_CV, 4 * off);
      ck_close_relative(s.pressure_coefficient, pressure / temperature, 4 * off);
    }
}
END_TEST

static double volume(double pressure, void *temperature) {
  return 1 / state_at(pressure, *(double *)temperature).density;
}

static double heat(double temperature, void *pressure) {
  return state_at(*(double *)pressure, temperature).isobaric_heat;
}

static double heat_over_temperature(double temperature, void *pressure) {
  return heat(temperature, pressure) / temperature;
}

/* The integral of a function, piece by piece between multiples of a unit: its rows are whole
 * kelvins and whole bars apart, and at every row it has a corner, be it in a higher derivative. */
static double integral(double (*function)(double, void *), double fixed, double from, double to,
                       double unit) {
  enum {
    PIECES = 100
  };
  gsl_function f = {function, &fixed};
  gsl_integration_workspace *workspace = gsl_integration_workspace_alloc(PIECES);
  double low = fmin(from, to), high = fmax(from, to), sum = 0;
  while (low < high) {
    double next = fmin((floor(low / unit) + 1) * unit, high), part = (double)NAN, error;
    gsl_integration_qag(&f, low, next, 0, 1e-12, PIECES, GSL_INTEG_GAUSS15, workspace, &part,
                        &error);
    sum += part;
    low = next;
  }
  gsl_integration_workspace_free(workspace);
  return from < to ? sum : -sum;
}

static const double quadrature = 1e-10; /* of cp T */

/* A way at constant temperature: the integral of T ds + v dp, which is the change of h. */
static double isothermal(double temperature, double from, double to) {
  struct lb_real_state a = state_at(from, temperature), b = state_at(to, temperature);
  double sum = temperature * (b.entropy - a.entropy) + integral(volume, temperature, from, to, bar);
  ck_close(b.enthalpy - a.enthalpy, sum, quadrature * LB_CP * temperature);
  return sum;
}

/* A way at constant pressure: the same, T ds being cp dT. */
static double isobaric(double pressure, double from, double to) {
  struct lb_real_state a = state_at(pressure, from), b = state_at(pressure, to);
  double sum = integral(heat, pressure, from, to, 1);
  ck_close(b.enthalpy - a.enthalpy, sum, quadrature * LB_CP * (from + to));
  ck_close(b.entropy - a.entropy, integral(heat_over_temperature, pressure, from, to, 1),
           quadrature * LB_CP);
  return sum;
}

/* dh = T ds + v dp, along ways of constant temperature and of constant pressure, and so around. */
START_TEST(closed_paths) {
  uint64_t state = 64;
  for (int i = 0; i < support_times(60); i++) {
    double low = support_between(&state, 1e3, 20e5), high = support_between(&state, 1e3, 350e5);
    double cool = support_between(&state, 150, 400), hot = support_between(&state, 150, 400);
    double around = isothermal(cool, low, high) + isobaric(high, cool, hot) +
                    isothermal(hot, high, low) + isobaric(low, hot, cool);
    ck_close(around, 0, quadrature * LB_CP * (cool + hot));
  }
}
END_TEST

/* A pressure and a temperature of the range, at random. */
struct place {
  double pressure, temperature;
};

static struct place any_place(uint64_t *state) {
  return (struct place){.pressure = LB_REAL_AIR_HIGHEST * pow(10, support_between(state, -6, 0)),
                        .temperature =
                            support_between(state, LB_REAL_AIR_COLDEST, LB_REAL_AIR_HOTTEST)};
}

START_TEST(pressure_is_the_inverse_of_density) {
  uint64_t state = 65;
  for (int i = 0; i < support_times(20000); i++) {
    struct place at = any_place(&state);
    if (i % 4 == 0) /* where Z is steep */
      at = (struct place){support_between(&state, 30e5, 90e5), support_between(&state, 150, 160)};
    double density = state_at(at.pressure, at.temperature).density;
    double guess[] = {0, at.pressure * (1 + 1e-4), any_place(&state).pressure, 1e9};
    for (int k = 0; k < 4; k++) {
      double found = guess[k];
      ck_assert_int_eq(lb_real_air_pressure(&found, air, density, at.temperature, NULL), LB_OK);
      ck_close_relative(found, at.pressure, IDENTITY);
    }
  }
}
END_TEST

/* The slopes that a state tells are those of the inverse. */
START_TEST(slopes_of_the_pressure) {
  const double step = 1e-4; /* relative */
  uint64_t state = 66;
  for (int i = 0; i < support_times(2000); i++) {
    double p = support_between(&state, 1e5, 349e5), t = support_between(&state, 151, 399);
    struct lb_real_state s = state_at(p, t);
    double cooler = 0, warmer = 0, by_kelvin = step * t;
    ck_assert_int_eq(lb_real_air_pressure(&cooler, air, s.density, t - by_kelvin, NULL), LB_OK);
    ck_assert_int_eq(lb_real_air_pressure(&warmer, air, s.density, t + by_kelvin, NULL), LB_OK);
    ck_close_relative((warmer - cooler) / (2 * by_kelvin), s.pressure_coefficient, 1e-5);
    double more = state_at(p * (1 + step), t).compressibility;
    double less = state_at(p * (1 - step), t).compressibility;
    ck_close((more - less) / (2 * step), p * s.compressibility_by_pressure, 1e-6);
  }
}
END_TEST

START_TEST(throttled_keeps_enthalpy) {
  uint64_t state = 67;
  int within = 0;
  for (int i = 0; i < support_times(5000); i++) {
    struct place at = any_place(&state);
    double behind = (double)NAN, to = any_place(&state).pressure;
    if (lb_real_air_throttled(&behind, air, at.pressure, at.temperature, to, NULL) != LB_OK)
      continue;
    within++;
    ck_close(state_at(to, behind).enthalpy, state_at(at.pressure, at.temperature).enthalpy,
             IDENTITY * LB_CP * at.temperature);
    double again = (double)NAN;
    lb_real_air_throttled(&again, air, to, behind, at.pressure, NULL);
    ck_close_relative(again, at.temperature, IDENTITY);
    lb_real_air_throttled(&again, air, at.pressure, at.temperature, at.pressure, NULL);
    ck_close_relative(again, at.temperature, IDENTITY);
  }
  ck_assert_int_gt(within, support_times(5000) / 2);
}
END_TEST

START_TEST(ends_of_the_range_belong_to_it) {
  for (double t = LB_REAL_AIR_COLDEST; t <= LB_REAL_AIR_HOTTEST; t += 0.5) {
    double found = 0, behind = (double)NAN;
    double density = state_at(LB_REAL_AIR_HIGHEST, t).density;
    ck_assert_int_eq(lb_real_air_pressure(&found, air, density, t, NULL), LB_OK);
    ck_close_relative(found, LB_REAL_AIR_HIGHEST, IDENTITY);
    ck_assert(found <= LB_REAL_AIR_HIGHEST);
    ck_assert_int_eq(lb_real_air_throttled(&behind, air, 1e5, t, 1e5, NULL), LB_OK);
    ck_close_relative(behind, t, EXACT);
  }
}
END_TEST

/* Questions without an answer, and what is said of them. */
static const struct outside {
  double pressure, temperature; /* or density when negative: minus it [kg/m3] */
  double behind;                /* pressure behind a throttle, 0 for none */
  const char *text;
} outside[] = {
    {360e5, 293.15, 0,
     "air of 360 bar absolute and 20 degC is outside what is known of it; a pressure above 0 up to "
     "350 bar absolute and -123.15 ... 126.85 degC would do"},
    {0, 293.15, 0,
     "air of 0 bar absolute and 20 degC is outside what is known of it; a pressure above 0 up to "
     "350 bar absolute and -123.15 ... 126.85 degC would do"},
    {8e5, 140, 0,
     "air of 8 bar absolute and -133.15 degC is outside what is known of it; a pressure above 0 up "
     "to 350 bar absolute and -123.15 ... 126.85 degC would do"},
    {8e5, 400.15, 0,
     "air of 8 bar absolute and 127 degC is outside what is known of it; a pressure above 0 up to "
     "350 bar absolute and -123.15 ... 126.85 degC would do"},
    {300e5, 293.15, 351e5,
     "air of 351 bar absolute and 20 degC is outside what is known of it; a pressure above 0 up to "
     "350 bar absolute and -123.15 ... 126.85 degC would do"},
    {200e5, 173.15, 1e5,
     "air of 200 bar absolute and -100 degC would be colder than -123.15 degC behind a throttle to "
     "1 bar absolute, outside what is known of it; warmer air would do"},
    {1e5, 399.15, 200e5,
     "air of 1 bar absolute and 126 degC would be hotter than 126.85 degC behind a throttle to 200 "
     "bar absolute, outside what is known of it; cooler air would do"},
    {-500, 293.15, 0,
     "air of 500 kg/m3 at 20 degC would be above 350 bar absolute, the most that is known of it; "
     "up "
     "to 360.7 kg/m3 would do"},
    {-10, 140, 0,
     "air of 10 kg/m3 at -133.15 degC is asked for; a density above 0 and -123.15 ... 126.85 degC "
     "would do"},
};

START_TEST(outside_the_range) {
  const struct outside *o = &outside[_i];
  struct lb_error error = {0};
  struct lb_real_state state = {.compressibility = 7};
  double answer = 7;
  enum lb_status status =
      o->pressure < 0 ? lb_real_air_pressure(&answer, air, -o->pressure, o->temperature, &error)
      : o->behind > 0
          ? lb_real_air_throttled(&answer, air, o->pressure, o->temperature, o->behind, &error)
          : lb_real_air_state(&state, air, o->pressure, o->temperature, &error);
  ck_assert_int_eq(status, LB_NO_ANSWER);
  ck_assert_int_eq(error.status, LB_NO_ANSWER);
  ck_assert_str_eq(error.text, o->text);
  ck_assert(answer == 7 && state.compressibility == 7);
}
END_TEST

START_TEST(not_a_number) {
  struct lb_real_state state;
  double nan = (double)NAN, answer = 7;
  ck_assert_int_eq(lb_real_air_state(&state, air, nan, 300, NULL), LB_NO_ANSWER);
  ck_assert_int_eq(lb_real_air_state(&state, air, 1e5, nan, NULL), LB_NO_ANSWER);
  ck_assert_int_eq(lb_real_air_pressure(&answer, air, nan, 300, NULL), LB_NO_ANSWER);
  ck_assert_int_eq(lb_real_air_pressure(&answer, air, 1, nan, NULL), LB_NO_ANSWER);
  ck_assert_int_eq(lb_real_air_throttled(&answer, air, 1e5, 300, nan, NULL), LB_NO_ANSWER);
  ck_assert_int_eq(lb_real_air_pressure(&answer, air, 0, 300, NULL), LB_NO_ANSWER);
  ck_assert_int_eq(lb_real_air_pressure(&answer, air, -1, 300, NULL), LB_NO_ANSWER);
  ck_assert(answer == 7);
}
END_TEST

START_TEST(nothing_to_free) {
  lb_real_air_free(NULL);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("real air");
  TCase *equation = tcase_create("equation");
  tcase_add_checked_fixture(equation, set_up, tear_down);
  tcase_add_test(equation, off_the_nodes);
  tcase_add_test(equation, off_the_nodes_where_it_is_used);
  tcase_add_test(equation, off_the_nodes_in_the_cold);
  tcase_add_test(equation, at_the_edge_of_the_range);
  suite_add_tcase(suite, equation);
  TCase *laws = tcase_create("laws");
  tcase_add_checked_fixture(laws, set_up, tear_down);
  tcase_add_test(laws, ideal_limit);
  tcase_add_test(laws, closed_paths);
  tcase_add_test(laws, pressure_is_the_inverse_of_density);
  tcase_add_test(laws, slopes_of_the_pressure);
  tcase_add_test(laws, throttled_keeps_enthalpy);
  suite_add_tcase(suite, laws);
  TCase *range = tcase_create("range");
  tcase_add_checked_fixture(range, set_up, tear_down);
  tcase_add_test(range, ends_of_the_range_belong_to_it);
  tcase_add_loop_test(range, outside_the_range, 0, sizeof outside / sizeof outside[0]);
  tcase_add_test(range, not_a_number);
  tcase_add_test(range, nothing_to_free);
  suite_add_tcase(suite, range);
  return support_run(suite, (Suite *)NULL);
}
