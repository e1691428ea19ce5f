/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading good machine files: every value in SI, every default, shares of the stroke, the forms of
 * numbers, overrides. Expected values are worked out here from the definitions of the units.
 */
#include "base/constants.h"
#include "machine/check.h"
#include "machine/read.h"
#include "machine_text.h"
#include "physics/air.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

/* Exact by the international yard and pound agreement and the standard gravity. */
#define INCH 0.0254
#define FOOT 0.3048
#define POUND_FORCE 4.4482216152605
#define PSI (POUND_FORCE / (INCH * INCH))
#define DEGREE (LB_PI / 180)

/* The sum of the least machine and further lines; static buffer. */
static const char *with(const char *lines) {
  static char text[4096];
  snprintf(text, sizeof text, "%s%s", machine_text_least, lines);
  return text;
}

static struct lb_machine demo(const char *name) {
  struct lb_errors errors = {0};
  struct lb_machine machine;
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_read(&text, support_source(name), &errors), LB_OK);
  enum lb_status status = lb_machine_read(&machine, NULL, text, &errors);
  ck_assert_msg(status == LB_OK, "%s: %s", errors.count ? errors.item[0].key : "",
                errors.count ? errors.item[0].text : "");
  lb_textfile_free(text);
  lb_errors_free(&errors);
  return machine;
}

START_TEST(trolley_whole) {
  struct lb_machine m = demo("data/machines/trolley.ini");
  double ambient = lb_air_pressure_at_height(180);
  ck_assert_str_eq(m.name, "Garden-railway trolley");
  ck_assert_int_eq(m.cylinders, 1);
  ck_assert(m.crank_angle[0] == 0 && m.clockwise);
  ck_assert(m.ambient_pressure == ambient);
  ck_close(m.ambient_temperature, 291.15, 1e-12);
  ck_assert(m.humidity_given && !m.dew_point_given);
  ck_close_relative(m.humidity, 0.55, EXACT);
  ck_close_relative(m.supply_pressure, ambient + 3.6e5, EXACT);
  ck_close(m.supply_temperature, 291.15, 1e-12);
  ck_assert(m.back_pressure == ambient);
  ck_assert(m.expansion_exponent == LB_GAMMA && m.compression_exponent == LB_GAMMA);
}
END_TEST

START_TEST(trolley_cylinder) {
  struct lb_machine m = demo("data/machines/trolley.ini");
  ck_assert(m.works[LB_CAP_END] && m.works[LB_ROD_END]);
  ck_close_relative(m.bore, 0.05, EXACT);
  ck_close_relative(m.linkage.stroke, 0.1, EXACT);
  ck_close_relative(m.rod_diameter, 0.02, EXACT);
  ck_assert(m.through_rod_diameter == 0);
  ck_close_relative(m.dead_volume[LB_CAP_END], 16e-6, EXACT);
  ck_close_relative(m.dead_volume[LB_ROD_END], 18e-6, EXACT);
  ck_assert(m.friction == 14 && m.breakaway_friction == 20 && m.leakage == 0);
  ck_close_relative(m.friction_share, 0.04, EXACT);
  ck_assert(m.wall_heat_transfer == 40 && m.piston_speed_limit == 1);
  ck_close_relative(m.rated_pressure, m.ambient_pressure + 10e5, EXACT);
  ck_assert_int_eq(m.linkage.kind, LB_SWINGING);
  ck_close_relative(m.linkage.length, 0.33, EXACT);
  ck_close_relative(m.linkage.crank_radius, 0.05, EXACT);
}
END_TEST

START_TEST(trolley_timing) {
  struct lb_machine m = demo("data/machines/trolley.ini");
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_timing *t = &m.timing[end];
    ck_assert(t->cutoff_given && !t->angles_are_switching && t->opening_ramp_time == 0);
    ck_close_relative(t->inlet_opens, -3 * DEGREE, EXACT);
    ck_close_relative(t->cutoff, 78 * DEGREE, EXACT);
    ck_close_relative(t->release, 172 * DEGREE, EXACT);
    ck_close_relative(t->exhaust_closes, 346 * DEGREE, EXACT);
    ck_close_relative(t->opening_ramp, 4 * DEGREE, EXACT);
  }
}
END_TEST

START_TEST(trolley_bench) {
  struct lb_machine m = demo("data/machines/trolley.ini");
  const struct lb_switch_disc *disc = &m.switch_disc;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    ck_close_relative(m.valve_delay[valve].on, 9e-3, EXACT);
    ck_close_relative(m.valve_delay[valve].off, 11e-3, EXACT);
  }
  ck_assert(disc->given && disc->bolt_count == 3 && !m.cam.given);
  ck_close_relative(disc->outer_diameter, 0.13, EXACT);
  ck_close_relative(disc->bore, 0.015, EXACT);
  ck_close_relative(disc->keyway_width, 0.005, EXACT);
  ck_close_relative(disc->keyway_depth, 0.0023, EXACT);
  ck_close_relative(disc->bolt_circle, 0.04, EXACT);
  ck_close_relative(disc->bolt_hole, 0.0053, EXACT);
  ck_close_relative(disc->track_radius, 0.065 - 0.006, EXACT);
  ck_close_relative(disc->track_width, 0.006, EXACT);
  ck_close_relative(disc->track_spacing, 0.006 + 0.002, EXACT);
  ck_close_relative(disc->switch_offset, LB_PI / 2, EXACT);
  ck_close_relative(disc->compensated_speed, 4 * LB_PI, EXACT); /* two turns a second */
  ck_assert(m.encoder.given && m.encoder.counts_per_turn == 360 && m.encoder.quadrupled);
  ck_assert(m.encoder.offset == 0 && !m.encoder.counts_down);
}
END_TEST

START_TEST(pump_has_cams) {
  struct lb_machine m = demo("data/machines/pump.ini");
  ck_assert(m.cam.given && !m.cam.cycloidal && !m.switch_disc.given && !m.encoder.given);
  ck_close_relative(m.cam.base_radius, 0.03, EXACT);
  ck_close_relative(m.cam.lift, 0.0025, EXACT);
  ck_close_relative(m.cam.roller_radius, 0.006, EXACT);
  ck_close_relative(m.cam.bore, 0.02, EXACT);
  ck_close_relative(m.cam.pressure_angle_limit, LB_PI / 6, EXACT);
  ck_close_relative(m.timing[LB_CAP_END].opening_ramp, 18 * DEGREE, EXACT);
}
END_TEST

START_TEST(pump_leaves_the_cutoff_open) {
  struct lb_machine m = demo("data/machines/pump.ini");
  ck_assert_int_eq(m.cylinders, 2);
  ck_close_relative(m.crank_angle[1], LB_PI, EXACT);
  ck_assert(m.works[LB_CAP_END] && !m.works[LB_ROD_END] && !m.clockwise);
  ck_assert(!m.timing[LB_CAP_END].cutoff_given && m.timing[LB_CAP_END].cutoff == 0);
  ck_assert(m.ambient_pressure == 100600);
  ck_close_relative(m.back_pressure, 100600 + 8000, EXACT);
  ck_close(m.dew_point, 276.15, 1e-12);
  ck_assert(m.dew_point_given && m.expansion_exponent == 1.3 && m.compression_exponent == 1.3);
  ck_assert_int_eq(m.linkage.kind, LB_CONNECTING_ROD);
  /* Over a revolution the friction takes what the pressure gives: 2 F S = p A S. */
  double area = LB_PI / 4 * 0.063 * 0.063;
  ck_close_relative(2 * m.friction, 0.25e5 * area, IDENTITY);
  ck_assert(m.breakaway_friction == m.friction);
}
END_TEST

START_TEST(launch_in_inches) {
  struct lb_machine m = demo("data/machines/launch.ini");
  ck_assert_int_eq(m.cylinders, 3);
  ck_close_relative(m.crank_angle[1], 120 * DEGREE, EXACT);
  ck_close_relative(m.crank_angle[2], 240 * DEGREE, EXACT);
  ck_close_relative(m.bore, 1.5 * INCH, EXACT);
  ck_close_relative(m.linkage.stroke, 2 * INCH, EXACT);
  ck_close_relative(m.rod_diameter, 0.5 * INCH, EXACT);
  ck_close_relative(m.dead_volume[LB_CAP_END], 0.30 * INCH * INCH * INCH, EXACT);
  ck_close_relative(m.friction, 3 * POUND_FORCE, EXACT);
  ck_assert(m.ambient_pressure == lb_air_pressure_at_height(350 * FOOT));
  ck_close_relative(m.supply_pressure, m.ambient_pressure + 80 * PSI, EXACT);
  ck_close(m.supply_temperature, (60 + 459.67) * 5 / 9, 1e-12);
  ck_close(m.ambient_temperature, (68 + 459.67) * 5 / 9, 1e-12);
  /* The yoke's travel is S sin^2(angle/2), and S cos^2(angle/2) is left of it on the way back. */
  const struct lb_timing *cap = &m.timing[LB_CAP_END], *rod = &m.timing[LB_ROD_END];
  ck_close(cap->cutoff, 2 * asin(sqrt(0.40)), IDENTITY);
  ck_close(rod->cutoff, 2 * asin(sqrt(0.42)), IDENTITY);
  ck_close(cap->release, 2 * asin(sqrt(0.96)), IDENTITY);
  ck_close(rod->release, cap->release, IDENTITY);
  ck_close(rod->exhaust_closes, 2 * LB_PI - 2 * asin(sqrt(0.15)), IDENTITY);
}
END_TEST

/* The least machine: everything else is a default. */
START_TEST(defaults_of_the_whole) {
  struct lb_machine m = machine_text(machine_text_least, NULL);
  ck_assert_str_eq(m.name, "Unnamed machine");
  ck_assert_int_eq(m.cylinders, 1);
  ck_assert(m.crank_angle[0] == 0 && m.clockwise);
  ck_assert(m.ambient_pressure == 101325);
  ck_close(m.ambient_temperature, 293.15, 1e-12);
  ck_assert(!m.humidity_given && !m.dew_point_given && m.humidity == 0 && m.dew_point == 0);
  ck_assert(m.supply_pressure == 701325 && m.supply_temperature == m.ambient_temperature);
  ck_assert(m.back_pressure == 101325);
  ck_assert(m.expansion_exponent == 1.4 && m.compression_exponent == 1.4);
  ck_assert(m.works[LB_CAP_END] && m.works[LB_ROD_END] && m.through_rod_diameter == 0);
  ck_assert(m.friction == 0 && m.friction_share == 0 && m.breakaway_friction == 0);
  ck_assert(m.leakage == 0 && m.wall_heat_transfer == 0);
  ck_assert(m.piston_speed_limit == 0 && m.rated_pressure == 0 && m.linkage.offset == 0);
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_timing *t = &m.timing[end];
    ck_assert(!t->cutoff_given && t->inlet_opens == 0 && t->cutoff == 0);
    ck_assert(t->release == LB_PI && t->exhaust_closes == 2 * LB_PI);
    ck_assert(t->opening_ramp == 0 && t->opening_ramp_time == 0 && !t->angles_are_switching);
  }
}
END_TEST

/* Nothing is made at the bench unless its section is there; then it has its defaults. */
START_TEST(defaults_of_the_bench) {
  struct lb_machine m = machine_text(machine_text_least, NULL);
  ck_assert(!m.switch_disc.given && !m.cam.given && !m.encoder.given);
  for (int valve = 0; valve < LB_VALVES; valve++)
    ck_assert(m.valve_delay[valve].on == 0 && m.valve_delay[valve].off == 0);
  m = machine_text(with("[switch disc]\nouter diameter = 100 mm\nbore = 10 mm\n"
                        "[cam]\nbase radius = 20 mm\nlift = 3 mm\nroller radius = 6 mm\n"
                        "[encoder]\ncounts per turn = 100\n[inlet valve]\noff delay = 7 ms\n"),
                   NULL);
  const struct lb_switch_disc *disc = &m.switch_disc;
  ck_assert(disc->keyway_width == 0 && disc->keyway_depth == 0 && disc->bolt_circle == 0);
  ck_assert(disc->bolt_count == 0 && disc->bolt_hole == 0 && disc->switch_offset == 0);
  ck_assert(disc->compensated_speed == 0);
  ck_close_relative(disc->least_arc, 0.002, EXACT);
  ck_close_relative(disc->track_width, 0.006, EXACT);
  ck_close_relative(disc->track_spacing, 0.008, EXACT);
  ck_close_relative(disc->track_radius, 0.044, EXACT);
  ck_assert(m.cam.bore == 0 && !m.cam.cycloidal);
  ck_close_relative(m.cam.pressure_angle_limit, 30 * DEGREE, EXACT);
  ck_assert(!m.encoder.quadrupled && m.encoder.offset == 0 && !m.encoder.counts_down);
  ck_assert(m.valve_delay[LB_INLET_VALVE].on == 0 && m.valve_delay[LB_EXHAUST_VALVE].off == 0);
  ck_close_relative(m.valve_delay[LB_INLET_VALVE].off, 0.007, EXACT);
}
END_TEST

/* Tracks lie from the edge inwards by what is said of them. */
START_TEST(tracks_follow) {
  struct lb_machine m = machine_text(with("[switch disc]\nouter diameter = 200 mm\n"
                                          "bore = 10 mm\ntrack width = 5 mm\n"),
                                     NULL);
  ck_close_relative(m.switch_disc.track_radius, 0.095, EXACT);
  ck_close_relative(m.switch_disc.track_spacing, 0.007, EXACT);
  m = machine_text(with("[switch disc]\nouter diameter = 200 mm\nbore = 10 mm\n"
                        "track spacing = 12 mm\ntrack radius = 80 mm\n"),
                   "switch disc.track width=5 mm");
  ck_close_relative(m.switch_disc.track_radius, 0.08, EXACT);
  ck_close_relative(m.switch_disc.track_spacing, 0.012, EXACT);
  m = machine_text(with("[encoder]\ncounts per turn = 500\nmultiply = 4\noffset = -12 deg\n"
                        "direction = against rotation\n[cam]\nmotion law = Cycloidal\n"
                        "base radius = 1 in\nlift = 1/8 in\nroller radius = 1/4 in\n"),
                   NULL);
  ck_assert(m.encoder.quadrupled && m.encoder.counts_down && m.cam.cycloidal);
  ck_close_relative(m.encoder.offset, -12 * DEGREE, EXACT);
  ck_close_relative(m.cam.lift, INCH / 8, EXACT);
}
END_TEST

/* Defaults that follow from what is given. */
START_TEST(defaults_that_follow) {
  struct lb_machine m = machine_text(with("[machine]\ncylinders = 4\n"
                                          "[surroundings]\npressure = 950 hPa absolute\n"
                                          "temperature = 5 degC\n[air]\nexpansion = 1.2\n"),
                                     NULL);
  for (int k = 0; k < 4; k++)
    ck_close(m.crank_angle[k], k * LB_PI / 2, EXACT);
  ck_assert(m.back_pressure == 95000);
  ck_close_relative(m.supply_pressure, 695000, EXACT);
  ck_close(m.supply_temperature, 278.15, 1e-12);
  ck_assert(m.compression_exponent == 1.2);
  m = machine_text(with("[air]\nexpansion = isothermal\ncompression = adiabatic\n"), NULL);
  ck_assert(m.expansion_exponent == 1 && m.compression_exponent == LB_GAMMA);
  m = machine_text(with("[air]\ncompression = 1.1\n"), NULL);
  ck_assert(m.expansion_exponent == LB_GAMMA && m.compression_exponent == 1.1);
}
END_TEST

/* What is not said of store, regulator and load. */
START_TEST(defaults_of_the_store) {
  struct lb_machine m = machine_text(machine_text_least, NULL);
  ck_assert(!m.store.given && !m.regulator.given && !m.supply_temperature_given);
  ck_assert(m.load_torque == 0 && m.load.mass == 0 && m.load.gearing == 1);
  ck_assert(m.load.drive_efficiency == 1 && m.load.coasting == LB_COASTING_NONE);
  m = machine_text(with("[surroundings]\ntemperature = 5 degC\n[supply]\ntemperature = 60 degC\n"
                        "[store]\nrating = 10 L at 200 bar absolute\n[regulator]\n"),
                   NULL);
  ck_assert(m.store.given && m.store.heat == LB_STORE_ISOTHERMAL && m.supply_temperature_given);
  ck_close(m.store.temperature, 278.15, 1e-12);
  ck_close_relative(m.store.start_pressure, 200e5, EXACT);
  ck_assert(m.store.lowest_pressure == 0 && m.store.leakage == 0 && m.store.vessel_mass == 0);
  ck_assert(m.store.marked_pressure == 0 && m.store.time_constant == 0);
  ck_assert(m.regulator.given && m.regulator.set_pressure == m.supply_pressure);
  ck_assert(m.regulator.droop == 0 && m.regulator.least_difference == 0);
}
END_TEST

START_TEST(store_in_full) {
  struct lb_machine m =
      machine_text(with("[store]\nvolume = 50 L\nstart pressure = 30 bar absolute\n"
                        "lowest pressure = 7 bar absolute\ntemperature = 300 K\nheat = 20 min\n"
                        "leakage = 0.01 L/(s bar)\nvessel mass = 11 lb\n"
                        "marked pressure = 40 bar absolute\n[regulator]\n"
                        "set pressure = 8 bar absolute\ndroop = 0.1 bar/(L/s)\n"
                        "least difference = 0.5 bar\n"),
                   NULL);
  ck_close_relative(m.store.volume, 0.05, EXACT);
  ck_close_relative(m.store.start_pressure, 30e5, EXACT);
  ck_close_relative(m.store.lowest_pressure, 7e5, EXACT);
  ck_close_relative(m.store.temperature, 300, EXACT);
  ck_assert(m.store.heat == LB_STORE_TIME_CONSTANT);
  ck_close_relative(m.store.time_constant, 1200, EXACT);
  ck_close_relative(m.store.leakage, 1e-10, EXACT);
  ck_close_relative(m.store.vessel_mass, 11 * 0.45359237, EXACT);
  ck_close_relative(m.store.marked_pressure, 40e5, EXACT);
  ck_close_relative(m.regulator.set_pressure, 8e5, EXACT);
  ck_close_relative(m.regulator.droop, 1e7, EXACT);
  ck_close_relative(m.regulator.least_difference, 0.5e5, EXACT);
  m = machine_text(with("[store]\nrating = 10 L at 200 bar gauge\nstart pressure = 150 bar gauge\n"
                        "heat = Adiabatic\n"),
                   NULL);
  ck_close_relative(m.store.start_pressure, 150e5 + LB_ATMOSPHERE, EXACT);
  ck_assert(m.store.heat == LB_STORE_ADIABATIC && m.store.time_constant == 0);
}
END_TEST

START_TEST(load_in_full) {
  struct lb_machine m = machine_text(with("[load]\nmass = 0.3 t\nrolling resistance = 0.6 %\n"
                                          "drag area = 0.6 m2\ngradient = -1.5 %\n"
                                          "head wind = 18 km/h\nwheel diameter = 8 in\n"
                                          "wheel turns per crank turn = 0.4\n"
                                          "drive efficiency = 95 %\ncoasting = motoring\n"),
                                     NULL);
  ck_close_relative(m.load.mass, 300, EXACT);
  ck_close_relative(m.load.rolling_resistance, 0.006, EXACT);
  ck_close_relative(m.load.drag_area, 0.6, EXACT);
  ck_close_relative(m.load.gradient, -0.015, EXACT);
  ck_close_relative(m.load.head_wind, 5, EXACT);
  ck_close_relative(m.load.wheel_diameter, 8 * INCH, EXACT);
  ck_close_relative(m.load.gearing, 0.4, EXACT);
  ck_close_relative(m.load.drive_efficiency, 0.95, EXACT);
  ck_assert(m.load.coasting == LB_COASTING_MOTORING);
  m = machine_text(with("[load]\ntorque = 2 N m\ntorque per speed = 0.3 N m s/rad\n"
                        "torque per speed squared = 0.04 N m s2/rad2\ncoasting = freewheel\n"),
                   NULL);
  ck_assert(m.load_torque == 2 && m.load.coasting == LB_COASTING_FREEWHEEL);
  ck_close_relative(m.load.torque_per_speed, 0.3, EXACT);
  ck_close_relative(m.load.torque_per_speed_squared, 0.04, EXACT);
}
END_TEST

static const struct {
  const char *written;
  double metres;
} lengths[] = {
    {"12,5 mm", 12.5e-3},    {"0,250 m", 0.25},    {"1-1/4 in", 1.25 * INCH},
    {"1-1/2\"", 1.5 * INCH}, {"5e-2 m", 0.05},     {"50mm   ; measured twice", 0.05},
    {"+50 mm", 0.05},        {"50\u00a0mm", 0.05}, /* a blank that does not break */
};

/* The exhaust shuts at dead centre, or where the inlet opens before it, end by end. */
START_TEST(exhaust_closes_by_itself) {
  struct lb_machine m = machine_text(with("[timing]\ninlet opens = -5 deg\n"
                                          "[timing rod end]\ninlet opens = 4 deg\n"),
                                     NULL);
  ck_close(m.timing[LB_CAP_END].exhaust_closes, 355 * DEGREE, 1e-14);
  ck_assert(m.timing[LB_ROD_END].exhaust_closes == 2 * LB_PI);
  m = machine_text(with("[timing]\ninlet opens = -5 deg\nexhaust closes = 350 deg\n"), NULL);
  ck_close(m.timing[LB_CAP_END].exhaust_closes, 350 * DEGREE, 1e-14);
  m = machine_text(with("[timing]\ninlet opens = -5 deg\n[timing cap end]\n"
                        "exhaust closes = 340 deg\n"),
                   NULL);
  ck_close(m.timing[LB_CAP_END].exhaust_closes, 340 * DEGREE, 1e-14);
  ck_close(m.timing[LB_ROD_END].exhaust_closes, 355 * DEGREE, 1e-14);
}
END_TEST

START_TEST(forms_of_numbers) {
  size_t count = sizeof lengths / sizeof lengths[0];
  ck_assert_uint_eq(count, 8);
  for (size_t i = 0; i < count; i++) {
    char text[1024];
    snprintf(text, sizeof text,
             "[cylinder]\nacting = cap end\nbore = %s\nstroke = 100 mm\n"
             "dead volume cap end = 1 cm3\n[supply]\npressure = 6 barg\n[linkage]\nkind = yoke\n",
             lengths[i].written);
    ck_close_relative(machine_text(text, NULL).bore, lengths[i].metres, EXACT);
  }
  struct lb_machine m = machine_text(with("[timing]\ninlet opens = \u22122,5 deg\n"
                                          "exhaust closes = 357\u00b0\n"),
                                     NULL);
  ck_close_relative(m.timing[LB_CAP_END].inlet_opens, -2.5 * DEGREE, EXACT);
  ck_close_relative(m.timing[LB_ROD_END].exhaust_closes, 357 * DEGREE, EXACT);
}
END_TEST

/* Sections and keys in any case and spacing; CRLF; a byte order mark. */
START_TEST(forms_of_text) {
  struct lb_machine m = machine_text("\xEF\xBB\xBF[Cylinder]\r\nACTING = Rod  End\r\n"
                                     "Bore=50 mm\r\nstroke = 100 mm # measured\r\n"
                                     "Piston   Rod = 20 mm\r\ndead volume rod end = 18 cm3\r\n"
                                     "[SUPPLY]\r\npressure = 87 PSIG\r\n"
                                     "[linkage]\r\nkind = YOKE\r\n",
                                     NULL);
  ck_assert(!m.works[LB_CAP_END] && m.works[LB_ROD_END]);
  ck_close_relative(m.supply_pressure, 101325 + 87 * PSI, EXACT);
  ck_assert_int_eq(m.linkage.kind, LB_YOKE);
}
END_TEST

/* With an offset the ends have strokes of their own; each share is one of its own stroke. */
START_TEST(shares_of_an_offset_linkage) {
  struct lb_machine m =
      machine_text("[cylinder]\nbore = 50 mm\nstroke = 100 mm\npiston rod = 20 mm\n"
                   "dead volume cap end = 16 cm3\ndead volume rod end = 18 cm3\n"
                   "[supply]\npressure = 6 bar gauge\n"
                   "[linkage]\nkind = connecting rod\nconnecting rod = 180 mm\noffset = 25 mm\n"
                   "[timing]\ncut-off = 35 % of stroke\nrelease = 0,95 of stroke\n"
                   "exhaust closes = 90 % OF  return stroke\n",
                   NULL);
  ck_assert(m.linkage.outward > LB_PI);
  for (int e = 0; e < LB_ENDS; e++) {
    enum lb_end end = (enum lb_end)e;
    const struct lb_timing *t = &m.timing[end];
    ck_close(lb_linkage_distance(&m.linkage, end, t->cutoff), 0.035, IDENTITY);
    ck_close(lb_linkage_distance(&m.linkage, end, t->release), 0.095, IDENTITY);
    ck_close(lb_linkage_distance(&m.linkage, end, t->exhaust_closes), 0.010, IDENTITY);
    double turn = lb_linkage_stroke_angle(&m.linkage, end);
    ck_assert(t->cutoff > 0 && t->release < turn && t->exhaust_closes > turn);
  }
  ck_assert(fabs(m.timing[LB_CAP_END].cutoff - m.timing[LB_ROD_END].cutoff) > 0.05);
}
END_TEST

START_TEST(whole_strokes) {
  struct lb_machine m = machine_text(with("[timing]\ncut-off = 100 % of stroke\n"
                                          "exhaust closes = 100 % of return stroke\n"),
                                     NULL);
  ck_close(m.timing[LB_ROD_END].cutoff, LB_PI, EXACT);
  ck_close(m.timing[LB_CAP_END].exhaust_closes, 2 * LB_PI, EXACT);
}
END_TEST

/* An end's own section goes before [timing], wherever each stands and in whatever form. */
START_TEST(ends_of_their_own) {
  struct lb_machine m = machine_text(with("[timing rod end]\ncut-off = 90 deg\n"
                                          "opening ramp = 6 ms\nangles mean = switching\n"
                                          "[timing]\ncut-off = 50 % of stroke\n"
                                          "opening ramp = 5 deg\n"
                                          "[timing cap end]\nrelease = 80 % of stroke\n"),
                                     NULL);
  const struct lb_timing *cap = &m.timing[LB_CAP_END], *rod = &m.timing[LB_ROD_END];
  ck_close(lb_linkage_distance(&m.linkage, LB_CAP_END, cap->cutoff), 0.05, IDENTITY);
  ck_close_relative(rod->cutoff, LB_PI / 2, EXACT);
  ck_close(lb_linkage_distance(&m.linkage, LB_CAP_END, cap->release), 0.08, IDENTITY);
  ck_assert(rod->release == LB_PI);
  ck_close_relative(cap->opening_ramp, 5 * DEGREE, EXACT);
  ck_close_relative(rod->opening_ramp_time, 6e-3, EXACT);
  ck_assert(cap->opening_ramp_time == 0 && rod->opening_ramp == 0);
  ck_assert(!cap->angles_are_switching && rod->angles_are_switching);
}
END_TEST

START_TEST(friction_from_running_light) {
  struct lb_machine m = machine_text(
      "[cylinder]\nruns light at = 0.3 bar gauge\nbore = 50 mm\nstroke = 100 mm\n"
      "piston rod = 20 mm\ndead volume cap end = 16 cm3\ndead volume rod end = 18 cm3\n"
      "[supply]\npressure = 6 bar gauge\n[linkage]\nkind = yoke\n[machine]\n"
      "cylinders = 3\n",
      NULL);
  /* Per revolution: pressure times swept volume of one cylinder = friction times two strokes. */
  ck_close_relative(m.friction * 2 * 0.1, 0.3e5 * lb_machine_swept_volume(&m) / 3, IDENTITY);
}
END_TEST

/* A machine that sucks: supplied with the surroundings' air, exhausting into a vacuum pump. */
START_TEST(vacuum_machine) {
  struct lb_machine m = machine_text(with("[exhaust]\nback pressure = -0.6 bar gauge\n"),
                                     "supply.pressure=0 bar gauge");
  ck_assert(m.supply_pressure == m.ambient_pressure);
  ck_close_relative(m.back_pressure, 101325 - 60000, EXACT);
}
END_TEST

START_TEST(overrides) {
  struct lb_machine m = machine_text(machine_text_least, "supply.pressure=3.8 bara");
  ck_close_relative(m.supply_pressure, 3.8e5, EXACT);
  m = machine_text(machine_text_least, "timing.cut-off = 70 deg");
  ck_close_relative(m.timing[LB_ROD_END].cutoff, 70 * DEGREE, EXACT);
  m = machine_text(machine_text_least, "Timing Rod End.cut-off=70 deg");
  ck_assert(!m.timing[LB_CAP_END].cutoff_given);
  ck_close_relative(m.timing[LB_ROD_END].cutoff, 70 * DEGREE, EXACT);
  /* Void at one working end only: it still holds for the other. */
  m = machine_text(with("[timing cap end]\ncut-off = 80 deg\n"), "timing.cut-off=70 deg");
  ck_close_relative(m.timing[LB_CAP_END].cutoff, 80 * DEGREE, EXACT);
  ck_close_relative(m.timing[LB_ROD_END].cutoff, 70 * DEGREE, EXACT);
}
END_TEST

START_TEST(what_the_text_gave) {
  struct lb_machine m;
  struct lb_given given;
  struct lb_textfile *text = machine_text_keep(
      &m, &given, with("[timing]\ncut-off = 80 deg\n[timing rod end]\ncut-off = 85 deg\n"),
      "supply.pressure=5 bar gauge");
  size_t entries = 0;
  for (int end = 0; end <= LB_ENDS; end++)
    for (size_t i = 0; i < LB_KEYS_MOST; i++)
      entries += given.entry[end][i] != NULL;
  ck_assert_uint_eq(entries, lb_textfile_count(text));
  const struct lb_key *cutoff = lb_keys_find(NULL, "timing", "cut-off");
  const struct lb_key *pressure = lb_keys_find(NULL, "supply", "pressure");
  ck_assert_int_eq(given.entry[LB_ENDS][lb_keys_index(pressure)]->set, 1);
  ck_assert_str_eq(given.entry[LB_ROD_END][lb_keys_index(cutoff)]->value, "85 deg");
  ck_assert_int_eq(lb_keys_deciding(&given, cutoff, LB_CAP_END), LB_ENDS);
  ck_assert_int_eq(lb_keys_deciding(&given, cutoff, LB_ROD_END), LB_ROD_END);
  lb_textfile_free(text);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("reading machines");
  TCase *demos = tcase_create("demos"), *defaults = tcase_create("defaults"),
        *forms = tcase_create("forms"), *timing = tcase_create("timing");
  tcase_add_test(demos, trolley_whole);
  tcase_add_test(demos, trolley_cylinder);
  tcase_add_test(demos, trolley_timing);
  tcase_add_test(demos, trolley_bench);
  tcase_add_test(demos, pump_has_cams);
  tcase_add_test(demos, pump_leaves_the_cutoff_open);
  tcase_add_test(demos, launch_in_inches);
  tcase_add_test(defaults, defaults_of_the_whole);
  tcase_add_test(defaults, defaults_of_the_bench);
  tcase_add_test(defaults, tracks_follow);
  tcase_add_test(defaults, defaults_that_follow);
  tcase_add_test(defaults, defaults_of_the_store);
  tcase_add_test(defaults, store_in_full);
  tcase_add_test(defaults, load_in_full);
  tcase_add_test(defaults, exhaust_closes_by_itself);
  tcase_add_test(defaults, friction_from_running_light);
  tcase_add_test(defaults, vacuum_machine);
  tcase_add_test(forms, forms_of_numbers);
  tcase_add_test(forms, forms_of_text);
  tcase_add_test(timing, shares_of_an_offset_linkage);
  tcase_add_test(timing, whole_strokes);
  tcase_add_test(timing, ends_of_their_own);
  tcase_add_test(timing, overrides);
  tcase_add_test(timing, what_the_text_gave);
  suite_add_tcase(suite, demos);
  suite_add_tcase(suite, defaults);
  suite_add_tcase(suite, forms);
  suite_add_tcase(suite, timing);
  return support_run(suite, NULL);
}
