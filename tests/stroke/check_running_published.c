/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Machines at speed against what has been measured of some. Their makers left out most of what a
 * calculation needs, so that hardly anything here is a point: bounds that no machine of that size
 * can pass, the way a figure moves and about how far, and one ratio that nothing left out enters.
 */
#include "base/constants.h"
#include "physics/conductance.h"
#include "stroke/cycle.h"
#include "stroke/running.h"
#include "support.h"

#include <string.h>

static const double litre_per_bar = 1e-3 / LB_BAR; /* 1 L/(s bar) in m3/(s Pa) */
static const double valve_ratio = 0.3, valve_index = 0.5;

static struct lb_gas *gas;

static void set_up(void) {
  gas = lb_gas_new();
  ck_assert_ptr_nonnull(gas);
}

static void tear_down(void) {
  lb_gas_free(gas);
}

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

/* A single-acting machine with a yoke and the same valve at inlet and exhaust, dead volume as a
 * share of what is swept. */
static struct lb_machine single(double bore, double stroke, double dead, double conductance) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  m.works[LB_ROD_END] = false;
  m.bore = bore;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, stroke, 0, 0, NULL), LB_OK);
  m.dead_volume[LB_CAP_END] = dead * lb_machine_swept_volume(&m);
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){conductance, valve_ratio, valve_index};
  return m;
}

/* Shut both inlets at a fraction of the stroke. */
static void cut_off_at(double *cutoff, const struct lb_machine *m, double fraction) {
  for (int i = 0; i < LB_ENDS; i++)
    cutoff[i] = lb_linkage_angle_away(&m->linkage, (enum lb_end)i, fraction * m->linkage.stroke);
}

static struct lb_running run(const struct lb_machine *m, double fraction, double rpm) {
  struct lb_running running;
  struct lb_error error = {0};
  double cutoff[LB_ENDS];
  cut_off_at(cutoff, m, fraction);
  enum lb_status status = lb_running_turn(&running, gas, m, cutoff, rpm * LB_RPM, false, &error);
  ck_assert_msg(status == LB_OK, "at %g rpm: %s", rpm, error.text);
  return running;
}

static double torque(const struct lb_machine *m, double fraction, double rpm) {
  return run(m, fraction, rpm).revolution.mean_torque;
}

static double slow_torque(const struct lb_machine *m, double fraction) {
  struct lb_cycle *cycle = lb_cycle_new();
  struct lb_revolution slow;
  double cutoff[LB_ENDS];
  cut_off_at(cutoff, m, fraction);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_turn(&slow, cycle, cutoff, NULL), LB_OK);
  lb_cycle_free(cycle);
  return slow.mean_torque;
}

/* The speed of greatest power among steps of it, which must not be the first or the last. */
static double best_speed(const struct lb_machine *m, double fraction, double step, double most) {
  double best = 0, greatest = 0;
  for (double rpm = step; rpm <= most; rpm += step) {
    double power = run(m, fraction, rpm).power;
    if (power > greatest) {
      greatest = power;
      best = rpm;
    }
  }
  ck_assert_msg(best > step && best < most - step, "most power at %g rpm", best);
  return best;
}

/* Torque that falls from each speed to the next. */
static void require_falling_torque(const struct lb_machine *m, double fraction, double first,
                                   double step, double most) {
  double last = torque(m, fraction, first);
  for (double rpm = first + step; rpm <= most; rpm += step) {
    double now = torque(m, fraction, rpm);
    ck_assert_msg(now < last, "%g N m, then %g at %g rpm", last, now, rpm);
    last = now;
  }
}

/* ---------- the engine of 100 cm3 ---------- */

static const double engine_size = 0.0503; /* [m] bore and stroke that make 100 cm3; assumed */

static struct lb_machine huang_machine(double dead, double conductance) {
  struct lb_machine m = single(engine_size, engine_size, dead, conductance * litre_per_bar);
  m.supply_pressure = 9 * LB_BAR;
  return m;
}

/* What the file says, by name and speed. */
static struct huang { double torque, power, later_torque, exhaust[2], greatest, earliest; } huang;

static void huang_row(const struct support_row *row) {
  double value = support_number(row, "value");
  if (is(row, "quantity", "torque"))
    *(is(row, "speed_rpm", "465") ? &huang.torque : &huang.later_torque) = value;
  else if (is(row, "quantity", "power"))
    huang.power = value * 1e3;
  else if (is(row, "quantity", "exhaust pressure"))
    huang.exhaust[is(row, "speed_rpm", "2000")] = value * LB_BAR;
  else if (is(row, "quantity", "greatest torque"))
    huang.greatest = value;
  else if (is(row, "quantity", "earliest cut-off"))
    huang.earliest = value;
  else
    ck_abort_msg("%s:%d: unknown quantity", row->file, row->line);
}

/* BOUND: no cut-off, valve or speed gives more torque than full admission without loss. */
START_TEST(no_torque_beyond_full_admission) {
  const double valves[] = {4, 12, 100}, speeds[] = {5, 465, 1320};
  support_published("huang_piston_engine.csv", huang_row);
  for (int i = 0; i < 9; i++)
    for (double fraction = 0.5; fraction < 1; fraction += 0.15) {
      struct lb_machine m = huang_machine(0.02, valves[i / 3]);
      m.back_pressure = m.ambient_pressure = LB_BAR;
      double found = torque(&m, fraction, speeds[i % 3]);
      ck_assert_msg(found < huang.greatest, "%g N m", found);
    }
  struct lb_machine wide = huang_machine(0.02, 100); /* and the bound is nearly reached */
  wide.back_pressure = wide.ambient_pressure = LB_BAR;
  ck_assert(torque(&wide, 0.99, 5) > 0.99 * huang.greatest);
}
END_TEST

/* BOUND: a cut-off before 0.55 of the stroke cannot give the torque measured, whatever the
 * clearance, against the pressure measured after the exhaust. */
START_TEST(torque_measured_needs_a_late_cutoff) {
  support_published("huang_piston_engine.csv", huang_row);
  for (double dead = 0.01; dead < 0.21; dead += 0.0633)
    for (double valve = 8; valve < 100; valve *= 3) {
      struct lb_machine m = huang_machine(dead, valve);
      m.back_pressure = huang.exhaust[0];
      for (double fraction = 0.25; fraction < huang.earliest; fraction += 0.07)
        ck_assert(torque(&m, fraction, 465) < huang.torque);
    }
  struct lb_machine wide = huang_machine(0.2, 100);
  wide.back_pressure = huang.exhaust[0];
  ck_assert(torque(&wide, 0.75, 465) > huang.torque);
}
END_TEST

/* Mean pressure in the cap end over the last two thirds of the stroke back [Pa absolute], of the
 * revolution found last. */
static double exhaust_pressure(void) {
  const double from = LB_PI * 4 / 3, to = LB_PI * 1.9; /* [rad] */
  size_t points;
  const struct lb_gas_point *point = lb_gas_points(gas, LB_CAP_END, &points);
  double sum = 0, swept = 0;
  ck_assert_ptr_nonnull(point);
  for (size_t i = 1; i < points; i++)
    if (point[i].angle > from && point[i].angle < to) {
      double volume = point[i - 1].volume - point[i].volume;
      sum += volume * (point[i].pressure + point[i - 1].pressure) / 2;
      swept += volume;
    }
  return sum / swept;
}

/* TREND: with a valve that carries the torque measured at 465 rpm, torque falls with speed, power
 * is greatest somewhere about 1300 rpm, and the pressure of the exhaust stroke rises, in the
 * cylinder by more than behind the valve. */
START_TEST(engine_of_100_cm3_fades) {
  support_published("huang_piston_engine.csv", huang_row);
  struct lb_machine m = huang_machine(0.1, 8);
  double fraction = huang.earliest + 0.01;
  ck_close_relative(torque(&m, fraction, 465), huang.torque, 0.05);
  require_falling_torque(&m, fraction, 250, 250, 2500);
  double best = best_speed(&m, fraction, 100, 3000);
  ck_assert_msg(best >= 900 && best <= 1900, "most power at %g rpm", best);
  double share = torque(&m, fraction, 1320) / torque(&m, fraction, 465);
  ck_close(share, huang.later_torque / huang.torque, 0.15);
  run(&m, fraction, 500);
  double slow = exhaust_pressure();
  run(&m, fraction, 2000);
  double rise = exhaust_pressure() / slow;
  /* measured behind the valve, found before it */
  ck_assert_msg(rise > huang.exhaust[1] / huang.exhaust[0], "%g times", rise);
}
END_TEST

/* ---------- the student expander of Madrid ---------- */

static const double cycles_per_turn = 2; /* of the shaft: it is driven by a cam */

/* Four cylinders in opposed pairs, a crank that turns twice as fast in place of the cam. Supply
 * pressure, leakage, line and friction are not stated. */
static struct lb_machine expander(void) {
  const double stroke = 0.03, hose = 0.012, hose_length = 0.12, port = 0.0114, coefficient = 0.6;
  struct lb_machine m = single(0.02, stroke, 0, 1);
  m.cylinders = 4;
  for (int k = 0; k < m.cylinders; k++)
    m.crank_angle[k] = k % 2 * LB_PI;
  m.dead_volume[LB_CAP_END] = LB_PI / 4 * hose * hose * hose_length;
  m.supply_pressure = 5 * LB_BAR;
  m.ambient_pressure = m.back_pressure = LB_BAR;
  struct lb_timing *t = &m.timing[LB_CAP_END];
  t->release = lb_linkage_angle_away(&m.linkage, LB_CAP_END, 0.9 * stroke);
  t->exhaust_closes = 2 * LB_PI - t->release;
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = lb_conductance_of_orifice(port, coefficient, valve_ratio);
  return m;
}

static const double expander_cutoff = 0.4; /* [1] of the stroke */

/* The same with a leak past every piston and a hose that droops. */
static struct lb_machine leaky_expander(void) {
  struct lb_machine m = expander();
  m.leakage = 0.06 * litre_per_bar;
  m.supply_line = (struct lb_flow){0.13 * litre_per_bar, valve_ratio, valve_index};
  m.receiver_volume = 20 * LB_CUBIC_CENTIMETRE;
  return m;
}

static double shaft_torque(const struct lb_machine *m, double rpm) {
  return cycles_per_turn * torque(m, expander_cutoff, cycles_per_turn * rpm);
}

static void ports_row(const struct support_row *row) {
  struct lb_machine m = expander();
  double rpm = support_number(row, "speed_rpm");
  double slow = cycles_per_turn * slow_torque(&m, expander_cutoff);
  ck_assert(shaft_torque(&m, rpm) > 0.95 * slow);
  ck_assert(support_number(row, "torque_Nm") < 0.55 * slow);
  struct lb_running r = run(&m, expander_cutoff, cycles_per_turn * rpm);
  double flow = r.revolution.air * cycles_per_turn * rpm / 60;
  ck_assert(flow * 10 < lb_flow_mass(&m.path[LB_INLET_VALVE].flow, m.supply_pressure,
                                     m.supply_temperature, m.back_pressure));
}

/* TREND: the ports explain nothing of what the brake measured. They swallow ten times the air. */
START_TEST(ports_alone_do_not_throttle_the_expander) {
  support_published("upm_student_expander_brake.csv", ports_row);
}
END_TEST

static double last_torque;

static void droop_row(const struct support_row *row) {
  struct lb_machine m = leaky_expander();
  double now = shaft_torque(&m, support_number(row, "speed_rpm"));
  ck_assert_msg(now < last_torque, "%s rpm: %g N m after %g", support_text(row, "speed_rpm"), now,
                last_torque);
  last_torque = now;
}

/* TREND: with a leak past the pistons and a line that droops, the torque is far below that of the
 * slow cycle from the start, as measured, and falls from each speed to the next. */
START_TEST(leak_and_droop_explain_the_expander) {
  struct lb_machine tight = expander();
  double slow = cycles_per_turn * slow_torque(&tight, expander_cutoff);
  last_torque = 0.65 * slow;
  support_published("upm_student_expander_brake.csv", droop_row);
  struct lb_machine m = leaky_expander();
  m.friction = 6;
  double free_speed = 50;
  while (shaft_torque(&m, free_speed) > 0)
    free_speed += 5;
  double best =
      best_speed(&m, expander_cutoff, 10 * cycles_per_turn, free_speed * cycles_per_turn) /
      cycles_per_turn;
  ck_assert_msg(best > 0.25 * free_speed && best < 0.45 * free_speed, "most power at %g of %g rpm",
                best, free_speed);
}
END_TEST

/* ---------- heated air in Paris ---------- */

/* An engine of about that power; nothing of it is stated. */
static struct lb_machine paris_machine(void) {
  const double port = 0.06; /* [m] */
  struct lb_machine m = single(0.35, 0.7, 0, 1);
  m.works[LB_ROD_END] = true;
  m.rod_diameter = 0.06;
  m.supply_pressure = 6.5 * LB_BAR;
  for (int e = 0; e < LB_ENDS; e++) {
    m.dead_volume[e] = 0.05 * lb_machine_area(&m, (enum lb_end)e) * m.linkage.stroke;
    m.timing[e].exhaust_closes = 320 * LB_DEGREE;
    m.timing[e].opening_ramp = 6 * LB_DEGREE;
  }
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = lb_conductance_of_orifice(port, 0.6, valve_ratio);
  return m;
}

static double first_air, first_published;

static void paris_row(const struct support_row *row) {
  struct lb_machine m = paris_machine();
  m.supply_temperature = LB_ZERO_CELSIUS + support_number(row, "inlet_degC");
  struct lb_running r = run(&m, 0.35, support_number(row, "speed_rpm"));
  double air = r.revolution.air / r.revolution.indicated_work;
  double published = support_number(row, "free_air_ft3_per_hp_h");
  if (is(row, "trial", "1")) {
    first_air = air;
    first_published = published;
  }
  ck_close_relative(air / first_air, published / first_published, support_number(row, "tolerance"));
  for (int e = 0; e < LB_ENDS; e++)
    ck_assert(r.cylinder.end[e].closing_temperature <
              LB_ZERO_CELSIUS + support_number(row, "outlet_degC"));
}

/* The air for a given work goes as one over its temperature. */
START_TEST(heated_air_of_paris) {
  support_published("paris_heated_air_engine.csv", paris_row);
}
END_TEST

/* ---------- wide and narrow valves ---------- */

static double published_ratio, published_gain;

static void distribution_row(const struct support_row *row) {
  *(is(row, "quantity", "power ratio") ? &published_ratio : &published_gain) =
      support_number(row, "value");
}

/* TREND: valves several times as large multiply the power at 800 rpm, raise the efficiency there
 * and hardly change the work of a slow turn; efficiency falls with speed with either. */
START_TEST(wide_valves_multiply_the_power_at_speed) {
  const double fraction = 0.4, areas = 5, fast = 800, slow = 8;
  support_published("air_distribution_2017.csv", distribution_row);
  struct lb_machine narrow = huang_machine(0.1, 2), wide = huang_machine(0.1, 2 * areas);
  double power = run(&wide, fraction, fast).power / run(&narrow, fraction, fast).power;
  ck_assert_msg(power > published_ratio / 2 && power < published_ratio * 2, "%g times", power);
  ck_close_relative(torque(&narrow, fraction, slow), torque(&wide, fraction, slow), 0.02);
  const struct lb_machine *either[] = {&narrow, &wide};
  double at_speed[2] = {0};
  for (int i = 0; i < 2; i++) {
    double last = 1;
    for (double rpm = 50; rpm < 1700; rpm *= 2) {
      double now = run(either[i], fraction, rpm).revolution.isentropic_efficiency;
      ck_assert_msg(now < last, "%g after %g at %g rpm", now, last, rpm);
      last = now;
      at_speed[i] = rpm == fast ? now : at_speed[i];
    }
  }
  ck_assert_msg(at_speed[1] - at_speed[0] > published_gain / 2, "%g and %g", at_speed[0],
                at_speed[1]);
}
END_TEST

/* ---------- what the sources agree upon ---------- */

/* Longer admission: more power, more air in a turn. Slower opening: less air. Warmer air: the same
 * torque. More dead volume: less efficiency. */
START_TEST(trends_that_all_report) {
  struct lb_machine m = huang_machine(0.1, 12), warm = m, roomy = huang_machine(0.3, 12);
  double power = 0, air = 0;
  for (double fraction = 0.2; fraction < 0.75; fraction += 0.1) {
    struct lb_running r = run(&m, fraction, 300);
    ck_assert(r.power > power && r.revolution.air > air);
    power = r.power;
    air = r.revolution.air;
  }
  double last = run(&m, 0.4, 600).revolution.air;
  for (double ramp = 5; ramp < 45; ramp *= 2) {
    struct lb_machine lazy = m;
    lazy.timing[LB_CAP_END].opening_ramp = ramp * LB_DEGREE;
    double less = run(&lazy, 0.4, 600).revolution.air;
    ck_assert_msg(less < last, "%g kg after %g with %g deg", less, last, ramp);
    last = less;
  }
  warm.supply_temperature += 100;
  ck_close_relative(torque(&warm, 0.4, 100), torque(&m, 0.4, 100), 0.02);
  ck_close_relative(run(&warm, 0.4, 100).revolution.air * warm.supply_temperature,
                    run(&m, 0.4, 100).revolution.air * m.supply_temperature, 0.03);
  ck_assert(run(&roomy, 0.3, 300).revolution.isentropic_efficiency <
            run(&m, 0.3, 300).revolution.isentropic_efficiency - 0.05);
}
END_TEST

static Suite *running_suite(void) {
  Suite *suite = suite_create("running, published");
  TCase *tests = tcase_create("running, published");
  tcase_set_timeout(tests, 300);
  tcase_add_checked_fixture(tests, set_up, tear_down);
  tcase_add_test(tests, no_torque_beyond_full_admission);
  tcase_add_test(tests, torque_measured_needs_a_late_cutoff);
  tcase_add_test(tests, engine_of_100_cm3_fades);
  tcase_add_test(tests, ports_alone_do_not_throttle_the_expander);
  if (!support_is_rough()) /* a search over many revolutions */
    tcase_add_test(tests, leak_and_droop_explain_the_expander);
  tcase_add_test(tests, heated_air_of_paris);
  tcase_add_test(tests, wide_valves_multiply_the_power_at_speed);
  tcase_add_test(tests, trends_that_all_report);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(running_suite(), NULL);
}
