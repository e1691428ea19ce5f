/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cut-off over supply pressures: every row against the closed form by geometry written out
 * here, interpolation against the rule in many more places than the table looked at, and where a
 * table ends.
 */
#include "base/constants.h"
#include "decide/schedule.h"
#include "machine_text.h"
#include "random_machine.h"
#include "support.h"

#include <string.h>

enum {
  MACHINES = 60,
  DENSE = 400 /* places between two rows: twenty for each that a step is judged by */
};
static const double bar = 1e5, degree = LB_PI / 180;

static struct lb_schedule schedule; /* as large as a table may be */

static enum lb_status find_in(double unit, const struct lb_machine *machine, enum lb_rule rule,
                              double margin, double from, double to, struct lb_error *error) {
  const struct lb_schedule_question question = {.rule = rule,
                                                .margin = margin,
                                                .from = from,
                                                .to = to,
                                                .step = 0.05 * bar,
                                                .unit = unit,
                                                .tolerance = 0.1 * degree};
  return lb_schedule_find(&schedule, machine, &question, error);
}

static enum lb_status find(const struct lb_machine *machine, enum lb_rule rule, double margin,
                           double from, double to, struct lb_error *error) {
  return find_in(0, machine, rule, margin, from, to, error);
}

static void must_find(const struct lb_machine *machine, enum lb_rule rule, double margin,
                      double from, double to) {
  struct lb_error error = {0};
  enum lb_status status = find(machine, rule, margin, from, to, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
}

/* Distance of the piston from an end's dead centre, from where the crank pin stands. */
static double distance(const struct lb_machine *machine, enum lb_end end, double angle) {
  const struct lb_linkage *l = &machine->linkage;
  double r = l->crank_radius, travel, crank = angle + (end == LB_ROD_END ? l->outward : 0);
  if (l->kind == LB_CONNECTING_ROD) {
    double pin = crank + asin(l->offset / (l->length + r));
    double across = r * sin(pin) - l->offset;
    travel = sqrt(pow(l->length + r, 2) - pow(l->offset, 2)) - r * cos(pin) -
             sqrt(pow(l->length, 2) - pow(across, 2));
  } else if (l->kind == LB_SWINGING) {
    travel = hypot(l->length - r * cos(crank), r * sin(crank)) - (l->length - r);
  } else {
    travel = r - r * cos(crank);
  }
  return end == LB_ROD_END ? l->stroke - travel : travel;
}

static double volume(const struct lb_machine *machine, enum lb_end end, double angle) {
  double rod = end == LB_ROD_END ? machine->rod_diameter : machine->through_rod_diameter;
  double area = LB_PI / 4 * (pow(machine->bore, 2) - pow(rod, 2));
  return machine->dead_volume[end] + area * distance(machine, end, angle);
}

/* The angle of the stroke away at which air of a pressure, shut in, releases at another. */
static double release_at(const struct lb_machine *machine, enum lb_end end, double supply,
                         double release) {
  double wanted = volume(machine, end, machine->timing[end].release) *
                  pow(release / supply, 1 / machine->expansion_exponent);
  double low = 0, high = lb_linkage_stroke_angle(&machine->linkage, end);
  for (int i = 0; i < 200; i++) {
    double middle = (low + high) / 2;
    *(volume(machine, end, middle) < wanted ? &low : &high) = middle;
  }
  return (low + high) / 2;
}

/* Rows by rising pressure, on the grid or its halves but for what was asked or is the machine's. */
static void check_rows(const struct lb_machine *machine) {
  int own = 0;
  ck_assert_uint_ge(schedule.rows, 2);
  ck_assert_uint_le(schedule.rows, LB_SCHEDULE_ROWS);
  for (size_t i = 0; i < schedule.rows; i++) {
    const struct lb_schedule_row *row = &schedule.row[i];
    own += row->own;
    ck_assert(row->own == (row->supply_pressure == machine->supply_pressure));
    ck_assert(i == 0 || row->supply_pressure > schedule.row[i - 1].supply_pressure);
    bool edge = i == 0 || i + 1 == schedule.rows || row->own;
    double steps = (row->supply_pressure - machine->ambient_pressure) / (0.05 * bar) * 4096;
    ck_assert_msg(edge || fabs(steps - round(steps)) < 1e-3, "%.9g bar gauge is not round",
                  (row->supply_pressure - machine->ambient_pressure) / bar);
  }
  double first = schedule.row[0].supply_pressure;
  double last = schedule.row[schedule.rows - 1].supply_pressure;
  if (machine->supply_pressure > first && machine->supply_pressure < last)
    ck_assert_int_eq(own, 1);
}

/* An angle in whole multiples of a unit; the same without one. */
static double rounded(double angle, double unit) {
  return unit > 0 ? unit * round(angle / unit) : angle;
}

/* The greatest error of interpolation against the rule itself, with angles rounded to a unit. */
static double dense_error(const struct lb_machine *machine, enum lb_rule rule, double margin,
                          double unit) {
  struct lb_machine m = *machine;
  struct lb_cycle *cycle = lb_cycle_new();
  double greatest = 0;
  for (size_t i = 0; i + 1 < schedule.rows; i++) {
    const struct lb_schedule_row *a = &schedule.row[i], *b = a + 1;
    for (int k = 1; k < DENSE; k++) {
      struct lb_choice choice;
      double share = (double)k / DENSE;
      m.supply_pressure = a->supply_pressure + share * (b->supply_pressure - a->supply_pressure);
      ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
      if (rule == LB_ECONOMY)
        ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
      else
        ck_assert_int_eq(lb_cutoff_atmospheric(&choice, cycle, margin, NULL), LB_OK);
      ck_assert(choice.found);
      for (int end = 0; end < LB_ENDS; end++) {
        double left = rounded(a->cutoff[end], unit), right = rounded(b->cutoff[end], unit);
        if (m.works[end])
          greatest = fmax(greatest, fabs(left + share * (right - left) - choice.cutoff[end]));
      }
    }
  }
  lb_cycle_free(cycle);
  return greatest;
}

/* The answers at the machine's own supply. */
static struct lb_cutoff_answer own_answer(const struct lb_machine *machine, double margin) {
  struct lb_cutoff_answer answer;
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_int_eq(lb_cycle_prepare(cycle, machine, NULL), LB_OK);
  ck_assert_int_eq(lb_cutoff_find(&answer, cycle, margin, NULL), LB_OK);
  lb_cycle_free(cycle);
  return answer;
}

/* What was found for a machine that says where its cut-off lies: the file's own words at its own
 * supply. */
static void check_own(const struct lb_machine *machine, enum lb_rule rule, double margin) {
  struct lb_cutoff_answer answer = own_answer(machine, margin);
  for (size_t i = 0; i < schedule.rows; i++)
    for (int end = 0; schedule.row[i].own && end < LB_ENDS; end++)
      if (machine->works[end])
        ck_assert(schedule.row[i].cutoff[end] == answer.choice[rule].cutoff[end]);
}

START_TEST(atmospheric_rows_release_at_the_pressure_wanted) {
  uint64_t state = 601;
  int tables = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine machine;
    struct lb_error error = {0};
    double margin = i % 3 == 0 ? 0.1 * bar : 0;
    random_machine(&machine, &state);
    enum lb_status status = find(&machine, LB_ATMOSPHERIC, margin, 0, 0, &error);
    if (status != LB_OK) {
      ck_assert_msg(status == LB_NO_ANSWER || status == LB_BAD_INPUT, "%s", error.text);
      continue;
    }
    tables++;
    check_rows(&machine);
    check_own(&machine, LB_ATMOSPHERIC, margin);
    for (size_t k = 0; k < schedule.rows; k++)
      for (int end = 0; end < LB_ENDS; end++)
        if (machine.works[end])
          ck_close(schedule.row[k].cutoff[end],
                   release_at(&machine, (enum lb_end)end, schedule.row[k].supply_pressure,
                              machine.back_pressure + margin),
                   1e-7); /* [rad]: the angle turns with the root of the volume near dead centre */
  }
  ck_assert_int_ge(tables, support_times(MACHINES) / 3);
}
END_TEST

START_TEST(interpolation_stays_within_its_word) {
  const enum lb_rule rules[] = {LB_ATMOSPHERIC, LB_ECONOMY};
  uint64_t state = 602;
  int tables = 0;
  for (int i = 0; i < support_times(12); i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    if (find(&machine, rules[i % 2], 0, 0, 0, NULL) != LB_OK)
      continue;
    double error = dense_error(&machine, rules[i % 2], 0, 0);
    ck_assert_msg(error < 0.1 * degree, "interpolation errs by %g deg", error / degree);
    /* sixty-four places see a smooth hill to a thousandth, a bend to a few hundredths */
    ck_assert_msg(error <= schedule.error * 1.05 + 1e-9, "%g deg, said %g", error / degree,
                  schedule.error / degree);
    tables++;
  }
  ck_assert_int_ge(tables, 1);
}
END_TEST

/* What a controller of whole mbar and hundredths of a degree makes of it: no row is moved, and the
 * rounding of angles alone comes on top. */
START_TEST(whole_units_keep_the_word) {
  const enum lb_rule rules[] = {LB_ATMOSPHERIC, LB_ECONOMY};
  const double unit = 1e-3 * bar, hundredth = degree / 100;
  uint64_t state = 603;
  int tables = 0;
  for (int i = 0; i < support_times(12); i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    if (find_in(unit, &machine, rules[i % 2], 0, 0, 0, NULL) != LB_OK)
      continue;
    int own = 0;
    for (size_t k = 0; k < schedule.rows; k++) {
      double count = schedule.row[k].supply_pressure / unit;
      own += schedule.row[k].own;
      ck_close(count, round(count), 1e-9);
      ck_assert(k == 0 || round(count) > round(schedule.row[k - 1].supply_pressure / unit));
      ck_assert(!schedule.row[k].own ||
                fabs(schedule.row[k].supply_pressure - machine.supply_pressure) < unit);
    }
    ck_assert_int_eq(own, own_answer(&machine, 0).choice[rules[i % 2]].found);
    double error = dense_error(&machine, rules[i % 2], 0, hundredth);
    ck_assert_msg(error < 0.1 * degree, "interpolation errs by %g deg", error / degree);
    tables++;
  }
  ck_assert_int_ge(tables, 1);
}
END_TEST

/* Wherever the machine's own supply has a cut-off it is a row: near the pressure of release, above
 * the cylinder's rated pressure, and between the last round pressure and the last with a cut-off.
 */
START_TEST(own_supply_is_always_a_row) {
  static const double gauge[] = {0.07, 0.15, 0.2, 3.599, 10, 10.33, 14};
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  machine.rated_pressure = machine.ambient_pressure + 10 * bar;
  for (size_t i = 0; i < sizeof gauge / sizeof gauge[0]; i++) {
    machine.supply_pressure = machine.ambient_pressure + gauge[i] * bar;
    must_find(&machine, LB_ATMOSPHERIC, 0, 0, 0);
    check_rows(&machine);
    check_own(&machine, LB_ATMOSPHERIC, 0);
    int own = 0;
    for (size_t k = 0; k < schedule.rows; k++)
      own += schedule.row[k].own;
    ck_assert_int_eq(own, 1);
  }
  double release = volume(&machine, LB_CAP_END, machine.timing[LB_CAP_END].release);
  machine.dead_volume[LB_CAP_END] = 60e-6;
  release += 60e-6 - machine_text(machine_text_least, NULL).dead_volume[LB_CAP_END];
  double most = machine.back_pressure * pow(release / 60e-6, machine.expansion_exponent);
  machine.supply_pressure = most - 0.001 * bar;
  must_find(&machine, LB_ATMOSPHERIC, 0, 0, 0);
  ck_assert(schedule.row[schedule.rows - 1].own);
}
END_TEST

/* Nothing said, and a supply without a cut-off: a range all the same. */
START_TEST(supply_without_a_cutoff_has_a_table) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  machine.supply_pressure = machine.back_pressure;
  must_find(&machine, LB_ATMOSPHERIC, 0, 0, 0);
  ck_close(schedule.asked_from, machine.back_pressure + 0.2 * bar, 1e-6);
  ck_close(schedule.asked_to, machine.back_pressure + 1.2 * bar, 1e-6);
  for (size_t k = 0; k < schedule.rows; k++)
    ck_assert(!schedule.row[k].own);
}
END_TEST

START_TEST(own_supply_has_the_angles_of_cutoff) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  const enum lb_rule rules[] = {LB_ATMOSPHERIC, LB_ECONOMY};
  for (int i = 0; i < 2; i++) {
    must_find(&machine, rules[i], 0, 0, 0);
    check_rows(&machine);
    check_own(&machine, rules[i], 0);
    ck_assert(schedule.below[0] == '\0' || rules[i] == LB_ECONOMY);
  }
}
END_TEST

START_TEST(as_timed_is_the_same_everywhere) {
  struct lb_machine machine = machine_text(machine_text_least, "timing.cut-off=70 deg");
  must_find(&machine, LB_AS_TIMED, 0, 2 * bar, 9 * bar);
  ck_assert_uint_ge(schedule.rows, 2);
  for (size_t i = 0; i < schedule.rows; i++)
    ck_assert(schedule.row[i].cutoff[LB_CAP_END] == machine.timing[LB_CAP_END].cutoff);
  ck_assert(schedule.error == 0);
  ck_assert(schedule.row[0].supply_pressure == 2 * bar);
  ck_assert(schedule.row[schedule.rows - 1].supply_pressure == 9 * bar);
}
END_TEST

/* A dead volume so large that the earliest cut-off lets in too much above some pressure. */
START_TEST(ends_where_the_dead_volume_is_too_large) {
  struct lb_machine machine =
      machine_text(machine_text_least, "cylinder.dead volume cap end=60 cm3");
  must_find(&machine, LB_ATMOSPHERIC, 0, 2 * bar, 30 * bar);
  double n = machine.expansion_exponent, last = schedule.row[schedule.rows - 1].supply_pressure;
  double most =
      machine.back_pressure * pow(volume(&machine, LB_CAP_END, machine.timing[LB_CAP_END].release) /
                                      machine.dead_volume[LB_CAP_END],
                                  n);
  ck_assert(most > 2 * bar && most < 30 * bar);
  ck_assert(last <= most && last > most - 0.05 * bar);
  ck_assert_str_eq(schedule.below, "");
  ck_assert_ptr_nonnull(strstr(schedule.above, "cap end"));
}
END_TEST

START_TEST(begins_where_there_is_pressure_to_use) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  must_find(&machine, LB_ATMOSPHERIC, 0.3 * bar, machine.back_pressure, 6 * bar);
  double first = schedule.row[0].supply_pressure, least = machine.back_pressure + 0.3 * bar;
  ck_assert(first > least && first <= least + 0.05 * bar * (1 + 1e-9));
  ck_assert_ptr_nonnull(strstr(schedule.below, "is not above the release pressure wanted"));
  ck_assert(schedule.asked_from == machine.back_pressure && schedule.asked_to == 6 * bar);
}
END_TEST

/* Whether an end's cut-offs are the earliest there is in some rows, and later in others. */
static bool has_bend(const struct lb_machine *machine, enum lb_end end) {
  double earliest = fmax(machine->timing[end].inlet_opens, 0);
  bool at = false, later = false;
  for (size_t i = 0; machine->works[end] && i < schedule.rows; i++) {
    at = at || schedule.row[i].cutoff[end] == earliest;
    later = later || schedule.row[i].cutoff[end] > earliest;
  }
  return at && later;
}

/* The curve by economy has a bend where the cut-off reaches the earliest there is. */
START_TEST(bends_are_no_worse) {
  uint64_t state = 602;
  const int machines = support_times(30);
  int bends = 0;
  for (int i = 0; i < machines; i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    if (find(&machine, LB_ECONOMY, 0, 0, 0, NULL) != LB_OK ||
        !(has_bend(&machine, LB_CAP_END) || has_bend(&machine, LB_ROD_END)))
      continue;
    double error = dense_error(&machine, LB_ECONOMY, 0, 0);
    ck_assert_msg(error < 0.1 * degree, "interpolation errs by %g deg", error / degree);
    check_own(&machine, LB_ECONOMY, 0);
    bends++;
  }
  ck_assert_int_ge(bends, machines / 10);
}
END_TEST

/* Two hills of nearly the same economy, of which the search may find now the one and now the other
 * over so little pressure that it falls between the places by which a step is judged: no table, or
 * one that keeps its word. */
START_TEST(jumps_to_and_fro_are_seen) {
  const int which = 60;
  uint64_t state = 9602;
  struct lb_machine machine;
  struct lb_error error = {0};
  for (int i = 0; i < which; i++)
    random_machine(&machine, &state);
  if (find(&machine, LB_ECONOMY, 0, 0, 0, &error) == LB_OK)
    ck_assert(schedule.error < 0.1 * degree);
  else
    ck_assert_ptr_nonnull(strstr(error.text, "the cut-off changes too steeply for a table at "));
  must_find(&machine, LB_ECONOMY, 0, machine.supply_pressure, 0);
  check_own(&machine, LB_ECONOMY, 0);
  ck_assert(schedule.error < 0.1 * degree);
}
END_TEST

/* A supply so near the pressure of release that the table begins with it, wherever it lies between
 * two whole units. */
START_TEST(own_supply_begins_a_table_of_units) {
  const double unit = 1e-3 * bar;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  for (int tenth = 0; tenth < 10; tenth++) {
    machine.supply_pressure = (1150 + tenth / 10.0) * unit;
    for (int stated = 0; stated < 2; stated++) {
      double from = stated ? machine.supply_pressure : 0;
      ck_assert_int_eq(find_in(unit, &machine, LB_ATMOSPHERIC, 0, from, 0, NULL), LB_OK);
      ck_assert(schedule.row[0].own);
      ck_close(schedule.row[0].supply_pressure, machine.supply_pressure, unit);
      ck_assert(schedule.row[0].supply_pressure >= from);
      for (size_t k = 1; k < schedule.rows; k++)
        ck_assert(!schedule.row[k].own);
    }
  }
}
END_TEST

/* An engine that the air of the room drives towards a vacuum: no rated pressure, and as far above
 * back pressure again as the room is. */
START_TEST(vacuum_has_a_table) {
  struct lb_machine machine = machine_text(machine_text_least, "supply.pressure=0 bar gauge");
  machine.back_pressure = machine.ambient_pressure - 0.7 * bar;
  machine.rated_pressure = 0;
  must_find(&machine, LB_ATMOSPHERIC, 0, 0, 0);
  check_rows(&machine);
  check_own(&machine, LB_ATMOSPHERIC, 0);
  ck_close(schedule.asked_from, machine.back_pressure + 0.2 * bar, 1e-6);
  ck_close(schedule.asked_to, machine.ambient_pressure + 0.7 * bar, 1e-6);
  ck_assert(schedule.row[0].supply_pressure < machine.ambient_pressure);
  for (size_t k = 0; k < schedule.rows; k++)
    for (int end = 0; end < LB_ENDS; end++)
      ck_close(schedule.row[k].cutoff[end],
               release_at(&machine, (enum lb_end)end, schedule.row[k].supply_pressure,
                          machine.back_pressure),
               1e-7);
  ck_assert(dense_error(&machine, LB_ATMOSPHERIC, 0, 0) < 0.1 * degree);
}
END_TEST

/* Rows on whole psi gauge, or halves of that. */
START_TEST(rows_lie_on_the_grid_asked_for) {
  const double psi = 6894.757293168; /* [Pa] */
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  const struct lb_schedule_question question = {
      .rule = LB_ATMOSPHERIC, .step = psi, .tolerance = 0.1 * degree};
  ck_assert_int_eq(lb_schedule_find(&schedule, &machine, &question, NULL), LB_OK);
  int whole = 0;
  for (size_t k = 0; k < schedule.rows; k++) {
    double gauge = (schedule.row[k].supply_pressure - machine.ambient_pressure) / psi;
    ck_assert_msg(schedule.row[k].own || fabs(remainder(gauge, 0.25)) < 1e-6, "%.9g psig", gauge);
    whole += fabs(remainder(gauge, 1)) < 1e-6;
  }
  ck_assert_int_gt(whole, 10);
}
END_TEST

START_TEST(refuses_what_is_no_range) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  struct lb_error error = {0};
  ck_assert_int_eq(find(&machine, LB_ATMOSPHERIC, 0, 5 * bar, 5 * bar, &error), LB_BAD_INPUT);
  ck_assert_ptr_nonnull(strstr(error.text, "its lower end must be below its upper end"));
  ck_assert_int_eq(find(&machine, LB_ATMOSPHERIC, 0, 0.2 * bar, 0.8 * bar, &error), LB_NO_ANSWER);
  ck_assert_ptr_nonnull(strstr(error.text, "no cut-off at any supply pressure of the range: "));
  struct lb_schedule_question fine = {.rule = LB_ATMOSPHERIC,
                                      .from = 1.2 * bar,
                                      .to = 40 * bar,
                                      .step = 0.05 * bar,
                                      .tolerance = 1e-6 * degree};
  ck_assert_int_eq(lb_schedule_find(&schedule, &machine, &fine, &error), LB_NO_ANSWER);
  ck_assert_str_eq(error.text, "400 rows do not do; a narrower range of supply pressures would");
  fine.unit = 1e-3 * bar; /* which is too coarse for so little */
  ck_assert_int_eq(lb_schedule_find(&schedule, &machine, &fine, &error), LB_NO_ANSWER);
  ck_assert_ptr_nonnull(strstr(error.text, "the cut-off changes too steeply for a table at 0.1"));
}
END_TEST

static Suite *schedule_suite(void) {
  Suite *suite = suite_create("schedule");
  TCase *tests = tcase_create("schedule");
  tcase_set_timeout(tests, 60);
  tcase_add_test(tests, atmospheric_rows_release_at_the_pressure_wanted);
  tcase_add_test(tests, interpolation_stays_within_its_word);
  tcase_add_test(tests, whole_units_keep_the_word);
  tcase_add_test(tests, own_supply_is_always_a_row);
  tcase_add_test(tests, supply_without_a_cutoff_has_a_table);
  tcase_add_test(tests, own_supply_has_the_angles_of_cutoff);
  tcase_add_test(tests, as_timed_is_the_same_everywhere);
  tcase_add_test(tests, ends_where_the_dead_volume_is_too_large);
  tcase_add_test(tests, begins_where_there_is_pressure_to_use);
  tcase_add_test(tests, bends_are_no_worse);
  tcase_add_test(tests, jumps_to_and_fro_are_seen);
  tcase_add_test(tests, own_supply_begins_a_table_of_units);
  tcase_add_test(tests, vacuum_has_a_table);
  tcase_add_test(tests, rows_lie_on_the_grid_asked_for);
  tcase_add_test(tests, refuses_what_is_no_range);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(schedule_suite(), NULL);
}
