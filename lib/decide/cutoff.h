/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the inlet should close at a supply pressure, and the supply pressure that suits a given
 * cut-off.
 *
 * Atmospheric rule: each end is shut off so early that its air has expanded to back pressure (plus
 * a margin) when the exhaust opens, p_s (V_c/V_r)^n = p_e + margin. Economy: the cut-offs that give
 * the whole machine the most work after friction per kilogram of air. Dead volume that is not
 * recompressed, and friction, move the economical cut-off later than the atmospheric one.
 */
#ifndef LASTBAR_DECIDE_CUTOFF_H
#define LASTBAR_DECIDE_CUTOFF_H

#include "stroke/cycle.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How a cut-off is chosen. */
enum lb_rule {
  LB_AS_TIMED,           /* as the machine says; the atmospheric rule where it says nothing */
  LB_ATMOSPHERIC,        /* each end its own */
  LB_ECONOMY,            /* each end its own */
  LB_COMMON_ECONOMY,     /* the same angle at both ends, the most economical one */
  LB_COMMON_ATMOSPHERIC, /* the same angle at both ends: the later of the two, so that no end
                            releases below back pressure */
  LB_RULES
};

/* The name of a rule, as on a command line: "as-timed", "atmospheric", "economy" ... */
const char *lb_cutoff_rule_name(enum lb_rule rule);

enum {
  LB_SENTENCE = 640 /* room for one sentence */
};

/* The answer of one rule. */
struct lb_choice {
  bool found;                      /* every worked end has its cut-off */
  char why[LB_SENTENCE];           /* not found: what stands in the way; else empty */
  char would_do[LB_SENTENCE];      /* not found: what would make an answer, if known; else empty */
  bool end_found[LB_ENDS];         /* this end has one; false for an idle end */
  double cutoff[LB_ENDS];          /* [rad] after the end's own dead centre, where end_found */
  bool earliest[LB_ENDS];          /* it is the earliest the inlet can close */
  double stationarity;             /* economy: what is left of the condition for a maximum [1/rad]:
                                      greatest of |dW - (W/m) dm| / W over the ends not at a limit */
  struct lb_revolution revolution; /* where found */
};

/* What a builder asks of a machine at one supply pressure. */
struct lb_cutoff_answer {
  struct lb_choice choice[LB_RULES];
  /* the atmospheric cut-offs under both bounding laws, without margin [rad] */
  bool isothermal_found[LB_ENDS], adiabatic_found[LB_ENDS];
  double isothermal[LB_ENDS], adiabatic[LB_ENDS];
  /* the supply at which the machine's own timing would release at back pressure [Pa absolute]; 0
   * for an idle end, or when the file leaves the cut-off to the rule */
  double supply_pressure[LB_ENDS];
  double ceiling; /* [J] full admission without loss, see lb_cycle_ceiling */
};

/* The atmospheric rule, each end apart, by a bracketed root of the release pressure.
 * choice  out; not found when the supply does not exceed back pressure and margin, or when even the
 *         earliest cut-off lets in too much: the texts name the end, the greatest supply pressure
 *         and the largest dead volume that would do
 * margin  [Pa] >= 0: release this much above back pressure
 * Fails (LB_NUMERIC) when a solver does. */
enum lb_status lb_cutoff_atmospheric(struct lb_choice *choice, const struct lb_cycle *cycle,
                                     double margin, struct lb_error *error);

/* The most work after friction per kilogram of air, each end's cut-off free within its window. The
 * start solves W/m by iteration without lead and friction share, a minimiser takes those in, and
 * Newton steps on the derivative leave a stationarity of at most 1e-11, or as far as rounding lets
 * them.
 * choice  out; not found when the machine gives no work at any cut-off, or draws no air: the text
 *         names the least supply pressure that would do, which takes a cycle of its own to find.
 * Fails (LB_NUMERIC) when a solver does, and with LB_NO_MEMORY. */
enum lb_status lb_cutoff_economy(struct lb_choice *choice, const struct lb_cycle *cycle,
                                 struct lb_error *error);

/* One angle for both ends, by LB_COMMON_ECONOMY or LB_COMMON_ATMOSPHERIC. With one end worked it is
 * that end's own angle. */
enum lb_status lb_cutoff_common(struct lb_choice *choice, const struct lb_cycle *cycle,
                                enum lb_rule rule, double margin, struct lb_error *error);

/* The machine's own timing; an end without a cut-off takes that of the atmospheric rule. */
enum lb_status lb_cutoff_as_timed(struct lb_choice *choice, const struct lb_cycle *cycle,
                                  double margin, struct lb_error *error);

/* The supply pressure [Pa absolute] at which an end, shut off at an angle [rad], releases at back
 * pressure: p_e (V_r/V_c)^n. */
double lb_cutoff_supply_pressure(const struct lb_cycle *cycle, enum lb_end end, double cutoff);

/* All of it. Fails (LB_NUMERIC) when a solver does. */
enum lb_status lb_cutoff_find(struct lb_cutoff_answer *answer, const struct lb_cycle *cycle,
                              double margin, struct lb_error *error);

/* A machine and its answer with an assumption in place of dead volumes that are not known. */
struct lb_assumed {
  struct lb_machine machine;
  struct lb_cutoff_answer answer;
};

/* The answers for every assumption.
 * assumed  out: assumed[LB_DEAD_VOLUMES]
 * machine  one of which lb_machine_assumes holds
 * Fails with LB_NO_MEMORY, and as lb_cycle_prepare and lb_cutoff_find. */
enum lb_status lb_cutoff_assume(struct lb_assumed *assumed, const struct lb_machine *machine,
                                double margin, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
