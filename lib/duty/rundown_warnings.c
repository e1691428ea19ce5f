/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What to be warned of when a store is run down. The vapour in a store keeps its share w of the
 * air, so that its pressure falls with that of the air: e = w p. The share is that of the supply's
 * dew point where one is given, else that of the surroundings it was taken from, phi e_s(T_a)/p_a,
 * of which the full store holds no more than e_s(T_1)/p_1; without a humidity the air is taken as
 * moist as it can be. That a high pressure lets air hold somewhat more is left out.
 */
#include "duty/rundown.h"

#include "base/constants.h"
#include "base/format.h"
#include "decide/remarks.h"
#include "physics/air.h"

#include <math.h>
#include <stdarg.h>

/* Common practice, without a source: where seals of the usual nitrile rubber begin to stiffen [K].
 */
static const double seals_stiffen = LB_ZERO_CELSIUS - 20;

/* Molar masses of water and dry air, 18.015 and 28.964 g/mol [1]. */
static const double vapour_to_air = 18.015 / 28.964;

enum {
  DEGREES = 48, /* room for a temperature */
  GAUGE = 64    /* and a pressure */
};

struct list {
  struct lb_warning *warning; /* warning[LB_RUNDOWN_WARNINGS] */
  size_t count;
};

__attribute__((format(printf, 3, 4))) static void warn(struct list *list, const char *code,
                                                       const char *format, ...) {
  struct lb_warning *warning = &list->warning[list->count++];
  warning->code = code;
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(warning->text, sizeof warning->text, format, arguments);
  va_end(arguments);
}

/* Whether anything is said about the moisture of the air. */
static bool moisture_known(const struct lb_machine *machine) {
  return machine->dew_point_given || machine->humidity_given;
}

/* Temperature [K] below which the moisture of the stored air freezes out at a pressure
 * [Pa absolute]: that of an exhaust at this pressure, of a machine fed from the full store. */
static double frost_point(const struct lb_machine *machine, double pressure) {
  struct lb_machine fed = *machine;
  fed.back_pressure = pressure;
  if (!machine->dew_point_given) {
    fed.supply_pressure = machine->store.start_pressure;
    fed.supply_temperature = machine->store.temperature;
    fed.humidity_given = true;
    fed.humidity = machine->humidity_given ? machine->humidity : 1;
  }
  return lb_remarks_frost_point(&fed);
}

static void warn_ice(struct list *list, const struct lb_machine *machine,
                     const struct lb_rundown *rundown) {
  double coldest = (double)INFINITY, frost = frost_point(machine, machine->back_pressure);
  char air[DEGREES], moisture[DEGREES];
  for (size_t i = 0; i < rundown->runs; i++)
    if (rundown->run[i].ran)
      coldest = fmin(coldest, rundown->run[i].coldest_gas);
  if (!(coldest < LB_ZERO_CELSIUS) || coldest >= frost)
    return;
  lb_remarks_degrees(air, sizeof air, coldest);
  lb_remarks_degrees(moisture, sizeof moisture, fmin(frost, LB_ZERO_CELSIUS));
  if (moisture_known(machine))
    warn(list, "ice",
         "the air in the cylinder falls to %s, and its moisture freezes out below %s: expect ice "
         "in the exhaust; drier or warmer air would lessen it",
         air, moisture);
  else
    warn(list, "ice",
         "the air in the cylinder falls to %s, and what moisture a full store can hold freezes out "
         "below %s: expect ice in the exhaust unless the air was dried; with the humidity of the "
         "surroundings or the dew point of the supply this can be said more closely",
         air, moisture);
}

/* The run with the coldest air behind its regulator of those in which moisture freezes there. */
static const struct lb_run *freezing(const struct lb_machine *machine,
                                     const struct lb_rundown *rundown) {
  const struct lb_run *worst = NULL;
  for (size_t i = 0; i < rundown->runs; i++) {
    const struct lb_run *run = &rundown->run[i];
    if (run->ran && run->set_pressure > 0 && run->coldest_supply < LB_ZERO_CELSIUS &&
        run->coldest_supply < frost_point(machine, run->set_pressure) &&
        (!worst || run->coldest_supply < worst->coldest_supply))
      worst = run;
  }
  return worst;
}

static void warn_regulator_ice(struct list *list, const struct lb_machine *machine,
                               const struct lb_rundown *rundown) {
  const struct lb_run *run = freezing(machine, rundown);
  char air[DEGREES], moisture[DEGREES];
  if (!run)
    return;
  double frost = fmin(frost_point(machine, run->set_pressure), LB_ZERO_CELSIUS);
  warn(list, "regulator_ice",
       "behind the regulator the air falls to %s, and %s freezes out below %s there: the regulator "
       "may ice up; dry the air before it is stored, warm the regulator, or reduce the pressure in "
       "two stages",
       lb_remarks_degrees(air, sizeof air, run->coldest_supply),
       moisture_known(machine) ? "its moisture" : "what moisture a full store can hold",
       lb_remarks_degrees(moisture, sizeof moisture, frost));
}

/* "6.1 bar gauge (88 psig)" */
static const char *gauge(char text[GAUGE], const struct lb_machine *machine, double pressure) {
  double above = pressure - machine->ambient_pressure;
  lb_format(text, GAUGE, "%.3g bar gauge (%.3g psig)", above / LB_BAR, above / LB_PSI);
  return text;
}

/* Air so cold that it is none of the gas it is taken for. */
static void warn_near_liquid(struct list *list, const struct lb_rundown *rundown) {
  double coldest = (double)INFINITY;
  char air[DEGREES];
  for (size_t i = 0; i < rundown->runs; i++)
    if (rundown->run[i].ran)
      coldest = fmin(coldest, rundown->run[i].coldest_gas);
  if (coldest < LB_NEAR_LIQUID)
    warn(list, "near_liquid",
         "by reckoning the air in the cylinder falls to %s, near to where it turns liquid, and no "
         "longer behaves as an ideal gas there; a regulator set lower, or warmer air, keeps clear "
         "of that",
         lb_remarks_degrees(air, sizeof air, coldest));
}

/* The pressure of the store on a cylinder of which nobody said what it bears. */
static void warn_unrated(struct list *list, const struct lb_machine *machine,
                         const struct lb_rundown *rundown) {
  double highest = 0;
  char most[GAUGE];
  for (size_t i = 0; i < rundown->runs; i++)
    if (rundown->run[i].ran)
      highest = fmax(highest, rundown->run[i].point[0].supply_pressure);
  if (!(machine->rated_pressure > 0) && highest > machine->supply_pressure)
    warn(list, "unrated_cylinder",
         "plans put %s on a cylinder whose rated pressure is not given: read it off the label into "
         "the file, and plans above it are not run",
         gauge(most, machine, highest));
}

static void warn_cold_store(struct list *list, const struct lb_machine *machine,
                            const struct lb_rundown *rundown) {
  const struct lb_run *worst = NULL;
  char air[DEGREES], end[GAUGE], warm[GAUGE];
  for (size_t i = 0; i < rundown->runs; i++) {
    const struct lb_run *run = &rundown->run[i];
    if (run->ran && run->coldest_tank < seals_stiffen &&
        (!worst || run->coldest_tank < worst->coldest_tank))
      worst = run;
  }
  if (worst)
    warn(list, "cold_store",
         "the air in the store falls to %s: usual seals stiffen below -20 degC (-4 degF) and may "
         "leak, and the gauge reads low until the store is warm again: %s at the end of the run, "
         "%s later; draw the air more slowly, or from a larger store",
         lb_remarks_degrees(air, sizeof air, worst->coldest_tank),
         gauge(end, machine, worst->end_pressure), gauge(warm, machine, worst->warmed_pressure));
}

/* Kilograms of vapour with each kilogram of dry air, from the share of vapour [1]. */
static double humidity_ratio(double share) {
  return vapour_to_air * share / (1 - share);
}

/* Water that the air had to drop on its way into the store. */
static void warn_wet_store(struct list *list, const struct lb_machine *machine,
                           const struct lb_rundown *rundown) {
  const struct lb_store *store = &machine->store;
  const double gram = 1e-3; /* [kg] */
  double drawn = machine->humidity *
                 lb_air_saturation_pressure(machine->ambient_temperature, LB_OVER_WATER) /
                 machine->ambient_pressure;
  double held =
      lb_air_saturation_pressure(store->temperature, LB_OVER_WATER) / store->start_pressure;
  if (!machine->humidity_given || machine->dew_point_given || !(drawn > held))
    return;
  double water = rundown->start_mass * (humidity_ratio(drawn) - humidity_ratio(held));
  warn(list, "wet_store",
       "air as humid as the surroundings is saturated when pressed to the start pressure: filling "
       "the store leaves about %.2g g of water in it or in the coolers before it; "
       "drain both, or dry the air and give the dew point of the supply",
       water / gram);
}

static void warn_drag(struct list *list, const struct lb_rundown *rundown) {
  if (rundown->demand.drag_left_out)
    warn(list, "drag_left_out",
         "the drag of the air and the wind are left out, as no speed is given; --speed counts "
         "them");
}

size_t lb_rundown_warnings(struct lb_warning *warning, const struct lb_machine *machine,
                           const struct lb_rundown *rundown) {
  struct list list = {warning, 0};
  warn_ice(&list, machine, rundown);
  warn_regulator_ice(&list, machine, rundown);
  warn_near_liquid(&list, rundown);
  warn_unrated(&list, machine, rundown);
  warn_cold_store(&list, machine, rundown);
  warn_wet_store(&list, machine, rundown);
  warn_drag(&list, rundown);
  return list.count;
}
