/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slow revolution by brute force; see the header. Invariant: every integral is split wherever
 * its integrand is not smooth, and every flow where the piston turns, so that no rule about which
 * volume is the greatest is needed.
 */
#include "slow_reference.h"

#include "base/constants.h"
#include "support.h"

#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdlib.h>

static const double turn = 2 * LB_PI;

/* An exhaust that closes this close to the inlet's opening closes with it [rad]. */
static const double together = 1e-9;

/* Crank radius, rod (or pivot distance) and offset [m]. */
struct arms {
  long double r, l, e;
};

static struct arms arms_of(const struct lb_linkage *k) {
  struct arms a = {(long double)k->stroke / 2, (long double)k->length, (long double)k->offset};
  if (k->kind == LB_CONNECTING_ROD)
    a.r *= sqrtl(1 - a.e * a.e / (a.l * a.l - a.r * a.r));
  return a;
}

long double reference_travel(const struct lb_linkage *linkage, long double angle) {
  struct arms a = arms_of(linkage);
  long double r = a.r, l = a.l, half = sinl(angle / 2);
  if (linkage->kind == LB_YOKE)
    return 2 * r * half * half;
  if (linkage->kind == LB_SWINGING)
    return sqrtl((l - r) * (l - r) + 4 * l * r * half * half) - (l - r);
  long double phi = angle + asinl(a.e / (l + r)), rise = r * sinl(phi) - a.e;
  return sqrtl((l + r) * (l + r) - a.e * a.e) - (r * cosl(phi) + sqrtl(l * l - rise * rise));
}

long double reference_slope(const struct lb_linkage *linkage, long double angle) {
  struct arms a = arms_of(linkage);
  long double r = a.r, l = a.l;
  if (linkage->kind == LB_YOKE)
    return r * sinl(angle);
  if (linkage->kind == LB_SWINGING)
    return l * r * sinl(angle) / sqrtl(l * l + r * r - 2 * l * r * cosl(angle));
  long double phi = angle + asinl(a.e / (l + r)), rise = r * sinl(phi) - a.e;
  return r * sinl(phi) + rise * r * cosl(phi) / sqrtl(l * l - rise * rise);
}

long double reference_outward(const struct lb_linkage *linkage) {
  struct arms a = arms_of(linkage);
  long double half_turn = acosl(-1);
  if (linkage->kind != LB_CONNECTING_ROD)
    return half_turn;
  return half_turn + asinl(a.e / (a.l - a.r)) - asinl(a.e / (a.l + a.r));
}

/* Area of the piston at an end [m2]. */
static double area_of(const struct lb_machine *m, enum lb_end end) {
  double rod = end == LB_CAP_END ? m->through_rod_diameter : m->rod_diameter;
  return LB_PI * (m->bore * m->bore - rod * rod) / 4;
}

/* Crank angle of an end's own angle. */
static long double crank_of(const struct lb_machine *m, enum lb_end end, double angle) {
  return (long double)angle + (end == LB_CAP_END ? 0 : reference_outward(&m->linkage));
}

double reference_far(const struct lb_machine *machine, enum lb_end end) {
  long double outward = reference_outward(&machine->linkage);
  return (double)(end == LB_CAP_END ? outward : 2 * acosl(-1) - outward);
}

double reference_volume(const struct lb_machine *m, enum lb_end end, double angle) {
  long double travel = reference_travel(&m->linkage, crank_of(m, end, angle));
  long double away = end == LB_CAP_END ? travel : (long double)m->linkage.stroke - travel;
  return m->dead_volume[end] + area_of(m, end) * fmax(0, (double)away);
}

/* Volume where the exhaust closes. */
static double closing_volume(const struct lb_machine *m, enum lb_end end) {
  const struct lb_timing *t = &m->timing[end];
  bool with_inlet = t->inlet_opens + turn - t->exhaust_closes < together;
  return reference_volume(m, end, with_inlet ? t->inlet_opens : t->exhaust_closes);
}

double reference_pressure(const struct lb_machine *m, enum lb_end end, double cutoff,
                          double angle) {
  const struct lb_timing *t = &m->timing[end];
  double turns = floor((angle - t->inlet_opens) / turn), a = angle - turns * turn;
  if (a < cutoff)
    return m->supply_pressure;
  double volume = reference_volume(m, end, a);
  if (a < t->release)
    return m->supply_pressure *
           pow(reference_volume(m, end, cutoff) / volume, m->expansion_exponent);
  if (a < t->exhaust_closes)
    return m->back_pressure;
  if (volume == 0) /* nothing was trapped, or it would have been squeezed into nothing */
    return m->back_pressure;
  return m->back_pressure * pow(closing_volume(m, end) / volume, m->compression_exponent);
}

double reference_peak(const struct lb_machine *m, enum lb_end end) {
  const struct lb_timing *t = &m->timing[end];
  double least = fmin(reference_volume(m, end, t->inlet_opens), closing_volume(m, end));
  if (t->exhaust_closes < turn && t->inlet_opens > 0)
    least = m->dead_volume[end];
  double closing = closing_volume(m, end);
  return closing > least ? m->back_pressure * pow(closing / least, m->compression_exponent)
                         : m->back_pressure;
}

enum {
  BREAKS_MOST = 16 * LB_CYLINDERS_MOST,
  SUBDIVISIONS = 200
};

/* What an integrand needs; which members depends on it. */
struct integrand {
  const struct lb_machine *machine;
  const double *cutoff;
  enum lb_end end;
};

static int ascending(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Integral of f between neighbours of at[count]; `f` is smooth there. */
static double integrate(double (*f)(double, void *), struct integrand *context, double *at,
                        int count) {
  const double relative = 1e-13;
  gsl_function function = {f, context};
  gsl_integration_workspace *workspace = gsl_integration_workspace_alloc(SUBDIVISIONS);
  double sum = 0;
  qsort(at, (size_t)count, sizeof *at, ascending);
  for (int i = 1; i < count; i++) {
    double value = 0, error;
    if (at[i] - at[i - 1] > together * together)
      gsl_integration_qag(&function, at[i - 1], at[i], 0, relative, SUBDIVISIONS, GSL_INTEG_GAUSS61,
                          workspace, &value, &error);
    sum += value;
  }
  gsl_integration_workspace_free(workspace);
  return sum;
}

static double chamber_rate(double angle, void *context) {
  const struct integrand *i = context;
  const struct lb_machine *m = i->machine;
  double slope = (double)reference_slope(&m->linkage, crank_of(m, i->end, angle));
  double pressure = reference_pressure(m, i->end, *i->cutoff, angle);
  return (i->end == LB_CAP_END ? pressure : -pressure) * area_of(m, i->end) * slope;
}

double reference_work(const struct lb_machine *m, enum lb_end end, double cutoff) {
  const struct lb_timing *t = &m->timing[end];
  double far = reference_far(m, end), next = t->inlet_opens + turn;
  double at[] = {t->inlet_opens, cutoff, t->release, t->exhaust_closes, next};
  double all[8], inner[] = {0, far, turn};
  int count = 0;
  for (int i = 0; i < 5; i++)
    all[count++] = at[i];
  for (int i = 0; i < 3; i++)
    if (inner[i] > t->inlet_opens && inner[i] < next)
      all[count++] = inner[i];
  struct integrand context = {m, &cutoff, end};
  return integrate(chamber_rate, &context, all, count);
}

double reference_net_force(const struct lb_machine *m, const double *cutoff, double crank) {
  double force = 0;
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    double own = crank - (double)crank_of(m, end, 0);
    double pressure =
        m->works[i] ? reference_pressure(m, end, cutoff[i], own) : m->ambient_pressure;
    force += (end == LB_CAP_END ? 1 : -1) * (pressure - m->ambient_pressure) * area_of(m, end);
  }
  return force;
}

static double reduced(double angle) {
  return angle - floor(angle / turn) * turn;
}

/* Crank angles in one turn where the force of a cylinder that runs `behind` the first is not
 * smooth; appended to at[]. */
static int breaks(double *at, int count, const struct lb_machine *m, const double *cutoff,
                  double behind) {
  double outward = (double)reference_outward(&m->linkage);
  at[count++] = reduced(behind);
  at[count++] = reduced(behind + outward);
  for (int i = 0; i < LB_ENDS; i++) {
    const struct lb_timing *t = &m->timing[i];
    double base = behind + (i == LB_CAP_END ? 0 : outward);
    if (!m->works[i])
      continue;
    at[count++] = reduced(base + t->inlet_opens);
    at[count++] = reduced(base + cutoff[i]);
    at[count++] = reduced(base + t->release);
    at[count++] = reduced(base + t->exhaust_closes);
  }
  return count;
}

static double torque(double crank, void *context) {
  const struct integrand *i = context;
  double sum = 0;
  for (int k = 0; k < i->machine->cylinders; k++) {
    double own = crank - i->machine->crank_angle[k];
    sum += reference_net_force(i->machine, i->cutoff, own) *
           (double)reference_slope(&i->machine->linkage, (long double)own);
  }
  return sum;
}

double reference_machine_work(const struct lb_machine *m, const double *cutoff) {
  double at[BREAKS_MOST] = {0, turn};
  int count = 2;
  for (int k = 0; k < m->cylinders; k++)
    count = breaks(at, count, m, cutoff, m->crank_angle[k]);
  struct integrand context = {m, cutoff, LB_CAP_END};
  return integrate(torque, &context, at, count);
}

static double absolute_rate(double crank, void *context) {
  const struct integrand *i = context;
  return fabs(reference_net_force(i->machine, i->cutoff, crank) *
              (double)reference_slope(&i->machine->linkage, (long double)crank));
}

/* Where the force changes sign between two angles that stand on either side, by halving. */
static double change_of_sign(const struct integrand *i, double low, double high) {
  bool positive = reference_net_force(i->machine, i->cutoff, low) > 0;
  for (int step = 0; step < 60; step++) {
    double middle = (low + high) / 2;
    if ((reference_net_force(i->machine, i->cutoff, middle) > 0) == positive)
      low = middle;
    else
      high = middle;
  }
  return (low + high) / 2;
}

double reference_absolute_work(const struct lb_machine *m, const double *cutoff) {
  enum {
    SAMPLES = 16,
    SMOOTH_MOST = 16
  };
  double smooth[SMOOTH_MOST] = {0, turn}, at[SMOOTH_MOST * (SAMPLES + 1)];
  int count = breaks(smooth, 2, m, cutoff, 0), all = 0;
  struct integrand context = {m, cutoff, LB_CAP_END};
  qsort(smooth, (size_t)count, sizeof *smooth, ascending);
  for (int i = 0; i < count; i++) {
    at[all++] = smooth[i];
    double width = i + 1 < count ? smooth[i + 1] - smooth[i] : 0;
    for (int k = 0; width > together && k < SAMPLES; k++) {
      /* half a sample clear of the ends, where the pressure may jump */
      double low = smooth[i] + width * (k + 1e-9) / SAMPLES;
      double high = smooth[i] + width * (k + 1 - 1e-9) / SAMPLES;
      if (reference_net_force(m, cutoff, low) * reference_net_force(m, cutoff, high) < 0)
        at[all++] = change_of_sign(&context, low, high);
    }
  }
  return integrate(absolute_rate, &context, at, all);
}

/* The air in the chamber. */
struct gas {
  double pressure, volume, mass, temperature;
};

/* A stream over the border: mass and m T. */
struct stream {
  double mass, heat;
};

static void add(struct stream *s, double mass, double temperature) {
  s->mass += mass;
  s->heat += mass * temperature;
}

/* Piston moves to a volume at constant pressure with a port open: air enters at a temperature, or
 * leaves at the chamber's own. */
static void sweep(struct gas *g, double volume, double temperature, struct stream *in,
                  struct stream *out) {
  if (volume > g->volume) {
    double drawn = g->pressure * (volume - g->volume) / (LB_GAS_CONSTANT * temperature);
    add(in, drawn, temperature);
    g->mass += drawn;
    g->volume = volume;
    g->temperature = g->pressure * volume / (g->mass * LB_GAS_CONSTANT);
  } else if (volume < g->volume) {
    double left = g->mass * (volume / g->volume);
    add(out, g->mass - left, g->temperature);
    g->mass = left;
    g->volume = volume;
  }
}

/* A port opens at constant volume to a lower pressure: what stays expands along p V^n = const, so
 * its temperature goes with m^(n-1); the heat of what leaves is the integral of T dm. */
static void leave(struct gas *g, double pressure, double n, struct stream *out) {
  double left = g->mass * pow(pressure / g->pressure, 1 / n);
  gsl_integration_glfixed_table *rule = gsl_integration_glfixed_table_alloc(40);
  double heat = 0;
  for (size_t i = 0; i < 40; i++) {
    double mass, weight;
    gsl_integration_glfixed_point(left, g->mass, i, &mass, &weight, rule);
    heat += weight * g->temperature * pow(mass / g->mass, n - 1);
  }
  gsl_integration_glfixed_table_free(rule);
  out->mass += g->mass - left;
  out->heat += heat;
  g->temperature *= pow(left / g->mass, n - 1);
  g->mass = left;
  g->pressure = pressure;
}

/* A port opens at constant volume to a higher pressure: V dp = n R T_in dm. */
static void enter(struct gas *g, double pressure, double temperature, double n, struct stream *in) {
  double entered = g->volume * (pressure - g->pressure) / (n * LB_GAS_CONSTANT * temperature);
  add(in, entered, temperature);
  g->mass += entered;
  g->pressure = pressure;
  g->temperature = g->mass > 0 ? pressure * g->volume / (g->mass * LB_GAS_CONSTANT) : temperature;
}

/* Closed change of volume along p V^n = const. */
static void change(struct gas *g, double volume, double n) {
  if (g->mass > 0 && volume > 0) {
    g->temperature *= pow(g->volume / volume, n - 1);
    g->pressure *= pow(g->volume / volume, n);
  }
  g->volume = volume;
}

/* One chamber with its volumes where the piston turns and the valves act. */
struct march {
  const struct lb_machine *machine;
  double opening, cutoff, release, closing, near, far;
  bool admission_passes_near, admission_passes_far;
  bool exhaust_passes_far, exhaust_passes_near;
};

static struct march prepare(const struct lb_machine *m, enum lb_end end, double cutoff) {
  const struct lb_timing *t = &m->timing[end];
  double far = reference_far(m, end);
  return (struct march){.machine = m,
                        .opening = reference_volume(m, end, t->inlet_opens),
                        .cutoff = reference_volume(m, end, cutoff),
                        .release = reference_volume(m, end, t->release),
                        .closing = closing_volume(m, end),
                        .near = m->dead_volume[end],
                        .far = reference_volume(m, end, far),
                        .admission_passes_near =
                            t->inlet_opens<0, .admission_passes_far = cutoff> far,
                        .exhaust_passes_far = t->release < far && t->exhaust_closes > far,
                        .exhaust_passes_near = t->exhaust_closes > turn};
}

/* From the exhaust's closing to cut-off. */
static void fill(struct reference_air *a, struct gas *g, const struct march *h, struct stream *in,
                 struct stream *out) {
  const struct lb_machine *m = h->machine;
  double p_s = m->supply_pressure, t_s = m->supply_temperature;
  struct stream filled = {0}, admitted = {0}, pushed = {0};
  change(g, h->opening, m->compression_exponent);
  a->trapped = g->mass;
  a->trap_temperature = g->temperature;
  a->trap_pressure = g->pressure;
  if (g->pressure > p_s) {
    leave(g, p_s, m->expansion_exponent, out);
    a->filling = -out->mass;
  } else {
    enter(g, p_s, t_s, m->expansion_exponent, &filled);
    a->filling = filled.mass;
  }
  a->filled_temperature = g->temperature;
  if (h->admission_passes_near)
    sweep(g, h->near, t_s, &admitted, &pushed);
  if (h->admission_passes_far)
    sweep(g, h->far, t_s, &admitted, &pushed);
  sweep(g, h->cutoff, t_s, &admitted, &pushed);
  a->admitted = admitted.mass;
  a->pushed_back = pushed.mass;
  a->held = g->mass;
  a->cutoff_temperature = g->temperature;
  in->heat += filled.heat + admitted.heat;
  in->mass += filled.mass + admitted.mass;
  out->heat += pushed.heat;
  out->mass += pushed.mass;
}

/* From cut-off to the exhaust's closing. */
static void empty(struct reference_air *a, struct gas *g, const struct march *h, struct stream *in,
                  struct stream *out) {
  const struct lb_machine *m = h->machine;
  double p_e = m->back_pressure, t_a = m->ambient_temperature, n = m->expansion_exponent;
  change(g, h->release, n);
  a->release_temperature = g->temperature;
  a->release_pressure = g->pressure;
  if (g->pressure > p_e)
    leave(g, p_e, n, out);
  else
    enter(g, p_e, t_a, n, in);
  double before = h->exhaust_passes_far                                ? h->far
                  : h->closing > h->release && !h->exhaust_passes_near ? h->closing
                                                                       : h->release;
  sweep(g, before, t_a, in, out);
  a->exhaust_temperature = g->temperature;
  if (h->exhaust_passes_near)
    sweep(g, h->near, t_a, in, out);
  sweep(g, h->closing, t_a, in, out);
}

static void revolve(struct reference_air *a, struct gas *g, const struct march *h) {
  struct stream drawn = {0}, back = {0}, outside = {0}, outgoing = {0};
  fill(a, g, h, &drawn, &back);
  empty(a, g, h, &outside, &outgoing);
  a->outside = outside.mass;
  a->outgoing = outgoing.mass;
  a->outgoing_temperature =
      outgoing.mass > 0 ? outgoing.heat / outgoing.mass : a->exhaust_temperature;
  a->enthalpy_in = LB_CP * (drawn.heat + outside.heat);
  a->enthalpy_out = LB_CP * (back.heat + outgoing.heat);
}

struct reference_air reference_march(const struct lb_machine *m, enum lb_end end, double cutoff) {
  const int most = 20000;
  const double settled = 1e-15;
  struct march h = prepare(m, end, cutoff);
  struct reference_air a = {0};
  struct gas g = {
      .pressure = m->back_pressure, .volume = h.closing, .temperature = m->ambient_temperature};
  g.mass = g.pressure * g.volume / (LB_GAS_CONSTANT * g.temperature);
  for (a.revolutions = 1; a.revolutions < most && !a.periodic; a.revolutions++) {
    double before = g.mass;
    revolve(&a, &g, &h);
    a.periodic = fabs(g.mass - before) <= settled * a.held;
  }
  return a;
}
