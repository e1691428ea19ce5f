/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The supply pressure that suits a cut-off and the cut-off that suits a supply pressure are each
 * other's inverse.
 */
#include "base/constants.h"
#include "decide/cutoff.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/cycle.h"
#include "support.h"

/* Below that difference a cut-off is not to be told from another: near a dead centre the piston
 * moves as the square of the angle [rad]. */
static const double same_angle = 1e-9;

/* The supply found for the machine's own cut-off at an end, given to the atmospheric rule, must
 * bring the cut-off back; at it the end releases at back pressure. */
static int check_there_and_back(struct lb_cycle *cycle, const struct lb_machine *machine,
                                enum lb_end end) {
  struct lb_machine m = *machine;
  double cutoff[LB_ENDS];
  struct lb_choice choice;
  random_machine_cutoff(cutoff, &m);
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  m.supply_pressure = lb_cutoff_supply_pressure(cycle, end, cutoff[end]);
  ck_close_relative(reference_pressure(&m, end, cutoff[end], m.timing[end].release - 1e-12),
                    m.back_pressure, 1e-9);
  if (cutoff[end] < 0.02 || cutoff[end] > reference_far(&m, end) - 0.02 ||
      m.supply_pressure <= m.back_pressure * 1.001)
    return 0; /* not a cut-off that the rule looks for */
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  ck_assert_int_eq(lb_cutoff_atmospheric(&choice, cycle, 0, NULL), LB_OK);
  ck_assert(choice.end_found[end]);
  ck_close(choice.cutoff[end], cutoff[end], same_angle);
  return 1;
}

/* The cut-off found for the machine's own supply must bring the supply back. */
static int check_back_and_there(struct lb_cycle *cycle, const struct lb_machine *m) {
  struct lb_choice choice;
  int seen = 0;
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  ck_assert_int_eq(lb_cutoff_atmospheric(&choice, cycle, 0, NULL), LB_OK);
  for (int i = 0; i < LB_ENDS; i++)
    if (choice.end_found[i]) {
      double supply = lb_cutoff_supply_pressure(cycle, (enum lb_end)i, choice.cutoff[i]);
      ck_close_relative(supply, m->supply_pressure, 1e-9);
      seen++;
    }
  return seen;
}

START_TEST(inverse_of_the_inverse) {
  uint64_t state = 341;
  int there = 0, back = 0;
  struct lb_cycle *cycle = lb_cycle_new();
  for (int i = 0; i < 1000; i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    for (int end = 0; end < LB_ENDS; end++)
      if (m.works[end])
        there += check_there_and_back(cycle, &m, (enum lb_end)end);
    back += check_back_and_there(cycle, &m);
  }
  lb_cycle_free(cycle);
  ck_assert_int_ge(there, 1000);
  ck_assert_int_ge(back, 700);
}
END_TEST

/* Isothermal, no dead volume, half the stroke: twice the back pressure. */
START_TEST(supply_for_half_the_stroke) {
  struct lb_machine m;
  struct lb_cycle *cycle = lb_cycle_new();
  lb_machine_defaults(&m);
  m.bore = 0.05;
  m.supply_pressure = 7e5;
  m.expansion_exponent = m.compression_exponent = 1;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  ck_close_relative(lb_cutoff_supply_pressure(cycle, LB_CAP_END, LB_PI / 2), 2 * LB_ATMOSPHERE,
                    EXACT);
  lb_cycle_free(cycle);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("inverse");
  TCase *cases = tcase_create("inverse");
  tcase_add_test(cases, inverse_of_the_inverse);
  tcase_add_test(cases, supply_for_half_the_stroke);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
