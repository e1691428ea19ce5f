/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rules that choose a cut-off. Invariant: a choice that is found has a revolution with air and
 * work, or is the machine's own timing.
 */
#include "decide/cutoff.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/numeric.h"
#include "decide/economy.h"
#include "physics/air.h"
#include "stroke/timing.h"

#include <math.h>

/* Tolerance of an angle [rad]; a hundred thousandth of what a bench can set. */
static const double angle_tolerance = 1e-12;

static const char *const end_name[] = {[LB_CAP_END] = "cap end", [LB_ROD_END] = "rod end"};

const char *lb_cutoff_rule_name(enum lb_rule rule) {
  static const char *const name[] = {
      [LB_AS_TIMED] = "as-timed",
      [LB_ATMOSPHERIC] = "atmospheric",
      [LB_ECONOMY] = "economy",
      [LB_COMMON_ECONOMY] = "common-economy",
      [LB_COMMON_ATMOSPHERIC] = "common-atmospheric",
  };
  size_t i = (size_t)rule;
  return i < sizeof name / sizeof name[0] ? name[i] : "unknown rule";
}

/* Round to a number of decimals, down (-1), to nearest (0) or up (1), so that a limit can be taken
 * as it is printed. */
static double rounded(double value, int decimals, int direction) {
  double unit = pow(10, -decimals);
  double steps = direction < 0   ? floor(value / unit)
                 : direction > 0 ? ceil(value / unit)
                                 : round(value / unit);
  return steps * unit;
}

/* "3.60 bar gauge (52.2 psig)" into text[size], rounded as above. */
static const char *gauge(char *text, size_t size, const struct lb_machine *m, double pressure,
                         int direction) {
  double over = pressure - m->ambient_pressure;
  lb_format(text, size, "%.2f bar gauge (%.1f psig)", rounded(over / LB_BAR, 2, direction),
            rounded(over / LB_PSI, 1, direction));
  return text;
}

/* A volume to three digits, rounded down. */
static double three_digits(double volume) {
  return volume > 0 ? rounded(volume, 2 - (int)floor(log10(volume)), -1) : 0;
}

static void refuse(struct lb_choice *choice, const char *why) {
  choice->found = false;
  lb_format(choice->why, sizeof choice->why, "%s", why);
}

/* Calculate the revolution of a choice whose cut-offs are all there. */
static enum lb_status turn(struct lb_choice *choice, const struct lb_cycle *cycle,
                           struct lb_error *error) {
  struct lb_error reason;
  enum lb_status status = lb_cycle_turn(&choice->revolution, cycle, choice->cutoff, &reason);
  choice->found = status == LB_OK;
  if (status == LB_NO_ANSWER) {
    refuse(choice, reason.text);
    return LB_OK;
  }
  if (status != LB_OK && error)
    *error = reason;
  return status;
}

/* The atmospheric rule of one end as a function of the cut-off. */
struct rule {
  const struct lb_machine *machine;
  enum lb_end end;
  double exponent, release_volume;
  double target; /* wanted release pressure [Pa absolute] */
};

static double release_excess(double cutoff, void *context) {
  const struct rule *r = context;
  double volume = lb_timing_volume(r->machine, r->end, cutoff);
  return lb_air_polytropic_pressure(r->machine->supply_pressure, volume, r->release_volume,
                                    r->exponent) -
         r->target;
}

/* The cut-off of one end under an exponent. Fails with LB_NO_ANSWER, without a text, when the
 * window holds none. */
static enum lb_status release_at(double *cutoff, bool *earliest, const struct lb_cycle *cycle,
                                 enum lb_end end, double exponent, double target,
                                 struct lb_error *error) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  struct rule rule = {m, end, exponent, lb_cycle_chamber(cycle, end)->volumes.release, target};
  double low, high;
  lb_timing_window(&low, &high, m, end);
  double excess = release_excess(low, &rule);
  if (m->supply_pressure <= target || excess > 0)
    return LB_NO_ANSWER;
  *earliest = excess == 0;
  if (*earliest) {
    *cutoff = low;
    return LB_OK;
  }
  return lb_numeric_root(lb_cycle_workspace(cycle), cutoff, release_excess, &rule, low, high,
                         angle_tolerance, error);
}

/* The greatest supply with which an end can still release at the target: p_t (V_r/V_min)^n. */
static double greatest_supply(const struct lb_cycle *cycle, enum lb_end end, double target) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  double low, high;
  lb_timing_window(&low, &high, m, end);
  double ratio = lb_cycle_chamber(cycle, end)->volumes.release / lb_timing_volume(m, end, low);
  return target * pow(ratio, m->expansion_exponent);
}

/* The supply does not exceed what the air is to be released at. */
static void explain_supply(struct lb_choice *choice, const struct lb_machine *m, double target) {
  char supply[64], wanted[64];
  lb_format(choice->why, sizeof choice->why,
            "the supply of %s is not above the release pressure wanted, %s",
            gauge(supply, sizeof supply, m, m->supply_pressure, 0),
            gauge(wanted, sizeof wanted, m, target, 0));
  lb_format(choice->would_do, sizeof choice->would_do, "a supply of more than %s would do",
            gauge(wanted, sizeof wanted, m, target, 1));
}

/* Even the earliest cut-off of an end lets in too much. What would do: the supply above, or the
 * dead volume A (q x_r - x_min)/(1 - q), q = (p_t/p_s)^(1/n). */
static void explain_volume(struct lb_choice *choice, const struct lb_cycle *cycle, enum lb_end end,
                           double target) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  double low, high, n = m->expansion_exponent, dead = m->dead_volume[end];
  char supply[64], earliest[64] = "even if the inlet shuts at dead centre";
  lb_timing_window(&low, &high, m, end);
  double least = lb_timing_volume(m, end, low);
  double release = lb_cycle_chamber(cycle, end)->volumes.release;
  double ratio = pow(target / m->supply_pressure, 1 / n);
  double largest = (ratio * (release - dead) - (least - dead)) / (1 - ratio);
  if (fabs(low) > angle_tolerance)
    lb_format(earliest, sizeof earliest, "even with the inlet closed at %.1f deg, the earliest",
              low * 180 / LB_PI);
  lb_format(choice->why, sizeof choice->why,
            "%s: %s, the air is still at %s when the exhaust opens", end_name[end], earliest,
            gauge(supply, sizeof supply, m, m->supply_pressure * pow(least / release, n), 0));
  gauge(supply, sizeof supply, m, greatest_supply(cycle, end, target), -1);
  if (largest > 0)
    lb_format(choice->would_do, sizeof choice->would_do,
              "a supply of at most %s would do, or a dead volume of at most %.3g cm3 (%.3g cu in)",
              supply, three_digits(largest / LB_CUBIC_CENTIMETRE),
              three_digits(largest / LB_CUBIC_INCH));
  else
    lb_format(choice->would_do, sizeof choice->would_do, "a supply of at most %s would do", supply);
}

/* Why there is no atmospheric cut-off: of ends that have none the one that needs the least supply,
 * as that suits the other, too. */
static void explain(struct lb_choice *choice, const struct lb_cycle *cycle, double target) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  int worst = -1;
  for (int i = 0; i < LB_ENDS; i++)
    if (m->works[i] && !choice->end_found[i] &&
        (worst < 0 || greatest_supply(cycle, (enum lb_end)i, target) <
                          greatest_supply(cycle, (enum lb_end)worst, target)))
      worst = i;
  if (m->supply_pressure <= target)
    explain_supply(choice, m, target);
  else
    explain_volume(choice, cycle, (enum lb_end)worst, target);
}

/* The atmospheric cut-offs without their revolution; found when every worked end has one. */
static enum lb_status atmospheric_angles(struct lb_choice *choice, const struct lb_cycle *cycle,
                                         double margin, struct lb_error *error) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  double target = m->back_pressure + margin;
  *choice = (struct lb_choice){.found = true};
  for (int i = 0; i < LB_ENDS; i++) {
    if (!m->works[i])
      continue;
    enum lb_end end = (enum lb_end)i;
    enum lb_status status = release_at(&choice->cutoff[i], &choice->earliest[i], cycle, end,
                                       m->expansion_exponent, target, error);
    choice->end_found[i] = status == LB_OK;
    if (status != LB_OK && status != LB_NO_ANSWER)
      return status;
    choice->found = choice->found && status == LB_OK;
  }
  if (!choice->found)
    explain(choice, cycle, target);
  return LB_OK;
}

enum lb_status lb_cutoff_atmospheric(struct lb_choice *choice, const struct lb_cycle *cycle,
                                     double margin, struct lb_error *error) {
  enum lb_status status = atmospheric_angles(choice, cycle, margin, error);
  return status == LB_OK && choice->found ? turn(choice, cycle, error) : status;
}

enum lb_status lb_cutoff_as_timed(struct lb_choice *choice, const struct lb_cycle *cycle,
                                  double margin, struct lb_error *error) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  bool complete = true;
  for (int i = 0; i < LB_ENDS; i++)
    complete = complete && (!m->works[i] || m->timing[i].cutoff_given);
  *choice = (struct lb_choice){.found = true};
  if (!complete) {
    enum lb_status status = atmospheric_angles(choice, cycle, margin, error);
    if (status != LB_OK)
      return status;
  }
  bool every = true;
  for (int i = 0; i < LB_ENDS; i++) {
    if (m->works[i] && m->timing[i].cutoff_given) {
      choice->cutoff[i] = m->timing[i].cutoff;
      choice->end_found[i] = true;
      choice->earliest[i] = false;
    }
    every = every && (!m->works[i] || choice->end_found[i]);
  }
  if (!every)
    return LB_OK;
  choice->why[0] = choice->would_do[0] = '\0';
  return turn(choice, cycle, error);
}

/* Work at the latest cut-offs, the most there is, as a function of the supply pressure. */
struct supply {
  struct lb_cycle *cycle;
  struct lb_machine machine;
};

static double greatest_work(double supply_pressure, void *context) {
  struct supply *s = context;
  struct lb_error error;
  struct lb_cycle_slope slope;
  double cutoff[LB_ENDS] = {0}, low;
  s->machine.supply_pressure = supply_pressure;
  if (lb_cycle_prepare(s->cycle, &s->machine, &error) != LB_OK)
    return (double)NAN;
  for (int i = 0; i < LB_ENDS; i++)
    if (s->machine.works[i])
      lb_timing_window(&low, &cutoff[i], &s->machine, (enum lb_end)i);
  if (lb_cycle_slopes(&slope, s->cycle, cutoff, &error) != LB_OK)
    return (double)NAN;
  return slope.work;
}

/* The least supply pressure at which the machine gives work, into would_do; left out when there is
 * none in reach. The root is searched with the solvers of `cycle`, because those of the cycle that
 * is asked are in use while it integrates friction. */
static enum lb_status least_supply(struct lb_choice *choice, const struct lb_cycle *cycle,
                                   struct lb_error *error) {
  const struct lb_machine *machine = lb_cycle_machine(cycle);
  const double reach = 1000;  /* times the present or back pressure */
  const double tolerance = 1; /* [Pa] */
  struct supply s = {lb_cycle_new(), *machine};
  double low = machine->supply_pressure, least;
  double high = reach * fmax(low, machine->back_pressure);
  char text[64];
  if (!s.cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the calculation");
  if (greatest_work(low, &s) < 0 && greatest_work(high, &s) > 0 &&
      lb_numeric_root(lb_cycle_workspace(cycle), &least, greatest_work, &s, low, high, tolerance,
                      NULL) == LB_OK)
    lb_format(choice->would_do, sizeof choice->would_do,
              "a supply of more than %s would turn the machine, or less friction",
              gauge(text, sizeof text, machine, least, 1));
  lb_cycle_free(s.cycle);
  return LB_OK;
}

/* Whether a revolution does more for its air than that holds. With equal exponents that is heat
 * taken from warm supply or surroundings while hardly any air is drawn, and W/m knows no bound. */
static bool lives_on_heat(const struct lb_revolution *r, const struct lb_machine *m) {
  double hottest = fmax(m->supply_temperature, m->ambient_temperature);
  return r->work_per_kg > lb_air_isothermal_ideal(hottest, m->supply_pressure, m->back_pressure);
}

/* Whether the best there is is no answer, and why. */
static bool refuse_best(struct lb_choice *choice, const struct lb_machine *m) {
  const struct lb_revolution *r = &choice->revolution;
  if (!(r->work > 0))
    refuse(choice, "friction and back pressure take all the work the air gives, at any cut-off");
  else if (!(r->air > 0))
    refuse(choice, "the machine draws no air: what it traps goes back into the supply");
  else if (lives_on_heat(r, m))
    refuse(choice, "the machine draws hardly any air and would live on the warmth of its supply or "
                   "surroundings, so that no cut-off is the most economical; less lead, or an "
                   "exhaust that closes later, would do");
  else
    return false;
  choice->end_found[LB_CAP_END] = choice->end_found[LB_ROD_END] = false;
  return true;
}

/* Turn the optimiser's result into a choice. */
static enum lb_status economy(struct lb_choice *choice, const struct lb_cycle *cycle, bool common,
                              struct lb_error *error) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  struct lb_economy best;
  *choice = (struct lb_choice){0};
  enum lb_status status = lb_economy_search(&best, cycle, common, error);
  if (status == LB_NO_ANSWER) {
    refuse(choice, "the ends have no cut-off angle in common");
    return LB_OK;
  }
  if (status != LB_OK)
    return status;
  choice->stationarity = best.stationarity;
  for (int i = 0; i < LB_ENDS; i++) {
    choice->cutoff[i] = best.cutoff[i];
    choice->end_found[i] = m->works[i];
    choice->earliest[i] = m->works[i] && best.earliest[i];
  }
  status = turn(choice, cycle, error);
  if (status == LB_OK && choice->found && refuse_best(choice, m) && !(best.work > 0))
    status = least_supply(choice, cycle, error);
  return status;
}

enum lb_status lb_cutoff_economy(struct lb_choice *choice, const struct lb_cycle *cycle,
                                 struct lb_error *error) {
  return economy(choice, cycle, false, error);
}

/* Move both ends to the later of their two angles, if the window of each holds it. */
static void share_later(struct lb_choice *choice, const struct lb_machine *m) {
  double later = 0;
  for (int i = 0; i < LB_ENDS; i++)
    if (m->works[i])
      later = fmax(later, choice->cutoff[i]);
  for (int i = 0; i < LB_ENDS; i++) {
    double low, high;
    if (!m->works[i])
      continue;
    lb_timing_window(&low, &high, m, (enum lb_end)i);
    choice->cutoff[i] = later;
    choice->earliest[i] = later <= low;
    if (later > high)
      refuse(choice, "the ends have no cut-off angle in common");
  }
}

enum lb_status lb_cutoff_common(struct lb_choice *choice, const struct lb_cycle *cycle,
                                enum lb_rule rule, double margin, struct lb_error *error) {
  if (rule == LB_COMMON_ECONOMY)
    return economy(choice, cycle, true, error);
  enum lb_status status = atmospheric_angles(choice, cycle, margin, error);
  if (status != LB_OK || !choice->found)
    return status;
  share_later(choice, lb_cycle_machine(cycle));
  return choice->found ? turn(choice, cycle, error) : LB_OK;
}

double lb_cutoff_supply_pressure(const struct lb_cycle *cycle, enum lb_end end, double cutoff) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  double volume = lb_timing_volume(m, end, cutoff);
  return m->back_pressure *
         pow(lb_cycle_chamber(cycle, end)->volumes.release / volume, m->expansion_exponent);
}

/* The atmospheric cut-off of an end under one bounding law; false when there is none. */
static bool bound(double *cutoff, const struct lb_cycle *cycle, enum lb_end end, double exponent) {
  bool earliest;
  return release_at(cutoff, &earliest, cycle, end, exponent, lb_cycle_machine(cycle)->back_pressure,
                    NULL) == LB_OK;
}

enum lb_status lb_cutoff_find(struct lb_cutoff_answer *answer, const struct lb_cycle *cycle,
                              double margin, struct lb_error *error) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  struct lb_cutoff_answer a = {.ceiling = lb_cycle_ceiling(m)};
  enum lb_status status;
  if ((status = lb_cutoff_as_timed(&a.choice[LB_AS_TIMED], cycle, margin, error)) ||
      (status = lb_cutoff_atmospheric(&a.choice[LB_ATMOSPHERIC], cycle, margin, error)) ||
      (status = lb_cutoff_economy(&a.choice[LB_ECONOMY], cycle, error)) ||
      (status = lb_cutoff_common(&a.choice[LB_COMMON_ECONOMY], cycle, LB_COMMON_ECONOMY, margin,
                                 error)) ||
      (status = lb_cutoff_common(&a.choice[LB_COMMON_ATMOSPHERIC], cycle, LB_COMMON_ATMOSPHERIC,
                                 margin, error)))
    return status;
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    if (!m->works[i])
      continue;
    a.isothermal_found[i] = bound(&a.isothermal[i], cycle, end, 1);
    a.adiabatic_found[i] = bound(&a.adiabatic[i], cycle, end, LB_GAMMA);
    if (m->timing[i].cutoff_given)
      a.supply_pressure[i] = lb_cutoff_supply_pressure(cycle, end, m->timing[i].cutoff);
  }
  *answer = a;
  return LB_OK;
}

enum lb_status lb_cutoff_assume(struct lb_assumed *assumed, const struct lb_machine *machine,
                                double margin, struct lb_error *error) {
  enum lb_status status = LB_OK;
  struct lb_cycle *cycle = lb_cycle_new();
  if (!cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the calculation");
  for (int i = 0; status == LB_OK && i < LB_DEAD_VOLUMES; i++) {
    assumed[i].machine = *machine;
    lb_machine_assume_dead_volume(&assumed[i].machine, (enum lb_dead_volume)i);
    status = lb_cycle_prepare(cycle, &assumed[i].machine, error);
    if (status == LB_OK)
      status = lb_cutoff_find(&assumed[i].answer, cycle, margin, error);
  }
  lb_cycle_free(cycle);
  return status;
}
