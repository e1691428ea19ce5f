/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Remarks on an answer. One remark is made for a flag and an end, or for both ends, with the worst
 * figure and all choices it holds for.
 */
#include "decide/remarks.h"

#include "base/constants.h"
#include "base/format.h"
#include "physics/air.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

/* What is too small to speak of. */
static const double negligible_share = 0.01;      /* [1] of the air */
static const double negligible_pressure = 1000.0; /* [Pa] */

/* Lowest temperature of lb_air_saturation_pressure [K]; a drier supply counts as this dry. */
static const double least_dew_point = 173.15;

static const char *const end_name[] = {[LB_CAP_END] = "cap end", [LB_ROD_END] = "rod end"};

/* The choices a builder picks from; the common angles lie between them. */
static const enum lb_rule picked[] = {LB_AS_TIMED, LB_ATMOSPHERIC, LB_ECONOMY};
enum {
  PICKED = sizeof picked / sizeof picked[0]
};

struct remarks {
  struct lb_warning *item; /* item[LB_REMARKS_MOST] */
  size_t count;
};

__attribute__((format(printf, 3, 4))) static void add(struct remarks *remarks, const char *code,
                                                      const char *format, ...) {
  if (remarks->count == LB_REMARKS_MOST)
    return;
  struct lb_warning *item = &remarks->item[remarks->count++];
  item->code = code;
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(item->text, sizeof item->text, format, arguments);
  va_end(arguments);
}

/* A choice to be looked at: one that is found, and not the atmospheric rule under another name. */
static bool counts(const struct lb_cutoff_answer *answer, const struct lb_machine *machine,
                   enum lb_rule rule) {
  bool own = false;
  for (int end = 0; end < LB_ENDS; end++)
    own = own || (machine->works[end] && machine->timing[end].cutoff_given);
  return answer->choice[rule].found && (rule != LB_AS_TIMED || own);
}

/* What can go wrong in a chamber: how large it is, and from when on it matters. */
struct trouble {
  unsigned flag;
  const char *code;
  double (*size)(const struct lb_turn *turn, const struct lb_machine *machine);
  double least;
  bool is_pressure;     /* the size is a pressure [Pa absolute], else a share of the air */
  const char *sentence; /* the size goes in for %s */
};

static double trapped_above(const struct lb_turn *turn, const struct lb_machine *machine) {
  return turn->peak_pressure - machine->supply_pressure;
}

static double pushed_back(const struct lb_turn *turn, const struct lb_machine *machine) {
  (void)machine;
  return turn->air > 0 ? turn->pushed_back_air / turn->air : 0;
}

/* Air let in because the expansion went too far is not told twice. */
static double drawn_in(const struct lb_turn *turn, const struct lb_machine *machine) {
  if (machine->back_pressure - turn->release_pressure >= negligible_pressure)
    return 0;
  return turn->cutoff_air > 0 ? turn->outside_air / turn->cutoff_air : 0;
}

static double fallen_below(const struct lb_turn *turn, const struct lb_machine *machine) {
  return machine->back_pressure - turn->release_pressure;
}

static const struct trouble troubles[] = {
    {LB_OVER_COMPRESSION, "over_compression", trapped_above, negligible_pressure, true,
     "the air left in the cylinder is compressed to %s above the supply and blows back when the "
     "inlet opens; close the exhaust later"},
    {LB_PUSH_BACK, "push_back", pushed_back, negligible_share, false,
     "of the air drawn, %s more goes in and back out through the open inlet; open the inlet later, "
     "or close it before the opposite dead centre"},
    {LB_IN_FLOW, "in_flow", drawn_in, negligible_share, false,
     "outside air is drawn in through the open exhaust, %s of what the chamber holds; release "
     "later, or close the exhaust earlier"},
    {LB_NEGATIVE_LOOP, "negative_loop", fallen_below, negligible_pressure, true,
     "the air expands to %s below back pressure before the exhaust opens, which costs work; cut "
     "off later"},
};

/* Where a trouble is met at an end, and how large it is at its worst. */
struct finding {
  double worst;
  unsigned rules; /* a bit for each choice it is met with */
};

static struct finding find(const struct trouble *trouble, enum lb_end end,
                           const struct lb_machine *machine,
                           const struct lb_cutoff_answer *answer) {
  struct finding finding = {0, 0};
  for (int i = 0; i < PICKED && machine->works[end]; i++) {
    const struct lb_turn *turn = &answer->choice[picked[i]].revolution.end[end].turn;
    if (!counts(answer, machine, picked[i]) || !(turn->flags & trouble->flag))
      continue;
    double value = trouble->size(turn, machine);
    if (!(value >= trouble->least))
      continue;
    finding.worst = fmax(finding.worst, value);
    finding.rules |= 1U << picked[i];
  }
  return finding;
}

/* "as-timed, economy" */
static void name_rules(char *names, size_t size, unsigned rules) {
  names[0] = '\0';
  for (int i = 0; i < PICKED; i++) {
    size_t used = strlen(names);
    if (rules & 1U << picked[i])
      lb_format(names + used, size - used, "%s%s", used ? ", " : "",
                lb_cutoff_rule_name(picked[i]));
  }
}

static void tell(struct remarks *remarks, const struct trouble *trouble, const char *where,
                 struct finding finding) {
  char rules[64], size[48];
  if (!finding.rules)
    return;
  name_rules(rules, sizeof rules, finding.rules);
  if (trouble->is_pressure)
    lb_format(size, sizeof size, "%.2f bar (%.1f psi)", finding.worst / LB_BAR,
              finding.worst / LB_PSI);
  else
    lb_format(size, sizeof size, "%.1f %%", finding.worst * 100);
  const char *gap = strstr(trouble->sentence, "%s");
  add(remarks, trouble->code, "%s (%s): %.*s%s%s", where, rules, (int)(gap - trouble->sentence),
      trouble->sentence, size, gap + 2);
}

/* One remark for both ends where they are in the same trouble. */
static void look_for(struct remarks *remarks, const struct trouble *trouble,
                     const struct lb_machine *machine, const struct lb_cutoff_answer *answer) {
  struct finding cap = find(trouble, LB_CAP_END, machine, answer);
  struct finding rod = find(trouble, LB_ROD_END, machine, answer);
  if (cap.rules == rod.rules) {
    cap.worst = fmax(cap.worst, rod.worst);
    tell(remarks, trouble, "both ends", cap);
    return;
  }
  tell(remarks, trouble, end_name[LB_CAP_END], cap);
  tell(remarks, trouble, end_name[LB_ROD_END], rod);
}

/* The share of vapour in the supply [1]; NaN when nothing is said about it. */
static double vapour_share(const struct lb_machine *m) {
  if (m->dew_point_given)
    return lb_air_saturation_pressure(fmax(m->dew_point, least_dew_point), LB_OVER_WATER) /
           m->supply_pressure;
  if (!m->humidity_given)
    return (double)NAN;
  double drawn = m->humidity * lb_air_saturation_pressure(m->ambient_temperature, LB_OVER_WATER) /
                 m->ambient_pressure;
  double held =
      lb_air_saturation_pressure(m->supply_temperature, LB_OVER_WATER) / m->supply_pressure;
  return held < drawn ? held : drawn; /* a supply beyond the table's range holds all of it */
}

double lb_remarks_frost_point(const struct lb_machine *machine) {
  double share = vapour_share(machine);
  if (share == 0)
    return 0;
  return lb_air_dew_point(share * machine->back_pressure, LB_OVER_ICE);
}

const char *lb_remarks_degrees(char *text, size_t size, double kelvin) {
  double celsius = round(kelvin - LB_ZERO_CELSIUS) + 0.0; /* no negative zero */
  double fahrenheit = round((kelvin - LB_ZERO_CELSIUS) * 9 / 5 + 32) + 0.0;
  lb_format(text, size, "%.0f degC (%.0f degF)", celsius, fahrenheit);
  return text;
}

/* The coldest the air gets in any cylinder [K]. */
static double coldest(const struct lb_machine *machine, const struct lb_cutoff_answer *answer) {
  double least = (double)INFINITY;
  for (int i = 0; i < PICKED; i++)
    for (int end = 0; end < LB_ENDS; end++) {
      const struct lb_turn *turn = &answer->choice[picked[i]].revolution.end[end].turn;
      if (machine->works[end] && counts(answer, machine, picked[i]))
        least = fmin(least, fmin(turn->release_temperature, turn->exhaust_temperature));
    }
  return least;
}

static void look_for_ice(struct remarks *remarks, const struct lb_machine *machine,
                         const struct lb_cutoff_answer *answer) {
  double cold = coldest(machine, answer), frost = lb_remarks_frost_point(machine);
  char air[48], moisture[48];
  if (!(cold < LB_ZERO_CELSIUS) || cold >= frost)
    return;
  lb_remarks_degrees(air, sizeof air, cold);
  if (isnan(frost))
    add(remarks, "ice",
        "the air falls to %s in this cycle: expect ice with moist air; with the humidity of the "
        "surroundings or the dew point of the supply this can be said more closely",
        air);
  else
    add(remarks, "ice",
        "the air falls to %s in this cycle and frost forms below %s: expect ice in the exhaust; "
        "drier or warmer air would lessen it",
        air, lb_remarks_degrees(moisture, sizeof moisture, fmin(frost, LB_ZERO_CELSIUS)));
}

static void look_for_liquid(struct remarks *remarks, const struct lb_machine *machine,
                            const struct lb_cutoff_answer *answer) {
  double cold = coldest(machine, answer);
  char air[48];
  if (cold < LB_NEAR_LIQUID)
    add(remarks, "near_liquid",
        "the air falls to %s in this cycle, near to where it turns liquid, and no longer behaves "
        "as "
        "an ideal gas there; a smaller ratio of pressures, or warmer air, keeps clear of that",
        lb_remarks_degrees(air, sizeof air, cold));
}

static void look_for_limits(struct remarks *remarks, const struct lb_choice *economy) {
  for (int end = 0; end < LB_ENDS; end++)
    if (economy->found && economy->earliest[end])
      add(remarks, "earliest_cutoff",
          "%s: the best economy lies at the earliest cut-off its inlet allows; it might be better "
          "still if the inlet opened earlier",
          end_name[end]);
}

static void look_for_heat(struct remarks *remarks, const struct lb_machine *machine,
                          const struct lb_cutoff_answer *answer) {
  double best = 0;
  for (int i = 0; i < PICKED; i++)
    if (counts(answer, machine, picked[i]))
      best = fmax(best, answer->choice[picked[i]].revolution.isentropic_efficiency);
  if (best > 1)
    add(remarks, "heat_from_walls",
        "the isentropic efficiency exceeds 100 %% because this law lets the walls heat the air, "
        "and "
        "that heat works too");
}

size_t lb_remarks_cutoff(struct lb_warning *remark, const struct lb_machine *machine,
                         const struct lb_cutoff_answer *answer) {
  struct remarks remarks = {remark, 0};
  if (machine->supply_pressure <= machine->back_pressure)
    return 0;
  for (size_t i = 0; i < sizeof troubles / sizeof troubles[0]; i++)
    look_for(&remarks, &troubles[i], machine, answer);
  look_for_ice(&remarks, machine, answer);
  look_for_liquid(&remarks, machine, answer);
  look_for_limits(&remarks, &answer->choice[LB_ECONOMY]);
  look_for_heat(&remarks, machine, answer);
  return remarks.count;
}
