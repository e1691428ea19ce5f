/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What came of running a store down, for programs: JSON against the struct it is made of, CSV
 * against JSON.
 */
#include "base/constants.h"
#include "paper/answer_rundown.h"
#include "rundown_maker.h"
#include "support.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  BEST = RUNDOWN_MAKER_BEST,
  TWO = RUNDOWN_MAKER_TWO,
  THREE = RUNDOWN_MAKER_THREE,
  FOLLOWING = RUNDOWN_MAKER_FOLLOWING,
  RUNS = RUNDOWN_MAKER_RUNS
};
static const double ambient = RUNDOWN_MAKER_AMBIENT;

static json_t *json_of(struct rundown_maker *e) {
  char *text = NULL;
  json_error_t error;
  ck_assert_int_eq(lb_answer_rundown_json(&text, rundown_maker_paper(e), NULL), LB_OK);
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
  ck_assert_msg(root != NULL, "%s at line %d", error.text, error.line);
  free(text);
  return root;
}

static json_t *get(json_t *object, const char *key) {
  json_t *value = json_object_get(object, key);
  ck_assert_msg(value != NULL, "no key %s", key);
  return value;
}

#define ck_number(object, key, expected)                                                           \
  ck_close_relative(json_number_value(get(object, key)), expected, EXACT)
#define ck_null(object, key) ck_assert_msg(json_is_null(get(object, key)), "%s is not null", key)
#define ck_word(object, key, expected)                                                             \
  ck_assert_str_eq(json_string_value(get(object, key)), expected)

static void ck_books(json_t *part, const struct lb_run_books *b) {
  ck_number(part, "start_worth_j", b->start);
  ck_number(part, "end_worth_j", b->end);
  ck_number(part, "crank_j", b->crank);
  ck_number(part, "friction_j", b->friction);
  ck_number(part, "inlet_throttling_j", b->inlet);
  ck_number(part, "filling_j", b->filling);
  ck_number(part, "pushed_back_j", b->pushed_back);
  ck_number(part, "release_j", b->release);
  ck_number(part, "heat_j", b->heat);
  ck_number(part, "leakage_j", b->leakage);
  ck_number(part, "exhaust_j", b->exhaust);
  ck_number(part, "regulator_j", b->regulator);
  ck_number(part, "pipe_j", b->pipe);
  ck_number(part, "ideal_gas_j", b->ideal);
  ck_number(part, "store_walls_j", b->store_walls);
  ck_number(part, "store_leak_j", b->store_leak);
}

static void ck_plan(json_t *plan, const struct lb_run *run) {
  ck_assert(json_is_true(get(plan, "ran")));
  ck_null(plan, "why");
  ck_number(get(plan, "cutoff_deg"), "cap", run->cutoff[LB_CAP_END] / LB_DEGREE);
  ck_number(get(plan, "cutoff_deg"), "rod", run->cutoff[LB_ROD_END] / LB_DEGREE);
  ck_number(plan, "powered_revolutions", run->powered_revolutions);
  ck_number(plan, "revolutions", run->revolutions);
  ck_number(plan, "powered_distance_m", run->powered_distance);
  ck_number(plan, "distance_m", run->distance);
  ck_number(plan, "duration_s", run->duration);
  ck_number(plan, "useful_work_j", run->useful_work);
  ck_number(plan, "work_j", run->work);
  ck_number(plan, "air_used_kg", run->air_used);
  ck_number(plan, "air_left_kg", run->air_left);
  ck_number(plan, "air_leaked_kg", run->air_leaked);
  ck_number(plan, "end_pressure_pa", run->end_pressure);
  ck_number(plan, "end_temperature_k", run->end_temperature);
  ck_number(plan, "warmed_end_pressure_pa", run->warmed_pressure);
  ck_number(plan, "coldest_gas_k", run->coldest_gas);
  ck_number(plan, "coldest_tank_k", run->coldest_tank);
  ck_number(plan, "coldest_supply_k", run->coldest_supply);
  ck_number(plan, "peak_pin_force_n", run->peak_pin_force);
  ck_books(get(plan, "exergy_lost_j"), &run->books);
}

/* A course has a number for every point in each of its lists. */
static void ck_course(json_t *course, const struct lb_run *run) {
  const char *key;
  json_t *series;
  ck_assert_int_eq((int)json_object_size(course), 12);
  json_object_foreach(course, key, series)
      ck_assert_msg(json_array_size(series) == run->points, "%s", key);
  for (size_t i = 0; i < run->points; i++) {
    const struct lb_run_point *p = &run->point[i];
    ck_close_relative(json_number_value(json_array_get(get(course, "tank_pressure_pa"), i)),
                      p->tank_pressure, EXACT);
    ck_close_relative(json_number_value(json_array_get(get(course, "rod_cutoff_deg"), i)),
                      p->cutoff[LB_ROD_END] / LB_DEGREE, EXACT);
    ck_close_relative(json_number_value(json_array_get(get(course, "mean_torque_nm"), i)),
                      p->mean_torque, EXACT);
  }
}

START_TEST(json_plans) {
  static const char *const name[RUNS] = {"unregulated", "regulated", "regulated_best",
                                         "stepped",     "stepped",   "following"};
  struct rundown_maker e = rundown_maker_new();
  json_t *root = json_of(&e), *plans = get(root, "plans");
  ck_assert_int_eq((int)json_array_size(plans), RUNS);
  for (int k = 0; k < RUNS; k++) {
    json_t *plan = json_array_get(plans, (size_t)k);
    ck_word(plan, "plan", name[k]);
    if (k == 0)
      continue;
    ck_plan(plan, &e.rundown->run[k]);
    ck_word(plan, "ended", k == BEST ? "lowest_pressure" : "load");
    ck_course(get(plan, "course"), &e.rundown->run[k]);
    ck_assert(json_is_null(get(plan, "steps")) == (k < TWO || k == FOLLOWING));
    ck_assert(json_is_null(get(plan, "set_pressure_pa")) == (k > BEST));
  }
  json_t *three = json_array_get(plans, THREE), *position = get(three, "positions");
  ck_assert_int_eq((int)json_integer_value(get(three, "steps")), 3);
  ck_assert_int_eq((int)json_array_size(position), 3);
  ck_number(json_array_get(position, 1), "from_pressure_pa", ambient + 50e5);
  ck_number(json_array_get(position, 1), "to_pressure_pa", ambient + 33e5);
  ck_number(get(json_array_get(position, 1), "cutoff_deg"), "rod", 35.0);
  json_decref(root);
  rundown_maker_free(&e);
}
END_TEST

START_TEST(json_nulls) {
  static const char *const figures[] = {
      "steps",  "set_pressure_pa", "powered_revolutions", "distance_m", "duration_s",
      "work_j", "ended",           "exergy_lost_j",       "positions",  "course"};
  struct rundown_maker e = rundown_maker_new();
  e.rundown->demand.distance = e.rundown->speed = 0;
  e.machine.works[LB_ROD_END] = false;
  json_t *root = json_of(&e), *plans = get(root, "plans"), *none = json_array_get(plans, 0),
         *best = json_array_get(plans, BEST);
  ck_assert(json_is_false(get(none, "ran")));
  ck_word(none, "why", e.rundown->run[0].why);
  for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
    ck_null(none, figures[i]);
  ck_null(get(none, "cutoff_deg"), "cap");
  ck_null(best, "distance_m");
  ck_null(best, "powered_distance_m");
  ck_null(best, "duration_s");
  ck_null(get(best, "cutoff_deg"), "rod");
  ck_null(get(best, "course"), "rod_cutoff_deg");
  ck_null(get(best, "course"), "distance_m");
  ck_null(get(best, "course"), "duration_s");
  ck_null(get(root, "load"), "rolling_n");
  ck_null(get(root, "load"), "distance_per_rev_m");
  json_decref(root);
  rundown_maker_free(&e);
}
END_TEST

START_TEST(json_beside_the_plans) {
  struct rundown_maker e = rundown_maker_new();
  const struct lb_warning warning = {"ice", "expect ice"};
  e.paper.warning = &warning;
  e.paper.warnings = 1;
  json_t *root = json_of(&e), *verdict = get(root, "verdict");
  ck_word(root, "command", "rundown");
  ck_number(root, "speed_rpm", 120);
  ck_number(get(root, "store"), "volume_m3", 0.01);
  ck_number(get(root, "store"), "start_pressure_pa", ambient + 200e5);
  ck_number(get(root, "store"), "air_kg", 2.37);
  ck_number(get(root, "load"), "torque_nm", 4.2);
  ck_number(get(root, "load"), "climbing_n", 7);
  ck_word(verdict, "plan", "following");
  ck_word(verdict, "rival_plan", "regulated_best");
  ck_number(verdict, "margin_percent", 31.2);
  ck_word(verdict, "why",
          "Let the cut-off follow the pressure: 31 % further than the best regulated supply, and "
          "0.2 % further than the supply regulated as set.");
  json_t *share = get(verdict, "step_share");
  ck_number(json_array_get(share, 0), "gain_percent", 78.0);
  ck_null(json_array_get(share, 2), "gain_percent");
  ck_number(get(get(verdict, "flips"), "dead_volume"), "factor", 2.4);
  ck_null(get(get(verdict, "flips"), "load"), "factor");
  ck_number(get(get(verdict, "flips"), "start_pressure"), "to_pressure_pa", ambient + 300e5);
  ck_number(get(root, "least_supply"), "running_pa", ambient + 0.7e5);
  ck_number(get(root, "least_supply"), "standing_best_pa", ambient + 0.9e5);
  ck_number(get(root, "least_supply"), "standing_anywhere_pa", ambient + 2e5);
  ck_word(json_array_get(get(root, "warnings"), 0), "code", "ice");
  json_decref(root);
  e.rundown->verdict.compared = e.rundown->starts = e.rundown->running_found = false;
  root = json_of(&e);
  ck_null(get(root, "verdict"), "margin_percent");
  ck_null(get(root, "verdict"), "rival_plan");
  ck_null(get(root, "least_supply"), "running_pa");
  ck_null(get(root, "least_supply"), "standing_best_pa");
  json_decref(root);
  rundown_maker_free(&e);
}
END_TEST

/* The value of a plan by its name in CSV: in its object, or in one within it. */
static json_t *value_of(json_t *plan, const char *name) {
  json_t *value = json_object_get(plan, name);
  if (!value && json_is_object(json_object_get(plan, "exergy_lost_j")))
    value = json_object_get(json_object_get(plan, "exergy_lost_j"), name);
  if (!value && strcmp(name, "cap_cutoff_deg") == 0)
    value = json_object_get(json_object_get(plan, "cutoff_deg"), "cap");
  if (!value && strcmp(name, "rod_cutoff_deg") == 0)
    value = json_object_get(json_object_get(plan, "cutoff_deg"), "rod");
  return value;
}

/* The next cell of a row that has no quotes; the row ends with "\r\n". */
static char *next_cell(char **at) {
  char *cell = *at;
  size_t length = strcspn(cell, ",\r");
  *at = cell + length + 1;
  cell[length] = '\0';
  return cell;
}

START_TEST(csv_agrees_with_json) {
  struct rundown_maker e = rundown_maker_new();
  char *csv = NULL, *at;
  enum {
    NAMES = 60
  };
  const char *name[NAMES];
  int names = 0;
  e.rundown->run[0].ran = true; /* without its reason there are no quotes */
  strcpy(e.machine.name, "plain");
  json_t *root = json_of(&e), *plans = get(root, "plans");
  ck_assert_int_eq(lb_answer_rundown_csv(&csv, rundown_maker_paper(&e), NULL), LB_OK);
  at = csv;
  do
    name[names++] = next_cell(&at);
  while (*at != '\n' && names < NAMES);
  ck_assert_int_eq(names, 42);
  for (int k = 0; k < RUNS; k++) {
    json_t *plan = json_array_get(plans, (size_t)k);
    at++;
    ck_assert_str_eq(next_cell(&at), "plain");
    for (int i = 1; i < names; i++) {
      json_t *value = value_of(plan, name[i]);
      char *cell = next_cell(&at);
      ck_assert_msg(value != NULL, "no %s in JSON", name[i]);
      if (json_is_number(value))
        ck_close_relative(strtod(cell, NULL), json_number_value(value), EXACT);
      else if (json_is_string(value))
        ck_assert_str_eq(cell, json_string_value(value));
      else
        ck_assert_str_eq(cell, json_is_true(value) ? "true" : "");
    }
  }
  ck_assert_str_eq(at, "\n");
  free(csv);
  json_decref(root);
  rundown_maker_free(&e);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/answer_rundown_data");
  TCase *all = tcase_create("all");
  tcase_add_test(all, json_plans);
  tcase_add_test(all, json_nulls);
  tcase_add_test(all, json_beside_the_plans);
  tcase_add_test(all, csv_agrees_with_json);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
