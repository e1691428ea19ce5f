/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The angles of the odd machine are worked out here, from the triangle of crank and rod.
 */
#include "timing_maker.h"

#include "base/constants.h"
#include "machine_text.h"
#include "paper/sheet_timing.h"
#include "support.h"

static const double degree = LB_PI / 180;

const char timing_maker_yoke[] = MACHINE_TEXT_YOKE "[timing]\n"
                                                   "inlet opens = -6 deg\n"
                                                   "cut-off = 60 deg\n"
                                                   "release = 150 deg\n"
                                                   "exhaust closes = 300 deg\n";

const char timing_maker_odd[] = "[machine]\n"
                                "name = A machine with all that makes a sheet long\n"
                                "rotation = anticlockwise\n"
                                "[cylinder]\n"
                                "bore = 50 mm\n"
                                "stroke = 100 mm\n"
                                "piston rod = 20 mm\n"
                                "dead volume cap end = unknown\n"
                                "dead volume rod end = unknown\n"
                                "[supply]\n"
                                "pressure = 6 bar gauge\n"
                                "[linkage]\n"
                                "kind = connecting rod\n"
                                "connecting rod = 120 mm\n"
                                "offset = 30 mm\n"
                                "[timing]\n"
                                "inlet opens = -5 deg\n"
                                "cut-off = 50 deg\n"
                                "release = 170 deg\n"
                                "exhaust closes = 340 deg\n";

/* Of the odd machine [mm]. */
static const double rod = 120, offset = 30, stroke = 100;

/* The crank's radius follows from the stroke between its two dead centres. */
double timing_maker_odd_radius(void) {
  return stroke / 2 * sqrt(1 - offset * offset / (rod * rod - stroke * stroke / 4));
}

/* Where crank and rod lie in one line, folded, counted from where they are stretched. */
double timing_maker_odd_rod_end(void) {
  double r = timing_maker_odd_radius();
  return LB_PI + asin(offset / (rod - r)) - asin(offset / (rod + r));
}

struct sheet_maker *timing_maker_begin(const char *text, const char *override) {
  static struct sheet_maker maker;
  struct lb_machine machine = machine_text(text, override);
  ck_assert(sheet_maker_begin(&maker, &machine));
  return &maker;
}

void timing_maker_draw(struct lb_drawing *drawing, const struct sheet_maker *maker) {
  struct lb_error error = {0};
  *drawing = (struct lb_drawing){0};
  ck_assert_msg(lb_sheet_timing(drawing, &maker->sheet, &error) == LB_OK, "%s", error.text);
  ck_assert_int_eq(lb_drawing_status(drawing, &error), LB_OK);
  ck_assert_uint_eq(drawing->pages, 1);
}

/* A timing of an end within a span of degrees [degrees], wherever it lies. */
static void random_timing(struct lb_timing *timing, double *cutoff, double first, double span,
                          uint64_t *state) {
  const double least = 0.1, turn = 2 * LB_PI;
  double step[3];
  for (int i = 0; i < 3; i++)
    step[i] = support_uniform(state) < 0.2 ? least : support_between(state, least, span / 3);
  timing->inlet_opens = first * degree;
  *cutoff = timing->inlet_opens + step[0] * degree;
  timing->release = *cutoff + step[1] * degree;
  timing->exhaust_closes = timing->release + step[2] * degree;
  if (support_uniform(state) < 0.2)
    timing->exhaust_closes = timing->inlet_opens + turn;
}

/* Both ends of a sheet; every other time they lie in the same place of the crank. */
void timing_maker_random(struct sheet_maker *maker, uint64_t *state) {
  static const double spans[] = {0.4, 1, 5, 20, 60, 150, 350};
  double first = support_between(state, -360, 360);
  double span = spans[(int)(support_uniform(state) * 7)];
  double *cutoff = maker->answer.choice[maker->paper.rule].cutoff;
  random_timing(&maker->machine.timing[LB_CAP_END], &cutoff[LB_CAP_END], first, span, state);
  double other = support_uniform(state) < 0.5 ? first - 180 : support_between(state, -360, 360);
  random_timing(&maker->machine.timing[LB_ROD_END], &cutoff[LB_ROD_END], other, span, state);
  maker->machine.clockwise = support_uniform(state) < 0.5;
}
