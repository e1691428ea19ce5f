/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tests' own measure: ck_close must fail on NaN and on anything beyond its tolerance. Cases
 * that must fail run first, in a runner of their own; the test proper counts its failures.
 */
#include "support.h"

#include <stdlib.h>

/* A pair that ck_close must refuse. */
struct pair {
  double actual, expected, tolerance;
};

static const struct pair refused[] = {
    {(double)NAN, 1, 1},
    {1, (double)NAN, 1},
    {1, 1, (double)NAN},
    {(double)NAN, (double)NAN, 1},
    {(double)INFINITY, 1, 1},
    {(double)INFINITY, (double)INFINITY, 1},
    {1, 1 + 0x1p-20, 0x1p-21},
    {1 + 0x1p-20, 1, 0x1p-21},
    {-1, 1, 1.5},
};

enum {
  REFUSED = sizeof refused / sizeof refused[0]
};

static int failed_absolute, failed_relative, ran;

START_TEST(absolute) {
  ck_close(refused[_i].actual, refused[_i].expected, refused[_i].tolerance);
}
END_TEST

START_TEST(relative) {
  ck_close_relative(refused[_i].actual, refused[_i].expected, refused[_i].tolerance);
}
END_TEST

/* How many of the pairs a test fails on. */
static int failures(const TTest *test) {
  Suite *suite = suite_create("to fail");
  TCase *pairs = tcase_create("pairs");
  tcase_add_loop_test(pairs, test, 0, REFUSED);
  suite_add_tcase(suite, pairs);
  SRunner *runner = srunner_create(suite);
  srunner_set_log(runner, NULL);
  srunner_run_all(runner, CK_SILENT);
  int failed = srunner_ntests_failed(runner);
  ran += srunner_ntests_run(runner);
  srunner_free(runner);
  return failed;
}

START_TEST(what_is_not_close_fails) {
  ck_assert_int_eq(ran, 2 * REFUSED);
  ck_assert_int_eq(failed_absolute, REFUSED);
  ck_assert_int_eq(failed_relative, REFUSED);
}
END_TEST

START_TEST(what_is_close_passes) {
  ck_close(1, 1, 0);
  ck_close(1, 1 + 0x1p-20, 0x1p-20);
  ck_close(-3, -3.5, 0.5);
  ck_close_relative(99, 100, 0.01);
  ck_close_relative(-99, -100, 0.01);
  ck_close_relative(0, 0, 0);
}
END_TEST

int main(void) {
  failed_absolute = failures(absolute);
  failed_relative = failures(relative);
  Suite *suite = suite_create("closeness");
  TCase *measure = tcase_create("measure");
  tcase_add_test(measure, what_is_not_close_fails);
  tcase_add_test(measure, what_is_close_passes);
  suite_add_tcase(suite, measure);
  return support_run(suite, NULL);
}
