/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One revolution on paper: JSON against the library's own figures and against conservation, CSV
 * against the JSON, and the note over random machines.
 */
#include "paper/answer_cycle.h"

#include "base/constants.h"
#include "decide/remarks.h"
#include "machine_text.h"
#include "random_machine.h"
#include "support.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum {
  DEGREES = 360,
  COLUMNS = 8,
  WIDTH = 79
};

static const double degree = LB_PI / 180;

/* The keys in their order, which programs may rely on. */
static const char *const top_keys[] = {"lastbar",
                                       "command",
                                       "machine",
                                       "expansion_exponent",
                                       "compression_exponent",
                                       "supply",
                                       "surroundings",
                                       "rule",
                                       "speed_rpm",
                                       "result",
                                       "audit",
                                       "torque",
                                       "dead_arcs_deg",
                                       "starting_supply_pa",
                                       "sensitivity",
                                       "tolerance_deg",
                                       "release_tolerance_deg",
                                       "warnings",
                                       NULL};
static const char *const audit_keys[] = {"crank_j",
                                         "friction_j",
                                         "filling_j",
                                         "pushed_back_j",
                                         "blowdown_j",
                                         "inlet_throttling_j",
                                         "exhaust_throttling_j",
                                         "heat_j",
                                         "leakage_j",
                                         "exhaust_j",
                                         "supplied_j",
                                         NULL};
static const char *const torque_keys[] = {"angle_deg", "torque_nm", NULL};
static const char *const supply_keys[] = {"anywhere", "best", NULL};
static const char *const sensitivity_keys[] = {"end",    "quantity", "step", "release_pressure_pa",
                                               "work_j", "air_kg",   NULL};
static const char *const end_names[] = {[LB_CAP_END] = "cap", [LB_ROD_END] = "rod"};

/* A machine with its answer to one question. */
struct example {
  struct lb_machine machine;
  struct lb_cycle *cycle;
  struct lb_cutoff_answer answer;
  struct lb_detail detail;
  struct lb_warning warning[LB_REMARKS_MOST];
  struct lb_cutoff_paper paper;
};

/* Returns false where the machine cannot be calculated. */
static bool ask(struct example *e, enum lb_rule rule, double margin) {
  const struct lb_choice *choice = &e->answer.choice[rule];
  e->cycle = lb_cycle_new();
  if (lb_cycle_prepare(e->cycle, &e->machine, NULL) != LB_OK ||
      lb_cutoff_find(&e->answer, e->cycle, margin, NULL) != LB_OK) {
    lb_cycle_free(e->cycle);
    return false;
  }
  if (choice->found)
    ck_assert_int_eq(lb_detail_find(&e->detail, e->cycle, choice->cutoff, NULL), LB_OK);
  size_t warnings = lb_remarks_cutoff(e->warning, &e->machine, &e->answer);
  e->paper = (struct lb_cutoff_paper){.machine = &e->machine,
                                      .answer = &e->answer,
                                      .margin = margin,
                                      .rule = rule,
                                      .detail = choice->found ? &e->detail : NULL,
                                      .disc = 0.12,
                                      .sketch = true,
                                      .warning = e->warning,
                                      .warnings = warnings};
  return true;
}

static struct example *demo(const char *name, enum lb_rule rule, double margin) {
  static struct example e;
  struct lb_errors errors = {0};
  struct lb_textfile *text;
  char path[64];
  snprintf(path, sizeof path, "data/machines/%s.ini", name);
  ck_assert_int_eq(lb_textfile_read(&text, support_source(path), &errors), LB_OK);
  ck_assert_int_eq(lb_machine_read(&e.machine, NULL, text, &errors), LB_OK);
  lb_textfile_free(text);
  lb_errors_free(&errors);
  ck_assert(ask(&e, rule, margin));
  return &e;
}

static json_t *json_of(const struct example *e) {
  char *text = NULL;
  json_error_t error;
  ck_assert_int_eq(lb_answer_cycle_json(&text, &e->paper, e->cycle, NULL), LB_OK);
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
  ck_assert_msg(root != NULL, "%s at line %d", error.text, error.line);
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

static double number(json_t *object, const char *key) {
  json_t *value = json_object_get(object, key);
  ck_assert_msg(json_is_real(value), "no number %s", key);
  return json_real_value(value);
}

/* A number within a few roundings, or null where it does not apply. */
static void ck_number(json_t *object, const char *key, bool applies, double expected) {
  if (applies)
    ck_close_relative(number(object, key), expected, EXACT);
  else
    ck_assert_msg(json_is_null(json_object_get(object, key)), "%s should be null", key);
}

/* The parts of the audit as they stand there make up what is supplied. */
static void ck_audit(json_t *root) {
  json_t *audit = json_object_get(root, "audit"), *value;
  const char *key;
  double sum = 0, most = 0, supplied = number(audit, "supplied_j");
  ck_keys(audit, audit_keys);
  json_object_foreach(audit, key, value) {
    most = fmax(most, fabs(json_real_value(value)));
    sum += strcmp(key, "supplied_j") == 0 ? 0 : json_real_value(value);
  }
  ck_close(sum, supplied, 1e-9 * most);
  ck_number(audit, "crank_j", true, number(json_object_get(root, "result"), "work_per_rev_j"));
}

/* The torque at each degree is that of the library. */
static void ck_torque(json_t *root, const struct example *e) {
  json_t *torque = json_object_get(root, "torque");
  json_t *angles = json_object_get(torque, "angle_deg"),
         *list = json_object_get(torque, "torque_nm");
  ck_keys(torque, torque_keys);
  ck_assert_uint_eq(json_array_size(angles), DEGREES + 1);
  ck_assert_uint_eq(json_array_size(list), DEGREES + 1);
  for (int i = 0; i <= DEGREES; i++) {
    double expected = lb_torque_machine(e->cycle, e->detail.cutoff, LB_RUNNING, i * degree);
    ck_close(json_real_value(json_array_get(angles, (size_t)i)), i, 0);
    ck_close_relative(json_real_value(json_array_get(list, (size_t)i)), expected, EXACT);
  }
}

static void ck_starting(json_t *root, const struct lb_detail *d) {
  json_t *arcs = json_object_get(root, "dead_arcs_deg");
  json_t *supply = json_object_get(root, "starting_supply_pa");
  ck_assert_uint_eq(json_array_size(arcs), d->arcs);
  for (size_t i = 0; i < d->arcs; i++) {
    json_t *arc = json_array_get(arcs, i);
    ck_assert_uint_eq(json_array_size(arc), 2);
    ck_close(json_real_value(json_array_get(arc, 0)) * degree, d->arc[i].from, EXACT * 10);
    ck_close(json_real_value(json_array_get(arc, 1)) * degree, d->arc[i].to, EXACT * 10);
  }
  ck_keys(supply, supply_keys);
  ck_number(supply, "anywhere", d->starting.anywhere_found, d->starting.anywhere);
  ck_number(supply, "best", d->starting.best_found, d->starting.best);
}

/* What a step of each quantity is [its unit in the library], by its name. */
static double step_of(const struct lb_machine *m, const struct lb_sensitivity *s,
                      const char *quantity, double step) {
  static const char *const names[] = {[LB_VARIED_INLET_OPENS] = "inlet_opens_deg",
                                      [LB_VARIED_CUTOFF] = "cutoff_deg",
                                      [LB_VARIED_RELEASE] = "release_deg",
                                      [LB_VARIED_EXHAUST_CLOSES] = "exhaust_closes_deg",
                                      [LB_VARIED_DEAD_VOLUME] = "dead_volume_percent",
                                      [LB_VARIED_SUPPLY_PRESSURE] = "supply_pressure_pa"};
  ck_assert_str_eq(quantity, names[s->varied]);
  if (s->varied == LB_VARIED_SUPPLY_PRESSURE)
    return step;
  return s->varied == LB_VARIED_DEAD_VOLUME ? step / 100 * m->dead_volume[s->end] : step * degree;
}

static void ck_sensitivity(json_t *root, const struct example *e) {
  json_t *rows = json_object_get(root, "sensitivity");
  int ends = e->machine.works[LB_CAP_END] + e->machine.works[LB_ROD_END];
  ck_assert_uint_eq(json_array_size(rows), (size_t)(ends * LB_VARIED));
  for (size_t i = 0; i < json_array_size(rows); i++) {
    const struct lb_sensitivity *s = &e->detail.sensitivity[i];
    json_t *row = json_array_get(rows, i);
    const char *quantity = json_string_value(json_object_get(row, "quantity"));
    double step = step_of(&e->machine, s, quantity, number(row, "step"));
    ck_keys(row, sensitivity_keys);
    ck_assert_str_eq(json_string_value(json_object_get(row, "end")), end_names[s->end]);
    ck_number(row, "release_pressure_pa", true, s->release_pressure * step);
    ck_number(row, "work_j", true, s->work * step);
    ck_number(row, "air_kg", true, s->air * step);
  }
}

static void ck_tolerance(json_t *root, const struct example *e, bool of_release) {
  json_t *tolerance = json_object_get(root, of_release ? "release_tolerance_deg" : "tolerance_deg");
  ck_assert_uint_eq(json_object_size(tolerance), LB_ENDS);
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_tolerance *t = of_release ? &e->detail.pressure[end][LB_VARIED_CUTOFF]
                                              : &e->detail.work[end][LB_VARIED_CUTOFF];
    json_t *value = json_object_get(tolerance, end_names[end]);
    if (!e->machine.works[end] || !e->detail.tolerances_found) {
      ck_assert(json_is_null(value));
      continue;
    }
    ck_number(value, "earlier", true, t->earlier / degree);
    ck_number(value, "later", true, t->later / degree);
  }
}

/* Everything in the JSON of an answer. */
static void ck_json(const struct example *e) {
  json_t *root = json_of(e), *result = json_object_get(root, "result");
  const struct lb_choice *choice = &e->answer.choice[e->paper.rule];
  ck_keys(root, top_keys);
  ck_assert_str_eq(json_string_value(json_object_get(root, "command")), "cycle");
  ck_assert_str_eq(json_string_value(json_object_get(root, "rule")),
                   lb_cutoff_rule_name(e->paper.rule));
  ck_number(root, "speed_rpm", true, 0);
  ck_assert(json_is_true(json_object_get(result, "found")) == choice->found);
  ck_number(result, "work_per_rev_j", choice->found, choice->revolution.work);
  ck_number(result, "air_per_rev_kg", choice->found, choice->revolution.air);
  if (choice->found) {
    ck_audit(root);
    ck_torque(root, e);
    ck_starting(root, &e->detail);
    ck_sensitivity(root, e);
    ck_tolerance(root, e, false);
    ck_tolerance(root, e, true);
  } else {
    for (size_t i = 10; i < 17; i++) /* "audit" ... "release_tolerance_deg" */
      ck_assert_msg(json_is_null(json_object_get(root, top_keys[i])), "%s", top_keys[i]);
  }
  json_decref(root);
}

/* A row for each degree, with the torque of the JSON and volumes between dead and whole. */
static void ck_csv(const struct example *e) {
  char *csv = NULL;
  int row = 0;
  json_t *root = json_of(e);
  json_t *torque = json_object_get(json_object_get(root, "torque"), "torque_nm");
  ck_assert_int_eq(lb_answer_cycle_csv(&csv, &e->paper, e->cycle, NULL), LB_OK);
  const char *line = strstr(csv, "\r\n") + 2;
  for (; *line; line = strstr(line, "\r\n") + 2, row++) {
    double cell[COLUMNS];
    const char *at = line;
    for (int column = 0; column < COLUMNS; column++) {
      cell[column] = strtod(at, NULL); /* an empty cell gives 0 */
      at += strcspn(at, column < COLUMNS - 1 ? "," : "\r") + 1;
    }
    ck_assert_int_eq(at[0], '\n');
    ck_close(cell[0], row, 0);
    ck_close(cell[1], json_real_value(json_array_get(torque, (size_t)row)), 0);
    for (int end = 0; end < LB_ENDS; end++) {
      double dead = e->machine.dead_volume[end], volume = cell[5 + 2 * end];
      double swept = lb_machine_area(&e->machine, (enum lb_end)end) * e->machine.linkage.stroke;
      if (!e->machine.works[end])
        continue;
      ck_assert_msg(volume >= dead * (1 - IDENTITY) - IDENTITY * swept &&
                        volume <= (dead + swept) * (1 + IDENTITY),
                    "a volume of %g m3 at %d degrees", volume, row);
      ck_assert(cell[4 + 2 * end] > 0);
    }
  }
  ck_assert_int_eq(row, DEGREES + 1);
  json_decref(root);
  free(csv);
}

/* What no note may contain, whatever the machine. */
static void ck_note(const struct example *e, bool inch) {
  static const char *const never[] = {"nan", "inf ", "-0 ", "-0.0 ", "-0.00 ", " \n", "%!"};
  char *text = NULL;
  ck_assert_int_eq(lb_answer_cycle_text(&text, &e->paper, inch, NULL), LB_OK);
  for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
    int length = (int)strcspn(line, "\n");
    ck_assert_msg(length <= WIDTH, "%d columns: %.*s", length, length, line);
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
      const char *found = strstr(line, never[i]);
      ck_assert_msg(!found || found > line + length, "'%s' in: %.*s", never[i], length, line);
    }
    for (int i = 0; i < length; i++)
      ck_assert_msg((unsigned char)line[i] < 0x80, "not plain ASCII: %.*s", length, line);
  }
  free(text);
}

/* The torque shown integrates to the work shown. */
static void ck_work(const struct example *e) {
  json_t *root = json_of(e);
  json_t *torque = json_object_get(json_object_get(root, "torque"), "torque_nm");
  double sum = 0;
  for (size_t i = 0; i < DEGREES; i++)
    sum += degree * json_real_value(json_array_get(torque, i));
  ck_close_relative(sum, number(json_object_get(root, "result"), "work_per_rev_j"), 0.01);
  json_decref(root);
}

START_TEST(demo_machines) {
  static const char *const names[] = {"trolley", "pump", "launch", "tractor", "organ"};
  static const enum lb_rule rules[] = {LB_AS_TIMED, LB_ATMOSPHERIC, LB_ECONOMY};
  struct example *e = demo(names[_i / 3], rules[_i % 3], 0);
  ck_json(e);
  ck_work(e);
  ck_csv(e);
  ck_note(e, false);
  lb_cycle_free(e->cycle);
}
END_TEST

START_TEST(without_an_answer) {
  char *csv = NULL;
  struct example *e = demo("pump", LB_ATMOSPHERIC, 10e5);
  ck_assert_ptr_null(e->paper.detail);
  ck_json(e);
  ck_note(e, true);
  ck_assert_int_eq(lb_answer_cycle_csv(&csv, &e->paper, e->cycle, NULL), LB_OK);
  ck_assert_str_eq(csv, "");
  free(csv);
  lb_cycle_free(e->cycle);
}
END_TEST

START_TEST(random_machines) {
  static struct example e;
  uint64_t state = 7;
  int found = 0, without = 0;
  for (int i = 0; i < support_times(200); i++) {
    random_machine(&e.machine, &state);
    e.machine.load_torque = i % 4 ? 0 : 2;
    if (!ask(&e, (enum lb_rule)(i % 3), i % 5 ? 0 : 1e4))
      continue;
    ck_json(&e);
    ck_note(&e, i % 2);
    if (e.paper.detail)
      ck_csv(&e);
    *(e.paper.detail ? &found : &without) += 1;
    lb_cycle_free(e.cycle);
  }
  ck_assert_int_ge(found, support_least(150));
  ck_assert_int_ge(without, support_least(5));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/answer_cycle");
  TCase *known = tcase_create("known"), *many = tcase_create("many");
  tcase_add_loop_test(known, demo_machines, 0, 15);
  tcase_add_test(known, without_an_answer);
  tcase_set_timeout(many, 60);
  tcase_add_test(many, random_machines);
  suite_add_tcase(suite, known);
  suite_add_tcase(suite, many);
  return support_run(suite, NULL);
}
