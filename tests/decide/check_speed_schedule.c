/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cut-off over speeds: every row against the rule asked alone, interpolation against it in
 * places that the table did not look at, round speeds, and where a table ends.
 */
#include "decide/speed_schedule.h"

#include "base/constants.h"
#include "machine_text.h"
#include "support.h"

#include <string.h>

enum {
  LAUNCH,
  ORGAN,
  PUMP,
  TRACTOR,
  TROLLEY
}; /* demo machines */
static const double degree = LB_PI / 180, rpm = 2 * LB_PI / 60, bar = 1e5;
static const double tolerance = 0.2 * LB_PI / 180;

static struct lb_speed_schedule schedule;

/* A demo machine with valves of a conductance [L/(s bar)], on a supply that is constant. */
static struct lb_machine machine_of(int demo, double conductance) {
  struct lb_machine machine = machine_text_demo(demo);
  machine.supply_line = (struct lb_flow){0};
  machine.receiver_volume = 0;
  for (int valve = 0; valve < LB_VALVES; valve++)
    machine.path[valve].flow = (struct lb_flow){conductance * 1e-8, 0.3, 0.5};
  return machine;
}

static enum lb_status find(const struct lb_machine *machine, enum lb_rule rule, double margin,
                           double from, double to, struct lb_error *error) {
  const struct lb_speed_question question = {
      .rule = rule, .margin = margin, .from = from, .to = to, .tolerance = tolerance};
  return lb_speed_schedule_find(&schedule, machine, &question, error);
}

static void must_find(const struct lb_machine *machine, enum lb_rule rule, double margin,
                      double from, double to) {
  struct lb_error error = {0};
  enum lb_status status = find(machine, rule, margin, from, to, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  ck_assert_uint_ge(schedule.rows, 2);
  ck_assert_uint_le(schedule.rows, LB_SPEED_ROWS);
  ck_assert(schedule.error < tolerance);
}

/* The rule asked alone, in a workspace that served no other speed. */
static struct lb_running_choice alone(const struct lb_machine *machine, enum lb_rule rule,
                                      double margin, double speed) {
  struct lb_running_choice choice;
  struct lb_error error = {0};
  struct lb_gas *gas = lb_gas_new();
  enum lb_status status = lb_running_cutoff(&choice, gas, machine, rule, margin, speed, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  lb_gas_free(gas);
  return choice;
}

/* Rows by rising speed, each what the rule says there. */
static void check_rows(const struct lb_machine *machine, enum lb_rule rule, double margin) {
  for (size_t i = 0; i < schedule.rows; i++) {
    const struct lb_speed_row *row = &schedule.row[i];
    struct lb_running_choice choice = alone(machine, rule, margin, row->speed);
    ck_assert(choice.found);
    ck_assert(i == 0 || row->speed > schedule.row[i - 1].speed);
    for (int end = 0; end < LB_ENDS; end++)
      ck_close(row->cutoff[end], choice.cutoff[end], EXACT);
    ck_close_relative(row->running.revolution.work, choice.running.revolution.work, EXACT);
    ck_close_relative(row->running.revolution.air, choice.running.revolution.air, EXACT);
    ck_close_relative(row->running.speed, row->speed, EXACT);
  }
}

/* The greatest error of interpolation a third and two thirds of the way between rows. */
static double error_at_thirds(const struct lb_machine *machine, enum lb_rule rule, double margin) {
  double greatest = 0;
  for (size_t i = 0; i + 1 < schedule.rows; i++)
    for (int third = 1; third <= 2; third++) {
      const struct lb_speed_row *a = &schedule.row[i], *b = a + 1;
      double share = third / 3.0;
      struct lb_running_choice choice =
          alone(machine, rule, margin, a->speed + share * (b->speed - a->speed));
      ck_assert(choice.found);
      for (int end = 0; end < LB_ENDS; end++) {
        double said = a->cutoff[end] + share * (b->cutoff[end] - a->cutoff[end]);
        if (machine->works[end])
          greatest = fmax(greatest, fabs(said - choice.cutoff[end]));
      }
    }
  return greatest;
}

START_TEST(rows_are_the_rule_and_lines_between_them_hold) {
  static const double conductance[MACHINE_TEXT_DEMOS] = {0.8, 2, 1.5, 4, 2};
  struct lb_machine machine = machine_of(_i, conductance[_i]);
  double margin = _i % 2 * 0.1 * bar;
  must_find(&machine, LB_ATMOSPHERIC, margin, 0, 0);
  check_rows(&machine, LB_ATMOSPHERIC, margin);
  double greatest = error_at_thirds(&machine, LB_ATMOSPHERIC, margin);
  ck_assert_msg(greatest < tolerance, "%g deg", greatest / degree);
  ck_assert_msg(greatest > 1e-3 * degree, "%g deg are no curve", greatest / degree);
}
END_TEST

/* Leakage between the ends and a receiver make a curve of another kind, and couple the ends. */
START_TEST(coupled_ends_have_rows) {
  struct lb_machine machine = machine_of(TROLLEY, 2);
  machine.leakage = 0.02e-8;
  must_find(&machine, LB_ATMOSPHERIC, 0, 60 * rpm, 240 * rpm);
  check_rows(&machine, LB_ATMOSPHERIC, 0);
  ck_assert(error_at_thirds(&machine, LB_ATMOSPHERIC, 0) < tolerance);
}
END_TEST

START_TEST(economy_has_rows) {
  struct lb_machine machine = machine_of(PUMP, 2);
  must_find(&machine, LB_ECONOMY, 0, 50 * rpm, 200 * rpm);
  check_rows(&machine, LB_ECONOMY, 0);
  ck_assert(error_at_thirds(&machine, LB_ECONOMY, 0) < tolerance);
}
END_TEST

START_TEST(as_timed_is_the_same_at_every_speed) {
  struct lb_machine machine = machine_of(TROLLEY, 2);
  must_find(&machine, LB_AS_TIMED, 0, 0, 0);
  for (size_t i = 0; i < schedule.rows; i++)
    for (int end = 0; end < LB_ENDS; end++)
      ck_close(schedule.row[i].cutoff[end], 78 * degree, EXACT * 78 * degree);
  ck_close(schedule.error, 0, EXACT);
}
END_TEST

/* What nobody stated: 10 to 600 rpm, and ends that keep their distance from the one stated. */
START_TEST(stands_for_the_range_not_stated) {
  static const double asked[][4] = {
      {0, 0, 10, 600}, {0, 50, 5, 50}, {0, 400, 10, 400}, {100, 0, 100, 600}, {400, 0, 400, 800}};
  struct lb_machine machine = machine_of(LAUNCH, 2);
  for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
    must_find(&machine, LB_AS_TIMED, 0, asked[i][0] * rpm, asked[i][1] * rpm);
    ck_close_relative(schedule.row[0].speed, asked[i][2] * rpm, IDENTITY);
    ck_close_relative(schedule.row[schedule.rows - 1].speed, asked[i][3] * rpm, IDENTITY);
  }
}
END_TEST

/* Rows are whole multiples of 5 rpm over the usual range, and rounder where the range is wide; what
 * was asked for is a row, round or not. */
START_TEST(rows_lie_on_round_speeds) {
  struct lb_machine machine = machine_of(TROLLEY, 2);
  must_find(&machine, LB_ATMOSPHERIC, 0, 33.3 * rpm, 611 * rpm);
  for (size_t i = 0; i < schedule.rows; i++) {
    double fives = schedule.row[i].speed / rpm / 5;
    if (i > 0 && i + 1 < schedule.rows)
      ck_assert_msg(fabs(fives - round(fives)) < 1e-9, "%.9g rpm", 5 * fives);
  }
  ck_close_relative(schedule.row[0].speed, 33.3 * rpm, IDENTITY);
  ck_close_relative(schedule.row[schedule.rows - 1].speed, 611 * rpm, IDENTITY);
}
END_TEST

/* By economy a machine ends where no cut-off gives work any more: there is work in the last row and
 * none a hundredth of the range later, and the reason says so. */
START_TEST(ends_where_the_work_ends) {
  struct lb_machine machine = machine_of(PUMP, 2);
  must_find(&machine, LB_ECONOMY, 0, 200 * rpm, 600 * rpm);
  double last = schedule.row[schedule.rows - 1].speed;
  ck_assert(last > 300 * rpm && last < 350 * rpm);
  ck_assert(!alone(&machine, LB_ECONOMY, 0, last + 4 * rpm).found);
  ck_assert_ptr_nonnull(strstr(schedule.above, " rpm throttling, back pressure and friction take"));
  ck_assert_str_eq(schedule.below, "");
  ck_close_relative(schedule.asked_to, 600 * rpm, IDENTITY);
}
END_TEST

/* At a crawl a leaking inlet fills the cylinder whatever the valve does, so that a table begins
 * later. */
START_TEST(begins_where_leakage_leaves_off) {
  struct lb_machine machine = machine_of(PUMP, 2);
  machine.path[LB_INLET_VALVE].seat_leakage = 0.05e-8;
  must_find(&machine, LB_ATMOSPHERIC, 0, 2 * rpm, 200 * rpm);
  double first = schedule.row[0].speed;
  ck_assert(first > 2 * rpm);
  ck_assert(!alone(&machine, LB_ATMOSPHERIC, 0, first - 2 * rpm).found);
  ck_assert_ptr_nonnull(strstr(schedule.below, "even with the earliest cut-off"));
  ck_assert_str_eq(schedule.above, "");
}
END_TEST

static void refuses(const struct lb_machine *machine, double margin, double from, double to,
                    enum lb_status wanted, const char *text) {
  struct lb_error error = {0};
  ck_assert_int_eq(find(machine, LB_ATMOSPHERIC, margin, from, to, &error), wanted);
  ck_assert_msg(strstr(error.text, text) == error.text, "%s", error.text);
}

START_TEST(refuses_what_has_no_table) {
  struct lb_machine machine = machine_of(TROLLEY, 2), dumb = machine_of(TROLLEY, 0);
  refuses(&machine, 0, 300 * rpm, 200 * rpm, LB_BAD_INPUT,
          "a range from 300 to 200 rpm is none; its lower end must be below its upper end");
  refuses(&machine, 0, 300 * rpm, 300 * rpm, LB_BAD_INPUT, "a range from 300 to 300 rpm is none");
  refuses(&machine, 4 * bar, 0, 0, LB_NO_ANSWER,
          "no cut-off at any speed of the range: the supply");
  refuses(&dumb, 0, 0, 0, LB_BAD_INPUT, "[inlet valve] has no conductance");
  struct lb_error error = {0};
  const struct lb_speed_question fine = {.rule = LB_ATMOSPHERIC, .tolerance = 1e-3 * degree};
  ck_assert_int_eq(lb_speed_schedule_find(&schedule, &machine, &fine, &error), LB_NO_ANSWER);
  ck_assert_str_eq(error.text, "60 rows do not do; a narrower range of speeds would");
}
END_TEST

static Suite *speed_schedule_suite(void) {
  Suite *suite = suite_create("speed schedule");
  TCase *tests = tcase_create("speed schedule");
  tcase_set_timeout(tests, 120);
  tcase_add_test(tests, as_timed_is_the_same_at_every_speed);
  if (!support_is_rough()) { /* what they ask takes seconds as it is */
    tcase_add_loop_test(tests, rows_are_the_rule_and_lines_between_them_hold, 0,
                        support_times(MACHINE_TEXT_DEMOS));
    tcase_add_test(tests, refuses_what_has_no_table);
    tcase_add_test(tests, coupled_ends_have_rows);
    tcase_add_test(tests, economy_has_rows);
    tcase_add_test(tests, stands_for_the_range_not_stated);
    tcase_add_test(tests, rows_lie_on_round_speeds);
    tcase_add_test(tests, ends_where_the_work_ends);
    tcase_add_test(tests, begins_where_leakage_leaves_off);
  }
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(speed_schedule_suite(), NULL);
}
