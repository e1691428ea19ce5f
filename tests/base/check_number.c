/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers as people write them: every form that is read, every form that is refused, and what is
 * printed. check_units reads them in a locale with a decimal comma.
 */
#include "base/number.h"

#include "base/plain.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

/* The compiler's own reading of the same decimal is correctly rounded (C17 6.4.4.2, IEEE 754), so
 * that equality is exact. `rest` is what must be left for the unit. */
static const struct {
  const char *text;
  double number;
  const char *rest;
} accepted[] = {
    {"50", 50, ""},
    {"50 mm", 50, "mm"},
    {"50mm", 50, "mm"},
    {"  50 \t mm ", 50, "mm "},
    {"0", 0, ""},
    {"-0", 0, ""},
    {"007", 7, ""},
    {"3.6 bar gauge", 3.6, "bar gauge"},
    {".5 mm", .5, "mm"},
    {"5. mm", 5, "mm"},
    {"0.1", 0.1, ""},
    {"9007199254740993", 9007199254740993.0, ""},
    {"0.30000000000000004", 0.30000000000000004, ""},
    {"2.2250738585072014e-308", 2.2250738585072014e-308, ""},
    {"1.7976931348623157e308", 1.7976931348623157e308, ""},
    {"8.5e22", 8.5e22, ""},
    {"1e23 x", 1e23, "x"},
    {"+3 mm", 3, "mm"},
    {"-3 deg", -3, "deg"},
    {"\u22123 deg", -3, "deg"},
    {"1.2e-3 m", 1.2e-3, "m"},
    {"1.2E+3 m", 1.2e3, "m"},
    {"1.2e\u22123 m", 1.2e-3, "m"},
    {"2e3in", 2e3, "in"},
    {"5 eV", 5, "eV"},
    {"5eV", 5, "eV"},
    {"0e5", 0, ""},
    {"3,6 bar", 3.6, "bar"},
    {"0,250 mm", 0.25, "mm"},
    {"-0,250", -0.25, ""},
    {"10,58 m", 10.58, "m"},
    {"10,5850 m", 10.585, "m"},
    {"1234,567 m", 1234.567, "m"},
    {"1,5e3", 1.5e3, ""},
    {"1/2 in", 0.5, "in"},
    {"3/8\"", 0.375, "\""},
    {"1-1/4 in", 1.25, "in"},
    {"-1-1/4 in", -1.25, "in"},
    {"\u22121/2 in", -0.5, "in"},
    {"3-1/4in", 3.25, "in"},
    {"1/3", 1.0 / 3, ""},
    {"9/8 in", 1.125, "in"},
    {"0/8 in", 0, "in"},
    {"-0/8 in", 0, "in"},
    {"78\u00b0", 78, "\u00b0"},
    {"50\u00a0mm", 50, "mm"},
    {"50\u202fmm", 50, "mm"},
    {"4 %", 4, "%"},
    {"300/min", 300, "/min"},
};

#define NOT_A_NUMBER                                                                               \
  "does not begin with a number; write a decimal such as 12.5 or a fraction such as 1-1/4"

static const struct {
  const char *text, *message;
} refused[] = {
    {"", "nothing is written; write a decimal such as 12.5 or a fraction such as 1-1/4"},
    {" \t ", "nothing is written; write a decimal such as 12.5 or a fraction such as 1-1/4"},
    {"mm", "'mm' " NOT_A_NUMBER},
    {"inf", "'inf' " NOT_A_NUMBER},
    {"-inf bar", "'-inf bar' " NOT_A_NUMBER},
    {"infinity", "'infinity' " NOT_A_NUMBER},
    {"nan", "'nan' " NOT_A_NUMBER},
    {"NaN mm", "'NaN mm' " NOT_A_NUMBER},
    {"nan(1)", "'nan(1)' " NOT_A_NUMBER},
    {".", "'.' " NOT_A_NUMBER},
    {"-", "'-' " NOT_A_NUMBER},
    {"- 5 mm", "'- 5 mm' " NOT_A_NUMBER},
    {"--5 mm", "'--5 mm' " NOT_A_NUMBER},
    {"\u20135 mm", "'\u20135 mm' " NOT_A_NUMBER},
    {",5 mm", "',5 mm' " NOT_A_NUMBER},
    {"e5", "'e5' " NOT_A_NUMBER},
    {"\u00bd in", "'\u00bd in' " NOT_A_NUMBER},
    {"\xff", "'\xff' " NOT_A_NUMBER},
    {"0x1F mm",
     "'0x1F mm' is hexadecimal; write a decimal such as 12.5 or a fraction such as 1-1/4"},
    {"-0X1p3", "'-0X1p3' is hexadecimal; write a decimal such as 12.5 or a fraction such as 1-1/4"},
    {"10,585 m", "'10,585 m' could be 10.585 or 10585; write '10.585 m' or '10585 m'"},
    {"1,000", "'1,000' could be 1.000 or 1000; write '1.000' or '1000'"},
    {"-250,125mm", "'-250,125mm' could be -250.125 or -250125; write '-250.125mm' or '-250125mm'"},
    {"1,234e3 m", "'1,234e3 m' could be 1.234 or 1234; write '1.234e3 m' or '1234e3 m'"},
    {"1,000,000 Pa", "'1,000,000 Pa' has more than one point or comma; write one decimal point and "
                     "no mark between thousands"},
    {"1.000.000", "'1.000.000' has more than one point or comma; write one decimal point and no "
                  "mark between thousands"},
    {"10,585.3 m", "'10,585.3 m' has more than one point or comma; write one decimal point and no "
                   "mark between thousands"},
    {"10.585,3 m", "'10.585,3 m' has more than one point or comma; write one decimal point and no "
                   "mark between thousands"},
    {"1e5.2", "'1e5.2' has more than one point or comma; write one decimal point and no mark "
              "between thousands"},
    {"5, mm", "'5, mm' has a comma with no digit behind it; write a decimal such as 12.5 or a "
              "fraction such as 1-1/4"},
    {"4 5 mm", "'4 5 mm' holds two numbers; write one, then its unit"},
    {"1 000 mm", "'1 000 mm' holds two numbers; write one, then its unit"},
    {"1\u202f000 mm", "'1\u202f000 mm' holds two numbers; write one, then its unit"},
    {"4 -5 mm", "'4 -5 mm' holds two numbers; write one, then its unit"},
    {"4 \u22125 mm", "'4 \u22125 mm' holds two numbers; write one, then its unit"},
    {"4 .5 mm", "'4 .5 mm' holds two numbers; write one, then its unit"},
    {"5-10 mm", "'5-10 mm' holds two numbers; write one, then its unit"},
    {"1.5/2 in", "'1.5/2 in' holds two numbers; write one, then its unit"},
    {"1 / 2 in", "'1 / 2 in' holds two numbers; write one, then its unit"},
    {"1/2/3 in", "'1/2/3 in' holds two numbers; write one, then its unit"},
    {"3/8-16", "'3/8-16' holds two numbers; write one, then its unit"},
    {"120 1/min", "'120 1/min' holds two numbers; write one, then its unit"},
    {"1 1/4 in", "'1 1/4 in' holds two numbers; write '1-1/4 in'"},
    {"-1 1/4 in", "'-1 1/4 in' holds two numbers; write '-1-1/4 in'"},
    {"1/0 in", "'1/0 in' divides by zero; write a fraction such as 1-1/4"},
    {"1-5/4 in", "'1-5/4 in' has a fraction of one or more behind its whole number; write a "
                 "fraction such as 1-1/4"},
    {"12345678/2", "'12345678/2' is a fraction of too many digits; write a decimal such as 12.5"},
    {"5-mm", "'5-mm' has a stray mark behind its number; write the number, then its unit"},
    {"5 + mm", "'5 + mm' has a stray mark behind its number; write the number, then its unit"},
    {"5_000", "'5_000' has a stray mark behind its number; write the number, then its unit"},
    {"1e400 m", "'1e400 m' is larger than any number the computer holds; write less than 1e308"},
    {"-1e309", "'-1e309' is larger than any number the computer holds; write less than 1e308"},
    {"1e-400 m",
     "'1e-400 m' is too close to zero for the computer to hold; write 0, or more than 1e-307"},
};

enum {
  ACCEPTED = 49,
  REFUSED = 53
};

START_TEST(reads_what_people_write) {
  ck_assert_uint_eq(sizeof accepted / sizeof accepted[0], ACCEPTED);
  for (int i = 0; i < ACCEPTED; i++) {
    double number = 0;
    const char *rest = NULL;
    struct lb_error error = {.text = "?"};
    enum lb_status status = lb_number_read(&number, &rest, accepted[i].text, &error);
    ck_assert_msg(status == LB_OK, "'%s': %s", accepted[i].text, error.text);
    ck_assert_str_eq(error.text, "?");
    ck_assert_str_eq(rest, accepted[i].rest);
    ck_assert_msg(rest >= accepted[i].text && rest <= accepted[i].text + strlen(accepted[i].text),
                  "'%s': rest points elsewhere", accepted[i].text);
    ck_close(number, accepted[i].number, 0);
    ck_assert_msg(!signbit(number) || number < 0, "'%s' is -0", accepted[i].text);
  }
}
END_TEST

START_TEST(refuses_the_rest_in_one_line) {
  ck_assert_uint_eq(sizeof refused / sizeof refused[0], REFUSED);
  for (int i = 0; i < REFUSED; i++) {
    double number = 1234;
    const char *rest = "untouched";
    struct lb_error error;
    ck_assert_int_eq(lb_number_read(&number, &rest, refused[i].text, &error), LB_BAD_INPUT);
    ck_assert_str_eq(error.text, refused[i].message);
    ck_assert_int_eq(error.status, LB_BAD_INPUT);
    ck_close(number, 1234, 0);
    ck_assert_str_eq(rest, "untouched");
    ck_assert_int_eq(lb_number_read(&number, &rest, refused[i].text, NULL), LB_BAD_INPUT);
  }
}
END_TEST

/* Every digit of a long decimal counts: half way between two doubles (2^53 and 2^53 + 2) and then a
 * little more is rounded up; 2^53 + 1 alone goes to the even one below. */
START_TEST(rounds_correctly_far_behind_the_point) {
  char text[128];
  double number;
  const char *rest;
  snprintf(text, sizeof text, "9007199254740993.%060d1", 0);
  ck_assert_int_eq(lb_number_read(&number, &rest, text, NULL), LB_OK);
  ck_close(number, 0x1p53 + 2, 0);
  ck_assert_int_eq(lb_number_read(&number, &rest, "9007199254740993", NULL), LB_OK);
  ck_close(number, 0x1p53, 0);
}
END_TEST

START_TEST(refuses_endless_digits) {
  char text[400];
  double number;
  const char *rest;
  struct lb_error error;
  snprintf(text, sizeof text, "0.%0300d1 mm", 0);
  ck_assert_int_eq(lb_number_read(&number, &rest, text, &error), LB_BAD_INPUT);
  ck_assert_ptr_nonnull(strstr(error.text, "...' has too many digits to be a measurement"));
}
END_TEST

/* What snprintf gives for seeded random doubles is read back bit for bit. */
START_TEST(reads_back_17_digits) {
  uint64_t seed = 17;
  for (int i = 0; i < 20000; i++) {
    char text[64];
    double number,
        value = ldexp(support_between(&seed, -1, 1), (int)support_between(&seed, -900, 900));
    const char *rest;
    snprintf(text, sizeof text, "%.17g m", value);
    ck_assert_int_eq(lb_number_read(&number, &rest, text, NULL), LB_OK);
    ck_close(number, value, 0);
  }
}
END_TEST

START_TEST(writes_for_people) {
  static const struct {
    double value;
    int digits;
    const char *text;
  } rows[] = {
      {0, 3, "0"},          {-0.0, 3, "0"},           {7.01325, 3, "7.01"},
      {104.7, 3, "105"},    {3014.7, 3, "3015"},      {-0.5, 3, "-0.500"},
      {-1e-5, 1, "-1e-05"}, {1e-4, 2, "0.00010"},     {0.1, 17, "0.10000000000000001"},
      {1e15, 3, "1e+15"},   {999999.5, 1, "1000000"}, {-459.67, 5, "-459.67"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char text[LB_NUMBER_TEXT];
    ck_assert_str_eq(lb_number_write(text, rows[i].value, rows[i].digits), rows[i].text);
  }
}
END_TEST

/* Cut at 60 bytes, whole characters only; one line whatever came in. */
START_TEST(shows_input_on_one_line) {
  char shown[LB_PLAIN_SHOWN], text[200] = "";
  ck_assert_str_eq(lb_plain_shown(shown, "  a\tb\n", 6), "a b");
  ck_assert_str_eq(lb_plain_shown(shown, "\x1b[1m", 4), " [1m");
  ck_assert_str_eq(lb_plain_shown(shown, "abc", 2), "ab");
  ck_assert_str_eq(lb_plain_shown(shown, "  ", 2), "");
  strcat(text, "x");
  for (int i = 0; i < 50; i++)
    strcat(text, "\u00b5");
  lb_plain_shown(shown, text, strlen(text));
  ck_assert_uint_eq(strlen(shown), 1 + 2 * 29 + 3);
  ck_assert_str_eq(shown + 57, "\u00b5...");
}
END_TEST

START_TEST(makes_units_plain) {
  static const char *const rows[][2] = {
      {"kg\u00b7m/s\u00b2", "kg m/s2"},
      {"kg*m/s^2", "kg m/s2"},
      {"kg.m / s2", "kg m/s2"},
      {"kg-m per s\u00b2", "kg m/s2"},
      {"\u00b5m", "um"},
      {"\u03bcm", "um"},
      {"\u00b0C", "degC"},
      {"\u2103", "degC"},
      {"\u00b0", "deg"},
      {"\u2033", "\""},
      {"m\u207b\u00b9", "m-1"},
      {"m^-1", "m-1"},
      {"cu. in.", "cu in"},
      {"bar (g)", "bar(g)"},
      {"L / ( s \u22c5 bar )", "L/(s bar)"},
      {"  N   m ", "N m"},
      {"m^m", "m^m"},
      {"*mm", "?"},
      {"mm*", "?"},
      {"\u00b7", "?"},
      {" . ", "?"},
      {"", ""},
      {"per cent", "per cent"},
      {"m**2", "m 2"},
  };
  char form[LB_PLAIN_UNIT], text[300];
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    lb_plain_unit(form, rows[i][0]);
    ck_assert_str_eq(form, rows[i][1]);
  }
  memset(text, 'm', sizeof text);
  text[sizeof text - 1] = '\0';
  lb_plain_unit(form, text);
  ck_assert_str_eq(form, "?");
}
END_TEST

int main(void) {
  Suite *suite = suite_create("numbers");
  TCase *reading = tcase_create("numbers as people write them");
  tcase_set_timeout(reading, 60);
  tcase_add_test(reading, reads_what_people_write);
  tcase_add_test(reading, refuses_the_rest_in_one_line);
  tcase_add_test(reading, rounds_correctly_far_behind_the_point);
  tcase_add_test(reading, refuses_endless_digits);
  tcase_add_test(reading, reads_back_17_digits);
  tcase_add_test(reading, writes_for_people);
  tcase_add_test(reading, shows_input_on_one_line);
  tcase_add_test(reading, makes_units_plain);
  suite_add_tcase(suite, reading);
  return support_run(suite, NULL);
}
