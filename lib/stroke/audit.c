/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Exergy step by step. Invariant: each step's first law holds with the heat it reports, so the
 * parts of a periodic revolution add up to the supply.
 */
#include "stroke/audit.h"

#include "base/constants.h"
#include "stroke/timing.h"

#include <math.h>

/* Dead state and what has been found so far, of one chamber. */
struct ledger {
  double ambient_pressure, ambient_temperature; /* p_a, T_a */
  double filling, pushed_back, blow_down, heat, exhaust;
};

/* Entropy of air against the dead state [J/(kg K)]. */
static double entropy(const struct ledger *l, double temperature, double pressure) {
  return LB_CP * log(temperature / l->ambient_temperature) -
         LB_GAS_CONSTANT * log(pressure / l->ambient_pressure);
}

/* Exergy of flowing air [J/kg]. */
static double exergy(const struct ledger *l, double temperature, double pressure) {
  return LB_CP * (temperature - l->ambient_temperature) -
         l->ambient_temperature * entropy(l, temperature, pressure);
}

/* Exergy that leaves with heat taken in as Q while the integral of dQ/T is known. */
static double heat_out(const struct ledger *l, double heat, double heat_over_temperature) {
  return l->ambient_temperature * heat_over_temperature - heat;
}

/* A closed gas of mass m goes from (T1, V1) to (T2, V2) doing work: reversible inside. */
static void closed(struct ledger *l, double mass, double t1, double t2, double v1, double v2,
                   double work) {
  if (!(mass > 0))
    return;
  double heat = mass * LB_CV * (t2 - t1) + work;
  double change = mass * (LB_CV * log(t2 / t1) + LB_GAS_CONSTANT * log(v2 / v1));
  l->heat += heat_out(l, heat, change);
}

/* Heat of a vessel of constant volume whose pressure goes from p1 to p2 with the exponent n: the
 * energy balance leaves dQ = V dp (1 - gamma/n)/(gamma - 1), whichever way the air flows. */
static double vessel_heat(double volume, double p1, double p2, double n) {
  return volume * (p2 - p1) * (1 - LB_GAMMA / n) / (LB_GAMMA - 1);
}

/* A vessel holding mass m1 at (T1, p1) is filled to p2 from a source at T_s, p2: dm = V dp/(n R
 * T_s). Returns T_a times the entropy made. */
static double fill(struct ledger *l, double volume, double m1, double t1, double p1, double p2,
                   double source, double n) {
  if (!(volume > 0 && p2 > p1))
    return 0;
  double added = volume * (p2 - p1) / (n * LB_GAS_CONSTANT * source);
  double m2 = m1 + added, t2 = p2 * volume / (LB_GAS_CONSTANT * m2);
  /* the integral of dQ/T, with R m(p) = R m1 + V (p - p1)/(n T_s) */
  double integral = LB_GAS_CONSTANT * added, made = 0;
  if (m1 > 0) {
    integral += (LB_GAS_CONSTANT * m1 - volume * p1 / (n * source)) * log(p2 / p1);
    made -= m1 * entropy(l, t1, p1);
  }
  integral *= (1 - LB_GAMMA / n) / (LB_GAMMA - 1);
  l->heat += heat_out(l, vessel_heat(volume, p1, p2, n), integral);
  made += m2 * entropy(l, t2, p2) - added * entropy(l, source, p2) - integral;
  return l->ambient_temperature * made;
}

/* A vessel at (m1, p1) blows down to p2, the air in it expanding with the exponent n: m = m2
 * (p/p2)^(1/n), T = T2 (m/m2)^(n-1). Each parcel leaves at its own T and is throttled from p to p2.
 * left  out: the exergy of what leaves, at p2 [J]
 * Returns T_a times the entropy made by the throttling. */
static double blow(struct ledger *l, double volume, double m1, double p1, double p2, double n,
                   double *left) {
  double share = pow(p2 / p1, 1 / n), m2 = m1 * share, out = m1 - m2;
  double t2 = p2 * volume / (LB_GAS_CONSTANT * m2);
  double spread = m1 * log(m1 / m2) - out;                    /* integral of ln(m/m2) dm */
  double t_mass = volume * (p1 - p2) / (n * LB_GAS_CONSTANT); /* integral of T dm */
  double logarithm = out * log(t2 / l->ambient_temperature) + (n - 1) * spread;
  *left = LB_CP * (t_mass - out * l->ambient_temperature) -
          l->ambient_temperature *
              (LB_CP * logarithm - out * LB_GAS_CONSTANT * log(p2 / l->ambient_pressure));
  double integral = (1 - LB_GAMMA / n) / (LB_GAMMA - 1) * n * LB_GAS_CONSTANT * (m2 - m1);
  l->heat += heat_out(l, vessel_heat(volume, p1, p2, n), integral);
  return l->ambient_temperature * LB_GAS_CONSTANT * n * spread;
}

/* Two masses mix at constant pressure to T. Returns T_a times the entropy made. */
static double mix(const struct ledger *l, double m1, double t1, double m2, double t2, double t) {
  double made = 0;
  if (m1 > 0)
    made += m1 * log(t / t1);
  if (m2 > 0)
    made += m2 * log(t / t2);
  return l->ambient_temperature * LB_CP * made;
}

static double mass(double pressure, double volume, double temperature) {
  return pressure * volume / (LB_GAS_CONSTANT * temperature);
}

/* From the exhaust's closing to the cut-off. */
static void admission(struct ledger *l, const struct lb_chamber *h, const struct lb_turn *t,
                      double greatest, double cutoff) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double p_s = c->supply_pressure, t_s = c->supply_temperature, p_1 = h->compression_pressure;
  double supply = exergy(l, t_s, p_s), left = 0;
  double trapped = v->closing > 0 ? mass(c->back_pressure, v->closing, t->closing_temperature) : 0;
  closed(l, trapped, t->closing_temperature, t->compression_temperature, v->closing, v->opening,
         h->compression_work);
  if (p_1 <= p_s) {
    l->filling += fill(l, v->opening, trapped, t->compression_temperature, p_1, p_s, t_s,
                       c->expansion_exponent);
  } else {
    l->filling += blow(l, v->opening, trapped, p_1, p_s, c->expansion_exponent, &left);
    l->pushed_back += left + t->filling_air * supply; /* filling_air is negative */
  }
  double filled = mass(p_s, v->opening, t->filled_temperature);
  double kept = h->kept * filled;
  double after = mass(p_s, greatest - cutoff, t->cutoff_temperature);
  l->pushed_back += (filled - kept) * (exergy(l, t->filled_temperature, p_s) - supply) +
                    after * (exergy(l, t->cutoff_temperature, p_s) - supply);
  l->filling += mix(l, kept, t->filled_temperature, t->admitted_air, t_s, t->cutoff_temperature);
}

/* From the cut-off to the exhaust's closing. */
static void release(struct ledger *l, const struct lb_chamber *h, const struct lb_turn *t,
                    double cutoff, double expansion) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double p_e = c->back_pressure, p_r = t->release_pressure, n = c->expansion_exponent;
  double outside = exergy(l, c->outside_temperature, p_e), left = 0;
  closed(l, t->cutoff_air, t->cutoff_temperature, t->release_temperature, cutoff, v->release,
         expansion);
  double inside = t->cutoff_air; /* in the chamber once it is at back pressure */
  if (p_r > p_e) {
    l->blow_down += blow(l, v->release, inside, p_r, p_e, n, &left);
    l->exhaust += left;
    inside *= pow(p_e / p_r, 1 / n);
  } else {
    l->blow_down +=
        fill(l, v->release, inside, t->release_temperature, p_r, p_e, c->outside_temperature, n);
    inside += v->release * (p_e - p_r) / (n * LB_GAS_CONSTANT * c->outside_temperature);
  }
  double before = p_e * v->release / (LB_GAS_CONSTANT * inside); /* temperature then */
  double drawn = mass(p_e, v->exhausting - v->release, c->outside_temperature);
  l->blow_down += mix(l, inside, before, drawn, c->outside_temperature, t->exhaust_temperature);
  double again = mass(p_e, v->closing - v->swept_out, c->outside_temperature);
  double remaining = mass(p_e, v->swept_out, t->exhaust_temperature);
  if (again > 0)
    l->blow_down += mix(l, remaining, t->exhaust_temperature, again, c->outside_temperature,
                        t->closing_temperature);
  l->exhaust += mass(p_e, v->exhausting - v->swept_out, t->exhaust_temperature) *
                    exergy(l, t->exhaust_temperature, p_e) -
                t->outside_air * outside;
}

/* Add one chamber's ledger, for all cylinders. */
static void add_chamber(struct lb_audit *a, const struct lb_cycle *cycle, enum lb_end end,
                        const struct lb_end_turn *e) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  const struct lb_chamber *h = lb_cycle_chamber(cycle, end);
  struct ledger l = {.ambient_pressure = m->ambient_pressure,
                     .ambient_temperature = m->ambient_temperature};
  double cutoff, greatest;
  lb_timing_cutoff(&cutoff, &greatest, m, end, e->cutoff);
  double expansion = e->turn.work - h->conditions.supply_pressure * (cutoff - h->volumes.opening) -
                     h->conditions.back_pressure * (h->volumes.closing - h->volumes.release) -
                     h->compression_work;
  admission(&l, h, &e->turn, greatest, cutoff);
  release(&l, h, &e->turn, cutoff, expansion);
  a->filling += m->cylinders * l.filling;
  a->pushed_back += m->cylinders * l.pushed_back;
  a->blow_down += m->cylinders * l.blow_down;
  a->heat += m->cylinders * l.heat;
  a->exhaust += m->cylinders * l.exhaust;
}

void lb_audit_revolution(struct lb_audit *audit, const struct lb_cycle *cycle,
                         const struct lb_revolution *revolution) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  struct ledger dead = {.ambient_pressure = m->ambient_pressure,
                        .ambient_temperature = m->ambient_temperature};
  struct lb_audit a = {.crank = revolution->work, .friction = revolution->friction_work};
  a.supplied = revolution->air * exergy(&dead, m->supply_temperature, m->supply_pressure);
  double gross = 0;
  for (int i = 0; i < LB_ENDS; i++) {
    if (!m->works[i])
      continue;
    add_chamber(&a, cycle, (enum lb_end)i, &revolution->end[i]);
    gross += m->cylinders * m->supply_pressure *
             lb_cycle_chamber(cycle, (enum lb_end)i)->volumes.release;
  }
  double sum = a.crank + a.friction + a.filling + a.pushed_back + a.blow_down + a.heat + a.exhaust;
  a.closure = (sum - a.supplied) / fmax(fmax(fabs(a.supplied), fabs(a.exhaust)), gross);
  *audit = a;
}
