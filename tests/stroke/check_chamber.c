/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The closed forms of one chamber against quadrature and a march of the air, conservation of mass
 * and energy, limits of the exponent, and the refusals.
 */
#include "base/constants.h"
#include "physics/air.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/chamber.h"
#include "stroke/timing.h"
#include "support.h"

#include <string.h>

enum {
  MACHINES = 1000
};

/* Values that are exact but for roundings, multiplied up where little of the air is renewed. */
static const double marched = 1e-10;

/* One worked end of a machine with its revolution. */
struct trial {
  const struct lb_machine *machine;
  enum lb_end end;
  double volume, greatest; /* at cut-off [m3] */
  struct lb_chamber chamber;
  struct lb_turn turn;
  enum lb_status status;
  struct lb_error error;
};

static struct lb_conditions conditions_of(const struct lb_machine *m) {
  return (struct lb_conditions){m->supply_pressure,    m->supply_temperature,
                                m->back_pressure,      m->ambient_temperature,
                                m->expansion_exponent, m->compression_exponent};
}

static struct trial attempt(const struct lb_machine *m, enum lb_end end) {
  struct trial t = {.machine = m, .end = end};
  struct lb_conditions conditions = conditions_of(m);
  struct lb_volumes volumes;
  lb_timing_volumes(&volumes, m, end);
  lb_timing_cutoff(&t.volume, &t.greatest, m, end, m->timing[end].cutoff);
  t.status = lb_chamber_prepare(&t.chamber, &conditions, &volumes, &t.error);
  ck_assert_int_eq(t.status, LB_OK);
  t.status = lb_chamber_turn(&t.turn, &t.chamber, t.greatest, t.volume, &t.error);
  return t;
}

/* Call for every worked end of the random machines; returns how many there were. */
static int every_end(void (*check)(struct trial *)) {
  uint64_t state = 3;
  struct tally tally = {{0}};
  int ends = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    tally_add(&tally, &machine);
    for (int end = 0; end < LB_ENDS; end++)
      if (machine.works[end]) {
        struct trial t = attempt(&machine, (enum lb_end)end);
        check(&t);
        ends++;
      }
  }
  tally_require(&tally, support_least(50));
  return ends;
}

/* Greatest gas work there could be, as a measure of roundings [J]. */
static double scale(const struct trial *t) {
  double area = lb_machine_area(t->machine, t->end);
  return fmax(t->turn.peak_pressure, t->machine->supply_pressure) * area *
         t->machine->linkage.stroke;
}

static void check_work(struct trial *t) {
  if (t->status == LB_OK)
    ck_close(t->turn.work, reference_work(t->machine, t->end, t->machine->timing[t->end].cutoff),
             SOLVER * scale(t) / 1e3);
}

START_TEST(work_is_the_area_of_the_diagram) {
  ck_assert_int_gt(every_end(check_work), support_least(MACHINES));
}
END_TEST

/* Temperatures of air that is there at all. */
static void check_temperatures(const struct lb_turn *t, const struct reference_air *a) {
  const double none = 1e-9; /* of the air in the chamber: no temperature to speak of */
  ck_close_relative(t->cutoff_temperature, a->cutoff_temperature, marched);
  ck_close_relative(t->release_temperature, a->release_temperature, marched);
  ck_close_relative(t->exhaust_temperature, a->exhaust_temperature, marched);
  if (a->trapped > none * a->held)
    ck_close_relative(t->compression_temperature, a->trap_temperature, marched);
  if (a->trapped + a->filling > none * a->held)
    ck_close_relative(t->filled_temperature, a->filled_temperature, marched);
  if (a->outgoing > none * a->held)
    ck_close_relative(t->outgoing_temperature, a->outgoing_temperature, marched);
}

static void check_march(struct trial *t) {
  const struct lb_machine *m = t->machine;
  if (t->status != LB_OK)
    return;
  struct reference_air a = reference_march(m, t->end, m->timing[t->end].cutoff);
  double held = a.held + a.outside;
  ck_assert(a.periodic);
  ck_close(t->turn.filling_air, a.filling, marched * held);
  ck_close(t->turn.admitted_air, a.admitted, marched * held);
  ck_close(t->turn.pushed_back_air, a.pushed_back, marched * held);
  ck_close(t->turn.outside_air, a.outside, marched * held);
  ck_close(t->turn.cutoff_air, a.held, marched * held);
  ck_close(t->turn.air, a.filling + a.admitted - a.pushed_back, marched * held);
  ck_close_relative(t->turn.release_pressure, a.release_pressure, marched);
  ck_close_relative(t->turn.peak_pressure, reference_peak(m, t->end), marched);
  if (a.trapped > 1e-9 * a.held)
    ck_close_relative(t->turn.compression_pressure, a.trap_pressure, marched);
  check_temperatures(&t->turn, &a);
}

START_TEST(air_and_temperatures_repeat_themselves) {
  ck_assert_int_gt(every_end(check_march), support_least(MACHINES));
}
END_TEST

/* Air drawn and outside air let in leave again; the figures are the library's own. */
static void check_mass(struct trial *t) {
  const struct lb_turn *r = &t->turn;
  const struct lb_volumes *v = &t->chamber.volumes;
  const struct lb_conditions *c = &t->chamber.conditions;
  double p_e = c->back_pressure, n = c->expansion_exponent, gas = LB_GAS_CONSTANT;
  if (t->status != LB_OK)
    return;
  double blown = 0;
  if (r->release_pressure > p_e) {
    double cooled = r->release_temperature * pow(p_e / r->release_pressure, (n - 1) / n);
    blown = r->cutoff_air - p_e * v->release / (gas * cooled);
  }
  double swept = p_e * (v->exhausting - v->swept_out) / (gas * r->exhaust_temperature);
  ck_close(r->air + r->outside_air, blown + swept, IDENTITY * (r->cutoff_air + r->outside_air));
  ck_close(r->air, r->filling_air + r->admitted_air - r->pushed_back_air, IDENTITY * r->cutoff_air);
}

START_TEST(mass_is_conserved) {
  ck_assert_int_gt(every_end(check_mass), support_least(MACHINES));
}
END_TEST

static int balanced;

/* Enthalpy in = enthalpy out + work when no heat passes. What goes back into the supply leaves at
 * three temperatures: falling ones while it blows back, that after filling with lead, that at
 * cut-off when the inlet shuts late. */
static void check_energy(struct trial *t) {
  const struct lb_turn *r = &t->turn;
  const struct lb_volumes *v = &t->chamber.volumes;
  const struct lb_conditions *c = &t->chamber.conditions;
  double p_s = c->supply_pressure, gas = LB_GAS_CONSTANT;
  if (c->expansion_exponent != LB_GAMMA || c->compression_exponent != LB_GAMMA)
    return;
  ck_assert_int_eq(t->status, LB_OK);
  double in = (fmax(0, r->filling_air) + r->admitted_air) * c->supply_temperature +
              r->outside_air * c->outside_temperature;
  double back = p_s * (v->opening - v->filled) / gas + p_s * (t->greatest - t->volume) / gas;
  if (r->filling_air < 0) /* integral of T dm along p V^gamma, V fixed */
    back += v->opening * (r->compression_pressure - p_s) / (LB_GAMMA * gas);
  double leaving = r->air + r->outside_air;
  double out = leaving * r->outgoing_temperature + back;
  ck_close(LB_CP * in, LB_CP * out + r->work,
           IDENTITY * (LB_CP * (in + out + r->cutoff_air * r->cutoff_temperature) + scale(t)));
  balanced++;
}

START_TEST(energy_is_conserved_without_heat) {
  every_end(check_energy);
  ck_assert_int_gt(balanced, support_least(200));
}
END_TEST

static void check_flags(struct trial *t) {
  const struct lb_machine *m = t->machine;
  const double clear = 1e-9; /* too close to call */
  if (t->status != LB_OK)
    return;
  struct reference_air a = reference_march(m, t->end, m->timing[t->end].cutoff);
  double peak = reference_peak(m, t->end) / m->supply_pressure - 1;
  double fall = 1 - a.release_pressure / m->back_pressure;
  unsigned flags = t->turn.flags;
  if (fabs(peak) > clear)
    ck_assert(!(flags & LB_OVER_COMPRESSION) == !(peak > 0));
  ck_assert(!(flags & LB_PUSH_BACK) ==
            !(a.pushed_back > clear * a.held || a.filling < -clear * a.held));
  ck_assert(!(flags & LB_IN_FLOW) == !(a.outside > clear * a.held));
  if (fabs(fall) > clear && fall > 0)
    ck_assert(flags & LB_NEGATIVE_LOOP);
}

START_TEST(flags_say_what_happens) {
  ck_assert_int_gt(every_end(check_flags), support_least(MACHINES));
}
END_TEST

/* A chamber with every figure given. */
static struct lb_turn revolution(struct lb_conditions c, const struct lb_volumes *v,
                                 double cutoff) {
  struct lb_chamber chamber;
  struct lb_turn turn;
  struct lb_error error;
  ck_assert_int_eq(lb_chamber_prepare(&chamber, &c, v, &error), LB_OK);
  enum lb_status status = lb_chamber_turn(&turn, &chamber, cutoff, cutoff, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return turn;
}

/* The isothermal revolution is the limit of exponents from above, and the approach is linear: the
 * quotients settle. */
START_TEST(isothermal_is_a_limit) {
  uint64_t state = 4;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    enum lb_end end = m.works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
    double quotient[2][3], at[] = {1e-5, 5e-6};
    m.expansion_exponent = m.compression_exponent = 1;
    struct trial limit = attempt(&m, end);
    ck_assert_int_eq(limit.status, LB_OK);
    for (int j = 0; j < 2; j++) {
      m.expansion_exponent = m.compression_exponent = 1 + at[j];
      struct lb_turn near = attempt(&m, end).turn;
      quotient[j][0] = (near.work - limit.turn.work) / at[j] / scale(&limit);
      quotient[j][1] = (near.air - limit.turn.air) / at[j] / limit.turn.cutoff_air;
      quotient[j][2] = (near.exhaust_temperature - limit.turn.exhaust_temperature) / at[j] / 300;
    }
    for (int k = 0; k < 3; k++) {
      ck_assert(fabs(quotient[0][k]) < 100);
      ck_close(quotient[0][k], quotient[1][k], 1e-2);
    }
    m.expansion_exponent = m.compression_exponent = 1 + 1e-13;
    struct lb_turn nearest = attempt(&m, end).turn;
    ck_close(nearest.work, limit.turn.work, 1e-11 * scale(&limit));
    ck_close(nearest.air, limit.turn.air, 1e-11 * limit.turn.cutoff_air);
  }
}
END_TEST

static int refused_rightly;

/* Unequal exponents are refused exactly when the march shows what the limits forbid. */
static void check_refusal(struct trial *t) {
  const struct lb_machine *m = t->machine;
  if (m->expansion_exponent == m->compression_exponent) {
    ck_assert_int_eq(t->status, LB_OK);
    return;
  }
  struct reference_air a = reference_march(m, t->end, m->timing[t->end].cutoff);
  const double seen[] = {a.trap_temperature, a.filled_temperature, a.cutoff_temperature,
                         a.release_temperature, a.exhaust_temperature};
  double hottest = fmax(m->supply_temperature, m->ambient_temperature), coldest = hottest;
  for (size_t i = 0; i < sizeof seen / sizeof seen[0]; i++) {
    hottest = fmax(hottest, seen[i]);
    coldest = fmin(coldest, seen[i]);
  }
  double air = a.filling + a.admitted - a.pushed_back;
  double work = reference_work(m, t->end, m->timing[t->end].cutoff);
  double most = air * LB_GAS_CONSTANT * hottest * log(m->supply_pressure / m->back_pressure);
  bool broken =
      !a.periodic || hottest > 600 || coldest < 100 || !(air > 0) || work > most * (1 + 1e-9);
  if (t->status != LB_OK) {
    ck_assert_int_eq(t->status, LB_NO_ANSWER);
    ck_assert_ptr_nonnull(strstr(t->error.text, "exponents closer to each other would do"));
    refused_rightly++;
  }
  if (a.trapped > 1e-9 * a.held) /* else the march has no temperature to show */
    ck_assert_msg(broken == (t->status != LB_OK), "%s", t->status ? t->error.text : "accepted");
}

START_TEST(refused_only_where_the_first_law_breaks) {
  every_end(check_refusal);
  ck_assert_int_gt(refused_rightly, support_least(20));
}
END_TEST

static const struct lb_conditions plain = {7e5, 293, 1e5, 293, 1.4, 1.4};
static const struct lb_volumes simple = {.opening = 1e-5,
                                         .filled = 1e-5,
                                         .release = 1e-4,
                                         .exhausting = 1e-4,
                                         .swept_out = 3e-5,
                                         .closing = 3e-5,
                                         .trapped_least = 1e-5};

static void check_unusable(const struct lb_conditions *c, const struct lb_volumes *v,
                           const char *text) {
  struct lb_chamber chamber, before;
  struct lb_error error;
  memset(&chamber, 0x33, sizeof chamber);
  memcpy(&before, &chamber, sizeof chamber);
  ck_assert_int_eq(lb_chamber_prepare(&chamber, c, v, &error), LB_BAD_INPUT);
  ck_assert_str_eq(error.text, text);
  ck_assert(memcmp(&chamber, &before, sizeof chamber) == 0);
}

START_TEST(unusable_conditions) {
  const char *text = "pressures and temperatures must be above 0 and exponents from 1 to 1.67";
  const size_t member[] = {
      offsetof(struct lb_conditions, supply_pressure),
      offsetof(struct lb_conditions, supply_temperature),
      offsetof(struct lb_conditions, back_pressure),
      offsetof(struct lb_conditions, outside_temperature),
      offsetof(struct lb_conditions, expansion_exponent),
      offsetof(struct lb_conditions, compression_exponent),
  };
  const double value[] = {0, -1, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < sizeof member / sizeof member[0]; i++)
    for (size_t j = 0; j < sizeof value / sizeof value[0]; j++) {
      struct lb_conditions c = plain;
      memcpy((char *)&c + member[i], &value[j], sizeof value[j]);
      check_unusable(&c, &simple, text);
    }
  for (int i = 0; i < 4; i++) {
    struct lb_conditions c = plain;
    *(i % 2 ? &c.expansion_exponent : &c.compression_exponent) = i < 2 ? 0.9999 : 1.6701;
    check_unusable(&c, &simple, text);
  }
}
END_TEST

START_TEST(unusable_volumes) {
  const char *text = "volumes must be finite and not negative, and there must be room at release";
  const size_t member[] = {
      offsetof(struct lb_volumes, opening),       offsetof(struct lb_volumes, filled),
      offsetof(struct lb_volumes, release),       offsetof(struct lb_volumes, exhausting),
      offsetof(struct lb_volumes, swept_out),     offsetof(struct lb_volumes, closing),
      offsetof(struct lb_volumes, trapped_least),
  };
  const double value[] = {-1e-9, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < sizeof member / sizeof member[0]; i++)
    for (size_t j = 0; j < sizeof value / sizeof value[0]; j++) {
      struct lb_volumes v = simple;
      memcpy((char *)&v + member[i], &value[j], sizeof value[j]);
      check_unusable(&plain, &v, text);
    }
  struct lb_volumes v = simple;
  v.release = 0;
  check_unusable(&plain, &v, text);
}
END_TEST

START_TEST(nothing_to_squeeze_into) {
  const char *text = "air trapped when the exhaust closes would be compressed into no volume at "
                     "all; give the dead volume, or let the exhaust close at dead centre";
  struct lb_volumes v = simple;
  v.opening = v.filled = v.trapped_least = 0;
  check_unusable(&plain, &v, text);
  v = simple;
  v.trapped_least = 0;
  check_unusable(&plain, &v, text);
  /* with nothing trapped there is nothing to squeeze */
  v.closing = v.swept_out = 0;
  ck_assert(isfinite(revolution(plain, &v, 5e-5).work));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("chamber");
  TCase *turns = tcase_create("random chambers");
  tcase_set_timeout(turns, 60);
  tcase_add_test(turns, work_is_the_area_of_the_diagram);
  tcase_add_test(turns, air_and_temperatures_repeat_themselves);
  tcase_add_test(turns, mass_is_conserved);
  tcase_add_test(turns, energy_is_conserved_without_heat);
  tcase_add_test(turns, flags_say_what_happens);
  tcase_add_test(turns, isothermal_is_a_limit);
  tcase_add_test(turns, refused_only_where_the_first_law_breaks);
  suite_add_tcase(suite, turns);
  TCase *input = tcase_create("input");
  tcase_add_test(input, unusable_conditions);
  tcase_add_test(input, unusable_volumes);
  tcase_add_test(input, nothing_to_squeeze_into);
  suite_add_tcase(suite, input);
  return support_run(suite, NULL);
}
