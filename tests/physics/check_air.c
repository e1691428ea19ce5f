/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air against what its formulas are meant to be: integrals, differential equations, inverses, and
 * the limits of their domains.
 */
#include "base/constants.h"
#include "physics/air.h"
#include "support.h"

#include <gsl/gsl_integration.h>

enum {
  MANY = 500
};

/* A polytropic change that can be integrated. */
struct change {
  double pressure, volume, exponent;
};

static double pressure_at(double volume, void *context) {
  const struct change *c = context;
  return c->pressure * pow(c->volume / volume, c->exponent);
}

/* Integral of p dV along p V^n = const. */
static double integral(struct change *c, double to) {
  gsl_function f = {pressure_at, c};
  gsl_integration_workspace *workspace = gsl_integration_workspace_alloc(200);
  double value, error;
  gsl_integration_qag(&f, c->volume, to, 0, 1e-13, 200, GSL_INTEG_GAUSS61, workspace, &value,
                      &error);
  gsl_integration_workspace_free(workspace);
  return value;
}

START_TEST(work_is_the_integral) {
  uint64_t state = 1;
  for (int i = 0; i < MANY; i++) {
    struct change c = {support_between(&state, 1e4, 1e6), support_between(&state, 1e-6, 1e-3),
                       i % 5 ? support_between(&state, -1, 2) : 1};
    double to = c.volume * exp(support_between(&state, -3, 3)), pressure;
    double work = lb_air_polytropic_work(&pressure, c.pressure, c.volume, to, c.exponent);
    ck_close_relative(work, integral(&c, to), IDENTITY);
    ck_close_relative(pressure, pressure_at(to, &c), IDENTITY);
    ck_close_relative(lb_air_polytropic_pressure(c.pressure, c.volume, to, c.exponent), pressure,
                      IDENTITY);
    ck_assert(lb_air_polytropic_work(NULL, c.pressure, c.volume, to, c.exponent) == work);
  }
}
END_TEST

/* There and back: the same pressure, opposite work. */
START_TEST(change_and_back) {
  uint64_t state = 2;
  for (int i = 0; i < MANY; i++) {
    double p = support_between(&state, 1e4, 1e6), v = support_between(&state, 1e-6, 1e-3);
    double to = v * exp(support_between(&state, -3, 3)), n = support_between(&state, 1, 1.67);
    double between, again;
    double out = lb_air_polytropic_work(&between, p, v, to, n);
    double back = lb_air_polytropic_work(&again, between, to, v, n);
    ck_close_relative(again, p, IDENTITY);
    ck_close_relative(back, -out, IDENTITY);
    double warm = lb_air_polytropic_temperature(300, p, between, n);
    ck_close_relative(lb_air_polytropic_temperature(warm, between, p, n), 300, IDENTITY);
    /* the ideal gas holds at both ends */
    ck_close_relative(between * to / warm, p * v / 300, IDENTITY);
  }
}
END_TEST

START_TEST(no_change_no_work) {
  double pressure;
  ck_assert(lb_air_polytropic_work(&pressure, 3e5, 2e-4, 2e-4, 1.3) == 0);
  ck_assert(pressure == 3e5);
  ck_assert(lb_air_polytropic_work(&pressure, 3e5, 2e-4, 2e-4, 1) == 0);
  ck_assert(lb_air_polytropic_work(&pressure, 0, 2e-4, 4e-4, 1.3) == 0);
  ck_assert(pressure == 0);
}
END_TEST

/* Work as a function of n is smooth through 1: with a = ln(V2/V1) its value is p V a and its slope
 * -p V a^2/2 there, from both sides. */
START_TEST(smooth_through_isothermal) {
  const double p = 5e5, v = 1e-4;
  for (double ratio = 0.1; ratio < 20; ratio *= 1.7) {
    double a = log(ratio), isothermal = p * v * a, slope = -p * v * a * a / 2;
    ck_close_relative(lb_air_polytropic_work(NULL, p, v, v * ratio, 1), isothermal, EXACT);
    for (double from = 1e-2; from > 1e-13; from /= 10)
      for (int side = -1; side <= 1; side += 2) {
        double off = lb_air_polytropic_work(NULL, p, v, v * ratio, 1 + side * from);
        double rounded = (1 + side * from) - 1;
        ck_close(off, isothermal + slope * rounded,
                 fabs(isothermal) * (a * a * from * from + EXACT));
      }
  }
}
END_TEST

START_TEST(ideal_works) {
  uint64_t state = 3;
  for (int i = 0; i < MANY; i++) {
    double t = support_between(&state, 200, 500), high = support_between(&state, 1e5, 1e7);
    double low = high * support_between(&state, 0.01, 1.5);
    /* flow work: the integral of V dp of one kilogram is n times that of p dV */
    double v = LB_GAS_CONSTANT * t / high;
    double isothermal = lb_air_polytropic_work(NULL, high, v, v * high / low, 1);
    double isentropic = LB_GAMMA * lb_air_polytropic_work(
                                       NULL, high, v, v * pow(high / low, 1 / LB_GAMMA), LB_GAMMA);
    ck_close_relative(lb_air_isothermal_ideal(t, high, low), isothermal, 1e-11);
    ck_close_relative(lb_air_isentropic_ideal(t, high, low), isentropic, 1e-11);
    double cooled = lb_air_polytropic_temperature(t, high, low, LB_GAMMA);
    ck_close(lb_air_isentropic_ideal(t, high, low), LB_CP * (t - cooled), IDENTITY * LB_CP * t);
    if (low < high)
      ck_assert(lb_air_isentropic_ideal(t, high, low) < lb_air_isothermal_ideal(t, high, low));
  }
  ck_assert(lb_air_isothermal_ideal(300, 2e5, 2e5) == 0);
  ck_assert(lb_air_isentropic_ideal(300, 2e5, 2e5) == 0);
}
END_TEST

START_TEST(free_air) {
  ck_close_relative(lb_air_volume_anr(1.185), 1, EXACT);
  ck_close_relative(lb_air_density(101325, 273.15), 101325 / (287.05 * 273.15), EXACT);
  uint64_t state = 4;
  for (int i = 0; i < MANY; i++) {
    double p = support_between(&state, 5e4, 2e5), t = support_between(&state, 250, 320);
    ck_close_relative(lb_air_volume_at(0.25, p, t) * lb_air_density(p, t), 0.25, EXACT);
  }
}
END_TEST

static double pressure_rise(double height, double h) {
  return (lb_air_pressure_at_height(height + h) - lb_air_pressure_at_height(height - h)) / (2 * h);
}

/* The column stands on itself: dp/dz = -density * gravity at that height. */
START_TEST(atmosphere_is_in_balance) {
  const double earth = 6356766, standard = 9.80665, step = 40;
  const double air = 8314.32 / 28.9644; /* [J/(kg K)] */
  for (double z = -900; z < 10900; z += 47) {
    double geopotential = earth * z / (earth + z);
    double temperature = 288.15 - 6.5e-3 * geopotential;
    double gravity = standard * pow(earth / (earth + z), 2);
    double rise = (4 * pressure_rise(z, step / 2) - pressure_rise(z, step)) / 3;
    ck_close_relative(rise, -lb_air_pressure_at_height(z) / (air * temperature) * gravity, 1e-9);
  }
}
END_TEST

START_TEST(range_of_heights) {
  ck_assert(lb_air_pressure_at_height(0) == 101325);
  ck_assert(isfinite(lb_air_pressure_at_height(-1000)));
  ck_assert(isfinite(lb_air_pressure_at_height(11000)));
  ck_assert(isnan(lb_air_pressure_at_height(-1000.001)));
  ck_assert(isnan(lb_air_pressure_at_height(11000.001)));
  ck_assert(isnan(lb_air_pressure_at_height((double)NAN)));
}
END_TEST

START_TEST(dew_point_inverts_saturation) {
  for (int phase = LB_OVER_WATER; phase <= LB_OVER_ICE; phase++) {
    double last = 0;
    for (double t = 173.15; t <= 373.15; t += 0.25) {
      double pressure = lb_air_saturation_pressure(t, (enum lb_phase)phase);
      ck_close(lb_air_dew_point(pressure, (enum lb_phase)phase), t, 1e-10);
      ck_assert(pressure > last);
      last = pressure;
    }
    ck_close_relative(lb_air_saturation_pressure(273.15, (enum lb_phase)phase), 611.2, EXACT);
  }
}
END_TEST

/* Ice holds its water faster: below freezing it needs less vapour, and frost forms before dew. */
START_TEST(ice_under_water) {
  for (double t = 180; t < 273; t += 1) {
    double ice = lb_air_saturation_pressure(t, LB_OVER_ICE);
    ck_assert(ice < lb_air_saturation_pressure(t, LB_OVER_WATER));
    ck_assert(lb_air_dew_point(ice, LB_OVER_WATER) < t);
  }
}
END_TEST

START_TEST(range_of_saturation) {
  for (int phase = LB_OVER_WATER; phase <= LB_OVER_ICE; phase++) {
    ck_assert(isnan(lb_air_saturation_pressure(173.1, (enum lb_phase)phase)));
    ck_assert(isnan(lb_air_saturation_pressure(373.2, (enum lb_phase)phase)));
    ck_assert(isnan(lb_air_saturation_pressure((double)NAN, (enum lb_phase)phase)));
    ck_assert(isnan(lb_air_dew_point(0, (enum lb_phase)phase)));
    ck_assert(isnan(lb_air_dew_point(-1, (enum lb_phase)phase)));
    ck_assert(isnan(lb_air_dew_point((double)NAN, (enum lb_phase)phase)));
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("air");
  TCase *changes = tcase_create("changes of state");
  tcase_add_test(changes, work_is_the_integral);
  tcase_add_test(changes, change_and_back);
  tcase_add_test(changes, no_change_no_work);
  tcase_add_test(changes, smooth_through_isothermal);
  tcase_add_test(changes, ideal_works);
  tcase_add_test(changes, free_air);
  suite_add_tcase(suite, changes);
  TCase *surroundings = tcase_create("surroundings");
  tcase_add_test(surroundings, atmosphere_is_in_balance);
  tcase_add_test(surroundings, range_of_heights);
  tcase_add_test(surroundings, dew_point_inverts_saturation);
  tcase_add_test(surroundings, ice_under_water);
  tcase_add_test(surroundings, range_of_saturation);
  suite_add_tcase(suite, surroundings);
  return support_run(suite, NULL);
}
