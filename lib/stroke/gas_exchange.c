/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The search for the revolution that repeats itself.
 */
#include "stroke/gas_exchange.h"

#include "base/constants.h"
#include "stroke/gas_exchange_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  ROUGH_REVOLUTIONS = 40, /* at most before the mesh is frozen */
  FINE_REVOLUTIONS = 20,  /* at most afterwards */
  CAREFUL_MESHES = 12,    /* at most, where that does not do */
  CAREFUL_STEPS = 8       /* of Newton's method on each of them */
};
static const double fine = 1.5e-7;  /* [1] tolerance of a step; the work errs by less than that */
static const double guessed = 3e-3; /* [1] likewise from a start that is a guess */
static const double rough = 1e-4;   /* [1] likewise while the start is far off */
static const double settled = 1e-9; /* [1] residual that is called periodic */
static const double seat_ratio = 0.5, seat_index = 0.5; /* [1] of leaks */

struct lb_gas *lb_gas_new(void) {
  struct lb_gas *gas = calloc(1, sizeof *gas);
  if (!gas)
    return NULL;
  bool room = (gas->place = calloc(1, sizeof *gas->place)) != NULL;
  for (size_t ends = 1; ends <= LB_ENDS && room; ends++) {
    size_t states = ends * LB_GAS_STATES, sums = ends * LB_GAS_SUMS;
    gas->ode[ends] = lb_ode_new(states, sums);
    gas->audit[ends] = lb_ode_new(states, sums + LB_GAS_PARTS);
    room = gas->ode[ends] && gas->audit[ends];
  }
  if (room)
    return gas;
  lb_gas_free(gas);
  return NULL;
}

void lb_gas_free(struct lb_gas *gas) {
  if (!gas)
    return;
  for (size_t k = 0; k <= LB_ENDS; k++) {
    lb_ode_free(gas->ode[k]);
    lb_ode_free(gas->audit[k]);
  }
  lb_ode_free(gas->joined[0]);
  lb_ode_free(gas->joined[1]);
  for (size_t cylinder = 0; cylinder < LB_CYLINDERS_MOST; cylinder++)
    for (int end = 0; end < LB_ENDS; end++)
      free(gas->trace[cylinder][end].point);
  free(gas->place);
  free(gas);
}

static bool possible(const double *state, const void *context) {
  const struct lb_gas *gas = context;
  for (size_t i = 0; i < lb_gas_states(gas); i++)
    if (!(state[i] > 0))
      return false;
  return true;
}

static struct lb_flow leak_of(double conductance) {
  return (struct lb_flow){conductance, seat_ratio, seat_index};
}

/* What is asked about a cylinder. */
struct question {
  const struct lb_machine *machine;
  const double *cutoff;
  double speed;
};

/* Whether anything is known of the cycle at speed. */
static enum lb_status check(const struct question *q, struct lb_error *error) {
  static const char *const valves[LB_VALVES] = {"inlet", "exhaust"};
  static const char *const ends[LB_ENDS] = {"cap", "rod"};
  for (int valve = 0; valve < LB_VALVES; valve++)
    if (!(q->machine->path[valve].flow.conductance > 0))
      return lb_error_set(error, LB_BAD_INPUT,
                          "[%s valve] has no conductance, so that nothing is known of the cycle at "
                          "speed; write e.g. 'conductance = 1.4 L/(s bar)'",
                          valves[valve]);
  for (int end = 0; end < LB_ENDS; end++)
    if (q->machine->works[end] && !(q->machine->dead_volume[end] > 0))
      return lb_error_set(error, LB_BAD_INPUT,
                          "the %s end has no dead volume, and at speed the pressure in a chamber "
                          "without volume is not defined; write the volume of port and passage",
                          ends[end]);
  if (!(q->speed > 0 && isfinite(q->speed)))
    return lb_error_set(error, LB_BAD_INPUT,
                        "a cycle at speed needs a speed above 0; without one the slow cycle holds");
  return LB_OK;
}

static void add_chamber(struct lb_gas *gas, size_t cylinder, enum lb_end end) {
  const struct lb_machine *machine = gas->machine;
  struct lb_gas_chamber *c = &gas->chamber[gas->chambers++];
  c->end = end;
  c->cylinder = cylinder;
  c->phase = cylinder > 0 ? machine->crank_angle[cylinder] - machine->crank_angle[0] : 0;
  c->area = lb_machine_area(machine, end);
  c->dead_volume = machine->dead_volume[end];
  c->wall = machine->wall_heat_transfer * 2 * c->area;
  c->wall_by_travel = machine->wall_heat_transfer * LB_PI * machine->bore;
}

/* What errors and changes are measured by: supply pressure and a full chamber of air. */
static void set_scale(struct lb_gas *gas) {
  const struct lb_machine *machine = gas->machine;
  double per_volume =
      machine->supply_pressure / (LB_GAS_CONSTANT * machine->supply_temperature); /* [kg/m3] */
  double *sum = gas->scale + lb_gas_states(gas);
  for (size_t i = 0; i < gas->chambers; i++, sum += LB_GAS_SUMS) {
    double swept = gas->chamber[i].area * machine->linkage.stroke;
    double air = per_volume * (swept + gas->chamber[i].dead_volume);
    gas->scale[LB_GAS_STATES * i] = machine->supply_pressure;
    gas->scale[LB_GAS_STATES * i + 1] = air;
    sum[0] = machine->supply_pressure * swept;
    sum[1] = sum[2] = air;
  }
  if (gas->receiver) {
    gas->scale[LB_GAS_STATES * gas->chambers] = machine->supply_pressure;
    gas->scale[LB_GAS_STATES * gas->chambers + 1] = per_volume * machine->receiver_volume;
  }
  for (size_t k = 0; k < LB_GAS_PARTS; k++)
    sum[k] = gas->scale[lb_gas_states(gas)];
}

/* Make ready for some ends of the first cylinders, which are one system. */
static void prepare(struct lb_gas *gas, const struct question *q, size_t cylinders,
                    const bool *ends) {
  gas->machine = q->machine;
  gas->speed = q->speed;
  gas->per_speed = 1 / q->speed;
  gas->place->angle = (double)NAN;
  gas->receiver = q->machine->supply_line.conductance > 0;
  gas->piston_leak = leak_of(q->machine->leakage);
  gas->rod_leak = leak_of(q->machine->rod_seal_leakage);
  for (int valve = 0; valve < LB_VALVES; valve++)
    gas->seat_leak[valve] = leak_of(q->machine->path[valve].seat_leakage);
  gas->chambers = 0;
  for (size_t cylinder = 0; cylinder < cylinders; cylinder++)
    for (int end = 0; end < LB_ENDS; end++)
      if (ends[end])
        add_chamber(gas, cylinder, (enum lb_end)end);
  lb_gas_set_valves(gas, q->cutoff);
  set_scale(gas);
}

/* Room for a system behind a receiver. */
static enum lb_status join(struct lb_gas *gas, struct lb_error *error) {
  if (gas->joined_chambers == gas->chambers)
    return LB_OK;
  size_t n = lb_gas_states(gas), sums = lb_gas_sums(gas);
  struct lb_ode *ode = lb_ode_new(n, sums), *audit = lb_ode_new(n, sums + LB_GAS_PARTS);
  if (!ode || !audit) {
    lb_ode_free(ode);
    lb_ode_free(audit);
    return lb_error_set(error, LB_NO_MEMORY, "no memory for %zu chambers", gas->chambers);
  }
  lb_ode_free(gas->joined[0]);
  lb_ode_free(gas->joined[1]);
  gas->joined[0] = ode;
  gas->joined[1] = audit;
  gas->joined_chambers = gas->chambers;
  return LB_OK;
}

static struct lb_ode *ode_of(const struct lb_gas *gas, bool with_worth) {
  if (gas->receiver)
    return gas->joined[with_worth];
  return with_worth ? gas->audit[gas->chambers] : gas->ode[gas->chambers];
}

/* Where a chamber may be at the start: open to the supply, or as the exhaust leaves it. */
static void guess(const struct lb_gas *gas, double *state) {
  const struct lb_machine *machine = gas->machine;
  for (size_t i = 0; i < gas->chambers; i++, state += LB_GAS_STATES) {
    const struct lb_gas_chamber *c = &gas->chamber[i];
    struct lb_piston motion = lb_gas_piston(gas, c, gas->stop[0]);
    double volume = lb_gas_volume(gas, c, &motion).volume;
    bool filled = c->passages[0].ways > 0 && c->passages[0].way[0].way == LB_GAS_OPEN_INLET;
    state[0] = filled ? machine->supply_pressure : machine->back_pressure;
    state[1] = state[0] * volume / (LB_GAS_CONSTANT * machine->ambient_temperature);
  }
  if (gas->receiver) {
    state[0] = machine->supply_pressure;
    state[1] =
        state[0] * machine->receiver_volume / (LB_GAS_CONSTANT * machine->supply_temperature);
  }
}

/* The greatest change of a state over a revolution, as a share of its scale. */
static double change(const struct lb_gas *gas, const double *before, const double *after) {
  double greatest = 0;
  for (size_t i = 0; i < lb_gas_states(gas); i++) {
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

/* Newton's step towards a start that repeats itself, (1 - sensitivity)^-1 (end - start), with
 * states in their scale. Returns false when there is none. */
static bool newton_step(const struct lb_gas *gas, double *step, const double *start,
                        const double *end, const double *sensitivity) {
  double a[LB_GAS_STATES_MOST * LB_GAS_STATES_MOST];
  size_t n = lb_gas_states(gas);
  for (size_t i = 0; i < n; i++) {
    step[i] = (end[i] - start[i]) / gas->scale[i];
    for (size_t j = 0; j < n; j++)
      a[i * n + j] = (i == j) - sensitivity[i * n + j] * gas->scale[j] / gas->scale[i];
  }
  bool sound = eliminate(a, step, n);
  for (size_t i = 0; i < n; i++) {
    step[i] *= gas->scale[i];
    sound = sound && isfinite(step[i]);
  }
  return sound;
}

/* The next start by a whole step. Where it would leave what can be, the end of the revolution. */
static void improve(const struct lb_gas *gas, double *start, const double *end,
                    const double *sensitivity) {
  double step[LB_GAS_STATES_MOST];
  size_t n = lb_gas_states(gas);
  bool sound = newton_step(gas, step, start, end, sensitivity);
  for (size_t i = 0; i < n; i++)
    sound = sound && start[i] + step[i] > start[i] / 4 &&
            start[i] + step[i] < 4 * fmax(start[i], end[i]);
  for (size_t i = 0; i < n; i++)
    start[i] = sound ? start[i] + step[i] : end[i];
}

/* The next start by as much of a step as changes no state by more than half of it. */
static void improve_warily(const struct lb_gas *gas, double *start, const double *end,
                           const double *sensitivity) {
  const double most = 0.5; /* [1] */
  double step[LB_GAS_STATES_MOST], share = 1;
  size_t n = lb_gas_states(gas);
  if (!newton_step(gas, step, start, end, sensitivity)) {
    memcpy(start, end, n * sizeof *start);
    return;
  }
  for (size_t i = 0; i < n; i++)
    if (fabs(step[i]) > most * start[i])
      share = fmin(share, most * start[i] / fabs(step[i]));
  for (size_t i = 0; i < n; i++)
    start[i] += share * step[i];
}

static struct lb_ode_problem problem_of(const struct lb_gas *gas, double tolerance) {
  return (struct lb_ode_problem){.rates = lb_gas_rates,
                                 .slopes = lb_gas_slopes,
                                 .possible = possible,
                                 .context = gas,
                                 .scale = gas->scale,
                                 .tolerance = tolerance};
}

/* Whether a mesh is to be made again, after a repetition on it: its steps err by too much for the
 * start that has moved, or Newton's method gets no further on it. */
static bool is_worn(const struct lb_ode *ode, double tolerance, double before, double residual) {
  const double excess = 4, progress = 0.25; /* [1] */
  if (residual > settled)
    return residual > progress * before;
  return lb_ode_excess(ode) * tolerance > excess * fine;
}

/* The tolerance of the next mesh. Where a flow turns round, the derivatives that a step is built on
 * jump with the start of that step, and its end by a share of what it errs by: near the solution
 * that can keep Newton's method from coming to rest, and a finer mesh lets it. */
static double finer(double tolerance, double residual) {
  const double near = 1e-5, share = 0.3, least = 1e-9; /* [1] */
  return residual > settled && residual < near ? fmax(share * tolerance, least) : tolerance;
}

/* A revolution from a start, repeated on a mesh or, where that cannot be or is not wanted, with one
 * of its own.
 * frozen  in, out: whether it is a repetition */
static enum lb_status revolve(struct lb_gas *gas, double *end, double *sum, double *sensitivity,
                              double tolerance, bool *frozen, struct lb_error *error) {
  struct lb_ode *ode = ode_of(gas, false);
  const struct lb_ode_problem problem = problem_of(gas, tolerance);
  lb_ode_observe(ode, *frozen ? lb_gas_see : NULL, gas);
  *frozen = *frozen && lb_ode_repeat(ode, &problem, end, sum, NULL, NULL) == LB_OK;
  lb_ode_observe(ode, NULL, NULL);
  if (*frozen)
    return LB_OK;
  struct lb_error why = {0};
  enum lb_status status =
      lb_ode_run(ode, &problem, end, sum, sensitivity, gas->stop, gas->stops, &why);
  if (status == LB_NUMERIC)
    return lb_error_set(error, status,
                        "the flow at this speed changes too fast to be followed (%s rad of the "
                        "crank); look for a figure that is out of all proportion, such as a "
                        "conductance, a leakage or a dead volume",
                        why.text);
  if (status != LB_OK && error)
    *error = why;
  return status;
}

/* A start and the end of its revolution, for comparison with the next on the same mesh. */
struct pair {
  bool known;
  double start[LB_GAS_STATES_MOST], end[LB_GAS_STATES_MOST];
};

/* Correct the sensitivity by what two revolutions on one mesh have shown (Broyden's update, in the
 * scale of the states), then remember the second. */
static void learn(const struct lb_gas *gas, double *sensitivity, struct pair *last, bool repeated,
                  const double *start, const double *end) {
  size_t n = lb_gas_states(gas);
  double moved[LB_GAS_STATES_MOST], square = 0;
  for (size_t j = 0; j < n; j++) {
    moved[j] = (start[j] - last->start[j]) / gas->scale[j];
    square += moved[j] * moved[j];
  }
  for (size_t i = 0; last->known && repeated && square > 0 && i < n; i++) {
    double missing = end[i] - last->end[i];
    for (size_t j = 0; j < n; j++)
      missing -= sensitivity[i * n + j] * moved[j] * gas->scale[j];
    for (size_t j = 0; j < n; j++)
      sensitivity[i * n + j] += missing * moved[j] / (square * gas->scale[j]);
  }
  last->known = true;
  memcpy(last->start, start, n * sizeof *start);
  memcpy(last->end, end, n * sizeof *end);
}

/* Revolutions with a mesh of their own until the start is nearly right, coarse ones first, then on
 * a frozen mesh until it is.
 * start  in: a guess; out: the start of a revolution that repeats itself
 * sum    out: the sums over it
 * Returns LB_NO_ANSWER when it does not come to rest. */
static enum lb_status settle_quickly(struct lb_gas *gas, double *start, double *sum,
                                     struct lb_gas_report *report, struct lb_error *error) {
  const double near = 1e-3; /* [1] change at which the fine mesh is made */
  const struct lb_ode *ode = ode_of(gas, false);
  double end[LB_GAS_STATES_MOST], sensitivity[LB_GAS_STATES_MOST * LB_GAS_STATES_MOST];
  struct pair last = {.known = false};
  double tolerance = fine;
  bool frozen = false, close = false;
  for (int i = 0; i < ROUGH_REVOLUTIONS + FINE_REVOLUTIONS; i++) {
    double before = report->residual;
    memcpy(end, start, lb_gas_states(gas) * sizeof *end);
    enum lb_status status = revolve(gas, end, sum, sensitivity,
                                    close    ? tolerance
                                    : i == 0 ? guessed
                                             : rough,
                                    &frozen, error);
    if (status != LB_OK)
      return status;
    *report = (struct lb_gas_report){i + 1, lb_ode_steps(ode), change(gas, start, end)};
    bool worn = frozen && is_worn(ode, tolerance, before, report->residual);
    if (frozen && !worn && report->residual <= settled)
      return LB_OK;
    learn(gas, sensitivity, &last, frozen, start, end);
    tolerance = worn ? finer(tolerance, report->residual) : tolerance;
    frozen = close && !worn;
    close = close || report->residual <= near || i + 1 >= ROUGH_REVOLUTIONS;
    improve(gas, start, end, sensitivity);
  }
  return LB_NO_ANSWER;
}

/* How the end of the revolution that was calculated last depends on its start, by differences on
 * its mesh. Returns false when a start nearby has no revolution. */
static bool measure(struct lb_gas *gas, double *sensitivity, const double *start, const double *end,
                    double tolerance) {
  const double small = 1e-5; /* [1] of a state; the map is smooth on a frozen mesh */
  const struct lb_ode_problem problem = problem_of(gas, tolerance);
  size_t n = lb_gas_states(gas);
  double moved[LB_GAS_STATES_MOST], sum[LB_GAS_SUMS_MOST];
  for (size_t j = 0; j < n; j++) {
    memcpy(moved, start, n * sizeof *moved);
    moved[j] *= 1 + small;
    if (lb_ode_repeat(ode_of(gas, false), &problem, moved, sum, NULL, NULL) != LB_OK)
      return false;
    for (size_t i = 0; i < n; i++)
      sensitivity[i * n + j] = (moved[i] - end[i]) / (small * start[j]);
  }
  return true;
}

/* Newton's method on one mesh with its own sensitivity, measured again where it has changed.
 * Returns LB_NO_ANSWER where it does not come to rest. */
static enum lb_status settle_on_mesh(struct lb_gas *gas, double *start, double *sum,
                                     double tolerance, struct lb_gas_report *report,
                                     struct lb_error *error) {
  const double progress = 0.1; /* [1] */
  double end[LB_GAS_STATES_MOST], sensitivity[LB_GAS_STATES_MOST * LB_GAS_STATES_MOST];
  size_t bytes = lb_gas_states(gas) * sizeof *end;
  bool frozen = false, known = false;
  for (int i = 0; i < CAREFUL_STEPS; i++) {
    double before = report->residual;
    memcpy(end, start, bytes);
    frozen = i > 0;
    enum lb_status status = revolve(gas, end, sum, NULL, tolerance, &frozen, error);
    if (status != LB_OK)
      return status;
    *report = (struct lb_gas_report){report->revolutions + 1, lb_ode_steps(ode_of(gas, false)),
                                     change(gas, start, end)};
    if (frozen && report->residual <= settled)
      return is_worn(ode_of(gas, false), tolerance, 1, 0) ? LB_NO_ANSWER : LB_OK;
    known = known && frozen && report->residual < progress * before;
    if (!known && !(known = measure(gas, sensitivity, start, end, tolerance))) {
      memcpy(start, end, bytes);
      return LB_NO_ANSWER;
    }
    improve_warily(gas, start, end, sensitivity);
  }
  return LB_NO_ANSWER;
}

/* Find the start of a revolution that repeats itself: quickly, or where that fails with more care,
 * on ever finer meshes.
 * start  in: a guess; out: that
 * sum    out: the sums over it */
static enum lb_status settle(struct lb_gas *gas, double *start, double *sum,
                             struct lb_gas_report *report, struct lb_error *error) {
  const double finer_by = 0.5; /* [1] */
  double tolerance = fine;
  enum lb_status status = settle_quickly(gas, start, sum, report, error);
  for (int i = 0; i < CAREFUL_MESHES && status == LB_NO_ANSWER; i++, tolerance *= finer_by)
    status = settle_on_mesh(gas, start, sum, tolerance, report, error);
  if (status != LB_NO_ANSWER)
    return status;
  return lb_error_set(error, LB_NUMERIC,
                      "no revolution repeats itself: after %d of them the state still changes by "
                      "%.1e of itself",
                      report->revolutions, report->residual);
}

/* Add the parts of the worth, a share of each. */
static void add_parts(struct lb_gas_worth *worth, const double *part, double share) {
  worth->supplied += share * part[LB_GAS_SUPPLIED];
  worth->inlet += share * part[LB_GAS_INLET];
  worth->mixing += share * part[LB_GAS_MIXING];
  worth->exhaust_valve += share * part[LB_GAS_EXHAUST_VALVE];
  worth->heat += share * part[LB_GAS_HEAT];
  worth->leakage += share * part[LB_GAS_LEAKAGE];
  worth->exhaust += share * part[LB_GAS_EXHAUST];
}

/* Follow the worth of the air from the start that was found. */
static enum lb_status follow_worth(struct lb_gas *gas, struct lb_gas_worth *worth, double *start,
                                   double share, struct lb_error *error) {
  double sum[LB_GAS_SUMS_MOST + LB_GAS_PARTS];
  struct lb_ode_problem problem = problem_of(gas, fine);
  problem.rates = lb_gas_worth_rates;
  problem.slopes = lb_gas_worth_slopes;
  enum lb_status status =
      lb_ode_run(ode_of(gas, true), &problem, start, sum, NULL, gas->stop, gas->stops, error);
  if (status == LB_OK)
    add_parts(worth, sum + lb_gas_sums(gas), share);
  return status;
}

/* Put the work and air of a system into the cylinder, the mean of its cylinders, and what the first
 * one's traces tell. */
static void add_turns(struct lb_gas_cylinder *cylinder, const struct lb_gas *gas, const double *sum,
                      const double *cutoff, double share) {
  for (size_t i = 0; i < gas->chambers; i++, sum += LB_GAS_SUMS) {
    const struct lb_gas_chamber *c = &gas->chamber[i];
    struct lb_gas_turn *turn = &cylinder->end[c->end];
    turn->work += share * sum[0];
    turn->air += share * sum[1];
    turn->exhausted += share * sum[2];
    if (c->cylinder == 0)
      lb_gas_read_trace(turn, gas, c, cutoff);
  }
}

static void add_report(struct lb_gas_report *report, const struct lb_gas_report *found) {
  if (found->revolutions > report->revolutions)
    report->revolutions = found->revolutions;
  report->steps += found->steps;
  report->residual = fmax(report->residual, found->residual);
}

/* Solve some ends of the first cylinders as one system. */
static enum lb_status solve_system(struct lb_gas *gas, struct lb_gas_cylinder *cylinder,
                                   bool with_worth, const struct question *q, size_t cylinders,
                                   const bool *ends, struct lb_error *error) {
  double start[LB_GAS_STATES_MOST], sum[LB_GAS_SUMS_MOST], share = 1 / (double)cylinders;
  struct lb_gas_report found = {0};
  prepare(gas, q, cylinders, ends);
  enum lb_status status = gas->receiver ? join(gas, error) : LB_OK;
  if (status != LB_OK)
    return status;
  guess(gas, start);
  status = settle(gas, start, sum, &found, error);
  if (status == LB_OK && gas->trace_failed)
    status = lb_error_set(error, LB_NO_MEMORY, "no memory for the trace of a revolution");
  if (status == LB_OK && with_worth)
    status = follow_worth(gas, &cylinder->worth, start, share, error);
  if (status != LB_OK)
    return status;
  add_report(&cylinder->report, &found);
  add_turns(cylinder, gas, sum, q->cutoff, share);
  return LB_OK;
}

enum lb_status lb_gas_solve(struct lb_gas *gas, struct lb_gas_cylinder *cylinder, bool with_worth,
                            const struct lb_machine *machine, const double *cutoff, double speed,
                            struct lb_error *error) {
  const struct question q = {machine, cutoff, speed};
  bool receiver = machine->supply_line.conductance > 0;
  size_t cylinders = receiver ? (size_t)machine->cylinders : 1;
  *cylinder = (struct lb_gas_cylinder){0};
  gas->trace_failed = false;
  enum lb_status status = check(&q, error);
  if (status == LB_OK && (receiver || machine->leakage > 0))
    status = solve_system(gas, cylinder, with_worth, &q, cylinders, machine->works, error);
  else
    for (int end = 0; end < LB_ENDS && status == LB_OK; end++) {
      const bool alone[LB_ENDS] = {end == LB_CAP_END, end == LB_ROD_END};
      if (machine->works[end])
        status = solve_system(gas, cylinder, with_worth, &q, 1, alone, error);
    }
  cylinder->mean_supply = receiver ? gas->store_sum / (2 * LB_PI) : machine->supply_pressure;
  cylinder->least_supply = receiver ? gas->store_least : machine->supply_pressure;
  for (size_t k = 0; k < cylinders && status == LB_OK; k++)
    cylinder->absolute_force += lb_gas_absolute_force(gas, k) / (double)cylinders;
  return status;
}

const struct lb_gas_point *lb_gas_points(const struct lb_gas *gas, enum lb_end end,
                                         size_t *points) {
  *points = gas->trace[0][end].points;
  return gas->trace[0][end].point;
}
