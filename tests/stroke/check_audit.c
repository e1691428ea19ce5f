/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The audit term by term, each in a machine simple enough for a closed form, so that two errors
 * cannot hide in a sum that closes; then the sum, the signs and the scaling of random machines.
 *
 * All closed forms are for one cap-end chamber on a yoke. R, cp, gamma: those of air; p_a, T_a the
 * surroundings, p_s, T_s the supply, p_e in the exhaust; V_d the dead volume, V the greatest one.
 */
#include "stroke/audit.h"

#include "base/constants.h"
#include "random_machine.h"
#include "stroke/cycle.h"
#include "stroke/timing.h"
#include "support.h"

static const double degree = LB_PI / 180, full_turn = 2 * LB_PI;
static const double gas_constant = LB_GAS_CONSTANT, cp = LB_CP, gamma_air = LB_GAMMA;

/* A machine, how it is cut off, and what comes of it. */
struct run {
  struct lb_machine m;
  double cutoff[LB_ENDS];
  struct lb_revolution r;
  struct lb_audit a;
  double dead, full; /* V_d, V [m3] */
  double unit;       /* p_s V [J], the measure of rounding */
};

/* Full admission at 5 bar above the surroundings, no dead volume. */
static struct run plain(double exponent) {
  struct run run = {.cutoff = {LB_PI, LB_PI}};
  struct lb_machine *m = &run.m;
  lb_machine_defaults(m);
  m->works[LB_ROD_END] = false;
  m->bore = 0.05;
  m->supply_pressure = m->ambient_pressure + 5e5;
  m->expansion_exponent = m->compression_exponent = exponent;
  ck_assert_int_eq(lb_linkage_init(&m->linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  return run;
}

static void go(struct run *run) {
  const struct lb_machine *m = &run->m;
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_turn(&run->r, cycle, run->cutoff, NULL), LB_OK);
  lb_audit_revolution(&run->a, cycle, &run->r);
  lb_cycle_free(cycle);
  run->dead = m->dead_volume[LB_CAP_END];
  run->full = run->dead + LB_PI / 4 * m->bore * m->bore * m->linkage.stroke;
  run->unit = m->supply_pressure * run->full;
  ck_close(run->a.closure, 0, IDENTITY);
}

static const struct lb_turn *cap_end(const struct run *run) {
  return &run->r.end[LB_CAP_END].turn;
}

static double volume_at(const struct run *run, double angle) {
  return run->m.dead_volume[LB_CAP_END] +
         LB_PI / 4 * run->m.bore * run->m.bore * run->m.linkage.stroke / 2 * (1 - cos(angle));
}

/* Cut off so that the air reaches a pressure at the far dead centre. */
static void expand_to(struct run *run, double pressure) {
  const struct lb_machine *m = &run->m;
  double full = volume_at(run, LB_PI);
  double volume = full * pow(pressure / m->supply_pressure, 1 / m->expansion_exponent);
  run->cutoff[LB_CAP_END] = lb_timing_angle(m, LB_CAP_END, volume);
}

/* Entropy [J/(kg K)] and flow exergy [J/kg] against the surroundings. */
static double entropy(const struct run *run, double t, double p) {
  return cp * log(t / run->m.ambient_temperature) - gas_constant * log(p / run->m.ambient_pressure);
}

static double exergy(const struct run *run, double t, double p) {
  double t_a = run->m.ambient_temperature;
  return cp * (t - t_a) - t_a * entropy(run, t, p);
}

static double mass(double p, double v, double t) {
  return p * v / (gas_constant * t);
}

/* The terms a machine should show [J]; crank is the work, friction none. */
struct terms {
  double filling, pushed_back, blow_down, heat, exhaust;
};

static void expect(const struct run *run, double supplied, double crank, struct terms t) {
  double tolerance = IDENTITY * run->unit;
  ck_close(run->a.supplied, supplied, tolerance);
  ck_close(run->a.crank, crank, tolerance);
  ck_close(run->a.friction, 0, tolerance);
  ck_close(run->a.filling, t.filling, tolerance);
  ck_close(run->a.pushed_back, t.pushed_back, tolerance);
  ck_close(run->a.blow_down, t.blow_down, tolerance);
  ck_close(run->a.heat, t.heat, tolerance);
  ck_close(run->a.exhaust, t.exhaust, tolerance);
}

/* Isothermal throttling of what leaves a volume, integral of ln(p/p_e) V dp from p_e to p_s. */
static double isothermal_blow(double volume, double p_s, double p_e) {
  return volume * (p_s * log(p_s / p_e) - p_s + p_e);
}

/* Full admission at T_a: the air is worth p_s V ln(p_s/p_a), the crank gets (p_s - p_e) V, and the
 * rest is destroyed at release; what leaves is worth R T_a ln(p_e/p_a). */
START_TEST(isothermal_blow_down) {
  const double back[] = {1, 0.6, 2.5};
  for (int i = 0; i < 3; i++) {
    struct run run = plain(1);
    run.m.back_pressure = back[i] * run.m.ambient_pressure;
    go(&run);
    double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, p_e = run.m.back_pressure;
    expect(&run, p_s * run.full * log(p_s / p_a), (p_s - p_e) * run.full,
           (struct terms){.blow_down = isothermal_blow(run.full, p_s, p_e),
                          .exhaust = p_s * run.full * log(p_e / p_a)});
  }
}
END_TEST

/* Expansion to p_a at the temperature T_s: with T_s = T_a the crank gets everything. Otherwise the
 * heat Q = p_s V_c ln(p_s/p_a) comes in at T_s and brings (1 - T_a/T_s) Q; the air leaves as warm
 * as it came. */
START_TEST(isothermal_expansion_to_the_surroundings) {
  const double warmer[] = {0, 60, -40};
  for (int i = 0; i < 3; i++) {
    struct run run = plain(1);
    double t_a = run.m.ambient_temperature, t_s = t_a + warmer[i];
    run.m.supply_temperature = t_s;
    expand_to(&run, run.m.ambient_pressure);
    go(&run);
    double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
    double drawn = mass(p_a, run.full, t_s), heat = drawn * gas_constant * t_s * log(p_s / p_a);
    expect(
        &run, drawn * exergy(&run, t_s, p_s), heat,
        (struct terms){.heat = -(1 - t_a / t_s) * heat, .exhaust = drawn * exergy(&run, t_s, p_a)});
  }
}
END_TEST

/* Without heat the air leaves at T_2 = T_s (p_a/p_s)^((gamma-1)/gamma): crank m cp (T_s - T_2), and
 * a cold exhaust. */
START_TEST(adiabatic_expansion_to_the_surroundings) {
  const double warmer[] = {0, 60, -40};
  for (int i = 0; i < 3; i++) {
    struct run run = plain(LB_GAMMA);
    double t_s = run.m.ambient_temperature + warmer[i];
    run.m.supply_temperature = t_s;
    expand_to(&run, run.m.ambient_pressure);
    go(&run);
    double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
    double t_2 = t_s * pow(p_a / p_s, (gamma_air - 1) / gamma_air);
    double drawn = mass(p_a, run.full, t_2);
    expect(&run, drawn * exergy(&run, t_s, p_s), drawn * cp * (t_s - t_2),
           (struct terms){.exhaust = drawn * exergy(&run, t_2, p_a)});
  }
}
END_TEST

/* Between, each kelvin takes c = cv (n - gamma)/(n - 1) of heat at the gas's own temperature:
 * integral (1 - T_a/T) m c dT received, crank m n/(n-1) R (T_s - T_2). */
START_TEST(heat_of_a_polytropic_expansion) {
  const double n = 1.2;
  struct run run = plain(n);
  expand_to(&run, run.m.ambient_pressure);
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
  double t_s = run.m.supply_temperature, t_a = run.m.ambient_temperature;
  double t_2 = t_s * pow(p_a / p_s, (n - 1) / n), drawn = mass(p_a, run.full, t_2);
  double c = gas_constant / (gamma_air - 1) * (n - gamma_air) / (n - 1);
  expect(&run, drawn * exergy(&run, t_s, p_s), drawn * n / (n - 1) * gas_constant * (t_s - t_2),
         (struct terms){.heat = -drawn * c * (t_2 - t_s - t_a * log(t_2 / t_s)),
                        .exhaust = drawn * exergy(&run, t_2, p_a)});
}
END_TEST

/* Simpson's rule over pressure for what a vessel gives off without heat while it falls from p_1 to
 * p_2, m = m_1 (p/p_1)^(1/gamma), T = T_1 (p/p_1)^((gamma-1)/gamma): each parcel is throttled to
 * p_2 and leaves at its own T. `destroyed` integral T_a R ln(p/p_2) dm, `left` integral e(T, p_2)
 * dm. */
static void isentropic_blow(const struct run *run, double m_1, double t_1, double p_1, double p_2,
                            double *destroyed, double *left) {
  enum {
    STEPS = 4000
  };
  double step = log(p_1 / p_2) / STEPS, d = 0, l = 0;
  for (int i = 0; i <= STEPS; i++) {
    double weight = i == 0 || i == STEPS ? 1 : i % 2 ? 4 : 2, p = p_2 * exp(i * step);
    double flow = m_1 * pow(p / p_1, 1 / gamma_air) / gamma_air; /* dm/d ln p */
    double t = t_1 * pow(p / p_1, (gamma_air - 1) / gamma_air);
    d += weight * flow * run->m.ambient_temperature * gas_constant * log(p / p_2);
    l += weight * flow * exergy(run, t, p_2);
  }
  *destroyed = d * step / 3;
  *left = l * step / 3;
}

/* Full admission without heat: the residue m_2 = m_1 (p_e/p_s)^(1/gamma) is pushed out at T_2. */
START_TEST(adiabatic_blow_down) {
  const double back[] = {1, 0.6, 2.5};
  for (int i = 0; i < 3; i++) {
    struct run run = plain(LB_GAMMA);
    run.m.back_pressure = back[i] * run.m.ambient_pressure;
    run.m.supply_temperature = run.m.ambient_temperature + 30;
    go(&run);
    double p_s = run.m.supply_pressure, p_e = run.m.back_pressure, t_s = run.m.supply_temperature;
    double drawn = mass(p_s, run.full, t_s), destroyed, left;
    isentropic_blow(&run, drawn, t_s, p_s, p_e, &destroyed, &left);
    double t_2 = t_s * pow(p_e / p_s, (gamma_air - 1) / gamma_air);
    double rest = mass(p_e, run.full, t_2) * exergy(&run, t_2, p_e);
    expect(&run, drawn * exergy(&run, t_s, p_s), (p_s - p_e) * run.full,
           (struct terms){.blow_down = destroyed, .exhaust = left + rest});
  }
}
END_TEST

/* A dead volume that is not recompressed fills from p_a at T_a, each parcel throttled from p_s to
 * p: integral ln(p_s/p) V_d dp. */
START_TEST(filling_of_the_dead_volume) {
  struct run run = plain(1);
  run.m.dead_volume[LB_CAP_END] = 4e-5;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
  double drawn_pv = p_s * run.full - p_a * run.dead; /* m R T_a */
  expect(&run, drawn_pv * log(p_s / p_a), (p_s - p_a) * (run.full - run.dead),
         (struct terms){.filling = run.dead * (p_s - p_a - p_a * log(p_s / p_a)),
                        .blow_down = isothermal_blow(run.full, p_s, p_a)});
}
END_TEST

/* A late inlet on a chamber without dead volume fills V_o from nothing. At T_a: Q = -p_s V_o, and
 * T_a S = p_s V_o. */
START_TEST(isothermal_filling_from_nothing) {
  struct run run = plain(1);
  run.m.timing[LB_CAP_END].inlet_opens = 40 * degree;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
  double opening = volume_at(&run, 40 * degree);
  expect(
      &run, p_s * run.full * log(p_s / p_a), p_s * (run.full - opening) - p_a * run.full,
      (struct terms){.filling = p_s * opening, .blow_down = isothermal_blow(run.full, p_s, p_a)});
}
END_TEST

/* Mass and temperature at V after V_o filled from nothing without heat, to gamma T_s, and admission
 * mixed in at p_s. */
static double filled_mass(const struct run *run, double opening, double *temperature) {
  double p_s = run->m.supply_pressure, t_s = run->m.supply_temperature;
  double held = mass(p_s, opening, gamma_air * t_s) + mass(p_s, run->full - opening, t_s);
  *temperature = p_s * run->full / (gas_constant * held);
  return held;
}

/* Without heat filling and mixing together take air from T_s to T_c at p_s: T_a m cp ln(T_c/T_s).
 */
START_TEST(adiabatic_filling_and_mixing) {
  struct run run = plain(LB_GAMMA);
  run.m.timing[LB_CAP_END].inlet_opens = 40 * degree;
  run.m.supply_temperature = run.m.ambient_temperature - 20;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, t_s = run.m.supply_temperature;
  double opening = volume_at(&run, 40 * degree), t_c, destroyed, left;
  double drawn = filled_mass(&run, opening, &t_c);
  isentropic_blow(&run, drawn, t_c, p_s, p_a, &destroyed, &left);
  double t_2 = t_c * pow(p_a / p_s, (gamma_air - 1) / gamma_air);
  expect(&run, drawn * exergy(&run, t_s, p_s), p_s * (run.full - opening) - p_a * run.full,
         (struct terms){.filling = run.m.ambient_temperature * drawn * cp * log(t_c / t_s),
                        .blow_down = destroyed,
                        .exhaust = left + mass(p_a, run.full, t_2) * exergy(&run, t_2, p_a)});
}
END_TEST

/* The same, shut after the far dead centre: p_s (V - V_c)/(R T_c) goes back at T_c. */
START_TEST(push_back_after_the_far_dead_centre) {
  struct run run = plain(LB_GAMMA);
  struct lb_timing *t = &run.m.timing[LB_CAP_END];
  t->inlet_opens = 40 * degree;
  run.cutoff[LB_CAP_END] = t->release = 230 * degree;
  run.m.supply_temperature = run.m.ambient_temperature + 25;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, t_s = run.m.supply_temperature;
  double opening = volume_at(&run, 40 * degree), shut = volume_at(&run, 230 * degree), t_c;
  double held = filled_mass(&run, opening, &t_c), back = mass(p_s, run.full - shut, t_c);
  double destroyed, left;
  isentropic_blow(&run, held - back, t_c, p_s, p_a, &destroyed, &left);
  double t_2 = t_c * pow(p_a / p_s, (gamma_air - 1) / gamma_air);
  expect(&run, (held - back) * exergy(&run, t_s, p_s), p_s * (shut - opening) - p_a * shut,
         (struct terms){.filling = run.m.ambient_temperature * held * cp * log(t_c / t_s),
                        .pushed_back = back * (exergy(&run, t_c, p_s) - exergy(&run, t_s, p_s)),
                        .blow_down = destroyed,
                        .exhaust = left + mass(p_a, shut, t_2) * exergy(&run, t_2, p_a)});
}
END_TEST

/* Lead, and the exhaust closing where the inlet opens, at V_o > V_d: V_o fills from p_a, T_e to
 * T_f, then p_s (V_o - V_d)/(R T_f) goes back. */
START_TEST(push_back_with_lead) {
  struct run run = plain(LB_GAMMA);
  struct lb_timing *t = &run.m.timing[LB_CAP_END];
  t->inlet_opens = -50 * degree;
  t->exhaust_closes = full_turn - 50 * degree;
  run.m.dead_volume[LB_CAP_END] = 3e-5;
  run.m.supply_temperature = run.m.ambient_temperature + 25;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, t_s = run.m.supply_temperature;
  double t_a = run.m.ambient_temperature, t_e = cap_end(&run)->exhaust_temperature;
  double opening = volume_at(&run, 50 * degree), trapped = mass(p_a, opening, t_e);
  double added = opening * (p_s - p_a) / (gamma_air * gas_constant * t_s), m_f = trapped + added;
  double t_f = p_s * opening / (gas_constant * m_f), back = mass(p_s, opening - run.dead, t_f);
  double kept = m_f - back, admitted = mass(p_s, run.full - run.dead, t_s);
  double t_c = p_s * run.full / (gas_constant * (kept + admitted));
  double filling = m_f * entropy(&run, t_f, p_s) - trapped * entropy(&run, t_e, p_a) -
                   added * entropy(&run, t_s, p_s);
  double mixing = cp * (kept * log(t_c / t_f) + admitted * log(t_c / t_s));
  ck_close_relative(cap_end(&run)->cutoff_temperature, t_c, IDENTITY);
  ck_close(run.a.filling, t_a * (filling + mixing), IDENTITY * run.unit);
  ck_close(run.a.pushed_back, back * (exergy(&run, t_f, p_s) - exergy(&run, t_s, p_s)),
           IDENTITY * run.unit);
  ck_close(run.a.heat, 0, IDENTITY * run.unit);
  ck_close(run.a.supplied, (added + admitted - back) * exergy(&run, t_s, p_s), IDENTITY * run.unit);
}
END_TEST

/* Exhaust shut so early that V_d is above supply pressure when the inlet opens. At T_a what blows
 * back is worth as much as supply air; what its throttling destroys counts as filling. */
START_TEST(isothermal_blow_back) {
  struct run run = plain(1);
  run.m.dead_volume[LB_CAP_END] = 1e-5;
  run.m.timing[LB_CAP_END].exhaust_closes = 250 * degree;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
  double closing = volume_at(&run, 250 * degree), p_1 = p_a * closing / run.dead;
  ck_assert_double_gt(p_1, p_s);
  double crank = p_s * (run.full - run.dead) - p_a * (run.full - closing) -
                 p_a * closing * log(closing / run.dead);
  expect(&run, (p_s * run.full - p_a * closing) * log(p_s / p_a), crank,
         (struct terms){.filling = isothermal_blow(run.dead, p_1, p_s),
                        .blow_down = isothermal_blow(run.full, p_s, p_a)});
}
END_TEST

/* Without heat each parcel goes back warmer than the supply. */
START_TEST(adiabatic_blow_back) {
  struct run run = plain(LB_GAMMA);
  run.m.dead_volume[LB_CAP_END] = 2e-5;
  run.m.timing[LB_CAP_END].exhaust_closes = 250 * degree;
  go(&run);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, t_s = run.m.supply_temperature;
  double t_a = run.m.ambient_temperature, closing = volume_at(&run, 250 * degree);
  double t_e = cap_end(&run)->exhaust_temperature, trapped = mass(p_a, closing, t_e);
  double p_1 = p_a * pow(closing / run.dead, gamma_air), destroyed, left;
  double t_1 = t_e * pow(closing / run.dead, gamma_air - 1);
  ck_assert_double_gt(p_1, p_s);
  isentropic_blow(&run, trapped, t_1, p_1, p_s, &destroyed, &left);
  double kept = trapped * pow(p_s / p_1, 1 / gamma_air),
         admitted = mass(p_s, run.full - run.dead, t_s);
  double t_f = p_s * run.dead / (gas_constant * kept);
  double t_c = p_s * run.full / (gas_constant * (kept + admitted));
  double mixing = t_a * cp * (kept * log(t_c / t_f) + admitted * log(t_c / t_s));
  double tolerance = IDENTITY * run.unit;
  ck_close(run.a.filling, destroyed + mixing, tolerance);
  ck_close(run.a.pushed_back, left - (trapped - kept) * exergy(&run, t_s, p_s), tolerance);
  ck_close(run.a.supplied, (admitted - trapped + kept) * exergy(&run, t_s, p_s), tolerance);
  ck_close(run.a.heat, 0, tolerance);
}
END_TEST

/* Release below p_e at T_a: outside air throttled in, integral ln(p_e/p) V dp from p_r to p_e; it
 * enters worth R T_a ln(p_e/p_a) and leaves so. */
START_TEST(isothermal_release_below_the_surroundings) {
  const double back[] = {1, 0.7, 1.8};
  for (int i = 0; i < 3; i++) {
    struct run run = plain(1);
    double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, p_e = back[i] * p_a;
    double p_r = 0.6 * p_e;
    run.m.back_pressure = p_e;
    expand_to(&run, p_r);
    go(&run);
    expect(&run, p_r * run.full * log(p_s / p_a),
           p_r * run.full * (1 + log(p_s / p_r)) - p_e * run.full,
           (struct terms){.blow_down = run.full * (p_e - p_r - p_r * log(p_e / p_r)),
                          .exhaust = p_r * run.full * log(p_e / p_a)});
  }
}
END_TEST

/* Without heat the cold rest m_1, T_r and outside air V (p_a - p_r)/(gamma R T_a) come to p_a and
 * one temperature. */
START_TEST(adiabatic_release_below_the_surroundings) {
  struct run run = plain(LB_GAMMA);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure, p_r = 0.6 * p_a;
  double t_a = run.m.ambient_temperature, t_s = run.m.supply_temperature;
  expand_to(&run, p_r);
  go(&run);
  double t_r = t_s * pow(p_r / p_s, (gamma_air - 1) / gamma_air), drawn = mass(p_r, run.full, t_r);
  double outside = run.full * (p_a - p_r) / (gamma_air * gas_constant * t_a);
  double t_2 = p_a * run.full / (gas_constant * (drawn + outside));
  double made = (drawn + outside) * entropy(&run, t_2, p_a) - drawn * entropy(&run, t_r, p_r);
  expect(&run, drawn * exergy(&run, t_s, p_s), drawn * cp * (t_s - t_r) - (p_a - p_r) * run.full,
         (struct terms){.blow_down = t_a * made,
                        .exhaust = (drawn + outside) * exergy(&run, t_2, p_a)});
}
END_TEST

/* Expanded to p_a before the far dead centre: while the chamber grows on, outside air is drawn in
 * and mixes, T_a cp (m ln(T_e/T_r) + m_o ln(T_e/T_a)). */
START_TEST(outside_air_after_an_early_release) {
  struct run run = plain(LB_GAMMA);
  double p_s = run.m.supply_pressure, p_a = run.m.ambient_pressure;
  double t_a = run.m.ambient_temperature, t_s = run.m.supply_temperature;
  double release = volume_at(&run, 120 * degree);
  double shut = release * pow(p_a / p_s, 1 / gamma_air);
  run.m.timing[LB_CAP_END].release = 120 * degree;
  run.cutoff[LB_CAP_END] = lb_timing_angle(&run.m, LB_CAP_END, shut);
  go(&run);
  double t_r = t_s * pow(p_a / p_s, (gamma_air - 1) / gamma_air), drawn = mass(p_a, release, t_r);
  double outside = mass(p_a, run.full - release, t_a);
  double t_e = p_a * run.full / (gas_constant * (drawn + outside));
  expect(&run, drawn * exergy(&run, t_s, p_s), drawn * cp * (t_s - t_r),
         (struct terms){.blow_down = t_a * cp * (drawn * log(t_e / t_r) + outside * log(t_e / t_a)),
                        .exhaust = (drawn + outside) * exergy(&run, t_e, p_a)});
}
END_TEST

/* The exhaust closes after the near dead centre: outside air mixes into the cold rest in V_d. */
START_TEST(outside_air_before_a_late_closing) {
  struct run run = plain(LB_GAMMA);
  struct lb_timing *t = &run.m.timing[LB_CAP_END];
  run.m.dead_volume[LB_CAP_END] = 3e-5;
  t->inlet_opens = 40 * degree;
  t->exhaust_closes = full_turn + 30 * degree;
  expand_to(&run, run.m.ambient_pressure);
  go(&run);
  double p_a = run.m.ambient_pressure, t_a = run.m.ambient_temperature;
  double t_e = cap_end(&run)->exhaust_temperature, closing = volume_at(&run, 30 * degree);
  double rest = mass(p_a, run.dead, t_e), outside = mass(p_a, closing - run.dead, t_a);
  double t_k = p_a * closing / (gas_constant * (rest + outside));
  double leaving = mass(p_a, run.full - run.dead, t_e);
  ck_close(run.a.blow_down, t_a * cp * (rest * log(t_k / t_e) + outside * log(t_k / t_a)),
           IDENTITY * run.unit);
  ck_close(run.a.exhaust, leaving * exergy(&run, t_e, p_a), IDENTITY * run.unit);
}
END_TEST

/* Constant friction is 2 S F a cylinder, a share of the force F over both strokes: with full
 * admission |net| is (p_s - p_a) A outward and nothing inward. */
START_TEST(friction_is_its_own_term) {
  struct run run = plain(1);
  const double constant = 25, share = 0.1;
  run.m.cylinders = 3;
  run.m.friction = constant;
  run.m.friction_share = share;
  go(&run);
  double gross = (run.m.supply_pressure - run.m.ambient_pressure) * run.full;
  double friction = 3 * (2 * run.m.linkage.stroke * constant + share * gross);
  ck_close_relative(run.a.friction, friction, IDENTITY);
  ck_close_relative(run.a.crank, 3 * gross - friction, IDENTITY);
  ck_close_relative(run.a.blow_down,
                    3 * isothermal_blow(run.full, run.m.supply_pressure, run.m.ambient_pressure),
                    IDENTITY);
}
END_TEST

/* Audit a machine at its own cut-offs; false when unequal exponents leave no revolution. */
static bool audit(const struct lb_machine *m, struct lb_revolution *r, struct lb_audit *a) {
  double cutoff[LB_ENDS];
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
  random_machine_cutoff(cutoff, m);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  bool turned = lb_cycle_turn(r, cycle, cutoff, NULL) == LB_OK;
  if (turned)
    lb_audit_revolution(a, cycle, r);
  lb_cycle_free(cycle);
  return turned;
}

/* Nothing is made from nothing: what filling and release destroy is never negative where the law is
 * one of a gas with a heat bath (n = 1) or none (gamma); without heat there is no heat. */
static void check_signs(const struct lb_machine *m, const struct lb_audit *a, double rounding) {
  if (machine_is(m, CASE_ISOTHERMAL) || machine_is(m, CASE_ADIABATIC)) {
    ck_assert_double_ge(a->filling, -rounding);
    ck_assert_double_ge(a->blow_down, -rounding);
  }
  if (machine_is(m, CASE_ADIABATIC))
    ck_close(a->heat, 0, rounding);
}

START_TEST(audit_of_random_machines_closes) {
  uint64_t state = 321;
  struct tally tally = {{0}};
  int audited = 0;
  for (int i = 0; audited < 1000; i++) {
    struct lb_machine m;
    struct lb_revolution r;
    struct lb_audit a;
    ck_assert_int_lt(i, 1300); /* refused for their exponents */
    random_machine(&m, &state);
    if (!audit(&m, &r, &a))
      continue;
    double scale = fmax(fabs(a.supplied), fabs(a.exhaust));
    double sum =
        a.crank + a.friction + a.filling + a.pushed_back + a.blow_down + a.heat + a.exhaust;
    double gross = m.supply_pressure * lb_machine_swept_volume(&m);
    ck_close(a.closure, 0, 1e-12);
    ck_close(sum, a.supplied, 1e-9 * fmax(scale, gross));
    ck_close(a.crank, r.work, 0);
    ck_close(a.friction, r.friction_work, 0);
    check_signs(&m, &a, 1e-12 * fmax(scale, gross));
    tally_add(&tally, &m);
    audited++;
  }
  tally_require(&tally, 15);
}
END_TEST

/* The same machine twice as long in every direction. */
static struct lb_machine doubled(const struct lb_machine *machine) {
  struct lb_machine m = *machine;
  const struct lb_linkage *k = &machine->linkage;
  m.bore *= 2;
  m.rod_diameter *= 2;
  m.through_rod_diameter *= 2;
  m.friction *= 4; /* with the areas */
  for (int i = 0; i < LB_ENDS; i++)
    m.dead_volume[i] *= 8;
  ck_assert_int_eq(
      lb_linkage_init(&m.linkage, k->kind, 2 * k->stroke, 2 * k->length, 2 * k->offset, NULL),
      LB_OK);
  return m;
}

/* Every term is eight times as large. */
START_TEST(audit_scales_with_volume) {
  uint64_t state = 322;
  for (int i = 0; i < 200; i++) {
    struct lb_revolution r;
    struct lb_audit a, b;
    struct lb_machine m;
    random_machine(&m, &state);
    if (!audit(&m, &r, &a))
      continue;
    m = doubled(&m);
    ck_assert(audit(&m, &r, &b));
    double tolerance = IDENTITY * m.supply_pressure * lb_machine_swept_volume(&m);
    ck_close(b.supplied, 8 * a.supplied, tolerance);
    ck_close(b.crank, 8 * a.crank, tolerance);
    ck_close(b.friction, 8 * a.friction, tolerance);
    ck_close(b.filling, 8 * a.filling, tolerance);
    ck_close(b.pushed_back, 8 * a.pushed_back, tolerance);
    ck_close(b.blow_down, 8 * a.blow_down, tolerance);
    ck_close(b.heat, 8 * a.heat, tolerance);
    ck_close(b.exhaust, 8 * a.exhaust, tolerance);
  }
}
END_TEST

static TCase *closed_forms(void) {
  TCase *cases = tcase_create("closed forms");
  tcase_add_test(cases, isothermal_blow_down);
  tcase_add_test(cases, isothermal_expansion_to_the_surroundings);
  tcase_add_test(cases, adiabatic_expansion_to_the_surroundings);
  tcase_add_test(cases, heat_of_a_polytropic_expansion);
  tcase_add_test(cases, adiabatic_blow_down);
  tcase_add_test(cases, filling_of_the_dead_volume);
  tcase_add_test(cases, isothermal_filling_from_nothing);
  tcase_add_test(cases, adiabatic_filling_and_mixing);
  tcase_add_test(cases, push_back_after_the_far_dead_centre);
  tcase_add_test(cases, push_back_with_lead);
  tcase_add_test(cases, isothermal_blow_back);
  tcase_add_test(cases, adiabatic_blow_back);
  tcase_add_test(cases, isothermal_release_below_the_surroundings);
  tcase_add_test(cases, adiabatic_release_below_the_surroundings);
  tcase_add_test(cases, outside_air_after_an_early_release);
  tcase_add_test(cases, outside_air_before_a_late_closing);
  tcase_add_test(cases, friction_is_its_own_term);
  return cases;
}

int main(void) {
  Suite *suite = suite_create("audit");
  TCase *random = tcase_create("random machines");
  tcase_add_test(random, audit_of_random_machines_closes);
  tcase_add_test(random, audit_scales_with_volume);
  suite_add_tcase(suite, closed_forms());
  suite_add_tcase(suite, random);
  return support_run(suite, (Suite *)NULL);
}
