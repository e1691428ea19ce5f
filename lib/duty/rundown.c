/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Getting ready, then one plan after the other.
 */
#include "duty/rundown.h"

#include "base/constants.h"
#include "base/format.h"
#include "decide/running_cutoff.h"
#include "duty/rundown_parts.h"
#include "stroke/timing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A supply this much above back pressure is the least that is tried [1]. */
static const double above_back_pressure = 1e-6;

/* The highest supply of any plan [Pa absolute]: beyond it air is no ideal gas in the cylinder. */
static const double highest_ideal = 100 * LB_BAR;

/* What a cylinder of which no rating is known may be taken to bear [Pa gauge], unless its supply is
 * higher; common practice, no source. */
static const double usual_rating = 10 * LB_BAR;

const char *lb_rundown_plan_name(enum lb_plan plan) {
  static const char *const name[LB_PLANS] = {
      [LB_PLAN_UNREGULATED] = "unregulated",       [LB_PLAN_REGULATED] = "regulated",
      [LB_PLAN_REGULATED_BEST] = "regulated_best", [LB_PLAN_STEPPED] = "stepped",
      [LB_PLAN_FOLLOWING] = "following",
  };
  return name[plan];
}

struct lb_rundown *lb_rundown_new(void) {
  return calloc(1, sizeof(struct lb_rundown));
}

void lb_rundown_free(struct lb_rundown *rundown) {
  free(rundown);
}

/* ---------- the task ---------- */

static double least_supply_of(const struct lb_machine *m) {
  double least = m->back_pressure * (1 + above_back_pressure);
  for (int valve = 0; valve < LB_VALVES; valve++)
    least = fmax(least, m->valve_size[valve].pilot_least_pressure);
  return least;
}

static double highest_supply_of(const struct lb_machine *m) {
  double rated = m->rated_pressure > 0
                     ? m->rated_pressure
                     : fmax(m->ambient_pressure + usual_rating, m->supply_pressure);
  return fmin(rated, highest_ideal);
}

enum lb_status lb_task_open(struct lb_task *task, const struct lb_machine *machine,
                            const struct lb_real_air *air, double speed, const double *fixed,
                            bool coarse, struct lb_error *error) {
  *task = (struct lb_task){.machine = machine, .air = air};
  task->coasts = machine->load.coasting != LB_COASTING_NONE;
  task->least_supply = least_supply_of(machine);
  task->highest_supply = highest_supply_of(machine);
  for (int end = 0; fixed && end < LB_ENDS; end++)
    task->fixed[end] = fixed[end];
  enum lb_status status = lb_engine_open(&task->engine, machine, speed, error);
  if (status != LB_OK)
    return status;
  task->workspace = lb_workspace_new();
  if (!task->workspace)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the searches of a run");
  status = lb_load_demand(&task->demand, machine, speed, error);
  if (status == LB_OK)
    status = lb_tank_prepare(&task->tank, machine, air, error);
  if (status == LB_OK)
    status = lb_engine_map_make(&task->engine, task->least_supply,
                                fmin(machine->store.start_pressure, task->highest_supply), coarse,
                                error);
  task->wanted_work = task->demand.work + lb_engine_map_error(&task->engine);
  return status;
}

double lb_task_set_pressure(const struct lb_task *task) {
  double set = task->machine->regulator.set_pressure;
  return set > 0 ? set : task->machine->supply_pressure;
}

void lb_task_close(struct lb_task *task) {
  lb_engine_close(&task->engine);
  lb_workspace_free(task->workspace);
  *task = (struct lb_task){0};
}

/* ---------- what is asked ---------- */

/* Refuse what needs time where no speed is given. */
static enum lb_status test_time(const struct lb_machine *m, double speed, struct lb_error *error) {
  bool leaks = m->store.leakage > 0, warms = m->store.heat == LB_STORE_TIME_CONSTANT;
  const struct {
    bool needs;
    const char *name;
  } key[] = {{leaks, "[store] leakage"},
             {warms, "[store] heat"},
             {m->regulator.droop > 0, "[regulator] droop"},
             {m->load.torque_per_speed > 0, "[load] torque per speed"},
             {m->load.torque_per_speed_squared > 0, "[load] torque per speed squared"}};
  char names[LB_SENTENCE] = "";
  int all = 0;
  for (size_t i = 0; speed == 0 && i < sizeof key / sizeof key[0]; i++) {
    size_t length = strlen(names);
    if (key[i].needs)
      lb_format(names + length, sizeof names - length, "%s%s", all++ > 0 ? " and " : "",
                key[i].name);
  }
  if (all == 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "%s need%s time, which the slow cycle does not know; give a speed, e.g. "
                      "--speed '120 rpm'",
                      names, all == 1 ? "s" : "");
}

static enum lb_status test_question(const struct lb_machine *m, double speed,
                                    struct lb_error *error) {
  bool loaded = m->load_torque > 0 || m->load.mass > 0 || m->load.torque_per_speed > 0 ||
                m->load.torque_per_speed_squared > 0;
  double start = m->store.start_pressure - m->ambient_pressure;
  double supply = m->supply_pressure - m->ambient_pressure;
  if (!m->store.given || !loaded)
    return lb_error_set(error, LB_BAD_INPUT, "there is no %s%s%s; give %s%s%s",
                        m->store.given ? "" : "[store] to run down",
                        m->store.given || loaded ? "" : ", and no ",
                        loaded ? "" : "[load] to run the store down against",
                        m->store.given ? "" : "its volume and start pressure",
                        m->store.given || loaded ? "" : ", and ",
                        loaded ? "" : "the load's torque, or a vehicle's mass and wheel diameter");
  if (start <= supply)
    return lb_error_set(error, LB_BAD_INPUT,
                        "[store] start pressure: the store starts with %.2f bar gauge (%.1f psig), "
                        "not above the supply of %.2f bar gauge (%.1f psig) that it is to give; "
                        "fill it higher, or lower the supply",
                        start / LB_BAR, start / LB_PSI, supply / LB_BAR, supply / LB_PSI);
  return test_time(m, speed, error);
}

static enum lb_status test_demand(const struct lb_task *task, struct lb_error *error) {
  if (task->demand.work > 0)
    return LB_OK;
  return lb_error_set(error, LB_NO_ANSWER,
                      "the load drives the machine (%.3g N m at the crank), so that a store has no "
                      "range; a load above 0 N m would have one",
                      task->demand.torque);
}

/* ---------- the fixed timing ---------- */

static enum lb_status no_timing(const char *why, const char *would_do, struct lb_error *error) {
  return lb_error_set(error, LB_NO_ANSWER, "no fixed timing to run with: %s%s%s", why,
                      would_do[0] ? "; " : "", would_do);
}

static enum lb_status fix_running(struct lb_task *task, const struct lb_rundown_question *q,
                                  struct lb_error *error) {
  struct lb_running_choice choice;
  enum lb_status status = lb_running_cutoff(&choice, task->engine.gas, task->machine, q->rule,
                                            q->margin, q->speed, error);
  if (status != LB_OK)
    return status;
  if (!choice.found)
    return no_timing(choice.why, choice.would_do, error);
  memcpy(task->fixed, choice.cutoff, sizeof task->fixed);
  return LB_OK;
}

static enum lb_status fix_slow(struct lb_task *task, const struct lb_rundown_question *q,
                               struct lb_error *error) {
  struct lb_choice choice;
  struct lb_cycle *cycle = task->engine.cycle;
  enum lb_status status = lb_cycle_prepare(cycle, task->machine, error);
  if (status == LB_OK)
    status = q->rule == LB_ECONOMY       ? lb_cutoff_economy(&choice, cycle, error)
             : q->rule == LB_ATMOSPHERIC ? lb_cutoff_atmospheric(&choice, cycle, q->margin, error)
                                         : lb_cutoff_as_timed(&choice, cycle, q->margin, error);
  if (status != LB_OK)
    return status;
  if (!choice.found)
    return no_timing(choice.why, choice.would_do, error);
  memcpy(task->fixed, choice.cutoff, sizeof task->fixed);
  return LB_OK;
}

/* ---------- the plans ---------- */

/* Tell that the plans so far are done. */
static void tell(const struct lb_rundown *rundown, const struct lb_rundown_question *q) {
  if (q->progress)
    q->progress(LB_PLANS_SHARE * (double)rundown->runs / LB_RUNS, q->context);
}

static struct lb_run *add_run(struct lb_rundown *rundown, enum lb_plan plan, int steps) {
  struct lb_run *run = &rundown->run[rundown->runs++];
  *run = (struct lb_run){.plan = plan, .steps = steps};
  return run;
}

/* Whether a plan can be run from a supply; else say why not. */
static bool may_run(struct lb_run *run, const struct lb_task *task, double pressure) {
  double ambient = task->machine->ambient_pressure;
  double most = task->highest_supply;
  bool rated = task->machine->rated_pressure > 0;
  if (pressure <= most)
    return true;
  lb_format(run->why, sizeof run->why,
            "its supply of %.2f bar gauge (%.1f psig) is above %s %.2f bar gauge (%.1f psig); %s "
            "store filled to no more than that, or a regulator, would do",
            (pressure - ambient) / LB_BAR, (pressure - ambient) / LB_PSI,
            most >= highest_ideal ? "what air can be reckoned with in a cylinder,"
            : rated               ? "the cylinder's rated pressure of"
                    : "what a cylinder without a rated pressure may be taken to bear,",
            (most - ambient) / LB_BAR, (most - ambient) / LB_PSI,
            rated || most >= highest_ideal ? "a" : "its rated pressure, if higher, a");
  return false;
}

/* Say that a plan does not carry the load. */
static void say_too_weak(struct lb_run *run, struct lb_task *task, const double *cutoff,
                         double pressure) {
  double ambient = task->machine->ambient_pressure;
  double needed = lb_follow_least(task, cutoff, task->highest_supply);
  lb_format(run->why, sizeof run->why,
            "on %.2f bar gauge (%.1f psig) it does not carry the load of %.3g N m",
            (pressure - ambient) / LB_BAR, (pressure - ambient) / LB_PSI, task->demand.torque);
  size_t length = strlen(run->why);
  if (isfinite(needed))
    lb_format(run->why + length, sizeof run->why - length,
              "; a supply of %.2f bar gauge (%.1f psig) would", (needed - ambient) / LB_BAR,
              (needed - ambient) / LB_PSI);
}

/* Run a plan that carries the load by the searches, whose map may have been too kind, and which do
 * not know of a droop. A run that leaves the range in which it can be calculated is not run. */
static enum lb_status march(struct lb_run *run, struct lb_task *task,
                            const struct lb_policy *policy, struct lb_error *error) {
  struct lb_run fresh = {.plan = run->plan, .steps = run->steps};
  enum lb_status status = lb_march_run(run, task, policy, error);
  if (status == LB_OK && !(run->powered_revolutions > 0)) {
    run->ran = false;
    say_too_weak(run, task, run->cutoff, run->point[0].supply_pressure);
  } else if (status == LB_NO_ANSWER ||
             status == LB_NUMERIC) { /* that is no reason to leave out the other plans */
    *run = fresh;
    lb_format(run->why, sizeof run->why, "%s", error->text);
    if (!task->broken_off.text[0])
      task->broken_off = *error;
    return LB_OK;
  }
  return status;
}

/* Run a fixed timing, behind a regulator or not. */
static enum lb_status run_fixed(struct lb_run *run, struct lb_task *task, double set_pressure,
                                const double *cutoff, struct lb_error *error) {
  const struct lb_machine *m = task->machine;
  double supply = set_pressure > 0
                      ? fmin(set_pressure, m->store.start_pressure - m->regulator.least_difference)
                      : m->store.start_pressure;
  struct lb_policy policy = {.set_pressure = set_pressure, .positions = 1};
  run->set_pressure = set_pressure;
  memcpy(run->cutoff, cutoff, sizeof run->cutoff);
  memcpy(policy.position[0].cutoff, cutoff, sizeof policy.position[0].cutoff);
  if (!may_run(run, task, supply))
    return LB_OK;
  if (isfinite(lb_process_end(task, set_pressure, cutoff)))
    return march(run, task, &policy, error);
  say_too_weak(run, task, cutoff, supply);
  return LB_OK;
}

static enum lb_status run_best(struct lb_run *run, struct lb_task *task, struct lb_error *error) {
  struct lb_policy policy;
  double range, cutoff[LB_ENDS] = {0};
  if (lb_best_regulated(&policy, &range, task))
    return march(run, task, &policy, error);
  double highest =
      fmin(task->machine->store.start_pressure - task->machine->regulator.least_difference,
           task->highest_supply);
  if (highest > task->least_supply && lb_follow_choose(task, highest, cutoff))
    return run_fixed(run, task, highest, cutoff, error); /* which finds why there is no range */
  say_too_weak(run, task, NULL, highest);
  return LB_OK;
}

/* Run what follows, and the steps before it. */
static enum lb_status run_following(struct lb_rundown *rundown, struct lb_task *task,
                                    const struct lb_rundown_question *q, struct lb_error *error) {
  struct lb_policy steps[LB_STEPS_MOST + 1] = {0}, following = {.follows = true};
  double start = task->machine->store.start_pressure;
  enum lb_status status = LB_OK;
  bool any = start <= task->highest_supply && lb_best_steps(steps, task);
  for (int k = LB_STEPS_LEAST; k <= LB_STEPS_MOST + 1 && status == LB_OK; k++) {
    bool last = k > LB_STEPS_MOST;
    struct lb_run *run = add_run(rundown, last ? LB_PLAN_FOLLOWING : LB_PLAN_STEPPED, last ? 0 : k);
    if (!may_run(run, task, start))
      continue;
    if (!any || (!last && steps[k].positions == 0))
      say_too_weak(run, task, NULL, start);
    else
      status = march(run, task, last ? &following : &steps[k], error);
    tell(rundown, q);
  }
  return status;
}

static enum lb_status run_all(struct lb_rundown *rundown, struct lb_task *task,
                              const struct lb_rundown_question *q, struct lb_error *error) {
  double set = lb_task_set_pressure(task);
  enum lb_status status =
      run_fixed(add_run(rundown, LB_PLAN_UNREGULATED, 0), task, 0, task->fixed, error);
  tell(rundown, q);
  if (status == LB_OK)
    status = run_fixed(add_run(rundown, LB_PLAN_REGULATED, 0), task, set, task->fixed, error);
  tell(rundown, q);
  if (status == LB_OK)
    status = run_best(add_run(rundown, LB_PLAN_REGULATED_BEST, 0), task, error);
  tell(rundown, q);
  return status == LB_OK ? run_following(rundown, task, q, error) : status;
}

/* Of a vehicle: which gradient it would climb, from the store as full as it may be. */
static void say_gradient(const struct lb_task *task, struct lb_engine *engine,
                         struct lb_error *error) {
  const struct lb_machine *m = task->machine;
  double work, air, cutoff[LB_ENDS], pressure = fmin(m->store.start_pressure, task->highest_supply);
  if (!(m->load.mass > 0) || !error)
    return;
  lb_engine_most(cutoff, engine, pressure);
  lb_engine_look(&work, &air, engine, pressure, cutoff);
  double climbs = lb_load_gradient(m, work / (2 * LB_PI), engine->speed);
  size_t length = strlen(error->text);
  if (climbs > 0 && climbs < m->load.gradient)
    lb_format(error->text + length, sizeof error->text - length,
              "; with the store full it climbs %.3g %%, not %.3g %%", 100 * climbs,
              100 * m->load.gradient);
}

/* Whether the store would turn the load if the machine ran slowly. */
static bool turns_slowly(const struct lb_task *task) {
  struct lb_engine slow;
  double work = 0, air, cutoff[LB_ENDS];
  double pressure = fmin(task->machine->store.start_pressure, task->highest_supply);
  if (!(task->engine.speed > 0))
    return false;
  if (lb_engine_open(&slow, task->machine, 0, NULL) == LB_OK) {
    lb_engine_most(cutoff, &slow, pressure);
    lb_engine_look(&work, &air, &slow, pressure, cutoff);
  }
  lb_engine_close(&slow);
  return work > task->demand.work;
}

/* When nothing turns the load: say what would. */
static enum lb_status test_any(const struct lb_rundown *rundown, struct lb_task *task,
                               struct lb_error *error) {
  for (size_t i = 0; i < rundown->runs; i++)
    if (rundown->run[i].ran)
      return LB_OK;
  if (task->broken_off.text[0]) {
    if (error)
      *error = task->broken_off;
    return LB_NO_ANSWER;
  }
  if (turns_slowly(task))
    return lb_error_set(error, LB_NO_ANSWER,
                        "no plan turns the load of %.3g N m at %.4g rpm, though slowly the store "
                        "would; a lower speed, or wider valves, would do",
                        task->demand.torque, task->engine.speed / LB_RPM);
  if (lb_engine_map_make(&task->engine, task->least_supply, highest_ideal, true, error) != LB_OK)
    return lb_error_set(error, LB_NO_ANSWER,
                        "no plan turns the load of %.3g N m from this store; a lighter load would "
                        "do",
                        task->demand.torque);
  task->wanted_work = task->demand.work + lb_engine_map_error(&task->engine);
  double needed = lb_follow_least(task, NULL, highest_ideal);
  double ambient = task->machine->ambient_pressure;
  if (!isfinite(needed))
    lb_error_set(error, LB_NO_ANSWER,
                 "no plan turns the load of %.3g N m, nor does any supply up to %.0f bar "
                 "absolute; a lighter load or a larger cylinder would do",
                 task->demand.torque, highest_ideal / LB_BAR);
  else
    lb_error_set(error, LB_NO_ANSWER,
                 "no plan turns the load of %.3g N m from this store%s; with the "
                 "cut-off of most work a supply of %.2f bar gauge (%.1f psig) would",
                 task->demand.torque,
                 needed > task->highest_supply ? " within what the cylinder bears" : "",
                 (needed - ambient) / LB_BAR, (needed - ambient) / LB_PSI);
  say_gradient(task, &task->engine, error);
  return LB_NO_ANSWER;
}

/* ---------- starting ---------- */

static enum lb_status set_least(struct lb_rundown *rundown, struct lb_task *task,
                                struct lb_error *error) {
  struct lb_cycle *cycle = task->engine.cycle;
  const struct lb_machine *m = task->machine;
  double standing[LB_ENDS]; /* late valves are not late then */
  for (int end = 0; end < LB_ENDS; end++)
    standing[end] =
        task->fixed[end] - lb_timing_lag(m, (enum lb_end)end, LB_VARIED_CUTOFF, task->engine.speed);
  enum lb_status status = lb_cycle_prepare(cycle, m, error);
  if (status == LB_OK)
    status = lb_torque_starting_supply(&rundown->standing, cycle, standing,
                                       task->demand.standing_torque, error);
  double highest = fmin(m->store.start_pressure, task->highest_supply);
  rundown->running = lb_follow_least(task, task->fixed, highest);
  rundown->running_found = isfinite(rundown->running);
  rundown->starts = status == LB_OK;
  if (!rundown->running_found)
    rundown->running = 0;
  return status;
}

static enum lb_status find(struct lb_rundown *rundown, struct lb_task *task,
                           const struct lb_rundown_question *q, struct lb_error *error) {
  enum lb_status status = test_demand(task, error);
  if (status == LB_OK)
    status = q->speed > 0 ? fix_running(task, q, error) : fix_slow(task, q, error);
  if (status != LB_OK)
    return status;
  struct lb_tank_state full = {.pressure = task->machine->store.start_pressure};
  status = lb_tank_at(&full, &task->tank, task->tank.start_mass, task->machine->store.temperature,
                      error);
  rundown->speed = q->speed;
  rundown->demand = task->demand;
  rundown->start_mass = task->tank.start_mass;
  rundown->start_worth = lb_tank_worth(&task->tank, &full);
  if (status == LB_OK)
    status = run_all(rundown, task, q, error);
  if (status == LB_OK)
    status = test_any(rundown, task, error);
  if (status == LB_OK)
    status = set_least(rundown, task, error);
  return status == LB_OK ? lb_verdict_find(rundown, task, q, error) : status;
}

enum lb_status lb_rundown_find(struct lb_rundown *rundown, const struct lb_machine *machine,
                               const struct lb_rundown_question *question, struct lb_error *error) {
  struct lb_task task = {0};
  struct lb_error found;
  enum lb_status status = test_question(machine, question->speed, error);
  if (status != LB_OK)
    return status;
  struct lb_real_air *air = lb_real_air_new();
  struct lb_rundown *fresh = lb_rundown_new();
  status = air && fresh ? lb_task_open(&task, machine, air, question->speed, NULL, false, &found)
                        : lb_error_set(&found, LB_NO_MEMORY, "no memory for running down a store");
  if (status == LB_OK)
    status = find(fresh, &task, question, &found);
  if (status == LB_OK)
    *rundown = *fresh;
  else if (error)
    *error = found;
  lb_task_close(&task);
  lb_rundown_free(fresh);
  lb_real_air_free(air);
  return status;
}
