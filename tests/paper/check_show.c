/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures as a person reads them. Expected values are worked out from the definitions of the units:
 * 1 lbf = 4.4482216152605 N, 1 in = 25.4 mm, 1 ft = 0.3048 m.
 */
#include "base/constants.h"
#include "paper/show.h"
#include "support.h"

#include <string.h>

static const struct lb_style metric = {false, 1e5}, inch = {true, 1e5};

/* One measure in both styles. */
struct shown {
  enum lb_measure measure;
  double si;
  const char *metric, *inch;
};

static const struct shown figures[] = {
    {LB_SHOW_ANGLE, LB_PI / 3, "60.0 deg", "60.0 deg"},
    {LB_SHOW_LENGTH, 0.0508, "50.80 mm", "2.000 in"},
    {LB_SHOW_VOLUME, 16e-6, "16.0 cm3", "0.976 cu in"},         /* 16/16.387064 */
    {LB_SHOW_GAUGE, 4.6e5, "3.60 bar gauge", "52.2 psi gauge"}, /* 360/6.894757 */
    {LB_SHOW_PRESSURE, 2e4, "0.20 bar", "2.9 psi"},
    {LB_SHOW_TEMPERATURE, 193.15, "-80 degC", "-112 degF"},
    {LB_SHOW_TORQUE, 9.13, "9.13 N m", "6.73 lb ft"}, /* 9.13/1.355818 */
    {LB_SHOW_WORK, 57.32, "57.3 J", "42.3 ft lbf"},
    {LB_SHOW_POWER, 746, "746 W", "1.00 hp"},                  /* 746/745.69987 */
    {LB_SHOW_AIR, 1.185e-3, "1.00 L ANR", "0.0353 cu ft ANR"}, /* 1/28.316847 */
    {LB_SHOW_YIELD, 100e3 / 1.185, "100.0 J/L ANR", "2089 ft lbf/cu ft ANR"},
    {LB_SHOW_SHARE, 0.279, "27.9 %", "27.9 %"},
    {LB_SHOW_DISTANCE, 1524, "1524 m", "5000 ft"},     /* 1524/0.3048 */
    {LB_SHOW_ROAD, 16093.44, "16.1 km", "10.0 miles"}, /* 5280 ft each */
    {LB_SHOW_ROAD_SPEED, 5, "18.0 km/h", "11.2 mph"},  /* 18/1.609344 */
    {LB_SHOW_DURATION, 450, "7.50 min", "7.50 min"},
    {LB_SHOW_MASS, 0.45359237, "0.454 kg", "1.00 lb"}, /* the pound by its definition */
    {LB_SHOW_FORCE, 444.82216152605, "445 N", "100 lbf"},
    {LB_SHOW_ROOM, 28.316846592e-3, "28.3 L", "1.00 cu ft"}, /* 0.3048^3 m3 */
    {LB_SHOW_ENERGY, 13558.179483314, "13.6 kJ", "10000 ft lbf"},
};

START_TEST(both_styles) {
  const struct shown *figure = &figures[_i];
  ck_assert_str_eq(lb_show(&metric, figure->measure, figure->si).text, figure->metric);
  ck_assert_str_eq(lb_show(&inch, figure->measure, figure->si).text, figure->inch);
}
END_TEST

START_TEST(every_measure_is_here) {
  int seen[LB_MEASURES] = {0};
  for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
    seen[figures[i].measure]++;
  for (int i = 0; i < LB_MEASURES; i++)
    ck_assert_msg(seen[i] == 1, "measure %d has %d rows", i, seen[i]);
}
END_TEST

START_TEST(numbers) {
  ck_assert_str_eq(lb_show_number(-0.0, 2).text, "0.00");
  ck_assert_str_eq(lb_show_number(-0.004, 2).text, "0.00");
  ck_assert_str_eq(lb_show_number(-0.006, 2).text, "-0.01");
  ck_assert_str_eq(lb_show_number(-0.4, 0).text, "0");
  ck_assert_str_eq(lb_show_number((double)NAN, 1).text, "-");
  ck_assert_str_eq(lb_show_number((double)INFINITY, 1).text, "-");
  ck_assert(isnan(lb_show_value(&metric, LB_SHOW_WORK, (double)NAN)));
}
END_TEST

/* A turn is nothing, forwards and backwards, and so is what rounds to one. */
START_TEST(crank_angles) {
  static const struct {
    double degrees;
    const char *tenths, *whole;
  } angle[] = {{59.84, "59.8", "60"}, {359.94, "359.9", "0"},  {359.96, "0.0", "0"},
               {365.24, "5.2", "5"},  {720, "0.0", "0"},       {0, "0.0", "0"},
               {-0.04, "0.0", "0"},   {-0.06, "359.9", "0"},   {-90.5001, "269.5", "269"},
               {-359.96, "0.0", "0"}, {359.49, "359.5", "359"}};
  for (size_t i = 0; i < sizeof angle / sizeof angle[0]; i++) {
    double radians = angle[i].degrees * LB_PI / 180;
    ck_assert_str_eq(lb_show_crank(radians, 1).text, angle[i].tenths);
    ck_assert_str_eq(lb_show_crank(radians, 0).text, angle[i].whole);
  }
}
END_TEST

/* A row is as precise as its smaller figures need, and no more. */
START_TEST(decimals_of_a_row) {
  const double near[] = {57.3, 65.8, 109.5}, wide[] = {0.5, 812}, none[] = {(double)NAN, 0};
  ck_assert_int_eq(lb_show_decimals(&metric, LB_SHOW_WORK, near, 3), 1);
  ck_assert_int_eq(lb_show_decimals(&metric, LB_SHOW_WORK, wide, 2), 0);
  ck_assert_int_eq(lb_show_decimals(&metric, LB_SHOW_WORK, none, 2), 0);
  ck_assert_int_eq(lb_show_decimals(&metric, LB_SHOW_ANGLE, wide, 2), 1);
}
END_TEST

START_TEST(pressures_alone) {
  const struct lb_style high = {false, 0.992e5}, high_inch = {true, 0.992e5};
  ck_assert_str_eq(lb_show_pressure(&high, 4.592e5).text,
                   "3.60 bar gauge (4.59 bar absolute, 52.2 psig)");
  ck_assert_str_eq(lb_show_pressure(&high_inch, 4.592e5).text,
                   "52.2 psi gauge (66.6 psi absolute, 3.60 bar gauge)");
  ck_assert_str_eq(lb_show_pressure(&high, 0.992e5).text,
                   "0.00 bar gauge (0.99 bar absolute, 0.0 psig)");
  ck_assert_str_eq(lb_show_absolute(&high, 0.992e5).text,
                   "0.992 bar absolute (14.39 psi absolute)");
  ck_assert_str_eq(lb_show_absolute(&high_inch, 0.992e5).text,
                   "14.39 psi absolute (0.992 bar absolute)");
}
END_TEST

/* Figures given twice change places in inch style, and nothing else does. */
START_TEST(sentences) {
  static const char *const twice[][2] = {
      {"a supply of at most 3.60 bar gauge (52.2 psig) would do",
       "a supply of at most 52.2 psig (3.60 bar gauge) would do"},
      {"falls to -80 degC (-112 degF), below -4 degC (25 degF)",
       "falls to -112 degF (-80 degC), below 25 degF (-4 degC)"},
      {"12.3 cm3 (0.751 cu in)", "0.751 cu in (12.3 cm3)"},
      {"0.43 bar (6.2 psi) above", "6.2 psi (0.43 bar) above"},
      {"100 mm (3.937 in) long", "3.937 in (100 mm) long"},
      {"reach 0.992 bar absolute (14.39 psia) at", "reach 14.39 psia (0.992 bar absolute) at"},
      {"moves at 1.00 m/s (3.28 ft/s) on", "moves at 3.28 ft/s (1.00 m/s) on"},
      {"a bore of 60 psig or 2 bar (or so)", NULL},
      {"x5 mm (0.2 in), 5 mm (4 lbf), 5 mm (0.2 in, 1 ft), 5 mm (", NULL},
      {"", NULL}};
  for (size_t i = 0; i < sizeof twice / sizeof twice[0]; i++) {
    const char *turned = twice[i][1] ? twice[i][1] : twice[i][0];
    ck_assert_str_eq(lb_show_sentence(&metric, twice[i][0]).text, twice[i][0]);
    ck_assert_str_eq(lb_show_sentence(&inch, twice[i][0]).text, turned);
  }
  char endless[3000] = "";
  while (strlen(endless) < 2900)
    strcat(endless, "5 mm (0.2 in) ");
  struct lb_sentence cut = lb_show_sentence(&inch, endless);
  ck_assert_uint_eq(strlen(cut.text), sizeof cut.text - 1);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/show");
  TCase *all = tcase_create("all");
  tcase_add_loop_test(all, both_styles, 0, (int)(sizeof figures / sizeof figures[0]));
  tcase_add_test(all, every_measure_is_here);
  tcase_add_test(all, numbers);
  tcase_add_test(all, crank_angles);
  tcase_add_test(all, decimals_of_a_row);
  tcase_add_test(all, pressures_alone);
  tcase_add_test(all, sentences);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
