/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Random machines; see the header. Shares of each kind are chosen so that a thousand machines show
 * every special case dozens of times.
 */
#include "random_machine.h"

#include "base/constants.h"
#include "slow_reference.h"
#include "support.h"

#include <math.h>

static const double degree = LB_PI / 180;
static const double turn = 2 * LB_PI;

/* True with a probability. */
static bool chance(uint64_t *state, double probability) {
  return support_uniform(state) < probability;
}

static void random_linkage(struct lb_machine *m, uint64_t *state) {
  double stroke = support_between(state, 0.02, 0.3), length = 0, offset = 0;
  enum lb_linkage_kind kind = (enum lb_linkage_kind)(3 * support_uniform(state));
  if (kind == LB_CONNECTING_ROD) {
    length = stroke * support_between(state, 0.8, 4);
    if (chance(state, 0.5))
      offset = (length - stroke / 2) * support_between(state, -0.6, 0.6);
  } else if (kind == LB_SWINGING) {
    length = stroke / 2 * support_between(state, 1.2, 6);
  }
  ck_assert_int_eq(lb_linkage_init(&m->linkage, kind, stroke, length, offset, NULL), LB_OK);
}

static void random_cylinder(struct lb_machine *m, uint64_t *state) {
  double acting = support_uniform(state);
  m->works[LB_CAP_END] = acting < 0.8;
  m->works[LB_ROD_END] = acting < 0.6 || acting >= 0.8;
  m->bore = support_between(state, 0.01, 0.1);
  m->rod_diameter = m->bore * support_between(state, 0.15, 0.7);
  if (chance(state, 0.3))
    m->through_rod_diameter =
        chance(state, 0.5) ? m->rod_diameter : m->bore * support_between(state, 0.1, 0.7);
  m->cylinders = chance(state, 0.6) ? 1 : 2 + (int)(3 * support_uniform(state));
  for (int k = 1; k < m->cylinders; k++)
    m->crank_angle[k] = support_between(state, 0, turn);
  for (int i = 0; i < LB_ENDS; i++) {
    double swept = lb_machine_area(m, (enum lb_end)i) * m->linkage.stroke;
    m->dead_volume[i] = chance(state, 0.1) ? 0 : swept * support_between(state, 0.005, 0.3);
  }
}

static void random_air(struct lb_machine *m, uint64_t *state) {
  double kind = support_uniform(state);
  m->ambient_pressure = support_between(state, 0.7e5, 1.05e5);
  m->ambient_temperature = support_between(state, 253, 313);
  m->supply_temperature = m->ambient_temperature;
  if (chance(state, 0.6))
    m->supply_temperature += support_between(state, -40, 80);
  m->back_pressure = m->ambient_pressure;
  m->supply_pressure = m->ambient_pressure + support_between(state, 0.3e5, 12e5);
  if (kind < 0.1) {
    m->supply_pressure = m->ambient_pressure;
    m->back_pressure = m->ambient_pressure * support_between(state, 0.2, 0.9);
  } else if (kind < 0.2) {
    m->back_pressure = m->ambient_pressure * support_between(state, 1.1, 3);
    m->supply_pressure = m->back_pressure * support_between(state, 1.2, 6);
  }
  double law = support_uniform(state);
  double exponent = law < 0.2 ? 1 : law < 0.4 ? LB_GAMMA : support_between(state, 1, 1.42);
  m->expansion_exponent = m->compression_exponent = exponent;
  if (law >= 0.65)
    m->compression_exponent = fmin(fmax(exponent + support_between(state, -0.15, 0.15), 1), 1.42);
}

static void random_inlet(struct lb_timing *t, uint64_t *state) {
  double kind = support_uniform(state);
  if (kind < 0.25)
    t->inlet_opens = -support_between(state, 1, 30) * degree;
  else if (kind < 0.5)
    t->inlet_opens = support_between(state, 1, 40) * degree;
}

/* Exhaust events of an end whose inlet is set. */
static void random_exhaust(struct lb_timing *t, double far, bool dead_volume, uint64_t *state) {
  double kind = support_uniform(state), next = t->inlet_opens + turn;
  double first = fmax(t->inlet_opens, 0) + 20 * degree;
  t->release = far;
  if (kind < 0.35)
    t->release = support_between(state, fmax(first, far - 60 * degree), far);
  else if (kind < 0.5)
    t->release = support_between(state, far, far + 40 * degree);
  kind = support_uniform(state);
  if (!dead_volume && t->inlet_opens >= 0)
    t->exhaust_closes = t->inlet_opens > 0 ? support_between(state, turn, next) : turn;
  else if (kind < 0.25)
    t->exhaust_closes = next;
  else if (kind < 0.42 && t->release < far)
    t->exhaust_closes = support_between(state, t->release + 0.01, far);
  else if (kind < 0.55 && t->inlet_opens > 0)
    t->exhaust_closes = support_between(state, turn, next);
  else
    t->exhaust_closes =
        support_between(state, fmax(t->release, far) + 5 * degree, fmin(next, turn));
}

static void random_cutoff(struct lb_timing *t, double far, bool dead_volume, uint64_t *state) {
  double kind = support_uniform(state), first = fmax(t->inlet_opens, 0);
  t->cutoff_given = true;
  if (kind < 0.15 && t->inlet_opens != 0 && dead_volume)
    t->cutoff = first + (t->inlet_opens > 0 ? 1e-12 : 0);
  else if (kind < 0.4 && t->release > far)
    t->cutoff = support_between(state, far, t->release);
  else
    t->cutoff = support_between(state, first + 3 * degree, fmin(t->release, far));
}

static void random_friction(struct lb_machine *m, uint64_t *state) {
  double area = fmax(lb_machine_area(m, LB_CAP_END), lb_machine_area(m, LB_ROD_END));
  if (chance(state, 0.5))
    m->friction =
        (m->supply_pressure - m->back_pressure) * area * support_between(state, 0.001, 0.05);
  if (chance(state, 0.5))
    m->friction_share = support_between(state, 0.005, 0.25);
}

void random_machine(struct lb_machine *machine, uint64_t *state) {
  lb_machine_defaults(machine);
  random_linkage(machine, state);
  random_cylinder(machine, state);
  random_air(machine, state);
  random_friction(machine, state);
  for (int i = 0; i < LB_ENDS; i++) {
    double far = reference_far(machine, (enum lb_end)i);
    bool dead_volume = machine->dead_volume[i] > 0;
    random_inlet(&machine->timing[i], state);
    random_exhaust(&machine->timing[i], far, dead_volume, state);
    random_cutoff(&machine->timing[i], far, dead_volume, state);
  }
}

void random_machine_cutoff(double *cutoff, const struct lb_machine *machine) {
  for (int i = 0; i < LB_ENDS; i++)
    cutoff[i] = machine->works[i] ? machine->timing[i].cutoff : 0;
}

/* A case of one worked end. */
static bool end_is(const struct lb_machine *m, enum lb_end end, enum machine_case which) {
  const struct lb_timing *t = &m->timing[end];
  double far = reference_far(m, end);
  switch (which) {
  case CASE_NO_DEAD_VOLUME:
    return m->dead_volume[end] == 0;
  case CASE_NO_COMPRESSION:
    return t->exhaust_closes == t->inlet_opens + turn;
  case CASE_OVER_COMPRESSION:
    return reference_peak(m, end) > m->supply_pressure;
  case CASE_BLOW_BACK:
    return reference_pressure(m, end, t->cutoff, t->inlet_opens - 1e-9) >
           m->supply_pressure * (1 + 1e-6);
  case CASE_RELEASE_BELOW:
    return reference_pressure(m, end, t->cutoff, t->release - 1e-9) < m->back_pressure;
  case CASE_LEAD:
    return t->inlet_opens < 0;
  case CASE_LATE_INLET:
    return t->inlet_opens > 0;
  case CASE_EARLY_RELEASE:
    return t->release < far;
  case CASE_LATE_RELEASE:
    return t->release > far + 1e-9;
  case CASE_LATE_CUTOFF:
    return t->cutoff > far;
  case CASE_EARLIEST_CUTOFF:
    return t->cutoff <= fmax(t->inlet_opens, 0) + 1e-9;
  case CASE_LATE_CLOSING:
    return t->exhaust_closes > turn;
  case CASE_EARLY_CLOSING:
    return t->exhaust_closes < far;
  default:
    return false;
  }
}

/* A case of what every machine has one of. */
static bool whole_is(const struct lb_machine *m, enum machine_case which) {
  double n = m->expansion_exponent;
  bool equal = n == m->compression_exponent;
  switch (which) {
  case CASE_CONNECTING_ROD:
    return m->linkage.kind == LB_CONNECTING_ROD;
  case CASE_OFFSET:
    return m->linkage.offset != 0;
  case CASE_SWINGING:
    return m->linkage.kind == LB_SWINGING;
  case CASE_YOKE:
    return m->linkage.kind == LB_YOKE;
  case CASE_DOUBLE_ACTING:
    return m->works[LB_CAP_END] && m->works[LB_ROD_END];
  case CASE_CAP_END_ONLY:
    return !m->works[LB_ROD_END];
  case CASE_ROD_END_ONLY:
    return !m->works[LB_CAP_END];
  case CASE_THROUGH_ROD:
    return m->through_rod_diameter > 0;
  case CASE_SEVERAL_CYLINDERS:
    return m->cylinders > 1;
  case CASE_ISOTHERMAL:
    return equal && n == 1;
  case CASE_ADIABATIC:
    return equal && n == LB_GAMMA;
  case CASE_EQUAL_BETWEEN:
    return equal && n != 1 && n != LB_GAMMA;
  case CASE_UNEQUAL:
    return !equal;
  default:
    return false;
  }
}

/* A case of pressures, temperatures and friction. */
static bool condition_is(const struct lb_machine *m, enum machine_case which) {
  switch (which) {
  case CASE_VACUUM:
    return m->supply_pressure == m->ambient_pressure && m->back_pressure < m->ambient_pressure;
  case CASE_HIGH_BACK_PRESSURE:
    return m->back_pressure > m->ambient_pressure;
  case CASE_FRICTION_SHARE:
    return m->friction_share > 0;
  case CASE_NO_FRICTION_SHARE:
    return m->friction_share == 0;
  case CASE_WARM_SUPPLY:
    return m->supply_temperature > m->ambient_temperature;
  case CASE_COLD_SUPPLY:
    return m->supply_temperature < m->ambient_temperature;
  default:
    return false;
  }
}

bool machine_is(const struct lb_machine *machine, enum machine_case which) {
  bool is = whole_is(machine, which) || condition_is(machine, which);
  for (int i = 0; i < LB_ENDS; i++)
    is = is || (machine->works[i] && end_is(machine, (enum lb_end)i, which));
  return is;
}

void tally_add(struct tally *tally, const struct lb_machine *machine) {
  for (int i = 0; i < MACHINE_CASES; i++)
    tally->seen[i] += machine_is(machine, (enum machine_case)i);
}

void tally_require(const struct tally *tally, int least) {
  for (int i = 0; i < MACHINE_CASES; i++)
    ck_assert_msg(tally->seen[i] >= least, "case %d seen %d times, less than %d", i, tally->seen[i],
                  least);
}
