/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every point is calculated by itself, from cold, so that none depends on which thread had which
 * point before it.
 */
#include "decide/curves.h"

#include "base/constants.h"
#include "base/numeric.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double greatest_speed = 3000 * LB_RPM; /* where a range ends that nobody stated */
static const double tenth_lost = 0.9;               /* [1] share of the slow work left */

/* A curve's machine: its supply pressure set. */
static struct lb_machine machine_at(const struct lb_machine *machine, double pressure) {
  struct lb_machine m = *machine;
  m.supply_pressure = pressure;
  return m;
}

/* ---------- the timing ---------- */

/* The slow choice of a rule, and the slow adiabatic revolution with it. */
static enum lb_status choose(struct lb_curve *curve, const struct lb_machine *machine,
                             struct lb_cycle *cycle, const struct lb_curves_question *q,
                             struct lb_error *error) {
  struct lb_machine m = machine_at(machine, curve->supply_pressure);
  struct lb_choice choice;
  enum lb_status status = lb_cycle_prepare(cycle, &m, error);
  if (status == LB_OK)
    status = q->rule == LB_ECONOMY       ? lb_cutoff_economy(&choice, cycle, error)
             : q->rule == LB_ATMOSPHERIC ? lb_cutoff_atmospheric(&choice, cycle, q->margin, error)
                                         : lb_cutoff_as_timed(&choice, cycle, q->margin, error);
  if (status != LB_OK)
    return status;
  curve->found = choice.found;
  memcpy(curve->why, choice.why, sizeof curve->why);
  memcpy(curve->cutoff, choice.cutoff, sizeof curve->cutoff);
  if (!choice.found)
    return LB_OK;
  m.expansion_exponent = m.compression_exponent = LB_GAMMA;
  status = lb_cycle_prepare(cycle, &m, error);
  if (status == LB_OK)
    status = lb_cycle_turn(&curve->slow, cycle, curve->cutoff, error);
  return status;
}

static enum lb_status choose_all(struct lb_curves *curves, const struct lb_machine *machine,
                                 const struct lb_curves_question *q, struct lb_error *error) {
  struct lb_cycle *cycle = lb_cycle_new();
  bool any = false;
  enum lb_status status = LB_OK;
  if (!cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for a slow cycle");
  curves->curves = q->pressures > 0 ? q->pressures : 1;
  for (size_t i = 0; i < curves->curves && status == LB_OK; i++) {
    struct lb_curve *curve = &curves->curve[i];
    curve->supply_pressure = q->pressures > 0 ? q->pressure[i] : machine->supply_pressure;
    status = choose(curve, machine, cycle, q, error);
    any = any || curve->found;
  }
  lb_cycle_free(cycle);
  if (status == LB_OK && !any)
    status = lb_error_set(error, LB_NO_ANSWER, "%s", curves->curve[0].why);
  return status;
}

/* ---------- the range ---------- */

/* Mean torque [N m] of the highest supply pressure at a speed; NaN when there is none. */
static enum lb_status torque_at(double *torque, struct lb_gas *gas, const struct lb_curves *curves,
                                const struct lb_machine *machine, double speed,
                                struct lb_error *error) {
  const struct lb_curve *highest = NULL;
  struct lb_running running;
  for (size_t i = 0; i < curves->curves; i++)
    if (curves->curve[i].found &&
        (!highest || curves->curve[i].supply_pressure > highest->supply_pressure))
      highest = &curves->curve[i];
  struct lb_machine m = machine_at(machine, highest->supply_pressure);
  enum lb_status status = lb_running_turn(&running, gas, &m, highest->cutoff, speed, false, error);
  *torque = status == LB_OK ? running.revolution.mean_torque : (double)NAN;
  return status;
}

/* The next round speed: 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6 or 8 times a power of ten in rpm. */
static double round_up(double speed) {
  static const double mantissa[] = {1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10};
  double rpm = speed / LB_RPM, power = pow(10, floor(log10(rpm)));
  size_t i = 0;
  while (i + 1 < sizeof mantissa / sizeof mantissa[0] && mantissa[i] * power < rpm)
    i++;
  return fmin(mantissa[i] * power * LB_RPM, greatest_speed);
}

/* Where the range ends: beyond the speed without load. */
static enum lb_status find_end(double *to, const struct lb_curves *curves,
                               const struct lb_machine *machine, struct lb_error *error) {
  const double first = 10 * LB_RPM, grow = 1.25;
  struct lb_gas *gas = lb_gas_new();
  enum lb_status status = LB_OK;
  double torque, speed = first / grow;
  if (!gas)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cycle at speed");
  do {
    speed *= grow;
    status = torque_at(&torque, gas, curves, machine, speed, error);
  } while (status == LB_OK && torque > 0 && speed < greatest_speed);
  lb_gas_free(gas);
  *to = round_up(fmin(speed, greatest_speed));
  return status;
}

static enum lb_status set_speeds(struct lb_curves *curves, const struct lb_machine *machine,
                                 const struct lb_curves_question *q, struct lb_error *error) {
  double to = q->to;
  enum lb_status status = to > 0 ? LB_OK : find_end(&to, curves, machine, error);
  if (status != LB_OK)
    return status;
  if (!(q->to > 0) && q->from >= to)
    to = 2 * q->from; /* what lies beyond the speed without load was asked for */
  double from = q->from > 0 ? q->from : to / (double)q->speeds;
  if (!(from < to))
    return lb_error_set(error, LB_BAD_INPUT,
                        "the speeds from %.6g rpm to %.6g rpm are no range; the first must be the "
                        "lower one",
                        from / LB_RPM, to / LB_RPM);
  curves->speeds = q->speeds;
  curves->speed = calloc(q->speeds, sizeof *curves->speed);
  if (!curves->speed)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for %zu speeds", q->speeds);
  for (size_t k = 0; k < q->speeds; k++)
    curves->speed[k] = from + (to - from) * (double)k / (double)(q->speeds - 1);
  return LB_OK;
}

/* ---------- the points ---------- */

/* One point; where it fails its speed stays 0. */
static enum lb_status calculate(struct lb_curves *curves, const struct lb_machine *machine,
                                struct lb_gas *gas, size_t index, struct lb_error *error) {
  struct lb_curve *curve = &curves->curve[index / curves->speeds];
  size_t k = index % curves->speeds;
  struct lb_machine m = machine_at(machine, curve->supply_pressure);
  if (!curve->found)
    return LB_OK;
  return lb_running_turn(&curve->point[k], gas, &m, curve->cutoff, curves->speed[k], false, error);
}

/* Say what went wrong at the first point that failed. */
static enum lb_status report(struct lb_curves *curves, const struct lb_machine *machine,
                             size_t index, struct lb_error *error) {
  struct lb_error why = {0};
  struct lb_gas *gas = lb_gas_new();
  if (!gas)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cycle at speed");
  enum lb_status status = calculate(curves, machine, gas, index, &why);
  lb_gas_free(gas);
  if (status == LB_OK) /* it was memory that was short */
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cycle at speed");
  if (status != LB_NUMERIC) {
    if (error)
      *error = why;
    return status;
  }
  return lb_error_set(error, LB_NUMERIC, "at %.6g rpm and %.4g bar absolute: %s",
                      curves->speed[index % curves->speeds] / LB_RPM,
                      curves->curve[index / curves->speeds].supply_pressure / LB_BAR, why.text);
}

/* The first point without a revolution; as many as there are when none is. */
static size_t first_failed(const struct lb_curves *curves) {
  size_t all = curves->curves * curves->speeds;
  for (size_t i = 0; i < all; i++) {
    const struct lb_curve *curve = &curves->curve[i / curves->speeds];
    if (curve->found && !(curve->point[i % curves->speeds].speed > 0))
      return i;
  }
  return all;
}

static enum lb_status calculate_all(struct lb_curves *curves, const struct lb_machine *machine,
                                    struct lb_error *error) {
  long all = (long)(curves->curves * curves->speeds);
#ifdef _OPENMP
#pragma omp parallel
#endif
  {
    struct lb_gas *gas = lb_gas_new();
#ifdef _OPENMP
#pragma omp for schedule(dynamic, 4)
#endif
    for (long i = 0; i < all; i++)
      if (gas)
        calculate(curves, machine, gas, (size_t)i, NULL);
    lb_gas_free(gas);
  }
  size_t failed = first_failed(curves);
  return failed < (size_t)all ? report(curves, machine, failed, error) : LB_OK;
}

/* ---------- the speeds a builder asks for ---------- */

/* What is looked for along a curve. */
struct wanted {
  const struct lb_machine *machine;
  const struct lb_curve *curve;
  struct lb_gas *gas;
  double (*figure)(const struct lb_revolution *revolution, double speed);
  double level; /* a root is where the figure comes down to it */
};

static double torque_of(const struct lb_revolution *r, double speed) {
  (void)speed;
  return r->mean_torque;
}

static double work_of(const struct lb_revolution *r, double speed) {
  (void)speed;
  return r->work;
}

static double power_of(const struct lb_revolution *r, double speed) {
  return r->work * speed / (2 * LB_PI);
}

static double economy_of(const struct lb_revolution *r, double speed) {
  (void)speed;
  return r->work_per_kg;
}

static double above_level(double speed, void *context) {
  struct wanted *w = context;
  struct lb_running running;
  if (lb_running_turn(&running, w->gas, w->machine, w->curve->cutoff, speed, false, NULL) != LB_OK)
    return (double)NAN;
  return w->figure(&running.revolution, speed) - w->level;
}

static double below_level(double speed, void *context) {
  return -above_level(speed, context);
}

static double figure_at(const struct wanted *w, const double *speed, size_t k) {
  return w->figure(&w->curve->point[k].revolution, speed[k]);
}

/* The first speed at which a figure comes down to a level; 0 when it does not. */
static enum lb_status find_level(double *found, struct wanted *w, double level,
                                 const struct lb_curves *curves, struct lb_workspace *workspace,
                                 struct lb_error *error) {
  const double *speed = curves->speed;
  *found = 0;
  w->level = level;
  for (size_t k = 0; k + 1 < curves->speeds; k++)
    if (figure_at(w, speed, k) > level && figure_at(w, speed, k + 1) <= level)
      return lb_numeric_root(workspace, found, above_level, w, speed[k], speed[k + 1],
                             speed[k + 1] * 1e-9, error);
  return LB_OK;
}

/* The speed at which a figure is greatest, and how great it is; 0 when it is not positive, or
 * greatest at an end of the range. */
static enum lb_status find_greatest(double *found, double *greatest, struct wanted *w,
                                    const struct lb_curves *curves, struct lb_workspace *workspace,
                                    struct lb_error *error) {
  const double *speed = curves->speed;
  size_t best = 0;
  for (size_t k = 1; k < curves->speeds; k++)
    if (figure_at(w, speed, k) > figure_at(w, speed, best))
      best = k;
  *found = *greatest = 0;
  if (best == 0 || best + 1 == curves->speeds || !(figure_at(w, speed, best) > 0))
    return LB_OK;
  w->level = 0;
  *found = speed[best];
  enum lb_status status = lb_numeric_lowest(workspace, found, below_level, w, speed[best - 1],
                                            speed[best + 1], speed[best] * 1e-5, error);
  if (status == LB_OK)
    *greatest = above_level(*found, w);
  return status;
}

static enum lb_status find_speeds(struct lb_curve *curve, const struct lb_curves *curves,
                                  const struct lb_machine *machine, struct lb_gas *gas,
                                  struct lb_workspace *workspace, struct lb_error *error) {
  const struct lb_machine m = machine_at(machine, curve->supply_pressure);
  struct wanted torque = {&m, curve, gas, torque_of, 0}, work = {&m, curve, gas, work_of, 0};
  struct wanted power = {&m, curve, gas, power_of, 0}, economy = {&m, curve, gas, economy_of, 0};
  enum lb_status status = find_level(&curve->no_load_speed, &torque, 0, curves, workspace, error);
  if (status == LB_OK && m.load_torque > 0)
    status = find_level(&curve->load_speed, &torque, m.load_torque, curves, workspace, error);
  if (status == LB_OK && curve->slow.work > 0)
    status = find_level(&curve->tenth_lost_speed, &work, tenth_lost * curve->slow.work, curves,
                        workspace, error);
  if (status == LB_OK)
    status = find_greatest(&curve->best_power_speed, &curve->best_power, &power, curves, workspace,
                           error);
  if (status == LB_OK)
    status = find_greatest(&curve->best_economy_speed, &curve->best_economy, &economy, curves,
                           workspace, error);
  return status;
}

/* The speeds of one curve, with a workspace of its own. */
static enum lb_status find_speeds_alone(struct lb_curve *curve, const struct lb_curves *curves,
                                        const struct lb_machine *machine, struct lb_error *error) {
  struct lb_gas *gas = lb_gas_new();
  struct lb_workspace *workspace = lb_workspace_new();
  enum lb_status status = LB_OK;
  if (!gas || !workspace)
    status = lb_error_set(error, LB_NO_MEMORY, "no memory for the cycle at speed");
  else if (curve->found)
    status = find_speeds(curve, curves, machine, gas, workspace, error);
  lb_gas_free(gas);
  lb_workspace_free(workspace);
  return status;
}

static enum lb_status find_all_speeds(struct lb_curves *curves, const struct lb_machine *machine,
                                      struct lb_error *error) {
  enum lb_status status[LB_CURVES_MOST];
  struct lb_error why[LB_CURVES_MOST];
  lb_init(); /* before there are threads */
#ifdef _OPENMP
#pragma omp parallel for schedule(dynamic, 1)
#endif
  for (long i = 0; i < (long)curves->curves; i++)
    status[i] = find_speeds_alone(&curves->curve[i], curves, machine, &why[i]);
  for (size_t i = 0; i < curves->curves; i++)
    if (status[i] != LB_OK) {
      if (error)
        *error = why[i];
      return status[i];
    }
  return LB_OK;
}

static enum lb_status reserve(struct lb_curves *curves, struct lb_error *error) {
  for (size_t i = 0; i < curves->curves; i++) {
    struct lb_curve *curve = &curves->curve[i];
    if (!curve->found)
      continue;
    curve->point = calloc(curves->speeds, sizeof *curve->point);
    if (!curve->point)
      return lb_error_set(error, LB_NO_MEMORY, "no memory for %zu speeds", curves->speeds);
  }
  return LB_OK;
}

enum lb_status lb_curves_find(struct lb_curves *curves, const struct lb_machine *machine,
                              const struct lb_curves_question *question, struct lb_error *error) {
  *curves = (struct lb_curves){0};
  if (question->pressures > LB_CURVES_MOST || question->speeds < 2 ||
      question->speeds > LB_CURVES_SPEEDS_MOST)
    return lb_error_set(
        error, LB_BAD_INPUT,
        "%zu supply pressures and %zu speeds: up to %d pressures and 2 to %d speeds "
        "can be asked for",
        question->pressures, question->speeds, LB_CURVES_MOST, LB_CURVES_SPEEDS_MOST);
  enum lb_status status = choose_all(curves, machine, question, error);
  if (status == LB_OK)
    status = set_speeds(curves, machine, question, error);
  if (status == LB_OK)
    status = reserve(curves, error);
  if (status == LB_OK)
    status = calculate_all(curves, machine, error);
  if (status == LB_OK)
    status = find_all_speeds(curves, machine, error);
  if (status != LB_OK)
    lb_curves_free(curves);
  return status;
}

void lb_curves_free(struct lb_curves *curves) {
  for (size_t i = 0; i < curves->curves; i++)
    free(curves->curve[i].point);
  free(curves->speed);
  *curves = (struct lb_curves){0};
}
