/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slow cycle from its first principles, and its best cut-offs.
 */
#include "reference.h"

#include "base/constants.h"

#include <float.h>
#include <math.h>

_Static_assert(LDBL_MANT_DIG >= 64, "the reference needs a long double finer than double");

/* Revolutions after which the air repeats itself: what is left of an error shrinks tenfold each. */
static const int revolutions = 30;
/* Halvings that bring a bracket of any length down to rounding. */
static const int halvings = 70;
/* Step of the differences [rad]: its sixth power, and rounding over it, are below 1e-15. */
static const long double difference_step = 2e-3L;
/* The search by sections: rounds over both ends, sections each; it leaves some 1e-4 rad. */
static const int rounds = 3, sections = 24;
/* Newton steps after it; the error falls a millionfold each until differences limit it. */
static const int newton_steps = 6;

enum {
  EVENTS = 2 * 4 + 3 /* four of each end; the dead centres, the first of them twice */
};

/* One end: its volumes at the events [m3] and the angles [rad]. */
struct side {
  long double area, dead, opening, release, closing;
  long double inlet_opens, release_angle, closing_angle;
};

struct engine {
  const struct lb_machine *machine;
  long double pi;
  long double supply, back, outside;     /* pressures [Pa absolute] */
  long double supply_warmth, air_warmth; /* temperatures of supply and surroundings [K] */
  long double exponent;                  /* n [1] */
  long double radius, pivot;             /* of the crank; from its centre to the pivot [m] */
  long double friction, friction_share;  /* [N] of a cylinder, [1] */
  struct side side[LB_ENDS];
};

/* Law of cosines in the triangle crank centre - pivot - pin. */
static long double travel(const struct engine *e, long double crank) {
  long double r = e->radius, d = e->pivot;
  return sqrtl(d * d + r * r - 2 * d * r * cosl(crank)) - (d - r);
}

static long double volume_at(const struct engine *e, int end, long double x) {
  const struct side *s = &e->side[end];
  return s->dead + s->area * (end == LB_CAP_END ? x : 2 * e->radius - x);
}

/* At an angle from the end's own dead centre. */
static long double volume(const struct engine *e, int end, long double angle) {
  return volume_at(e, end, travel(e, end == LB_CAP_END ? angle : e->pi + angle));
}

static void set_up(struct engine *e, const struct lb_machine *m) {
  *e = (struct engine){.machine = m,
                       .pi = 2 * asinl(1),
                       .supply = (long double)m->supply_pressure,
                       .back = (long double)m->back_pressure,
                       .outside = (long double)m->ambient_pressure,
                       .supply_warmth = (long double)m->supply_temperature,
                       .air_warmth = (long double)m->ambient_temperature,
                       .exponent = (long double)m->expansion_exponent,
                       .radius = (long double)m->linkage.stroke / 2,
                       .pivot = (long double)m->linkage.length,
                       .friction = (long double)m->friction,
                       .friction_share = (long double)m->friction_share};
  for (int i = 0; i < LB_ENDS; i++) {
    struct side *s = &e->side[i];
    long double bore = (long double)m->bore;
    long double rod = (long double)(i == LB_CAP_END ? m->through_rod_diameter : m->rod_diameter);
    s->area = e->pi / 4 * (bore * bore - rod * rod);
    s->dead = (long double)m->dead_volume[i];
    s->inlet_opens = (long double)m->timing[i].inlet_opens;
    s->release_angle = (long double)m->timing[i].release;
    s->closing_angle = (long double)m->timing[i].exhaust_closes;
    s->opening = volume(e, i, s->inlet_opens);
    s->release = volume(e, i, s->release_angle);
    s->closing = volume(e, i, s->closing_angle);
  }
}

static long double trapped_pressure(const struct engine *e, const struct side *s) {
  return e->back * powl(s->closing / s->opening, e->exponent);
}

static bool of_its_kind(const struct engine *e) {
  const struct lb_machine *m = e->machine;
  bool is = m->linkage.kind == LB_SWINGING && m->expansion_exponent == m->compression_exponent &&
            m->expansion_exponent > 1;
  for (int i = 0; i < LB_ENDS; i++) {
    const struct side *s = &e->side[i];
    is = is && m->works[i] && s->inlet_opens < 0 && s->release_angle < e->pi &&
         s->closing_angle > e->pi && s->closing_angle < 2 * e->pi + s->inlet_opens &&
         trapped_pressure(e, s) < e->supply;
  }
  return is;
}

/* Work of an end on the piston [J]: admission, expansion, exhaust, compression. */
static long double work_of(const struct engine *e, const struct side *s, long double cutoff) {
  long double n = e->exponent, p_r = e->supply * powl(cutoff / s->release, n);
  return e->supply * (cutoff - s->opening) + (e->supply * cutoff - p_r * s->release) / (n - 1) +
         e->back * (s->closing - s->release) +
         (e->back * s->closing - trapped_pressure(e, s) * s->opening) / (n - 1);
}

/* Air drawn in a revolution that repeats itself [kg]; masses are carried as R m [J/K]. */
static long double air_of(const struct engine *e, int end, long double cutoff) {
  const struct side *s = &e->side[end];
  long double n = e->exponent, drawn = 0, closing = e->air_warmth;
  long double filling = s->opening * (e->supply - trapped_pressure(e, s)) / (n * e->supply_warmth);
  long double admitted = e->supply * (cutoff - s->dead) / e->supply_warmth;
  long double p_r = e->supply * powl(cutoff / s->release, n);
  long double far = volume(e, end, e->pi);
  for (int i = 0; i < revolutions; i++) {
    long double filled = e->back * s->closing / closing + filling;
    long double pushed_back = filled * (s->opening - s->dead) / s->opening;
    long double held = filled - pushed_back + admitted;
    drawn = filling - pushed_back + admitted;
    if (p_r > e->back)
      held *= powl(e->back / p_r, 1 / n);
    else
      held += s->release * (e->back - p_r) / (n * e->air_warmth);
    held += e->back * (far - s->release) / e->air_warmth;
    closing = e->back * far / held;
  }
  return drawn / (long double)LB_GAS_CONSTANT;
}

/* p V^n = const through a known state, or a constant pressure where the volume is 0. */
struct law {
  long double pressure, volume;
};

static struct law law_at(const struct engine *e, int end, const long double *cutoff,
                         long double crank) {
  const struct side *s = &e->side[end];
  long double angle = crank - (end == LB_CAP_END ? 0 : e->pi);
  while (angle < s->inlet_opens)
    angle += 2 * e->pi;
  while (angle >= s->inlet_opens + 2 * e->pi)
    angle -= 2 * e->pi;
  if (angle < cutoff[end])
    return (struct law){e->supply, 0};
  if (angle < s->release_angle)
    return (struct law){e->supply, volume(e, end, cutoff[end])};
  if (angle < s->closing_angle)
    return (struct law){e->back, 0};
  return (struct law){e->back, s->closing};
}

/* Net gas force at a travel [N]. */
static long double net(const struct engine *e, const struct law *law, long double x) {
  long double force[LB_ENDS];
  for (int i = 0; i < LB_ENDS; i++) {
    long double p = law[i].pressure;
    if (law[i].volume > 0)
      p *= powl(law[i].volume / volume_at(e, i, x), e->exponent);
    force[i] = (p - e->outside) * e->side[i].area;
  }
  return force[LB_CAP_END] - force[LB_ROD_END];
}

/* Its integral from one travel to another [N m]. */
static long double net_work(const struct engine *e, const struct law *law, long double from,
                            long double to) {
  long double sum = 0;
  for (int i = 0; i < LB_ENDS; i++) {
    long double v1 = volume_at(e, i, from), v2 = volume_at(e, i, to), v0 = law[i].volume;
    long double k = e->exponent - 1;
    sum -= e->outside * (v2 - v1);
    if (v0 > 0)
      sum += law[i].pressure * v0 * (powl(v0 / v1, k) - powl(v0 / v2, k)) / k;
    else
      sum += law[i].pressure * (v2 - v1);
  }
  return sum;
}

/* The integral of |net force| between two travels; with the laws kept it has one root at most. */
static long double stretch(const struct engine *e, const struct law *law, long double from,
                           long double to) {
  long double low = from, high = to;
  bool rising = net(e, law, from) < 0;
  if (rising == (net(e, law, to) < 0))
    return fabsl(net_work(e, law, from, to));
  for (int i = 0; i < halvings; i++) {
    long double middle = (low + high) / 2;
    if ((net(e, law, middle) < 0) == rising)
      low = middle;
    else
      high = middle;
  }
  return fabsl(net_work(e, law, from, low)) + fabsl(net_work(e, law, low, to));
}

/* The crank angles at which anything begins or ends, in order. */
static void events_of(const struct engine *e, const long double *cutoff, long double *event) {
  int count = 0;
  event[count++] = 0;
  event[count++] = e->pi;
  event[count++] = 2 * e->pi;
  for (int i = 0; i < LB_ENDS; i++) {
    const struct side *s = &e->side[i];
    long double own[] = {s->inlet_opens, cutoff[i], s->release_angle, s->closing_angle};
    for (int k = 0; k < 4; k++)
      event[count++] = fmodl(own[k] + (i == LB_CAP_END ? 2 : 3) * e->pi, 2 * e->pi);
  }
  for (int i = 1; i < EVENTS; i++)
    for (int k = i; k > 0 && event[k] < event[k - 1]; k--) {
      long double later = event[k - 1];
      event[k - 1] = event[k];
      event[k] = later;
    }
}

/* The integral of |net force| over the travel of a revolution [N m]. */
static long double absolute_work(const struct engine *e, const long double *cutoff) {
  long double event[EVENTS], sum = 0;
  events_of(e, cutoff, event);
  for (int i = 1; i < EVENTS; i++) {
    long double middle = (event[i - 1] + event[i]) / 2;
    struct law law[LB_ENDS] = {law_at(e, LB_CAP_END, cutoff, middle),
                               law_at(e, LB_ROD_END, cutoff, middle)};
    sum += stretch(e, law, travel(e, event[i - 1]), travel(e, event[i]));
  }
  return sum;
}

/* W/m [J/kg]. */
static long double worth(const struct engine *e, const long double *cutoff) {
  long double work = -4 * e->radius * e->friction, air = 0;
  if (e->friction_share > 0)
    work -= e->friction_share * absolute_work(e, cutoff);
  for (int i = 0; i < LB_ENDS; i++) {
    long double v = volume(e, i, cutoff[i]);
    work += work_of(e, &e->side[i], v);
    air += air_of(e, i, v);
  }
  return work / air;
}

static long double worth_beside(const struct engine *e, const long double *cutoff,
                                long double first, long double second) {
  long double beside[LB_ENDS] = {cutoff[0] + first, cutoff[1] + second};
  return worth(e, beside);
}

/* Golden sections over one end's cut-off, the other held. */
static void climb(const struct engine *e, long double *cutoff, int end) {
  const long double golden = (sqrtl(5) - 1) / 2;
  long double low = 0, high = e->side[end].release_angle;
  for (int i = 0; i < sections; i++) {
    long double early = high - golden * (high - low), late = low + golden * (high - low);
    cutoff[end] = early;
    long double at_early = worth(e, cutoff);
    cutoff[end] = late;
    if (worth(e, cutoff) > at_early)
      low = early;
    else
      high = late;
  }
  cutoff[end] = (low + high) / 2;
}

/* d(W/m) by an end's cut-off from six values. */
static long double slope(const struct engine *e, const long double *cutoff, int end,
                         long double step) {
  const long double weight[] = {45, -9, 1};
  long double sum = 0;
  for (int k = 1; k <= 3; k++) {
    long double first = end == 0 ? k * step : 0, second = end == 1 ? k * step : 0;
    sum += weight[k - 1] *
           (worth_beside(e, cutoff, first, second) - worth_beside(e, cutoff, -first, -second));
  }
  return sum / (60 * step);
}

/* The step to where both slopes vanish, with second derivatives by differences. */
static void newton(const struct engine *e, const long double *cutoff, long double h,
                   long double *step) {
  long double g0 = slope(e, cutoff, 0, h), g1 = slope(e, cutoff, 1, h);
  long double middle = worth(e, cutoff), square = h * h;
  long double a = worth_beside(e, cutoff, h, 0) + worth_beside(e, cutoff, -h, 0) - 2 * middle;
  long double d = worth_beside(e, cutoff, 0, h) + worth_beside(e, cutoff, 0, -h) - 2 * middle;
  long double b = (worth_beside(e, cutoff, h, h) + worth_beside(e, cutoff, -h, -h) -
                   worth_beside(e, cutoff, h, -h) - worth_beside(e, cutoff, -h, h)) /
                  4;
  long double determinant = a * d - b * b;
  step[0] = (b * g1 - d * g0) * square / determinant;
  step[1] = (b * g0 - a * g1) * square / determinant;
}

static void economy(struct reference *r, const struct engine *e) {
  long double step[LB_ENDS], *x = r->economy;
  x[LB_CAP_END] = x[LB_ROD_END] = e->pi / 2;
  for (int i = 0; i < rounds * LB_ENDS; i++)
    climb(e, x, i % LB_ENDS);
  for (int i = 0; i < newton_steps; i++) {
    newton(e, x, difference_step, step);
    x[0] += step[0];
    x[1] += step[1];
  }
  r->work_per_kg = worth(e, x);
  newton(e, x, difference_step / 2, step);
  r->doubt = fmaxl(fabsl(step[0]), fabsl(step[1]));
}

/* V_c = V_r (p_e/p_s)^(1/n), and back from the travel by the law of cosines with half angles. */
static long double atmospheric(const struct engine *e, int end) {
  const struct side *s = &e->side[end];
  long double r = e->radius, d = e->pivot;
  long double x = (s->release * powl(e->back / e->supply, 1 / e->exponent) - s->dead) / s->area;
  long double from_cap = end == LB_CAP_END ? x : 2 * r - x;
  long double reach = from_cap + d - r;
  long double sine = sqrtl((reach - (d - r)) * (reach + (d - r)) / (4 * d * r));
  return end == LB_CAP_END ? 2 * asinl(sine) : e->pi - 2 * asinl(sine);
}

bool reference_find(struct reference *reference, const struct lb_machine *machine) {
  struct engine e;
  set_up(&e, machine);
  if (!of_its_kind(&e))
    return false;
  for (int i = 0; i < LB_ENDS; i++)
    reference->atmospheric[i] = atmospheric(&e, i);
  economy(reference, &e);
  return true;
}
