/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A cycle, one choice and what there is to say about it.
 */
#include "sheet_maker.h"

#include "machine_text.h"
#include "support.h"

static enum lb_status choose(struct lb_choice *choice, const struct lb_cycle *cycle,
                             enum lb_rule rule, struct lb_error *error) {
  if (rule == LB_ECONOMY)
    return lb_cutoff_economy(choice, cycle, error);
  if (rule == LB_ATMOSPHERIC)
    return lb_cutoff_atmospheric(choice, cycle, 0, error);
  return lb_cutoff_as_timed(choice, cycle, 0, error);
}

bool sheet_maker_begin_rule(struct sheet_maker *maker, const struct lb_machine *machine,
                            enum lb_rule rule) {
  struct lb_error error = {0};
  *maker = (struct sheet_maker){.machine = *machine, .cycle = lb_cycle_new()};
  ck_assert_ptr_nonnull(maker->cycle);
  ck_assert_msg(lb_cycle_prepare(maker->cycle, machine, &error) == LB_OK, "%s", error.text);
  struct lb_choice *choice = &maker->answer.choice[rule];
  ck_assert_msg(choose(choice, maker->cycle, rule, &error) == LB_OK, "%s", error.text);
  if (!choice->found) {
    sheet_maker_end(maker);
    return false;
  }
  ck_assert_msg(lb_detail_find(&maker->detail, maker->cycle, choice->cutoff, &error) == LB_OK, "%s",
                error.text);
  maker->paper = (struct lb_cutoff_paper){
      .machine = &maker->machine, .answer = &maker->answer, .rule = rule, .detail = &maker->detail};
  maker->sheet = (struct lb_sheet){.paper = &maker->paper,
                                   .cycle = maker->cycle,
                                   .file = "machine.ini",
                                   .checksum = 0x0123abcd,
                                   .changes = "",
                                   .size = LB_PAPER_A4,
                                   .measured = {100, 100}};
  return true;
}

bool sheet_maker_begin(struct sheet_maker *maker, const struct lb_machine *machine) {
  return sheet_maker_begin_rule(maker, machine, LB_AS_TIMED);
}

void sheet_maker_end(struct sheet_maker *maker) {
  lb_cycle_free(maker->cycle);
  *maker = (struct sheet_maker){.cycle = NULL};
}

void sheet_maker_demos(void (*check)(struct sheet_maker *maker)) {
  static struct sheet_maker maker;
  for (int i = 0; i < MACHINE_TEXT_DEMOS; i++)
    for (int inch = 0; inch < 2; inch++)
      for (int size = 0; size < LB_PAPER_SIZES; size++) {
        if (support_is_rough() && (inch != i % 2 || size != i % LB_PAPER_SIZES))
          continue;
        struct lb_machine machine = machine_text_demo(i);
        ck_assert(sheet_maker_begin(&maker, &machine));
        maker.sheet.inch = inch;
        maker.sheet.size = (enum lb_paper_size)size;
        check(&maker);
        sheet_maker_end(&maker);
      }
}
