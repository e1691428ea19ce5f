/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What came of running a store down, for programs. One function gives the figures of a plan, so
 * that JSON and CSV cannot differ.
 */
#include "base/constants.h"
#include "paper/answer_rundown_page.h"
#include "paper/table_write.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

static const char *const end_key[LB_ENDS] = {"cap", "rod"};
static const char *const ended_name[] = {
    [LB_RUN_LOAD] = "load", [LB_RUN_LOWEST] = "lowest_pressure", [LB_RUN_PILOT] = "pilot"};

static double member(const void *from, size_t offset) {
  double value;
  memcpy(&value, (const char *)from + offset, sizeof value);
  return value;
}

/* A figure by its key. */
struct figure {
  const char *key;
  size_t place;
};

/* ---------- store and load ---------- */

static void add_store(struct lb_record *record, const struct lb_rundown_paper *paper) {
  static const char *const heat[] = {[LB_STORE_ISOTHERMAL] = "isothermal",
                                     [LB_STORE_ADIABATIC] = "adiabatic",
                                     [LB_STORE_TIME_CONSTANT] = "time_constant"};
  const struct lb_store *s = &paper->machine->store;
  lb_record_open(record, "store");
  lb_record_number(record, "volume_m3", s->volume);
  lb_record_number(record, "start_pressure_pa", s->start_pressure);
  lb_record_number_if(record, s->lowest_pressure > 0, "lowest_pressure_pa", s->lowest_pressure);
  lb_record_number(record, "temperature_k", s->temperature);
  lb_record_text(record, "heat", heat[s->heat]);
  lb_record_number_if(record, s->heat == LB_STORE_TIME_CONSTANT, "time_constant_s",
                      s->time_constant);
  lb_record_number(record, "air_kg", paper->rundown->start_mass);
  lb_record_number(record, "worth_j", paper->rundown->start_worth);
  lb_record_number_if(record, s->vessel_mass > 0, "vessel_kg", s->vessel_mass);
  lb_record_close(record);
}

static void add_load(struct lb_record *record, const struct lb_rundown_paper *paper) {
  static const char *const coasting[] = {[LB_COASTING_NONE] = "none",
                                         [LB_COASTING_FREEWHEEL] = "freewheel",
                                         [LB_COASTING_MOTORING] = "motoring"};
  const struct lb_demand *d = &paper->rundown->demand;
  bool vehicle = d->distance > 0;
  lb_record_open(record, "load");
  lb_record_number(record, "torque_nm", d->torque);
  lb_record_number(record, "standing_torque_nm", d->standing_torque);
  lb_record_number(record, "work_per_rev_j", d->work);
  lb_record_number_if(record, vehicle, "distance_per_rev_m", d->distance);
  lb_record_number_if(record, d->vehicle_speed > 0, "vehicle_speed_m_s", d->vehicle_speed);
  lb_record_number_if(record, vehicle, "rolling_n", d->rolling);
  lb_record_number_if(record, vehicle, "climbing_n", d->climbing);
  lb_record_number_if(record, vehicle && !d->drag_left_out, "drag_n", d->drag);
  lb_record_text(record, "coasting", coasting[paper->machine->load.coasting]);
  lb_record_number_if(record, paper->machine->load.coasting == LB_COASTING_MOTORING,
                      "coasting_work_per_rev_j", d->motoring_work);
  lb_record_close(record);
}

/* ---------- a plan ---------- */

/* Its name and settings, up to the cut-offs. */
static void record_settings(struct lb_record *record, const struct lb_run *run) {
  lb_record_text(record, "plan", lb_rundown_plan_name(run->plan));
  if (run->plan == LB_PLAN_STEPPED)
    lb_record_whole(record, "steps", run->steps);
  else
    lb_record_null(record, "steps");
  lb_record_truth(record, "ran", run->ran);
  lb_record_text(record, "why", run->ran ? NULL : run->why);
  lb_record_number_if(record, run->set_pressure > 0, "set_pressure_pa", run->set_pressure);
}

static void record_range(struct lb_record *record, const struct lb_rundown *rundown,
                         const struct lb_run *run) {
  bool vehicle = run->ran && rundown->demand.distance > 0;
  lb_record_number_if(record, run->ran, "powered_revolutions", run->powered_revolutions);
  lb_record_number_if(record, run->ran, "revolutions", run->revolutions);
  lb_record_number_if(record, vehicle, "powered_distance_m", run->powered_distance);
  lb_record_number_if(record, vehicle, "distance_m", run->distance);
  lb_record_number_if(record, run->ran && rundown->speed > 0, "duration_s", run->duration);
}

/* Everything else that applies to every run. */
static void record_figures(struct lb_record *record, const struct lb_run *run) {
  static const struct figure figures[] = {
      {"useful_work_j", offsetof(struct lb_run, useful_work)},
      {"work_j", offsetof(struct lb_run, work)},
      {"air_used_kg", offsetof(struct lb_run, air_used)},
      {"air_left_kg", offsetof(struct lb_run, air_left)},
      {"air_leaked_kg", offsetof(struct lb_run, air_leaked)},
      {"end_pressure_pa", offsetof(struct lb_run, end_pressure)},
      {"end_temperature_k", offsetof(struct lb_run, end_temperature)},
      {"warmed_end_pressure_pa", offsetof(struct lb_run, warmed_pressure)},
      {"coldest_gas_k", offsetof(struct lb_run, coldest_gas)},
      {"coldest_tank_k", offsetof(struct lb_run, coldest_tank)},
      {"coldest_supply_k", offsetof(struct lb_run, coldest_supply)},
      {"peak_pin_force_n", offsetof(struct lb_run, peak_pin_force)}};
  for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
    lb_record_number_if(record, run->ran, figures[i].key, member(run, figures[i].place));
  lb_record_text(record, "ended", run->ran ? ended_name[run->ended] : NULL);
}

static void record_books(struct lb_record *record, const struct lb_run *run) {
#define PLACE(place) offsetof(struct lb_run_books, place)
  static const struct figure figures[] = {{"start_worth_j", PLACE(start)},
                                          {"end_worth_j", PLACE(end)},
                                          {"crank_j", PLACE(crank)},
                                          {"friction_j", PLACE(friction)},
                                          {"inlet_throttling_j", PLACE(inlet)},
                                          {"filling_j", PLACE(filling)},
                                          {"pushed_back_j", PLACE(pushed_back)},
                                          {"release_j", PLACE(release)},
                                          {"heat_j", PLACE(heat)},
                                          {"leakage_j", PLACE(leakage)},
                                          {"exhaust_j", PLACE(exhaust)},
                                          {"regulator_j", PLACE(regulator)},
                                          {"pipe_j", PLACE(pipe)},
                                          {"ideal_gas_j", PLACE(ideal)},
                                          {"store_walls_j", PLACE(store_walls)},
                                          {"store_leak_j", PLACE(store_leak)}};
#undef PLACE
  for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
    lb_record_number_if(record, run->ran, figures[i].key, member(&run->books, figures[i].place));
}

/* The cut-offs as an object. */
static void add_cutoffs(struct lb_record *record, const struct lb_machine *machine, bool apply,
                        const double *cutoff) {
  lb_record_open(record, "cutoff_deg");
  for (int end = 0; end < LB_ENDS; end++)
    lb_record_number_if(record, apply && machine->works[end], end_key[end],
                        cutoff[end] / LB_DEGREE);
  lb_record_close(record);
}

static void add_positions(struct lb_record *record, const struct lb_machine *machine,
                          const struct lb_run *run) {
  if (!run->ran || run->plan != LB_PLAN_STEPPED) {
    lb_record_null(record, "positions");
    return;
  }
  lb_record_open_list(record, "positions");
  for (int i = 0; i < run->positions; i++) {
    lb_record_open(record, NULL);
    lb_record_number(record, "from_pressure_pa", run->position[i].from);
    lb_record_number(record, "to_pressure_pa", run->position[i].to);
    add_cutoffs(record, machine, true, run->position[i].cutoff);
    lb_record_close(record);
  }
  lb_record_close(record);
}

/* One figure over the run, as a list; or null.
 * unit  [SI] what it is divided by */
static void add_series(struct lb_record *record, const struct lb_run *run, bool applies,
                       const struct figure *figure, double unit) {
  if (!applies) {
    lb_record_null(record, figure->key);
    return;
  }
  lb_record_open_list(record, figure->key);
  for (size_t i = 0; i < run->points; i++)
    lb_record_number(record, NULL, member(&run->point[i], figure->place) / unit);
  lb_record_close(record);
}

static void add_course(struct lb_record *record, const struct lb_rundown_paper *paper,
                       const struct lb_run *run) {
#define PLACE(place) offsetof(struct lb_run_point, place)
  static const struct figure always[] = {{"revolutions", PLACE(revolutions)},
                                         {"powered_revolutions", PLACE(powered_revolutions)},
                                         {"tank_pressure_pa", PLACE(tank_pressure)},
                                         {"tank_temperature_k", PLACE(tank_temperature)},
                                         {"supply_pressure_pa", PLACE(supply_pressure)},
                                         {"supply_temperature_k", PLACE(supply_temperature)},
                                         {"mean_torque_nm", PLACE(mean_torque)},
                                         {"air_per_rev_kg", PLACE(air)}};
  static const struct figure cutoff[LB_ENDS] = {{"cap_cutoff_deg", PLACE(cutoff[LB_CAP_END])},
                                                {"rod_cutoff_deg", PLACE(cutoff[LB_ROD_END])}};
  static const struct figure distance = {"distance_m", PLACE(distance)},
                             duration = {"duration_s", PLACE(duration)};
#undef PLACE
  if (!run->ran) {
    lb_record_null(record, "course");
    return;
  }
  lb_record_open(record, "course");
  for (size_t i = 0; i < sizeof always / sizeof always[0]; i++)
    add_series(record, run, true, &always[i], 1);
  for (int end = 0; end < LB_ENDS; end++)
    add_series(record, run, paper->machine->works[end], &cutoff[end], LB_DEGREE);
  add_series(record, run, paper->rundown->demand.distance > 0, &distance, 1);
  add_series(record, run, paper->rundown->speed > 0, &duration, 1);
  lb_record_close(record);
}

static void add_plan(struct lb_record *record, const struct lb_rundown_paper *paper,
                     const struct lb_run *run) {
  lb_record_open(record, NULL);
  record_settings(record, run);
  add_cutoffs(record, paper->machine, run->ran, run->cutoff);
  record_range(record, paper->rundown, run);
  record_figures(record, run);
  if (run->ran) {
    lb_record_open(record, "exergy_lost_j");
    record_books(record, run);
    lb_record_close(record);
  } else {
    lb_record_null(record, "exergy_lost_j");
  }
  add_positions(record, paper->machine, run);
  add_course(record, paper, run);
  lb_record_close(record);
}

/* ---------- the verdict ---------- */

/* A plan as it is named in the verdict. */
static void record_plan(struct lb_record *record, const char *plan, const char *steps,
                        const struct lb_run *run) {
  lb_record_text(record, plan, run ? lb_rundown_plan_name(run->plan) : NULL);
  if (run && run->plan == LB_PLAN_STEPPED)
    lb_record_whole(record, steps, run->steps);
  else
    lb_record_null(record, steps);
}

/* The sentence with the winner. */
static void add_why(struct lb_record *record, const struct lb_rundown_paper *paper) {
  struct lb_text none = {0}, line = {0};
  const struct lb_cutoff_paper head = {.machine = paper->machine, .rule = paper->rule};
  struct lb_rundown_page page = lb_rundown_page_begin(paper, &head, false, &none);
  lb_rundown_page_winner(&line, &page);
  lb_record_text(record, "why", line.bytes);
  record->failed = record->failed || line.failed;
  lb_text_free(&line);
}

static void add_flips(struct lb_record *record, const struct lb_verdict *verdict) {
  static const struct {
    const char *key, *value, *from, *to;
  } name[LB_KNOBS] = {[LB_KNOB_DEAD_VOLUME] = {"dead_volume", "factor", "from_factor", "to_factor"},
                      [LB_KNOB_LOAD] = {"load", "factor", "from_factor", "to_factor"},
                      [LB_KNOB_START_PRESSURE] = {"start_pressure", "pressure_pa",
                                                  "from_pressure_pa", "to_pressure_pa"}};
  lb_record_open(record, "flips");
  for (int i = 0; i < LB_KNOBS; i++) {
    const struct lb_flip *flip = &verdict->flip[i];
    bool searched = flip->to > flip->from;
    if (!searched) {
      lb_record_null(record, name[i].key);
      continue;
    }
    lb_record_open(record, name[i].key);
    lb_record_number_if(record, flip->found, name[i].value, flip->value);
    lb_record_number(record, name[i].from, flip->from);
    lb_record_number(record, name[i].to, flip->to);
    lb_record_close(record);
  }
  lb_record_close(record);
}

static void add_verdict(struct lb_record *record, const struct lb_rundown_paper *paper) {
  const double percent = 100;
  const struct lb_verdict *v = &paper->rundown->verdict;
  lb_record_open(record, "verdict");
  record_plan(record, "plan", "steps", &paper->rundown->run[v->winner]);
  record_plan(record, "rival_plan", "rival_steps",
              v->compared ? &paper->rundown->run[v->rival] : NULL);
  lb_record_number_if(record, v->compared, "margin_percent", percent * v->margin);
  add_why(record, paper);
  lb_record_open_list(record, "step_share");
  for (int steps = LB_STEPS_LEAST; steps <= LB_STEPS_MOST; steps++) {
    lb_record_open(record, NULL);
    lb_record_whole(record, "steps", steps);
    lb_record_number(record, "gain_percent", percent * v->step_share[steps]);
    lb_record_close(record);
  }
  lb_record_close(record);
  add_flips(record, v);
  lb_record_close(record);
}

static void add_least_supply(struct lb_record *record, const struct lb_rundown *rundown) {
  const struct lb_starting_supply *s = &rundown->standing;
  bool best = rundown->starts && s->best_found;
  lb_record_open(record, "least_supply");
  lb_record_number_if(record, best, "standing_best_pa", s->best);
  lb_record_number_if(record, best, "standing_best_angle_deg", s->best_angle / LB_DEGREE);
  lb_record_number_if(record, rundown->starts && s->anywhere_found, "standing_anywhere_pa",
                      s->anywhere);
  lb_record_number_if(record, rundown->running_found, "running_pa", rundown->running);
  lb_record_close(record);
}

/* ---------- whole ---------- */

enum lb_status lb_answer_rundown_json(char **json, const struct lb_rundown_paper *paper,
                                      struct lb_error *error) {
  const struct lb_rundown *rundown = paper->rundown;
  struct lb_record record = {0};
  lb_page_record_head(&record, paper->machine, "rundown", !(rundown->speed > 0));
  lb_record_text(&record, "rule", lb_cutoff_rule_name(paper->rule));
  lb_record_number(&record, "margin_pa", paper->margin);
  lb_record_number(&record, "speed_rpm", rundown->speed / LB_RPM);
  add_store(&record, paper);
  add_load(&record, paper);
  lb_record_open_list(&record, "plans");
  for (size_t i = 0; i < rundown->runs; i++)
    add_plan(&record, paper, &rundown->run[i]);
  lb_record_close(&record);
  add_verdict(&record, paper);
  add_least_supply(&record, rundown);
  lb_record_warnings(&record, paper->warning, paper->warnings);
  enum lb_status status = lb_table_write_json(json, &record, error);
  lb_record_free(&record);
  return status;
}

enum lb_status lb_answer_rundown_csv(char **csv, const struct lb_rundown_paper *paper,
                                     struct lb_error *error) {
  static const char *const cutoff_key[LB_ENDS] = {"cap_cutoff_deg", "rod_cutoff_deg"};
  struct lb_record row[LB_RUNS] = {0};
  size_t rows = paper->rundown->runs;
  for (size_t i = 0; i < rows; i++) {
    const struct lb_run *run = &paper->rundown->run[i];
    lb_record_text(&row[i], "machine", paper->machine->name);
    record_settings(&row[i], run);
    for (int end = 0; end < LB_ENDS; end++)
      lb_record_number_if(&row[i], run->ran && paper->machine->works[end], cutoff_key[end],
                          run->cutoff[end] / LB_DEGREE);
    record_range(&row[i], paper->rundown, run);
    record_figures(&row[i], run);
    record_books(&row[i], run);
  }
  enum lb_status status = lb_table_write_csv(csv, row, rows, error);
  for (size_t i = 0; i < rows; i++)
    lb_record_free(&row[i]);
  return status;
}
