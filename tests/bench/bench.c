/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How fast the slow cycle and the search for the cut-offs are, how right, and that they allocate
 * nothing:  bench MACHINE-FILE
 *
 * The machine (a trolley, see reference.h for the kind) is taken at several supply pressures in
 * turn, without friction share and with its own. The search is timed against a peer that evaluates
 * the same closed forms (peer.h), both are judged by a reference in long double (reference.h).
 *
 * Times are processor time per call, in runs of at least 20 ms, ours and the peer's alternating;
 * the median of 15 runs counts, after a warm-up. A time over its aim is reported, no more; the exit
 * status is 1 for a wrong result or an allocation in a timed loop, 2 when the benchmark cannot run.
 */
#include "allocations.h"
#include "bench_common.h"
#include "peer.h"
#include "reference.h"

#include "base/constants.h"
#include "decide/cutoff.h"
#include "stroke/cycle.h"

#include <math.h>
#include <stdio.h>

enum {
  MACHINES = 16,   /* supply pressures */
  ANGLES = 64,     /* cut-offs an evaluation goes through */
  REPETITIONS = 15 /* odd: the median is one of them */
};

/* The supply goes from this much below to above the file's own [1]. */
static const double supply_spread = 0.1;
/* Cut-offs of the evaluations [rad]: releases above and below back pressure. */
static const double earliest = 0.7, latest = 1.9;
/* A run takes at least this [s]. */
static const double least_time = 20e-3;

/* Aims [us], without and with a friction share. */
static const double evaluation_aim[] = {0.4, 1.5}, search_aim[] = {10, 30};

/* What errors may be: an angle a hundred times the tolerance of lastbar's solvers, W/m what a chain
 * of roundings leaves; for the peer, whose angles follow from values, ten times the size at which
 * its simplex stops (peer.h). The reference must be surer than all that. */
static const double angle_allowed = 1e-10, worth_allowed = 1e-12; /* [rad], [1] */
static const double peer_angle_allowed = 1e-6;                    /* [rad] */
static const double doubt_allowed = 1e-12;                        /* [rad] */

/* Everything prepared for one friction share. */
struct stand {
  const char *name;
  struct lb_cycle *cycle[MACHINES];
  struct reference reference[MACHINES];
  double angle[ANGLES]; /* [rad] */
  struct peer *peer;
  unsigned long calls, allocated; /* in all timed loops: calls, and theirs for memory */
};

/* The k-th call of a task; the sum of its results, NaN when it fails. */
typedef double (*task)(struct stand *stand, unsigned long k);

/* The ends go through the cut-offs at different paces, so that every call differs from the last. */
static double evaluation(struct stand *stand, unsigned long k) {
  const double cutoff[LB_ENDS] = {stand->angle[k % ANGLES], stand->angle[(7 * k + 3) % ANGLES]};
  struct lb_revolution r;
  if (lb_cycle_turn(&r, stand->cycle[k % MACHINES], cutoff, NULL) != LB_OK)
    return (double)NAN;
  return r.work_per_kg + r.end[LB_CAP_END].turn.exhaust_temperature;
}

/* Both rules by lastbar; false when either fails or finds nothing. */
static bool both_rules(struct lb_choice *atmospheric, struct lb_choice *economy,
                       const struct lb_cycle *cycle) {
  return lb_cutoff_atmospheric(atmospheric, cycle, 0, NULL) == LB_OK && atmospheric->found &&
         lb_cutoff_economy(economy, cycle, NULL) == LB_OK && economy->found;
}

static double search(struct stand *stand, unsigned long k) {
  struct lb_choice atmospheric, economy;
  if (!both_rules(&atmospheric, &economy, stand->cycle[k % MACHINES]))
    return (double)NAN;
  return atmospheric.revolution.work_per_kg + economy.revolution.work_per_kg;
}

static double search_of_peer(struct stand *stand, unsigned long k) {
  struct peer_answer answer;
  if (peer_search(&answer, stand->peer, stand->cycle[k % MACHINES]) != LB_OK)
    return (double)NAN;
  return answer.at_atmospheric.work_per_kg + answer.at_economy.work_per_kg;
}

/* One task being timed. */
struct timing {
  task run;
  unsigned long calls;      /* in a run */
  double sum;               /* of all results, so that none is left out */
  double time[REPETITIONS]; /* [us] a call, sorted at the end */
};

/* One run [s]. */
static double run(struct timing *t, struct stand *stand) {
  unsigned long before = allocations_count();
  double start = bench_processor_time(), sum = 0;
  for (unsigned long k = 0; k < t->calls; k++)
    sum += t->run(stand, k);
  double taken = bench_processor_time() - start;
  stand->allocated += allocations_count() - before;
  stand->calls += t->calls;
  t->sum += sum;
  return taken;
}

/* Double the calls until a run is long enough: the warm-up. */
static void warm_up(struct timing *t, struct stand *stand) {
  t->calls = MACHINES;
  while (run(t, stand) < least_time)
    t->calls *= 2;
}

/* Time one task, and another in turn with it unless that has no `run`. */
static void measure(struct timing *ours, struct timing *peer, struct stand *stand) {
  struct timing *both[] = {ours, peer};
  int count = peer->run ? 2 : 1;
  for (int i = 0; i < count; i++)
    warm_up(both[i], stand);
  for (int k = 0; k < REPETITIONS; k++)
    for (int i = 0; i < count; i++)
      both[i]->time[k] = 1e6 * run(both[i], stand) / (double)both[i]->calls;
  for (int i = 0; i < count; i++)
    bench_sort(both[i]->time, REPETITIONS);
}

static double median(const struct timing *t) {
  return t->time[REPETITIONS / 2];
}

/* "0.25 (0.24 ... 0.31)" */
static const char *spread(char *text, size_t size, const struct timing *t) {
  if (t->run)
    snprintf(text, size, "%.3g (%.3g ... %.3g)", median(t), t->time[0], t->time[REPETITIONS - 1]);
  else
    snprintf(text, size, "-");
  return text;
}

/* Measure and print one line; how many faults there were. `peer` may be NULL. */
static int compare_times(const char *name, task ours, task peer, double aim, struct stand *stand) {
  struct timing a = {.run = ours}, b = {.run = peer};
  char text_a[64], text_b[64], ratio[16] = "-";
  measure(&a, &b, stand);
  if (peer)
    snprintf(ratio, sizeof ratio, "%.1f", median(&b) / median(&a));
  printf("%-11s %-22s %-24s %-24s %5s  %4g  %s\n", name, stand->name,
         spread(text_a, sizeof text_a, &a), spread(text_b, sizeof text_b, &b), ratio, aim,
         median(&a) <= aim ? "met" : "missed");
  if (isfinite(a.sum + b.sum))
    return 0;
  printf("  WRONG: a call failed or gave no number\n");
  return 1;
}

/* Greatest errors over all supply pressures. */
struct errors {
  double atmospheric, economy; /* [rad] */
  double worth;                /* of W/m at the economical cut-offs [1] */
};

static void greatest(double *error, long double found, long double expected) {
  double e = (double)fabsl(found - expected);
  if (!(e <= *error)) /* NaN too */
    *error = e;
}

static void add_errors(struct errors *e, const double *atmospheric, const double *economy,
                       double worth, const struct reference *r) {
  for (int i = 0; i < LB_ENDS; i++) {
    greatest(&e->atmospheric, (long double)atmospheric[i], r->atmospheric[i]);
    greatest(&e->economy, (long double)economy[i], r->economy[i]);
  }
  greatest(&e->worth, (long double)worth / r->work_per_kg, 1);
}

/* Print one line of errors; whether one is over what is allowed. */
static int compare_errors(const char *name, const char *stand, double ours, double peer,
                          double allowed, double peer_allowed) {
  int right = ours <= allowed && peer <= peer_allowed;
  printf("%-17s %-22s %-9.1e %-9.1e %-8.0e %-8.0e  %s\n", name, stand, ours, peer, allowed,
         peer_allowed, right ? "right" : "WRONG");
  return !right;
}

static int check_results(struct stand *stand) {
  struct errors ours = {0}, peer = {0};
  double doubt = 0;
  for (int k = 0; k < MACHINES; k++) {
    struct lb_choice atmospheric, economy;
    struct peer_answer answer;
    const struct reference *r = &stand->reference[k];
    if (!both_rules(&atmospheric, &economy, stand->cycle[k]) ||
        peer_search(&answer, stand->peer, stand->cycle[k]) != LB_OK) {
      printf("WRONG: a search finds nothing, %s\n", stand->name);
      return 1;
    }
    add_errors(&ours, atmospheric.cutoff, economy.cutoff, economy.revolution.work_per_kg, r);
    add_errors(&peer, answer.atmospheric, answer.economy, answer.at_economy.work_per_kg, r);
    greatest(&doubt, r->doubt, 0);
  }
  int faults = compare_errors("atmospheric, rad", stand->name, ours.atmospheric, peer.atmospheric,
                              angle_allowed, angle_allowed);
  faults += compare_errors("economy, rad", stand->name, ours.economy, peer.economy, angle_allowed,
                           peer_angle_allowed);
  faults += compare_errors("work/kg, relative", stand->name, ours.worth, peer.worth, worth_allowed,
                           worth_allowed);
  if (!(doubt <= doubt_allowed)) {
    printf("WRONG: the reference itself is in doubt by %.1e rad\n", doubt);
    faults++;
  }
  return faults;
}

/* Prepare all supply pressures; false, with the reason on standard error, when one cannot be. */
static bool prepare(struct stand *stand, const struct lb_machine *machine) {
  struct lb_error error;
  stand->peer = peer_new();
  for (int i = 0; i < ANGLES; i++)
    stand->angle[i] = earliest + (latest - earliest) * i / (ANGLES - 1);
  for (int k = 0; k < MACHINES; k++) {
    struct lb_machine m = *machine;
    m.supply_pressure *= 1 + supply_spread * (2 * k - MACHINES) / MACHINES;
    stand->cycle[k] = lb_cycle_new();
    if (!stand->cycle[k] || !stand->peer) {
      fprintf(stderr, "bench: out of memory\n");
      return false;
    }
    if (lb_cycle_prepare(stand->cycle[k], &m, &error) != LB_OK) {
      fprintf(stderr, "bench: %s\n", error.text);
      return false;
    }
    if (!reference_find(&stand->reference[k], &m)) {
      fprintf(stderr, "bench: there is no reference for such a machine; see reference.h\n");
      return false;
    }
  }
  return true;
}

static void release(struct stand *stand) {
  for (int k = 0; k < MACHINES; k++)
    lb_cycle_free(stand->cycle[k]);
  peer_free(stand->peer);
}

/* The whole benchmark on two stands; how many faults there were. */
static int compare(struct stand *plain, struct stand *shared) {
  int faults = 0;
  printf("Processor time per call [us]: median (least ... most) of %d runs; aim for ours\n",
         REPETITIONS);
  printf("%-11s %-22s %-24s %-24s %5s  %4s\n", "", "", "ours", "peer", "ratio", "aim");
  faults += compare_times("evaluation", evaluation, NULL, evaluation_aim[0], plain);
  faults += compare_times("evaluation", evaluation, NULL, evaluation_aim[1], shared);
  faults += compare_times("search", search, search_of_peer, search_aim[0], plain);
  faults += compare_times("search", search, search_of_peer, search_aim[1], shared);
  printf("\nGreatest error at %d supply pressures against a reference in long double (a search by\n"
         "values cannot place the economical angle better than the root of the rounding, 1e-8)\n",
         MACHINES);
  printf("%-17s %-22s %-9s %-9s %s\n", "", "", "ours", "peer", "allowed (ours, peer)");
  faults += check_results(plain);
  faults += check_results(shared);
  unsigned long allocated = plain->allocated + shared->allocated;
  printf("\nAllocations in %lu timed calls: %lu  %s\n", plain->calls + shared->calls, allocated,
         allocated == 0 ? "right" : "WRONG");
  faults += allocated != 0;
  return faults;
}

int main(int arguments, char **argument) {
  static struct stand plain = {.name = "no friction share"}, shared;
  struct lb_machine machine;
  char name[32];
  if (arguments != 2) {
    fprintf(stderr, "usage: bench MACHINE-FILE\n");
    return 2;
  }
  if (!bench_read_machine(&machine, argument[1]))
    return 2;
  snprintf(name, sizeof name, "friction share %g %%", 100 * machine.friction_share);
  shared.name = name;
  bool ready = bench_sees_allocations() && prepare(&shared, &machine);
  machine.friction_share = 0;
  ready = ready && prepare(&plain, &machine);
  int faults = ready ? compare(&plain, &shared) : 0;
  release(&shared);
  release(&plain);
  return !ready ? 2 : faults > 0;
}
