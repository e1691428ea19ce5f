/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer about cut-offs on paper: JSON against the library's own figures, CSV against the JSON,
 * the note against figures of an independent calculation, and all three over random machines.
 */
#include "base/constants.h"
#include "decide/remarks.h"
#include "machine_text.h"
#include "paper/answer_cutoff.h"
#include "physics/air.h"
#include "random_machine.h"
#include "stroke/timing.h"
#include "support.h"

#include <jansson.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The keys in their order, which programs may rely on. */
static const char *const top_keys[] = {"lastbar",
                                       "command",
                                       "machine",
                                       "expansion_exponent",
                                       "compression_exponent",
                                       "supply",
                                       "surroundings",
                                       "bounds",
                                       "choices",
                                       "same_timing_pressure_pa",
                                       "same_timing_pressures_pa",
                                       "ceiling_j",
                                       "dead_arcs_deg",
                                       "starting_supply_pa",
                                       "sensitivity",
                                       "tolerance_deg",
                                       "release_tolerance_deg",
                                       "warnings",
                                       NULL};
static const char *const choice_keys[] = {"found",
                                          "why",
                                          "would_do",
                                          "ends",
                                          "work_per_rev_j",
                                          "indicated_work_per_rev_j",
                                          "friction_work_per_rev_j",
                                          "air_per_rev_kg",
                                          "air_per_rev_l_anr",
                                          "mean_torque_nm",
                                          "mean_effective_pressure_pa",
                                          "work_per_kg_j",
                                          "isentropic_efficiency",
                                          "isothermal_efficiency",
                                          NULL};
static const char *const end_keys[] = {"inlet_opens_deg",         "cutoff_deg",
                                       "cutoff_stroke_fraction",  "release_deg",
                                       "exhaust_closes_deg",      "release_pressure_pa",
                                       "compression_pressure_pa", "air_kg",
                                       "indicated_work_j",        "cutoff_temperature_k",
                                       "release_temperature_k",   "exhaust_temperature_k",
                                       "outgoing_temperature_k",  NULL};
static const char *const rule_keys[] = {[LB_AS_TIMED] = "as_timed",
                                        [LB_ATMOSPHERIC] = "atmospheric",
                                        [LB_ECONOMY] = "economy",
                                        [LB_COMMON_ECONOMY] = "common_angle",
                                        [LB_COMMON_ATMOSPHERIC] = "common_angle_atmospheric"};
static const char *const end_names[] = {[LB_CAP_END] = "cap", [LB_ROD_END] = "rod"};

/* A machine with its answer. */
struct example {
  struct lb_machine machine;
  struct lb_cutoff_answer answer;
  struct lb_detail detail;
  struct lb_warning warning[LB_REMARKS_MOST];
  struct lb_cutoff_paper paper;
};

/* Returns false where the machine cannot be calculated. */
static bool answer(struct example *e, double margin) {
  struct lb_cycle *cycle = lb_cycle_new();
  const struct lb_choice *choice = &e->answer.choice[LB_ATMOSPHERIC];
  bool found = lb_cycle_prepare(cycle, &e->machine, NULL) == LB_OK &&
               lb_cutoff_find(&e->answer, cycle, margin, NULL) == LB_OK;
  if (found && choice->found)
    ck_assert_int_eq(lb_detail_find(&e->detail, cycle, choice->cutoff, NULL), LB_OK);
  lb_cycle_free(cycle);
  if (!found)
    return false;
  size_t warnings = lb_remarks_cutoff(e->warning, &e->machine, &e->answer);
  e->paper = (struct lb_cutoff_paper){.machine = &e->machine,
                                      .answer = &e->answer,
                                      .margin = margin,
                                      .rule = LB_ATMOSPHERIC,
                                      .detail = choice->found ? &e->detail : NULL,
                                      .warning = e->warning,
                                      .warnings = warnings};
  return true;
}

static struct example *trolley(const char *override) {
  static struct example e;
  struct lb_errors errors = {0};
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_read(&text, support_source("data/machines/trolley.ini"), &errors),
                   LB_OK);
  if (override)
    ck_assert_int_eq(lb_textfile_override(text, override, 1, &errors), LB_OK);
  ck_assert_int_eq(lb_machine_read(&e.machine, NULL, text, &errors), LB_OK);
  lb_textfile_free(text);
  lb_errors_free(&errors);
  ck_assert(answer(&e, 0));
  return &e;
}

static json_t *json_of(const struct example *e) {
  char *text = NULL;
  json_error_t error;
  ck_assert_int_eq(lb_answer_cutoff_json(&text, &e->paper, NULL), LB_OK);
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
  ck_assert_msg(root != NULL, "%s in %s", error.text, text);
  free(text);
  return root;
}

/* The keys of an object, all and in order. */
static void ck_keys(json_t *object, const char *const *expected) {
  const char *key;
  json_t *value;
  size_t seen = 0;
  json_object_foreach(object, key, value) {
    ck_assert_msg(expected[seen] != NULL, "one key too many: %s", key);
    ck_assert_str_eq(key, expected[seen]);
    seen++;
  }
  ck_assert_ptr_null(expected[seen]);
}

static json_t *get(json_t *object, const char *key) {
  json_t *value = json_object_get(object, key);
  ck_assert_msg(value != NULL, "no %s", key);
  return value;
}

/* A number that is exactly this, or null when it does not apply. */
static void ck_number(json_t *object, const char *key, bool applies, double expected) {
  json_t *value = get(object, key);
  if (!applies)
    ck_assert_msg(json_is_null(value), "%s should be null", key);
  else
    ck_assert_msg(json_is_real(value) && json_real_value(value) == expected,
                  "%s is %.17g, expected %.17g", key, json_number_value(value), expected);
}

static double degrees(double radians) {
  return radians * 180 / LB_PI;
}

static void ck_end(json_t *object, const struct example *e, const struct lb_choice *choice,
                   enum lb_end end) {
  const struct lb_timing *timing = &e->machine.timing[end];
  const struct lb_turn *turn = &choice->revolution.end[end].turn;
  bool shut = choice->end_found[end], found = choice->found;
  ck_keys(object, end_keys);
  ck_number(object, "inlet_opens_deg", true, degrees(timing->inlet_opens));
  ck_number(object, "cutoff_deg", shut, degrees(choice->cutoff[end]));
  ck_number(object, "cutoff_stroke_fraction", shut,
            lb_timing_stroke_fraction(&e->machine, end, choice->cutoff[end]));
  ck_number(object, "release_deg", true, degrees(timing->release));
  ck_number(object, "exhaust_closes_deg", true, degrees(timing->exhaust_closes));
  ck_number(object, "release_pressure_pa", found, turn->release_pressure);
  ck_number(object, "compression_pressure_pa", found, turn->compression_pressure);
  ck_number(object, "air_kg", found, turn->air);
  ck_number(object, "indicated_work_j", found, turn->work);
  ck_number(object, "cutoff_temperature_k", found, turn->cutoff_temperature);
  ck_number(object, "release_temperature_k", found, turn->release_temperature);
  ck_number(object, "exhaust_temperature_k", found, turn->exhaust_temperature);
  ck_number(object, "outgoing_temperature_k", found, turn->outgoing_temperature);
}

static void ck_text(json_t *object, const char *key, const char *expected) {
  json_t *value = get(object, key);
  if (*expected)
    ck_assert_str_eq(json_string_value(value), expected);
  else
    ck_assert(json_is_null(value));
}

static void ck_choice(json_t *object, const struct example *e, const struct lb_choice *choice) {
  const struct lb_revolution *r = &choice->revolution;
  bool found = choice->found;
  ck_keys(object, choice_keys);
  ck_assert(json_is_boolean(get(object, "found")) && json_is_true(get(object, "found")) == found);
  ck_text(object, "why", choice->why);
  ck_text(object, "would_do", choice->would_do);
  for (int end = 0; end < LB_ENDS; end++) {
    json_t *value = get(get(object, "ends"), end_names[end]);
    if (e->machine.works[end])
      ck_end(value, e, choice, (enum lb_end)end);
    else
      ck_assert(json_is_null(value));
  }
  ck_number(object, "work_per_rev_j", found, r->work);
  ck_number(object, "indicated_work_per_rev_j", found, r->indicated_work);
  ck_number(object, "friction_work_per_rev_j", found, r->friction_work);
  ck_number(object, "air_per_rev_kg", found, r->air);
  ck_number(object, "air_per_rev_l_anr", found, lb_air_volume_anr(r->air) / 1e-3);
  ck_number(object, "mean_torque_nm", found, r->mean_torque);
  ck_number(object, "mean_effective_pressure_pa", found, r->mean_effective_pressure);
  ck_number(object, "work_per_kg_j", found && r->air > 0, r->work_per_kg);
  ck_number(object, "isentropic_efficiency", found && r->isentropic_efficiency != 0,
            r->isentropic_efficiency);
  ck_number(object, "isothermal_efficiency", found && r->isothermal_efficiency != 0,
            r->isothermal_efficiency);
}

static void ck_bounds(json_t *object, const bool *found, const double *cutoff) {
  for (int end = 0; end < LB_ENDS; end++)
    ck_number(object, end_names[end], found[end], degrees(cutoff[end]));
}

/* Everything in the JSON of an answer. */
static void ck_json(const struct example *e) {
  json_t *root = json_of(e), *choices = get(root, "choices"), *warnings = get(root, "warnings");
  const double *supply = e->answer.supply_pressure;
  ck_keys(root, top_keys);
  ck_text(root, "command", "cutoff");
  ck_text(root, "machine", e->machine.name);
  ck_number(root, "expansion_exponent", true, e->machine.expansion_exponent);
  ck_number(root, "compression_exponent", true, e->machine.compression_exponent);
  ck_number(get(root, "supply"), "pressure_pa", true, e->machine.supply_pressure);
  ck_number(get(root, "supply"), "temperature_k", true, e->machine.supply_temperature);
  ck_number(get(root, "surroundings"), "pressure_pa", true, e->machine.ambient_pressure);
  ck_number(get(root, "surroundings"), "temperature_k", true, e->machine.ambient_temperature);
  ck_bounds(get(get(root, "bounds"), "isothermal"), e->answer.isothermal_found,
            e->answer.isothermal);
  ck_bounds(get(get(root, "bounds"), "adiabatic"), e->answer.adiabatic_found, e->answer.adiabatic);
  ck_assert_uint_eq(json_object_size(choices), LB_RULES);
  for (int rule = 0; rule < LB_RULES; rule++)
    ck_choice(get(choices, rule_keys[rule]), e, &e->answer.choice[rule]);
  ck_number(root, "same_timing_pressure_pa", supply[0] > 0 || supply[1] > 0,
            fmax(supply[0], supply[1]));
  for (int end = 0; end < LB_ENDS; end++)
    ck_number(get(root, "same_timing_pressures_pa"), end_names[end], supply[end] > 0, supply[end]);
  ck_number(root, "ceiling_j", true, e->answer.ceiling);
  ck_assert_uint_eq(json_array_size(warnings), e->paper.warnings);
  for (size_t i = 0; i < e->paper.warnings; i++) {
    ck_text(json_array_get(warnings, i), "code", e->warning[i].code);
    ck_text(json_array_get(warnings, i), "text", e->warning[i].text);
  }
  json_decref(root);
}

/* Rows of a CSV text without line ends in its cells, and the columns of each. */
static void ck_csv(const struct example *e) {
  char *csv = NULL;
  ck_assert_int_eq(lb_answer_cutoff_csv(&csv, &e->paper, NULL), LB_OK);
  int ends = e->machine.works[LB_CAP_END] + e->machine.works[LB_ROD_END], rows = 0;
  const char header[] = "machine,choice,end,found,why,would_do,inlet_opens_deg,cutoff_deg,";
  ck_assert_msg(strncmp(csv, header, strlen(header)) == 0, "%s", csv);
  for (const char *line = csv, *next; *line; line = next + 2, rows++) {
    int columns = 1;
    bool quoted = false;
    for (next = line; quoted || strncmp(next, "\r\n", 2) != 0; next++) {
      quoted ^= *next == '"';
      columns += !quoted && *next == ',';
    }
    ck_assert_int_eq(columns, 3 + 3 + 13 + 10);
  }
  ck_assert_int_eq(rows, 1 + LB_RULES * ends);
  free(csv);
}

/* What no note may contain, whatever the machine. */
static void ck_note(const struct example *e, bool inch) {
  char *text = NULL;
  static const char *const never[] = {"nan", "inf ", "-0 ", "-0.0 ", "-0.00 ", "  \n", " \n", "%!"};
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, inch, NULL), LB_OK);
  for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
    ck_assert_msg(strstr(text, never[i]) == NULL, "'%s' in:\n%s", never[i], text);
  for (const char *line = text; *line; line += strcspn(line, "\n") + 1)
    ck_assert_msg(strcspn(line, "\n") <= 79, "a line of %zu columns in:\n%s", strcspn(line, "\n"),
                  text);
  for (const char *at = text; *at; at++)
    ck_assert_msg((unsigned char)*at < 0x80, "not plain ASCII:\n%s", text);
  free(text);
}

START_TEST(json_of_the_trolley) {
  ck_json(trolley(NULL));
}
END_TEST

static double cap_cutoff(json_t *choice) {
  return json_real_value(get(get(get(choice, "ends"), "cap"), "cutoff_deg"));
}

/* Each assumption is the machine with that dead volume: 5, 10, 20 % of 50 x 100 mm. */
START_TEST(json_of_an_unknown_dead_volume) {
  static const char *const volumes[] = {"cylinder.dead volume cap end=9.81747704 cm3",
                                        "cylinder.dead volume cap end=19.63495408 cm3",
                                        "cylinder.dead volume cap end=39.26990817 cm3"};
  static const double shares[] = {0.05, 0.1, 0.2};
  static struct lb_assumed assumed[LB_DEAD_VOLUMES];
  struct example *e = trolley("cylinder.dead volume cap end=unknown");
  ck_assert_int_eq(lb_cutoff_assume(assumed, &e->machine, 0, NULL), LB_OK);
  e->paper.assumed = assumed;
  ck_note(e, false);
  json_t *root = json_of(e), *list = get(root, "dead_volume_assumed");
  ck_assert_uint_eq(json_array_size(list), LB_DEAD_VOLUMES);
  for (size_t i = 0; i < LB_DEAD_VOLUMES; i++) {
    json_t *one = json_array_get(list, i), *other = json_of(trolley(volumes[i]));
    json_t *choices = get(other, "choices");
    ck_close(json_real_value(get(one, "swept_volume_share")), shares[i], 0);
    ck_close(cap_cutoff(get(one, "atmospheric")), cap_cutoff(get(choices, "atmospheric")), 1e-6);
    ck_close(cap_cutoff(get(one, "economy")), cap_cutoff(get(choices, "economy")), 1e-6);
    json_decref(other);
  }
  json_decref(root);
}
END_TEST

START_TEST(json_of_one_end) {
  struct example *e = trolley("cylinder.acting=cap end");
  ck_json(e);
  ck_csv(e);
  json_t *root = json_of(e);
  json_t *cap = get(get(get(get(root, "choices"), "atmospheric"), "ends"), "cap");
  ck_close(json_real_value(get(cap, "cutoff_deg")), 59.8, 0.05); /* as with both ends */
  json_decref(root);
}
END_TEST

START_TEST(json_without_an_answer) {
  struct example *e = trolley("cylinder.dead volume cap end=160 cm3");
  ck_assert(!e->answer.choice[LB_ATMOSPHERIC].found);
  ck_assert(e->answer.choice[LB_ATMOSPHERIC].end_found[LB_ROD_END]);
  ck_json(e);
  ck_csv(e);
}
END_TEST

static void ck_line(const char *text, const char *line) {
  ck_assert_msg(strstr(text, line) != NULL, "no line\n%s\nin:\n%s", line, text);
}

/* Figures of an independent calculation of this machine. */
START_TEST(note_of_the_trolley) {
  char *text = NULL;
  struct example *e = trolley(NULL);
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, false, NULL), LB_OK);
  ck_line(text, "Double-acting 50 x 100 mm, swinging, 16 and 18 cm3 dead volume\n");
  ck_line(text, "Supply 3.60 bar gauge (4.59 bar absolute, 52.2 psig), 18 degC\n");
  ck_line(text, "  atmospheric release   59.8 deg     27.9 %  65.1 deg     26.0 %\n");
  ck_line(text, "  best economy          65.2 deg     32.3 %  71.1 deg     30.6 %\n");
  ck_line(text, "  as timed in the file  78.0 deg     43.3 %  78.0 deg     36.1 %\n");
  ck_line(text, "  bound, isothermal     42.6 deg     15.1 %  45.0 deg     12.9 %\n");
  ck_line(text, "  work after friction          57.3     65.8      79.8  J\n");
  ck_line(text, "  work from the air           107.1    107.8     105.9  J/L ANR\n");
  ck_line(text, "  released at, cap end         0.00     0.17      0.64  bar gauge\n");
  ck_line(text, "  released at, rod end         0.00     0.17      0.40  bar gauge\n");
  ck_line(text, "Your timing gives 39 % more pull (mean torque) than the atmospheric rule and\n"
                "takes 1.1 % more air for the same work; it gives 21 % more pull than best\n"
                "economy and takes 1.8 % more air for the same work. Against best economy your\n"
                "timing wastes 1.7 % of its air.\n");
  ck_line(text, "\nSupply that suits your timing\n  As timed, the rod end would");
  ck_line(text, "at the higher of the two neither end expands below\n  ambient.\n");
  ck_line(text, "rod end would release at ambient on a supply of 2.28 bar gauge");
  ck_line(text, "cap end on 1.80 bar gauge");
  free(text);
}
END_TEST

START_TEST(note_without_an_answer) {
  char *text = NULL;
  struct example *e = trolley("cylinder.dead volume cap end=160 cm3");
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, false, NULL), LB_OK);
  ck_line(text, "  atmospheric release       none             65.1 deg     26.0 %\n");
  ck_line(text,
          "Atmospheric release: no answer. Cap end: even if the inlet shuts at dead\ncentre, the");
  ck_line(text, "none by the atmospheric rule.");
  free(text);
}
END_TEST

START_TEST(words_for_back_pressure_and_margin) {
  char *text = NULL;
  struct example *e = trolley("exhaust.back pressure=0.3 bar gauge");
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, false, NULL), LB_OK);
  ck_line(text, "Exhaust back pressure 0.30 bar gauge (1.29 bar absolute, 4.4 psig)\n");
  ck_line(text, "  release at back pressure ");
  ck_assert_ptr_null(strstr(text, "tmospheric"));
  free(text);
  e = trolley(NULL);
  ck_assert(answer(e, 2e4));
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, true, NULL), LB_OK);
  ck_line(text, "margin: release 2.9 psi above ambient\n");
  ck_line(text, "  released at, cap end          2.9      2.5       9.3  psi gauge\n");
  free(text);
}
END_TEST

/* Inch figures come first in reasons and warnings, too. */
START_TEST(sentences_in_inch_units) {
  char *text = NULL;
  struct example *e = trolley("cylinder.dead volume cap end=160 cm3");
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, true, NULL), LB_OK);
  ck_assert(strstr(text, " psig (") && strstr(text, " cu in (") && strstr(text, " degF ("));
  ck_assert(!strstr(text, " psig)") && !strstr(text, " cu in)") && !strstr(text, " degF)"));
  free(text);
}
END_TEST

/* Without a supply above back pressure: the reasons, and neither tables nor what follows. */
START_TEST(note_without_a_supply) {
  char *text = NULL;
  struct example *e = trolley("supply.pressure=0 bar gauge");
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, false, NULL), LB_OK);
  ck_line(text, "Atmospheric release: no answer. The supply of 0.00 bar gauge (0.0 psig) is not\n");
  ck_line(text, "Best economy: no answer. Friction and back pressure take all the work");
  ck_line(text, "As timed in the file: no work after friction, the machine would not turn.\n");
  static const char *const never[] = {"Shut the inlet", "Per revolution", "In full",
                                      "One angle",      "ceiling",        "Warnings"};
  for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
    ck_assert_msg(!strstr(text, never[i]), "%s in:\n%s", never[i], text);
  free(text);
}
END_TEST

/* A name is bytes of the user's; it comes out as it went in, and no control of a spreadsheet. */
START_TEST(names_stay) {
  char *text = NULL;
  struct example *e = trolley(NULL);
  snprintf(e->machine.name, sizeof e->machine.name, "=B\xC3\xA4hnchen, \"2\"");
  ck_json(e);
  ck_assert_int_eq(lb_answer_cutoff_text(&text, &e->paper, false, NULL), LB_OK);
  ck_assert(strncmp(text, "=B\xC3\xA4hnchen, \"2\"\n", 16) == 0);
  free(text);
  ck_assert_int_eq(lb_answer_cutoff_csv(&text, &e->paper, NULL), LB_OK);
  ck_line(text, "\r\n\"'=B\xC3\xA4hnchen, \"\"2\"\"\",as_timed,cap,true,");
  free(text);
  e->machine.name[1] = '\xFF';
  ck_assert_int_eq(lb_answer_cutoff_json(&text, &e->paper, NULL), LB_BAD_INPUT);
}
END_TEST

/* The note, JSON and CSV of a machine one after the other, to be freed. */
static char *everything(const char *set) {
  char *part[3], *whole = NULL;
  size_t size;
  FILE *out = open_memstream(&whole, &size);
  struct example *e = trolley(set);
  ck_assert_int_eq(lb_answer_cutoff_text(&part[0], &e->paper, true, NULL), LB_OK);
  ck_assert_int_eq(lb_answer_cutoff_json(&part[1], &e->paper, NULL), LB_OK);
  ck_assert_int_eq(lb_answer_cutoff_csv(&part[2], &e->paper, NULL), LB_OK);
  for (int i = 0; i < 3; i++) {
    fputs(part[i], out);
    free(part[i]);
  }
  fclose(out);
  return whole;
}

/* A host whose locale has a decimal comma gets the same text, answers and refusals alike. */
START_TEST(no_matter_the_locale) {
  static const char *const set[] = {"supply.pressure=4.5 bar gauge",
                                    "cylinder.dead volume cap end=150.5 cm3"};
  char *before[2];
  for (int i = 0; i < 2; i++)
    before[i] = everything(set[i]);
  support_decimal_comma();
  for (int i = 0; i < 2; i++) {
    char *now = everything(set[i]);
    ck_assert_str_eq(now, before[i]);
    free(now);
    free(before[i]);
  }
  setlocale(LC_ALL, "C");
}
END_TEST

START_TEST(random_machines) {
  uint64_t state = 7;
  int seen = 0, without = 0;
  for (int i = 0; i < support_times(400); i++) {
    struct example e;
    random_machine(&e.machine, &state);
    if (!answer(&e, i % 3 ? 0 : 1e4))
      continue;
    ck_json(&e);
    ck_csv(&e);
    ck_note(&e, i % 2);
    seen++;
    without += !e.answer.choice[LB_ATMOSPHERIC].found;
  }
  ck_assert_int_ge(seen, support_least(350));
  ck_assert_int_ge(without, support_least(10));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/answer_cutoff");
  TCase *json = tcase_create("json"), *note = tcase_create("note"), *many = tcase_create("many");
  tcase_add_test(json, json_of_the_trolley);
  tcase_add_test(json, json_of_an_unknown_dead_volume);
  tcase_add_test(json, json_of_one_end);
  tcase_add_test(json, json_without_an_answer);
  tcase_add_test(note, note_of_the_trolley);
  tcase_add_test(note, note_without_an_answer);
  tcase_add_test(note, words_for_back_pressure_and_margin);
  tcase_add_test(note, sentences_in_inch_units);
  tcase_add_test(note, note_without_a_supply);
  tcase_add_test(note, names_stay);
  tcase_add_test(note, no_matter_the_locale);
  tcase_set_timeout(many, 60);
  tcase_add_test(many, random_machines);
  tcase_set_timeout(many, 60);
  suite_add_tcase(suite, json);
  suite_add_tcase(suite, note);
  suite_add_tcase(suite, many);
  return support_run(suite, NULL);
}
