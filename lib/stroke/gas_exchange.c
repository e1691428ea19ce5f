/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From valve event to valve event through a revolution, and the search for the one that repeats
 * itself.
 */
#include "stroke/gas_exchange.h"

#include "base/constants.h"
#include "stroke/gas_exchange_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  ROUGH_REVOLUTIONS = 40, /* at most before the mesh is frozen */
  FINE_REVOLUTIONS = 20   /* at most afterwards */
};
static const double turn_angle = 2 * LB_PI;
static const double fine = 2e-7;    /* [1] tolerance of a step; the work errs by less than that */
static const double rough = 1e-3;   /* [1] likewise while the start is far off */
static const double settled = 1e-9; /* [1] residual that is called periodic */
static const double seat_ratio = 0.5, seat_index = 0.5; /* [1] of leaks */

struct lb_gas *lb_gas_new(void) {
  struct lb_gas *gas = calloc(1, sizeof *gas);
  if (!gas)
    return NULL;
  for (size_t ends = 1; ends <= LB_ENDS; ends++)
    if (!(gas->ode[ends] = lb_ode_new(ends * LB_GAS_STATES, ends * LB_GAS_SUMS + 1)) ||
        !(gas->audit[ends] =
              lb_ode_new(ends * LB_GAS_STATES, ends * LB_GAS_SUMS + 1 + LB_GAS_PARTS))) {
      lb_gas_free(gas);
      return NULL;
    }
  return gas;
}

void lb_gas_free(struct lb_gas *gas) {
  if (!gas)
    return;
  for (size_t ends = 1; ends <= LB_ENDS; ends++) {
    lb_ode_free(gas->ode[ends]);
    lb_ode_free(gas->audit[ends]);
  }
  free(gas);
}

static bool possible(const double *state, const void *context) {
  const struct lb_gas *gas = context;
  for (size_t i = 0; i < gas->chambers * LB_GAS_STATES; i++)
    if (!(state[i] > 0))
      return false;
  return true;
}

/* How far a valve is open at an angle after it begins to open [1], shut again after a window. */
static double opening_at(double since, double window, double ramp) {
  double until = window - since;
  if (since <= 0 || until <= 0)
    return 0;
  return ramp > 0 ? fmin(1, fmin(since, until) / ramp) : 1;
}

/* A valve's opening and window [rad] on the crank, with its ramp. */
struct window {
  double from, width, ramp;
};

static struct window window_of(const struct lb_gas *gas, enum lb_end end, enum lb_valve valve,
                               double cutoff) {
  const struct lb_timing *t = &gas->machine->timing[end];
  double zero = lb_linkage_dead_centre(&gas->machine->linkage, end);
  bool inlet = valve == LB_INLET_VALVE;
  double opens = inlet ? t->inlet_opens : t->release, shuts = inlet ? cutoff : t->exhaust_closes;
  double ramp = t->opening_ramp_time > 0 ? t->opening_ramp_time * gas->speed : t->opening_ramp;
  return (struct window){zero + opens, shuts - opens, fmin(ramp, (shuts - opens) / 2)};
}

/* An angle without whole turns from a start [rad]: start ... start + 2 pi. */
static double within_turn(double angle, double start) {
  double rest = fmod(angle - start, turn_angle);
  return start + (rest < 0 ? rest + turn_angle : rest);
}

static int compare(const void *a, const void *b) {
  double one = *(const double *)a, other = *(const double *)b;
  return (one > other) - (one < other);
}

/* Where the openings bend, in order, over the turn from the cap-end dead centre. */
static void set_stops(struct lb_gas *gas, const double *cutoff) {
  gas->stops = 0;
  gas->stop[gas->stops++] = 0;
  gas->stop[gas->stops++] = turn_angle;
  for (size_t i = 0; i < gas->chambers; i++)
    for (int valve = 0; valve < LB_VALVES; valve++) {
      enum lb_end end = gas->chamber[i].end;
      struct window w = window_of(gas, end, (enum lb_valve)valve, cutoff[end]);
      const double bends[] = {w.from, w.from + w.ramp, w.from + w.width - w.ramp, w.from + w.width};
      for (size_t k = 0; k < sizeof bends / sizeof bends[0]; k++)
        gas->stop[gas->stops++] = within_turn(bends[k], 0);
    }
  qsort(gas->stop, gas->stops, sizeof gas->stop[0], compare);
}

/* The openings within each segment, which are straight there. */
static void set_openings(struct lb_gas *gas, const double *cutoff) {
  for (size_t i = 0; i < gas->chambers; i++)
    for (int valve = 0; valve < LB_VALVES; valve++) {
      enum lb_end end = gas->chamber[i].end;
      struct window w = window_of(gas, end, (enum lb_valve)valve, cutoff[end]);
      for (size_t k = 0; k + 1 < gas->stops; k++) {
        double from = gas->stop[k], width = gas->stop[k + 1] - from;
        double one = from + width / 3, other = from + 2 * width / 3;
        double a = opening_at(within_turn(one, w.from) - w.from, w.width, w.ramp);
        double b = opening_at(within_turn(other, w.from) - w.from, w.width, w.ramp);
        double by = width > 0 ? (b - a) / (other - one) : 0;
        gas->chamber[i].opening[k][valve] = (struct lb_gas_opening){a - by * one, by};
      }
    }
}

static struct lb_flow leak_of(double conductance) {
  return (struct lb_flow){conductance, seat_ratio, seat_index};
}

/* Make ready for some of the worked ends, which are one system. */
static enum lb_status prepare(struct lb_gas *gas, const struct lb_machine *machine,
                              const double *cutoff, double speed, const bool *ends,
                              struct lb_error *error) {
  static const char *const names[LB_VALVES] = {"inlet", "exhaust"};
  gas->machine = machine;
  gas->speed = speed;
  gas->chambers = 0;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    gas->seat_leak[valve] = leak_of(machine->path[valve].seat_leakage);
    if (!(machine->path[valve].flow.conductance > 0))
      return lb_error_set(error, LB_BAD_INPUT,
                          "[%s valve] has no conductance, so that nothing is known of the cycle at "
                          "speed; write e.g. 'conductance = 1.4 L/(s bar)'",
                          names[valve]);
  }
  gas->piston_leak = leak_of(machine->leakage);
  gas->rod_leak = leak_of(machine->rod_seal_leakage);
  for (int end = 0; end < LB_ENDS; end++)
    if (ends[end]) {
      struct lb_gas_chamber *c = &gas->chamber[gas->chambers++];
      c->end = (enum lb_end)end;
      c->area = lb_machine_area(machine, c->end);
      c->dead_volume = machine->dead_volume[end];
    }
  set_stops(gas, cutoff);
  set_openings(gas, cutoff);
  return LB_OK;
}

/* What errors and changes are measured by: supply pressure and a full chamber of air. */
static void set_scale(struct lb_gas *gas) {
  const struct lb_machine *machine = gas->machine;
  size_t n = gas->chambers * LB_GAS_STATES;
  for (size_t i = 0; i < gas->chambers; i++) {
    double swept = gas->chamber[i].area * machine->linkage.stroke;
    double air = machine->supply_pressure * (swept + gas->chamber[i].dead_volume) /
                 (LB_GAS_CONSTANT * machine->supply_temperature);
    gas->scale[LB_GAS_STATES * i] = machine->supply_pressure;
    gas->scale[LB_GAS_STATES * i + 1] = air;
    gas->scale[n + LB_GAS_SUMS * i] = machine->supply_pressure * swept;
    gas->scale[n + LB_GAS_SUMS * i + 1] = gas->scale[n + LB_GAS_SUMS * i + 2] = air;
  }
  for (size_t k = 0; k < LB_GAS_PARTS + 1; k++)
    gas->scale[n + gas->chambers * LB_GAS_SUMS + k] = gas->scale[n];
}

/* Where a chamber may be at the start: open to one side, or between the two. */
static void guess(const struct lb_gas *gas, double *state) {
  const struct lb_machine *machine = gas->machine;
  double angle = gas->stop[0];
  for (size_t i = 0; i < gas->chambers; i++) {
    double unused, p = machine->back_pressure, t = machine->ambient_temperature;
    double volume = lb_gas_volume(gas, &gas->chamber[i],
                                  lb_linkage_travel(&machine->linkage, angle), 0, &unused);
    const struct lb_gas_opening *opening = &gas->chamber[i].opening[0][LB_INLET_VALVE];
    if (opening->at + opening->by * angle > 0)
      p = machine->supply_pressure;
    state[LB_GAS_STATES * i] = p;
    state[LB_GAS_STATES * i + 1] = p * volume / (LB_GAS_CONSTANT * t);
  }
}

/* The greatest change of a state over a revolution, as a share of its scale. */
static double change(const struct lb_gas *gas, const double *before, const double *after) {
  double greatest = 0;
  for (size_t i = 0; i < gas->chambers * LB_GAS_STATES; i++) {
    double share = fabs(after[i] - before[i]) / gas->scale[i];
    if (!(share <= greatest))
      greatest = share;
  }
  return greatest;
}

/* Solve a x = b in place by elimination; a[n][n] is used up. Returns false when it is singular. */
static bool eliminate(double *a, double *b, size_t n) {
  for (size_t i = 0; i < n; i++) {
    size_t best = i;
    for (size_t row = i + 1; row < n; row++)
      if (fabs(a[row * n + i]) > fabs(a[best * n + i]))
        best = row;
    if (!(fabs(a[best * n + i]) > 0))
      return false;
    for (size_t column = 0; column < n; column++) {
      double swap = a[i * n + column];
      a[i * n + column] = a[best * n + column];
      a[best * n + column] = swap;
    }
    double swap = b[i];
    b[i] = b[best];
    b[best] = swap;
    for (size_t row = i + 1; row < n; row++) {
      double factor = a[row * n + i] / a[i * n + i];
      for (size_t column = i; column < n; column++)
        a[row * n + column] -= factor * a[i * n + column];
      b[row] -= factor * b[i];
    }
  }
  for (size_t i = n; i-- > 0;) {
    for (size_t column = i + 1; column < n; column++)
      b[i] -= a[i * n + column] * b[column];
    b[i] /= a[i * n + i];
  }
  return true;
}

/* Newton's step towards a start that repeats itself: start + (1 - sensitivity)^-1 (end - start),
 * with states in their scale. Where it would leave what can be, the end of the revolution is the
 * next start. */
static void improve(const struct lb_gas *gas, double *start, const double *end,
                    const double *sensitivity) {
  double a[LB_GAS_STATES_MOST * LB_GAS_STATES_MOST], b[LB_GAS_STATES_MOST];
  size_t n = gas->chambers * LB_GAS_STATES;
  for (size_t i = 0; i < n; i++) {
    b[i] = (end[i] - start[i]) / gas->scale[i];
    for (size_t j = 0; j < n; j++)
      a[i * n + j] = (i == j) - sensitivity[i * n + j] * gas->scale[j] / gas->scale[i];
  }
  bool sound = eliminate(a, b, n);
  for (size_t i = 0; i < n; i++) {
    double next = start[i] + b[i] * gas->scale[i];
    sound = sound && next > start[i] / 4 && next < 4 * fmax(start[i], end[i]);
  }
  for (size_t i = 0; i < n; i++)
    start[i] = sound ? start[i] + b[i] * gas->scale[i] : end[i];
}

/* What is noted of a revolution while it is calculated. */
struct notes {
  const struct lb_gas *gas;
  struct lb_gas_turn *turn;                                                  /* turn[LB_ENDS] */
  double opens[LB_ENDS], cutoff[LB_ENDS], release[LB_ENDS], closes[LB_ENDS]; /* [rad] in the run */
};

static void see(double angle, const double *state, void *context) {
  struct notes *notes = context;
  const struct lb_gas *gas = notes->gas;
  double travel = lb_linkage_travel(&gas->machine->linkage, angle), unused;
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct lb_gas_chamber *c = &gas->chamber[i];
    struct lb_gas_turn *turn = &notes->turn[c->end];
    double p = state[LB_GAS_STATES * i], m = state[LB_GAS_STATES * i + 1];
    double t = p * lb_gas_volume(gas, c, travel, 0, &unused) / (m * LB_GAS_CONSTANT);
    turn->greatest_pressure = fmax(turn->greatest_pressure, p);
    turn->coldest_temperature = fmin(turn->coldest_temperature, t);
    if (angle == notes->opens[i]) {
      turn->compression_pressure = p;
      turn->compression_temperature = t;
    }
    if (angle == notes->closes[i])
      turn->closing_temperature = t;
    if (angle == notes->cutoff[i]) {
      turn->cutoff_pressure = p;
      turn->cutoff_temperature = t;
    }
    if (angle == notes->release[i]) {
      turn->release_pressure = p;
      turn->release_temperature = t;
    }
  }
}

static struct lb_ode_problem problem_of(const struct lb_gas *gas, double tolerance) {
  return (struct lb_ode_problem){.rates = lb_gas_rates,
                                 .slopes = lb_gas_slopes,
                                 .possible = possible,
                                 .context = gas,
                                 .scale = gas->scale,
                                 .tolerance = tolerance};
}

/* Revolutions with a mesh of their own until the start is nearly right, coarse ones first, then on
 * a frozen mesh until it is. */
static enum lb_status settle(struct lb_gas *gas, double *start, struct lb_gas_report *report,
                             struct lb_error *error) {
  const double near = 1e-3; /* [1] change at which the fine mesh is made */
  struct lb_ode *ode = gas->ode[gas->chambers];
  double end[LB_GAS_STATES_MOST], sum[LB_GAS_SUMS_MOST],
      sensitivity[LB_GAS_STATES_MOST * LB_GAS_STATES_MOST];
  enum lb_status status = LB_OK;
  bool frozen = false, close = false;
  for (int i = 0; i < ROUGH_REVOLUTIONS + FINE_REVOLUTIONS && status == LB_OK; i++) {
    const struct lb_ode_problem problem = problem_of(gas, close ? fine : rough);
    memcpy(end, start, gas->chambers * LB_GAS_STATES * sizeof *end);
    /* the frozen mesh may be too coarse for a start that has moved: then it is made again */
    frozen = frozen && lb_ode_repeat(ode, &problem, end, sum, NULL, NULL) == LB_OK;
    if (!frozen)
      status = lb_ode_run(ode, &problem, end, sum, sensitivity, gas->stop, gas->stops, error);
    if (status != LB_OK)
      return status;
    bool repeated = frozen;
    frozen = close;
    report->revolutions = i + 1;
    report->residual = change(gas, start, end);
    if (repeated && report->residual <= settled)
      return LB_OK;
    close = close || report->residual <= near || i + 1 >= ROUGH_REVOLUTIONS;
    improve(gas, start, end, sensitivity);
  }
  return lb_error_set(
      error, LB_NUMERIC,
      "no revolution repeats itself: after %d of them the state still changes by %.1e "
      "of itself",
      report->revolutions, report->residual);
}

/* Where a chamber's events stand in a revolution that is looked at. */
static void set_events(struct notes *notes, const struct lb_gas *gas, const double *cutoff) {
  for (size_t i = 0; i < gas->chambers; i++) {
    enum lb_end end = gas->chamber[i].end;
    struct window inlet = window_of(gas, end, LB_INLET_VALVE, cutoff[end]);
    struct window exhaust = window_of(gas, end, LB_EXHAUST_VALVE, cutoff[end]);
    notes->opens[i] = within_turn(inlet.from, 0);
    notes->closes[i] = within_turn(exhaust.from + exhaust.width, 0);
    notes->cutoff[i] = within_turn(inlet.from + inlet.width, 0);
    notes->release[i] = within_turn(exhaust.from, 0);
    notes->turn[end].coldest_temperature = (double)INFINITY;
  }
}

static void put_parts(struct lb_gas_worth *worth, const double *part) {
  *worth = (struct lb_gas_worth){.supplied = part[LB_GAS_SUPPLIED],
                                 .inlet = part[LB_GAS_INLET],
                                 .mixing = part[LB_GAS_MIXING],
                                 .exhaust_valve = part[LB_GAS_EXHAUST_VALVE],
                                 .heat = part[LB_GAS_HEAT],
                                 .leakage = part[LB_GAS_LEAKAGE],
                                 .exhaust = part[LB_GAS_EXHAUST]};
}

/* One revolution of all worked ends from the start that was found, looking at everything. */
static enum lb_status look_through(struct lb_gas *gas, struct lb_gas_cylinder *cylinder,
                                   bool with_worth, double *start, const double *cutoff,
                                   struct lb_error *error) {
  struct lb_ode *ode = with_worth ? gas->audit[gas->chambers] : gas->ode[gas->chambers];
  struct lb_ode_problem problem = problem_of(gas, fine);
  struct notes notes = {.gas = gas, .turn = cylinder->end};
  double sum[LB_GAS_SUMS_MOST + LB_GAS_PARTS];
  if (with_worth) {
    problem.rates = lb_gas_worth_rates;
    problem.slopes = lb_gas_worth_slopes;
  }
  set_events(&notes, gas, cutoff);
  lb_ode_observe(ode, see, &notes);
  enum lb_status status = lb_ode_run(ode, &problem, start, sum, NULL, gas->stop, gas->stops, error);
  lb_ode_observe(ode, NULL, NULL);
  if (status != LB_OK)
    return status;
  for (size_t i = 0; i < gas->chambers; i++) {
    struct lb_gas_turn *t = &cylinder->end[gas->chamber[i].end];
    t->work = sum[LB_GAS_SUMS * i];
    t->air = sum[LB_GAS_SUMS * i + 1];
    t->exhausted = sum[LB_GAS_SUMS * i + 2];
  }
  cylinder->absolute_force = sum[gas->chambers * LB_GAS_SUMS];
  if (with_worth)
    put_parts(&cylinder->worth, sum + lb_gas_sums(gas));
  return LB_OK;
}

/* What is asked about a cylinder. */
struct question {
  const struct lb_machine *machine;
  const double *cutoff;
  double speed;
};

/* Find the periodic start of some ends, which are one system; the report becomes that of the worst.
 * start  out: start[LB_GAS_STATES * ends], the ends in order */
static enum lb_status find_start(struct lb_gas *gas, double *start, struct lb_gas_report *report,
                                 const struct question *q, const bool *ends,
                                 struct lb_error *error) {
  struct lb_gas_report found = {0};
  enum lb_status status = prepare(gas, q->machine, q->cutoff, q->speed, ends, error);
  if (status != LB_OK)
    return status;
  set_scale(gas);
  guess(gas, start);
  status = settle(gas, start, &found, error);
  if (found.revolutions > report->revolutions)
    report->revolutions = found.revolutions;
  report->residual = fmax(report->residual, found.residual);
  return status;
}

enum lb_status lb_gas_solve(struct lb_gas *gas, struct lb_gas_cylinder *cylinder, bool with_worth,
                            const struct lb_machine *machine, const double *cutoff, double speed,
                            struct lb_error *error) {
  const struct question q = {machine, cutoff, speed};
  double start[LB_GAS_STATES_MOST];
  size_t states = 0;
  enum lb_status status = LB_OK;
  *cylinder = (struct lb_gas_cylinder){0};
  if (machine->leakage > 0)
    status = find_start(gas, start, &cylinder->report, &q, machine->works, error);
  for (int end = 0; end < LB_ENDS && machine->leakage <= 0 && status == LB_OK; end++) {
    const bool alone[LB_ENDS] = {end == LB_CAP_END, end == LB_ROD_END};
    if (!machine->works[end])
      continue;
    status = find_start(gas, start + states, &cylinder->report, &q, alone, error);
    states += LB_GAS_STATES;
  }
  if (status == LB_OK)
    status = prepare(gas, machine, cutoff, speed, machine->works, error);
  if (status != LB_OK)
    return status;
  set_scale(gas);
  return look_through(gas, cylinder, with_worth, start, cutoff, error);
}
