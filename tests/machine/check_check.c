/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Checking machines built in code, and the warnings. What a file provokes is in tests/bad; here is
 * what only code can get wrong, and that each rule leaves its neighbours alone.
 */
#include "machine/check.h"
#include "base/constants.h"
#include "machine_text.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

#define DEGREE (LB_PI / 180)

static struct lb_machine sound(void) {
  return machine_text(machine_text_least, NULL);
}

/* One with everything that can be made for it at the bench. */
static struct lb_machine sound_with_bench(void) {
  char text[1024];
  snprintf(
      text, sizeof text,
      "%s[switch disc]\nouter diameter = 130 mm\nbore = 15 mm\nkeyway width = 5 mm\n"
      "keyway depth = 2.3 mm\nbolt circle = 40 mm\nbolt count = 3\nbolt hole = 5 mm\n"
      "[cam]\nbase radius = 20 mm\nlift = 3 mm\nroller radius = 6 mm\nbore = 15 mm\n"
      "[encoder]\ncounts per turn = 360\n"
      "[tube]\nlength = 300 mm\nbore = 4 mm\nserves = exhaust\n"
      "[store]\nvolume = 10 L\nstart pressure = 200 bar gauge\n[regulator]\ndroop = 0 Pa s/m3\n",
      machine_text_least);
  return machine_text(text, NULL);
}

/* The one error of a machine, "[section] key: text"; static buffer. */
static const char *only_error(const struct lb_machine *machine) {
  static char message[sizeof(struct lb_error)];
  struct lb_errors errors = {0};
  enum lb_status status = lb_machine_check(machine, &errors);
  ck_assert_int_eq(status, LB_BAD_INPUT);
  if (errors.count != 1)
    for (size_t i = 0; i < errors.count; i++)
      fprintf(stderr, "%s: %s\n", errors.item[i].key, errors.item[i].text);
  ck_assert_uint_eq(errors.count, 1);
  ck_assert(errors.item[0].line == 0 && errors.item[0].set == 0);
  snprintf(message, sizeof message, "%s: %s", errors.item[0].key, errors.item[0].text);
  lb_errors_free(&errors);
  return message;
}

START_TEST(sound_machines_pass) {
  struct lb_errors errors = {0};
  struct lb_machine m = sound();
  ck_assert_int_eq(lb_machine_check(&m, &errors), LB_OK);
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  /* The edges that are allowed: equal cut-off and release, an exhaust that shuts as the inlet
   * opens, no dead volume where nothing is trapped. */
  for (int end = 0; end < LB_ENDS; end++) {
    m.timing[end].cutoff_given = true;
    m.timing[end].cutoff = m.timing[end].release = 170 * DEGREE;
    m.timing[end].inlet_opens = -3 * DEGREE;
    m.timing[end].exhaust_closes = 357 * DEGREE;
    m.dead_volume[end] = 0;
  }
  ck_assert_int_eq(lb_machine_check(&m, &errors), LB_OK);
  ck_assert_uint_eq(errors.count, 0);
}
END_TEST

/* Any number of the machine that is not finite is found and named. */
START_TEST(numbers_are_finite) {
  static const double wrong[] = {(double)NAN, (double)INFINITY, (double)-INFINITY};
  int tried = 0;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool kept = key->kind == LB_KEY_QUANTITY || key->kind == LB_KEY_EVENT ||
                key->kind == LB_KEY_EXPONENT || key->kind == LB_KEY_GRADIENT;
    bool vehicle = key->when == LB_WHEN_VEHICLE || strcmp(key->name, "mass") == 0;
    if (!kept || key->restates)
      continue;
    for (int w = 0; w < 3; w++) {
      struct lb_machine m = sound_with_bench();
      char expected[600];
      if (key->when == LB_WHEN_CONNECTING_ROD)
        ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_CONNECTING_ROD, 0.1, 0.3, 0, NULL), LB_OK);
      if (vehicle)
        m.load = (struct lb_load){
            .mass = 200, .wheel_diameter = 0.2, .gearing = 1, .drive_efficiency = 1};
      lb_keys_put(key, key->of_end ? LB_ROD_END : LB_ENDS, &m, wrong[w]);
      snprintf(expected, sizeof expected, "[%s] %s: not a finite number; %s",
               lb_keys_section(key, LB_ROD_END), key->name, key->limits);
      ck_assert_str_eq(only_error(&m), expected);
      tried++;
    }
  }
  /* 11 before [cylinder], 14 in it, 3 of the linkage, 4 events, 11 of the load; 7 of the store, 3
   * of the regulator, 13 of each valve, 2 of the tube, 12 of the disc, 5 of the cam, 1 of the
   * encoder. */
  ck_assert_int_eq(tried, 3 * (43 + 56));
}
END_TEST

START_TEST(limits_are_tested) {
  struct lb_machine m = sound();
  m.cylinders = 25;
  ck_assert_str_eq(
      only_error(&m),
      "[machine] cylinders: '25' is too large; a crank carries 1 to 24 cylinders here");
  m = sound();
  m.timing[LB_CAP_END].opening_ramp = -1 * DEGREE;
  ck_assert_str_eq(only_error(&m), "[timing cap end] opening ramp: '-1 deg' is too small; a valve "
                                   "takes between 0 and 180 deg, or between 0 and 1 s, to open");
}
END_TEST

START_TEST(what_only_code_gets_wrong) {
  struct lb_machine m = sound();
  m.works[LB_CAP_END] = m.works[LB_ROD_END] = false;
  ck_assert_str_eq(only_error(&m),
                   "[cylinder] acting: neither end works; let one end or both be fed");
  m = sound();
  m.name[0] = '\0';
  ck_assert_str_eq(only_error(&m), "[machine] name: the machine has no name; give it one");
  memset(m.name, 'a', sizeof m.name);
  ck_assert_str_eq(only_error(&m), "[machine] name: the machine has no name; give it one");
  m = sound();
  m.crank_angle[0] = (double)NAN;
  ck_assert_str_eq(only_error(&m),
                   "[machine] crank angles: the angle of cylinder 1 lies outside one turn; give 0 "
                   "deg or more and less than 360 deg");
  m = sound();
  m.timing[LB_ROD_END].opening_ramp_time = (double)NAN;
  ck_assert_str_eq(only_error(&m), "[timing rod end] opening ramp: the valve's opening time lies "
                                   "outside 0 to 1 s; give it within");
  m.timing[LB_ROD_END].opening_ramp_time = 0.01;
  m.timing[LB_ROD_END].opening_ramp = 4 * DEGREE;
  ck_assert_str_eq(only_error(&m), "[timing rod end] opening ramp: a ramp of 4 deg and one of 0.01 "
                                   "s; set one of them to 0");
}
END_TEST

START_TEST(linkage_is_set_up) {
  struct lb_machine m = sound();
  m.linkage.stroke = 0.12; /* without lb_linkage_init */
  ck_assert_str_eq(only_error(&m), "[linkage] pivot distance: the linkage does not fit its own "
                                   "dimensions; set it up with lb_linkage_init");
  m = sound();
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  m.linkage.crank_radius = 0.07;
  ck_assert_str_eq(only_error(&m), "[linkage] kind: the linkage does not fit its own dimensions; "
                                   "set it up with lb_linkage_init");
  m = sound();
  m.linkage.kind = (enum lb_linkage_kind)7;
  ck_assert_str_eq(only_error(&m), "[linkage] kind: not a kind of linkage; let it be a connecting "
                                   "rod, swinging or a yoke");
}
END_TEST

/* An end that does not work may have any timing; one that works has its own section named. */
START_TEST(idle_ends_are_left_alone) {
  struct lb_machine m = sound();
  m.timing[LB_ROD_END].release = 20;
  ck_assert(strncmp(only_error(&m), "[timing rod end] release:", 25) == 0);
  m.works[LB_ROD_END] = false;
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
}
END_TEST

/* No dead volume is no trap when the exhaust stays open or the inlet opens before dead centre. */
START_TEST(traps) {
  struct lb_machine m = sound();
  m.dead_volume[LB_CAP_END] = 0;
  m.timing[LB_CAP_END].exhaust_closes = 340 * DEGREE;
  ck_assert(strstr(only_error(&m), "the air shut in at 340 deg would be squeezed into nothing"));
  m.timing[LB_CAP_END].inlet_opens = -5 * DEGREE;
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
}
END_TEST

/* What is not there may hold anything; what is there must fit. */
START_TEST(only_parts_that_are_there) {
  struct lb_machine m = sound();
  m.switch_disc.bore = -1;
  m.cam.lift = (double)NAN;
  m.encoder.counts_per_turn = -3;
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  m.encoder.given = true;
  ck_assert_str_eq(only_error(&m), "[encoder] counts per turn: '-3' is too small; an encoder gives "
                                   "1 to 100000 counts per turn");
  m = sound_with_bench();
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  m.switch_disc.track_radius = 0;
  ck_assert_str_eq(only_error(&m), "[switch disc] track radius: '0 mm' is too small; the outermost "
                                   "track lies between 1 mm and 1 m from the centre");
}
END_TEST

/* Edges of a disc that touch are allowed: tracks at its edge and at each other, 1 mm of web inside
 * them, as many tracks as there are working ends. */
START_TEST(discs_may_be_full) {
  struct lb_machine m = sound_with_bench();
  struct lb_switch_disc *disc = &m.switch_disc;
  disc->keyway_width = disc->keyway_depth = 0;
  disc->track_spacing = 0.006;
  disc->track_radius = 0.062; /* tracks from 41 to 65 mm */
  disc->bolt_circle = 0.075;  /* holes from 35 to 40 mm */
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  disc->bolt_circle = 0.022; /* from 8.5 to 13.5 mm, about a hole of 7.5 mm */
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  disc->track_radius = 0.0355; /* from 14.5 mm */
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  disc->outer_diameter = 0.077;
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  disc->track_radius = 0.0295; /* 8.5 mm with four tracks, 20.5 mm with two */
  ck_assert(strstr(only_error(&m), "bolt holes come within 1 mm of the tracks"));
  m.works[LB_ROD_END] = false;
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
  m.cam.base_radius = 0.0085; /* 1 mm more than its hole */
  ck_assert_int_eq(lb_machine_check(&m, NULL), LB_OK);
}
END_TEST

/* A length on a bench: in tenths of a millimetre [m]. */
static double tenths(uint64_t *state, double least, double most) {
  return round(support_between(state, least, most) * 1e4) / 1e4;
}

static void random_disc(struct lb_machine *machine, uint64_t *state) {
  struct lb_switch_disc *disc = &machine->switch_disc;
  machine->works[LB_ROD_END] = support_uniform(state) < 0.5;
  disc->outer_diameter = tenths(state, 0.03, 0.3);
  disc->bore = tenths(state, 0.005, 0.02);
  disc->keyway_width = tenths(state, 0.002, 0.004);
  disc->keyway_depth = tenths(state, 0.001, 0.003);
  disc->bolt_count = (int)support_between(state, 1, 13);
  disc->bolt_circle = tenths(state, 0.01, 0.2);
  disc->bolt_hole = tenths(state, 0.002, 0.01);
  disc->track_width = tenths(state, 0.002, 0.012);
  disc->track_spacing = disc->track_width + tenths(state, 0, 0.005);
  disc->track_radius = tenths(state, 0.01, 0.15);
}

/* Take up what a message says would do. */
static void take_up(struct lb_switch_disc *disc, const char *message) {
  double circle, most, outer, radius;
  const char *advice = strchr(message, ';') + 1;
  ck_assert_msg(strstr(advice, " would do") != NULL, "%s", message);
  if (sscanf(advice, " an outer diameter of %lf mm with a track radius of %lf mm", &outer,
             &radius) == 2) {
    disc->outer_diameter = outer / 1000;
    disc->track_radius = radius / 1000;
  } else if (sscanf(advice, " a track radius of %lf mm", &radius) == 1) {
    disc->track_radius = radius / 1000;
  } else if (sscanf(advice, " a circle of %lf to %lf mm", &circle, &most) == 2) {
    ck_assert(circle <= most);
    disc->bolt_circle = (disc->bolt_count % 2 ? circle : most) / 1000;
  } else {
    ck_assert_int_eq(sscanf(advice,
                            " a circle of %lf mm with an outer diameter of %lf mm and a track "
                            "radius of %lf mm",
                            &circle, &outer, &radius),
                     3);
    disc->bolt_circle = circle / 1000;
    disc->outer_diameter = outer / 1000;
    disc->track_radius = radius / 1000;
  }
}

/* What a message says would do does: first the tracks, then the bolts between them and the hub. */
START_TEST(what_would_do_does) {
  uint64_t state = 31;
  int steps[3] = {0};
  for (int i = 0; i < support_times(2000); i++) {
    struct lb_machine m = sound_with_bench();
    int step = 0;
    random_disc(&m, &state);
    for (; lb_machine_check(&m, NULL) != LB_OK; step++) {
      ck_assert_int_lt(step, 2);
      take_up(&m.switch_disc, only_error(&m));
    }
    steps[step]++;
  }
  for (int i = 0; i < 3; i++)
    ck_assert_int_ge(steps[i], support_least(101));
}
END_TEST

/* The warnings of the least machine, without friction, with changes; NULL-terminated codes
 * expected. */
static void expect_warnings(const char *lines, const char *override, const char *const *codes) {
  struct lb_machine m;
  struct lb_given given;
  struct lb_warning warning[LB_WARNINGS_MOST];
  char text[2048];
  snprintf(text, sizeof text, "%s[cylinder]\nfriction = 0 N\n%s", machine_text_least, lines);
  struct lb_textfile *file = machine_text_keep(&m, &given, text, override);
  size_t count = lb_machine_warnings(warning, &m, &given), expected = 0;
  while (codes[expected])
    expected++;
  for (size_t i = 0; i < count && i < expected; i++)
    ck_assert_str_eq(warning[i].code, codes[i]);
  for (size_t i = 0; i < count; i++)
    ck_assert_msg(!strpbrk(warning[i].text, "\n") && warning[i].text[0], "%s", warning[i].code);
  ck_assert_msg(count == expected, "%zu warnings, not %zu, with %s%s", count, expected, lines,
                override ? override : "");
  lb_textfile_free(file);
}

static const struct {
  const char *lines, *override;
  const char *codes[5];
} warned[] = {
    {"", NULL, {NULL}},
    {"", "cylinder.rated pressure=5 bar gauge", {"above_rated_pressure"}},
    {"", "cylinder.rated pressure=6 bar gauge", {NULL}},
    {"", "supply.pressure=12 bar gauge", {NULL}},
    {"", "supply.pressure=12.1 bar gauge", {"supply_high"}},
    {"[cylinder]\nrated pressure = 16 bar gauge\n", "supply.pressure=12.1 bar gauge", {NULL}},
    {"[cylinder]\nrated pressure = 12 bar gauge\n",
     "supply.pressure=12.1 bar gauge",
     {"above_rated_pressure", "supply_high"}},
    {"[exhaust]\nback pressure = 6 bar gauge\n", NULL, {"supply_not_above_back_pressure"}},
    {"[exhaust]\nback pressure = -0.9 bar gauge\n",
     "supply.pressure=-0.1 bar gauge",
     {"supply_below_surroundings"}},
    {"[exhaust]\nback pressure = -0.9 bar gauge\n", "supply.pressure=0 bar gauge", {NULL}},
    {"", "cylinder.dead volume cap end=0 cm3", {"dead_volume_small"}},
    {"", "cylinder.dead volume rod end=60 cm3", {"dead_volume_large"}},
    {"", "cylinder.piston rod=4 mm", {"rod_to_bore"}},
    {"", "cylinder.piston rod=6 mm", {NULL}},
    {"", "cylinder.piston rod=0 mm", {NULL}},
    {"[cylinder]\nacting = cap end\n", "cylinder.piston rod=4 mm", {"no_effect"}},
    {"", "cylinder.friction=300 N", {"friction_large"}},
    {"", "cylinder.friction share=26 %", {"friction_large"}},
    {"[machine]\ncylinders = 3\n", "cylinder.friction=14 N", {NULL}},
    {"[machine]\ncylinders = 3\n", "cylinder.breakaway friction=14 N", {NULL}},
    {"[timing]\nopening ramp = 3 ms\n", NULL, {"only_at_speed"}},
    {"[timing rod end]\nangles mean = switching\n",
     "cylinder.wall heat transfer=40 W/(m2 K)",
     {"only_at_speed"}},
    {"[inlet valve]\non delay = 9 ms\n", NULL, {NULL}},
    {"[timing]\nopening ramp = 30 deg\n[cam]\nbase radius = 30 mm\nlift = 2 mm\n"
     "roller radius = 6 mm\n",
     NULL,
     {NULL}},
    {"[switch disc]\nouter diameter = 130 mm\nbore = 15 mm\n",
     "switch disc.compensated speed=120 rpm",
     {"no_delays"}},
    {"[switch disc]\nouter diameter = 130 mm\nbore = 15 mm\ncompensated speed = 120 rpm\n",
     "exhaust valve.off delay=9 ms",
     {NULL}},
    {"", "cylinder.leakage=0 L/(s bar)", {NULL}},
    {"", "cylinder.piston speed limit=1 m/s", {NULL}},
    {"[timing rod end]\nrelease = 170 deg\n",
     "cylinder.acting=cap end",
     {"no_effect", "no_effect"}},
    {"[timing]\nrelease = 170 deg\n[timing cap end]\nrelease = 171 deg\n"
     "[timing rod end]\nrelease = 172 deg\n",
     NULL,
     {"no_effect"}},
    {"[timing cap end]\nrelease = 171 deg\n", "timing.release=170 deg", {"no_effect"}},
    {"[timing]\nrelease = 170 deg\n[timing cap end]\nrelease = 171 deg\n", NULL, {NULL}},
};

START_TEST(warnings) {
  size_t count = sizeof warned / sizeof warned[0];
  ck_assert_uint_eq(count, 32);
  for (size_t i = 0; i < count; i++)
    expect_warnings(warned[i].lines, warned[i].override, warned[i].codes);
}
END_TEST

/* What a warning says, word for word; values are those of the file. */
static const struct {
  const char *lines, *code, *text;
} told[] = {
    {"", "no_friction",
     "no friction is given, and it is taken as 0; with friction the economical cut-off comes "
     "later, see: lastbar help 'runs light at'"},
    {"[cylinder]\nfriction = 0 N\n", "no_friction", NULL},
    {"[cylinder]\nruns light at = 0.1 bar gauge\n", "no_friction", NULL},
    {"[cylinder]\nfriction share = 5 %\n", "no_friction", NULL},
    {"supply.pressure=60 bar gauge", "supply_high",
     "a supply of 60 bar gauge is high for a cylinder: is this the tank? give the pressure at the "
     "inlet valve, behind the regulator, or a rated pressure that covers it"},
    {"supply.pressure=-1 psig", "supply_not_above_back_pressure",
     "the supply of -1 psig is not above the back pressure of 0 bar gauge (0 psig), so there is no "
     "work to be had; check both"},
    {"cylinder.stroke=10 mm", "stroke_to_bore",
     "a stroke of 10 mm with a bore of 50 mm is 0.2 times the bore, where 0.3 to 12 is usual; "
     "check the unit of both, and that the bore is a diameter"},
    {"[switch disc]\nouter diameter = 130 mm\nbore = 15 mm\ncompensated speed = 120 rpm\n",
     "no_delays",
     "[switch disc] compensated speed has no effect, as no valve has a delay; give those of [inlet "
     "valve] and [exhaust valve], or leave it out"},
    {"cylinder.stroke=15 mm", "stroke_to_bore", NULL},
    {"cylinder.bore=2 in", "stroke_to_bore", NULL},
    {"cylinder.piston rod=38 mm", "rod_to_bore",
     "a piston rod of 38 mm with a bore of 50 mm is 0.76 times the bore, where 0.1 to 0.75 is "
     "usual; check the unit of both, and that both are diameters, not radii"},
    {"cylinder.piston rod=37 mm", "rod_to_bore", NULL},
    {"cylinder.dead volume cap end=16 mm3", "dead_volume_small",
     "the dead volume of the cap end is 0.0081 % of the volume its piston sweeps, where 5 to 20 % "
     "is usual and under 2 % rare; check its unit"},
    {"cylinder.dead volume cap end=2 cm3", "dead_volume_small",
     "the dead volume of the cap end is 1.0 % of the volume its piston sweeps, where 5 to 20 % is "
     "usual and under 2 % rare; check that port and tube up to the valve are in it"},
    {"cylinder.dead volume cap end=4 cm3", "dead_volume_small", NULL},
    {"[timing]\nopening ramp = 30 deg\nrelease = 185 deg\n[timing rod end]\nrelease = 300.5 deg\n",
     "window_short",
     "the exhaust of the rod end is open for 59.5 deg, less than its two ramps of 30 deg, so that "
     "it "
     "never opens fully at speed; shorten 'opening ramp' or let it be open for longer"},
    {"[timing]\nopening ramp = 30 deg\n[timing cap end]\ninlet opens = -3 deg\ncut-off = 56 deg\n",
     "window_short",
     "the inlet of the cap end is open for 59 deg, less than its two ramps of 30 deg, so that it "
     "never opens fully at speed; shorten 'opening ramp' or let it be open for longer"},
    {"[timing]\nopening ramp = 30 deg\ninlet opens = -3 deg\ncut-off = 57 deg\n", "window_short",
     NULL},
    {"[timing]\nopening ramp = 300 ms\ncut-off = 5 deg\n", "window_short", NULL},
    {"[exhaust valve]\npilot least pressure = 90 psig\n", "pilot",
     "the supply of 6 bar gauge is below the 90 psig that the pilot of the exhaust valve needs, so "
     "that it does not switch; raise the supply or feed the pilot from elsewhere"},
    {"[inlet valve]\npilot least pressure = 6 bar gauge\n", "pilot", NULL},
    {"[inlet valve]\ncritical ratio = 0.3\n[exhaust valve]\ncritical ratio = 0.3\ncv = 1\n",
     "no_effect",
     "[inlet valve] critical ratio has no effect, as the size of the valve is not given"},
    {"[supply]\nline conductance = 2 L/(s bar)\nreceiver volume = 1 L\n[cylinder]\n"
     "rod seal leakage = 0.001 L/(s bar)\npiston speed limit = 1 m/s\n[inlet valve]\norifice = 3 "
     "mm\n",
     "only_at_speed",
     "not used in the slow cycle: line conductance, receiver volume, rod seal leakage"},
    {"[store]\nvolume = 10 L\nstart pressure = 5 bar gauge\n", "store_below_supply",
     "the store starts with 5 bar gauge, not above the supply of 6 bar gauge that it is to give; "
     "fill "
     "it higher, or lower the supply"},
    {"[store]\nvolume = 10 L\nstart pressure = 6.1 bar gauge\n[regulator]\n", "store_below_supply",
     NULL},
    {"[cylinder]\nrated pressure = 10 bar gauge\n[store]\nvolume = 10 L\nstart pressure = 20 bar "
     "gauge\n[regulator]\nset pressure = 11 bar gauge\n",
     "above_rated_pressure",
     "the regulator's set pressure of 11 bar gauge is above the cylinder's rated pressure of 10 "
     "bar "
     "gauge; lower one or check the other"},
    {"[load]\nmass = 9 kg\nwheel diameter = 0.2 m\nhead wind = -2 m/s\n", "only_at_speed",
     "not used in the slow cycle: head wind"},
    {"cylinder.dead volume cap end=100 cm3", "dead_volume_large",
     "the dead volume of the cap end is 51 % of the volume its piston sweeps, where 5 to 20 % is "
     "usual and over 30 % rare; check its unit and the tubes"},
};

START_TEST(words_of_warnings) {
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
    struct lb_machine m;
    struct lb_given given;
    struct lb_warning warning[LB_WARNINGS_MOST];
    const char *text = NULL, *lines = told[i].lines;
    char file_text[1000];
    bool override = strchr(lines, '.') && lines[0] != '[';
    snprintf(file_text, sizeof file_text, "%s%s", machine_text_least, override ? "" : lines);
    struct lb_textfile *file = machine_text_keep(&m, &given, file_text, override ? lines : NULL);
    size_t count = lb_machine_warnings(warning, &m, &given);
    for (size_t w = 0; w < count; w++)
      if (strcmp(warning[w].code, told[i].code) == 0)
        text = warning[w].text;
    if (told[i].text)
      ck_assert_str_eq(text ? text : "not there", told[i].text);
    else
      ck_assert_msg(!text, "%s with %s", told[i].code, lines);
    lb_textfile_free(file);
  }
}
END_TEST

START_TEST(warnings_of_machines_in_code) {
  struct lb_warning warning[LB_WARNINGS_MOST];
  struct lb_machine m = sound();
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_CONNECTING_ROD, 0.1, 0.14, 0, NULL), LB_OK);
  m.friction = 20;
  m.breakaway_friction = 10;
  m.rated_pressure = 5e5;
  ck_assert_uint_eq(lb_machine_warnings(warning, &m, NULL), 3);
  ck_assert_str_eq(
      warning[0].text,
      "the supply of 6 bar gauge (87.02 psig) is above the cylinder's rated pressure of 3.987 bar "
      "gauge (57.82 psig); lower one or check the other");
  ck_assert_str_eq(
      warning[1].text,
      "a connecting rod of 140 mm (5.512 in) is short for a stroke of 100 mm (3.937 in); "
      "check that it is measured between the pins");
  ck_assert_str_eq(warning[2].code, "breakaway_below_friction");
}
END_TEST

/* What the three demo machines are told: only what a builder of them wants to know. */
START_TEST(demo_machines_are_calm) {
  static const struct {
    const char *path;
    size_t warnings;
  } demos[] = {{"data/machines/trolley.ini", 1}, /* its figures for a speed */
               {"data/machines/pump.ini", 0},
               {"data/machines/launch.ini", 0}};
  for (int i = 0; i < 3; i++) {
    struct lb_textfile *text;
    struct lb_machine m;
    struct lb_given given;
    struct lb_warning warning[LB_WARNINGS_MOST];
    ck_assert_int_eq(lb_textfile_read(&text, support_source(demos[i].path), NULL), LB_OK);
    ck_assert_int_eq(lb_machine_read(&m, &given, text, NULL), LB_OK);
    ck_assert_uint_eq(lb_machine_warnings(warning, &m, &given), demos[i].warnings);
    if (demos[i].warnings)
      ck_assert_str_eq(warning[0].text,
                       "not used in the slow cycle: wall heat transfer, opening ramp, drag area");
    lb_textfile_free(text);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("checking machines");
  TCase *rules = tcase_create("rules"), *unusual = tcase_create("warnings");
  tcase_add_test(rules, sound_machines_pass);
  tcase_add_test(rules, numbers_are_finite);
  tcase_add_test(rules, limits_are_tested);
  tcase_add_test(rules, what_only_code_gets_wrong);
  tcase_add_test(rules, linkage_is_set_up);
  tcase_add_test(rules, idle_ends_are_left_alone);
  tcase_add_test(rules, traps);
  tcase_add_test(rules, only_parts_that_are_there);
  tcase_add_test(rules, discs_may_be_full);
  tcase_add_test(rules, what_would_do_does);
  tcase_add_test(unusual, warnings);
  tcase_add_test(unusual, words_of_warnings);
  tcase_add_test(unusual, warnings_of_machines_in_code);
  tcase_add_test(unusual, demo_machines_are_calm);
  suite_add_tcase(suite, rules);
  suite_add_tcase(suite, unusual);
  return support_run(suite, NULL);
}
