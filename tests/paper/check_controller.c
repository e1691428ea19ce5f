/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The controller's table: counts against a search over all counts, switching against the delays,
 * what valves can follow, and a C header that keeps to 16 bit whatever is in the machine file. That
 * note, CSV, JSON and header say the same is tested on the command line.
 */
#include "paper/controller.h"

#include "base/constants.h"
#include "machine_text.h"
#include "support.h"

#include <locale.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double degree = LB_PI / 180, rpm = 2 * LB_PI / 60, bar = 1e5;

static const char valves[] = "\n[inlet valve]\non delay = 20 ms\noff delay = 30 ms\n"
                             "[exhaust valve]\non delay = 5 ms\noff delay = 8 ms\n";

/* The least machine with more sections. */
static struct lb_machine machine_with(const char *sections, const char *override) {
  char text[2000];
  snprintf(text, sizeof text, "%s%s", machine_text_least, sections);
  return machine_text(text, override);
}

static struct lb_schedule schedule;

/* A controller's table, with the rows of a C header. */
static struct lb_controller controller_of(const struct lb_machine *machine, double speed,
                                          double from, double to) {
  const struct lb_schedule_question question = {.rule = LB_ATMOSPHERIC,
                                                .from = from,
                                                .to = to,
                                                .step = 0.05 * bar,
                                                .tolerance = 0.1 * degree};
  struct lb_error error = {0};
  enum lb_status status = lb_controller_schedule(&schedule, machine, &question, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return (struct lb_controller){.machine = machine,
                                .schedule = &schedule,
                                .rule = LB_ATMOSPHERIC,
                                .speed = speed,
                                .file = "a file.ini",
                                .checksum = 0x00c0ffee,
                                .changes = ""};
}

static double difference(double a, double b) {
  return remainder(a - b, 2 * LB_PI);
}

/* The count whose crank angle is nearest, of all there are. */
static long search(const struct lb_encoder *encoder, long counts, double angle) {
  long best = 0;
  double least = 10;
  for (long count = 0; count < counts; count++) {
    double turned = 2 * LB_PI * (double)count / (double)counts;
    double at = encoder->offset + (encoder->counts_down ? -turned : turned);
    if (fabs(difference(at, angle)) < least - 1e-12) {
      least = fabs(difference(at, angle));
      best = count;
    }
  }
  return best;
}

START_TEST(counts_are_the_nearest) {
  uint64_t state = 701;
  for (int i = 0; i < 400; i++) {
    struct lb_machine machine = {0};
    struct lb_encoder *encoder = &machine.encoder;
    *encoder = (struct lb_encoder){.given = true,
                                   .counts_per_turn = 1 + (int)(300 * support_uniform(&state)),
                                   .quadrupled = i % 2 == 0,
                                   .counts_down = i % 3 == 0,
                                   .offset = support_between(&state, -6, 6)};
    long counts = encoder->counts_per_turn * (encoder->quadrupled ? 4 : 1);
    double angle = support_between(&state, 0, 2 * LB_PI);
    struct lb_controller_count found = lb_controller_count(&machine, angle);
    double turned = 2 * LB_PI * (double)found.count / (double)counts;
    double at = encoder->offset + (encoder->counts_down ? -turned : turned);
    ck_assert(found.count >= 0 && found.count < counts);
    ck_assert_int_eq(found.count, search(encoder, counts, angle));
    ck_close(difference(at, angle), found.rounding, IDENTITY);
    ck_assert(fabs(found.rounding) <= LB_PI / (double)counts * (1 + IDENTITY));
  }
}
END_TEST

/* Worked by hand: 1440 counts a turn, 0 at dead centre. */
START_TEST(counts_of_a_quarter_turn) {
  struct lb_machine machine = {0};
  machine.encoder = (struct lb_encoder){true, 360, true, 0, false};
  ck_assert_int_eq(lb_controller_count(&machine, LB_PI / 2).count, 360);
  machine.encoder.offset = 10 * degree;
  ck_assert_int_eq(lb_controller_count(&machine, LB_PI / 2).count, 320);
  machine.encoder.counts_down = true;
  ck_assert_int_eq(lb_controller_count(&machine, LB_PI / 2).count, 1440 - 320);
  ck_assert_int_eq(lb_controller_count(&machine, 10 * degree).count, 0);
}
END_TEST

/* 20 ms at 300 rpm are 36 deg. */
START_TEST(valves_are_switched_ahead) {
  struct lb_machine machine = machine_with(valves, NULL);
  struct lb_controller controller = controller_of(&machine, 300 * rpm, 3 * bar, 6 * bar);
  for (size_t i = 0; i < schedule.rows; i++)
    for (int end = 0; end < LB_ENDS; end++) {
      const struct lb_schedule_row *row = &schedule.row[i];
      const struct lb_timing *t = &machine.timing[end];
      const double wanted[] = {t->inlet_opens - 36 * degree, row->cutoff[end] - 54 * degree,
                               t->release - 9 * degree, t->exhaust_closes - 14.4 * degree};
      for (int k = 0; k < 4; k++)
        ck_close(lb_controller_switch(&controller, row, (enum lb_end)end, (enum lb_varied)k),
                 wanted[k], 1e-12);
    }
}
END_TEST

/* Angles of switching are left alone, but for a cut-off that the rule found. */
START_TEST(angles_of_switching_have_no_lead) {
  struct lb_machine machine = machine_with(valves, "timing.angles mean=switching");
  struct lb_controller controller = controller_of(&machine, 300 * rpm, 3 * bar, 6 * bar);
  const struct lb_schedule_row *row = &schedule.row[0];
  ck_assert(lb_controller_switch(&controller, row, LB_CAP_END, LB_VARIED_INLET_OPENS) ==
            machine.timing[LB_CAP_END].inlet_opens);
  ck_close(lb_controller_switch(&controller, row, LB_CAP_END, LB_VARIED_CUTOFF),
           row->cutoff[LB_CAP_END] - 54 * degree, 1e-12);
}
END_TEST

/* At the greatest speed a valve has just begun to open when it is switched off, or is just shut
 * when it is switched on again; a little faster one of the valves cannot follow. */
START_TEST(greatest_speed_is_the_last_that_fits) {
  struct lb_machine machine = machine_with(valves, NULL);
  struct lb_controller controller = controller_of(&machine, 0, 2 * bar, 8 * bar);
  double most = 0;
  for (size_t i = 0; i < schedule.rows; i++) {
    const struct lb_schedule_row *row = &schedule.row[i];
    double greatest = lb_controller_greatest_speed(&controller, row), least = (double)INFINITY;
    for (int end = 0; end < LB_ENDS; end++) {
      const struct lb_timing *t = &machine.timing[end];
      double inlet = row->cutoff[end] - t->inlet_opens, exhaust = t->exhaust_closes - t->release;
      const double limits[] = {inlet / 0.030, (2 * LB_PI - inlet) / 0.020, exhaust / 0.008,
                               (2 * LB_PI - exhaust) / 0.005};
      for (int k = 0; k < 4; k++)
        least = fmin(least, limits[k]);
    }
    ck_close_relative(greatest, least, IDENTITY);
    most = fmax(most, greatest);
  }
  struct lb_error error = {0};
  controller.speed = most * (1 - 1e-9);
  ck_assert_int_eq(lb_controller_test(&controller, &error), LB_OK);
  controller.speed = most * (1 + 1e-9);
  ck_assert_int_eq(lb_controller_test(&controller, &error), LB_NO_ANSWER);
  ck_assert_ptr_nonnull(strstr(error.text, "the valves cannot follow their signals in any row; "));
  double would_do = atof(strstr(error.text, "row; ") + 5);
  ck_assert(would_do * rpm <= most && would_do * rpm > most - 0.2 * rpm);
}
END_TEST

/* Where the file has angles of switching the events come later the faster the crank turns: with the
 * inlet switched on at 10 deg, opening 20 ms later, and shut by the rule at cut-off, for which it
 * is switched off 30 ms ahead, 50 ms must pass between. */
START_TEST(switching_angles_move_the_events) {
  struct lb_machine machine = machine_with(valves, "timing.inlet opens=10 deg");
  machine.timing[LB_CAP_END].angles_are_switching = true;
  machine.timing[LB_ROD_END].angles_are_switching = true;
  struct lb_controller controller = controller_of(&machine, 0, 5 * bar, 6 * bar);
  const struct lb_schedule_row *row = &schedule.row[0];
  double inlet = fmin(row->cutoff[LB_CAP_END], row->cutoff[LB_ROD_END]) -
                 machine.timing[LB_CAP_END].inlet_opens;
  ck_close_relative(lb_controller_greatest_speed(&controller, row), inlet / 0.050, IDENTITY);
}
END_TEST

START_TEST(rows_that_cannot_be_followed_are_marked) {
  struct lb_machine machine = machine_with(valves, NULL);
  struct lb_controller controller = controller_of(&machine, 0, 2 * bar, 8 * bar);
  struct lb_error error = {0};
  char *text;
  double slow = lb_controller_greatest_speed(&controller, &schedule.row[schedule.rows - 1]);
  controller.speed = slow * 1.01;
  ck_assert_int_eq(lb_controller_text(&text, &controller, &error), LB_OK);
  char mark[40];
  snprintf(mark, sizeof mark, "%.0f: no", floor(slow / rpm));
  ck_assert_ptr_nonnull(strstr(text, mark));
  free(text);
  controller.speed = slow * 0.99;
  ck_assert_int_eq(lb_controller_text(&text, &controller, &error), LB_OK);
  ck_assert_ptr_null(strstr(text, ": no"));
  free(text);
}
END_TEST

START_TEST(prefixes_begin_names) {
  static const char *const good[] = {"a", "Trolley_2", "ABCDEFGHIJKLMNOPQRSTUVWXYZabcde"};
  static const char *const bad[] = {
      "", "2a", "_a", "a-b", "a b", "\303\244", "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdef"};
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
    ck_assert(lb_controller_prefix_fits(good[i]));
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    ck_assert(!lb_controller_prefix_fits(bad[i]));
}
END_TEST

static char *code_of(const struct lb_controller *controller) {
  struct lb_error error = {0};
  char *code = NULL;
  enum lb_status status = lb_controller_code(&code, controller, "Mine", &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return code;
}

/* The numbers of an array of a header; returns how many. */
static size_t read_array(long *value, const char *code, const char *name) {
  const char *at = strstr(code, name);
  ck_assert_msg(at != NULL, "no array %s", name);
  size_t count = 0;
  for (at = strchr(at, '{') + 1; *at != '}'; at++)
    if (*at >= '0' && *at <= '9') {
      char *end;
      value[count++] = strtol(at, &end, 10);
      ck_assert(*end == 'u');
      at = end;
    }
  return count;
}

/* Whether a count of either end is past a turn of 1000. */
static bool has_past(const char *code) {
  static const char *const names[] = {"Mine_cap_cutoff_count", "Mine_rod_cutoff_count"};
  long value[LB_SCHEDULE_ROWS];
  bool past = false;
  for (int i = 0; i < 2; i++) {
    size_t count = read_array(value, code, names[i]);
    for (size_t k = 0; k < count; k++)
      past = past || value[k] >= 1000;
  }
  return past;
}

/* An angle that would be negative has a turn added in every row, so that neighbours stay near. */
START_TEST(negative_angles_gain_a_turn) {
  struct lb_machine machine = machine_with(valves, "timing.inlet opens=100 deg");
  struct lb_controller controller = controller_of(&machine, 300 * rpm, 1.3 * bar, 2.5 * bar);
  long value[LB_SCHEDULE_ROWS];
  char *code = code_of(&controller);
  size_t rows = read_array(value, code, "Mine_cap_inlet_off_deg_100");
  ck_assert_uint_eq(rows, schedule.rows);
  free(code);
  controller.speed = 900 * rpm; /* 162 deg ahead */
  code = code_of(&controller);
  ck_assert_ptr_nonnull(strstr(code, "inlet off [deg/100 after its dead centre, 36000 added]"));
  read_array(value, code, "Mine_cap_inlet_off_deg_100");
  for (size_t i = 0; i < rows; i++) {
    double exact = (schedule.row[i].cutoff[LB_CAP_END] / degree - 162 + 360) * 100;
    ck_assert(fabs((double)value[i] - exact) <= 0.5 + 1e-6);
  }
  free(code);
}
END_TEST

/* Counts go on past the end of a turn, whichever way they run, so that neighbours stay near; modulo
 * a turn they are the encoder's. */
START_TEST(counts_do_not_jump) {
  static const char *const direction[] = {"with rotation", "against rotation"};
  int past = 0;
  for (int offset = 0; offset < 360; offset += 15)
    for (int i = 0; i < 2; i++) {
      char encoder[200];
      snprintf(encoder, sizeof encoder,
               "\n[encoder]\ncounts per turn = 1000\noffset = %d deg\ndirection = %s\n", offset,
               direction[i]);
      struct lb_machine machine = machine_with(encoder, NULL);
      struct lb_controller controller = controller_of(&machine, 0, 1.3 * bar, 9 * bar);
      char *code = code_of(&controller);
      long value[LB_SCHEDULE_ROWS];
      ck_assert_uint_eq(read_array(value, code, "Mine_rod_cutoff_count"), schedule.rows);
      for (size_t k = 0; k < schedule.rows; k++) {
        double crank = lb_timing_crank_angle(&machine, LB_ROD_END, schedule.row[k].cutoff[1]);
        ck_assert_int_eq(value[k] % 1000, lb_controller_count(&machine, crank).count);
        ck_assert(k == 0 || labs(value[k] - value[k - 1]) < 100); /* 36 deg */
        past += value[k] >= 1000;
      }
      ck_assert((strstr(code, "[encoder count, modulo MINE_COUNTS]") != NULL) == has_past(code));
      free(code);
    }
  ck_assert_int_gt(past, 0);
}
END_TEST

START_TEST(high_pressures_have_a_coarser_unit) {
  struct lb_machine machine =
      machine_text(machine_text_least, "cylinder.dead volume cap end=1 cm3");
  machine.dead_volume[LB_ROD_END] = 1e-6;
  struct lb_controller controller = controller_of(&machine, 0, 50 * bar, 80 * bar);
  long value[LB_SCHEDULE_ROWS];
  char *code = code_of(&controller);
  size_t rows = read_array(value, code, "Mine_supply_10mbar_absolute");
  ck_assert_uint_eq(rows, schedule.rows);
  ck_assert_int_eq(value[0], 5000);
  ck_assert_int_eq(value[rows - 1], 8000);
  ck_assert_ptr_nonnull(strstr(code, "[10 mbar absolute]"));
  free(code);
}
END_TEST

START_TEST(counts_beyond_16_bit_are_refused) {
  struct lb_machine machine =
      machine_with("\n[encoder]\ncounts per turn = 40000\nmultiply = 4\n", NULL);
  struct lb_controller controller = controller_of(&machine, 0, 3 * bar, 6 * bar);
  struct lb_error error = {0};
  char *code = NULL;
  enum lb_status status = lb_controller_code(&code, &controller, "x", &error);
  ck_assert_int_eq(status, LB_NO_ANSWER);
  ck_assert_ptr_null(code);
  ck_assert_ptr_nonnull(strstr(error.text, "does not fit the 16 bit of a C header"));
}
END_TEST

/* A comment ends where the header ends it, whatever names are in it. */
START_TEST(names_stay_in_their_comment) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  snprintf(machine.name, sizeof machine.name, "%s", "*/ int x; /* ?\?/ \303\251 **//**/ /*/");
  struct lb_controller controller = controller_of(&machine, 0, 3 * bar, 6 * bar);
  controller.file = "*/x.ini";
  controller.changes = "a=*/*/*";
  char *code = code_of(&controller);
  ck_assert_ptr_nonnull(strstr(code, "#ifndef MINE_TABLE_H"));
  size_t comment = 0; /* its length */
  while (strncmp(code + comment, "*/", 2) != 0)
    comment++;
  ck_assert(strncmp(code + comment + 3, "#ifndef MINE_TABLE_H", strlen("#ifndef MINE_TABLE_H")) ==
            0);
  ck_assert_ptr_null(strstr(code + 2, "/*/"));
  ck_assert_ptr_null(strstr(code, "??"));
  ck_assert_ptr_nonnull(strstr(code, "CRC-32 00c0ffee"));
  free(code);
}
END_TEST

/* Marks that turn the direction of reading do not reach a compiler, nor does what they parted come
 * together as the end of a comment. */
START_TEST(comments_read_as_they_compile) {
  static const char *const marks[] = {"\330\234",     "\342\200\216", "\342\200\217",
                                      "\342\200\252", "\342\200\253", "\342\200\254",
                                      "\342\200\255", "\342\200\256", "\342\201\246",
                                      "\342\201\247", "\342\201\250", "\342\201\251"};
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  struct lb_controller controller = controller_of(&machine, 0, 3 * bar, 6 * bar);
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
    snprintf(machine.name, sizeof machine.name, "a%sb *%s/ \342\200\223 \330\235", marks[i],
             marks[i]);
    char *code = code_of(&controller);
    ck_assert_ptr_nonnull(strstr(code, "Machine: ab * / \342\200\223 \330\235\n"));
    free(code);
  }
}
END_TEST

/* The header is the same where a comma parts decimals. */
START_TEST(code_keeps_its_decimal_point) {
  struct lb_machine machine = machine_with(valves, NULL);
  struct lb_controller controller = controller_of(&machine, 90.5 * rpm, 3 * bar, 6 * bar);
  char *plain = code_of(&controller);
  ck_assert_ptr_nonnull(strstr(plain, "#define MINE_RPM 90.5 "));
  if (support_decimal_comma()) {
    char *comma = code_of(&controller);
    setlocale(LC_ALL, "C");
    ck_assert_str_eq(comma, plain);
    free(comma);
  }
  free(plain);
}
END_TEST

/* Where the encoder counts 0 is said as exactly as it was measured. */
START_TEST(offset_is_said_in_full) {
  static const struct {
    const char *typed, *said;
  } rows[] = {{"12.34 deg", "12.340"}, {"12.3 deg", "12.3"}, {"0 deg", "0.0"}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char encoder[100], said[60];
    snprintf(encoder, sizeof encoder, "\n[encoder]\ncounts per turn = 1000\noffset = %s\n",
             rows[i].typed);
    snprintf(said, sizeof said, " 0 at %s deg of the crank", rows[i].said);
    struct lb_machine machine = machine_with(encoder, NULL);
    struct lb_controller controller = controller_of(&machine, 0, 3 * bar, 6 * bar);
    char *code = code_of(&controller), *text = NULL;
    ck_assert_ptr_nonnull(strstr(code, said));
    ck_assert_int_eq(lb_controller_text(&text, &controller, NULL), LB_OK);
    ck_assert_ptr_nonnull(strstr(text, said));
    free(text);
    free(code);
  }
}
END_TEST

/* Up to the speed that no valve can follow every angle of switching fits, a turn added or not. */
START_TEST(every_angle_of_switching_fits) {
  static const char *const name[] = {"_inlet_on_deg_100", "_inlet_off_deg_100",
                                     "_exhaust_on_deg_100", "_exhaust_off_deg_100"};
  struct lb_machine machine = machine_with(valves, NULL);
  struct lb_controller controller = controller_of(&machine, 0, 1.3 * bar, 9 * bar);
  int speeds = 0;
  for (controller.speed = 50 * rpm; lb_controller_test(&controller, NULL) == LB_OK;
       controller.speed += 50 * rpm) {
    char *code = code_of(&controller);
    for (int k = 0; k < 8; k++) {
      enum lb_end end = k < 4 ? LB_CAP_END : LB_ROD_END;
      long value[LB_SCHEDULE_ROWS];
      char array[60];
      snprintf(array, sizeof array, "Mine_%s%s", end == LB_CAP_END ? "cap" : "rod", name[k % 4]);
      ck_assert_uint_eq(read_array(value, code, array), schedule.rows);
      for (size_t i = 0; i < schedule.rows; i++) {
        double exact =
            lb_controller_switch(&controller, &schedule.row[i], end, (enum lb_varied)(k % 4)) /
            degree * 100;
        ck_assert(value[i] >= 0 && value[i] <= 65535);
        ck_assert(fabs(remainder((double)value[i] - exact, 36000)) <= 0.5 + 1e-6);
        ck_assert(i == 0 || labs(value[i] - value[i - 1]) < 2000); /* 20 deg */
      }
    }
    free(code);
    speeds++;
  }
  ck_assert_int_ge(speeds, 5);
}
END_TEST

static Suite *controller_suite(void) {
  Suite *suite = suite_create("controller");
  TCase *tests = tcase_create("controller");
  tcase_add_test(tests, counts_are_the_nearest);
  tcase_add_test(tests, counts_of_a_quarter_turn);
  tcase_add_test(tests, valves_are_switched_ahead);
  tcase_add_test(tests, angles_of_switching_have_no_lead);
  tcase_add_test(tests, greatest_speed_is_the_last_that_fits);
  tcase_add_test(tests, switching_angles_move_the_events);
  tcase_add_test(tests, rows_that_cannot_be_followed_are_marked);
  tcase_add_test(tests, prefixes_begin_names);
  tcase_add_test(tests, negative_angles_gain_a_turn);
  if (!support_is_rough()) /* 48 tables */
    tcase_add_test(tests, counts_do_not_jump);
  tcase_add_test(tests, high_pressures_have_a_coarser_unit);
  tcase_add_test(tests, counts_beyond_16_bit_are_refused);
  tcase_add_test(tests, names_stay_in_their_comment);
  tcase_add_test(tests, comments_read_as_they_compile);
  tcase_add_test(tests, code_keeps_its_decimal_point);
  tcase_add_test(tests, offset_is_said_in_full);
  tcase_add_test(tests, every_angle_of_switching_fits);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(controller_suite(), NULL);
}
