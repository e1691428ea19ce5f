/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The case that the atmospheric rule makes: one end worked, released at ambient pressure, so that
 * the net force comes to nothing just where the exhaust opens, on one side of zero or the other by
 * rounding. Friction that is a share of the force must not mind.
 */
#include "base/constants.h"
#include "decide/cutoff.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/cycle.h"
#include "support.h"

/* A machine worked at one end, without through rod, that exhausts to the surroundings and loses a
 * share of the force. */
static enum lb_end next_machine(struct lb_machine *m, uint64_t *state) {
  do
    random_machine(m, state);
  while (machine_is(m, CASE_VACUUM));
  enum lb_end end = m->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  m->works[LB_ENDS - 1 - end] = false;
  m->back_pressure = m->ambient_pressure;
  m->friction_share = support_between(state, 0.01, 0.2);
  return end;
}

START_TEST(friction_where_no_force_is_left) {
  uint64_t state = 351;
  int turned = 0;
  struct lb_cycle *cycle = lb_cycle_new();
  for (int i = 0; i < support_times(3000); i++) {
    struct lb_machine m;
    struct lb_revolution r;
    struct lb_error error;
    double cutoff[LB_ENDS];
    enum lb_end end = next_machine(&m, &state);
    random_machine_cutoff(cutoff, &m);
    ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
    m.supply_pressure = lb_cutoff_supply_pressure(cycle, end, cutoff[end]);
    ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
    enum lb_status status = lb_cycle_turn(&r, cycle, cutoff, &error);
    ck_assert_msg(status == LB_OK || status == LB_NO_ANSWER, "%s", error.text);
    if (status != LB_OK)
      continue; /* unequal exponents */
    double constant = 2 * m.linkage.stroke * m.friction;
    double rubbing = m.friction_share * reference_absolute_work(&m, cutoff);
    ck_close_relative(r.friction_work, m.cylinders * (constant + rubbing), SOLVER);
    turned++;
  }
  lb_cycle_free(cycle);
  ck_assert_int_ge(turned, support_least(2500));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("release at ambient pressure");
  TCase *cases = tcase_create("release at ambient pressure");
  tcase_set_timeout(cases, 120);
  tcase_add_test(cases, friction_where_no_force_is_left);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
