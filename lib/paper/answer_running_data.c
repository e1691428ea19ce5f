/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answers about a machine at speed for programs.
 */
#include "base/constants.h"
#include "paper/answer_cutoff_page.h"
#include "paper/answer_running.h"
#include "paper/record.h"
#include "paper/table_write.h"
#include "stroke/timing.h"

#include <stdlib.h>

static const char *const end_key[LB_ENDS] = {"cap", "rod"};

/* The first members of an answer. */
static void begin(struct lb_record *record, const struct lb_running_paper *paper,
                  const char *command) {
  lb_page_record_head(record, paper->paper.machine, command, false);
  lb_record_text(record, "rule", lb_cutoff_rule_name(paper->paper.rule));
  lb_record_number(record, "speed_rpm", paper->paper.speed / LB_RPM);
}

/* The angles at which to switch the valves. */
static void add_switching(struct lb_record *record, const struct lb_running_paper *paper) {
  static const struct {
    enum lb_varied event;
    const char *key;
  } events[] = {{LB_VARIED_INLET_OPENS, "inlet_on_deg"},
                {LB_VARIED_CUTOFF, "inlet_off_deg"},
                {LB_VARIED_RELEASE, "exhaust_on_deg"},
                {LB_VARIED_EXHAUST_CLOSES, "exhaust_off_deg"}};
  const struct lb_machine *m = paper->paper.machine;
  lb_record_open(record, "switching");
  for (int e = 0; e < LB_ENDS; e++) {
    enum lb_end end = (enum lb_end)e;
    if (!m->works[e] || !paper->choice->found) {
      lb_record_null(record, end_key[e]);
      continue;
    }
    lb_record_open(record, end_key[e]);
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++)
      lb_record_number(record, events[i].key,
                       (lb_timing_event(m, end, events[i].event, paper->choice->cutoff[e]) -
                        lb_timing_lead(m, end, events[i].event, true, paper->paper.speed)) /
                           LB_DEGREE);
    lb_record_close(record);
  }
  lb_record_close(record);
}

/* What takes work away, by cause. */
static void add_advice(struct lb_record *record, const struct lb_advice *advice) {
  static const char *const key[LB_CAUSES] = {[LB_CAUSE_INLET] = "inlet_flow",
                                             [LB_CAUSE_EXHAUST] = "exhaust_flow",
                                             [LB_CAUSE_RAMP] = "opening_ramp",
                                             [LB_CAUSE_DELAY] = "delay",
                                             [LB_CAUSE_SUPPLY_LINE] = "supply_line",
                                             [LB_CAUSE_LEAKAGE] = "leakage",
                                             [LB_CAUSE_HEAT] = "heat",
                                             [LB_CAUSE_DEAD_VOLUME] = "dead_volume",
                                             [LB_CAUSE_FRICTION] = "friction"};
  if (!advice) {
    lb_record_null(record, "advice");
    return;
  }
  lb_record_open(record, "advice");
  lb_record_number(record, "slow_work_per_rev_j", advice->slow.work);
  lb_record_open_list(record, "without");
  for (int cause = 0; cause < LB_CAUSES; cause++) {
    const struct lb_without *without = &advice->without[cause];
    if (!without->applies)
      continue;
    lb_record_open(record, NULL);
    lb_record_text(record, "cause", key[cause]);
    lb_record_number(record, "work_per_rev_j", without->work);
    lb_record_number(record, "work_per_kg_j", without->work_per_kg);
    lb_record_close(record);
  }
  lb_record_close(record);
  lb_record_number(record, "wanted_share", advice->wanted);
  lb_record_number_if(record, advice->wider > 0, "valves_wider", advice->wider);
  lb_record_close(record);
}

static enum lb_status finish(char **json, struct lb_record *record,
                             const struct lb_running_paper *paper, struct lb_error *error) {
  lb_record_warnings(record, paper->paper.warning, paper->paper.warnings);
  enum lb_status status = lb_table_write_json(json, record, error);
  lb_record_free(record);
  return status;
}

enum lb_status lb_answer_running_cutoff_json(char **json, const struct lb_running_paper *paper,
                                             struct lb_error *error) {
  static const struct {
    enum lb_rule rule;
    const char *key;
  } choices[] = {
      {LB_AS_TIMED, "as_timed"}, {LB_ATMOSPHERIC, "atmospheric"}, {LB_ECONOMY, "economy"}};
  struct lb_record record = {0};
  begin(&record, paper, "cutoff");
  lb_record_open(&record, "choices");
  for (size_t i = 0; i < sizeof choices / sizeof choices[0]; i++)
    lb_page_record_choice(&record, paper->paper.machine,
                          &paper->paper.answer->choice[choices[i].rule], choices[i].key);
  lb_record_close(&record);
  add_switching(&record, paper);
  add_advice(&record, paper->advice);
  return finish(json, &record, paper, error);
}

enum lb_status lb_answer_running_cutoff_csv(char **csv, const struct lb_running_paper *paper,
                                            struct lb_error *error) {
  return lb_page_csv(csv, &paper->paper, false, error);
}

/* Where the worth of the air goes; mixing is what filling costs, what is pushed back passes the
 * inlet and is throttled there, and the blow-down is in what is throttled at the exhaust. */
static void add_audit(struct lb_record *record, const struct lb_running_paper *paper) {
  const struct lb_running *running = &paper->choice->running;
  const struct lb_gas_worth *w = &running->cylinder.worth;
  double n = paper->paper.machine->cylinders;
  lb_record_open(record, "audit");
  lb_record_number(record, "crank_j", running->revolution.work);
  lb_record_number(record, "friction_j", running->revolution.friction_work);
  lb_record_number(record, "filling_j", n * w->mixing);
  lb_record_null(record, "pushed_back_j");
  lb_record_null(record, "blowdown_j");
  lb_record_number(record, "inlet_throttling_j", n * w->inlet);
  lb_record_number(record, "exhaust_throttling_j", n * w->exhaust_valve);
  lb_record_number(record, "heat_j", n * w->heat);
  lb_record_number(record, "leakage_j", n * w->leakage);
  lb_record_number(record, "exhaust_j", n * w->exhaust);
  lb_record_number(record, "supplied_j", n * w->supplied);
  lb_record_close(record);
}

static double running_torque(double angle, const void *context) {
  const struct lb_running_paper *paper = context;
  return lb_running_torque(paper->gas, paper->paper.machine, angle);
}

/* What the slow cycle has no figures for. */
static void add_extremes(struct lb_record *record, const struct lb_running_paper *paper) {
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_gas_turn *t = &paper->choice->running.cylinder.end[end];
    if (!paper->paper.machine->works[end]) {
      lb_record_null(record, end_key[end]);
      continue;
    }
    lb_record_open(record, end_key[end]);
    lb_record_number(record, "cutoff_pressure_pa", t->cutoff_pressure);
    lb_record_number(record, "greatest_pressure_pa", t->greatest_pressure);
    lb_record_number(record, "coldest_temperature_k", t->coldest_temperature);
    lb_record_close(record);
  }
}

enum lb_status lb_answer_running_cycle_json(char **json, const struct lb_running_paper *paper,
                                            struct lb_error *error) {
  struct lb_record record = {0};
  bool found = paper->choice->found;
  begin(&record, paper, "cycle");
  lb_page_record_choice(&record, paper->paper.machine,
                        &paper->paper.answer->choice[paper->paper.rule], "result");
  lb_record_number_if(&record, found, "power_w", paper->choice->running.power);
  if (found) {
    lb_record_open(&record, "at_speed");
    add_extremes(&record, paper);
    lb_record_number(&record, "valve_supply_mean_pa", paper->choice->running.cylinder.mean_supply);
    lb_record_number(&record, "valve_supply_least_pa",
                     paper->choice->running.cylinder.least_supply);
    lb_record_close(&record);
    add_audit(&record, paper);
    lb_page_record_torque(&record, running_torque, paper);
  } else {
    lb_record_null(&record, "at_speed");
    lb_record_null(&record, "audit");
    lb_record_null(&record, "torque");
  }
  add_switching(&record, paper);
  add_advice(&record, paper->advice);
  return finish(json, &record, paper, error);
}

enum lb_status lb_answer_running_cycle_csv(char **csv, const struct lb_running_paper *paper,
                                           struct lb_error *error) {
  const struct lb_gas_point *point[LB_ENDS] = {NULL, NULL};
  size_t points[LB_ENDS] = {0, 0}, rows = 0;
  struct lb_text none = {0};
  for (int end = 0; end < LB_ENDS && paper->choice->found; end++)
    if (paper->paper.machine->works[end])
      point[end] = lb_gas_points(paper->gas, (enum lb_end)end, &points[end]);
  struct lb_record *row = calloc(points[0] + points[1] + 1, sizeof *row);
  if (!row)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the rows of a revolution");
  for (size_t i = 0, j = 0; i < points[0] || j < points[1]; rows++) {
    bool cap = j == points[1] || (i < points[0] && point[0][i].angle <= point[1][j].angle);
    const struct lb_gas_point *p = cap ? &point[0][i++] : &point[1][j++];
    lb_record_number(&row[rows], "angle_deg", p->angle / LB_DEGREE);
    lb_record_text(&row[rows], "end", end_key[cap ? LB_CAP_END : LB_ROD_END]);
    lb_record_number(&row[rows], "volume_m3", p->volume);
    lb_record_number(&row[rows], "pressure_pa", p->pressure);
    lb_record_number(&row[rows], "temperature_k", p->temperature);
    lb_record_number(&row[rows], "indicated_work_j", p->work);
  }
  enum lb_status status =
      rows ? lb_table_write_csv(csv, row, rows, error) : lb_text_take(csv, &none, error);
  for (size_t i = 0; i < rows; i++)
    lb_record_free(&row[i]);
  free(row);
  return status;
}
