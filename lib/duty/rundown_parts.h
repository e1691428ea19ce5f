/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the parts of a run-down share: the machine as an engine at any supply (rundown_engine), the
 * best cut-off at a supply (rundown_follow), the store's air as a quadrature for searches
 * (rundown_process), the searches (rundown_best, rundown_steps), the run itself (rundown_march),
 * and the verdict (rundown_verdict). Internal.
 *
 * Everywhere a cut-off is the angle at which the valve is shut, cutoff[LB_ENDS] [rad] after each
 * end's own dead centre; that of an idle end is 0.
 */
#ifndef LASTBAR_DUTY_RUNDOWN_PARTS_H
#define LASTBAR_DUTY_RUNDOWN_PARTS_H

#include "base/numeric.h"
#include "duty/rundown.h"
#include "duty/tank.h"
#include "stroke/audit.h"
#include "stroke/running.h"

/* ---------- the engine ---------- */

struct lb_engine_map; /* its cycles at speed, tabulated for searches */

/* What a search saw of a slow revolution last: it asks for work and air one after the other. */
struct lb_engine_seen {
  double pressure, cutoff[LB_ENDS]; /* pressure 0: nothing yet */
  double work, air;
};

/* A machine that takes any supply. */
struct lb_engine {
  struct lb_machine machine; /* at the supply of the moment */
  double speed;              /* [rad/s] 0: slow */
  double look_temperature; /* [K] of the supply in searches: that of the machine as it was opened */
  struct lb_cycle *cycle;
  struct lb_gas *gas;                 /* NULL: slow */
  struct lb_engine_map *map;          /* NULL: slow, or not yet made */
  double low[LB_ENDS], high[LB_ENDS]; /* [rad] the cut-offs a search may choose from */
  struct lb_engine_seen seen;
  enum lb_status status; /* of the first revolution of a search that failed */
  struct lb_error error;
};

/* Where the worth of a revolution's air goes [J]; the parts of struct lb_run_books. */
struct lb_powered_worth {
  double friction, inlet, filling, pushed_back, release, heat, leakage, exhaust;
};

/* A powered revolution. */
struct lb_powered {
  double work, air;              /* [J] after friction, [kg] */
  double coldest;                /* [K] in a cylinder */
  struct lb_powered_worth worth; /* where asked for */
};

/* Make an engine of a machine. To be released with lb_engine_close, even after a failure.
 * Fails with LB_NO_MEMORY. */
enum lb_status lb_engine_open(struct lb_engine *engine, const struct lb_machine *machine,
                              double speed, struct lb_error *error);
void lb_engine_close(struct lb_engine *engine);

/* A revolution on a supply [Pa absolute], [K].
 * Fails as lb_cycle_prepare and lb_cycle_turn, at speed as lb_gas_solve. */
enum lb_status lb_engine_turn(struct lb_powered *powered, struct lb_engine *engine, double pressure,
                              double temperature, const double *cutoff, bool with_worth,
                              struct lb_error *error);

/* Work [J] and air [kg] of a revolution for a search, at the machine's own supply temperature: slow
 * the revolution itself, at speed from the map. What fails is remembered in the engine and gives
 * NaN. */
void lb_engine_look(double *work, double *air, struct lb_engine *engine, double pressure,
                    const double *cutoff);

/* Make the map of an engine at speed for supply pressures [Pa absolute] in a range, in place of
 * what there was; a coarse one errs more and takes a third of the time. Slow nothing is done. Fails
 * as lb_gas_solve, and with LB_NO_MEMORY. */
enum lb_status lb_engine_map_make(struct lb_engine *engine, double lowest, double highest,
                                  bool coarse, struct lb_error *error);
void lb_engine_map_free(struct lb_engine_map *map);

/* The cut-offs with the most work at a supply pressure [Pa absolute]: slow the latest; at speed
 * earlier ones, by the map, since air let in late has no time to leave. */
void lb_engine_most(double *cutoff, const struct lb_engine *engine, double pressure);

/* By how much the map's work may err [J]; 0 without one. */
double lb_engine_map_error(const struct lb_engine *engine);
void lb_engine_map_most(double *cutoff, const struct lb_engine *engine, double pressure);
void lb_engine_map_look(double *work, double *air, const struct lb_engine *engine, double pressure,
                        const double *cutoff);

/* Greatest force on a crank pin [N] in a powered revolution, the last that was turned. */
double lb_engine_pin_force(const struct lb_engine *engine, const double *cutoff);

/* ---------- the task ---------- */

/* What all plans have in common. */
struct lb_task {
  struct lb_engine engine;
  struct lb_workspace *workspace;
  const struct lb_machine *machine; /* as asked */
  const struct lb_real_air *air;
  struct lb_tank tank;
  struct lb_demand demand;
  double wanted_work; /* [J] of a revolution that carries the load in a search: what the load takes,
                         and by how much the map may err */
  bool coasts;        /* all revolutions count, else the powered ones */
  double fixed[LB_ENDS];      /* the fixed timing */
  double least_supply;        /* [Pa absolute] below it nothing runs: back pressure, a pilot */
  struct lb_error broken_off; /* why the first run that could not be finished was not; else empty */
  double highest_supply;      /* [Pa absolute] above it no plan is run: rated, else infinite */
};

/* Get ready. To be released with lb_task_close, even after a failure.
 * task     out
 * machine  borrowed, with its store
 * air      borrowed
 * fixed    fixed[LB_ENDS] the fixed timing, or NULL: it is set later
 * coarse   as lb_engine_map_make
 * Fails as lb_load_demand, lb_tank_prepare, lb_engine_map_make, and with LB_NO_MEMORY. */
enum lb_status lb_task_open(struct lb_task *task, const struct lb_machine *machine,
                            const struct lb_real_air *air, double speed, const double *fixed,
                            bool coarse, struct lb_error *error);
void lb_task_close(struct lb_task *task);

/* The set pressure of the plan that is regulated as given [Pa absolute]: the regulator's, else the
 * machine's supply. */
double lb_task_set_pressure(const struct lb_task *task);

/* The range that a powered revolution brings [1]: 1 without coasting. */
double lb_task_gain(const struct lb_task *task, double work);

/* Range for each kilogram of air [1/kg] at a supply, the measure of all choices, at the machine's
 * own supply temperature; 0 when the load is not carried. */
double lb_task_yield(struct lb_task *task, double pressure, const double *cutoff);

/* ---------- the best cut-off at a supply ---------- */

/* Find the cut-offs with the greatest yield of all that carry the load.
 * cutoff  in: a guess, or 0; out
 * Returns false when none carries it; then the cut-offs are those of the most work. */
bool lb_follow_choose(struct lb_task *task, double pressure, double *cutoff);

/* The least supply pressure [Pa absolute] at which fixed cut-offs carry the load, up to `highest`;
 * infinite when none does. cutoff NULL: those with the most work at each pressure. */
double lb_follow_least(struct lb_task *task, const double *cutoff, double highest);

/* ---------- what a plan does ---------- */

/* How a plan uses the air. */
struct lb_policy {
  double set_pressure; /* [Pa absolute] of the regulator; 0: none */
  bool follows;        /* the best cut-off at each pressure, else fixed ones */
  struct lb_position position[LB_STEPS_MOST]; /* position[positions], by falling pressure; a fixed
                                                 timing is one */
  int positions;
};

/* The supply that a plan gives the engine from a state of the store, with the droop that goes with
 * the air taken.
 * Fails as lb_tank_outlet and, where droop and air do not settle, as lb_numeric_root. */
enum lb_status lb_policy_supply(struct lb_outlet *outlet, struct lb_task *task,
                                const struct lb_policy *policy, const struct lb_tank_state *state,
                                const double *cutoff, struct lb_error *error);

/* ---------- the range as a quadrature, for searches ---------- */

/* The store on its way down, without regard to the time it takes: isothermal, but adiabatic where
 * its walls are. What cannot be calculated makes a range NaN. */

/* The state of the store at a pressure [Pa absolute] of that way. */
enum lb_status lb_process_at(struct lb_tank_state *state, const struct lb_task *task,
                             double pressure, struct lb_error *error);

/* Range [1] that fixed cut-offs bring between two pressures of the store [Pa absolute], from > to,
 * within which they carry the load. */
double lb_process_fixed(struct lb_task *task, double set_pressure, const double *cutoff,
                        double from, double to);

/* The same on the store itself over a small stretch, by one point. */
double lb_process_cell(struct lb_task *task, const double *cutoff, double from, double to);

/* Range [1] of following from the start to where the load stops the machine. */
double lb_process_following(struct lb_task *task);

/* Range [1] of a fixed timing behind a regulator, or on the store itself (set_pressure 0). */
double lb_process_timing(struct lb_task *task, double set_pressure, const double *cutoff);

/* The pressure of the store [Pa absolute] at which fixed cut-offs no longer carry the load behind a
 * regulator, or the store's lowest pressure; infinite when they never do. cutoff as
 * lb_follow_least. */
double lb_process_end(struct lb_task *task, double set_pressure, const double *cutoff);

/* ---------- searches ---------- */

/* Set pressure and cut-offs with the greatest range behind the regulator.
 * policy  out
 * range   out: [1] by lb_process_timing
 * Returns false when none carries the load. */
bool lb_best_regulated(struct lb_policy *policy, double *range, struct lb_task *task);

/* The stepped plans for all numbers of positions.
 * policy  out: policy[LB_STEPS_MOST + 1], of which those from LB_STEPS_LEAST on are set
 * Returns false when none carries the load. */
bool lb_best_steps(struct lb_policy *policy, struct lb_task *task);

/* ---------- the run ---------- */

/* Run a plan.
 * run     out: all but plan, steps and why
 * Fails as lb_tank_at, lb_tank_outlet, lb_engine_turn, and with LB_NUMERIC and LB_NO_MEMORY. */
enum lb_status lb_march_run(struct lb_run *run, struct lb_task *task,
                            const struct lb_policy *policy, struct lb_error *error);

/* ---------- the verdict ---------- */

/* The share of the time that the plans take as a rule [1], for the progress told. */
#define LB_PLANS_SHARE 0.5

/* Compare the runs, and look for what turns the ranking round where asked to.
 * rundown  in, out: all but the verdict is there
 * Fails with LB_NO_MEMORY, and as lb_task_open. */
enum lb_status lb_verdict_find(struct lb_rundown *rundown, const struct lb_task *task,
                               const struct lb_rundown_question *question, struct lb_error *error);

#endif
