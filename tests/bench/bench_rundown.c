/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How fast a store is run down, and how right:  bench_rundown MACHINE-FILE
 *
 * The machine (a trolley) runs from its own store, or where the file has none from a bottle behind
 * the regulator of its supply, and from one ten times as large; slow and at a speed; on the store's
 * pressure, behind the regulator, and with a cut-off that follows. A plan is timed against a peer
 * that steps every revolution (peer_rundown.h); the peer keeps no books of worth, we do. The table
 * of cycles at speed, from which both take the cut-offs that follow, is made beforehand and timed
 * by itself. Last comes the whole answer, with all searches and what turns the ranking round.
 *
 * Times are processor time, ours and the peer's alternating: the median of a few runs of at least
 * 20 ms each after a warm-up, or a single one where it takes long. Ratios and aims are reported, no
 * more; the exit status is 1 when both sides differ by more than one revolution or either fails, 2
 * when the benchmark cannot run.
 */
#include "bench_common.h"
#include "peer_rundown.h"

#include "base/constants.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  REPETITIONS = 5, /* odd: the median is one of them */
  SIZES = 2        /* of the store */
};
static const double size[SIZES] = {1, 10}; /* [1] of the store, by volume */

static const double rpm = 2 * LB_PI / 60;   /* [rad/s] */
static const double litre = 1e-3;           /* [m3] */
static const double bench_speed = 120;      /* [rpm] */
static const double least_time = 20e-3;     /* [s] of a run */
static const double long_time = 0.5;        /* [s] a run that is not repeated */
static const double allowed = 1;            /* revolutions by which both sides may differ */
static const double aim_slow = 2, aim = 20; /* [s] of the whole answer */

/* The bottle and the load of a trolley whose file names none. */
static const double usual_volume = 0.024, usual_pressure = 9 * LB_BAR; /* [m3], [Pa gauge] */
static const double usual_difference = 0.2 * LB_BAR, usual_torque = 3; /* [Pa], [N m] */

/* The plans compared. */
enum plan {
  UNREGULATED,
  REGULATED,
  FOLLOWING,
  PLANS
};
static const char *const plan_name[PLANS] = {"unregulated", "regulated", "following"};

/* Everything for one store and speed. */
struct stand {
  struct lb_machine machine;
  double speed; /* [rad/s] 0: slow */
  struct lb_real_air *air;
  struct lb_cycle *cycle; /* the peer's, as the next */
  struct lb_gas *gas;     /* NULL: slow */
  struct lb_run *run;
  struct lb_task task;
  struct lb_policy policy;
  struct lb_error error;
  enum lb_status status; /* of the first call that failed */
};

/* One call of a side; the powered revolutions it finds. */
typedef double (*side)(struct stand *stand);

static void note(struct stand *s, enum lb_status status) {
  if (s->status == LB_OK)
    s->status = status;
}

static double integrate(struct stand *s) {
  memset(s->run, 0, sizeof *s->run);
  note(s, lb_march_run(s->run, &s->task, &s->policy, &s->error));
  return s->run->powered_revolutions;
}

static double step_through(struct stand *s) {
  struct peer_run run;
  note(s, peer_rundown_step(&run, &s->task, &s->policy, s->cycle, s->gas, &s->error));
  return (double)run.powered;
}

/* One side being timed. */
struct timing {
  side call;
  unsigned long calls;      /* in a run */
  double revolutions;       /* of the last call */
  double time[REPETITIONS]; /* [s] a call, sorted at the end */
};

/* One run [s]. */
static double run(struct timing *t, struct stand *stand) {
  double start = bench_processor_time();
  for (unsigned long k = 0; k < t->calls; k++)
    t->revolutions = t->call(stand);
  return bench_processor_time() - start;
}

/* Double the calls until a run is long enough: the warm-up. Returns the time of the last [s]. */
static double warm_up(struct timing *t, struct stand *stand) {
  double taken;
  for (t->calls = 1; (taken = run(t, stand)) < least_time && stand->status == LB_OK;)
    t->calls *= 2;
  return taken;
}

static double median(const struct timing *t) {
  return t->time[REPETITIONS / 2];
}

/* Time both in turn; one whose warm-up took long has had its run. */
static void measure(struct timing *ours, struct timing *peer, struct stand *stand) {
  struct timing *both[] = {ours, peer};
  double once[2];
  for (int i = 0; i < 2; i++)
    once[i] = warm_up(both[i], stand);
  for (int k = 0; k < REPETITIONS; k++)
    for (int i = 0; i < 2; i++)
      both[i]->time[k] =
          (once[i] > long_time ? once[i] : run(both[i], stand)) / (double)both[i]->calls;
  for (int i = 0; i < 2; i++)
    bench_sort(both[i]->time, REPETITIONS);
}

/* How the machine uses the air in a plan, with its own timing where that is fixed. */
static struct lb_policy policy_of(enum plan plan, const struct lb_machine *m) {
  struct lb_policy p = {.follows = plan == FOLLOWING, .positions = plan == FOLLOWING ? 0 : 1};
  if (plan == REGULATED)
    p.set_pressure = m->regulator.set_pressure;
  for (int end = 0; end < LB_ENDS; end++)
    if (m->works[end] && plan != FOLLOWING)
      p.position[0].cutoff[end] = m->timing[end].cutoff;
  return p;
}

/* Measure and print a plan; whether it is at fault. */
static int compare(struct stand *s, enum plan plan) {
  struct timing ours = {.call = integrate}, peer = {.call = step_through};
  s->policy = policy_of(plan, &s->machine);
  s->status = LB_OK;
  measure(&ours, &peer, s);
  double difference = ours.revolutions - peer.revolutions;
  bool right = s->status == LB_OK && ours.revolutions > 0 && fabs(difference) <= allowed;
  printf("%5g %6g  %-11s %9.2f %9.0f %9.0f %9.3g %9.3g %6.2f %6.2f  %s\n", s->speed / rpm,
         s->machine.store.volume / litre, plan_name[plan], ours.revolutions,
         ours.revolutions / median(&ours), peer.revolutions / median(&peer), 1e3 * median(&ours),
         1e3 * median(&peer), median(&peer) / median(&ours), difference, right ? "right" : "WRONG");
  if (s->status != LB_OK)
    printf("  a run failed: %s\n", s->error.text);
  return !right;
}

/* All plans on one store; how many faults, or -1 when it cannot be made ready. */
static int compare_plans(struct stand *s, double *opening) {
  int faults = 0;
  double start = bench_processor_time(), fixed[LB_ENDS];
  for (int end = 0; end < LB_ENDS; end++)
    fixed[end] = s->machine.works[end] ? s->machine.timing[end].cutoff : 0;
  enum lb_status status =
      lb_task_open(&s->task, &s->machine, s->air, s->speed, fixed, false, &s->error);
  *opening = bench_processor_time() - start;
  if (status != LB_OK)
    fprintf(stderr, "bench: %s\n", s->error.text);
  for (int plan = 0; plan < PLANS && status == LB_OK; plan++)
    faults += compare(s, (enum plan)plan);
  lb_task_close(&s->task);
  return status == LB_OK ? faults : -1;
}

static void print_head(void) {
  printf("A store run down, processor time, median of %d runs; peer: every revolution stepped.\n"
         "Difference in powered revolutions, %g allowed\n",
         REPETITIONS, allowed);
  printf("%5s %6s  %-11s %9s %9s %9s %9s %9s %6s %6s\n", "rpm", "litres", "plan", "turns",
         "turns/s", "peer's", "ours, ms", "peer, ms", "ratio", "differ");
}

/* All stores at one speed; how many faults, or -1. */
static int compare_stores(struct stand *s, const struct lb_machine *machine, double speed) {
  int faults = 0;
  double opening = 0;
  s->speed = speed;
  s->gas = speed > 0 ? lb_gas_new() : NULL;
  if (speed > 0 && !s->gas)
    return -1;
  for (int i = 0; i < SIZES && faults >= 0; i++) {
    s->machine = *machine;
    s->machine.store.volume *= size[i];
    int more = compare_plans(s, &opening);
    faults = more < 0 ? -1 : faults + more;
  }
  lb_gas_free(s->gas);
  s->gas = NULL;
  if (speed > 0)
    printf("The table of cycles at %g rpm: %.2f s\n", speed / rpm, opening);
  return faults;
}

/* Time the whole answer and print it; whether it is at fault. */
static int time_answer(const struct lb_machine *machine, double speed, double wanted) {
  struct lb_rundown *rundown = lb_rundown_new();
  struct lb_rundown_question question = {.rule = LB_AS_TIMED, .speed = speed, .flips = true};
  struct lb_error error = {0};
  double start = bench_processor_time();
  enum lb_status status =
      rundown ? lb_rundown_find(rundown, machine, &question, &error) : LB_NO_MEMORY;
  double taken = bench_processor_time() - start;
  printf("All plans with best searches and what turns the ranking round, %g rpm: %.2f s (aim %g: "
         "%s)\n",
         speed / rpm, taken, wanted, taken <= wanted ? "met" : "missed");
  if (status != LB_OK)
    printf("  WRONG: it failed: %s\n", error.text);
  lb_rundown_free(rundown);
  return status != LB_OK;
}

/* Give a machine without a store what a trolley has. */
static void furnish(struct lb_machine *m) {
  if (m->store.given)
    return;
  m->store = (struct lb_store){.given = true,
                               .volume = usual_volume,
                               .start_pressure = m->ambient_pressure + usual_pressure,
                               .temperature = m->ambient_temperature};
  m->regulator = (struct lb_regulator){
      .given = true, .set_pressure = m->supply_pressure, .least_difference = usual_difference};
  m->load = (struct lb_load){.gearing = 1, .drive_efficiency = 1};
  m->load_torque = usual_torque;
}

/* The whole benchmark; how many faults, or -1 when it cannot run. */
static int judge(struct stand *s, const struct lb_machine *machine) {
  print_head();
  int slow = compare_stores(s, machine, 0);
  int running = slow < 0 ? -1 : compare_stores(s, machine, bench_speed * rpm);
  if (running < 0)
    return -1;
  return slow + running + time_answer(machine, 0, aim_slow) +
         time_answer(machine, bench_speed * rpm, aim);
}

int main(int arguments, char **argument) {
  static struct stand stand;
  static struct lb_run run_of_stand;
  struct lb_machine machine;
  int faults = -1;
  if (arguments != 2) {
    fprintf(stderr, "usage: bench_rundown MACHINE-FILE\n");
    return 2;
  }
  lb_init();
  if (!bench_read_machine(&machine, argument[1]))
    return 2;
  furnish(&machine);
  stand.run = &run_of_stand;
  stand.air = lb_real_air_new();
  stand.cycle = lb_cycle_new();
  if (!stand.air || !stand.cycle)
    fprintf(stderr, "bench: out of memory\n");
  else if (!peer_rundown_takes(&machine))
    fprintf(stderr, "bench: there is no peer for such a store; see peer_rundown.h\n");
  else
    faults = judge(&stand, &machine);
  lb_cycle_free(stand.cycle);
  lb_real_air_free(stand.air);
  return faults < 0 ? 2 : faults > 0;
}
