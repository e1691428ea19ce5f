/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Machines with a store and a load; see the header.
 */
#include "rundown_case.h"

#include "base/constants.h"
#include "random_machine.h"
#include "stroke/timing.h"
#include "support.h"

#include <stdlib.h>

static const double mild = 293.15; /* [K] */

static void set_store_and_load(struct lb_machine *m) {
  m->store =
      (struct lb_store){.given = true, .volume = 3e-3, .start_pressure = 12e5, .temperature = mild};
  m->regulator =
      (struct lb_regulator){.given = true, .set_pressure = 5e5, .least_difference = 0.3e5};
  m->load = (struct lb_load){.gearing = 1, .drive_efficiency = 1};
  m->load_torque = 4;
}

struct lb_machine rundown_case_machine(void) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  m.rated_pressure = 100e5;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.08, 0, 0, NULL), LB_OK);
  m.ambient_pressure = m.back_pressure = 1e5;
  m.ambient_temperature = m.supply_temperature = mild;
  m.supply_temperature_given = true;
  m.supply_pressure = 5e5;
  m.bore = 0.04;
  m.rod_diameter = 0.014;
  m.friction = 12;
  m.friction_share = 0.03;
  for (int i = 0; i < LB_ENDS; i++) {
    struct lb_timing *t = &m.timing[i];
    m.dead_volume[i] = 0.08 * lb_machine_area(&m, (enum lb_end)i) * m.linkage.stroke;
    t->cutoff_given = true;
    t->cutoff = 80 * LB_DEGREE;
    t->release = 172 * LB_DEGREE;
    t->exhaust_closes = 345 * LB_DEGREE;
    t->opening_ramp = 5 * LB_DEGREE;
  }
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){2e-8, 0.3, 0.5};
  set_store_and_load(&m);
  return m;
}

struct lb_machine rundown_case_full_admission(void) {
  struct lb_machine m = rundown_case_machine();
  m.works[LB_ROD_END] = false;
  m.dead_volume[LB_CAP_END] = 0;
  m.friction = m.friction_share = 0;
  m.expansion_exponent = m.compression_exponent = 1;
  m.timing[LB_CAP_END] = (struct lb_timing){
      .cutoff_given = true, .cutoff = LB_PI, .release = LB_PI, .exhaust_closes = 2 * LB_PI};
  return m;
}

/* Work of a slow revolution on a supply [J]. */
static double work_on(const struct lb_machine *machine, double pressure, const double *cutoff) {
  struct lb_machine m = *machine;
  struct lb_revolution r;
  struct lb_cycle *cycle = lb_cycle_new();
  m.supply_pressure = pressure;
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, NULL), LB_OK);
  lb_cycle_free(cycle);
  return r.work;
}

void rundown_case_random(struct lb_machine *machine, uint64_t *state) {
  double most;
  do {
    double low, latest[LB_ENDS] = {0};
    random_machine(machine, state);
    machine->rated_pressure = 100e5;
    machine->compression_exponent = machine->expansion_exponent; /* no work out of nothing */
    machine->supply_temperature_given = true;
    set_store_and_load(machine);
    machine->store.volume = 30 * lb_machine_swept_volume(machine);
    machine->store.temperature = machine->ambient_temperature;
    machine->store.start_pressure =
        fmax(machine->back_pressure, machine->ambient_pressure) * support_between(state, 2, 12);
    machine->regulator.least_difference = support_between(state, 0, 0.3e5);
    machine->regulator.set_pressure = machine->supply_pressure =
        machine->back_pressure +
        (machine->store.start_pressure - machine->back_pressure) * support_between(state, 0.3, 0.9);
    machine->load.coasting = (enum lb_coasting)(3 * support_uniform(state));
    for (int i = 0; i < LB_ENDS; i++)
      if (machine->works[i])
        lb_timing_window(&low, &latest[i], machine, (enum lb_end)i);
    most = work_on(machine, machine->store.start_pressure, latest);
    machine->load_torque = most / (2 * LB_PI) * support_between(state, 0.1, 0.6);
  } while (!(most > 0));
}

struct lb_rundown *rundown_case_find(const struct lb_machine *machine, double speed, bool flips) {
  struct lb_error error = {0};
  struct lb_rundown *rundown = lb_rundown_new();
  struct lb_rundown_question question = {.rule = LB_AS_TIMED, .speed = speed, .flips = flips};
  ck_assert_ptr_nonnull(rundown);
  enum lb_status status = lb_rundown_find(rundown, machine, &question, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return rundown;
}

const struct lb_run *rundown_case_run(const struct lb_rundown *rundown, enum lb_plan plan,
                                      int steps) {
  for (size_t i = 0; i < rundown->runs; i++)
    if (rundown->run[i].plan == plan && rundown->run[i].steps == steps)
      return &rundown->run[i];
  ck_abort_msg("no run of plan %d with %d steps", plan, steps);
  return NULL;
}

struct rundown_case_task *rundown_case_open(const struct lb_machine *machine, double speed) {
  struct lb_error error = {0};
  struct rundown_case_task *open = calloc(1, sizeof *open);
  ck_assert_ptr_nonnull(open);
  const double cutoff[LB_ENDS] = {
      machine->works[LB_CAP_END] ? machine->timing[LB_CAP_END].cutoff : 0,
      machine->works[LB_ROD_END] ? machine->timing[LB_ROD_END].cutoff : 0};
  open->air = lb_real_air_new();
  ck_assert_ptr_nonnull(open->air);
  enum lb_status status =
      lb_task_open(&open->task, machine, open->air, speed, cutoff, true, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return open;
}

void rundown_case_close(struct rundown_case_task *open) {
  lb_task_close(&open->task);
  lb_real_air_free(open->air);
  free(open);
}

struct lb_run *rundown_case_fixed(const struct lb_machine *machine, double speed,
                                  double set_pressure) {
  struct lb_error error = {0};
  struct rundown_case_task *open = rundown_case_open(machine, speed);
  struct lb_policy policy = {.set_pressure = set_pressure, .positions = 1};
  struct lb_run *run = calloc(1, sizeof *run);
  ck_assert_ptr_nonnull(run);
  for (int i = 0; i < LB_ENDS; i++)
    policy.position[0].cutoff[i] = open->task.fixed[i];
  enum lb_status status = lb_march_run(run, &open->task, &policy, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  rundown_case_close(open);
  return run;
}

struct lb_real_state rundown_case_air(const struct lb_real_air *air, double pressure,
                                      double temperature) {
  struct lb_error error = {0};
  struct lb_real_state state;
  enum lb_status status = lb_real_air_state(&state, air, pressure, temperature, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return state;
}
