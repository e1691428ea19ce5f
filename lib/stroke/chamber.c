/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slow revolution of one chamber.
 *
 * Masses appear as R m = p V / T [J/K]. Invariants: air drawn plus outside air drawn in equals air
 * that leaves; with equal exponents n = gamma the first law closes.
 */
#include "stroke/chamber.h"

#include "base/constants.h"
#include "physics/air.h"

#include <math.h>
#include <stdbool.h>

/* Temperatures beyond which a result with unequal exponents is not believed [K]: air is no gas
 * below the first, and no bench machine reaches the second. */
static const double coldest_believed = 100, hottest_believed = 600;

/* The greatest exponent taken [1]: that of a gas of single atoms, beyond any air. */
static const double exponent_most = 1.67;

/* Outside air up to this share of what the chamber holds is the rounding of two volumes [1]. */
static const double traces = 1e-12;

static bool positive(double value) {
  return value > 0 && isfinite(value);
}

static bool volumes_valid(const struct lb_volumes *v) {
  const double any[] = {v->opening, v->filled,    v->exhausting,
                        v->closing, v->swept_out, v->trapped_least};
  for (size_t i = 0; i < sizeof any / sizeof any[0]; i++)
    if (!(any[i] >= 0 && isfinite(any[i])))
      return false;
  return positive(v->release);
}

static bool conditions_valid(const struct lb_conditions *c) {
  return positive(c->supply_pressure) && positive(c->supply_temperature) &&
         positive(c->back_pressure) && positive(c->outside_temperature) &&
         c->expansion_exponent >= 1 && c->expansion_exponent <= exponent_most &&
         c->compression_exponent >= 1 && c->compression_exponent <= exponent_most;
}

/* Trapped air from V_k to V_o: p_1 = p_e (V_k/V_o)^n2. What stays of it when the inlet opens is all
 * of it, R m_1 = p_e V_k/T_e, or, above supply pressure, what an isentropic blow-back leaves:
 * R m_1 (p_s/p_1)^(1/n). Filling from below: R m_f = V_o (p_s - p_1)/(n T_s). */
static void trap(struct lb_chamber *h) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  h->residual = c->back_pressure * v->closing;
  if (v->closing == 0 || v->opening == 0) {
    h->compression_pressure = v->opening == 0 ? c->back_pressure : 0;
    h->peak_pressure = c->back_pressure;
    h->compression_work = 0;
  } else {
    h->compression_work = lb_air_polytropic_work(&h->compression_pressure, c->back_pressure,
                                                 v->closing, v->opening, c->compression_exponent);
    h->peak_pressure = v->trapped_least == v->opening
                           ? h->compression_pressure
                           : lb_air_polytropic_pressure(c->back_pressure, v->closing,
                                                        v->trapped_least, c->compression_exponent);
  }
  double excess = c->supply_pressure - h->compression_pressure;
  if (excess >= 0)
    h->filling = v->opening * excess / (c->expansion_exponent * c->supply_temperature);
  else
    h->residual *= pow(c->supply_pressure / h->compression_pressure, 1 / c->expansion_exponent);
}

enum lb_status lb_chamber_prepare(struct lb_chamber *chamber,
                                  const struct lb_conditions *conditions,
                                  const struct lb_volumes *volumes, struct lb_error *error) {
  if (!conditions_valid(conditions))
    return lb_error_set(error, LB_BAD_INPUT,
                        "pressures and temperatures must be above 0 and exponents from 1 to 1.67");
  if (!volumes_valid(volumes))
    return lb_error_set(error, LB_BAD_INPUT,
                        "volumes must be finite and not negative, and there must be room at "
                        "release");
  if (volumes->closing > 0 && (volumes->opening == 0 || volumes->trapped_least == 0))
    return lb_error_set(error, LB_BAD_INPUT,
                        "air trapped when the exhaust closes would be compressed into no volume "
                        "at all; give the dead volume, or let the exhaust close at dead centre");
  struct lb_chamber h = {.conditions = *conditions, .volumes = *volumes};
  trap(&h);
  h.kept = volumes->opening > 0 ? volumes->filled / volumes->opening : 1;
  h.blow_down = pow(conditions->supply_pressure / conditions->back_pressure,
                    (conditions->expansion_exponent - 1) / conditions->expansion_exponent);
  *chamber = h;
  return LB_OK;
}

/* 1/T_k = alpha/T_c + beta, from cut-off (or the greatest volume before it) to exhaust closing. */
struct mixing {
  double alpha;                   /* [1] */
  double beta;                    /* [1/K] */
  double alpha_slope, beta_slope; /* d/dV_c [1/m3], [1/(K m3)] */
};

/* Blow-down to back pressure, or outside air let in up to it; then outside air drawn in while the
 * chamber still grows, and again while it grows with the exhaust open after the near dead centre.
 */
static struct mixing mix(const struct lb_chamber *h, double cutoff, double release_pressure) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double n = c->expansion_exponent;
  struct mixing m = {.alpha = h->blow_down};
  if (release_pressure < c->back_pressure) {
    double unit = c->supply_pressure / (c->back_pressure * v->release);
    double outside = n * c->back_pressure * c->outside_temperature;
    m.alpha = unit * cutoff;
    m.alpha_slope = unit;
    m.beta = (c->back_pressure - release_pressure) / outside;
    m.beta_slope = -n * release_pressure / (cutoff * outside);
  }
  double kept = v->release / v->exhausting;
  if (v->closing > v->swept_out)
    kept *= v->swept_out / v->closing;
  m.alpha *= kept;
  m.alpha_slope *= kept;
  m.beta = m.beta * kept + (1 - kept) / c->outside_temperature;
  m.beta_slope *= kept;
  return m;
}

/* The periodic balance at the greatest volume V_m of admission, R m_m = p_s V_m/T_c:
 *   1/T_c = [K (r beta + F) + p_s (V_m - V_a)/T_s] / [p_s V_m - K r alpha],
 * K = V_a/V_o kept after lead, r = residual, F = filling. */
static double balance(const struct lb_chamber *h, const struct mixing *m, double greatest,
                      double *numerator, double *denominator) {
  const struct lb_conditions *c = &h->conditions;
  *numerator = h->kept * (h->residual * m->beta + h->filling) +
               c->supply_pressure * (greatest - h->volumes.filled) / c->supply_temperature;
  *denominator = c->supply_pressure * greatest - h->kept * h->residual * m->alpha;
  return *numerator / *denominator;
}

/* Work from the inlet's opening round to it again; p_r as a by-product. */
static double work_of(const struct lb_chamber *h, double cutoff, double *release_pressure) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double expansion = lb_air_polytropic_work(release_pressure, c->supply_pressure, cutoff,
                                            v->release, c->expansion_exponent);
  return c->supply_pressure * (cutoff - v->opening) + expansion +
         c->back_pressure * (v->closing - v->release) + h->compression_work;
}

/* Temperatures from that at cut-off on; masses on the way. */
static void fill_turn(struct lb_turn *t, const struct lb_chamber *h, double greatest, double cutoff,
                      double inverse_cutoff, const struct mixing *m) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double p_s = c->supply_pressure, p_e = c->back_pressure, n = c->expansion_exponent;
  double inverse_closing = m->alpha * inverse_cutoff + m->beta; /* 1/T at exhaust closing */
  double opened = h->residual * inverse_closing + h->filling;   /* R m after filling */
  double trapped = p_e * v->closing * inverse_closing;          /* R m_1 */
  t->cutoff_temperature = 1 / inverse_cutoff;
  t->closing_temperature = 1 / inverse_closing;
  t->release_temperature =
      t->cutoff_temperature * t->release_pressure * v->release / (p_s * cutoff);
  t->compression_temperature = trapped > 0 && h->compression_pressure > 0
                                   ? h->compression_pressure * v->opening / trapped
                                   : c->supply_temperature;
  t->filled_temperature = opened > 0 ? p_s * v->opening / opened : c->supply_temperature;
  t->filling_air = (opened - trapped) / LB_GAS_CONSTANT;
  t->admitted_air = p_s * (greatest - v->filled) / (LB_GAS_CONSTANT * c->supply_temperature);
  t->pushed_back_air =
      ((1 - h->kept) * opened + p_s * (greatest - cutoff) * inverse_cutoff) / LB_GAS_CONSTANT;
  t->air = t->filling_air + t->admitted_air - t->pushed_back_air;
  t->cutoff_air = p_s * cutoff * inverse_cutoff / LB_GAS_CONSTANT;
  double outside = p_e * (v->exhausting - v->release + v->closing - v->swept_out);
  if (t->release_pressure < p_e)
    outside += v->release * (p_e - t->release_pressure) / n;
  t->outside_air = outside / (LB_GAS_CONSTANT * c->outside_temperature);
}

/* The air in the cylinder while it is swept out, and the stream that leaves: blow-down carries
 * integral T dm = V_r (p_r - p_e)/(n R), sweeping out p_e (V_z - V_y)/R at T_e. */
static void exhaust(struct lb_turn *t, const struct lb_chamber *h, double cutoff,
                    double inverse_cutoff) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double p_e = c->back_pressure, n = c->expansion_exponent, p_r = t->release_pressure;
  double blown = fmax(0, p_r - p_e) * v->release / n;         /* R integral T dm of the blow-down */
  double held = c->supply_pressure * cutoff * inverse_cutoff; /* R m at release */
  double left = p_r > p_e ? p_e * v->release * h->blow_down * inverse_cutoff
                          : held + (p_e - p_r) * v->release / (n * c->outside_temperature);
  double drawn = p_e * (v->exhausting - v->release) / c->outside_temperature;
  double inverse_exhaust = (left + drawn) / (p_e * v->exhausting);
  double swept = p_e * (v->exhausting - v->swept_out);
  double leaving = (p_r > p_e ? held - left : 0) + swept * inverse_exhaust;
  t->exhaust_temperature = 1 / inverse_exhaust;
  t->outgoing_temperature = leaving > 0 ? (blown + swept) / leaving : t->exhaust_temperature;
}

static unsigned flags_of(const struct lb_turn *t, const struct lb_chamber *h) {
  unsigned flags = 0;
  if (h->peak_pressure > h->conditions.supply_pressure)
    flags |= LB_OVER_COMPRESSION;
  if (t->pushed_back_air > 0 || t->filling_air < 0)
    flags |= LB_PUSH_BACK;
  if (t->outside_air > traces * t->cutoff_air)
    flags |= LB_IN_FLOW;
  if (t->release_pressure < h->conditions.back_pressure)
    flags |= LB_NEGATIVE_LOOP;
  return flags;
}

/* Unequal exponents need not fit one gas: what would make work or mass from nothing is refused. */
static enum lb_status believed(const struct lb_turn *t, const struct lb_conditions *c,
                               struct lb_error *error) {
  const double temperature[] = {t->compression_temperature, t->filled_temperature,
                                t->cutoff_temperature, t->release_temperature,
                                t->exhaust_temperature};
  double hottest = fmax(c->supply_temperature, c->outside_temperature);
  for (size_t i = 0; i < sizeof temperature / sizeof temperature[0]; i++) {
    if (!(temperature[i] >= coldest_believed && temperature[i] <= hottest_believed))
      return lb_error_set(error, LB_NO_ANSWER,
                          "with the exponents %g and %g the air would reach %.0f K, outside "
                          "%.0f ... %.0f K; exponents closer to each other would do",
                          c->expansion_exponent, c->compression_exponent, temperature[i],
                          coldest_believed, hottest_believed);
    hottest = fmax(hottest, temperature[i]);
  }
  double ideal = lb_air_isothermal_ideal(hottest, c->supply_pressure, c->back_pressure);
  if (!(t->air > 0) || t->work > ideal * t->air * (1 + 1e-9))
    return lb_error_set(error, LB_NO_ANSWER,
                        "with the exponents %g and %g the machine would do more work than its air "
                        "holds (%.4g J from %.4g g); exponents closer to each other would do",
                        c->expansion_exponent, c->compression_exponent, t->work, t->air * 1e3);
  return LB_OK;
}

enum lb_status lb_chamber_turn(struct lb_turn *turn, const struct lb_chamber *chamber,
                               double greatest, double cutoff, struct lb_error *error) {
  const struct lb_conditions *c = &chamber->conditions;
  if (!(cutoff > 0))
    return lb_error_set(error, LB_NO_ANSWER,
                        "the inlet closes at dead centre, where there is no volume: no air is "
                        "closed in; a later cut-off would do");
  struct lb_turn t = {.compression_pressure = chamber->compression_pressure,
                      .peak_pressure = chamber->peak_pressure};
  t.work = work_of(chamber, cutoff, &t.release_pressure);
  struct mixing mixing = mix(chamber, cutoff, t.release_pressure);
  double numerator, denominator;
  double inverse = balance(chamber, &mixing, greatest, &numerator, &denominator);
  if (!(numerator > 0 && denominator > 0))
    return lb_error_set(error, LB_NO_ANSWER,
                        "with the exponents %g and %g no state repeats itself from one revolution "
                        "to the next; exponents closer to each other would do",
                        c->expansion_exponent, c->compression_exponent);
  fill_turn(&t, chamber, greatest, cutoff, inverse, &mixing);
  exhaust(&t, chamber, cutoff, inverse);
  t.flags = flags_of(&t, chamber);
  if (c->expansion_exponent != c->compression_exponent) {
    enum lb_status status = believed(&t, c, error);
    if (status != LB_OK)
      return status;
  }
  *turn = t;
  return LB_OK;
}

void lb_chamber_margin(struct lb_margin *margin, const struct lb_chamber *chamber, double cutoff) {
  const struct lb_conditions *c = &chamber->conditions;
  const struct lb_volumes *v = &chamber->volumes;
  double p_s = c->supply_pressure, n = c->expansion_exponent;
  margin->work = work_of(chamber, cutoff, &margin->release_pressure);
  /* dW/dV_c = p_s + dE/dV_c with E the expansion's work: E = p_s V_c f(V_c/V_r), and V_r dp_r/dV_c
   * = n p_r V_r/V_c, so dE/dV_c = (n E/V_c) - p_s; hence dW/dV_c = n E/V_c. */
  double expansion = margin->work - p_s * (cutoff - v->opening) -
                     c->back_pressure * (v->closing - v->release) - chamber->compression_work;
  margin->work_per_volume = n * expansion / cutoff;
  struct mixing m = mix(chamber, cutoff, margin->release_pressure);
  double numerator, denominator;
  double inverse = balance(chamber, &m, cutoff, &numerator, &denominator);
  double numerator_slope =
      chamber->kept * chamber->residual * m.beta_slope + p_s / c->supply_temperature;
  double denominator_slope = p_s - chamber->kept * chamber->residual * m.alpha_slope;
  double inverse_slope = (numerator_slope - inverse * denominator_slope) / denominator;
  double closing = m.alpha * inverse + m.beta; /* 1/T at exhaust closing */
  double closing_slope = m.alpha * inverse_slope + m.alpha_slope * inverse + m.beta_slope;
  /* R m = K (residual/T_k + F) - p_e V_k/T_k + p_s (V_c - V_a)/T_s */
  double per_closing = chamber->kept * chamber->residual - c->back_pressure * v->closing;
  margin->air = (per_closing * closing + chamber->kept * chamber->filling +
                 p_s * (cutoff - v->filled) / c->supply_temperature) /
                LB_GAS_CONSTANT;
  margin->air_per_volume =
      (per_closing * closing_slope + p_s / c->supply_temperature) / LB_GAS_CONSTANT;
}

/* A value with its rate. */
struct dual {
  double value, rate;
};

static double relative(double rate, double value) {
  return value > 0 ? rate / value : 0;
}

/* What trap() finds, differentiated: residual, filling, kept. */
static void trap_rates(const struct lb_chamber *h, const struct lb_chamber_rates *d,
                       struct dual *residual, struct dual *filling, struct dual *kept) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double n = c->expansion_exponent, p_1 = h->compression_pressure;
  double opening = relative(d->volumes.opening, v->opening);
  double closing = relative(d->volumes.closing, v->closing);
  double p_1_rate =
      v->closing > 0 && v->opening > 0 ? c->compression_exponent * p_1 * (closing - opening) : 0;
  *residual = (struct dual){h->residual, c->back_pressure * d->volumes.closing};
  *filling = (struct dual){h->filling, 0};
  if (p_1 <= c->supply_pressure)
    filling->rate = (d->volumes.opening * (c->supply_pressure - p_1) +
                     v->opening * (d->supply_pressure - p_1_rate)) /
                    (n * c->supply_temperature);
  else
    residual->rate =
        h->residual * (closing + (d->supply_pressure / c->supply_pressure - p_1_rate / p_1) / n);
  *kept = (struct dual){h->kept, 0};
  if (v->opening > 0)
    kept->rate = d->volumes.filled / v->opening - h->kept * opening;
}

/* What mix() finds, differentiated. */
static void mix_rates(const struct lb_chamber *h, const struct lb_chamber_rates *d, double cutoff,
                      struct dual release_pressure, struct dual *alpha, struct dual *beta) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double n = c->expansion_exponent, p_e = c->back_pressure, t_a = c->outside_temperature;
  double supply = d->supply_pressure / c->supply_pressure;
  double kept = v->release / v->exhausting;
  double kept_rate =
      kept * (d->volumes.release / v->release - d->volumes.exhausting / v->exhausting);
  if (v->closing > v->swept_out) {
    double rest = v->swept_out / v->closing;
    double rest_rate = (d->volumes.swept_out - rest * d->volumes.closing) / v->closing;
    kept_rate = kept_rate * rest + kept * rest_rate;
    kept *= rest;
  }
  double before = h->blow_down, before_rate = before * (n - 1) / n * supply;
  double outside = 0, outside_rate = 0;
  if (release_pressure.value < p_e) {
    before = c->supply_pressure * cutoff / (p_e * v->release);
    before_rate = before * (supply + d->cutoff / cutoff - d->volumes.release / v->release);
    outside = (p_e - release_pressure.value) / (n * p_e * t_a);
    outside_rate = -release_pressure.rate / (n * p_e * t_a);
  }
  *alpha = (struct dual){before * kept, kept * before_rate + before * kept_rate};
  *beta = (struct dual){outside * kept + (1 - kept) / t_a,
                        kept * outside_rate + kept_rate * (outside - 1 / t_a)};
}

/* Air drawn, R m = K (r/T_k + F) - p_e V_k/T_k + p_s (V_m - V_a)/T_s - p_s (V_m - V_c)/T_c. */
static double air_rate(const struct lb_chamber *h, const struct lb_chamber_rates *d,
                       double greatest, double cutoff, struct dual alpha, struct dual beta) {
  const struct lb_conditions *c = &h->conditions;
  const struct lb_volumes *v = &h->volumes;
  double p_s = c->supply_pressure, p_s_rate = d->supply_pressure, t_s = c->supply_temperature;
  struct dual r, f, k;
  trap_rates(h, d, &r, &f, &k);
  double admitted = p_s * (greatest - v->filled) / t_s;
  double admitted_rate =
      (p_s_rate * (greatest - v->filled) + p_s * (d->greatest - d->volumes.filled)) / t_s;
  double inner = r.value * beta.value + f.value;
  double numerator = k.value * inner + admitted;
  double numerator_rate = k.rate * inner + admitted_rate +
                          k.value * (r.rate * beta.value + r.value * beta.rate + f.rate);
  double denominator = p_s * greatest - k.value * r.value * alpha.value;
  double denominator_rate = p_s_rate * greatest + p_s * d->greatest -
                            k.rate * r.value * alpha.value -
                            k.value * (r.rate * alpha.value + r.value * alpha.rate);
  double inverse = numerator / denominator;
  double inverse_rate = (numerator_rate - inverse * denominator_rate) / denominator;
  double closing = alpha.value * inverse + beta.value;
  double closing_rate = alpha.rate * inverse + alpha.value * inverse_rate + beta.rate;
  double back = (p_s_rate * (greatest - cutoff) + p_s * (d->greatest - d->cutoff)) * inverse +
                p_s * (greatest - cutoff) * inverse_rate;
  double rate = k.rate * (r.value * closing + f.value) +
                k.value * (r.rate * closing + r.value * closing_rate + f.rate) -
                c->back_pressure * (d->volumes.closing * closing + v->closing * closing_rate) +
                admitted_rate - back;
  return rate / LB_GAS_CONSTANT;
}

/* Rate of the trapped air's work C = integral of p dV from V_k to V_o. */
static double compression_rate(const struct lb_chamber *h, const struct lb_chamber_rates *d) {
  const struct lb_volumes *v = &h->volumes;
  if (v->closing == 0 || v->opening == 0)
    return 0;
  double by_closing = h->conditions.compression_exponent * h->compression_work / v->closing -
                      h->conditions.back_pressure;
  return by_closing * d->volumes.closing + h->compression_pressure * d->volumes.opening;
}

void lb_chamber_tangent(struct lb_chamber_tangent *tangent, const struct lb_chamber *chamber,
                        double greatest, double cutoff, const struct lb_chamber_rates *rates) {
  const struct lb_conditions *c = &chamber->conditions;
  const struct lb_volumes *v = &chamber->volumes;
  const struct lb_chamber_rates *d = rates;
  double p_s = c->supply_pressure, n = c->expansion_exponent;
  struct dual p_r, alpha, beta;
  double expansion = lb_air_polytropic_work(&p_r.value, p_s, cutoff, v->release, n);
  double release = d->volumes.release / v->release;
  p_r.rate = p_r.value * (d->supply_pressure / p_s + n * (d->cutoff / cutoff - release));
  double expansion_rate = expansion * d->supply_pressure / p_s +
                          (n * expansion / cutoff - p_s) * d->cutoff +
                          p_r.value * d->volumes.release;
  tangent->work = d->supply_pressure * (cutoff - v->opening) +
                  p_s * (d->cutoff - d->volumes.opening) + expansion_rate +
                  c->back_pressure * (d->volumes.closing - d->volumes.release) +
                  compression_rate(chamber, d);
  tangent->release_pressure = p_r.rate;
  mix_rates(chamber, d, cutoff, p_r, &alpha, &beta);
  tangent->air = air_rate(chamber, d, greatest, cutoff, alpha, beta);
}
