/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages and lists of messages.
 */
#include "base/status.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

START_TEST(test_every_status_has_its_text) {
  static const enum lb_status status[] = {LB_OK, LB_NO_ANSWER, LB_BAD_INPUT,
                                          LB_IO, LB_NO_MEMORY, LB_NUMERIC};
  for (size_t i = 0; i < COUNT(status); i++)
    for (size_t j = 0; j < i; j++)
      ck_assert_str_ne(lb_status_text(status[i]), lb_status_text(status[j]));
  ck_assert_str_eq(lb_status_text((enum lb_status)99), "unknown status");
  ck_assert_str_eq(lb_status_text((enum lb_status) - 1), "unknown status");
}
END_TEST

START_TEST(test_error_is_filled_in_full) {
  struct lb_error error;
  memset(&error, 0x5a, sizeof error);
  ck_assert_int_eq(lb_error_set(&error, LB_IO, "%s %d", "row", 3), LB_IO);
  ck_assert_int_eq(error.status, LB_IO);
  ck_assert_str_eq(error.text, "row 3");
  ck_assert_str_eq(error.key, "");
  ck_assert_ptr_null(error.file);
  ck_assert_int_eq(error.line, 0);
  ck_assert_int_eq(error.set, 0);
  ck_assert_int_eq(lb_error_set(NULL, LB_NUMERIC, "lost"), LB_NUMERIC);
}
END_TEST

START_TEST(test_text_too_long_ends_in_points) {
  struct lb_error error;
  int most = (int)sizeof error.text - 1;
  lb_error_set(&error, LB_IO, "%0*d", most, 7);
  ck_assert_int_eq(error.text[most - 1], '7');
  lb_error_set(&error, LB_IO, "%0*d", most + 1, 7);
  ck_assert_uint_eq(strlen(error.text), (size_t)most);
  ck_assert_str_eq(error.text + most - 4, "0...");
}
END_TEST

START_TEST(test_list_counts_what_it_does_not_keep) {
  struct lb_errors errors = {0};
  struct lb_error error;
  for (int i = 1; i <= LB_ERRORS_MOST + 2; i++) {
    lb_error_set(&error, LB_BAD_INPUT, "number %d", i);
    lb_errors_add(&errors, &error);
  }
  lb_errors_add(NULL, &error);
  ck_assert_uint_eq(errors.count, LB_ERRORS_MOST);
  ck_assert_uint_eq(errors.dropped, 2);
  ck_assert_str_eq(errors.item[0].text, "number 1");
  ck_assert_str_eq(errors.item[LB_ERRORS_MOST - 1].text, "number 1000");
  lb_errors_free(&errors);
  ck_assert_uint_eq(errors.count, 0);
  ck_assert_uint_eq(errors.dropped, 0);
  lb_errors_free(&errors);
}
END_TEST

/* The texts are the numbers of the places in the sorted list. */
START_TEST(test_list_is_sorted_by_place) {
  static const struct {
    int line, set;
    const char *key, *text;
  } row[] = {{0, 2, "", "8"}, {12, 0, "", "6"},     {3, 0, "[s] b", "4"}, {0, 1, "[s] a", "7"},
             {3, 0, "", "2"}, {0, 0, "[t] a", "1"}, {3, 0, "[s] b", "5"}, {3, 0, "[s] a", "3"}};
  struct lb_errors errors = {0};
  lb_errors_sort(&errors);
  for (size_t i = 0; i < COUNT(row); i++) {
    struct lb_error error;
    lb_error_set(&error, LB_BAD_INPUT, "%s", row[i].text);
    error.line = row[i].line;
    error.set = row[i].set;
    snprintf(error.key, sizeof error.key, "%s", row[i].key);
    lb_errors_add(&errors, &error);
  }
  lb_errors_sort(&errors);
  ck_assert_uint_eq(errors.count, COUNT(row));
  for (size_t i = 0; i < COUNT(row); i++)
    ck_assert_int_eq(errors.item[i].text[0], '1' + (int)i);
  lb_errors_free(&errors);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("base/status");
  TCase *tests = tcase_create("messages");
  tcase_add_test(tests, test_every_status_has_its_text);
  tcase_add_test(tests, test_error_is_filled_in_full);
  tcase_add_test(tests, test_text_too_long_ends_in_points);
  tcase_add_test(tests, test_list_counts_what_it_does_not_keep);
  tcase_add_test(tests, test_list_is_sorted_by_place);
  suite_add_tcase(suite, tests);
  return support_run(suite, NULL);
}
