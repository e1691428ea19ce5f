/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One run, from the full store to where it stops.
 *
 * What counts on is the air that has left the store, x: the state (temperature of the store,
 * powered revolutions, work, what became of the worth) is integrated over it by Runge-Kutta steps
 * of controlled error. Of a kilogram that leaves, the machine gets a share s, the leak the rest:
 *
 *   dN/dx = s/m,  dW/dx = s W/m, ...,   s = (m/t)/(m/t + leak),  t: time of a powered revolution
 *
 * where t includes the coasting that goes with it. Within a stage (one position, the regulator
 * wide open or not) everything is smooth; a step that passes the end of its stage is shortened
 * until it just reaches it, so that no step has a kink or jump in it.
 */
#include "duty/rundown_parts.h"

#include "base/constants.h"
#include "base/format.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What is integrated. */
enum {
  TEMPERATURE, /* of the store [K] */
  TURNS,       /* powered revolutions */
  WORK,        /* after friction [J] */
  LEAKED,      /* [kg] */
  FRICTION,    /* from here on [J] */
  INLET,
  FILLING,
  PUSHED_BACK,
  RELEASE,
  HEAT,
  LEAKAGE,
  EXHAUST,
  REGULATOR,
  PIPE,
  IDEAL,
  STORE_WALLS,
  STORE_LEAK,
  QUANTITIES
};

enum {
  STEPS = 24,        /* of the whole run, at least */
  STEPS_MOST = 4000, /* at most */
  ORDER = 5,         /* of the error of a step */
  NARROWINGS = 60    /* of a step that is to end where its stage does */
};
static const double slow_tolerance = 1e-9; /* [1] error of a step, as a share of what there is */
static const double following_tolerance =
    1e-7; /* likewise; what a search leaves open is not smooth */
static const double running_tolerance = 1e-7; /* likewise; the cycles at speed are good to 1e-9 */
static const double slow_hit = 1e-10;         /* [1] of a step: how exactly a stage's end is met */
static const double running_hit = 1e-6;       /* likewise */
static const double slack = 1e-9; /* [1] of the load's work: cut-offs that just carry it do so */
static const double cautious = 0.9, shrink = 0.2, grow = 4; /* [1] of steps, as usual */
static const double least_error = 1e-3; /* [1] of the tolerance; less lets no step grow more */
static const double least_step = 1e-9;  /* [1] of the air in the store */
static const double endless = 1e12;     /* revolutions that no store lasts for */

/* A moment of the run. */
struct moment {
  double x; /* [kg] that has left */
  double y[QUANTITIES], slope[QUANTITIES];
  struct lb_tank_state tank;
  struct lb_outlet outlet;
  struct lb_powered powered;
  double cutoff[LB_ENDS];
  double spare; /* [J] work beyond what the load takes; what the most work of all has, where the
                   cut-off follows */
};

/* A run in progress. */
struct march {
  struct lb_task *task;
  const struct lb_policy *policy;
  struct lb_run *run;
  struct lb_stepper *stepper;
  int stage;
  double stage_end; /* [Pa absolute] of the store */
  bool last_stage;
  double start_worth; /* [J] */
  struct moment now;
  enum lb_status status; /* of the last failure */
  struct lb_error error;
};

/* ---------- slopes ---------- */

static const double *fixed_cutoff(const struct march *m) {
  int last = m->policy->positions - 1;
  return m->policy->position[m->stage < last ? m->stage : last].cutoff;
}

/* Everything at one moment but the slopes. `at->x` and the temperature are given. */
static enum lb_status look(struct march *m, struct moment *at) {
  struct lb_task *task = m->task;
  struct lb_error *error = &m->error;
  task->engine.status = LB_OK; /* of looks before this one */
  enum lb_status status =
      lb_tank_at(&at->tank, &task->tank, task->tank.start_mass - at->x, at->y[TEMPERATURE], error);
  if (status != LB_OK)
    return status;
  if (m->policy->follows)
    lb_follow_choose(task, at->tank.pressure, at->cutoff);
  else
    memcpy(at->cutoff, fixed_cutoff(m), sizeof at->cutoff);
  status = lb_policy_supply(&at->outlet, task, m->policy, &at->tank, at->cutoff, error);
  if (status == LB_OK)
    status = lb_engine_turn(&at->powered, &task->engine, at->outlet.pressure,
                            at->outlet.temperature, at->cutoff, true, error);
  if (status == LB_OK && task->engine.status != LB_OK) {
    status = task->engine.status;
    *error = task->engine.error;
  }
  if (status == LB_OK && !(at->powered.air > 0))
    return lb_error_set(error, LB_NO_ANSWER,
                        "on %.4g bar absolute the machine draws no air, so that a run has no end",
                        at->outlet.pressure / LB_BAR);
  return status;
}

static void set_slopes(const struct march *m, struct moment *at) {
  const struct lb_tank *tank = &m->task->tank;
  const struct lb_powered *p = &at->powered;
  const struct lb_powered_worth *w = &p->worth;
  double speed = m->task->engine.speed, *s = at->slope;
  double each = speed > 0 ? 2 * LB_PI / speed * lb_task_gain(m->task, p->work) : 0;
  double leak = speed > 0 ? lb_tank_leak(tank, &at->tank) : 0;
  double drawn = speed > 0 ? p->air / each : 1, rate = drawn + leak, share = drawn / rate;
  double turns = share / p->air;
  s[TEMPERATURE] = -lb_tank_cooling(tank, &at->tank, rate);
  s[TURNS] = turns;
  s[WORK] = turns * p->work;
  s[LEAKED] = 1 - share;
  s[FRICTION] = turns * w->friction;
  s[INLET] = turns * w->inlet;
  s[FILLING] = turns * w->filling;
  s[PUSHED_BACK] = turns * w->pushed_back;
  s[RELEASE] = turns * w->release;
  s[HEAT] = turns * w->heat;
  s[LEAKAGE] = turns * w->leakage;
  s[EXHAUST] = turns * w->exhaust;
  s[REGULATOR] = share * at->outlet.regulator;
  s[PIPE] = share * at->outlet.pipe;
  s[IDEAL] = share * at->outlet.ideal;
  s[STORE_WALLS] = -lb_tank_heat_per_kg(tank, &at->tank, rate) *
                   (1 - m->task->machine->ambient_temperature / at->tank.temperature);
  s[STORE_LEAK] = (1 - share) * lb_tank_flow_worth(tank, &at->tank.gas);
}

static enum lb_status slopes(double x, const double *y, double *slope, void *context) {
  struct march *m = context;
  struct moment at = {.x = x, .tank = {.pressure = m->now.tank.pressure}};
  memcpy(at.cutoff, m->now.cutoff, sizeof at.cutoff); /* a guess for what follows */
  memcpy(at.y, y, sizeof at.y);
  enum lb_status status = look(m, &at);
  if (status != LB_OK)
    return m->status = status;
  set_slopes(m, &at);
  memcpy(slope, at.slope, sizeof at.slope);
  return LB_OK;
}

/* ---------- stages ---------- */

/* How far it is to the end of the stage. */
struct margin {
  double left;         /* [1] the least of what is left of pressure and work, each as a share; 0 or
                          less behind the end */
  bool over;           /* the run ends there, too */
  enum lb_run_end why; /* then */
};

static void nearer(struct margin *margin, double left, enum lb_run_end why) {
  if (!(left < margin->left))
    return;
  *margin = (struct margin){left, true, why};
}

static struct margin margin_of(const struct march *m, const struct moment *at) {
  const struct lb_task *task = m->task;
  const struct lb_store *store = &task->machine->store;
  struct margin margin = {.left = (double)INFINITY};
  if (!m->last_stage)
    margin.left = (at->tank.pressure - m->stage_end) / store->start_pressure;
  if (m->last_stage || m->policy->positions == 1) /* else the next position carries it */
    nearer(&margin, at->spare / task->demand.work, LB_RUN_LOAD);
  nearer(&margin, (at->tank.pressure - store->lowest_pressure) / store->start_pressure,
         LB_RUN_LOWEST);
  nearer(&margin, (at->outlet.pressure - task->least_supply) / store->start_pressure, LB_RUN_PILOT);
  return margin;
}

/* What is left of the load's work at a moment. */
static enum lb_status set_spare(struct march *m, struct moment *at) {
  struct lb_task *task = m->task;
  double work = at->powered.work;
  if (m->policy->follows) {
    struct lb_powered most;
    double cutoff[LB_ENDS];
    lb_engine_most(cutoff, &task->engine, at->outlet.pressure);
    enum lb_status status = lb_engine_turn(&most, &task->engine, at->outlet.pressure,
                                           at->outlet.temperature, cutoff, false, &m->error);
    if (status != LB_OK)
      return status;
    work = fmax(work, most.work);
  }
  at->spare = work - task->demand.work * (1 - slack);
  return LB_OK;
}

/* Look at a moment whose x and y are set. */
static enum lb_status arrive(struct march *m, struct moment *at) {
  at->tank.pressure = m->now.tank.pressure;
  enum lb_status status = look(m, at);
  if (status == LB_OK)
    status = set_spare(m, at);
  return m->status = status;
}

/* Step from now by h. `next` is out, with its slope. */
static enum lb_status step(struct march *m, double h, struct moment *next, double *error) {
  double estimate[QUANTITIES];
  *next = m->now;
  m->status = LB_OK;
  enum lb_status status =
      lb_stepper_step(m->stepper, m->now.x, h, next->y, estimate, next->slope, slopes, m);
  if (status != LB_OK && m->status == LB_OK)
    lb_error_set(&m->error, status, "a step of the run is not finite");
  if (status != LB_OK)
    return m->status != LB_OK ? m->status : status;
  next->x = m->now.x + h;
  *error = 0;
  for (int i = TEMPERATURE; i <= WORK; i++)
    *error = fmax(*error, fabs(estimate[i]) / fmax(fabs(next->y[i]), fabs(h * next->slope[i])));
  return arrive(m, next);
}

/* Shorten a step that passes the end of its stage until it ends there, by false position with
 * halved weights (Illinois). `next` is the moment just before the end, or one that meets it. */
static enum lb_status narrow(struct march *m, double h, double beyond, struct moment *next) {
  double hit = m->task->engine.gas ? running_hit : slow_hit;
  double low = 0, high = h, at_low = margin_of(m, &m->now).left, at_high = beyond, error;
  *next = m->now;
  for (int i = 0, side = 0; i < NARROWINGS && high - low > hit * h; i++) {
    double trial = low + (high - low) * at_low / (at_low - at_high);
    struct moment there;
    enum lb_status status = step(m, trial, &there, &error);
    if (status != LB_OK)
      return status;
    double value = margin_of(m, &there).left;
    if (value >= -hit)
      *next = there;
    if (fabs(value) <= hit)
      break;
    if (value > 0) {
      low = trial;
      at_low = value;
      at_high = side > 0 ? at_high / 2 : at_high;
      side = 1;
    } else {
      high = trial;
      at_high = value;
      at_low = side < 0 ? at_low / 2 : at_low;
      side = -1;
    }
  }
  return LB_OK;
}

/* ---------- the course ---------- */

static double range_of(const struct march *m, double turns, double work) {
  const struct lb_demand *d = &m->task->demand;
  return m->task->coasts ? (work + turns * d->motoring_work) / (d->work + d->motoring_work) : turns;
}

static void record(struct march *m) {
  const struct moment *now = &m->now;
  struct lb_run *r = m->run;
  double speed = m->task->engine.speed;
  double range = range_of(m, now->y[TURNS], now->y[WORK]);
  r->coldest_gas = fmin(r->coldest_gas, now->powered.coldest);
  r->coldest_tank = fmin(r->coldest_tank, now->tank.temperature);
  r->coldest_supply = fmin(r->coldest_supply, now->outlet.throttled);
  if (r->points == LB_RUN_POINTS)
    r->points--; /* the last one always tells the end */
  struct lb_run_point *p = &r->point[r->points++];
  *p = (struct lb_run_point){.tank_pressure = now->tank.pressure,
                             .tank_temperature = now->tank.temperature,
                             .supply_pressure = now->outlet.pressure,
                             .supply_temperature = now->outlet.temperature,
                             .mean_torque = now->powered.work / (2 * LB_PI),
                             .air = now->powered.air,
                             .powered_revolutions = now->y[TURNS],
                             .revolutions = range,
                             .distance = range * m->task->demand.distance,
                             .duration = speed > 0 ? range * 2 * LB_PI / speed : 0};
  memcpy(p->cutoff, now->cutoff, sizeof p->cutoff);
}

/* The force on the pin at a moment. What the engine turned last was for something else. */
static enum lb_status feel_pin(struct march *m) {
  struct lb_powered powered;
  enum lb_status status =
      lb_engine_turn(&powered, &m->task->engine, m->now.outlet.pressure, m->now.outlet.temperature,
                     m->now.cutoff, false, &m->error);
  if (status != LB_OK)
    return m->status = status;
  m->run->peak_pin_force =
      fmax(m->run->peak_pin_force, lb_engine_pin_force(&m->task->engine, m->now.cutoff));
  return LB_OK;
}

/* Where a stage ends [Pa absolute] of the store, and whether it is the last. */
static void set_stage(struct march *m, int stage) {
  const struct lb_policy *p = m->policy;
  m->stage = stage;
  m->stage_end = 0;
  m->last_stage = true;
  if (p->set_pressure > 0 && stage == 0) {
    m->stage_end = p->set_pressure + m->task->machine->regulator.least_difference;
    m->last_stage = false;
  } else if (stage + 1 < p->positions) {
    m->stage_end = p->position[stage].to;
    m->last_stage = false;
  }
}

/* Take up a stage at the present moment, whose cut-off and slopes may have changed. */
static enum lb_status enter(struct march *m, int stage) {
  set_stage(m, stage);
  enum lb_status status = arrive(m, &m->now);
  if (status != LB_OK)
    return status;
  set_slopes(m, &m->now);
  record(m);
  return feel_pin(m);
}

static double tolerance_of(const struct march *m) {
  if (m->task->engine.gas)
    return running_tolerance;
  return m->policy->follows ? following_tolerance : slow_tolerance;
}

/* One accepted step, of at most `h`, which is then what to try next. */
static enum lb_status advance(struct march *m, double *h, struct moment *next) {
  double mass = m->task->tank.start_mass, least = least_step * mass, missed;
  double tolerance = tolerance_of(m);
  for (;;) {
    *h = fmin(fmin(*h, mass / STEPS), (mass - m->now.x) / 2);
    enum lb_status status = step(m, *h, next, &missed);
    if (status != LB_OK && *h <= least)
      return status;
    if (status != LB_OK) {
      *h *= shrink; /* a trial beyond what can be calculated */
      continue;
    }
    double factor = cautious * pow(tolerance / fmax(missed, tolerance * least_error), 1.0 / ORDER);
    if (missed <= tolerance || *h <= least) {
      *h *= fmin(factor, grow);
      return LB_OK;
    }
    *h *= fmax(factor, shrink);
  }
}

/* March to the end of the stage. `over` tells whether the run ends there. */
static enum lb_status march_stage(struct march *m, double *h, bool *over) {
  struct margin margin = margin_of(m, &m->now);
  for (int i = 0; margin.left > 0; i++) {
    struct moment next;
    enum lb_status status =
        i < STEPS_MOST
            ? advance(m, h, &next)
            : lb_error_set(&m->error, LB_NUMERIC, "a run takes more than %d steps", STEPS_MOST);
    if (status != LB_OK)
      return status;
    margin = margin_of(m, &next);
    if (margin.left <= 0) {
      status = narrow(m, next.x - m->now.x, margin.left, &next);
      margin = margin_of(m, &next); /* further on another end may look like the first */
      margin.left = 0;
    }
    if (status != LB_OK)
      return status;
    m->now = next;
    record(m);
  }
  *over = margin.over;
  m->run->ended = margin.why;
  return LB_OK;
}

/* All stages. */
static enum lb_status march_all(struct march *m) {
  double h = m->task->tank.start_mass / STEPS;
  bool over = false;
  enum lb_status status = LB_OK;
  for (int stage = 0; status == LB_OK && !over; stage++) {
    status = enter(m, stage);
    if (status == LB_OK)
      status = march_stage(m, &h, &over);
  }
  return status == LB_OK ? feel_pin(m) : status;
}

/* ---------- the run ---------- */

static void set_books(struct march *m) {
  const struct moment *now = &m->now;
  const struct lb_tank *tank = &m->task->tank;
  struct lb_run_books *b = &m->run->books;
  const double *y = now->y;
  *b = (struct lb_run_books){.start = m->start_worth,
                             .end = lb_tank_worth(tank, &now->tank),
                             .crank = y[WORK],
                             .friction = y[FRICTION],
                             .inlet = y[INLET],
                             .filling = y[FILLING],
                             .pushed_back = y[PUSHED_BACK],
                             .release = y[RELEASE],
                             .heat = y[HEAT],
                             .leakage = y[LEAKAGE],
                             .exhaust = y[EXHAUST],
                             .regulator = y[REGULATOR],
                             .pipe = y[PIPE],
                             .ideal = y[IDEAL],
                             .store_walls = y[STORE_WALLS],
                             .store_leak = y[STORE_LEAK]};
  double sum = y[WORK];
  for (int i = FRICTION; i < QUANTITIES; i++)
    sum += y[i];
  b->closure = (sum - (b->start - b->end)) / b->start;
}

static enum lb_status set_results(struct march *m) {
  const struct moment *now = &m->now;
  const struct lb_task *task = m->task;
  struct lb_run *r = m->run;
  double speed = task->engine.speed;
  r->powered_revolutions = now->y[TURNS];
  r->work = now->y[WORK];
  r->revolutions = range_of(m, r->powered_revolutions, r->work);
  if (!(r->revolutions < endless))
    return lb_error_set(&m->error, LB_NO_ANSWER,
                        "the load takes so little that the store would last for more than %.0e "
                        "revolutions; give the load that the machine really has",
                        endless);
  r->powered_distance = r->powered_revolutions * task->demand.distance;
  r->distance = r->revolutions * task->demand.distance;
  r->duration = speed > 0 ? r->revolutions * 2 * LB_PI / speed : 0;
  r->useful_work = r->revolutions * task->demand.work;
  r->air_leaked = now->y[LEAKED];
  r->air_used = now->x - r->air_leaked;
  r->air_left = now->tank.mass;
  r->end_pressure = now->tank.pressure;
  r->end_temperature = now->tank.temperature;
  set_books(m);
  return lb_tank_warmed(&r->warmed_pressure, &task->tank, &now->tank, &m->error);
}

/* Begin with the full store. */
static enum lb_status begin(struct march *m) {
  const struct lb_store *store = &m->task->machine->store;
  struct lb_run *r = m->run;
  r->coldest_gas = r->coldest_tank = r->coldest_supply = (double)INFINITY;
  m->now.y[TEMPERATURE] = store->temperature;
  m->now.tank.pressure = store->start_pressure;
  m->stepper = lb_stepper_new(QUANTITIES);
  if (!m->stepper)
    return lb_error_set(&m->error, LB_NO_MEMORY, "no memory for a run");
  enum lb_status status = lb_tank_at(&m->now.tank, &m->task->tank, m->task->tank.start_mass,
                                     store->temperature, &m->error);
  m->start_worth = lb_tank_worth(&m->task->tank, &m->now.tank);
  return status;
}

/* Say how far a run came that could not be finished. */
static void say_where(struct march *m) {
  double above = m->now.tank.pressure - m->task->machine->ambient_pressure;
  size_t length = strlen(m->error.text);
  lb_format(m->error.text + length, sizeof m->error.text - length,
            "; the store is down to %.2f bar gauge (%.1f psig) then: a lowest pressure above that "
            "would do, too",
            above / LB_BAR, above / LB_PSI);
}

enum lb_status lb_march_run(struct lb_run *run, struct lb_task *task,
                            const struct lb_policy *policy, struct lb_error *error) {
  struct march m = {.task = task, .policy = policy, .run = run};
  enum lb_status status = begin(&m);
  if (status == LB_OK)
    status = march_all(&m);
  if (status == LB_OK)
    status = set_results(&m);
  lb_stepper_free(m.stepper);
  if (status == LB_NO_ANSWER)
    say_where(&m);
  if (status != LB_OK) {
    if (error)
      *error = m.error;
    return status;
  }
  run->ran = true;
  run->set_pressure = policy->set_pressure;
  run->positions = policy->positions > 1 ? policy->positions : 0;
  memcpy(run->position, policy->position, sizeof run->position);
  memcpy(run->cutoff, run->point[0].cutoff, sizeof run->cutoff);
  return LB_OK;
}
