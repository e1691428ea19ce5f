/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writing values back: they read back as they were, in the unit the text had, and no other byte of
 * the text changes.
 */
#include "base/constants.h"
#include "machine/write.h"
#include "machine_text.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

/* As the reader of units computes it, to the last place. */
#define DEGREES(x) ((x)*LB_PI / 180)

/* A text, the machine read from it, and the key to be written. */
struct desk {
  struct lb_textfile *text;
  struct lb_machine machine;
  const struct lb_key *key;
  enum lb_end end;
};

static struct desk desk(const char *lines, const char *section, const char *name) {
  struct desk d;
  char text[2048];
  snprintf(text, sizeof text, "%s%s", machine_text_least, lines);
  d.text = machine_text_keep(&d.machine, NULL, text, NULL);
  d.key = lb_keys_find(&d.end, section, name);
  return d;
}

/* Write, and compare the value's text; then read all of it again. */
static struct lb_machine write_and_read(struct desk *d, const char *expected) {
  struct lb_error error;
  size_t length;
  enum lb_status status = lb_machine_write_value(d->text, d->key, d->end, &d->machine, &error);
  ck_assert_msg(status == LB_OK, "%s: %s", error.key, error.text);
  const struct lb_entry *entry =
      lb_textfile_find(d->text, lb_keys_section(d->key, d->end), d->key->name);
  if (expected)
    ck_assert_str_eq(entry->value, expected);
  struct lb_machine again = machine_text(lb_textfile_bytes(d->text, &length), NULL);
  lb_textfile_free(d->text);
  return again;
}

static void refused(struct desk *d, const char *expected) {
  struct lb_error error;
  char message[sizeof error];
  size_t length, before;
  lb_textfile_bytes(d->text, &before);
  ck_assert_int_eq(lb_machine_write_value(d->text, d->key, d->end, &d->machine, &error),
                   LB_BAD_INPUT);
  snprintf(message, sizeof message, "%s: %s", error.key, error.text);
  ck_assert_str_eq(message, expected);
  lb_textfile_bytes(d->text, &length);
  ck_assert_uint_eq(length, before);
  lb_textfile_free(d->text);
}

/* One double of a machine written and read. */
static void double_comes_back(const char *lines, const char *section, const char *name,
                              double value, const char *expected) {
  struct desk d = desk(lines, section, name);
  lb_keys_put(d.key, d.end, &d.machine, value);
  const struct lb_key *key = d.key;
  enum lb_end end = d.end;
  struct lb_machine again = write_and_read(&d, expected);
  double back = lb_keys_value(key, end, &again);
  if (!(fabs(back - value) <= 8 * DBL_EPSILON * fabs(value)))
    ck_abort_msg("%s: %.17g came back as %.17g", name, value, back);
}

START_TEST(original_units_are_kept) {
  double_comes_back("", "cylinder", "bore", 0.063, "63 mm");
  double_comes_back("", "supply", "pressure", 101325 + 3.6e5, "3.6 bar gauge");
  double_comes_back("[exhaust]\nback pressure = 20 psia\n", "exhaust", "back pressure",
                    18 * 4.4482216152605 / (0.0254 * 0.0254), "18 psia");
  double_comes_back("[air]\nexpansion = 1,3\n", "air", "expansion", 1.25, "1.25");
  double_comes_back("[air]\nexpansion = 1.3\n", "air", "expansion", 1.4, "adiabatic");
  double_comes_back("[timing]\ncut-off = 78 deg\n", "timing", "cut-off", DEGREES(81.5), "81.5 deg");
  double_comes_back("[timing]\ncut-off = 1.4 rad\n", "timing", "cut-off", 1.3, "1.3 rad");
  double_comes_back("[machine]\ncylinders = 2\n", "machine", "cylinders", 3, "3");
  double_comes_back("[surroundings]\nhumidity = 0.5\n", "surroundings", "humidity", 0.55, "0.55");
  double_comes_back("[surroundings]\nhumidity = 50%\n", "surroundings", "humidity", 0.55, "55%");
}
END_TEST

START_TEST(usual_units_for_what_is_new) {
  double_comes_back("", "timing", "cut-off", DEGREES(78), "78 deg");
  double_comes_back("", "timing rod end", "cut-off", DEGREES(82), "82 deg");
  double_comes_back("", "cylinder", "friction", 14.5, "14.5 N");
  double_comes_back("", "cylinder", "rated pressure", 101325 + 10e5, "10 bar gauge");
  double_comes_back("", "surroundings", "temperature", 291.15, "18 degC");
  double_comes_back("", "machine", "rotation", 0, "anticlockwise");
  double_comes_back("", "timing cap end", "angles mean", 1, "switching");
  double_comes_back("", "linkage", "kind", LB_SWINGING, "swinging");
}
END_TEST

START_TEST(parts_for_the_bench) {
  static const char disc[] = "[switch disc]\nouter diameter = 5 in\nbore = 12 mm\n";
  static const char encoder[] = "[encoder]\ncounts per turn = 360\n";
  double_comes_back("", "inlet valve", "on delay", 0.0085, "8.5 ms");
  double_comes_back("[exhaust valve]\noff delay = 0.01 s\n", "exhaust valve", "off delay", 0.012,
                    "0.012 s");
  double_comes_back(disc, "switch disc", "outer diameter", 0.0254 * 5.5, "5.5 in");
  double_comes_back(disc, "switch disc", "track radius", 0.055, "55 mm");
  double_comes_back(disc, "switch disc", "compensated speed", 4 * LB_PI, "120 rpm");
  double_comes_back(encoder, "encoder", "counts per turn", 500, "500");
  double_comes_back(encoder, "encoder", "multiply", 1, "4");
  double_comes_back(encoder, "encoder", "direction", 1, "against rotation");
  struct desk d = desk("", "cam", "lift");
  refused(&d, "[cam] lift: the machine has no value for it; give it one");
}
END_TEST

START_TEST(store_and_load) {
  static const char bottle[] =
      "[store]\nvolume = 24 L\nstart pressure = 9 bar gauge\nheat = 20 min\n";
  static const char cart[] = "[load]\nmass = 210 kg\nwheel diameter = 200 mm\ngradient = 1 in 80\n";
  double_comes_back(bottle, "store", "volume", 0.030, "30 L");
  double_comes_back(bottle, "store", "heat", 3600, "60 min");
  double_comes_back(bottle, "store", "heat", 0, "isothermal");
  double_comes_back(bottle, "store", "vessel mass", 9, "9 kg");
  double_comes_back(cart, "load", "gradient", 0.02, "2 %");
  double_comes_back(cart, "load", "coasting", 2, "motoring");
  struct desk d = desk(bottle, "store", "heat");
  d.machine.store.heat = LB_STORE_ADIABATIC;
  ck_assert(write_and_read(&d, "adiabatic").store.heat == LB_STORE_ADIABATIC);
  d = desk(cart, "load", "torque");
  refused(&d, "[load] torque: the machine has no value for it; give it one");
  d = desk("", "store", "heat");
  refused(&d, "[store] heat: the machine has no value for it; give it one");
  d = desk("[store]\nrating = 10 L at 200 bar gauge\n", "store", "volume");
  refused(&d, "[store] volume: the text gives 'rating' instead; change that");
}
END_TEST

START_TEST(sizes_of_valves_and_tube) {
  static const char tube[] = "[tube]\nlength = 30 cm\nbore = 4 mm\nserves = both\n";
  double_comes_back("[inlet valve]\nconductance = 1.4 L/(s bar)\n", "inlet valve", "conductance",
                    2.8e-8, "2.8 L/(s bar)");
  double_comes_back("[exhaust valve]\nKv = 5 L/min\n", "exhaust valve", "kv", 0.4 / 3600,
                    "6.666666666666667 L/min");
  double_comes_back("", "exhaust valve", "nominal flow", 0.005, "300 L/min ANR");
  double_comes_back("[inlet valve]\norifice = 1/8 in\n", "inlet valve", "orifice", 0.0254 / 4,
                    "0.25 in");
  double_comes_back("[inlet valve]\norifice = 3 mm\n", "inlet valve", "discharge coefficient", 0.75,
                    "0.75");
  double_comes_back("[inlet valve]\ncv = 1\n", "inlet valve", "critical ratio", 0.25, "0.25");
  double_comes_back("", "exhaust valve", "pilot least pressure", 2e5 + LB_ATMOSPHERE,
                    "2 bar gauge");
  double_comes_back(tube, "tube", "length", 0.5, "50 cm");
  double_comes_back(tube, "tube", "serves", LB_TUBE_EXHAUST, "exhaust");
  double_comes_back("[supply]\nreceiver volume = 1 L\nline conductance = 1 L/(s bar)\n", "supply",
                    "receiver volume", 2e-3, "2 L");
}
END_TEST

/* The dead volume in the text stays without the tube, and is the whole less the tube. */
START_TEST(dead_volume_beside_a_tube) {
  uint64_t state = 22;
  for (int i = 0; i < 100; i++) {
    struct desk d = desk("[tube]\nlength = 300 mm\nbore = 4 mm\nserves = both\n", "cylinder",
                         "dead volume rod end");
    double tube = LB_PI / 4 * 16e-6 * 0.3, wanted = support_between(&state, 0, 5e-5) + tube;
    d.machine.dead_volume[LB_ROD_END] = wanted;
    struct lb_machine again = write_and_read(&d, NULL);
    ck_close_relative(again.dead_volume[LB_ROD_END], wanted, EXACT);
  }
  double_comes_back("[tube]\nlength = 300 mm\nbore = 4 mm\nserves = both\n", "cylinder",
                    "dead volume cap end", 25e-6, NULL);
}
END_TEST

/* Values as an optimiser leaves them: any double. */
START_TEST(any_double_comes_back) {
  uint64_t state = 20;
  for (int i = 0; i < 200; i++) {
    double_comes_back("[timing]\ncut-off = 78 deg\n", "timing", "cut-off",
                      support_between(&state, 0.1, 3), NULL);
    double_comes_back("", "cylinder", "bore", support_between(&state, 0.03, 0.1), NULL);
    double_comes_back("", "supply", "pressure", support_between(&state, 2e5, 12e5), NULL);
    double_comes_back("", "cylinder", "dead volume cap end", support_between(&state, 0, 1e-4),
                      NULL);
    double_comes_back("[cylinder]\n", "surroundings", "temperature",
                      support_between(&state, 260, 320), NULL);
  }
}
END_TEST

/* Metres have a decimal for every double, so those come back exactly. */
START_TEST(exact_where_the_unit_is_si) {
  uint64_t state = 21;
  for (int i = 0; i < 200; i++) {
    struct desk d = desk("[cylinder]\nthrough rod = 0.01 m\n", "cylinder", "through rod");
    d.machine.through_rod_diameter = support_between(&state, 0, 0.04);
    double wanted = d.machine.through_rod_diameter;
    ck_assert(write_and_read(&d, NULL).through_rod_diameter == wanted);
  }
}
END_TEST

START_TEST(only_the_value_changes) {
  static const char text[] = "[cylinder]\r\nbore   =  50 mm   ; as bought\r\nstroke = 100 mm\r\n"
                             "piston rod = 3/4 \" # measured\r\ndead volume cap end = 16 cm3\r\n"
                             "dead volume rod end = 18 cm3\r\n\r\n[supply]\r\n"
                             "pressure = 6 bar gauge\r\n[linkage]\r\nkind = yoke\r\n";
  static const char changed[] = "[cylinder]\r\nbore   =  63 mm   ; as bought\r\nstroke = 100 mm\r\n"
                                "piston rod = 0.625 \" # measured\r\n"
                                "dead volume cap end = 16 cm3\r\n"
                                "dead volume rod end = 18 cm3\r\n\r\n[supply]\r\n"
                                "pressure = 6 bar gauge\r\n[linkage]\r\nkind = yoke\r\n";
  struct lb_machine m;
  size_t length;
  struct lb_textfile *file = machine_text_keep(&m, NULL, text, NULL);
  m.bore = 0.063;
  m.rod_diameter = 0.625 * 0.0254;
  ck_assert_int_eq(
      lb_machine_write_value(file, lb_keys_find(NULL, "cylinder", "bore"), LB_ENDS, &m, NULL),
      LB_OK);
  ck_assert_int_eq(
      lb_machine_write_value(file, lb_keys_find(NULL, "cylinder", "piston rod"), LB_ENDS, &m, NULL),
      LB_OK);
  ck_assert_str_eq(lb_textfile_bytes(file, &length), changed);
  lb_textfile_free(file);
}
END_TEST

/* A share stays a share of that end's own stroke, and is exact where it can be. */
START_TEST(shares_stay_shares) {
  struct desk d = desk("[timing cap end]\ncut-off = 40% of stroke\n", "timing cap end", "cut-off");
  d.machine.timing[LB_CAP_END].cutoff =
      lb_linkage_angle_away(&d.machine.linkage, LB_CAP_END, 0.45 * 0.1);
  double wanted = d.machine.timing[LB_CAP_END].cutoff;
  struct lb_machine again = write_and_read(&d, "45% of stroke");
  ck_assert(again.timing[LB_CAP_END].cutoff == wanted);
  d = desk("[timing rod end]\nexhaust closes = 80 % of return stroke\n", "timing rod end",
           "exhaust closes");
  d.machine.timing[LB_ROD_END].exhaust_closes = 5.5;
  again = write_and_read(&d, NULL);
  ck_close_relative(again.timing[LB_ROD_END].exhaust_closes, 5.5, EXACT);
  /* The same angle at both ends of a swinging cylinder is not the same share: an angle it is. */
  d = desk("[timing]\ncut-off = 40 % of stroke\n", "timing", "cut-off");
  lb_keys_put(d.key, LB_ENDS, &d.machine, DEGREES(80));
  again = write_and_read(&d, "80 deg");
  /* Past dead centre there is no share. */
  d = desk("[timing cap end]\ncut-off = 40 % of stroke\nrelease = 200 deg\n", "timing cap end",
           "cut-off");
  d.machine.timing[LB_CAP_END].cutoff = DEGREES(190);
  again = write_and_read(&d, "190 deg");
  ck_close_relative(again.timing[LB_CAP_END].cutoff, DEGREES(190), EXACT);
}
END_TEST

START_TEST(ramps) {
  struct desk d = desk("[timing]\nopening ramp = 4 deg\n", "timing", "opening ramp");
  for (int end = 0; end < LB_ENDS; end++) {
    d.machine.timing[end].opening_ramp = 0;
    d.machine.timing[end].opening_ramp_time = 0.0035;
  }
  struct lb_machine again = write_and_read(&d, "3.5 ms");
  ck_assert(again.timing[LB_ROD_END].opening_ramp_time == 0.0035);
  d = desk("[timing]\nopening ramp = 4 ms\n", "timing", "opening ramp");
  for (int end = 0; end < LB_ENDS; end++) {
    d.machine.timing[end].opening_ramp = DEGREES(5);
    d.machine.timing[end].opening_ramp_time = 0;
  }
  again = write_and_read(&d, "5 deg");
  ck_assert(again.timing[LB_CAP_END].opening_ramp_time == 0);
}
END_TEST

START_TEST(words_and_lists) {
  struct desk d = desk("[machine]\nname = Old\n", "machine", "name");
  strcpy(d.machine.name, "New; and blue");
  struct lb_machine again = write_and_read(&d, "New; and blue");
  ck_assert_str_eq(again.name, "New; and blue");
  d = desk("[machine]\ncylinders = 3\n", "machine", "crank angles");
  d.machine.crank_angle[1] = DEGREES(90);
  d.machine.crank_angle[2] = DEGREES(225.5);
  again = write_and_read(&d, "0 deg, 90 deg, 225.5 deg");
  ck_close_relative(again.crank_angle[2], DEGREES(225.5), EXACT);
  d = desk("[timing]\nrelease = 170 deg\n", "cylinder", "acting");
  d.machine.works[LB_ROD_END] = false;
  again = write_and_read(&d, "cap end");
  ck_assert(!again.works[LB_ROD_END]);
}
END_TEST

START_TEST(friction_as_the_text_has_it) {
  struct desk d = desk("", "cylinder", "runs light at");
  d.machine.friction =
      0.25e5 * (lb_machine_area(&d.machine, LB_CAP_END) + lb_machine_area(&d.machine, LB_ROD_END)) /
      2;
  double wanted = d.machine.friction;
  struct lb_machine again = write_and_read(&d, NULL);
  ck_close_relative(again.friction, wanted, IDENTITY);
}
END_TEST

START_TEST(what_cannot_be_written) {
  struct desk d = desk("", "timing", "cut-off");
  refused(&d, "[timing] cut-off: the machine has no value for it; give it one");
  d = desk("[surroundings]\naltitude = 180 m\n", "surroundings", "pressure");
  refused(&d, "[surroundings] pressure: the text gives 'altitude' instead; change that");
  d = desk("", "surroundings", "altitude");
  refused(&d, "[surroundings] altitude: the machine has no value for it; give it one");
  d = desk("[inlet valve]\ncv = 1\n", "inlet valve", "conductance");
  d.machine.valve_size[LB_INLET_VALVE].conductance = 1e-8;
  refused(&d, "[inlet valve] conductance: the text gives 'cv' instead; change that");
  d = desk("[inlet valve]\nconductance = 1 L/(s bar)\n", "inlet valve", "orifice");
  d.machine.valve_size[LB_INLET_VALVE].orifice = 3e-3;
  refused(&d, "[inlet valve] orifice: the text gives 'conductance' instead; change that");
  d = desk("[timing rod end]\nrelease = 170 deg\n", "timing", "release");
  refused(&d, "[timing] release: the text gives its own in [timing rod end]; change that");
  d = desk("[timing]\nrelease = 170 deg\n", "timing", "release");
  d.machine.timing[LB_ROD_END].release = 3;
  refused(&d, "[timing] release: no text for it would be read back as it is; write each end's own "
              "if the ends differ, and keep within the limits");
  d = desk("", "cylinder", "bore");
  d.machine.bore = 5;
  refused(&d, "[cylinder] bore: no text for it would be read back as it is; write each end's own "
              "if the ends differ, and keep within the limits");
  d = desk("", "machine", "name");
  strcpy(d.machine.name, "Two\nlines");
  ck_assert_int_eq(lb_machine_write_value(d.text, d.key, d.end, &d.machine, NULL), LB_BAD_INPUT);
  lb_textfile_free(d.text);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("writing machines");
  TCase *numbers = tcase_create("numbers"), *others = tcase_create("others");
  tcase_add_test(numbers, original_units_are_kept);
  tcase_add_test(numbers, usual_units_for_what_is_new);
  tcase_add_test(numbers, parts_for_the_bench);
  tcase_add_test(numbers, store_and_load);
  tcase_add_test(numbers, sizes_of_valves_and_tube);
  tcase_add_test(numbers, dead_volume_beside_a_tube);
  tcase_add_test(numbers, any_double_comes_back);
  tcase_add_test(numbers, exact_where_the_unit_is_si);
  tcase_add_test(numbers, shares_stay_shares);
  tcase_add_test(numbers, ramps);
  tcase_add_test(numbers, friction_as_the_text_has_it);
  tcase_add_test(others, only_the_value_changes);
  tcase_add_test(others, words_and_lists);
  tcase_add_test(others, what_cannot_be_written);
  suite_add_tcase(suite, numbers);
  suite_add_tcase(suite, others);
  return support_run(suite, NULL);
}
