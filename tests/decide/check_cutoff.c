/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rules that choose a cut-off, but for economy's optimum: release pressures against their
 * target and the closed form, refusals that name what would do and keep their word, one angle for
 * both ends, and the way back from cut-off to supply pressure.
 */
#include "base/constants.h"
#include "decide/cutoff.h"
#include "random_machine.h"
#include "stroke/timing.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

enum {
  MACHINES = 1000
};

static const double bar = 1e5;

static struct lb_cycle *cycle;

static void set_up(void) {
  cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
}

static void tear_down(void) {
  lb_cycle_free(cycle);
}

static void prepare(const struct lb_machine *machine) {
  struct lb_error error;
  enum lb_status status = lb_cycle_prepare(cycle, machine, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
}

static struct lb_choice atmospheric(const struct lb_machine *machine, double margin) {
  struct lb_choice choice;
  prepare(machine);
  ck_assert_int_eq(lb_cutoff_atmospheric(&choice, cycle, margin, NULL), LB_OK);
  return choice;
}

/* Whether the texts fit what was found. */
static void check_texts(const struct lb_choice *choice) {
  ck_assert(choice->found == (choice->why[0] == '\0'));
  if (choice->found)
    ck_assert_str_eq(choice->would_do, "");
  ck_assert_ptr_null(strchr(choice->why, '\n'));
  ck_assert_ptr_null(strstr(choice->why, "nan"));
  ck_assert_ptr_null(strstr(choice->would_do, "nan"));
}

/* The machine refuses its exponents at the angles found, which is no matter of the rule. */
static bool unbelieved(const struct lb_choice *choice) {
  return strstr(choice->why, "exponents closer to each other") != NULL;
}

/* Cut-off of an end from the volume V_r (p_t/p_s)^(1/n); NaN when its window does not hold it. */
static double closed_form(const struct lb_machine *m, enum lb_end end, double exponent,
                          double target) {
  double release = lb_timing_volume(m, end, m->timing[end].release), low, high;
  double volume = release * pow(target / m->supply_pressure, 1 / exponent);
  double distance = (volume - m->dead_volume[end]) / lb_machine_area(m, end);
  lb_timing_window(&low, &high, m, end);
  double angle = lb_linkage_angle_away(&m->linkage, end, distance);
  return angle >= low && m->supply_pressure > target ? angle : (double)NAN;
}

START_TEST(release_at_the_target) {
  uint64_t state = 41;
  int found = 0, none = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    double margin = i % 3 ? 0 : bar * support_between(&state, 0, 1.5);
    double target = m.back_pressure + margin;
    struct lb_choice choice = atmospheric(&m, margin);
    check_texts(&choice);
    bool every = true;
    for (int end = 0; end < LB_ENDS; end++) {
      if (!m.works[end]) {
        ck_assert(!choice.end_found[end] && !choice.earliest[end]);
        continue;
      }
      double angle = closed_form(&m, (enum lb_end)end, m.expansion_exponent, target);
      every = every && choice.end_found[end];
      ck_assert(choice.end_found[end] == !isnan(angle));
      if (choice.end_found[end])
        ck_close(choice.cutoff[end], angle, SOLVER);
      if (choice.found)
        ck_close_relative(choice.revolution.end[end].turn.release_pressure, target, SOLVER);
    }
    ck_assert(choice.found == every || unbelieved(&choice));
    found += choice.found;
    none += !every;
  }
  ck_assert_int_gt(found, support_least(MACHINES / 2));
  ck_assert_int_gt(none, support_least(20));
}
END_TEST

/* The number before a unit in a text, and one unit of its last digit. */
static double named(const char *text, const char *unit, double *last_digit) {
  const char *stop = strstr(text, unit);
  ck_assert_msg(stop != NULL, "no %s in '%s'", unit, text);
  const char *start = stop;
  while (start > text && strchr("0123456789.+-e", start[-1]))
    start--;
  char number[32] = "";
  memcpy(number, start, (size_t)(stop - start));
  char *exponent = strchr(number, 'e'), *point = strchr(number, '.');
  size_t mantissa = exponent ? (size_t)(exponent - number) : strlen(number);
  double decimals = point ? (double)(mantissa - (size_t)(point - number) - 1) : 0;
  *last_digit = pow(10, (exponent ? strtod(exponent + 1, NULL) : 0) - decimals);
  return strtod(number, NULL);
}

/* Set a value of a copy of the machine and see whether an end then has its cut-off. */
static bool end_found_with(const struct lb_machine *m, enum lb_end end, double margin,
                           double supply, double dead_volume) {
  struct lb_machine other = *m;
  other.supply_pressure = supply;
  other.dead_volume[end] = dead_volume;
  return atmospheric(&other, margin).end_found[end];
}

/* The greatest supply and largest dead volume named do as they are printed, the supply for both
 * ends; one unit of the last digit more does not. */
static void check_word(const struct lb_machine *m, const struct lb_choice *choice, double margin) {
  enum lb_end end = strncmp(choice->why, "cap end", 7) == 0 ? LB_CAP_END : LB_ROD_END;
  double supply = m->supply_pressure, dead = m->dead_volume[end], hair;
  double most = named(choice->would_do, " bar gauge", &hair) * bar + m->ambient_pressure;
  ck_assert(!choice->end_found[end]);
  struct lb_machine other = *m;
  other.supply_pressure = most;
  if (most > m->back_pressure + margin) {
    struct lb_choice whole = atmospheric(&other, margin);
    ck_assert_msg(whole.found || unbelieved(&whole), "%s; %s", choice->would_do, whole.why);
  }
  ck_assert(!end_found_with(m, end, margin, most + hair * bar, dead));
  if (!strstr(choice->would_do, "dead volume"))
    return;
  double largest = named(choice->would_do, " cm3", &hair) * 1e-6;
  hair *= 1e-6;
  ck_assert(largest + hair <= dead * 1.02);
  ck_assert(end_found_with(m, end, margin, supply, largest));
  ck_assert(!end_found_with(m, end, margin, supply, largest + hair));
}

START_TEST(what_would_do_does) {
  uint64_t state = 42;
  int seen = 0, volumes = 0;
  while (seen < 300) {
    struct lb_machine m;
    random_machine(&m, &state);
    double margin = seen % 2 ? 0 : bar * support_between(&state, 0, 0.5);
    for (int end = 0; end < LB_ENDS; end++)
      m.dead_volume[end] *= 3;
    struct lb_choice choice = atmospheric(&m, margin);
    if (choice.found || unbelieved(&choice) || m.supply_pressure <= m.back_pressure + margin)
      continue;
    check_word(&m, &choice, margin);
    volumes += strstr(choice.would_do, "dead volume") != NULL;
    seen++;
  }
  ck_assert_int_gt(volumes, 50);
}
END_TEST

/* A supply that does not reach the release pressure wanted. */
START_TEST(supply_too_low) {
  uint64_t state = 43;
  for (int i = 0; i < 100; i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    m.supply_pressure = m.back_pressure + 0.2 * bar;
    double hair, margin = i % 2 ? 0.2 * bar : 0.7 * bar;
    if (i % 3 == 0)
      m.supply_pressure = m.back_pressure + margin;
    struct lb_choice choice = atmospheric(&m, margin);
    ck_assert(!choice.found);
    check_texts(&choice);
    ck_assert(strncmp(choice.why, "the supply of ", 14) == 0);
    double least = named(choice.would_do, " bar gauge", &hair) * bar + m.ambient_pressure;
    ck_close(least, m.back_pressure + margin, hair * bar);
  }
}
END_TEST

/* The supply at which a cut-off releases at back pressure gives that cut-off back. */
START_TEST(inverse_of_the_inverse) {
  uint64_t state = 44;
  int seen = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    for (int end = 0; end < LB_ENDS; end++) {
      double low, high;
      if (!m.works[end])
        continue;
      lb_timing_window(&low, &high, &m, (enum lb_end)end);
      double cutoff = low + (high - low) * support_between(&state, 0.02, 0.95);
      prepare(&m);
      struct lb_machine other = m;
      other.supply_pressure = lb_cutoff_supply_pressure(cycle, (enum lb_end)end, cutoff);
      if (!(other.supply_pressure > 1.001 * m.back_pressure))
        continue; /* released late, the air is never expanded */
      struct lb_choice choice = atmospheric(&other, 0);
      ck_assert(choice.end_found[end]);
      ck_close(choice.cutoff[end], cutoff, SOLVER);
      seen++;
    }
  }
  ck_assert_int_gt(seen, support_least(MACHINES));
}
END_TEST

START_TEST(common_angle_releases_no_end_too_low) {
  uint64_t state = 45;
  int seen = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine m;
    struct lb_choice each, common;
    random_machine(&m, &state);
    each = atmospheric(&m, 0);
    ck_assert_int_eq(lb_cutoff_common(&common, cycle, LB_COMMON_ATMOSPHERIC, 0, NULL), LB_OK);
    check_texts(&common);
    if (!common.found)
      continue;
    double later = fmax(each.cutoff[LB_CAP_END], each.cutoff[LB_ROD_END]);
    for (int end = 0; end < LB_ENDS; end++)
      if (m.works[end]) {
        ck_assert(common.cutoff[end] == later);
        ck_assert(common.revolution.end[end].turn.release_pressure >=
                  m.back_pressure * (1 - SOLVER));
        seen++;
      }
  }
  ck_assert_int_gt(seen, support_least(MACHINES / 2));
}
END_TEST

/* A cut-off that is given stands; one that is not comes from the atmospheric rule. */
START_TEST(as_timed) {
  uint64_t state = 46;
  int mixed = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine m;
    struct lb_choice choice;
    struct lb_revolution r;
    random_machine(&m, &state);
    for (int end = 0; end < LB_ENDS; end++)
      m.timing[end].cutoff_given = support_uniform(&state) < 0.6;
    struct lb_choice rule = atmospheric(&m, 0.1 * bar);
    ck_assert_int_eq(lb_cutoff_as_timed(&choice, cycle, 0.1 * bar, NULL), LB_OK);
    check_texts(&choice);
    for (int end = 0; end < LB_ENDS; end++) {
      if (!m.works[end] || !(choice.found || unbelieved(&choice)))
        continue;
      bool given = m.timing[end].cutoff_given;
      ck_assert(choice.end_found[end]);
      ck_assert(choice.cutoff[end] == (given ? m.timing[end].cutoff : rule.cutoff[end]));
      mixed += machine_is(&m, CASE_DOUBLE_ACTING) && given != m.timing[1 - end].cutoff_given;
    }
    if (!choice.found)
      continue;
    ck_assert_int_eq(lb_cycle_turn(&r, cycle, choice.cutoff, NULL), LB_OK);
    ck_assert(r.work == choice.revolution.work && r.air == choice.revolution.air);
  }
  ck_assert_int_gt(mixed, support_least(100));
}
END_TEST

/* Everything at once is what each rule says by itself; the bounding laws are the atmospheric rule
 * under their exponents. */
START_TEST(all_of_it) {
  uint64_t state = 47;
  int bounds = 0;
  for (int i = 0; i < support_times(300); i++) {
    struct lb_machine m;
    struct lb_cutoff_answer a;
    struct lb_choice choice;
    random_machine(&m, &state);
    choice = atmospheric(&m, 0.2 * bar);
    ck_assert_int_eq(lb_cutoff_find(&a, cycle, 0.2 * bar, NULL), LB_OK);
    ck_assert(memcmp(choice.cutoff, a.choice[LB_ATMOSPHERIC].cutoff, sizeof choice.cutoff) == 0);
    ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
    ck_assert(choice.revolution.work == a.choice[LB_ECONOMY].revolution.work);
    ck_assert(a.ceiling == lb_cycle_ceiling(&m));
    for (int end = 0; end < LB_ENDS; end++) {
      if (!m.works[end]) {
        ck_assert(!a.isothermal_found[end] && !a.adiabatic_found[end]);
        continue;
      }
      double isothermal = closed_form(&m, (enum lb_end)end, 1, m.back_pressure);
      double adiabatic = closed_form(&m, (enum lb_end)end, LB_GAMMA, m.back_pressure);
      ck_assert(a.isothermal_found[end] == !isnan(isothermal));
      ck_assert(a.adiabatic_found[end] == !isnan(adiabatic));
      if (a.isothermal_found[end])
        ck_close(a.isothermal[end], isothermal, SOLVER);
      if (a.adiabatic_found[end])
        ck_close(a.adiabatic[end], adiabatic, SOLVER);
      if (a.isothermal_found[end] && a.adiabatic_found[end])
        ck_assert(a.isothermal[end] < a.adiabatic[end]);
      bounds += a.isothermal_found[end];
      ck_assert(a.supply_pressure[end] ==
                lb_cutoff_supply_pressure(cycle, (enum lb_end)end, m.timing[end].cutoff));
    }
  }
  ck_assert_int_gt(bounds, support_least(100));
}
END_TEST

START_TEST(names_of_rules) {
  ck_assert_str_eq(lb_cutoff_rule_name(LB_AS_TIMED), "as-timed");
  ck_assert_str_eq(lb_cutoff_rule_name(LB_ATMOSPHERIC), "atmospheric");
  ck_assert_str_eq(lb_cutoff_rule_name(LB_ECONOMY), "economy");
  ck_assert_str_eq(lb_cutoff_rule_name(LB_COMMON_ECONOMY), "common-economy");
  ck_assert_str_eq(lb_cutoff_rule_name(LB_COMMON_ATMOSPHERIC), "common-atmospheric");
  ck_assert_str_eq(lb_cutoff_rule_name(LB_RULES), "unknown rule");
}
END_TEST

int main(void) {
  Suite *suite = suite_create("cutoff");
  TCase *rules = tcase_create("rules");
  tcase_set_timeout(rules, 60);
  tcase_add_checked_fixture(rules, set_up, tear_down);
  tcase_add_test(rules, release_at_the_target);
  tcase_add_test(rules, what_would_do_does);
  tcase_add_test(rules, supply_too_low);
  tcase_add_test(rules, inverse_of_the_inverse);
  tcase_add_test(rules, common_angle_releases_no_end_too_low);
  tcase_add_test(rules, as_timed);
  tcase_add_test(rules, all_of_it);
  tcase_add_test(rules, names_of_rules);
  suite_add_tcase(suite, rules);
  return support_run(suite, NULL);
}
