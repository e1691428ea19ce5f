/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Texts that grow, lines that are wrapped, and the width of letters; and tables of them.
 */
#include "paper/table.h"
#include "paper/text.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

/* The text so far, which is emptied; the caller releases it. */
static char *take(struct lb_text *text) {
  char *bytes = NULL;
  ck_assert_int_eq(lb_text_take(&bytes, text, NULL), LB_OK);
  ck_assert(text->bytes == NULL && text->length == 0);
  return bytes;
}

#define ck_text(text, expected)                                                                    \
  do {                                                                                             \
    char *taken = take(text);                                                                      \
    ck_assert_str_eq(taken, expected);                                                             \
    free(taken);                                                                                   \
  } while (0)

START_TEST(grows) {
  struct lb_text text = {0};
  for (int i = 0; i < 1000; i++)
    lb_text_add(&text, "%d,", i % 10);
  char *bytes = take(&text);
  ck_assert_uint_eq(strlen(bytes), 2000);
  for (int i = 0; i < 1000; i++)
    ck_assert(bytes[2 * i] == '0' + i % 10 && bytes[2 * i + 1] == ',');
  free(bytes);
  ck_text(&text, "");
}
END_TEST

START_TEST(remembers_failure) {
  struct lb_text text = {0};
  struct lb_error error;
  char *bytes = NULL;
  lb_text_add(&text, "something");
  text.failed = true;
  lb_text_add(&text, "more");
  ck_assert_int_eq(lb_text_take(&bytes, &text, &error), LB_NO_MEMORY);
  ck_assert(bytes == NULL && text.bytes == NULL && !text.failed);
  ck_assert_int_eq(error.status, LB_NO_MEMORY);
}
END_TEST

START_TEST(wraps_at_the_width) {
  struct lb_text text = {0};
  lb_text_wrap(&text, 10, "- ", "  ", "aaa bbbb cc dd");
  ck_text(&text, "- aaa bbbb\n  cc dd\n");
  lb_text_wrap(&text, 9, "- ", "  ", "aaa bbbb cc dd");
  ck_text(&text, "- aaa\n  bbbb cc\n  dd\n");
  lb_text_wrap(&text, 5, "", "", "toolongword a");
  ck_text(&text, "toolongword\na\n");
  lb_text_wrap(&text, 5, "", "", "");
  ck_text(&text, "\n");
}
END_TEST

START_TEST(keeps_a_number_with_its_unit) {
  struct lb_text text = {0};
  lb_text_wrap(&text, 16, "", "", "a supply of 3.60 bar gauge");
  ck_text(&text, "a supply of\n3.60 bar gauge\n");
  lb_text_wrap(&text, 12, "", "", "ends with 12");
  ck_text(&text, "ends with 12\n");
  lb_text_wrap(&text, 20, "", "", "a valve of 3.02 L/(s bar) would do");
  ck_text(&text, "a valve of\n3.02 L/(s bar) would\ndo\n");
  lb_text_wrap(&text, 12, "", "", "words (in a bracket) may part");
  ck_text(&text, "words (in a\nbracket) may\npart\n");
}
END_TEST

START_TEST(columns_of_letters) {
  ck_assert_uint_eq(lb_text_columns(""), 0);
  ck_assert_uint_eq(lb_text_columns("Trolley"), 7);
  ck_assert_uint_eq(lb_text_columns("Zylinder \xC3\x9C"), 10);       /* U with diaeresis */
  ck_assert_uint_eq(lb_text_columns("e\xCC\x81"), 1);                /* e, combining acute */
  ck_assert_uint_eq(lb_text_columns("\xE6\xB0\x97\xE5\x8A\x9B"), 4); /* two ideographs */
  ck_assert_uint_eq(lb_text_columns("\xF0\x9F\x9A\x82"), 2);         /* a locomotive */
  ck_assert_uint_eq(lb_text_columns("\xFF"), 1);                     /* no letter at all */
}
END_TEST

START_TEST(table_aligns) {
  struct lb_text text = {0};
  struct lb_table *table = lb_table_new("<>>");
  static const char *const cells[] = {"",      "cap",        "rod", "work", "1.5",
                                      "10.25", "\xC3\xA4ir", "7",   ""};
  for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++)
    lb_table_cell(table, "%s", cells[i]);
  lb_table_render(&text, table, 1, 2);
  ck_text(&text, "       cap    rod\n"
                 " work  1.5  10.25\n"
                 " \xC3\xA4ir     7\n");
  lb_table_free(table);
}
END_TEST

/* A heading between rows takes no part in the widths and fills up the row before it; the last
 * cell of a row may run over empty ones. */
START_TEST(table_lines_and_long_cells) {
  struct lb_text text = {0};
  struct lb_table *table = lb_table_new("<<<");
  lb_table_cell(table, "a");
  lb_table_line(table, "[a heading wider than all]");
  lb_table_cell(table, "b");
  lb_table_cell(table, "runs over what is empty");
  lb_table_cell(table, "%s", "");
  lb_table_cell(table, "cc");
  lb_table_cell(table, "d");
  lb_table_cell(table, "e");
  lb_table_render(&text, table, 2, 1);
  ck_text(&text, "  a\n"
                 "[a heading wider than all]\n"
                 "  b  runs over what is empty\n"
                 "  cc d e\n");
  lb_table_free(table);
}
END_TEST

START_TEST(table_without_memory) {
  struct lb_text text = {0};
  lb_table_cell(NULL, "nothing");
  lb_table_line(NULL, "nothing");
  lb_table_render(&text, NULL, 0, 1);
  ck_assert(text.failed);
  lb_text_free(&text);
  lb_table_free(NULL);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/text");
  TCase *texts = tcase_create("text"), *tables = tcase_create("table");
  tcase_add_test(texts, grows);
  tcase_add_test(texts, remembers_failure);
  tcase_add_test(texts, wraps_at_the_width);
  tcase_add_test(texts, keeps_a_number_with_its_unit);
  tcase_add_test(texts, columns_of_letters);
  tcase_add_test(tables, table_aligns);
  tcase_add_test(tables, table_lines_and_long_cells);
  tcase_add_test(tables, table_without_memory);
  suite_add_tcase(suite, texts);
  suite_add_tcase(suite, tables);
  return support_run(suite, NULL);
}
