/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The timing circle in letters: marks where geometry puts them, the mirror image for the other
 * direction of rotation, and plain narrow text for any machine.
 */
#include "paper/sketch.h"

#include "base/constants.h"
#include "machine_text.h"
#include "random_machine.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

/* A ring of 29 columns and 15 rows, its middle in column 14 and row 7; a second one begins 37
 * columns to the right. */
enum {
  ROWS = 15,
  MIDDLE_ROW = 7,
  MIDDLE_COLUMN = 14,
  LAST_COLUMN = 28,
  LAST_ROW = 14,
  SECOND = 37,
  WIDTH = 78
};

static const double degree = LB_PI / 180;

/* Events at 0, 90, 180 and 270 degrees. */
static const char quarters[] = MACHINE_TEXT_YOKE "[surroundings]\n"
                                                 "pressure = 1 bar absolute\n"
                                                 "[timing]\n"
                                                 "inlet opens = 0 deg\n"
                                                 "cut-off = 90 deg\n"
                                                 "release = 180 deg\n"
                                                 "exhaust closes = 270 deg\n";

/* The sketch of a machine at its own cut-offs. */
static char *sketch(const struct lb_machine *machine) {
  struct lb_text text = {0};
  double cutoff[LB_ENDS];
  char *made;
  random_machine_cutoff(cutoff, machine);
  lb_sketch_timing(&text, machine, cutoff);
  ck_assert_int_eq(lb_text_take(&made, &text, NULL), LB_OK);
  return made;
}

/* The letter at a row and column; a blank beyond the end of the line. */
static char at(const char *text, int row, int column) {
  for (; row > 0; row--)
    text += strcspn(text, "\n") + 1;
  return strcspn(text, "\n") > (size_t)column ? text[column] : ' ';
}

static void ck_mark(const char *text, int row, int column, char mark) {
  ck_assert_msg(at(text, row, column) == mark, "'%c' at row %d, column %d, expected '%c' in\n%s",
                at(text, row, column), row, column, mark, text);
}

START_TEST(marks_at_the_quarters) {
  struct lb_machine m = machine_text(quarters, "cylinder.acting=cap end");
  char *text = sketch(&m);
  ck_mark(text, 0, MIDDLE_COLUMN, 'O');
  ck_mark(text, MIDDLE_ROW, LAST_COLUMN, 'C');
  ck_mark(text, LAST_ROW, MIDDLE_COLUMN, 'R');
  ck_mark(text, MIDDLE_ROW, 0, 'K');
  /* halfway between them: 5 of 7 rows and 10 of 14 columns off the middle */
  ck_mark(text, MIDDLE_ROW - 5, MIDDLE_COLUMN + 10, '#');
  ck_mark(text, MIDDLE_ROW + 5, MIDDLE_COLUMN + 10, '-');
  ck_mark(text, MIDDLE_ROW + 5, MIDDLE_COLUMN - 10, '.');
  ck_mark(text, MIDDLE_ROW - 5, MIDDLE_COLUMN - 10, '=');
  ck_assert_ptr_nonnull(strstr(text, "  cap end  "));
  ck_assert_ptr_nonnull(strstr(text, "  clockwise  "));
  ck_assert_ptr_null(strstr(text, "rod end"));
  ck_assert_ptr_nonnull(
      strstr(text, "\ncap end: O 0.0  C 90.0  R 180.0  K 270.0 deg after its dead centre\n"));
  free(text);
}
END_TEST

/* Every cell of one direction is that of the other with left and right exchanged, but for words. */
START_TEST(anticlockwise_is_the_mirror) {
  struct lb_machine m = machine_text(quarters, "cylinder.acting=cap end");
  m.timing[LB_CAP_END].cutoff = 62 * degree;
  m.timing[LB_CAP_END].inlet_opens = -4 * degree;
  char *clockwise = sketch(&m);
  m.clockwise = false;
  char *other = sketch(&m);
  int compared = 0;
  for (int row = 0; row < ROWS; row++)
    for (int column = 0; column <= LAST_COLUMN; column++) {
      bool words = abs(row - MIDDLE_ROW) == 1 && column > 1 && column < LAST_COLUMN - 1;
      if (words)
        continue;
      ck_mark(other, row, LAST_COLUMN - column, at(clockwise, row, column));
      compared++;
    }
  ck_assert_int_eq(compared, ROWS * 29 - 2 * 25);
  ck_assert_ptr_nonnull(strstr(other, " anticlockwise "));
  free(clockwise);
  free(other);
}
END_TEST

START_TEST(both_ends_side_by_side) {
  struct lb_machine m = machine_text(quarters, "timing rod end.cut-off=45 deg");
  char *text = sketch(&m);
  ck_mark(text, MIDDLE_ROW, LAST_COLUMN, 'C');
  ck_mark(text, 0, SECOND + MIDDLE_COLUMN, 'O');
  ck_mark(text, MIDDLE_ROW - 5, SECOND + MIDDLE_COLUMN + 10, 'C');
  ck_mark(text, LAST_ROW, SECOND + MIDDLE_COLUMN, 'R');
  ck_mark(text, MIDDLE_ROW, SECOND, 'K');
  ck_assert_ptr_nonnull(strstr(text, "\nrod end: O 0.0  C 45.0  R 180.0  K 270.0 deg"));
  free(text);
  m.works[LB_CAP_END] = false;
  text = sketch(&m);
  ck_mark(text, MIDDLE_ROW - 5, MIDDLE_COLUMN + 10, 'C');
  ck_assert_ptr_null(strstr(text, "cap end"));
  free(text);
}
END_TEST

START_TEST(two_events_in_one_place) {
  struct lb_machine m = machine_text(quarters, "timing.exhaust closes=360 deg");
  char *text = sketch(&m);
  ck_mark(text, 0, MIDDLE_COLUMN, '*');
  ck_mark(text, 0, SECOND + MIDDLE_COLUMN, '*');
  free(text);
}
END_TEST

START_TEST(any_machine_is_plain_and_narrow) {
  uint64_t state = 11;
  for (int i = 0; i < 200; i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    char *text = sketch(&m);
    int lines = 0;
    for (const char *line = text; *line; line += strcspn(line, "\n") + 1, lines++) {
      size_t length = strcspn(line, "\n");
      ck_assert_msg(length <= WIDTH, "%zu columns in\n%s", length, text);
      ck_assert_msg(length == 0 || line[length - 1] != ' ', "a blank ends a line of\n%s", text);
    }
    ck_assert_int_eq(lines, ROWS + 1 + m.works[LB_CAP_END] + m.works[LB_ROD_END] + 2);
    for (const char *letter = text; *letter; letter++)
      ck_assert_msg(*letter == '\n' || (*letter >= ' ' && *letter <= '~'), "no ASCII in\n%s", text);
    ck_assert_msg(strstr(text, "-0.0 ") == NULL, "a negative zero in\n%s", text);
    free(text);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/sketch");
  TCase *cases = tcase_create("rings");
  tcase_add_test(cases, marks_at_the_quarters);
  tcase_add_test(cases, anticlockwise_is_the_mirror);
  tcase_add_test(cases, both_ends_side_by_side);
  tcase_add_test(cases, two_events_in_one_place);
  tcase_add_test(cases, any_machine_is_plain_and_narrow);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
