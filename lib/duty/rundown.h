/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Running a store down: the same store and load by every plan of using its air, and which of them
 * goes furthest.
 *
 * A plan says at every pressure of the store what comes to the inlet valve and where the inlet
 * shuts. Revolutions are many, so that they are integrated: dN = -dm/(air of a revolution), with
 * the cycle at the store's state of the moment. A run ends when the mean torque falls below the
 * load's, or at the store's lowest pressure.
 *
 * The measure by which plans are compared and cut-offs chosen is the range: with coasting all
 * revolutions, N_p (W_p + W_f)/(W_L + W_f), without it the powered ones.
 *
 * No plan puts more on the cylinder than its rated pressure; where none is given, than 10 bar gauge
 * or the machine's own supply, whichever is more.
 */
#ifndef LASTBAR_DUTY_RUNDOWN_H
#define LASTBAR_DUTY_RUNDOWN_H

#include "decide/cutoff.h"
#include "duty/load.h"
#include "machine/check.h"
#include "stroke/torque.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How the air is used. */
enum lb_plan {
  LB_PLAN_UNREGULATED,    /* the store's own pressure, one fixed timing */
  LB_PLAN_REGULATED,      /* the regulator as set, the same timing */
  LB_PLAN_REGULATED_BEST, /* set pressure and cut-offs chosen for the range */
  LB_PLAN_STEPPED,        /* the store's own pressure, a few fixed cut-offs chosen for the range */
  LB_PLAN_FOLLOWING,      /* the store's own pressure, the best cut-off at each */
  LB_PLANS
};

/* Its word in data: "unregulated", "regulated", "regulated_best", "stepped", "following". */
const char *lb_rundown_plan_name(enum lb_plan plan);

enum {
  LB_STEPS_LEAST = 2, /* positions of the stepped plans */
  LB_STEPS_MOST = 6,
  LB_RUNS = 4 + LB_STEPS_MOST - LB_STEPS_LEAST + 1, /* runs of an answer */
  LB_RUN_POINTS = 256                               /* of a run's course, at most */
};

/* A moment of a run. What jumps (a change of position) stands twice. */
struct lb_run_point {
  double tank_pressure, tank_temperature;     /* [Pa absolute], [K] */
  double supply_pressure, supply_temperature; /* [Pa absolute], [K] at the inlet valve */
  double cutoff[LB_ENDS];                     /* [rad] after each worked end's own dead centre */
  double mean_torque;                         /* [N m] of the powered revolution */
  double air;                                 /* [kg] of a powered revolution */
  double powered_revolutions, revolutions;    /* [1] so far; all of them with coasting */
  double distance; /* [m] so far, coasting included; 0 without a vehicle */
  double duration; /* [s] so far; 0 without a speed */
};

/* A fixed cut-off of a stepped plan, and the supply pressures it serves. */
struct lb_position {
  double cutoff[LB_ENDS]; /* [rad] after each worked end's own dead centre */
  double from, to;        /* [Pa absolute] from > to */
};

/* Where the worth of the air in the store goes [J]:
 *   start - end = crank + ... + store_leak. */
struct lb_run_books {
  double start, end; /* of the air in the store */
  double crank;      /* work after friction */
  double friction;
  double inlet;       /* throttled at the inlet; 0 slow */
  double filling;     /* filling the dead volume: incoming air mixes with what is there */
  double pushed_back; /* air that goes back into the supply changed; 0 at speed */
  double release;     /* blow-down and outflow */
  double heat;        /* leaves with heat through the cylinder's walls, of either sign */
  double leakage;     /* past the piston, the rod, the seats */
  double exhaust;     /* leaves with the exhaust, by its cold */
  double regulator;   /* throttled */
  double pipe;        /* the air changes its temperature between regulator and valve */
  double ideal;       /* air counts as ideal behind the regulator */
  double store_walls; /* heat of the store's walls, of either sign */
  double store_leak;
  double closure; /* (sum of the parts - (start - end))/start [1] */
};

/* Why a run ended. */
enum lb_run_end {
  LB_RUN_LOAD,   /* the mean torque came down to the load's */
  LB_RUN_LOWEST, /* at the store's lowest pressure */
  LB_RUN_PILOT   /* at the least pressure of a pilot */
};

/* A plan and what came of it. */
struct lb_run {
  enum lb_plan plan;
  int steps;              /* positions of a stepped plan, else 0 */
  bool ran;               /* false: not run */
  char why[LB_SENTENCE];  /* not run: why, and what would do; else empty */
  double set_pressure;    /* [Pa absolute] of the regulator; 0 without */
  double cutoff[LB_ENDS]; /* [rad] of a fixed timing; of others that at the start of the run */
  struct lb_position position[LB_STEPS_MOST]; /* position[positions], by falling pressure */
  int positions;                              /* of a stepped plan; those that are of use */
  enum lb_run_end ended;
  double powered_revolutions;
  double revolutions;                /* the range: with coasting all, without it the powered ones */
  double powered_distance, distance; /* [m] likewise; 0 without a vehicle */
  double duration;                   /* [s] of all revolutions; 0 without a speed */
  double work;                       /* [J] of the crank after friction, powered */
  double useful_work;                /* [J] taken by the load over the range */
  double air_used, air_left, air_leaked; /* [kg] used: by the machine */
  double end_pressure, end_temperature;  /* [Pa absolute], [K] in the store */
  double warmed_pressure; /* [Pa absolute] there once it has the temperature of the surroundings */
  double peak_pin_force;  /* [N] on the crank pin, greatest in the run */
  double coldest_gas, coldest_tank, coldest_supply; /* [K] in a cylinder, in the store, behind the
                                                       regulator */
  struct lb_run_books books;
  struct lb_run_point point[LB_RUN_POINTS]; /* point[points], from the start to the end */
  size_t points;
};

/* What may turn the ranking round. */
enum lb_knob {
  LB_KNOB_DEAD_VOLUME,    /* of all ends, as a factor */
  LB_KNOB_LOAD,           /* its torque, as a factor */
  LB_KNOB_START_PRESSURE, /* of the store, [Pa absolute] */
  LB_KNOBS
};

/* The value nearest to the machine's own at which the other kind of supply goes as far. */
struct lb_flip {
  bool found;
  double value;    /* a factor, or [Pa absolute] */
  double from, to; /* the range that was searched, in the same unit */
};

/* Which plan goes furthest. */
struct lb_verdict {
  size_t winner; /* run[winner]: of all */
  bool compared; /* both kinds of supply ran: throttled by a regulator, and not */
  size_t rival;  /* run[rival]: the furthest of the other kind */
  double margin; /* [1] range of the winner over that of the rival, less 1 */
  double step_share[LB_STEPS_MOST + 1]; /* [1] by positions: of what following gains over the fixed
                                           unregulated timing, the share that so many positions
                                           bring; NaN where it does not apply */
  struct lb_flip flip[LB_KNOBS];
};

struct lb_rundown {
  double speed; /* [rad/s] 0: slow */
  struct lb_demand demand;
  double start_mass;          /* [kg] of air in the store */
  double start_worth;         /* [J] */
  struct lb_run run[LB_RUNS]; /* run[runs]: unregulated, regulated, regulated best, stepped by
                                 rising steps, following */
  size_t runs;
  struct lb_verdict verdict;
  bool starts;                        /* `standing` applies: the fixed timing has been looked at */
  struct lb_starting_supply standing; /* least supply that starts the load with the fixed timing */
  bool running_found;
  double running; /* [Pa absolute] least supply at which the fixed timing carries the load, of those
                     that the store may give: up to its start or the rated pressure */
};

/* What is asked. */
struct lb_rundown_question {
  enum lb_rule
      rule;      /* the fixed timing: as the machine says, or by a rule at its supply pressure */
  double margin; /* [Pa] >= 0 above back pressure, by the atmospheric rule */
  double speed;  /* [rad/s] 0: slow */
  bool flips;    /* whether to look for what turns the ranking round */
  void (*progress)(double share, void *context); /* told how much is done [1], from the calling
                                                    thread; or NULL */
  void *context;
};

/* An empty answer, to be released with lb_rundown_free; NULL when memory runs out. */
struct lb_rundown *lb_rundown_new(void);

/* Takes NULL too. */
void lb_rundown_free(struct lb_rundown *rundown);

/* Run it down by every plan.
 * rundown  out: unchanged on failure
 * machine  one that has passed lb_machine_check
 * Fails (LB_BAD_INPUT) without a store or load, without a speed where something needs time (a leak,
 * a droop, a time constant, a torque that comes with speed), and as lb_gas_solve at speed;
 * (LB_NO_ANSWER) when the load drives the machine (no range), when no plan turns it, with the
 * pressure that would, or when the store leaves the range in which the properties of air are known;
 * and with LB_NO_MEMORY and LB_NUMERIC. */
enum lb_status lb_rundown_find(struct lb_rundown *rundown, const struct lb_machine *machine,
                               const struct lb_rundown_question *question, struct lb_error *error);

enum {
  LB_RUNDOWN_WARNINGS = 12 /* at most */
};

/* What to be warned of in an answer: codes "ice" (moist air in a cold cylinder), "regulator_ice",
 * "near_liquid" (in a cylinder), "unrated_cylinder" (plans put more than the supply on it),
 * "cold_store", "wet_store" (the air in the store was moist when it was pressed in) and
 * "drag_left_out".
 *
 * warning  out: warning[LB_RUNDOWN_WARNINGS]
 * Returns their number. */
size_t lb_rundown_warnings(struct lb_warning *warning, const struct lb_machine *machine,
                           const struct lb_rundown *rundown);

#ifdef __cplusplus
}
#endif

#endif
