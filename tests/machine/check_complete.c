/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sizes of valves through the machine file against figures by hand; valves and a tube in series
 * against the equations of two restrictions; whose dead volume a tube is part of; the room in a
 * rated store against printed compressibilities; a vehicle's torque against its forces by hand.
 */
#include "base/constants.h"
#include "base/numeric.h"
#include "machine/check.h"
#include "machine/complete.h"
#include "machine_text.h"
#include "physics/tube.h"
#include "support.h"

#include <math.h>
#include <stdio.h>

static const double litres_per_bar = 1e-8;      /* [m3/(s Pa)] in a [L/(s bar)] */
static const double litres_a_minute = 1 / 60e3; /* [m3/s] */
static const double tube_bore = 4e-3, tube_length = 0.3;

/* The least machine with further lines. */
static struct lb_machine machine_with(const char *lines) {
  char text[2048];
  snprintf(text, sizeof text, "%s%s", machine_text_least, lines);
  return machine_text(text, NULL);
}

/* What comes out of one line about the size of the inlet valve, and others behind it. */
static struct lb_flow flow_of(const char *lines) {
  char text[400];
  snprintf(text, sizeof text, "[inlet valve]\n%s\n", lines);
  struct lb_machine m = machine_with(text);
  ck_assert(m.path[LB_EXHAUST_VALVE].flow.conductance == 0);
  ck_assert(m.path[LB_INLET_VALVE].tube_reynolds == 0);
  return m.path[LB_INLET_VALVE].flow;
}

/* C in L/(s bar) and b to the printed place. */
static void ck_flow(const char *lines, double conductance, double place, double ratio,
                    double ratio_place) {
  struct lb_flow flow = flow_of(lines);
  ck_close(flow.conductance / litres_per_bar, conductance, place / 2);
  ck_close(flow.critical_ratio, ratio, ratio_place / 2 + EXACT);
  ck_assert(flow.subsonic_index == 0.5);
}

START_TEST(every_way_of_stating_a_size) {
  ck_flow("conductance = 1.4 L/(s bar)", 1.4, 1e-12, 0.3, 0);
  ck_flow("conductance = 84 L/(min bar)\ncritical ratio = 0.2", 1.4, 1e-12, 0.2, 0);
  /* 0.199 L/(s bar) for each mm2. */
  ck_flow("effective area = 100 mm2", 19.9, 0.1, 0.3, 0);
  ck_flow("effective area = 1 cm2\ncritical ratio = 0.1", 19.9, 0.1, 0.1, 0);
  /* 0.7854 * 100 mm2 with 0.85, with 0.6, and b of the ideal nozzle or its own. */
  ck_flow("orifice = 10 mm\ndischarge coefficient = 0.85", 0.199 * 66.76, 0.1, 0.528, 0.001);
  ck_flow("orifice = 10 mm", 0.199 * 47.12, 0.1, 0.528, 0.001);
  ck_flow("orifice = 10 mm\ncritical ratio = 0.4", 0.199 * 47.12, 0.1, 0.4, 0);
  /* Over 254, 227 and 294. */
  ck_flow("nominal flow = 254 L/min ANR", 1, 0.01, 0.3, 0);
  ck_flow("nominal flow = 227 L/min\ncritical ratio = 0.1", 1, 0.01, 0.1, 0);
  ck_flow("nominal flow = 17.64 m3/h ANR\ncritical ratio = 0.5", 1, 0.01, 0.5, 0);
  ck_flow("cv = 1", 4.0, 0.1, 0.3, 0);
  ck_flow("kv = 1 m3/h", 4.6, 0.1, 0.3, 0);
  ck_flow("kv = 16.6667 L/min", 4.6, 0.1, 0.3, 0);
}
END_TEST

/* Exactly: choked, an ideal nozzle passes A p sqrt(gamma/(R T)) (2/(gamma+1))^((gamma+1)/(2
 * (gamma-1))), and the nominal flow is C 7 bar (1 - ((6/7 - b)/(1 - b))^2)^m. */
START_TEST(sizes_exactly) {
  const double cold = 293.15, gamma = 1.4;
  double nozzle = sqrt(gamma / (LB_GAS_CONSTANT * cold)) * pow(2 / (gamma + 1), 3) / 1.185;
  ck_close_relative(flow_of("effective area = 5 mm2").conductance, 5e-6 * nozzle, IDENTITY);
  ck_close_relative(flow_of("orifice = 3 mm\ndischarge coefficient = 0.7").conductance,
                    0.7 * LB_PI / 4 * 9e-6 * nozzle, IDENTITY);
  double x = (6.0 / 7 - 0.25) / 0.75;
  struct lb_flow flow = flow_of("nominal flow = 400 L/min ANR\ncritical ratio = 0.25");
  ck_close_relative(flow.conductance, 400 * litres_a_minute / (7e5 * sqrt(1 - x * x)), IDENTITY);
  /* Water in m3/h at 1 bar and in gallons a minute at 1 psi through one area. */
  double per_cv = 231 * 16.387064e-6 / 60 * sqrt(1e5 / 6894.757293168361) * 3600; /* [m3/h] */
  char line[60];
  snprintf(line, sizeof line, "kv = %.15g m3/h", 2 * per_cv);
  ck_close_relative(flow_of(line).conductance, flow_of("cv = 2").conductance, IDENTITY);
}
END_TEST

/* Another index keeps C where C is stated, or an area, and the nominal flow where that is. */
START_TEST(sizes_with_an_index) {
  double x = (6.0 / 7 - 0.3) / 0.7;
  struct lb_flow flow = flow_of("conductance = 2 L/(s bar)\nsubsonic index = 0.4");
  ck_close_relative(flow.conductance, 2 * litres_per_bar, EXACT);
  ck_assert(flow.subsonic_index == 0.4);
  flow = flow_of("effective area = 5 mm2\nsubsonic index = 0.4");
  ck_close_relative(flow.conductance, flow_of("effective area = 5 mm2").conductance, EXACT);
  ck_assert(flow.subsonic_index == 0.4);
  flow = flow_of("nominal flow = 400 L/min\nsubsonic index = 0.4");
  ck_close_relative(flow.conductance, 400 * litres_a_minute / (7e5 * pow(1 - x * x, 0.4)),
                    IDENTITY);
  ck_assert(flow.subsonic_index == 0.4);
  double elliptic = flow_of("kv = 0.3 m3/h").conductance;
  flow = flow_of("kv = 0.3 m3/h\nsubsonic index = 0.4");
  ck_close_relative(flow.conductance, elliptic * pow(1 - x * x, 0.1), IDENTITY);
}
END_TEST

START_TEST(nothing_stated) {
  struct lb_machine m = machine_with("");
  for (int valve = 0; valve < LB_VALVES; valve++)
    ck_assert(m.path[valve].flow.conductance == 0);
  m = machine_with("[inlet valve]\ncritical ratio = 0.4\n[tube]\nlength = 300 mm\nbore = 4 mm\n"
                   "serves = both\n");
  for (int valve = 0; valve < LB_VALVES; valve++)
    ck_assert(m.path[valve].flow.conductance == 0 && m.path[valve].tube_reynolds == 0);
}
END_TEST

/* The rest of the flow: each kept where the solver looks for it. */
START_TEST(leakages_and_line) {
  struct lb_machine m = machine_with(
      "[inlet valve]\nseat leakage = 0.001 L/(s bar)\npilot least pressure = 1.5 bar gauge\n"
      "[exhaust valve]\nseat leakage = 0.002 L/(s bar)\n[cylinder]\n"
      "rod seal leakage = 0.003 L/(s bar)\n[supply]\nline conductance = 2 L/(s bar)\n"
      "receiver volume = 0.5 L\n");
  ck_close_relative(m.path[LB_INLET_VALVE].seat_leakage, 1e-11, EXACT);
  ck_close_relative(m.path[LB_EXHAUST_VALVE].seat_leakage, 2e-11, EXACT);
  ck_close_relative(m.rod_seal_leakage, 3e-11, EXACT);
  ck_close_relative(m.supply_line.conductance, 2e-8, EXACT);
  ck_assert(m.supply_line.critical_ratio == 0.5 && m.supply_line.subsonic_index == 0.5);
  ck_close_relative(m.receiver_volume, 0.5e-3, EXACT);
  ck_close_relative(m.valve_size[LB_INLET_VALVE].pilot_least_pressure, 1.5e5 + LB_ATMOSPHERE,
                    EXACT);
  ck_assert(m.valve_size[LB_EXHAUST_VALVE].pilot_least_pressure == 0);
  struct lb_machine none = machine_with("");
  ck_assert(none.supply_line.conductance == 0 && none.receiver_volume == 0);
}
END_TEST

static const char sizes[] = "[inlet valve]\nconductance = 1.4 L/(s bar)\ncritical ratio = 0.2\n"
                            "[exhaust valve]\nconductance = 2.5 L/(s bar)\n";

static struct lb_machine with_tube(const char *serves) {
  char lines[500];
  snprintf(lines, sizeof lines,
           "%s[exhaust]\nback pressure = 0.5 bar gauge\n[supply]\ntemperature = 60 degC\n"
           "[tube]\nlength = 300 mm\nbore = 4 mm\nserves = %s\n",
           sizes, serves);
  return machine_with(lines);
}

/* Two restrictions of m = 0.5 that follow each other as one, tested by what defines it: a pressure
 * between them that passes the choked flow of the second through the first, and drops that add. */
static void ck_series(const struct lb_flow *both, const struct lb_flow *one,
                      const struct lb_flow *two) {
  double c1 = one->conductance, b1 = one->critical_ratio;
  double c2 = two->conductance, b2 = two->critical_ratio, c = both->conductance;
  double x = c / c2, y = (x - b1) / (1 - b1); /* pressure between over that before */
  ck_assert(x > b1 && x < 1);
  ck_close_relative(c1 * sqrt(1 - y * y), c, IDENTITY);
  ck_close_relative(both->critical_ratio, 1 - c * c * ((1 - b1) / (c1 * c1) + (1 - b2) / (c2 * c2)),
                    IDENTITY);
  ck_assert(both->subsonic_index == 0.5);
}

/* The tube alone in the air before it. */
static struct lb_flow tube_in(double pressure, double temperature, double *reynolds) {
  const struct lb_tube tube = {tube_bore, tube_length, pressure, temperature};
  struct lb_workspace *workspace = lb_workspace_new();
  struct lb_flow flow;
  ck_assert_int_eq(lb_tube_flow(&flow, reynolds, &tube, workspace, NULL), LB_OK);
  lb_workspace_free(workspace);
  return flow;
}

START_TEST(tube_before_the_inlet) {
  struct lb_machine m = with_tube("inlet");
  double reynolds;
  struct lb_flow tube = tube_in(m.supply_pressure, m.supply_temperature, &reynolds);
  const struct lb_flow valve = {1.4e-8, 0.2, 0.5}, other = {2.5e-8, 0.3, 0.5};
  ck_series(&m.path[LB_INLET_VALVE].flow, &tube, &valve);
  ck_close_relative(m.path[LB_INLET_VALVE].tube_reynolds, reynolds, EXACT);
  ck_close_relative(m.path[LB_EXHAUST_VALVE].flow.conductance, other.conductance, EXACT);
  ck_assert(m.path[LB_EXHAUST_VALVE].tube_reynolds == 0);
}
END_TEST

START_TEST(tube_behind_the_exhaust) {
  struct lb_machine m = with_tube("exhaust");
  double reynolds;
  struct lb_flow tube =
      tube_in(sqrt(m.supply_pressure * m.back_pressure), m.ambient_temperature, &reynolds);
  const struct lb_flow valve = {2.5e-8, 0.3, 0.5};
  ck_series(&m.path[LB_EXHAUST_VALVE].flow, &valve, &tube);
  ck_close_relative(m.path[LB_EXHAUST_VALVE].tube_reynolds, reynolds, EXACT);
  ck_close_relative(m.path[LB_INLET_VALVE].flow.conductance, 1.4e-8, EXACT);
  ck_assert(m.path[LB_INLET_VALVE].tube_reynolds == 0);
}
END_TEST

/* In through the valve and then the tube, out through the tube and then the valve. */
START_TEST(tube_of_both) {
  struct lb_machine m = with_tube("both");
  double in, out;
  struct lb_flow entering = tube_in(m.supply_pressure, m.supply_temperature, &in);
  struct lb_flow leaving =
      tube_in(sqrt(m.supply_pressure * m.back_pressure), m.ambient_temperature, &out);
  const struct lb_flow inlet = {1.4e-8, 0.2, 0.5}, exhaust = {2.5e-8, 0.3, 0.5};
  ck_series(&m.path[LB_INLET_VALVE].flow, &inlet, &entering);
  ck_series(&m.path[LB_EXHAUST_VALVE].flow, &leaving, &exhaust);
  ck_close_relative(m.path[LB_INLET_VALVE].tube_reynolds, in, EXACT);
  ck_close_relative(m.path[LB_EXHAUST_VALVE].tube_reynolds, out, EXACT);
}
END_TEST

/* pi/4 * (4 mm)^2 * 300 mm, in the dead volume of both ends only when the air goes both ways. */
START_TEST(volume_of_a_tube) {
  const double volume = LB_PI / 4 * 16e-6 * 0.3;
  struct lb_machine m = with_tube("both");
  ck_close_relative(m.tube_volume, volume, EXACT);
  ck_close_relative(m.dead_volume[LB_CAP_END], 16e-6 + volume, EXACT);
  ck_close_relative(m.dead_volume[LB_ROD_END], 18e-6 + volume, EXACT);
  static const char *const own[] = {"inlet", "exhaust"};
  for (int i = 0; i < 2; i++) {
    m = with_tube(own[i]);
    ck_assert(m.tube_volume == 0);
    ck_close_relative(m.dead_volume[LB_CAP_END], 16e-6, EXACT);
    ck_close_relative(m.dead_volume[LB_ROD_END], 18e-6, EXACT);
  }
}
END_TEST

/* A tube of 3.77 cm3 takes up air that is shut in without any other dead volume, and comes to a
 * dead volume that is not known. */
START_TEST(tube_as_dead_volume) {
  static const char tube[] = "[tube]\nlength = 300 mm\nbore = 4 mm\nserves = both\n";
  const double volume = LB_PI / 4 * 16e-6 * 0.3;
  char text[1000];
  snprintf(text, sizeof text, "%s[timing]\nexhaust closes = 340 deg\n%s", machine_text_least, tube);
  struct lb_machine m = machine_text(text, "cylinder.dead volume cap end=0 cm3");
  ck_close_relative(m.dead_volume[LB_CAP_END], volume, EXACT);
  m = machine_text(text, "cylinder.dead volume rod end=unknown");
  double swept = lb_machine_area(&m, LB_ROD_END) * m.linkage.stroke;
  ck_close_relative(m.dead_volume[LB_ROD_END], 0.10 * swept + volume, EXACT);
  lb_machine_assume_dead_volume(&m, LB_DEAD_VOLUME_HIGH);
  ck_close_relative(m.dead_volume[LB_ROD_END], 0.20 * swept + volume, EXACT);
  ck_close_relative(m.dead_volume[LB_CAP_END], 16e-6 + volume, EXACT);
}
END_TEST

/* Done again, nothing changes; and what was changed is followed. */
START_TEST(completing_again) {
  struct lb_machine m = with_tube("both"), first = m;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  for (int valve = 0; valve < LB_VALVES; valve++) {
    ck_assert(m.path[valve].flow.conductance == first.path[valve].flow.conductance);
    ck_assert(m.path[valve].flow.critical_ratio == first.path[valve].flow.critical_ratio);
  }
  ck_assert(m.dead_volume[LB_CAP_END] == first.dead_volume[LB_CAP_END]);
  m.tube.serves = LB_TUBE_EXHAUST;
  m.valve_size[LB_INLET_VALVE].conductance = 3e-8;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  ck_close_relative(m.dead_volume[LB_CAP_END], 16e-6, EXACT);
  ck_assert(m.path[LB_INLET_VALVE].flow.conductance == 3e-8);
  ck_assert(m.path[LB_INLET_VALVE].tube_reynolds == 0);
  m.tube.given = false;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  ck_close_relative(m.path[LB_EXHAUST_VALVE].flow.conductance, 2.5e-8, EXACT);
}
END_TEST

/* A program that sets a path itself keeps it. */
START_TEST(paths_set_by_a_program) {
  struct lb_machine m = machine_with("[tube]\nlength = 300 mm\nbore = 4 mm\nserves = both\n");
  const struct lb_flow own = {5e-8, 0.4, 0.6};
  m.path[LB_INLET_VALVE].flow = own;
  m.valve_size[LB_EXHAUST_VALVE].conductance = 2e-8;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  ck_assert(m.path[LB_INLET_VALVE].flow.conductance == own.conductance);
  ck_assert(m.path[LB_INLET_VALVE].flow.critical_ratio == own.critical_ratio);
  ck_assert(m.path[LB_INLET_VALVE].flow.subsonic_index == own.subsonic_index);
  ck_assert(m.path[LB_EXHAUST_VALVE].flow.conductance > 0 &&
            m.path[LB_EXHAUST_VALVE].flow.conductance < 2e-8);
  m.tube.bore = 0;
  struct lb_error error;
  ck_assert_int_eq(lb_machine_complete(&m, &error), LB_BAD_INPUT);
  ck_assert(m.tube_volume == 0);
  ck_close_relative(m.dead_volume[LB_CAP_END], 16e-6, EXACT);
}
END_TEST

/* Every tube within the limits of its keys has a flow, less than that of the valve alone. */
START_TEST(tubes_at_their_limits) {
  static const char *const lengths[] = {"1 mm", "100 m"}, *const bores[] = {"0.5 mm", "500 mm"},
                           *const supplies[] = {"0.02 bar absolute", "99 bar absolute"};
  for (int i = 0; i < 8; i++) {
    char lines[500];
    snprintf(lines, sizeof lines, "%s[tube]\nlength = %s\nbore = %s\nserves = both\n", sizes,
             lengths[i & 1], bores[i >> 1 & 1]);
    char text[2048], set[60];
    snprintf(text, sizeof text, "%s%s", machine_text_least, lines);
    snprintf(set, sizeof set, "supply.pressure=%s", supplies[i >> 2]);
    struct lb_machine m = machine_text(text, set);
    for (int valve = 0; valve < LB_VALVES; valve++) {
      const struct lb_flow *flow = &m.path[valve].flow;
      double alone = m.valve_size[valve].conductance;
      ck_assert(flow->conductance > 0 && flow->conductance <= alone * (1 + IDENTITY));
      ck_assert(flow->critical_ratio >= 0 && flow->critical_ratio < 1);
      ck_assert(m.path[valve].tube_reynolds > 0);
    }
  }
}
END_TEST

/* The room for air of a store with a rating, in surroundings given by lines. */
static double room_of(const char *surroundings, const char *rating) {
  char lines[300];
  snprintf(lines, sizeof lines, "[surroundings]\n%s\n[store]\nrating = %s\n", surroundings, rating);
  struct lb_machine m = machine_with(lines);
  ck_assert(m.store.given && m.store.start_pressure == m.store.rating_pressure);
  return m.store.volume;
}

START_TEST(room_is_as_rated) {
  static const char sea[] = "altitude = 0 m";
  ck_close_relative(room_of(sea, "10 L at 200 bar gauge"), 0.010, EXACT);
  ck_close_relative(room_of(sea, "67 cu in at 3000 psig"), 67 * 16.387064e-6, EXACT);
  ck_close_relative(room_of(sea, "60 GAL AT 125 psig"), 60 * 231 * 16.387064e-6, EXACT);
  ck_close_relative(room_of(sea, "12,2 L at 232 bar absolute"), 0.0122, EXACT);
}
END_TEST

/* Free air is pressed into p_a/p Z/Z_a of its volume; Z of 1 and 200 bar at 300 K are those of the
 * reference equation, to its four printed places. Every way to say free air is the same. */
START_TEST(free_air_is_pressed) {
  static const char warm[] = "pressure = 1 bar absolute\ntemperature = 300 K";
  static const char *const free_air[] = {
      "2 m3 free at 200 bar absolute",          "2 m3 ANR at 200 bar absolute",
      "2000 L of free air at 200 bar absolute", "2000 l free air at 200 bar absolute",
      "2 m3 (ANR) at 200 bar absolute",
  };
  const double share = 1.0321 / 0.9997 / 200, printed = 1e-4;
  for (size_t i = 0; i < sizeof free_air / sizeof free_air[0]; i++)
    ck_close_relative(room_of(warm, free_air[i]), 2 * share, printed);
  static const char *const feet[] = {"cu ft", "scf", "cf", "ft3", "Cubic Feet", "cu. ft. free"};
  for (size_t i = 0; i < sizeof feet / sizeof feet[0]; i++) {
    char rating[60];
    snprintf(rating, sizeof rating, "80 %s at 200 bar absolute", feet[i]);
    ck_close_relative(room_of(warm, rating), 80 * 0.3048 * 0.3048 * 0.3048 * share, printed);
  }
}
END_TEST

/* A diving bottle of 11.1 L filled to 3000 psi holds about 77 cubic feet (article on the capacity
 * of diving cylinders, trade). */
START_TEST(a_bottle_of_the_trade) {
  double room = room_of("temperature = 70 degF", "77 cu ft at 3000 psig");
  ck_close_relative(room, 11.1e-3, 0.015);
}
END_TEST

/* The torque of a vehicle of 200 kg, wheel 0.2 m, by its lines. */
static double torque_of(const char *lines) {
  char text[300];
  snprintf(text, sizeof text, "[load]\nmass = 200 kg\nwheel diameter = 200 mm\n%s", lines);
  return machine_with(text).load_torque;
}

START_TEST(vehicles_by_hand) {
  const double weight = 200 * 9.80665, radius = 0.1;
  ck_close_relative(torque_of("rolling resistance = 0.006\n"), weight * 0.006 * radius, EXACT);
  /* Three up, four along, five the way. */
  ck_close_relative(torque_of("rolling resistance = 1 %\ngradient = 75 %\n"),
                    weight * (0.8 * 0.01 + 0.6) * radius, EXACT);
  ck_close_relative(torque_of("gradient = 30 deg\n"), weight * 0.5 * radius, IDENTITY);
  ck_close_relative(torque_of("gradient = 1 in 75\nwheel turns per crank turn = 0.5\n"),
                    weight / hypot(75, 1) * radius / 2, EXACT);
  ck_close_relative(torque_of("rolling resistance = 0.02\ndrive efficiency = 80 %\n"
                              "drag area = 2 m2\nhead wind = 10 m/s\n"),
                    weight * 0.02 * radius / 0.8, EXACT);
  ck_assert(torque_of("rolling resistance = 0.01\ngradient = -1.1 %\n") == 0);
  ck_assert(torque_of("rolling resistance = 0.01\ngradient = -0.9 %\n") > 0);
}
END_TEST

/* After a change both follow, and a load that is no vehicle stays. */
START_TEST(store_and_load_follow_changes) {
  struct lb_machine m = machine_with("[load]\nmass = 200 kg\nwheel diameter = 200 mm\n"
                                     "rolling resistance = 0.01\n"
                                     "[store]\nrating = 10 L at 200 bar gauge\n");
  m.load.mass = 100;
  m.store.rating_amount = 0.02;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  ck_close_relative(m.load_torque, 9.80665 * 0.1, EXACT);
  ck_close(m.store.volume, 0.02, 0);
  m.store.rating_is_free = true;
  m.store.rating_pressure = 500e5;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_NO_ANSWER);
  ck_close(m.store.volume, 0.02, 0);
  m = machine_with("[load]\ntorque = 2 N m\n[store]\nvolume = 3 L\nstart pressure = 9 bar gauge\n");
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  ck_close(m.load_torque, 2, 0);
  ck_close_relative(m.store.volume, 0.003, EXACT);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("completing machines");
  TCase *size = tcase_create("sizes"), *tube = tcase_create("tube");
  tcase_add_test(size, every_way_of_stating_a_size);
  tcase_add_test(size, sizes_exactly);
  tcase_add_test(size, sizes_with_an_index);
  tcase_add_test(size, nothing_stated);
  tcase_add_test(size, leakages_and_line);
  tcase_add_test(tube, tube_before_the_inlet);
  tcase_add_test(tube, tube_behind_the_exhaust);
  tcase_add_test(tube, tube_of_both);
  tcase_add_test(tube, volume_of_a_tube);
  tcase_add_test(tube, tube_as_dead_volume);
  tcase_add_test(tube, completing_again);
  tcase_add_test(tube, paths_set_by_a_program);
  tcase_add_test(tube, tubes_at_their_limits);
  TCase *follow = tcase_create("store and load");
  tcase_add_test(follow, room_is_as_rated);
  tcase_add_test(follow, free_air_is_pressed);
  tcase_add_test(follow, a_bottle_of_the_trade);
  tcase_add_test(follow, vehicles_by_hand);
  tcase_add_test(follow, store_and_load_follow_changes);
  suite_add_tcase(suite, follow);
  suite_add_tcase(suite, size);
  suite_add_tcase(suite, tube);
  return support_run(suite, NULL);
}
