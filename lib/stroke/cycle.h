/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole machine through one slow revolution: the sums over its chambers and cylinders,
 * friction, and the figures a builder compares.
 *
 *   work per revolution = indicated work - friction work
 *   friction work of a cylinder = 2 S F + share * integral |net gas force| |dx|
 *
 * A cycle is prepared once for a machine and then asked for as many cut-offs as one likes; nothing
 * is allocated while it is asked. It serves one thread at a time.
 */
#ifndef LASTBAR_STROKE_CYCLE_H
#define LASTBAR_STROKE_CYCLE_H

#include "machine/machine.h"
#include "stroke/chamber.h"

#ifdef __cplusplus
extern "C" {
#endif

struct lb_cycle;
struct lb_force;
struct lb_workspace;

/* One end of one cylinder in a revolution. */
struct lb_end_turn {
  double cutoff;          /* [rad] after this end's dead centre */
  double stroke_fraction; /* [1] of its own stroke travelled at cut-off */
  struct lb_turn turn;
};

/* A revolution of the whole machine (all cylinders). */
struct lb_revolution {
  struct lb_end_turn end[LB_ENDS]; /* only worked ends are filled in */
  double indicated_work;           /* [J] */
  double friction_work;            /* [J] >= 0 */
  double work;                     /* [J] after friction */
  double air;                      /* [kg] drawn from the supply */
  double mean_torque;              /* [N m] */
  double mean_effective_pressure; /* [Pa] indicated work over the swept volume of the worked ends */
  double work_per_kg;             /* [J/kg] 0 when no air is drawn (air <= 0) */
  double isothermal_efficiency;   /* [1] work over what the air drawn could do at most at constant
                                     temperature, 0 where that is not positive */
  double isentropic_efficiency;   /* [1] likewise without heat; exceeds 1 where heat helps */
};

/* Work and air of a revolution with their derivatives by each end's cut-off. */
struct lb_cycle_slope {
  double work, air;               /* [J], [kg] */
  double work_per_angle[LB_ENDS]; /* [J/rad] */
  double air_per_angle[LB_ENDS];  /* [kg/rad] */
};

/* An empty cycle with its workspace, to be released with lb_cycle_free; NULL when memory runs
 * out. */
struct lb_cycle *lb_cycle_new(void);

/* Takes NULL too. */
void lb_cycle_free(struct lb_cycle *cycle);

/* Make a cycle ready for a machine, which is copied. May be called again with another machine.
 * Fails (LB_BAD_INPUT) when a chamber cannot exist (see lb_chamber_prepare); the text names the
 * end. The machine should have passed lb_machine_check. */
enum lb_status lb_cycle_prepare(struct lb_cycle *cycle, const struct lb_machine *machine,
                                struct lb_error *error);

/* The machine it was prepared for. */
const struct lb_machine *lb_cycle_machine(const struct lb_cycle *cycle);

/* A worked end's chamber as prepared. */
const struct lb_chamber *lb_cycle_chamber(const struct lb_cycle *cycle, enum lb_end end);

/* The forces of one cylinder as prepared. */
const struct lb_force *lb_cycle_force(const struct lb_cycle *cycle);

/* The solvers of this cycle, for a caller who searches with it. */
struct lb_workspace *lb_cycle_workspace(const struct lb_cycle *cycle);

/* One revolution.
 * revolution  out
 * cutoff      cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * Fails (LB_NO_ANSWER) as lb_chamber_turn does, naming the end, and (LB_NUMERIC) as
 * lb_force_integrate. */
enum lb_status lb_cycle_turn(struct lb_revolution *revolution, const struct lb_cycle *cycle,
                             const double *cutoff, struct lb_error *error);

/* Work and air with their derivatives; every worked end's cut-off on the stroke away from it
 * (lb_timing_window). An idle end has derivatives 0. Fails (LB_NUMERIC) as lb_force_integrate. */
enum lb_status lb_cycle_slopes(struct lb_cycle_slope *slope, const struct lb_cycle *cycle,
                               const double *cutoff, struct lb_error *error);

/* Fill in what follows from the indicated work, friction and air of a revolution: work, mean torque
 * and effective pressure, work per kilogram, efficiencies. */
void lb_cycle_compare(struct lb_revolution *revolution, const struct lb_machine *machine);

/* The ceiling for comparison [J]: full admission without any loss, (p_s - p_e) times the swept
 * volume. */
double lb_cycle_ceiling(const struct lb_machine *machine);

#ifdef __cplusplus
}
#endif

#endif
