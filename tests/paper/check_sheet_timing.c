/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The timing sheet as a whole: tables against arithmetic done here and against the note, and every
 * timing on every paper without a text on another.
 */
#include "paper/sheet_timing.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "paper/answer_cycle.h"
#include "paper/sheet_timing_ring.h"
#include "support.h"
#include "timing_maker.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double degree = LB_PI / 180;
static const double turn = 2 * LB_PI;

enum {
  CELLS = 12
};

/* The cells of a table's row, from its first text on. Returns how many. */
static int row_cells(const char **cell, const struct lb_drawing *drawing,
                     const struct lb_shape *first) {
  const double same_line = 1e-6; /* [mm] */
  double x[CELLS];
  int count = 0;
  for (const struct lb_shape *shape = first; shape < drawing->shape + drawing->shapes; shape++) {
    if (shape->kind != LB_SHAPE_TEXT || fabs(shape->at.y - first->at.y) > same_line)
      continue;
    ck_assert_int_lt(count, CELLS);
    int at = count++;
    for (; at > 0 && x[at - 1] > shape->at.x; at--) {
      x[at] = x[at - 1];
      cell[at] = cell[at - 1];
    }
    x[at] = shape->at.x;
    cell[at] = probe_letters(drawing, shape);
  }
  return count;
}

/* The row of a table that begins with some words; `nth` of those, from 0. Its first text stands at
 * the left border of the page. */
static int find_row(const char **cell, const struct lb_drawing *drawing, const char *words,
                    int nth) {
  const double left = LB_SHEET_MARGIN + 2;
  for (size_t i = 0; i < drawing->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind == LB_SHAPE_TEXT && shape->at.x < left &&
        strcmp(probe_letters(drawing, shape), words) == 0 && nth-- == 0)
      return row_cells(cell, drawing, shape);
  }
  ck_abort_msg("no row '%s'", words);
  return 0;
}

static void ck_row(const struct lb_drawing *drawing, const char *words, int nth,
                   const char *const *expected, int count) {
  const char *cell[CELLS];
  int found = find_row(cell, drawing, words, nth);
  ck_assert_int_ge(found, count + 1);
  for (int i = 0; i < count; i++)
    ck_assert_msg(strcmp(cell[i + 1], expected[i]) == 0, "'%s' of '%s' %d is '%s'", expected[i],
                  words, nth, cell[i + 1]);
}

/* Travel of a yoke is 50 mm (1 - cos a), its slope 50 mm sin a a radian:
 * 6 deg: 0.274 mm, 0.0912 mm/deg; 60 deg: 25 mm, 0.7557; 150 deg: 93.301 mm, 0.4363; 300 deg as
 * 60. */
START_TEST(tables_by_arithmetic) {
  static const char *const own[][5] = {
      {"-6.0 deg", "354.0 deg", "0.27 mm", "0.3 %", "0.091 mm/deg"},
      {"60.0 deg", "60.0 deg", "25.00 mm", "25.0 %", "0.756 mm/deg"},
      {"150.0 deg", "150.0 deg", "93.30 mm", "93.3 %", "0.436 mm/deg"},
      {"300.0 deg", "300.0 deg", "25.00 mm", "25.0 %", "0.756 mm/deg"}};
  static const char *const rod[][5] = {
      {"-6.0 deg", "174.0 deg", "0.27 mm", "0.3 %", "0.091 mm/deg"},
      {"60.0 deg", "240.0 deg", "25.00 mm", "25.0 %", "0.756 mm/deg"},
      {"150.0 deg", "330.0 deg", "93.30 mm", "93.3 %", "0.436 mm/deg"},
      {"300.0 deg", "120.0 deg", "25.00 mm", "25.0 %", "0.756 mm/deg"}};
  /* 25 mm are 0.98425 in, 0.7557 mm 0.02975 in */
  static const char *const inches[] = {"60.0 deg", "60.0 deg", "0.984 in", "25.0 %",
                                       "0.0298 in/deg"};
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  struct lb_drawing drawing;
  timing_maker_draw(&drawing, maker);
  for (int event = 0; event < LB_EVENTS; event++) {
    ck_row(&drawing, lb_timing_event_name((enum lb_varied)event), 0, own[event], 5);
    ck_row(&drawing, lb_timing_event_name((enum lb_varied)event), 1, rod[event], 5);
  }
  lb_drawing_free(&drawing);
  maker->sheet.inch = true;
  timing_maker_draw(&drawing, maker);
  ck_row(&drawing, "cut-off", 0, inches, 5);
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
}
END_TEST

/* An angle that would print as 360.0 prints as 0.0. */
START_TEST(a_turn_is_nothing) {
  static const char *const expected[] = {"0.0 deg", "0.0 deg"};
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, "timing.inlet opens=-0.04 deg");
  struct lb_drawing drawing;
  timing_maker_draw(&drawing, maker);
  ck_row(&drawing, "inlet opens", 0, expected, 2);
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
}
END_TEST

START_TEST(tolerances_say_their_limits) {
  const int earlier = 6;
  const char *cell[CELLS];
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  struct lb_tolerance *t = &maker->detail.work[LB_CAP_END][LB_VARIED_CUTOFF];
  struct lb_drawing drawing;
  *t = (struct lb_tolerance){12.34 * degree, 90 * degree, false, true};
  timing_maker_draw(&drawing, maker);
  find_row(cell, &drawing, "cut-off", 0);
  ck_assert_str_eq(cell[earlier], "12.3 deg");
  ck_assert_str_eq(cell[earlier + 1], "90.0 deg or more");
  lb_drawing_free(&drawing);
  *t = (struct lb_tolerance){0, 0, true, false};
  timing_maker_draw(&drawing, maker);
  find_row(cell, &drawing, "cut-off", 0);
  ck_assert_str_eq(cell[earlier], "-");
  ck_assert_str_eq(cell[earlier + 1], "0.0 deg");
  lb_drawing_free(&drawing);
  maker->detail.tolerances_found = false;
  timing_maker_draw(&drawing, maker);
  find_row(cell, &drawing, "cut-off", 0);
  ck_assert_str_eq(cell[earlier], "-");
  ck_assert_str_eq(cell[earlier + 1], "-");
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
}
END_TEST

/* The line of a note that begins with some words, behind another. */
static const char *line_of(const char *note, const char *behind, const char *words) {
  const char *at = strstr(note, behind);
  ck_assert_msg(at != NULL, "no '%s' in\n%s", behind, note);
  for (; at; at = strchr(at, '\n') ? strchr(at, '\n') + 1 : NULL) {
    const char *word = at + strspn(at, " ");
    if (strncmp(word, words, strlen(words)) == 0)
      return word + strlen(words);
  }
  ck_abort_msg("no line '%s' behind '%s' in\n%s", words, behind, note);
  return NULL;
}

/* Whether some words stand alone in a line. */
static bool line_has(const char *line, const char *words) {
  size_t length = strlen(words);
  for (const char *at = strstr(line, words); at && at < line + strcspn(line, "\n");
       at = strstr(at + 1, words))
    if (at > line && at[-1] == ' ' && (at[length] == ' ' || at[length] == '\n'))
      return true;
  return false;
}

/* Angle and share of the stroke of every event are those of the note, and so are the tolerances
 * that it states. */
static void ck_events_as_noted(const struct lb_drawing *drawing, const char *note,
                               const struct lb_machine *machine) {
  static const char *const block[] = {"At the cap end", "At the rod end"};
  static const char *const label[] = {", cap end", ", rod end"};
  int table = 0;
  for (int end = 0; end < LB_ENDS; end++) {
    for (int event = 0; machine->works[end] && event < LB_EVENTS; event++) {
      const char *name = lb_timing_event_name((enum lb_varied)event), *cell[CELLS];
      char words[64], interval[64];
      find_row(cell, drawing, name, table);
      const char *line = line_of(note, block[end], name);
      ck_assert_msg(line_has(line, cell[1]) && line_has(line, cell[4]), "%s and %s in '%.60s'",
                    cell[1], cell[4], line);
      snprintf(words, sizeof words, "%s%s", name, label[end]);
      line = line_of(note, "How far off before it costs", words);
      bool limited = strstr(cell[6], "more") || strstr(cell[7], "more") || cell[6][0] == '-' ||
                     cell[7][0] == '-';
      snprintf(interval, sizeof interval, "-%.*s to +%.*s", (int)strcspn(cell[6], " "), cell[6],
               (int)strcspn(cell[7], " "), cell[7]);
      ck_assert_msg(limited
                        ? line_has(line, "any") || strstr(line, "any to") || strstr(line, "to any")
                        : line_has(line, interval),
                    "%s in '%.60s'", interval, line);
    }
    table += machine->works[end];
  }
}

/* The figures of the log, and those beside the diagram, are those of the note. */
static void ck_figures_as_noted(const struct lb_drawing *drawing, const char *note,
                                const struct lb_machine *machine, bool inch) {
  static const char *const noted[] = {"air ", "work after friction", "mean torque", "released at"};
  const char *const units[][2] = {{"air per revolution, L ANR", "air per revolution, cu ft ANR"},
                                  {"work per revolution, J", "work per revolution, ft lbf"},
                                  {"mean torque, N m", "mean torque, lb ft"}};
  static const char *const release[LB_ENDS][2] = {
      {"release, cap end, bar gauge", "release, cap end, psi gauge"},
      {"release, rod end, bar gauge", "release, rod end, psi gauge"}};
  const char *cell[CELLS];
  for (int i = 0; i < 3; i++) {
    find_row(cell, drawing, units[i][inch], 0);
    const char *line = line_of(note, "Per revolution", noted[i]);
    ck_assert_msg(line_has(line, cell[1]), "'%s' in '%.40s'", cell[1], line);
  }
  bool both = machine->works[LB_CAP_END] && machine->works[LB_ROD_END];
  for (int end = 0; end < LB_ENDS; end++) {
    if (!machine->works[end])
      continue;
    const char *name = end == LB_CAP_END ? "cap end" : "rod end";
    char words[64], beside[96];
    snprintf(words, sizeof words, both ? "released at, %s" : "released at", name);
    find_row(cell, drawing, release[end][inch], 0);
    ck_assert(line_has(line_of(note, "Per revolution", words), cell[1]));
    snprintf(beside, sizeof beside, "%s released at %s %s gauge", name, cell[1],
             inch ? "psi" : "bar");
    ck_assert_msg(probe_find(drawing, 0, beside) != NULL, "no '%s'", beside);
  }
}

START_TEST(figures_are_those_of_the_note) {
  struct lb_machine machine = machine_text_demo(_i);
  for (int rule = 0; rule < 3; rule++)
    for (int inch = 0; inch < 2; inch++) {
      struct sheet_maker maker;
      struct lb_drawing drawing;
      char *note;
      ck_assert(sheet_maker_begin_rule(&maker, &machine, (enum lb_rule)rule));
      maker.sheet.inch = inch;
      timing_maker_draw(&drawing, &maker);
      probe_sheet(&drawing);
      ck_assert_int_eq(lb_answer_cycle_text(&note, &maker.paper, inch, NULL), LB_OK);
      ck_events_as_noted(&drawing, note, &machine);
      ck_figures_as_noted(&drawing, note, &machine, inch);
      free(note);
      lb_drawing_free(&drawing);
      sheet_maker_end(&maker);
    }
}
END_TEST

/* Travel of the odd machine from its cap-end dead centre [mm], from the triangle of crank and
 * rod. */
static double odd_travel(double crank, double r) {
  const double l = 120, e = 30;
  double phi = crank + asin(e / (l + r)), lateral = r * sin(phi) - e;
  return sqrt((l + r) * (l + r) - e * e) - r * cos(phi) - sqrt(l * l - lateral * lateral);
}

/* The crank angle at which it has travelled a distance, between two angles. */
static double odd_angle(double low, double high, double distance, double r) {
  bool rises = odd_travel(high, r) > odd_travel(low, r);
  for (int i = 0; i < 100; i++) {
    double middle = (low + high) / 2;
    if ((odd_travel(middle, r) < distance) == rises)
      low = middle;
    else
      high = middle;
  }
  return low;
}

/* All texts of a page one after the other. */
static char *all_texts(const struct lb_drawing *drawing) {
  char *all = calloc(drawing->letters + drawing->shapes + 1, 1);
  ck_assert_ptr_nonnull(all);
  for (size_t i = 0; i < drawing->shapes; i++)
    if (drawing->shape[i].kind == LB_SHAPE_TEXT) {
      strcat(all, probe_letters(drawing, &drawing->shape[i]));
      strcat(all, " ");
    }
  return all;
}

/* With an offset half-way between equal travels is not dead centre; by how much is said. */
START_TEST(recipe_knows_the_offset) {
  double r = timing_maker_odd_radius(), rod_end = timing_maker_odd_rod_end();
  double out = odd_angle(0, rod_end, 10, r), in = odd_angle(rod_end, turn, 10, r) - turn;
  char expected[64];
  struct sheet_maker *maker = timing_maker_begin(timing_maker_odd, NULL);
  struct lb_drawing drawing;
  snprintf(expected, sizeof expected, "with the offset %.1f deg %s half-way",
           fabs(out + in) / 2 / degree, out + in < 0 ? "after" : "before");
  timing_maker_draw(&drawing, maker);
  char *all = all_texts(&drawing);
  ck_assert_msg(strstr(all, expected) != NULL, "no '%s' in %s", expected, all);
  ck_assert_ptr_nonnull(strstr(all, "has about 10 mm still to go in"));
  snprintf(expected, sizeof expected, "lies at %.1f deg", rod_end / degree);
  ck_assert_msg(strstr(all, expected) != NULL, "no '%s' in %s", expected, all);
  free(all);
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
  maker = timing_maker_begin(timing_maker_yoke, NULL);
  timing_maker_draw(&drawing, maker);
  all = all_texts(&drawing);
  ck_assert_ptr_null(strstr(all, "with the offset"));
  ck_assert_ptr_null(strstr(all, "lies at"));
  free(all);
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
}
END_TEST

START_TEST(says_how_it_turns) {
  for (int clockwise = 0; clockwise < 2; clockwise++) {
    struct sheet_maker *maker =
        timing_maker_begin(timing_maker_yoke, clockwise ? "machine.rotation=clockwise"
                                                        : "machine.rotation=anticlockwise");
    struct lb_drawing drawing;
    timing_maker_draw(&drawing, maker);
    char *all = all_texts(&drawing);
    ck_assert_ptr_nonnull(strstr(all, "Seen from the side the chart is mounted on"));
    ck_assert_ptr_nonnull(strstr(all, clockwise ? " clockwise" : " anticlockwise"));
    ck_assert_ptr_null(strstr(all, clockwise ? " anticlockwise" : " clockwise"));
    ck_assert_ptr_null(strstr(all, "dead volume is not known"));
    free(all);
    lb_drawing_free(&drawing);
    sheet_maker_end(maker);
  }
}
END_TEST

/* Angles at every event on the diagram, one page, nothing off it and no text on another, whatever
 * the timing. The figures are those of another timing here; only where they stand matters. */
START_TEST(any_timing_fits_any_paper) {
  static const char *const acting[] = {"cylinder.acting=double", "cylinder.acting=cap end",
                                       "cylinder.acting=rod end"};
  uint64_t state = 17;
  int drawn = 0;
  for (int which = 0; which < 3; which++) {
    struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, acting[which]);
    for (int n = 0; n < support_times(which == 0 ? 200 : 50); n++) {
      timing_maker_random(maker, &state);
      for (int size = 0; size < LB_PAPER_SIZES; size++) {
        struct lb_drawing drawing;
        maker->sheet.size = (enum lb_paper_size)size;
        timing_maker_draw(&drawing, maker);
        probe_sheet(&drawing);
        ck_assert_ptr_nonnull(probe_find(&drawing, 0, "Pointer moved by"));
        lb_drawing_free(&drawing);
        drawn++;
      }
    }
    sheet_maker_end(maker);
  }
  ck_assert_int_eq(drawn, 3 * (support_times(200) + 2 * support_times(50)));
}
END_TEST

/* Everything that makes a sheet long at once, on the shortest paper: nothing is lost but rows of
 * the log that can be done without. */
START_TEST(the_longest_sheet) {
  struct lb_machine machine = machine_text(timing_maker_odd, NULL);
  struct sheet_maker maker;
  struct lb_drawing drawing;
  machine.cylinders = LB_CYLINDERS_MOST;
  for (int k = 0; k < LB_CYLINDERS_MOST; k++)
    machine.crank_angle[k] = k * turn / LB_CYLINDERS_MOST;
  machine.back_pressure = machine.ambient_pressure + 0.2e5;
  machine.compression_exponent = 1.234;
  ck_assert(sheet_maker_begin(&maker, &machine));
  maker.sheet.changes =
      "supply.pressure=6.1 bar gauge; timing.release=171 deg; timing rod end.inlet "
      "opens=-4.5 deg; cylinder.bore=51 mm; cylinder.stroke=101 mm; air.expansion="
      "isothermal; linkage.offset=31 mm; surroundings.pressure=999 hPa absolute";
  for (int size = 0; size < LB_PAPER_SIZES; size++)
    for (int inch = 0; inch < 2; inch++) {
      maker.sheet.size = (enum lb_paper_size)size;
      maker.sheet.inch = inch;
      timing_maker_draw(&drawing, &maker);
      probe_sheet(&drawing);
      char *all = all_texts(&drawing);
      ck_assert_ptr_nonnull(strstr(all, "Pointer moved by ____"));
      ck_assert_ptr_nonnull(strstr(all, ", 23 at 330.0 and 24 at 345.0 deg."));
      ck_assert_ptr_nonnull(strstr(all, "10 % of the swept volume is assumed."));
      ck_assert_ptr_nonnull(strstr(all, "release, rod end"));
      ck_assert_ptr_nonnull(strstr(all, "run time, min"));
      if (size == LB_PAPER_A3)
        ck_assert_ptr_nonnull(strstr(all, " note "));
      free(all);
      lb_drawing_free(&drawing);
    }
  uint64_t state = 23;
  maker.sheet.size = LB_PAPER_LETTER;
  for (int n = 0; n < support_times(60); n++) {
    timing_maker_random(&maker, &state);
    timing_maker_draw(&drawing, &maker);
    probe_sheet(&drawing);
    lb_drawing_free(&drawing);
  }
  sheet_maker_end(&maker);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/sheet_timing");
  TCase *tables = tcase_create("tables"), *all = tcase_create("all");
  tcase_add_test(tables, tables_by_arithmetic);
  tcase_add_test(tables, a_turn_is_nothing);
  tcase_add_test(tables, tolerances_say_their_limits);
  tcase_add_loop_test(tables, figures_are_those_of_the_note, 0, MACHINE_TEXT_DEMOS);
  tcase_add_test(tables, recipe_knows_the_offset);
  tcase_add_test(tables, says_how_it_turns);
  tcase_set_timeout(all, 120);
  tcase_add_test(all, the_longest_sheet);
  tcase_add_test(all, any_timing_fits_any_paper);
  suite_add_tcase(suite, tables);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
