/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records as JSON, read back by an independent reader, and as CSV, byte by byte.
 */
#include "paper/record.h"
#include "paper/table_write.h"
#include "support.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The record as JSON, released. */
static char *json_of(struct lb_record *record) {
  char *json = NULL;
  struct lb_error error;
  ck_assert_msg(lb_table_write_json(&json, record, &error) == LB_OK, "refused");
  lb_record_free(record);
  return json;
}

/* The same read back; the caller releases it. */
static json_t *read_back(struct lb_record *record) {
  char *json = json_of(record);
  json_error_t error;
  json_t *root = json_loads(json, JSON_REJECT_DUPLICATES, &error);
  ck_assert_msg(root != NULL, "%s in: %s", error.text, json);
  free(json);
  return root;
}

START_TEST(layout) {
  struct lb_record r = {0};
  lb_record_text(&r, "name", "a \"b\"\n");
  lb_record_open(&r, "inner");
  lb_record_number(&r, "x", 1.4);
  lb_record_null(&r, "none");
  lb_record_close(&r);
  lb_record_open_list(&r, "empty");
  lb_record_close(&r);
  lb_record_open_list(&r, "list");
  lb_record_open(&r, NULL);
  lb_record_truth(&r, "yes", true);
  lb_record_close(&r);
  lb_record_whole(&r, NULL, -7);
  lb_record_close(&r);
  char *json = json_of(&r);
  ck_assert_str_eq(json, "{\n"
                         "  \"name\": \"a \\\"b\\\"\\n\",\n"
                         "  \"inner\": {\n"
                         "    \"x\": 1.4,\n"
                         "    \"none\": null\n"
                         "  },\n"
                         "  \"empty\": [],\n"
                         "  \"list\": [\n"
                         "    {\n"
                         "      \"yes\": true\n"
                         "    },\n"
                         "    -7\n"
                         "  ]\n"
                         "}\n");
  free(json);
}
END_TEST

START_TEST(empty_record) {
  struct lb_record r = {0};
  char *json = json_of(&r);
  ck_assert_str_eq(json, "{}\n");
  free(json);
}
END_TEST

/* Significant digits of a number as written. */
static int digits_of(const char *number) {
  int digits = 0, zeros = 0;
  for (; *number && *number != 'e'; number++) {
    if (*number < '0' || *number > '9')
      continue;
    if (*number == '0' && digits == 0)
      continue;
    zeros = *number == '0' ? zeros + 1 : 0;
    digits++;
  }
  return digits - zeros;
}

/* The fewest significant digits that read back to the same double, by the C library. */
static int fewest_digits(double value) {
  char text[40];
  for (int digits = 1;; digits++) {
    snprintf(text, sizeof text, "%.*e", digits - 1, value);
    if (strtod(text, NULL) == value)
      return digits;
  }
}

START_TEST(numbers_read_back) {
  uint64_t state = 20;
  int seen = 0;
  for (int i = 0; i < support_times(20000); i++) {
    double value = ldexp(support_between(&state, -1, 1), (int)support_between(&state, -200, 200));
    if (i % 4 == 0) /* short decimals too */
      value = round(value) / 1000;
    struct lb_record r = {0};
    lb_record_number(&r, "x", value);
    char *json = json_of(&r);
    json_t *root = json_loads(json, 0, NULL);
    ck_assert_msg(json_real_value(json_object_get(root, "x")) == value, "%.17g as %s", value, json);
    ck_assert_msg(value == 0 || digits_of(strchr(json, ':')) == fewest_digits(value),
                  "%.17g is longer than need be: %s", value, json);
    json_decref(root);
    free(json);
    seen++;
  }
  ck_assert_int_eq(seen, support_times(20000));
}
END_TEST

START_TEST(no_nan_and_no_negative_zero) {
  struct lb_record r = {0};
  lb_record_number(&r, "nan", (double)NAN);
  lb_record_number(&r, "infinite", (double)-INFINITY);
  lb_record_number(&r, "zero", -0.0);
  lb_record_number_if(&r, false, "no", 5);
  lb_record_number_if(&r, true, "yes", 5);
  lb_record_text(&r, "no text", NULL);
  char *json = json_of(&r);
  ck_assert_str_eq(json, "{\n  \"nan\": null,\n  \"infinite\": null,\n  \"zero\": 0.0,\n"
                         "  \"no\": null,\n  \"yes\": 5.0,\n  \"no text\": null\n}\n");
  free(json);
}
END_TEST

START_TEST(texts_read_back) {
  static const char *const texts[] = {
      "", "plain", "tab\tand \\ and \"", "Gr\xC3\xB6\xC3\x9F\x65", "\xF0\x9F\x9A\x82", "</script>"};
  struct lb_record r = {0};
  lb_record_open_list(&r, "texts");
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    lb_record_text(&r, NULL, texts[i]);
  lb_record_close(&r);
  json_t *root = read_back(&r), *list = json_object_get(root, "texts");
  ck_assert_uint_eq(json_array_size(list), sizeof texts / sizeof texts[0]);
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    ck_assert_str_eq(json_string_value(json_array_get(list, i)), texts[i]);
  json_decref(root);
}
END_TEST

/* What cannot be written is refused, and nothing is handed out. */
static void refused(struct lb_record *record, enum lb_status expected) {
  char *json = NULL;
  struct lb_error error;
  ck_assert_int_eq(lb_table_write_json(&json, record, &error), expected);
  ck_assert(json == NULL);
  ck_assert(error.status == expected && *error.text);
  lb_record_free(record);
}

START_TEST(refuses) {
  struct lb_record r = {0};
  lb_record_text(&r, "name", "\xFF");
  refused(&r, LB_BAD_INPUT);
  lb_record_open(&r, "never closed");
  refused(&r, LB_BAD_INPUT);
  lb_record_close(&r);
  refused(&r, LB_BAD_INPUT);
  lb_record_number(&r, "x", 1);
  r.failed = true;
  refused(&r, LB_NO_MEMORY);
}
END_TEST

START_TEST(csv_cells) {
  struct lb_record row[2] = {0};
  static const char *const texts[2][3] = {{"a,b", "say \"x\"", "=1+1"},
                                          {"two\nlines", "-", "@x, y"}};
  for (int i = 0; i < 2; i++) {
    lb_record_text(&row[i], "one", texts[i][0]);
    lb_record_text(&row[i], "two", texts[i][1]);
    lb_record_text(&row[i], "three", texts[i][2]);
    lb_record_number(&row[i], "number", i ? -0.1 : (double)NAN);
    lb_record_truth(&row[i], "truth", i);
  }
  char *csv = NULL;
  ck_assert_int_eq(lb_table_write_csv(&csv, row, 2, NULL), LB_OK);
  ck_assert_str_eq(csv, "one,two,three,number,truth\r\n"
                        "\"a,b\",\"say \"\"x\"\"\",'=1+1,,false\r\n"
                        "\"two\nlines\",'-,\"'@x, y\",-0.1,true\r\n");
  free(csv);
  lb_record_null(&row[1], "one more");
  csv = NULL;
  ck_assert_int_eq(lb_table_write_csv(&csv, row, 2, NULL), LB_BAD_INPUT);
  ck_assert(csv == NULL);
  for (int i = 0; i < 2; i++)
    lb_record_free(&row[i]);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/table_write");
  TCase *json = tcase_create("json"), *csv = tcase_create("csv");
  tcase_add_test(json, layout);
  tcase_add_test(json, empty_record);
  tcase_add_test(json, numbers_read_back);
  tcase_add_test(json, no_nan_and_no_negative_zero);
  tcase_add_test(json, texts_read_back);
  tcase_add_test(json, refuses);
  tcase_add_test(csv, csv_cells);
  suite_add_tcase(suite, json);
  suite_add_tcase(suite, csv);
  return support_run(suite, NULL);
}
