/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cycle at speed where it has a closed answer: vessels that fill, mix and blow down, through
 * the flow law and the stepper alone, and as a machine that hardly moves; what symmetry and
 * conservation demand; and the corners at which a solution is hard to find.
 */
#include "base/constants.h"
#include "base/ode.h"
#include "machine_text.h"
#include "physics/conductance.h"
#include "physics/flow.h"
#include "random_machine.h"
#include "stroke/cycle.h"
#include "stroke/gas_exchange.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

static const double litre_per_bar = 1e-3 / LB_BAR; /* 1 L/(s bar) in m3/(s Pa) */

/* ---------- two vessels and what flows between them ---------- */

enum {
  VESSELS = 2,
  STATES = 2 * VESSELS
};

/* States: p and m of each. One that is a supply keeps its state. */
struct vessels {
  struct lb_flow flow;
  double volume[VESSELS]; /* [m3]; infinite: a supply */
};

static double temperature_in(const struct vessels *v, const double *y, size_t i) {
  return isfinite(v->volume[i]) ? y[2 * i] * v->volume[i] / (y[2 * i + 1] * LB_GAS_CONSTANT)
                                : y[2 * i + 1];
}

static void vessel_rates(double *rate, double t, size_t segment, const double *y,
                         const void *context) {
  const struct vessels *v = context;
  struct lb_flow_rate flow;
  double warm[VESSELS] = {temperature_in(v, y, 0), temperature_in(v, y, 1)};
  (void)t;
  (void)segment;
  lb_flow_between(&flow, &v->flow, 1, y[0], warm[0], y[2], warm[1]);
  double upstream = flow.mass >= 0 ? warm[0] : warm[1];
  for (size_t i = 0; i < VESSELS; i++) {
    bool supply = !isfinite(v->volume[i]);
    double in = i == 0 ? -flow.mass : flow.mass;
    rate[2 * i] = supply ? 0 : LB_GAMMA * LB_GAS_CONSTANT * upstream * in / v->volume[i];
    rate[2 * i + 1] = supply ? 0 : in;
  }
  rate[STATES] = flow.mass;
}

/* The slopes by differences: the method does not need them exact. */
static void vessel_slopes(double *rate, double *slope, double *by_time, double t, size_t segment,
                          const double *y, const void *context) {
  const double small = 1e-7; /* [1] of a state */
  double moved[STATES], other[STATES + 1];
  vessel_rates(rate, t, segment, y, context);
  for (size_t j = 0; j < STATES; j++) {
    memcpy(moved, y, sizeof moved);
    moved[j] *= 1 + small;
    vessel_rates(other, t, segment, moved, context);
    for (size_t i = 0; i <= STATES; i++)
      slope[i * STATES + j] = (other[i] - rate[i]) / (small * y[j]);
  }
  memset(by_time, 0, (STATES + 1) * sizeof *by_time);
}

static bool all_positive(const double *y, const void *context) {
  (void)context;
  return y[0] > 0 && y[1] > 0 && y[2] > 0 && y[3] > 0;
}

/* Let the air flow for a while; returns what has passed from the first to the second [kg]. */
static double let_flow(const struct vessels *v, double *y, double seconds, double tolerance,
                       size_t *steps) {
  struct lb_ode *ode = lb_ode_new(STATES, 1);
  double scale[STATES + 1], passed;
  const double stop[] = {0, seconds};
  ck_assert_ptr_nonnull(ode);
  memcpy(scale, y, STATES * sizeof *scale);
  scale[STATES] = fmax(isfinite(v->volume[0]) ? y[1] : 0, isfinite(v->volume[1]) ? y[3] : 0);
  const struct lb_ode_problem problem = {vessel_rates, vessel_slopes, all_positive, v,
                                         scale,        tolerance};
  ck_assert_int_eq(lb_ode_run(ode, &problem, y, &passed, NULL, stop, 2, NULL), LB_OK);
  if (steps)
    *steps = lb_ode_steps(ode);
  lb_ode_free(ode);
  return passed;
}

static double mass_of(double pressure, double volume, double temperature) {
  return pressure * volume / (LB_GAS_CONSTANT * temperature);
}

/* ---------- a machine that hardly moves ---------- */

static struct lb_gas *gas;

static void set_up(void) {
  gas = lb_gas_new();
  ck_assert_ptr_nonnull(gas);
}

static void tear_down(void) {
  lb_gas_free(gas);
}

static struct lb_gas_cylinder solve(const struct lb_machine *m, double speed) {
  struct lb_gas_cylinder cylinder;
  struct lb_error error = {0};
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, m);
  enum lb_status status = lb_gas_solve(gas, &cylinder, true, m, cutoff, speed, &error);
  ck_assert_msg(status == LB_OK, "at %g rpm: %s", speed / LB_RPM, error.text);
  return cylinder;
}

/* A vessel of 10 cm3 that is filled and emptied through wide valves once in a turn, while a piston
 * moves that sweeps a millionth of it. */
static struct lb_machine vessel_machine(void) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  m.works[LB_ROD_END] = false;
  m.dead_volume[LB_CAP_END] = 10 * LB_CUBIC_CENTIMETRE;
  m.bore = 1e-3;
  double stroke = 1e-6 * m.dead_volume[LB_CAP_END] / lb_machine_area(&m, LB_CAP_END);
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, stroke, 0, 0, NULL), LB_OK);
  struct lb_timing *t = &m.timing[LB_CAP_END];
  *t = (struct lb_timing){
      .inlet_opens = 0.5, .cutoff_given = true, .cutoff = 3, .release = 3.2, .exhaust_closes = 6};
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){litre_per_bar, 0.3, 0.5};
  return m;
}

/* ---------- published ---------- */

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

/* The atmosphere into a vessel at a millionth of it: what example 7.22 asks for. */
static double filling(const struct support_row *row) {
  struct lb_machine m = vessel_machine();
  m.supply_pressure = m.ambient_pressure;
  m.supply_temperature = m.ambient_temperature = 298.15;
  m.back_pressure = 1e-6 * m.supply_pressure;
  struct lb_gas_cylinder c = solve(&m, 20 * LB_RPM);
  double lost = (c.worth.inlet + c.worth.mixing) / c.end[LB_CAP_END].air;
  if (is(row, "quantity", "temperature"))
    return c.end[LB_CAP_END].cutoff_temperature;
  return is(row, "quantity", "work lost") ? lost / 1e3 : lost / m.ambient_temperature / 1e3;
}

/* Two vessels of 3.19, joined until they are at one pressure, and their air mixed then. */
static double mixing(const struct support_row *row) {
  const struct vessels v = {lb_conductance_of_area(1e-3, 0.528), {0.5, 0.5}};
  double y[] = {5e5, mass_of(5e5, 0.5, 300), 10e5, mass_of(10e5, 0.5, 500)};
  let_flow(&v, y, 100, 1e-9, NULL);
  ck_close_relative(y[0], y[2], 1e-6);
  double warm[] = {temperature_in(&v, y, 0), temperature_in(&v, y, 1)};
  if (is(row, "quantity", "pressure"))
    return (y[0] + y[2]) / 2 / 1e6;
  return (y[1] * warm[0] + y[3] * warm[1]) / (y[1] + y[3]);
}

/* A dead volume with air left in it. */
static double residual(const struct support_row *row) {
  const double t = 293.15, volume = 10 * LB_CUBIC_CENTIMETRE;
  const struct vessels v = {{litre_per_bar, 0.3, 0.5}, {(double)INFINITY, volume}};
  double y[] = {7 * LB_BAR, t, LB_BAR, mass_of(LB_BAR, volume, t)}, left = y[3];
  double passed = let_flow(&v, y, 1, 1e-9, NULL);
  ck_close_relative(y[2], 7 * LB_BAR, 1e-6);
  if (is(row, "quantity", "residual air"))
    return left * 1e6;
  return is(row, "quantity", "air let in") ? passed * 1e6 : temperature_in(&v, y, 1);
}

static void singh_row(const struct support_row *row) {
  double actual = is(row, "example", "7.22")   ? filling(row)
                  : is(row, "example", "3.19") ? mixing(row)
                                               : residual(row);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Onkar Singh: air let into a vessel, and the air of two vessels mixed. */
START_TEST(filling_and_mixing) {
  support_published("singh_filling_and_mixing.csv", singh_row);
}
END_TEST

/* ---------- closed ---------- */

/* Air that fills a dead volume has the temperature that the energy balance of a vessel gives it,
 * whatever was left there: T = p V/(R (m_r + (p - p_r) V/(gamma R T_s))). */
START_TEST(residual_air_takes_part) {
  for (double share = 1e-5; share < 0.9; share *= 9) {
    struct lb_machine m = vessel_machine();
    double volume = m.dead_volume[LB_CAP_END];
    m.supply_pressure = 7 * LB_BAR;
    m.supply_temperature = 330;
    m.back_pressure = share * m.supply_pressure;
    struct lb_gas_turn end = solve(&m, 20 * LB_RPM).end[LB_CAP_END];
    double left = mass_of(m.back_pressure, volume, end.closing_temperature);
    double in = (m.supply_pressure - m.back_pressure) * volume /
                (LB_GAMMA * LB_GAS_CONSTANT * m.supply_temperature);
    ck_close_relative(end.air, in, 1e-4);
    ck_close_relative(end.exhausted, in, 1e-4);
    ck_close_relative(end.cutoff_temperature,
                      m.supply_pressure * volume / (LB_GAS_CONSTANT * (left + in)), 1e-4);
    ck_close_relative(end.release_pressure, m.supply_pressure, 1e-4);
    /* what stays behind expanded without loss */
    ck_close_relative(end.closing_temperature,
                      end.cutoff_temperature * pow(share, (LB_GAMMA - 1) / LB_GAMMA), 1e-3);
  }
}
END_TEST

/* A vessel without heat blows down, choked all the time:
 * p = p_0 (1 + (gamma - 1)/2 k t)^(-2 gamma/(gamma - 1)) with k = q_0/m_0. */
static double blown_down(double k, double seconds) {
  return pow(1 + (LB_GAMMA - 1) / 2 * k * seconds, -2 * LB_GAMMA / (LB_GAMMA - 1));
}

START_TEST(choked_blow_down_converges_with_order_four) {
  const struct vessels v = {{litre_per_bar, 0.3, 0.5}, {1e-3, (double)INFINITY}};
  const double first = 40 * LB_BAR, outside = 1e3, warm = 300, seconds = 2;
  double mass = mass_of(first, v.volume[0], warm), last_error = 0, last_steps = 0;
  double k = lb_flow_mass(&v.flow, first, warm, outside) / mass;
  double expected = blown_down(k, seconds) * first;
  ck_assert(outside / expected < v.flow.critical_ratio && expected < first / 2);
  for (double tolerance = 1e-4; tolerance > 1e-10; tolerance /= 100) {
    double y[] = {first, mass, outside, warm};
    size_t steps;
    let_flow(&v, y, seconds, tolerance, &steps);
    double error = fabs(y[0] / expected - 1);
    ck_assert_msg(error <= 10 * tolerance, "%g at a tolerance of %g", error, tolerance);
    if (last_steps > 0) {
      double order = log(last_error / error) / log((double)steps / last_steps);
      ck_assert_msg(order > 3.4 && order < 6, "order %g at a tolerance of %g", order, tolerance);
    }
    last_error = error;
    last_steps = (double)steps;
  }
}
END_TEST

/* ---------- the whole cycle: scaling, symmetry ---------- */

static struct lb_machine engine(double conductance) {
  struct lb_machine m = machine_text(machine_text_least, "timing.cut-off=70 deg");
  for (int e = 0; e < LB_ENDS; e++) {
    m.timing[e].release = 172 * LB_DEGREE;
    m.timing[e].exhaust_closes = 350 * LB_DEGREE;
  }
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){conductance, 0.3, 0.5};
  return m;
}

/* A machine twice as large in every direction, with eight times the conductance, is the same one;
 * so is one with all pressures doubled, or one that turns and breathes twice as fast. */
START_TEST(the_same_machine_in_other_sizes) {
  struct lb_machine m = engine(1.5e-8), large = m, dense = m, fast = m;
  struct lb_gas_cylinder c = solve(&m, 300 * LB_RPM);
  large.bore *= 2;
  large.rod_diameter *= 2;
  ck_assert_int_eq(lb_linkage_init(&large.linkage, m.linkage.kind, 2 * m.linkage.stroke,
                                   2 * m.linkage.length, 0, NULL),
                   LB_OK);
  dense.supply_pressure *= 2;
  dense.back_pressure *= 2;
  dense.ambient_pressure *= 2;
  for (int k = 0; k < LB_ENDS; k++)
    large.dead_volume[k] *= 8;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    large.path[valve].flow.conductance *= 8;
    fast.path[valve].flow.conductance *= 2;
  }
  struct lb_gas_cylinder a = solve(&large, 300 * LB_RPM), b = solve(&dense, 300 * LB_RPM);
  struct lb_gas_cylinder d = solve(&fast, 600 * LB_RPM);
  for (int e = 0; e < LB_ENDS; e++) {
    ck_close_relative(a.end[e].work, 8 * c.end[e].work, 1e-6);
    ck_close_relative(a.end[e].air, 8 * c.end[e].air, 1e-6);
    ck_close_relative(b.end[e].work, 2 * c.end[e].work, 1e-6);
    ck_close_relative(b.end[e].air, 2 * c.end[e].air, 1e-6);
    ck_close_relative(d.end[e].work, c.end[e].work, 1e-6);
    ck_close_relative(d.end[e].release_pressure, c.end[e].release_pressure, 1e-6);
  }
}
END_TEST

/* ---------- corners ---------- */

/* What the parts of the worth leave unaccounted for, as a share of what flows and works. */
static double unaccounted(const struct lb_machine *m, const struct lb_gas_cylinder *c) {
  const struct lb_gas_worth *w = &c->worth;
  double work = c->end[LB_CAP_END].work + c->end[LB_ROD_END].work, scale = fabs(w->supplied);
  double parts = w->inlet + w->mixing + w->exhaust_valve + w->heat + w->leakage + w->exhaust;
  for (int e = 0; e < LB_ENDS; e++)
    if (m->works[e])
      scale += fmax(m->supply_pressure, m->back_pressure) * lb_machine_area(m, (enum lb_end)e) *
               m->linkage.stroke;
  return fabs(w->supplied - work - parts) / scale;
}

/* A number between two, all decades alike. */
static double decades(uint64_t *state, double low, double high) {
  return low * pow(high / low, support_uniform(state));
}

static double maybe(uint64_t *state, double chance, double low, double high) {
  double value = decades(state, low, high);
  return support_uniform(state) < chance ? value : 0;
}

/* A random machine with random valves, and losses of every kind; some with a supply that does not
 * reach the back pressure, some that exhaust into next to nothing. */
static struct lb_machine harsh_machine(uint64_t *state) {
  struct lb_machine m;
  random_machine(&m, state);
  double swept = lb_machine_area(&m, m.works[0] ? LB_CAP_END : LB_ROD_END) * m.linkage.stroke;
  double usual = decades(state, 0.03, 300) * 600 * LB_RPM * swept / LB_BAR;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    m.path[valve].flow =
        (struct lb_flow){usual * decades(state, 0.3, 3), support_between(state, 0, 0.6),
                         support_between(state, 0.4, 0.7)};
    m.path[valve].seat_leakage = maybe(state, 0.5, 1e-5, 0.1) * m.path[valve].flow.conductance;
  }
  m.leakage = maybe(state, 0.6, 1e-5, 10) * usual;
  m.rod_seal_leakage = maybe(state, 0.5, 1e-5, 1) * usual;
  m.wall_heat_transfer = maybe(state, 0.7, 1, 1000);
  for (int e = 0; e < LB_ENDS; e++) {
    m.dead_volume[e] = fmax(m.dead_volume[e], 0.01 * swept);
    m.timing[e].opening_ramp = maybe(state, 0.3, 1e-3, 1);
    m.timing[e].opening_ramp_time = m.timing[e].opening_ramp > 0 ? 0 : maybe(state, 0.4, 1e-4, 0.1);
  }
  double kind = support_uniform(state);
  if (kind < 0.15)
    m.supply_pressure = m.back_pressure * support_between(state, 0.2, 1);
  else if (kind < 0.3)
    m.back_pressure = m.ambient_pressure * decades(state, 1e-6, 0.1);
  else if (kind < 0.4)
    m.supply_pressure = m.back_pressure;
  return m;
}

START_TEST(harsh_machines_converge) {
  uint64_t state = 901;
  int reversed = 0, vacuum = 0;
  for (int i = 0; i < support_times(300); i++) {
    struct lb_machine m = harsh_machine(&state);
    struct lb_gas_cylinder c = solve(&m, decades(&state, 1, 3000) * LB_RPM);
    ck_assert_msg(c.report.residual <= 1e-9, "machine %d: %g", i, c.report.residual);
    double left = unaccounted(&m, &c);
    ck_assert_msg(left <= 1e-5, "machine %d: %g are not accounted for", i, left);
    for (int e = 0; e < LB_ENDS; e++)
      if (m.works[e])
        ck_assert(c.end[e].coldest_temperature > 0 && c.end[e].greatest_pressure > 0);
    reversed += m.supply_pressure <= m.back_pressure;
    vacuum += m.back_pressure < 0.1 * m.ambient_pressure;
  }
  ck_assert_int_ge(reversed, support_least(30));
  ck_assert_int_ge(vacuum, support_least(20));
}
END_TEST

/* Supply, exhaust and surroundings at one pressure: the machine is turned, and costs work; the
 * slower the less. */
START_TEST(no_pressure_no_work) {
  struct lb_machine m = engine(1.5e-8);
  double last = 0;
  m.supply_pressure = m.back_pressure;
  for (double speed = 1; speed < 2000; speed *= 10) {
    struct lb_gas_cylinder c = solve(&m, speed * LB_RPM);
    double work = c.end[LB_CAP_END].work + c.end[LB_ROD_END].work;
    ck_assert_msg(work < last, "%g J at %g rpm", work, speed);
    ck_assert(unaccounted(&m, &c) < 1e-6);
    last = work;
  }
}
END_TEST

/* From a crawl to a speed no crank stands, from a pinhole to a valve that is not there at all. */
START_TEST(the_far_corners) {
  const double wide = 1e4 * litre_per_bar, pinhole = 1e-4 * litre_per_bar;
  struct lb_machine m = engine(1.4 * litre_per_bar);
  double swept = m.supply_pressure * lb_machine_swept_volume(&m), crawl, race;
  struct lb_gas_cylinder c = solve(&m, 0.1 * LB_RPM);
  crawl = c.end[LB_CAP_END].work + c.end[LB_ROD_END].work;
  c = solve(&m, 10000 * LB_RPM);
  race = c.end[LB_CAP_END].work + c.end[LB_ROD_END].work;
  ck_assert_msg(race < 0.1 * crawl, "%g and %g J", race, crawl);
  m = engine(wide);
  c = solve(&m, 0.1 * LB_RPM); /* both are the slow cycle */
  ck_close(c.end[LB_CAP_END].work + c.end[LB_ROD_END].work, crawl, 1e-4 * swept);
  c = solve(&m, 10000 * LB_RPM);
  ck_close(c.end[LB_CAP_END].work + c.end[LB_ROD_END].work, crawl, 1e-3 * swept);
  m = engine(pinhole);
  c = solve(&m,
            0.1 * LB_RPM); /* as a valve a thousand times as wide at a thousand times the speed */
  struct lb_machine same = engine(pinhole * 1000);
  struct lb_gas_cylinder other = solve(&same, 100 * LB_RPM);
  ck_close(c.end[LB_CAP_END].work, other.end[LB_CAP_END].work, 1e-6 * swept);
  ck_close(c.end[LB_ROD_END].work, other.end[LB_ROD_END].work, 1e-6 * swept);
}
END_TEST

/* What no cycle at speed can be made of is said in a line. */
START_TEST(what_has_no_answer_is_said) {
  struct lb_machine m = engine(1.4 * litre_per_bar);
  struct lb_gas_cylinder c;
  struct lb_error error = {0};
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, &m);
  const double speeds[] = {0, -1, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
    ck_assert_int_eq(lb_gas_solve(gas, &c, false, &m, cutoff, speeds[i], &error), LB_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(error.text, "speed above 0"));
  }
  m.dead_volume[LB_ROD_END] = 0;
  ck_assert_int_eq(lb_gas_solve(gas, &c, false, &m, cutoff, 10, &error), LB_BAD_INPUT);
  ck_assert_ptr_nonnull(strstr(error.text, "the rod end has no dead volume"));
  m.works[LB_ROD_END] = false;
  ck_assert_int_eq(lb_gas_solve(gas, &c, false, &m, cutoff, 10, &error), LB_OK);
}
END_TEST

static Suite *closed_suite(void) {
  Suite *suite = suite_create("gas exchange, closed");
  TCase *tests = tcase_create("gas exchange, closed");
  tcase_set_timeout(tests, 300);
  tcase_add_checked_fixture(tests, set_up, tear_down);
  tcase_add_test(tests, filling_and_mixing);
  tcase_add_test(tests, residual_air_takes_part);
  tcase_add_test(tests, choked_blow_down_converges_with_order_four);
  tcase_add_test(tests, the_same_machine_in_other_sizes);
  tcase_add_test(tests, harsh_machines_converge);
  tcase_add_test(tests, no_pressure_no_work);
  tcase_add_test(tests, the_far_corners);
  tcase_add_test(tests, what_has_no_answer_is_said);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(closed_suite(), NULL);
}
