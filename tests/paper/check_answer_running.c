/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answers about a machine at speed: JSON and CSV against the structs they are made of, the
 * sentences against the figures in them, and the note over random machines.
 */
#include "paper/answer_running.h"

#include "base/constants.h"
#include "machine_text.h"
#include "physics/conductance.h"
#include "random_machine.h"
#include "support.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  DEGREES = 360,
  WIDTH = 79
};

static const double litre_per_bar = 1e-8; /* [m3/(s Pa)] L/(s bar) */
static const char *const end_names[] = {[LB_CAP_END] = "cap", [LB_ROD_END] = "rod"};

/* A machine with the answers at a speed. */
struct example {
  struct lb_machine machine;
  struct lb_gas *gas;
  struct lb_running_choice choice;
  struct lb_cutoff_answer answer;
  struct lb_advice advice;
  struct lb_warning warning[LB_ADVICE_WARNINGS];
  struct lb_running_paper paper;
};

static void set_valves(struct lb_machine *m, double inlet, double exhaust) {
  m->path[LB_INLET_VALVE].flow = (struct lb_flow){inlet * litre_per_bar, 0.3, 0.5};
  m->path[LB_EXHAUST_VALVE].flow = (struct lb_flow){exhaust * litre_per_bar, 0.25, 0.5};
}

/* The trolley with two cylinders, valves of different sizes, and every loss. */
static struct lb_machine demo(void) {
  struct lb_machine m = machine_text_demo(MACHINE_TEXT_TROLLEY);
  set_valves(&m, 1.4, 2.1);
  m.cylinders = 2;
  m.crank_angle[1] = 90 * LB_DEGREE;
  m.leakage = 0.01 * litre_per_bar;
  m.wall_heat_transfer = 60;
  return m;
}

static struct lb_running_choice choose(struct example *e, enum lb_rule rule, double speed) {
  struct lb_running_choice choice;
  ck_assert_int_eq(lb_running_cutoff(&choice, e->gas, &e->machine, rule, 0, speed, NULL), LB_OK);
  lb_answer_running_choice(&e->answer.choice[rule], &e->machine, &choice);
  return choice;
}

/* Look closer at a choice. Returns false where the machine cannot be calculated. */
static bool look_closer(struct example *e, enum lb_rule rule, double speed) {
  e->paper = (struct lb_running_paper){.paper = {.machine = &e->machine,
                                                 .answer = &e->answer,
                                                 .speed = speed,
                                                 .rule = rule,
                                                 .warning = e->warning},
                                       .choice = &e->choice,
                                       .gas = e->gas};
  if (!e->choice.found)
    return true;
  if (lb_advice_find(&e->advice, e->gas, &e->machine, &e->choice, NULL) != LB_OK ||
      lb_running_follow(&e->choice, e->gas, &e->machine, NULL) != LB_OK)
    return false;
  e->paper.advice = &e->advice;
  e->paper.paper.warnings = lb_advice_warnings(e->warning, &e->machine, &e->choice);
  return true;
}

/* All rules about a machine. To be released with release. */
static struct example *ask(struct lb_machine machine, enum lb_rule rule, double speed) {
  static const enum lb_rule rules[] = {LB_AS_TIMED, LB_ATMOSPHERIC, LB_ECONOMY};
  struct example *e = calloc(1, sizeof *e);
  e->machine = machine;
  e->gas = lb_gas_new();
  for (int i = 0; i < 3; i++)
    choose(e, rules[i], speed);
  e->choice = choose(e, rule, speed);
  ck_assert(look_closer(e, rule, speed));
  return e;
}

static void release(struct example *e) {
  lb_gas_free(e->gas);
  free(e);
}

typedef enum lb_status json_writer(char **json, const struct lb_running_paper *paper,
                                   struct lb_error *error);

static json_t *json_of(const struct example *e, json_writer *write) {
  char *text = NULL;
  json_error_t error;
  ck_assert_int_eq(write(&text, &e->paper, NULL), LB_OK);
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
  ck_assert_msg(root != NULL, "%s at line %d", error.text, error.line);
  free(text);
  return root;
}

static double number(json_t *object, const char *key) {
  json_t *value = json_object_get(object, key);
  ck_assert_msg(json_is_real(value), "no number %s", key);
  return json_real_value(value);
}

#define ck_number(object, key, expected) ck_close_relative(number(object, key), expected, EXACT)

/* ---------- JSON ---------- */

/* An end of a choice, and the machine. */
static void ck_choice(json_t *choice, const struct lb_choice *expected) {
  const struct lb_revolution *r = &expected->revolution;
  ck_number(choice, "work_per_rev_j", r->work);
  ck_number(choice, "air_per_rev_kg", r->air);
  for (int end = 0; end < LB_ENDS; end++) {
    json_t *figures = json_object_get(json_object_get(choice, "ends"), end_names[end]);
    ck_number(figures, "cutoff_deg", expected->cutoff[end] / LB_DEGREE);
    ck_number(figures, "release_pressure_pa", r->end[end].turn.release_pressure);
    ck_number(figures, "indicated_work_j", r->end[end].turn.work);
  }
}

/* Each valve is switched ahead of its event by its delay. */
static void ck_switching(json_t *root, const struct example *e) {
  const struct lb_machine *m = &e->machine;
  const struct lb_valve_delay *inlet = &m->valve_delay[LB_INLET_VALVE],
                              *exhaust = &m->valve_delay[LB_EXHAUST_VALVE];
  double speed = e->paper.paper.speed;
  for (int end = 0; end < LB_ENDS; end++) {
    json_t *angles = json_object_get(json_object_get(root, "switching"), end_names[end]);
    const struct lb_timing *t = &m->timing[end];
    ck_close(number(angles, "inlet_on_deg") * LB_DEGREE, t->inlet_opens - speed * inlet->on,
             IDENTITY);
    ck_close(number(angles, "inlet_off_deg") * LB_DEGREE,
             e->choice.cutoff[end] - speed * inlet->off, IDENTITY);
    ck_close(number(angles, "exhaust_on_deg") * LB_DEGREE, t->release - speed * exhaust->on,
             IDENTITY);
    ck_close(number(angles, "exhaust_off_deg") * LB_DEGREE,
             t->exhaust_closes - speed * exhaust->off, IDENTITY);
  }
}

/* Every cause that applies, in order, and no other. */
static void ck_advice(json_t *root, const struct lb_advice *a) {
  static const char *const keys[LB_CAUSES] = {"inlet_flow", "exhaust_flow", "opening_ramp",
                                              "delay",      "supply_line",  "leakage",
                                              "heat",       "dead_volume",  "friction"};
  json_t *advice = json_object_get(root, "advice"), *list = json_object_get(advice, "without");
  size_t row = 0;
  ck_number(advice, "slow_work_per_rev_j", a->slow.work);
  ck_number(advice, "valves_wider", a->wider);
  for (int cause = 0; cause < LB_CAUSES; cause++) {
    if (!a->without[cause].applies)
      continue;
    json_t *without = json_array_get(list, row++);
    ck_assert_str_eq(json_string_value(json_object_get(without, "cause")), keys[cause]);
    ck_number(without, "work_per_rev_j", a->without[cause].work);
    ck_number(without, "work_per_kg_j", a->without[cause].work_per_kg);
  }
  ck_assert_uint_eq(json_array_size(list), row);
  ck_assert_uint_eq(row, 7); /* angles are events, and there is no line */
}

START_TEST(cutoff_json_is_the_answer) {
  struct example *e = ask(demo(), LB_ATMOSPHERIC, 120 * LB_RPM);
  json_t *root = json_of(e, lb_answer_running_cutoff_json);
  json_t *choices = json_object_get(root, "choices");
  ck_assert_uint_eq(json_object_size(choices), 3);
  ck_choice(json_object_get(choices, "as_timed"), &e->answer.choice[LB_AS_TIMED]);
  ck_choice(json_object_get(choices, "atmospheric"), &e->answer.choice[LB_ATMOSPHERIC]);
  ck_choice(json_object_get(choices, "economy"), &e->answer.choice[LB_ECONOMY]);
  ck_number(root, "speed_rpm", 120);
  ck_switching(root, e);
  ck_advice(root, &e->advice);
  ck_assert_uint_eq(json_array_size(json_object_get(root, "warnings")), e->paper.paper.warnings);
  json_decref(root);
  release(e);
}
END_TEST

/* The audit is that of all cylinders, and closes. */
static void ck_audit(json_t *root, const struct example *e) {
  const struct lb_gas_worth *w = &e->choice.running.cylinder.worth;
  json_t *audit = json_object_get(root, "audit"), *value;
  const char *key;
  double sum = 0;
  ck_number(audit, "inlet_throttling_j", 2 * w->inlet);
  ck_number(audit, "filling_j", 2 * w->mixing);
  ck_number(audit, "exhaust_throttling_j", 2 * w->exhaust_valve);
  ck_number(audit, "heat_j", 2 * w->heat);
  ck_number(audit, "leakage_j", 2 * w->leakage);
  ck_number(audit, "exhaust_j", 2 * w->exhaust);
  ck_assert(w->heat > 0 && w->leakage > 0 && w->inlet > 0 && w->exhaust_valve > 0);
  json_object_foreach(audit, key, value) sum += json_real_value(value);
  ck_close_relative(sum, 2 * number(audit, "supplied_j"), 1e-6);
}

static void ck_torque(json_t *root, const struct example *e) {
  json_t *list = json_object_get(json_object_get(root, "torque"), "torque_nm");
  ck_assert_uint_eq(json_array_size(list), DEGREES + 1);
  for (int i = 0; i <= DEGREES; i++)
    ck_close_relative(json_real_value(json_array_get(list, (size_t)i)),
                      lb_running_torque(e->gas, &e->machine, i * LB_DEGREE), EXACT);
}

START_TEST(cycle_json_is_the_revolution) {
  struct example *e = ask(demo(), LB_ECONOMY, 90 * LB_RPM);
  json_t *root = json_of(e, lb_answer_running_cycle_json);
  ck_choice(json_object_get(root, "result"), &e->answer.choice[LB_ECONOMY]);
  ck_number(root, "power_w", e->choice.running.revolution.work * 90 / 60);
  for (int end = 0; end < LB_ENDS; end++) {
    json_t *figures = json_object_get(json_object_get(root, "at_speed"), end_names[end]);
    const struct lb_gas_turn *t = &e->choice.running.cylinder.end[end];
    ck_number(figures, "cutoff_pressure_pa", t->cutoff_pressure);
    ck_number(figures, "greatest_pressure_pa", t->greatest_pressure);
    ck_number(figures, "coldest_temperature_k", t->coldest_temperature);
  }
  ck_audit(root, e);
  ck_torque(root, e);
  ck_switching(root, e);
  json_decref(root);
  release(e);
}
END_TEST

/* Without an answer every figure of it is null, and there is no row. */
START_TEST(no_answer_has_no_figures) {
  static const char *const null[] = {"power_w", "at_speed", "audit", "torque", "advice"};
  struct lb_machine m = demo();
  m.works[LB_ROD_END] = false;
  struct example *e = ask(m, LB_ATMOSPHERIC, 3000 * LB_RPM);
  char *csv = NULL;
  ck_assert(!e->choice.found && !e->paper.advice);
  json_t *root = json_of(e, lb_answer_running_cycle_json);
  for (size_t i = 0; i < sizeof null / sizeof null[0]; i++)
    ck_assert_msg(json_is_null(json_object_get(root, null[i])), "%s", null[i]);
  json_t *switching = json_object_get(root, "switching");
  ck_assert(json_is_null(json_object_get(switching, "cap")));
  json_t *result = json_object_get(root, "result");
  ck_assert_str_eq(json_string_value(json_object_get(result, "why")), e->choice.why);
  ck_assert_str_eq(json_string_value(json_object_get(result, "would_do")), e->choice.would_do);
  ck_assert(json_is_null(json_object_get(result, "work_per_rev_j")));
  ck_assert_int_eq(lb_answer_running_cycle_csv(&csv, &e->paper, NULL), LB_OK);
  ck_assert_str_eq(csv, "");
  free(csv);
  json_decref(root);
  release(e);
}
END_TEST

/* ---------- CSV ---------- */

/* Every point of both ends, in the order of the crank. */
START_TEST(cycle_csv_has_every_point) {
  struct example *e = ask(demo(), LB_AS_TIMED, 120 * LB_RPM);
  const struct lb_gas_point *point[LB_ENDS];
  size_t points[LB_ENDS], seen[LB_ENDS] = {0, 0};
  char *csv = NULL;
  double before = 0;
  for (int end = 0; end < LB_ENDS; end++)
    point[end] = lb_gas_points(e->gas, (enum lb_end)end, &points[end]);
  ck_assert_int_eq(lb_answer_running_cycle_csv(&csv, &e->paper, NULL), LB_OK);
  for (char *line = strchr(csv, '\n') + 1; *line; line = strchr(line, '\n') + 1) {
    double angle, volume, pressure, temperature, work;
    char name[4];
    ck_assert_int_eq(sscanf(line, "%lf,%3[a-z],%lf,%lf,%lf,%lf", &angle, name, &volume, &pressure,
                            &temperature, &work),
                     6);
    int end = strcmp(name, "cap") == 0 ? LB_CAP_END : LB_ROD_END;
    ck_assert_uint_lt(seen[end], points[end]);
    const struct lb_gas_point *p = &point[end][seen[end]++];
    ck_assert(angle >= before && angle == p->angle / LB_DEGREE && volume == p->volume);
    ck_assert(pressure == p->pressure && temperature == p->temperature && work == p->work);
    before = angle;
  }
  ck_assert(seen[LB_CAP_END] == points[LB_CAP_END] && seen[LB_ROD_END] == points[LB_ROD_END]);
  free(csv);
  release(e);
}
END_TEST

/* A name that is no text fails where it would be printed as data, and changes nothing. */
START_TEST(name_that_is_no_text) {
  struct example *e = ask(demo(), LB_AS_TIMED, 60 * LB_RPM);
  char *unchanged = NULL;
  memcpy(e->machine.name, "\xC3(", 3);
  ck_assert_int_eq(lb_answer_running_cutoff_json(&unchanged, &e->paper, NULL), LB_BAD_INPUT);
  ck_assert_int_eq(lb_answer_running_cycle_json(&unchanged, &e->paper, NULL), LB_BAD_INPUT);
  ck_assert_int_eq(lb_answer_running_cutoff_csv(&unchanged, &e->paper, NULL), LB_BAD_INPUT);
  ck_assert_ptr_null(unchanged);
  release(e);
}
END_TEST

/* ---------- the note ---------- */

static char *note_of(const struct example *e, bool cycle, bool inch) {
  char *text = NULL;
  ck_assert_int_eq((cycle ? lb_answer_running_cycle_text
                          : lb_answer_running_cutoff_text)(&text, &e->paper, inch, NULL),
                   LB_OK);
  return text;
}

/* The note on one line, so that sentences can be found in it. */
static char *unwrapped(const struct example *e, bool inch) {
  char *text = note_of(e, true, inch), *to = text;
  for (const char *from = text; *from; from++) {
    bool blank = *from == ' ' || *from == '\n';
    if (!blank || (to > text && to[-1] != ' '))
      *to++ = blank ? ' ' : *from;
  }
  *to = '\0';
  return text;
}

/* The numbers of a sentence, as the format finds them behind its first words. */
#define ck_scan(text, words, count, ...)                                                           \
  do {                                                                                             \
    const char *there = strstr(text, words);                                                       \
    ck_assert_msg(there != NULL, "no '%s' in: %s", words, text);                                   \
    ck_assert_int_eq(sscanf(there, __VA_ARGS__), count);                                           \
  } while (0)

/* Each answer about the width has its sentence, with both paths so many times as wide. */
START_TEST(width_in_words) {
  struct example *e = ask(demo(), LB_AS_TIMED, 120 * LB_RPM);
  double times, share, inlet, exhaust, inlet_cv, exhaust_cv;
  e->advice.wider = 2.5;
  char *text = unwrapped(e, false);
  ck_scan(text, "Both valves", 4,
          "Both valves %lf times as wide would give %lf %% of the slow work: %lf L/(s bar) at the "
          "inlet and %lf L/(s bar) at the exhaust",
          &times, &share, &inlet, &exhaust);
  ck_assert(times == 2.5 && share == 90 && inlet == 3.5 && exhaust == 5.25);
  free(text);
  text = unwrapped(e, true);
  ck_scan(text, "a Cv of", 4,
          "a Cv of %lf (%lf L/(s bar)) at the inlet and a Cv of %lf (%lf L/(s bar)) at the exhaust",
          &inlet_cv, &inlet, &exhaust_cv, &exhaust);
  ck_assert(inlet == 3.5 && exhaust == 5.25);
  ck_close_relative(lb_conductance_of_cv(inlet_cv, 0.3).conductance, 3.5 * litre_per_bar, 0.005);
  ck_close_relative(lb_conductance_of_cv(exhaust_cv, 0.25).conductance, 5.25 * litre_per_bar,
                    0.005);
  free(text);
  e->advice.wider = 0.5;
  text = unwrapped(e, false);
  ck_scan(text, "The valves are wide enough: for", 3,
          "The valves are wide enough: for %lf %% of the slow work %lf L/(s bar) at the inlet and "
          "%lf",
          &share, &inlet, &exhaust);
  ck_assert(inlet == 0.7 && exhaust == 1.05);
  free(text);
  e->advice.wider = 0;
  text = unwrapped(e, false);
  ck_assert_ptr_nonnull(strstr(text, "No width of the valves alone gives 90 % of the slow work."));
  free(text);
  release(e);
}
END_TEST

/* The table of causes has the work without each and what that changes, with its sign. */
START_TEST(causes_in_words) {
  struct example *e = ask(demo(), LB_AS_TIMED, 120 * LB_RPM);
  double work, change, now = e->choice.running.revolution.work;
  e->advice.without[LB_CAUSE_LEAKAGE].work = now + 12.3;
  e->advice.without[LB_CAUSE_HEAT].work = now - 4.5;
  e->advice.without[LB_CAUSE_FRICTION].work = now - 0.004;
  char *text = unwrapped(e, false), *table = strstr(text, "What takes work away");
  ck_assert_ptr_nonnull(table);
  ck_scan(table, "leakage ", 2, "leakage %lf +%lf", &work, &change);
  ck_close(work, now + 12.3, 0.0501);
  ck_close(change, 12.3, 1e-9);
  ck_scan(table, "heat from the walls ", 2, "heat from the walls %lf -%lf", &work, &change);
  ck_close(work, now - 4.5, 0.0501);
  ck_close(change, 4.5, 1e-9);
  ck_scan(table, "friction ", 1, "friction %lf", &work);
  ck_assert_ptr_null(strstr(text, "-0.0 "));
  ck_assert_ptr_null(strstr(text, "valves that follow late"));
  free(text);
  release(e);
}
END_TEST

/* What no note may contain, whatever the machine. */
static void ck_note(const struct example *e, bool cycle, bool inch) {
  static const char *const never[] = {"nan", "inf ", "-0 ", "-0.0 ", "-0.00 ", " \n", "%!"};
  char *text = note_of(e, cycle, inch);
  for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
    int length = (int)strcspn(line, "\n");
    ck_assert_msg(length <= WIDTH, "%d columns: %.*s", length, length, line);
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
      const char *found = strstr(line, never[i]);
      ck_assert_msg(!found || found > line + length, "'%s' in: %.*s", never[i], length, line);
    }
  }
  free(text);
}

/* The cut-off says none of what it does not know. */
START_TEST(notes_of_all_rules) {
  static const double rpm[] = {2, 120, 400, 3000};
  for (size_t i = 0; i < sizeof rpm / sizeof rpm[0]; i++) {
    struct example *e = ask(demo(), (enum lb_rule)(i % 3), rpm[i] * LB_RPM);
    ck_note(e, false, false);
    ck_note(e, false, true);
    ck_note(e, true, false);
    release(e);
  }
}
END_TEST

/* Random machines, with valves from far too small to wide open. */
START_TEST(notes_of_random_machines) {
  uint64_t state = 11;
  int noted = 0, driven = 0;
  for (int i = 0; i < support_times(30); i++) {
    struct example *e = calloc(1, sizeof *e);
    double speed = support_between(&state, 5, 900) * LB_RPM;
    random_machine(&e->machine, &state);
    set_valves(&e->machine, pow(10, support_between(&state, -1, 1.5)),
               pow(10, support_between(&state, -1, 1.5)));
    e->gas = lb_gas_new();
    if (lb_running_cutoff(&e->choice, e->gas, &e->machine, LB_AS_TIMED, 0, speed, NULL) == LB_OK) {
      lb_answer_running_choice(&e->answer.choice[LB_AS_TIMED], &e->machine, &e->choice);
      if (look_closer(e, LB_AS_TIMED, speed)) {
        ck_note(e, true, i % 2);
        noted++;
        driven += e->choice.found && e->choice.running.revolution.work < 0;
      }
    }
    release(e);
  }
  ck_assert_int_ge(noted, support_times(30) / 2);
  ck_assert(driven > 0 || support_times(30) < 60);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/answer_running");
  TCase *data = tcase_create("data"), *notes = tcase_create("notes");
  tcase_set_timeout(data, 60);
  tcase_add_test(data, cutoff_json_is_the_answer);
  tcase_add_test(data, no_answer_has_no_figures);
  tcase_set_timeout(notes, 120);
  tcase_add_test(notes, notes_of_random_machines);
  if (!support_is_rough()) { /* what they ask takes seconds as it is */
    tcase_add_test(data, cycle_json_is_the_revolution);
    tcase_add_test(data, cycle_csv_has_every_point);
    tcase_add_test(data, name_that_is_no_text);
    tcase_add_test(notes, width_in_words);
    tcase_add_test(notes, causes_in_words);
    tcase_add_test(notes, notes_of_all_rules);
  }
  suite_add_tcase(suite, data);
  suite_add_tcase(suite, notes);
  return support_run(suite, NULL);
}
