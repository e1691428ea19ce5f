/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How fast a revolution at speed is found, how right, and that nothing is allocated meanwhile:
 * bench_speed MACHINE-FILE
 *
 * The machine (a trolley, see peer_equations.h for the kind) is taken with its own valves and with
 * large ones at several speeds, both chambers from cold. The peer is CVODE (peer_speed.h), both are
 * judged by a reference of order eight (reference_speed.h). Of the tolerances that are tried, the
 * peer has the one that is fastest of those that err no more than lastbar does in the same case;
 * for comparison, of those that err no more than is allowed.
 *
 * Times are processor time, in runs of at least 20 ms, those to be compared alternating; the median
 * of 9 runs counts, after a warm-up. A time over its aim is reported, no more; the exit status is 1
 * for a wrong result or an allocation in a timed loop, 2 when the benchmark cannot run.
 */
#include "allocations.h"
#include "bench_common.h"
#include "peer_speed.h"
#include "reference_speed.h"

#include "base/constants.h"
#include "stroke/gas_exchange.h"

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  TOLERANCES = 14, /* half a power of ten from one to the next */
  RIVALS = 3,      /* ours, and the peer with two tolerances */
  TRIES = 3,       /* of each; the quickest counts */
  REPETITIONS = 9, /* odd: the median is one of them */
  SPEEDS = 100,    /* of a page of curves */
  PRESSURES = 10
};

static const double speeds[] = {10, 60, 300, 1200}; /* [rpm] */
static const double rpm = 2 * LB_PI / 60;           /* [rad/s] */
static const double top_speed = 1200;               /* [rpm] of the curves */
static const double least_time = 20e-3;             /* [s] of a run */

/* Valves wide open pass this [m3/(s Pa)]: those that are taken where the file names none, and the
 * large ones. */
static const struct lb_flow usual_valve = {1.4e-8, 0.3, 0.5};
static const double large_conductance = 6e-8;
static const double conductance_unit = 1e-8; /* [m3/(s Pa)] 1 L/(s bar) */

static const double error_allowed = 1e-6; /* [1] of work, of supply pressure times swept volume */
static const double loosest = 1e-4;       /* [1] of the tolerances that are tried */
static const double least_tolerance = 1e-12, next_tolerance = 1e-11; /* [1] of the reference */
static const double doubt_allowed = 1e-9; /* [1] by which the two of them may differ */
static const double ratio_wanted = 20, ratio_aim = 50;
static const double curves_aim = 1; /* [s] of processor time: half a second on two cores */

/* A tolerance of the peer's that does; 0 where none does. */
struct choice {
  double tolerance, error, time; /* [1], [1], [s] */
};

/* Both chambers at one speed. */
struct stand {
  struct lb_machine machine;
  double cutoff[LB_ENDS], speed; /* [rad], [rad/s] */
  struct lb_gas *gas;
  struct peer_speed *peer; /* NULL without SUNDIALS */
  struct peer_chamber chamber[LB_ENDS];
  struct reference_speed reference[LB_ENDS];
  double error;                                 /* ours [1] */
  struct choice as_right_as_ours, right_enough; /* the peer's */
  double sum;                     /* of all errors in timed loops, so that none is left out */
  unsigned long calls, allocated; /* ours in timed loops, and theirs for memory */
};

/* Sums over all cases. */
struct verdict {
  int cases, faults;
  double log_ratio, log_ratio_enough;
};

/* Takes NaN too. */
static void greatest(double *error, double work, double expected) {
  double e = fabs(work - expected);
  if (!(e <= *error))
    *error = e;
}

/* Both chambers once; the greatest error of work [1], NaN when it fails. */
static double solve_ours(struct stand *s) {
  struct lb_gas_cylinder cylinder;
  double error = 0;
  if (lb_gas_solve(s->gas, &cylinder, false, &s->machine, s->cutoff, s->speed, NULL) != LB_OK)
    return (double)NAN;
  for (int i = 0; i < LB_ENDS; i++)
    greatest(&error, cylinder.end[i].work / s->chamber[i].scale[PEER_WORK], s->reference[i].work);
  return error;
}

static double solve_peers(struct stand *s, double tolerance) {
  double error = 0;
  for (int i = 0; i < LB_ENDS; i++) {
    double work;
    if (!peer_speed_solve(&work, s->peer, &s->chamber[i], tolerance, s->reference[i].revolutions))
      return (double)NAN;
    greatest(&error, work, s->reference[i].work);
  }
  return error;
}

/* One run of a solution [s a call], ours where the tolerance is 0. */
static double run(struct stand *s, double tolerance, unsigned long calls) {
  unsigned long before = allocations_count();
  double start = bench_processor_time(), sum = 0;
  for (unsigned long k = 0; k < calls; k++)
    sum += tolerance > 0 ? solve_peers(s, tolerance) : solve_ours(s);
  double taken = bench_processor_time() - start;
  if (!(tolerance > 0)) {
    s->calls += calls;
    s->allocated += allocations_count() - before;
  }
  s->sum += sum;
  return taken / (double)calls;
}

/* Double the calls until a run is long enough: the warm-up. */
static unsigned long calls_of(struct stand *s, double tolerance) {
  unsigned long calls = 1;
  while (run(s, tolerance, calls) * (double)calls < least_time)
    calls *= 2;
  return calls;
}

/* Medians of ours and of two choices of the peer's, taken in turn [s a call]; 0 for one that is not
 * there. */
static void measure(double *median, struct stand *s) {
  const double tolerance[] = {0, s->as_right_as_ours.tolerance, s->right_enough.tolerance};
  double time[RIVALS][REPETITIONS] = {{0}};
  unsigned long calls[RIVALS];
  bool there[RIVALS];
  for (int i = 0; i < RIVALS; i++)
    if ((there[i] = i == 0 || tolerance[i] > 0))
      calls[i] = calls_of(s, tolerance[i]);
  for (int k = 0; k < REPETITIONS; k++)
    for (int i = 0; i < RIVALS; i++)
      if (there[i])
        time[i][k] = run(s, tolerance[i], calls[i]);
  for (int i = 0; i < RIVALS; i++) {
    bench_sort(time[i], REPETITIONS);
    median[i] = time[i][REPETITIONS / 2];
  }
}

static void consider(struct choice *best, const struct choice *other, double allowed) {
  if (other->error <= allowed && (!(best->tolerance > 0) || other->time < best->time))
    *best = *other;
}

/* Try the peer's tolerances. */
static void scan(struct stand *s) {
  s->as_right_as_ours = s->right_enough = (struct choice){0};
  for (int k = 0; k < TOLERANCES && s->peer; k++) {
    struct choice c = {.tolerance = loosest * pow(10, -k / 2.0), .time = (double)INFINITY};
    for (int i = 0; i < TRIES; i++) {
      double start = bench_processor_time();
      c.error = solve_peers(s, c.tolerance);
      c.time = fmin(c.time, bench_processor_time() - start);
    }
    consider(&s->as_right_as_ours, &c, s->error);
    consider(&s->right_enough, &c, error_allowed);
  }
}

/* "6e-07 3.2e-08 12500  8.1" or dashes */
static void print_choice(const struct choice *c, double ours, double peers) {
  if (c->tolerance > 0)
    printf("  %7.1e %7.1e %6.0f %5.1f", c->tolerance, c->error, 1e6 * peers, peers / ours);
  else
    printf("  %7s %7s %6s %5s", "-", "-", "-", "-");
}

/* Prepare a speed; false when the machine is of another kind. */
static bool set(struct stand *s, double speed) {
  s->speed = speed;
  for (int i = 0; i < LB_ENDS; i++) {
    s->cutoff[i] = s->machine.timing[i].cutoff;
    if (!peer_chamber_set(&s->chamber[i], &s->machine, (enum lb_end)i, speed))
      return false;
  }
  return true;
}

/* The reference, and again less surely; false when they differ. */
static bool refer(struct stand *s) {
  for (int i = 0; i < LB_ENDS; i++) {
    struct reference_speed again;
    if (!reference_speed_find(&s->reference[i], &s->chamber[i], least_tolerance) ||
        !reference_speed_find(&again, &s->chamber[i], next_tolerance) ||
        !(fabs(again.work - s->reference[i].work) <= doubt_allowed))
      return false;
  }
  return true;
}

/* Measure and print a case. */
static void compare(struct verdict *v, struct stand *s, double speed) {
  double median[RIVALS];
  if (!set(s, speed * rpm) || !refer(s)) {
    printf("WRONG: the reference itself is in doubt at %g rpm\n", speed);
    v->faults++;
    return;
  }
  s->error = solve_ours(s);
  scan(s);
  measure(median, s);
  bool right = s->error <= error_allowed && isfinite(s->sum);
  printf("%3g %5g  %7.1e %6.0f",
         s->machine.path[LB_INLET_VALVE].flow.conductance / conductance_unit, speed, s->error,
         1e6 * median[0]);
  print_choice(&s->as_right_as_ours, median[0], median[1]);
  print_choice(&s->right_enough, median[0], median[2]);
  printf("  %s\n", right ? "right" : "WRONG");
  v->cases++;
  v->faults += !right;
  v->log_ratio += log(median[1] / median[0]);
  v->log_ratio_enough += log(median[2] / median[0]);
}

static void print_head(void) {
  printf(
      "Both chambers from cold: processor time [us], median of %d runs. Error of work as a share\n"
      "of supply pressure x swept volume, %.0e allowed. C in L/(s bar).\n",
      REPETITIONS, error_allowed);
  printf("%9s  %14s  %28s  %28s\n", "", "ours", "peer, as right as ours",
         "peer, as right as allowed");
  printf("%3s %5s  %7s %6s", "C", "rpm", "error", "time");
  for (int i = 1; i < RIVALS; i++)
    printf("  %7s %7s %6s %5s", "rtol", "error", "time", "ratio");
  printf("\n");
}

/* All speeds with the valves as they are. */
static void compare_speeds(struct verdict *v, struct stand *s) {
  for (size_t k = 0; k < sizeof speeds / sizeof speeds[0]; k++)
    compare(v, s, speeds[k]);
}

/* The same with both sizes of valves. */
static void compare_all(struct verdict *v, struct stand *s) {
  const struct lb_machine machine = s->machine;
  print_head();
  compare_speeds(v, s);
  for (int i = 0; i < LB_VALVES; i++)
    s->machine.path[i].flow.conductance = large_conductance;
  compare_speeds(v, s);
  s->machine = machine;
}

static void print_ratio(const char *name, double log_sum, int cases) {
  double mean = exp(log_sum / cases);
  if (!(isfinite(mean) && mean > 0))
    printf("Geometric mean of the ratios, %s: -  the peer is not as right in every case\n", name);
  else
    printf("Geometric mean of the ratios, %s: %.1f  (at least %g: %s, aim %g: %s)\n", name, mean,
           ratio_wanted, mean >= ratio_wanted ? "met" : "missed", ratio_aim,
           mean >= ratio_aim ? "met" : "missed");
}

/* Every solution of a page of curves; how many fail. */
static int curves(struct stand *s, const struct lb_machine *machine) {
  int failed = 0;
  for (int i = 1; i <= PRESSURES; i++) {
    double share = (double)i / PRESSURES, back = machine->back_pressure;
    s->machine.supply_pressure = back + share * (machine->supply_pressure - back);
    for (int k = 1; k <= SPEEDS; k++) {
      struct lb_gas_cylinder cylinder;
      failed += lb_gas_solve(s->gas, &cylinder, false, &s->machine, s->cutoff,
                             rpm * top_speed * k / SPEEDS, NULL) != LB_OK;
    }
  }
  s->machine.supply_pressure = machine->supply_pressure;
  return failed;
}

/* Time the curves: a warm-up and once more. */
static void time_curves(struct verdict *v, struct stand *s) {
  const struct lb_machine machine = s->machine;
  int failed = curves(s, &machine);
  unsigned long before = allocations_count();
  double start = bench_processor_time();
  failed += curves(s, &machine);
  double taken = bench_processor_time() - start;
  s->allocated += allocations_count() - before;
  s->calls += SPEEDS * PRESSURES;
  printf("Curves of %d speeds to %g rpm at %d pressures: %.2f s of processor time (aim %g: %s)\n",
         SPEEDS, top_speed, PRESSURES, taken, curves_aim, taken <= curves_aim ? "met" : "missed");
  if (failed > 0)
    printf("  WRONG: %d solutions failed\n", failed);
  v->faults += failed > 0;
}

/* The whole benchmark; how many faults there were. */
static int judge(struct stand *s) {
  struct verdict v = {0};
  if (!s->peer)
    printf("Built without SUNDIALS (Debian: libsundials-dev), so without the peer\n");
  compare_all(&v, s);
  if (s->peer) {
    print_ratio("peer as right as ours", v.log_ratio, v.cases);
    print_ratio("peer as right as allowed", v.log_ratio_enough, v.cases);
  }
  time_curves(&v, s);
  printf("Allocations in %lu timed calls: %lu  %s\n", s->calls, s->allocated,
         s->allocated == 0 ? "right" : "WRONG");
  return v.faults + (s->allocated > 0);
}

int main(int arguments, char **argument) {
  static struct stand stand;
  int faults = -1;
  if (arguments != 2) {
    fprintf(stderr, "usage: bench_speed MACHINE-FILE\n");
    return 2;
  }
  gsl_set_error_handler_off();
  if (!bench_read_machine(&stand.machine, argument[1]))
    return 2;
  for (int i = 0; i < LB_VALVES; i++)
    if (!(stand.machine.path[i].flow.conductance > 0))
      stand.machine.path[i].flow = usual_valve;
  stand.gas = lb_gas_new();
  stand.peer = peer_speed_new();
  if (!stand.gas || (peer_speed_there() && !stand.peer))
    fprintf(stderr, "bench: out of memory\n");
  else if (!set(&stand, rpm * top_speed))
    fprintf(stderr, "bench: there is no peer for such a machine; see peer_equations.h\n");
  else if (bench_sees_allocations())
    faults = judge(&stand);
  lb_gas_free(stand.gas);
  peer_speed_free(stand.peer);
  return faults < 0 ? 2 : faults > 0;
}
