/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each cause is taken away by a change to a copy of the machine; the revolution is then calculated
 * like any other.
 */
#include "decide/advice.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/numeric.h"
#include "decide/remarks.h"
#include "machine/complete.h"
#include "stroke/timing.h"

#include <math.h>
#include <stdarg.h>

static const double wide_open = 1e3;          /* [1] a valve so much wider restricts nothing */
static const double hardly_any_volume = 1e-3; /* [1] of the swept volume */
static const double wanted_share = 0.9;       /* [1] of the slow work */

const char *lb_advice_cause(enum lb_cause cause) {
  static const char *const words[LB_CAUSES] = {[LB_CAUSE_INLET] = "flow through the inlet",
                                               [LB_CAUSE_EXHAUST] = "flow through the exhaust",
                                               [LB_CAUSE_RAMP] = "valves that open and shut slowly",
                                               [LB_CAUSE_DELAY] = "valves that follow late",
                                               [LB_CAUSE_SUPPLY_LINE] = "the supply line",
                                               [LB_CAUSE_LEAKAGE] = "leakage",
                                               [LB_CAUSE_HEAT] = "heat from the walls",
                                               [LB_CAUSE_DEAD_VOLUME] = "dead volume",
                                               [LB_CAUSE_FRICTION] = "friction"};
  return words[cause];
}

/* ---------- the machine without a cause ---------- */

static bool drop_ramp(struct lb_machine *m) {
  bool had = false;
  for (int e = 0; e < LB_ENDS; e++) {
    had = had ||
          (m->works[e] && (m->timing[e].opening_ramp > 0 || m->timing[e].opening_ramp_time > 0));
    m->timing[e].opening_ramp = m->timing[e].opening_ramp_time = 0;
  }
  return had;
}

static bool drop_delay(struct lb_machine *m) {
  bool switched = false, late = false;
  for (int e = 0; e < LB_ENDS; e++)
    switched = switched || (m->works[e] && m->timing[e].angles_are_switching);
  for (int valve = 0; valve < LB_VALVES; valve++) {
    late = late || m->valve_delay[valve].on > 0 || m->valve_delay[valve].off > 0;
    m->valve_delay[valve] = (struct lb_valve_delay){0, 0};
  }
  return switched && late;
}

static bool drop_line(struct lb_machine *m) {
  bool had = m->supply_line.conductance > 0;
  m->supply_line.conductance = m->receiver_volume = 0;
  return had;
}

static bool drop_leakage(struct lb_machine *m) {
  bool had = m->leakage > 0 || (m->works[LB_ROD_END] && m->rod_seal_leakage > 0);
  m->leakage = m->rod_seal_leakage = 0;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    had = had || m->path[valve].seat_leakage > 0;
    m->path[valve].seat_leakage = 0;
  }
  return had;
}

static bool drop_heat(struct lb_machine *m) {
  bool had = m->wall_heat_transfer > 0;
  m->wall_heat_transfer = 0;
  return had;
}

static bool drop_dead_volume(struct lb_machine *m) {
  for (int e = 0; e < LB_ENDS; e++)
    m->dead_volume[e] =
        fmin(m->dead_volume[e],
             hardly_any_volume * lb_machine_area(m, (enum lb_end)e) * m->linkage.stroke);
  return true;
}

static bool drop_friction(struct lb_machine *m) {
  bool had = m->friction > 0 || m->friction_share > 0;
  m->friction = m->friction_share = 0;
  return had;
}

static bool widen_inlet(struct lb_machine *m) {
  m->path[LB_INLET_VALVE].flow.conductance *= wide_open;
  return true;
}

static bool widen_exhaust(struct lb_machine *m) {
  m->path[LB_EXHAUST_VALVE].flow.conductance *= wide_open;
  return true;
}

/* Take a cause away. Returns whether it was there. */
static bool drop(struct lb_machine *machine, enum lb_cause cause) {
  static bool (*const by[LB_CAUSES])(struct lb_machine *) = {
      [LB_CAUSE_INLET] = widen_inlet,     [LB_CAUSE_EXHAUST] = widen_exhaust,
      [LB_CAUSE_RAMP] = drop_ramp,        [LB_CAUSE_DELAY] = drop_delay,
      [LB_CAUSE_SUPPLY_LINE] = drop_line, [LB_CAUSE_LEAKAGE] = drop_leakage,
      [LB_CAUSE_HEAT] = drop_heat,        [LB_CAUSE_DEAD_VOLUME] = drop_dead_volume,
      [LB_CAUSE_FRICTION] = drop_friction};
  return by[cause](machine);
}

/* ---------- the calculations ---------- */

/* A machine at a speed with cut-offs as the machine means its angles. */
struct trial {
  struct lb_gas *gas;
  const struct lb_machine *machine;
  double cutoff[LB_ENDS], speed;
  double wanted; /* [J] of work */
};

static enum lb_status turn(struct lb_revolution *revolution, const struct trial *t,
                           const struct lb_machine *machine, struct lb_error *error) {
  struct lb_running running;
  enum lb_status status =
      lb_running_turn(&running, t->gas, machine, t->cutoff, t->speed, false, error);
  if (status == LB_OK)
    *revolution = running.revolution;
  return status;
}

static enum lb_status take_away(struct lb_without *without, const struct trial *t,
                                enum lb_cause cause, struct lb_error *error) {
  struct lb_machine machine = *t->machine;
  struct lb_revolution r;
  *without = (struct lb_without){.applies = drop(&machine, cause)};
  if (!without->applies)
    return LB_OK;
  enum lb_status status = turn(&r, t, &machine, error);
  if (status != LB_OK)
    return status;
  without->work = r.work;
  without->work_per_kg = r.work_per_kg;
  return LB_OK;
}

/* The slow adiabatic revolution with the same timing. */
static enum lb_status turn_slowly(struct lb_revolution *slow, const struct trial *t,
                                  struct lb_error *error) {
  struct lb_machine machine = *t->machine;
  struct lb_cycle *cycle = lb_cycle_new();
  if (!cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for a slow cycle");
  machine.expansion_exponent = machine.compression_exponent = LB_GAMMA;
  enum lb_status status = lb_cycle_prepare(cycle, &machine, error);
  if (status == LB_OK)
    status = lb_cycle_turn(slow, cycle, t->cutoff, error);
  lb_cycle_free(cycle);
  return status;
}

/* Make a valve so many times as wide; a tube in its way stays as it is. */
static enum lb_status widen(struct lb_machine *machine, enum lb_valve valve, double times) {
  struct lb_valve_size *size = &machine->valve_size[valve];
  struct lb_flow alone = lb_valve_flow(size);
  if (!machine->tube.given || !(alone.conductance > 0)) {
    machine->path[valve].flow.conductance *= times;
    return LB_OK;
  }
  *size = (struct lb_valve_size){.conductance = times * alone.conductance,
                                 .critical_ratio_given = true,
                                 .critical_ratio = alone.critical_ratio,
                                 .subsonic_index = alone.subsonic_index};
  return lb_machine_complete(machine, NULL);
}

/* Work beyond what is wanted with both valves wider by e^x. */
static double beyond(double x, void *context) {
  const struct trial *t = context;
  struct lb_machine machine = *t->machine;
  struct lb_revolution r;
  for (int valve = 0; valve < LB_VALVES; valve++)
    if (widen(&machine, (enum lb_valve)valve, exp(x)) != LB_OK)
      return (double)NAN;
  return turn(&r, t, &machine, NULL) == LB_OK ? r.work - t->wanted : (double)NAN;
}

/* Go down from a width that gives what is wanted to one that does not, or that cannot be
 * calculated. low, high  out: around the least that gives it; the same when all do */
static void bracket_below(double *low, double *high, struct trial *t) {
  const double step = 0.5; /* of the logarithm */
  double there = 0;
  *high = 0;
  for (*low = -step; *low >= -log(wide_open); *low -= step) {
    there = beyond(*low, t);
    if (!(there >= 0))
      break;
    *high = *low;
  }
  if (!(there < 0))
    *low = *high;
}

static enum lb_status find_wider(double *wider, struct trial *t, struct lb_error *error) {
  const double tolerance = 1e-5; /* [1] of the width */
  double low = 0, high = log(wide_open), x = 0;
  *wider = 0;
  if (!(t->wanted > 0 && beyond(high, t) >= 0))
    return LB_OK;
  if (beyond(0, t) >= 0)
    bracket_below(&low, &high, t);
  struct lb_workspace *workspace = lb_workspace_new();
  if (!workspace)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the search of a width");
  enum lb_status status = LB_OK;
  if (low < high)
    status = lb_numeric_root(workspace, &x, beyond, t, low, high, tolerance, error);
  else
    x = high;
  lb_workspace_free(workspace);
  if (status == LB_OK)
    *wider = exp(x);
  return status;
}

enum lb_status lb_advice_find(struct lb_advice *advice, struct lb_gas *gas,
                              const struct lb_machine *machine,
                              const struct lb_running_choice *choice, struct lb_error *error) {
  struct trial t = {.gas = gas, .machine = machine, .speed = choice->running.speed};
  struct lb_advice found = {.wanted = wanted_share};
  for (int e = 0; e < LB_ENDS; e++)
    t.cutoff[e] =
        choice->cutoff[e] - lb_timing_lag(machine, (enum lb_end)e, LB_VARIED_CUTOFF, t.speed);
  enum lb_status status = turn_slowly(&found.slow, &t, error);
  for (int cause = 0; cause < LB_CAUSES && status == LB_OK; cause++)
    status = take_away(&found.without[cause], &t, (enum lb_cause)cause, error);
  t.wanted = found.wanted * found.slow.work;
  if (status == LB_OK)
    status = find_wider(&found.wider, &t, error);
  if (status == LB_OK)
    *advice = found;
  return status;
}

/* ---------- warnings ---------- */

struct list {
  struct lb_warning *item; /* item[LB_ADVICE_WARNINGS] */
  size_t count;
};

__attribute__((format(printf, 3, 4))) static void warn(struct list *list, const char *code,
                                                       const char *format, ...) {
  if (list->count == LB_ADVICE_WARNINGS)
    return;
  struct lb_warning *item = &list->item[list->count++];
  item->code = code;
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(item->text, sizeof item->text, format, arguments);
  va_end(arguments);
}

static void warn_piston_speed(struct list *list, const struct lb_machine *m, double speed) {
  const double foot = 12 * LB_INCH; /* [m] */
  double piston = m->linkage.stroke * speed / LB_PI, limit = m->piston_speed_limit;
  if (limit > 0 && piston > limit)
    warn(list, "piston_speed",
         "at %.4g rpm the piston moves at %.2f m/s (%.2f ft/s) on average, above the cylinder's "
         "limit of %.2f "
         "m/s (%.2f ft/s), which is reached at %.0f rpm; seals wear and heat up beyond it",
         speed / LB_RPM, piston, piston / foot, limit, limit / foot,
         limit * LB_PI / m->linkage.stroke / LB_RPM);
}

/* From a valve's opening to its shutting [rad] at a speed.
 * cutoff  where the inlet is shut */
static double window_of(const struct lb_machine *m, enum lb_end end, enum lb_valve valve,
                        double cutoff, double speed) {
  bool inlet = valve == LB_INLET_VALVE;
  enum lb_varied opens = inlet ? LB_VARIED_INLET_OPENS : LB_VARIED_RELEASE;
  enum lb_varied shuts = inlet ? LB_VARIED_CUTOFF : LB_VARIED_EXHAUST_CLOSES;
  double until = lb_timing_event(m, end, shuts, cutoff);
  if (!inlet)
    until += lb_timing_lag(m, end, shuts, speed);
  return until - lb_timing_event(m, end, opens, cutoff) - lb_timing_lag(m, end, opens, speed);
}

/* The speed up to which a valve can follow [rad/s]. Between signals that are given as angles the
 * time shrinks with the speed: it must hold the on delay, and the rest of the turn the off delay.
 */
static double greatest_speed(const struct lb_machine *m, enum lb_end end, enum lb_valve valve,
                             double window, double speed) {
  const struct lb_valve_delay *delay = &m->valve_delay[valve];
  if (!m->timing[end].angles_are_switching)
    return lb_timing_greatest_speed(m, valve, window);
  double signal = window - speed * (delay->off - delay->on);
  double on = delay->on > 0 ? signal / delay->on : (double)INFINITY;
  double off = delay->off > 0 ? (2 * LB_PI - signal) / delay->off : (double)INFINITY;
  return fmin(on, off);
}

static void warn_window(struct list *list, const struct lb_machine *m, enum lb_end end,
                        enum lb_valve valve, double window, double speed) {
  static const char *const ends[LB_ENDS] = {"cap end", "rod end"};
  static const char *const valves[LB_VALVES] = {"inlet", "exhaust"};
  const struct lb_timing *t = &m->timing[end];
  double greatest = greatest_speed(m, end, valve, window, speed);
  double ramp = t->opening_ramp_time > 0 ? t->opening_ramp_time * speed : t->opening_ramp;
  if (speed > greatest)
    warn(
        list, "valve_window",
        "%s of the %s: at %.4g rpm its window of %.1f deg is too short for its delays; they fit up "
        "to %.0f rpm",
        valves[valve], ends[end], speed / LB_RPM, window / LB_DEGREE, greatest / LB_RPM);
  if (2 * ramp > window)
    warn(list, "short_ramp",
         "%s of the %s: its window of %.1f deg is shorter than its two ramps of %.1f deg each, so "
         "that it never opens fully",
         valves[valve], ends[end], window / LB_DEGREE, ramp / LB_DEGREE);
}

static void warn_pressure(struct list *list, const struct lb_machine *m,
                          const struct lb_gas_cylinder *c) {
  double greatest = 0;
  for (int e = 0; e < LB_ENDS; e++)
    if (m->works[e])
      greatest = fmax(greatest, c->end[e].greatest_pressure);
  if (m->rated_pressure > 0 && greatest > m->rated_pressure)
    warn(list, "above_rated_pressure",
         "the pressure in the cylinder rises to %.2f bar absolute (%.1f psia), above its rated "
         "pressure of %.2f bar absolute (%.1f psia): trapped air is compressed too far at this "
         "speed; close the exhaust later or run slower",
         greatest / LB_BAR, greatest / LB_PSI, m->rated_pressure / LB_BAR,
         m->rated_pressure / LB_PSI);
}

static void warn_ice(struct list *list, const struct lb_machine *m,
                     const struct lb_gas_cylinder *c) {
  double coldest = (double)INFINITY, frost = lb_remarks_frost_point(m);
  char air[48], moisture[48];
  for (int e = 0; e < LB_ENDS; e++)
    if (m->works[e])
      coldest = fmin(coldest, c->end[e].coldest_temperature);
  if (!(coldest < LB_ZERO_CELSIUS) || coldest >= frost)
    return;
  if (isnan(frost))
    warn(list, "ice",
         "the air in the cylinder falls to %s: expect ice with moist air; dry or warm the air, or "
         "cut off later",
         lb_remarks_degrees(air, sizeof air, coldest));
  else
    warn(
        list, "ice",
        "the air in the cylinder falls to %s, and its moisture freezes out below %s: expect ice in "
        "the exhaust; dry or warm the air, or cut off later",
        lb_remarks_degrees(air, sizeof air, coldest),
        lb_remarks_degrees(moisture, sizeof moisture, fmin(frost, LB_ZERO_CELSIUS)));
}

/* Inlet and exhaust open at once: between shutting of one and opening of the other the angle is
 * negative. Less than a degree is not worth a word. */
static void warn_overlap(struct list *list, const struct lb_machine *m, enum lb_end end,
                         double cutoff, double speed) {
  const double negligible = LB_DEGREE;
  double opens = lb_timing_event(m, end, LB_VARIED_INLET_OPENS, cutoff) +
                 lb_timing_lag(m, end, LB_VARIED_INLET_OPENS, speed);
  double release = lb_timing_event(m, end, LB_VARIED_RELEASE, cutoff) +
                   lb_timing_lag(m, end, LB_VARIED_RELEASE, speed);
  double closes = lb_timing_event(m, end, LB_VARIED_EXHAUST_CLOSES, cutoff) +
                  lb_timing_lag(m, end, LB_VARIED_EXHAUST_CLOSES, speed);
  double both = fmax(0, cutoff - release) + fmax(0, closes - 2 * LB_PI - opens);
  if (both > negligible)
    warn(
        list, "valves_overlap",
        "inlet and exhaust of the %s end are open together for %.0f deg of the turn, and air blows "
        "straight through; at %.4g rpm the valves follow too late",
        end == LB_CAP_END ? "cap" : "rod", both / LB_DEGREE, speed / LB_RPM);
}

size_t lb_advice_piston_speed(struct lb_warning *warning, const struct lb_machine *machine,
                              double speed) {
  struct list list = {warning, 0};
  warn_piston_speed(&list, machine, speed);
  return list.count;
}

size_t lb_advice_warnings(struct lb_warning *warning, const struct lb_machine *machine,
                          const struct lb_running_choice *choice) {
  struct list list = {warning, 0};
  double speed = choice->running.speed;
  warn_piston_speed(&list, machine, speed);
  for (int e = 0; e < LB_ENDS; e++)
    if (machine->works[e])
      warn_overlap(&list, machine, (enum lb_end)e, choice->cutoff[e], speed);
  for (int e = 0; e < LB_ENDS; e++)
    for (int valve = 0; machine->works[e] && valve < LB_VALVES; valve++)
      warn_window(
          &list, machine, (enum lb_end)e, (enum lb_valve)valve,
          window_of(machine, (enum lb_end)e, (enum lb_valve)valve, choice->cutoff[e], speed),
          speed);
  warn_pressure(&list, machine, &choice->running.cylinder);
  warn_ice(&list, machine, &choice->running.cylinder);
  if (!(choice->running.revolution.work > 0))
    warn(&list, "no_work", "at %.4g rpm the machine gives no work: it must be driven",
         speed / LB_RPM);
  return list.count;
}
