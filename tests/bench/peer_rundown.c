/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Store, supply, cut-off, revolution; and again.
 */
#include "peer_rundown.h"

#include "stroke/timing.h"

#include <math.h>
#include <string.h>

/* The load is carried when this share of its work is not missing [1]: a cut-off chosen to just
 * carry it leaves what its solver does. */
static const double slack = 1e-9;

/* The run so far. */
struct stepping {
  struct lb_task *task;
  const struct lb_policy *policy;
  struct lb_cycle *cycle;
  struct lb_gas *gas;        /* NULL: slow */
  struct lb_machine machine; /* at the supply of the revolution */
  double prepared;           /* [Pa absolute] the supply that the cycle is ready for */
  double cutoff[LB_ENDS];    /* [rad] at which the valve is shut */
  struct lb_tank_state tank;
  struct lb_revolution revolution;
};

bool peer_rundown_takes(const struct lb_machine *machine) {
  return machine->store.given && machine->store.heat == LB_STORE_ISOTHERMAL &&
         !(machine->store.leakage > 0) && !(machine->regulator.droop > 0);
}

static enum lb_status turn_slow(struct stepping *s, struct lb_error *error) {
  enum lb_status status = LB_OK;
  if (s->prepared != s->machine.supply_pressure)
    status = lb_cycle_prepare(s->cycle, &s->machine, error);
  s->prepared = s->machine.supply_pressure;
  return status == LB_OK ? lb_cycle_turn(&s->revolution, s->cycle, s->cutoff, error) : status;
}

static enum lb_status turn_running(struct stepping *s, struct lb_error *error) {
  struct lb_running running;
  double given[LB_ENDS], speed = s->task->engine.speed;
  for (int end = 0; end < LB_ENDS; end++)
    given[end] =
        s->cutoff[end] - lb_timing_lag(&s->machine, (enum lb_end)end, LB_VARIED_CUTOFF, speed);
  enum lb_status status =
      lb_running_turn(&running, s->gas, &s->machine, given, speed, false, error);
  s->revolution = running.revolution;
  return status;
}

static enum lb_status turn(struct stepping *s, struct lb_error *error) {
  return s->gas ? turn_running(s, error) : turn_slow(s, error);
}

static bool carries(const struct stepping *s) {
  return s->revolution.work >= s->task->demand.work * (1 - slack);
}

/* A cut-off that follows comes from a table at speed and may miss the load by a little: the
 * revolution counts all the same, as it does in a run, while the one of most work carries it. */
static enum lb_status try_most(struct stepping *s, bool *goes_on, struct lb_error *error) {
  struct lb_revolution chosen = s->revolution;
  double cutoff[LB_ENDS];
  memcpy(cutoff, s->cutoff, sizeof cutoff);
  lb_engine_most(s->cutoff, &s->task->engine, s->machine.supply_pressure);
  enum lb_status status = turn(s, error);
  *goes_on = status == LB_OK && carries(s);
  memcpy(s->cutoff, cutoff, sizeof s->cutoff);
  s->revolution = chosen;
  return status;
}

/* One revolution. `goes_on` tells whether it carries the load, so that it counts. */
static enum lb_status revolve(struct stepping *s, bool *goes_on, struct lb_error *error) {
  struct lb_task *task = s->task;
  struct lb_outlet outlet;
  enum lb_status status =
      lb_tank_outlet(&outlet, &task->tank, &s->tank, s->policy->set_pressure, 0, error);
  *goes_on = status == LB_OK && outlet.pressure > task->least_supply &&
             s->tank.pressure > task->machine->store.lowest_pressure;
  if (!*goes_on)
    return status;
  s->machine.supply_pressure = outlet.pressure;
  s->machine.supply_temperature = outlet.temperature;
  if (s->policy->follows)
    lb_follow_choose(task, s->tank.pressure, s->cutoff);
  status = turn(s, error);
  *goes_on = status == LB_OK && carries(s);
  return status == LB_OK && s->policy->follows && !*goes_on ? try_most(s, goes_on, error) : status;
}

enum lb_status peer_rundown_step(struct peer_run *run, struct lb_task *task,
                                 const struct lb_policy *policy, struct lb_cycle *cycle,
                                 struct lb_gas *gas, struct lb_error *error) {
  struct stepping s = {.task = task,
                       .policy = policy,
                       .cycle = cycle,
                       .gas = gas,
                       .machine = *task->machine,
                       .tank = {.pressure = task->machine->store.start_pressure}};
  memcpy(s.cutoff, policy->position[0].cutoff, sizeof s.cutoff);
  *run = (struct peer_run){0};
  for (;;) {
    bool goes_on = false;
    double half = s.revolution.air / 2; /* of the last one, for want of this one's */
    enum lb_status status =
        lb_tank_at(&s.tank, &task->tank, task->tank.start_mass - run->air - half,
                   task->machine->store.temperature, error);
    if (status == LB_OK)
      status = revolve(&s, &goes_on, error);
    if (!goes_on)
      return status;
    run->powered++;
    run->work += s.revolution.work;
    run->air += s.revolution.air;
  }
}
