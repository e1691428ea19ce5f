/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cylinders at speed: the same equations, written again in mass and internal energy, integrated by
 * an explicit method of order eight until they repeat themselves; limits towards the slow cycle,
 * with the order in speed that is seen; mass that is kept; leaks that cost what they must.
 */
#include "stroke/gas_exchange.h"

#include "base/constants.h"
#include "machine_text.h"
#include "random_machine.h"
#include "stroke/cycle.h"
#include "stroke/timing.h"
#include "support.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <stdio.h>
#include <string.h>

enum {
  REVOLUTIONS = 400, /* at most until the reference repeats itself */
  BENDS_MOST = 20
};
static const double rpm = 2 * LB_PI / 60;

/* ---------- the reference ---------- */

/* One cylinder in m and U of both ends, with W, air in and air out of both. */
struct reference {
  const struct lb_machine *machine;
  double cutoff[LB_ENDS], speed;
  double middle;           /* [rad] an angle within the segment, for what jumps at its ends */
  double release[LB_ENDS]; /* [Pa] at which the exhaust opened in the last revolution */
};

enum {
  SIZE = 5 * LB_ENDS
};

static double flow_curve(double ratio, double b, double m) {
  if (ratio <= b)
    return 1;
  if (ratio > 0.999)
    return flow_curve(0.999, b, m) * (1 - ratio) * 1000;
  return pow(1 - pow((ratio - b) / (1 - b), 2), m);
}

/* Mass per second from side 1 to side 2, and the enthalpy it brings. */
static double pass(const struct lb_flow *f, double share, double p1, double t1, double p2,
                   double t2, double *enthalpy) {
  double up = fmax(p1, p2), down = fmin(p1, p2), t = p1 >= p2 ? t1 : t2;
  double mass = share * f->conductance * 1.185 * up * sqrt(293.15 / t) *
                flow_curve(down / up, f->critical_ratio, f->subsonic_index);
  mass = p1 >= p2 ? mass : -mass;
  *enthalpy = mass * 1004.675 * t;
  return mass;
}

static double how_open(double angle, double opens, double shuts, double ramp, double middle) {
  double since = remainder(middle - opens, 2 * LB_PI);
  since += since < 0 ? 2 * LB_PI : 0;
  double here = since + (angle - middle), left = shuts - opens - here;
  if (since >= shuts - opens)
    return 0;
  return ramp > 0 ? fmax(0, fmin(1, fmin(here, left) / ramp)) : 1;
}

static int reference_rates(double angle, const double *y, double *f, void *context) {
  const struct reference *ref = context;
  const struct lb_machine *m = ref->machine;
  double p[LB_ENDS], t[LB_ENDS], mass[LB_ENDS] = {0}, energy[LB_ENDS] = {0};
  memset(f, 0, SIZE * sizeof *f);
  for (int e = 0; e < LB_ENDS; e++) {
    if (!m->works[e])
      continue;
    enum lb_end end = (enum lb_end)e;
    double own = angle - lb_linkage_dead_centre(&m->linkage, end);
    double volume = lb_timing_volume(m, end, own), slope = lb_timing_volume_slope(m, end, own);
    const struct lb_timing *timing = &m->timing[e];
    t[e] = y[5 * e + 1] / (y[5 * e] * 717.625);
    p[e] = y[5 * e] * 287.05 * t[e] / volume;
    double zero = lb_linkage_dead_centre(&m->linkage, end), h;
    double ramp = timing->opening_ramp_time > 0 ? timing->opening_ramp_time * ref->speed
                                                : timing->opening_ramp;
    double in =
        how_open(angle, zero + timing->inlet_opens, zero + ref->cutoff[e], ramp, ref->middle);
    double out =
        how_open(angle, zero + timing->release, zero + timing->exhaust_closes, ramp, ref->middle);
    double q =
        pass(&m->path[0].flow, in, m->supply_pressure, m->supply_temperature, p[e], t[e], &h);
    f[5 * e + 3] = q / ref->speed;
    mass[e] += q;
    energy[e] += h;
    q = pass(&m->path[1].flow, out, m->back_pressure, m->ambient_temperature, p[e], t[e], &h);
    f[5 * e + 4] = -q / ref->speed;
    mass[e] += q;
    energy[e] += h;
    double distance = (volume - m->dead_volume[e]) / lb_machine_area(m, end);
    energy[e] += m->wall_heat_transfer *
                 (2 * lb_machine_area(m, end) + LB_PI * m->bore * distance) *
                 (m->ambient_temperature - t[e]);
    f[5 * e + 2] = p[e] * slope;
  }
  const struct lb_flow leak = {m->leakage, 0.5, 0.5};
  double h;
  if (m->works[0] && m->works[1]) {
    double q = pass(&leak, 1, p[0], t[0], p[1], t[1], &h);
    mass[0] -= q;
    mass[1] += q;
    energy[0] -= h;
    energy[1] += h;
  } else {
    int e = m->works[0] ? 0 : 1;
    mass[e] += pass(&leak, 1, m->ambient_pressure, m->ambient_temperature, p[e], t[e], &h);
    energy[e] += h;
  }
  for (int e = 0; e < LB_ENDS; e++)
    if (m->works[e]) {
      f[5 * e] = mass[e] / ref->speed;
      f[5 * e + 1] = energy[e] / ref->speed - f[5 * e + 2];
    }
  return GSL_SUCCESS;
}

/* Put an angle among some that are in order; returns how many there are then. */
static size_t insert(double *bend, size_t count, double angle) {
  size_t place = count;
  for (; place > 0 && bend[place - 1] > angle; place--)
    bend[place] = bend[place - 1];
  bend[place] = angle;
  return count + 1;
}

/* Every angle at which an opening bends, within the turn from 0, in order. */
static size_t bends_of(const struct reference *ref, double *bend) {
  size_t count = 0;
  bend[count++] = 0;
  bend[count++] = 2 * LB_PI;
  for (int e = 0; e < LB_ENDS; e++) {
    const struct lb_timing *t = &ref->machine->timing[e];
    if (!ref->machine->works[e])
      continue;
    double zero = lb_linkage_dead_centre(&ref->machine->linkage, (enum lb_end)e);
    const double window[][2] = {{t->inlet_opens, ref->cutoff[e]}, {t->release, t->exhaust_closes}};
    for (int k = 0; k < 2; k++) {
      double width = window[k][1] - window[k][0];
      double ramp = t->opening_ramp_time > 0 ? t->opening_ramp_time * ref->speed : t->opening_ramp;
      ramp = fmin(ramp, width / 2);
      const double at[] = {window[k][0], window[k][0] + ramp, window[k][1] - ramp, window[k][1]};
      for (int i = 0; i < 4; i++) {
        double angle = fmod(zero + at[i] + 4 * LB_PI, 2 * LB_PI);
        count = insert(bend, count, angle);
      }
    }
  }
  return count;
}

/* Note the pressure of the ends whose exhaust opens at an angle within the turn. */
static void note_release(struct reference *ref, const double *y, double angle) {
  const struct lb_machine *m = ref->machine;
  for (int e = 0; e < LB_ENDS; e++) {
    enum lb_end end = (enum lb_end)e;
    double own = angle - lb_linkage_dead_centre(&m->linkage, end);
    if (m->works[e] && fabs(remainder(own - m->timing[e].release, 2 * LB_PI)) < 1e-12)
      ref->release[e] = y[5 * e + 1] * 0.4 / lb_timing_volume(m, end, own);
  }
}

/* Revolutions until the state repeats itself to 1e-11. */
static bool reference_turn(struct reference *ref, double *y) {
  gsl_odeiv2_system system = {reference_rates, NULL, SIZE, ref};
  gsl_odeiv2_driver *driver =
      gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-15, 1e-11);
  double bend[BENDS_MOST + 2];
  size_t bends = bends_of(ref, bend);
  bool settled = false;
  for (int i = 0; i < REVOLUTIONS && !settled; i++) {
    double before[SIZE];
    memcpy(before, y, sizeof before);
    for (int e = 0; e < LB_ENDS; e++)
      y[5 * e + 2] = y[5 * e + 3] = y[5 * e + 4] = 0;
    for (size_t k = 0; k + 1 < bends; k++) {
      double angle = bend[k];
      note_release(ref, y, angle);
      ref->middle = (bend[k] + bend[k + 1]) / 2;
      gsl_odeiv2_driver_reset_hstart(driver, 1e-5);
      if (bend[k + 1] - bend[k] > 1e-12)
        ck_assert_int_eq(gsl_odeiv2_driver_apply(driver, &angle, bend[k + 1], y), GSL_SUCCESS);
    }
    settled = true;
    for (int e = 0; e < LB_ENDS; e++)
      for (int k = 0; k < 2; k++)
        settled = settled && fabs(y[5 * e + k] - before[5 * e + k]) <= 1e-11 * before[5 * e + k];
  }
  gsl_odeiv2_driver_free(driver);
  return settled;
}

/* Several cylinders behind a receiver, which is the supply of each: their states, then m and U of
 * the receiver. */
struct store {
  struct reference cylinder[3]; /* cylinder[cylinders] */
  int cylinders;
  struct lb_machine seen[3]; /* as each sees its supply at the moment */
  double middle;
};

enum {
  STORE_SIZE = 3 * SIZE + 2
};

static int store_rates(double angle, const double *y, double *f, void *context) {
  struct store *store = context;
  const double *own = y + STORE_SIZE - 2;
  const struct lb_machine *m = store->cylinder[0].machine;
  double t = own[1] / (own[0] * 717.625), p = own[0] * 287.05 * t / m->receiver_volume, enthalpy;
  double mass =
      pass(&m->supply_line, 1, m->supply_pressure, m->supply_temperature, p, t, &enthalpy);
  double speed = store->cylinder[0].speed;
  memset(f, 0, STORE_SIZE * sizeof *f);
  f[STORE_SIZE - 2] = mass / speed;
  f[STORE_SIZE - 1] = enthalpy / speed;
  for (int c = 0; c < store->cylinders; c++) {
    const double *state = y + SIZE * c;
    store->seen[c] = *m;
    store->seen[c].supply_pressure = p;
    store->seen[c].supply_temperature = t;
    struct reference ref = store->cylinder[c];
    ref.machine = &store->seen[c];
    ref.middle = store->middle - m->crank_angle[c];
    reference_rates(angle - m->crank_angle[c], state, f + SIZE * c, &ref);
    for (int e = 0; e < LB_ENDS; e++) {
      double in = f[SIZE * c + 5 * e + 3];
      if (!m->works[e])
        continue;
      f[STORE_SIZE - 2] -= in;
      f[STORE_SIZE - 1] -=
          in * 1004.675 * (in >= 0 ? t : state[5 * e + 1] / (state[5 * e] * 717.625));
    }
  }
  return GSL_SUCCESS;
}

/* Revolutions of it until it repeats itself to 1e-10; the sums of each end stay in y. */
static bool store_turn(struct store *store, double *y) {
  gsl_odeiv2_system system = {store_rates, NULL, STORE_SIZE, store};
  gsl_odeiv2_driver *driver =
      gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-15, 1e-11);
  const struct lb_machine *m = store->cylinder[0].machine;
  double bend[3 * (BENDS_MOST + 2)], one[BENDS_MOST + 2];
  size_t bends = 0;
  for (int c = 0; c < store->cylinders; c++) {
    size_t more = bends_of(&store->cylinder[c], one);
    for (size_t k = 0; k < more; k++) {
      double angle =
          k == more - 1 && c == 0 ? 2 * LB_PI : fmod(one[k] + m->crank_angle[c], 2 * LB_PI);
      bends = insert(bend, bends, angle);
    }
  }
  bool settled = false;
  for (int i = 0; i < REVOLUTIONS && !settled; i++) {
    double before[STORE_SIZE];
    memcpy(before, y, sizeof before);
    for (int k = 0; k < STORE_SIZE - 2; k++)
      y[k] = k % 5 >= 2 ? 0 : y[k];
    for (size_t k = 0; k + 1 < bends; k++) {
      double angle = bend[k];
      store->middle = (bend[k] + bend[k + 1]) / 2;
      gsl_odeiv2_driver_reset_hstart(driver, 1e-5);
      if (bend[k + 1] - bend[k] > 1e-12)
        ck_assert_int_eq(gsl_odeiv2_driver_apply(driver, &angle, bend[k + 1], y), GSL_SUCCESS);
    }
    settled = true;
    for (int k = 0; k < STORE_SIZE; k++)
      if (k >= STORE_SIZE - 2 || k % 5 < 2)
        settled = settled && fabs(y[k] - before[k]) <= 1e-10 * before[k];
  }
  gsl_odeiv2_driver_free(driver);
  return settled;
}

/* ---------- tests ---------- */

static struct lb_gas *gas;

static void set_up(void) {
  gsl_set_error_handler_off();
  gas = lb_gas_new();
  ck_assert_ptr_nonnull(gas);
}

static void tear_down(void) {
  lb_gas_free(gas);
}

/* A random machine with valves through which a chamber fills `rate` times in a radian, and with the
 * losses of §7. */
static struct lb_machine random_fast(uint64_t *state, double speed) {
  struct lb_machine m;
  random_machine(&m, state);
  double volume = lb_machine_area(&m, m.works[0] ? LB_CAP_END : LB_ROD_END) * m.linkage.stroke;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    double rate = support_between(state, 1, 12);
    m.path[valve].flow =
        (struct lb_flow){rate * speed * volume / 1e5, support_between(state, 0, 0.55),
                         support_between(state, 0.45, 0.6)};
  }
  for (int e = 0; e < LB_ENDS; e++) {
    m.dead_volume[e] = fmax(m.dead_volume[e], 0.02 * volume);
    m.timing[e].opening_ramp = support_between(state, 0, 0.3);
    m.timing[e].opening_ramp_time = 0;
  }
  m.leakage = support_uniform(state) < 0.5 ? 0 : 0.02 * m.path[0].flow.conductance;
  m.wall_heat_transfer = support_between(state, 0, 80);
  return m;
}

START_TEST(agrees_with_an_explicit_method_of_order_eight) {
  uint64_t state = 801;
  int compared = 0;
  for (int i = 0; i < support_times(50); i++) {
    double speed = support_between(&state, 60, 1500) * rpm;
    struct lb_machine m = random_fast(&state, speed);
    struct reference ref = {.machine = &m, .speed = speed};
    struct lb_gas_cylinder cylinder;
    struct lb_error error = {0};
    double y[SIZE] = {0};
    random_machine_cutoff(ref.cutoff, &m);
    for (int e = 0; e < LB_ENDS; e++) {
      double volume =
          lb_timing_volume(&m, (enum lb_end)e, -lb_linkage_dead_centre(&m.linkage, (enum lb_end)e));
      y[5 * e] = m.back_pressure * volume / (287.05 * 290);
      y[5 * e + 1] = y[5 * e] * 717.625 * 290;
    }
    enum lb_status status = lb_gas_solve(gas, &cylinder, false, &m, ref.cutoff, speed, &error);
    ck_assert_msg(status == LB_OK, "machine %d: %s", i, error.text);
    ck_assert(reference_turn(&ref, y));
    for (int e = 0; e < LB_ENDS; e++) {
      if (!m.works[e])
        continue;
      double swept = lb_machine_area(&m, (enum lb_end)e) * m.linkage.stroke;
      double air = m.supply_pressure * swept / (287.05 * m.supply_temperature);
      ck_assert_msg(fabs(cylinder.end[e].work - y[5 * e + 2]) <= 1e-6 * m.supply_pressure * swept,
                    "machine %d: work %.9g, not %.9g", i, cylinder.end[e].work, y[5 * e + 2]);
      ck_assert(ref.release[e] > 0);
      ck_assert_msg(fabs(cylinder.end[e].release_pressure - ref.release[e]) <=
                        1e-6 * m.supply_pressure,
                    "machine %d: released at %.9g, not %.9g Pa", i,
                    cylinder.end[e].release_pressure, ref.release[e]);
      ck_assert_msg(fabs(cylinder.end[e].air - y[5 * e + 3]) <= 1e-6 * air,
                    "machine %d: air %.9g, not %.9g", i, cylinder.end[e].air, y[5 * e + 3]);
      compared++;
    }
  }
  ck_assert_int_ge(compared, support_times(50));
}
END_TEST

static const char fast_text[] =
    "\n[timing]\ninlet opens = 0 deg\ncut-off = 70 deg\nrelease = 172 deg\n"
    "exhaust closes = 350 deg\n";

/* A tight machine with valves of a conductance [m3/(s Pa)], wide open at once. */
static struct lb_machine tight(double conductance) {
  char text[2000];
  snprintf(text, sizeof text, "%s%s", machine_text_least, fast_text);
  struct lb_machine m = machine_text(text, NULL);
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){conductance, 0.3, 0.5};
  return m;
}

static struct lb_gas_cylinder solve(const struct lb_machine *m, double speed, bool with_worth) {
  struct lb_gas_cylinder cylinder;
  struct lb_error error = {0};
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, m);
  enum lb_status status = lb_gas_solve(gas, &cylinder, with_worth, m, cutoff, speed, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return cylinder;
}

/* What a cylinder misses of the slow cycle's work, as a share of p_s V. */
static double missing(const struct lb_machine *m, double speed) {
  struct lb_cycle *cycle = lb_cycle_new();
  struct lb_revolution slow;
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, m);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_turn(&slow, cycle, cutoff, NULL), LB_OK);
  lb_cycle_free(cycle);
  struct lb_gas_cylinder c = solve(m, speed, false);
  double work = c.end[LB_CAP_END].work + c.end[LB_ROD_END].work;
  return (slow.indicated_work - work) / (m->supply_pressure * lb_machine_swept_volume(m));
}

/* Towards no speed it becomes the slow adiabatic cycle, the error going down with the speed itself;
 * towards wide valves likewise. */
START_TEST(slow_cycle_is_the_limit) {
  struct lb_machine m = tight(2e-8);
  double last = missing(&m, 8 * rpm);
  for (double speed = 4 * rpm; speed > 0.4 * rpm; speed /= 2) {
    double now = missing(&m, speed);
    ck_assert_msg(log2(last / now) > 0.85 && log2(last / now) < 1.15, "order %g at %g rpm",
                  log2(last / now), speed / rpm);
    last = now;
  }
  ck_assert(last > 0 && last < 1e-4);
  m = tight(2e-5); /* a thousand times as wide */
  ck_assert(fabs(missing(&m, 60 * rpm)) < 1e-4);
}
END_TEST

/* With warm walls it becomes the slow isothermal cycle: from everything at one temperature. */
START_TEST(warm_walls_are_isothermal) {
  struct lb_machine m = tight(2e-7);
  m.supply_temperature = m.ambient_temperature;
  m.expansion_exponent = m.compression_exponent = 1;
  m.wall_heat_transfer = 1e5;
  ck_assert(fabs(missing(&m, 0.5 * rpm)) < 2e-3);
  m.wall_heat_transfer = 1e6;
  ck_assert(fabs(missing(&m, 0.5 * rpm)) < 3e-4);
}
END_TEST

/* All converge: any machine, from a crawl to 3000 rpm, from wide valves to pinholes; mass is kept
 * and the worth of the air closes. */
START_TEST(any_machine_at_any_speed) {
  uint64_t state = 802;
  for (int i = 0; i < support_times(300); i++) {
    double speed = rpm * pow(3000, support_uniform(&state));
    struct lb_machine m = random_fast(&state, 600 * rpm);
    double wider = pow(10, support_between(&state, -1.5, 1.5));
    for (int valve = 0; valve < LB_VALVES; valve++) {
      m.path[valve].flow.conductance *= wider;
      m.path[valve].seat_leakage = i % 4 == 0 ? 1e-3 * m.path[valve].flow.conductance : 0;
    }
    m.cylinders = 1 + i % 2;
    m.crank_angle[1] = 2;
    if (i % 5 == 0) {
      m.receiver_volume = lb_machine_swept_volume(&m);
      m.supply_line = (struct lb_flow){m.path[0].flow.conductance / 2, 0.5, 0.5};
    }
    m.rod_seal_leakage = i % 3 == 0 ? 1e-3 * m.path[0].flow.conductance : 0;
    struct lb_gas_cylinder c = solve(&m, speed, true);
    double left = c.worth.supplied, scale = 0, kept = 0, air = 0;
    for (int e = 0; e < LB_ENDS; e++) {
      double swept = lb_machine_area(&m, (enum lb_end)e) * m.linkage.stroke;
      left -= c.end[e].work;
      scale += m.works[e] ? m.supply_pressure * swept : 0;
      kept += c.end[e].air - c.end[e].exhausted;
      air += m.works[e] ? m.supply_pressure * swept / (287.05 * m.supply_temperature) : 0;
    }
    left -= c.worth.inlet + c.worth.mixing + c.worth.exhaust_valve + c.worth.heat +
            c.worth.leakage + c.worth.exhaust;
    ck_assert(c.report.residual <= 1e-9);
    ck_assert_msg(fabs(left) <= 2e-5 * scale, "machine %d: %.3g of %.3g J are not accounted for", i,
                  left, scale);
    if (m.rod_seal_leakage == 0 && (m.leakage == 0 || (m.works[0] && m.works[1])))
      ck_assert_msg(fabs(kept) <= 1e-7 * air, "machine %d loses %.3g kg", i, kept);
    ck_assert(c.worth.inlet >= -1e-9 * scale && c.worth.mixing >= -1e-9 * scale);
    ck_assert(c.worth.exhaust_valve >= -1e-9 * scale && c.worth.heat >= -1e-9 * scale);
    ck_assert(c.worth.leakage >= -1e-9 * scale);
  }
}
END_TEST

/* Solved apart or as one system, ends between which hardly anything leaks agree. */
START_TEST(one_system_or_two) {
  struct lb_machine m = tight(1.5e-8);
  struct lb_gas_cylinder two = solve(&m, 200 * rpm, false);
  m.leakage = 1e-20;
  struct lb_gas_cylinder one = solve(&m, 200 * rpm, false);
  for (int e = 0; e < LB_ENDS; e++) {
    ck_close_relative(one.end[e].work, two.end[e].work, 1e-6);
    ck_close_relative(one.end[e].air, two.end[e].air, 1e-6);
  }
  ck_close_relative(one.absolute_force, two.absolute_force, 1e-6);
}
END_TEST

/* A seal that lets through as much as the valves leaves under a hundredth of the work. */
START_TEST(huge_leak_leaves_no_work) {
  struct lb_machine m = tight(1.5e-8);
  m.works[LB_ROD_END] = false;
  double sound = solve(&m, 60 * rpm, false).end[LB_CAP_END].work;
  m.leakage = 100 * m.path[0].flow.conductance;
  double leaking = solve(&m, 60 * rpm, false).end[LB_CAP_END].work;
  ck_assert_msg(fabs(leaking) < 0.01 * sound, "%g of %g J", leaking, sound);
}
END_TEST

START_TEST(a_path_must_be_known) {
  struct lb_machine m = tight(1.5e-8);
  struct lb_gas_cylinder cylinder;
  struct lb_error error = {0};
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, &m);
  m.path[LB_EXHAUST_VALVE].flow.conductance = 0;
  ck_assert_int_eq(lb_gas_solve(gas, &cylinder, false, &m, cutoff, 60 * rpm, &error), LB_BAD_INPUT);
  ck_assert_ptr_nonnull(strstr(error.text, "[exhaust valve] has no conductance"));
}
END_TEST

/* All cylinders at once, behind a receiver that droops, against the explicit method. */
START_TEST(cylinders_share_a_receiver) {
  uint64_t state = 803;
  int compared = 0;
  for (int i = 0; i < support_times(8); i++) {
    double speed = support_between(&state, 100, 600) * rpm;
    struct lb_machine m = random_fast(&state, speed);
    struct store store = {.cylinders = 1 + i % 3};
    struct lb_gas_cylinder found;
    struct lb_error error = {0};
    double cutoff[LB_ENDS], y[STORE_SIZE] = {0}, work = 0, air = 0;
    double swept = lb_machine_area(&m, m.works[0] ? LB_CAP_END : LB_ROD_END) * m.linkage.stroke;
    m.cylinders = store.cylinders;
    for (int c = 0; c < m.cylinders; c++)
      m.crank_angle[c] = c * support_between(&state, 1, 3);
    m.receiver_volume = swept * support_between(&state, 0.5, 4);
    m.supply_line = (struct lb_flow){m.path[0].flow.conductance * 0.3, 0.4, 0.5};
    random_machine_cutoff(cutoff, &m);
    for (int c = 0; c < m.cylinders; c++) {
      store.cylinder[c] = (struct reference){.machine = &m, .speed = speed};
      memcpy(store.cylinder[c].cutoff, cutoff, sizeof cutoff);
      for (int e = 0; e < LB_ENDS; e++) {
        double volume = lb_timing_volume(&m, (enum lb_end)e,
                                         -m.crank_angle[c] -
                                             lb_linkage_dead_centre(&m.linkage, (enum lb_end)e));
        y[SIZE * c + 5 * e] = m.back_pressure * volume / (287.05 * 290);
        y[SIZE * c + 5 * e + 1] = y[SIZE * c + 5 * e] * 717.625 * 290;
      }
    }
    for (int k = 0; k < STORE_SIZE - 2; k++)
      y[k] = y[k] == 0 && k % 5 < 2 ? 1 : y[k]; /* cylinders that are not there stand still */
    y[STORE_SIZE - 2] = m.supply_pressure * m.receiver_volume / (287.05 * 290);
    y[STORE_SIZE - 1] = y[STORE_SIZE - 2] * 717.625 * 290;
    enum lb_status status = lb_gas_solve(gas, &found, false, &m, cutoff, speed, &error);
    ck_assert_msg(status == LB_OK, "machine %d: %s", i, error.text);
    if (!store_turn(&store, y))
      continue; /* air swings to and fro, and marching takes thousands of revolutions */
    compared++;
    for (int c = 0; c < m.cylinders; c++)
      for (int e = 0; e < LB_ENDS; e++)
        if (m.works[e]) {
          work += y[SIZE * c + 5 * e + 2] / m.cylinders;
          air += y[SIZE * c + 5 * e + 3] / m.cylinders;
        }
    double all = lb_machine_swept_volume(&m) / m.cylinders;
    ck_close(found.end[0].work + found.end[1].work, work, 2e-6 * m.supply_pressure * all);
    ck_close(found.end[0].air + found.end[1].air, air,
             2e-6 * m.supply_pressure * all / (287.05 * m.supply_temperature));
  }
  ck_assert_int_ge(compared, support_times(8) / 2);
}
END_TEST

/* A receiver behind a wide line is the constant supply; behind a narrow one it droops and takes
 * work away. */
START_TEST(a_wide_line_does_not_droop) {
  struct lb_machine m = tight(1.5e-8);
  double without = solve(&m, 200 * rpm, false).end[LB_CAP_END].work;
  m.receiver_volume = 1e-2;
  m.supply_line = (struct lb_flow){1e-4, 0.5, 0.5};
  ck_close_relative(solve(&m, 200 * rpm, false).end[LB_CAP_END].work, without, 1e-4);
  struct lb_gas_cylinder wide = solve(&m, 200 * rpm, false);
  ck_close_relative(wide.mean_supply, m.supply_pressure, 1e-4);
  m.supply_line.conductance = 2e-9;
  struct lb_gas_cylinder narrow = solve(&m, 200 * rpm, false);
  ck_assert(narrow.end[LB_CAP_END].work < 0.8 * without);
  ck_assert(narrow.least_supply < narrow.mean_supply &&
            narrow.mean_supply < 0.9 * m.supply_pressure);
}
END_TEST

/* Angles that mean switching are those of events later by the delays. */
START_TEST(switching_is_events_made_later) {
  const double delay = 0.02, speed = 300 * rpm; /* 20 ms at 300 rpm are 36 deg */
  struct lb_machine switched = tight(1.5e-8), events = switched;
  for (int e = 0; e < LB_ENDS; e++) {
    switched.timing[e].angles_are_switching = true;
    events.timing[e].inlet_opens += LB_PI / 5;
    events.timing[e].cutoff += LB_PI / 5;
    events.timing[e].release += LB_PI / 5;
    events.timing[e].exhaust_closes += LB_PI / 5;
  }
  for (int valve = 0; valve < LB_VALVES; valve++)
    switched.valve_delay[valve] = (struct lb_valve_delay){delay, delay};
  struct lb_gas_cylinder a = solve(&switched, speed, false), b = solve(&events, speed, false);
  for (int e = 0; e < LB_ENDS; e++) {
    ck_close_relative(a.end[e].work, b.end[e].work, 1e-9);
    ck_close_relative(a.end[e].release_pressure, b.end[e].release_pressure, 1e-9);
  }
}
END_TEST

/* A window shorter than two ramps never opens fully, and less air passes it the longer they are. */
START_TEST(a_short_window_never_opens_fully) {
  struct lb_machine m = tight(1.5e-8);
  double air = solve(&m, 200 * rpm, false).end[LB_CAP_END].air;
  for (double ramp = 0.5; ramp < 5; ramp *= 2) { /* [1] of the inlet's window */
    m.timing[LB_CAP_END].opening_ramp = ramp * m.timing[LB_CAP_END].cutoff;
    double less = solve(&m, 200 * rpm, false).end[LB_CAP_END].air;
    ck_assert_msg(less < 0.97 * air, "%g, then %g kg", air, less);
    air = less;
  }
}
END_TEST

static Suite *gas_suite(void) {
  Suite *suite = suite_create("gas exchange");
  TCase *tests = tcase_create("gas exchange");
  tcase_set_timeout(tests, 300);
  tcase_add_checked_fixture(tests, set_up, tear_down);
  tcase_add_test(tests, slow_cycle_is_the_limit);
  tcase_add_test(tests, warm_walls_are_isothermal);
  tcase_add_test(tests, any_machine_at_any_speed);
  tcase_add_test(tests, one_system_or_two);
  tcase_add_test(tests, huge_leak_leaves_no_work);
  tcase_add_test(tests, a_path_must_be_known);
  if (!support_is_rough()) { /* minutes, there */
    tcase_add_test(tests, agrees_with_an_explicit_method_of_order_eight);
    tcase_add_test(tests, cylinders_share_a_receiver);
  }
  tcase_add_test(tests, a_wide_line_does_not_droop);
  tcase_add_test(tests, switching_is_events_made_later);
  tcase_add_test(tests, a_short_window_never_opens_fully);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(gas_suite(), NULL);
}
