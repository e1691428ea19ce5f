/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a builder is warned of: the flags of the chambers from a size that matters on, and ice.
 * Moisture is checked against saturation pressures that any steam or psychrometric table has.
 */
#include "base/constants.h"
#include "decide/remarks.h"
#include "machine_text.h"
#include "physics/air.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

/* A machine with its remarks. */
struct remarked {
  struct lb_machine machine;
  struct lb_cutoff_answer answer;
  struct lb_warning item[LB_REMARKS_MOST];
  size_t count;
};

static struct remarked *remark(const char *lines) {
  static struct remarked r;
  char text[2048];
  snprintf(text, sizeof text, "%s%s", machine_text_least, lines);
  r.machine = machine_text(text, NULL);
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_int_eq(lb_cycle_prepare(cycle, &r.machine, NULL), LB_OK);
  ck_assert_int_eq(lb_cutoff_find(&r.answer, cycle, 0, NULL), LB_OK);
  lb_cycle_free(cycle);
  r.count = lb_remarks_cutoff(r.item, &r.machine, &r.answer);
  for (size_t i = 0; i < r.count; i++) {
    size_t length = strlen(r.item[i].text);
    ck_assert(length > 0 && length < sizeof r.item[i].text - 1);
    ck_assert(r.item[i].text[length - 1] != '.' && !strchr(r.item[i].text, '\n'));
  }
  return &r;
}

/* The text of a remark, or NULL when it is not there; it is there once at the most. */
static const char *find(const struct remarked *r, const char *code) {
  const char *text = NULL;
  for (size_t i = 0; i < r->count; i++)
    if (strcmp(r->item[i].code, code) == 0) {
      ck_assert_ptr_null(text);
      text = r->item[i].text;
    }
  return text;
}

static void ck_begins(const char *text, const char *beginning) {
  ck_assert_ptr_nonnull(text);
  ck_assert_msg(strncmp(text, beginning, strlen(beginning)) == 0, "%s", text);
}

/* A supply with a dew point of 3 degC at 6 bar gauge holds 7.58 hPa of vapour in 7013.25 hPa; at
 * 1013.25 hPa that is 1.095 hPa, which is saturated over ice between -20 degC (1.032 hPa in tables
 * of vapour pressure over ice) and -19 degC (1.137 hPa). */
START_TEST(frost_point_from_the_dew_point) {
  struct remarked *r = remark("[supply]\ndew point = 3 degC\n");
  ck_close(lb_remarks_frost_point(&r->machine), 273.15 - 19.4, 0.1);
}
END_TEST

/* Surroundings of 20 degC at 50 % hold 11.7 hPa of vapour; seven times as much would be 81 hPa, but
 * at 20 degC the supply holds 23.4 hPa and no more: 3.38 hPa at the exhaust, saturated over ice at
 * -7 degC (3.38 hPa). */
START_TEST(frost_point_from_the_humidity) {
  struct remarked *r = remark("[surroundings]\nhumidity = 50 %\n");
  ck_close(lb_remarks_frost_point(&r->machine), 273.15 - 7.0, 0.1);
}
END_TEST

/* Air so dry that the compressed air does not reach saturation keeps its share of vapour: the frost
 * point of the exhaust is that of the surroundings. */
START_TEST(frost_point_of_dry_surroundings) {
  struct remarked *r = remark("[surroundings]\nhumidity = 5 %\n");
  double vapour = 0.05 * lb_air_saturation_pressure(293.15, LB_OVER_WATER);
  double frost = lb_remarks_frost_point(&r->machine);
  ck_close_relative(lb_air_saturation_pressure(frost, LB_OVER_ICE), vapour, IDENTITY);
  ck_assert(lb_remarks_frost_point(&remark("[surroundings]\nhumidity = 0 %\n")->machine) == 0);
  ck_assert(isnan(lb_remarks_frost_point(&remark("")->machine)));
}
END_TEST

START_TEST(ice) {
  ck_begins(find(remark(""), "ice"), "the air falls to -");
  ck_assert_ptr_nonnull(strstr(find(remark(""), "ice"), "expect ice with moist air"));
  ck_assert_ptr_nonnull(
      strstr(find(remark("[supply]\ndew point = 3 degC\n"), "ice"), "frost forms below -19 degC"));
  ck_assert_ptr_null(find(remark("[supply]\ndew point = -100 degC\n"), "ice"));
  ck_assert_ptr_null(find(remark("[surroundings]\nhumidity = 0 %\n"), "ice"));
  ck_assert_ptr_null(find(remark("[air]\nexpansion = isothermal\n"), "ice"));
}
END_TEST

/* From 7 bar to 0.033 bar absolute air of 0 degC falls to 60 K by (p/p_s)^(0.4/1.4). */
START_TEST(near_liquid) {
  ck_assert_ptr_null(find(remark(""), "near_liquid"));
  struct remarked *r = remark("[supply]\ntemperature = 0 degC\n[exhaust]\n"
                              "back pressure = -0.98 bar gauge\n");
  ck_begins(find(r, "near_liquid"), "the air falls to -");
  ck_assert_ptr_nonnull(strstr(find(r, "near_liquid"), "no longer behaves as an ideal gas there"));
}
END_TEST

/* A supply that is not above back pressure is told of once, by the warnings of the machine. */
START_TEST(nothing_without_a_supply) {
  struct remarked *r = remark("[surroundings]\nhumidity = 90 %\n[exhaust]\n"
                              "back pressure = 6 bar gauge\n[timing]\ncut-off = 60 deg\n");
  ck_assert(r->answer.choice[LB_AS_TIMED].found);
  ck_assert_uint_eq(r->count, 0);
}
END_TEST

START_TEST(heat_from_the_walls) {
  ck_assert_ptr_null(find(remark(""), "heat_from_walls"));
  struct remarked *r = remark("[air]\nexpansion = isothermal\n");
  ck_assert(r->answer.choice[LB_ECONOMY].revolution.isentropic_efficiency > 1);
  ck_assert_ptr_nonnull(find(r, "heat_from_walls"));
}
END_TEST

/* The trapped air reaches more than the supply's 7 bar when a seventh of the volume is left. */
START_TEST(over_compression) {
  ck_assert_ptr_null(find(remark("[timing]\nexhaust closes = 340 deg\n"), "over_compression"));
  const char *text = find(remark("[timing]\nexhaust closes = 230 deg\n"), "over_compression");
  ck_begins(text, "both ends (atmospheric, economy): the air left in the cylinder is compressed");
}
END_TEST

START_TEST(push_back) {
  ck_assert_ptr_null(
      find(remark("[timing]\nexhaust closes = 320 deg\ninlet opens = -3 deg\n"), "push_back"));
  ck_begins(
      find(remark("[timing]\nexhaust closes = 320 deg\ninlet opens = -30 deg\n"), "push_back"),
      "both ends (");
  ck_begins(
      find(remark("[timing]\nexhaust closes = 320 deg\n[timing cap end]\ninlet opens = -30 deg\n"),
           "push_back"),
      "cap end (");
}
END_TEST

START_TEST(in_flow) {
  ck_assert_ptr_null(find(remark("[timing]\nrelease = 175 deg\n"), "in_flow"));
  ck_begins(find(remark("[timing rod end]\nrelease = 140 deg\n"), "in_flow"),
            "rod end (atmospheric, economy): outside air is drawn in");
}
END_TEST

/* An early cut-off of the file's own is told for that alone, and the air it lets in not again. */
START_TEST(negative_loop) {
  ck_assert_ptr_null(find(remark(""), "negative_loop"));
  struct remarked *r = remark("[timing cap end]\ncut-off = 20 deg\n[timing rod end]\n"
                              "cut-off = 90 deg\n");
  ck_begins(find(r, "negative_loop"), "cap end (as-timed): the air expands to 0.");
  ck_assert_ptr_null(find(r, "in_flow"));
}
END_TEST

START_TEST(earliest_cutoff) {
  ck_assert_ptr_null(find(remark(""), "earliest_cutoff"));
  struct remarked *r = remark("[timing cap end]\ninlet opens = 80 deg\n");
  ck_assert(r->answer.choice[LB_ECONOMY].earliest[LB_CAP_END]);
  ck_begins(find(r, "earliest_cutoff"), "cap end: the best economy lies at the earliest cut-off");
}
END_TEST

int main(void) {
  Suite *suite = suite_create("decide/remarks");
  TCase *all = tcase_create("all");
  tcase_add_test(all, frost_point_from_the_dew_point);
  tcase_add_test(all, frost_point_from_the_humidity);
  tcase_add_test(all, frost_point_of_dry_surroundings);
  tcase_add_test(all, ice);
  tcase_add_test(all, near_liquid);
  tcase_add_test(all, nothing_without_a_supply);
  tcase_add_test(all, heat_from_the_walls);
  tcase_add_test(all, over_compression);
  tcase_add_test(all, push_back);
  tcase_add_test(all, in_flow);
  tcase_add_test(all, negative_loop);
  tcase_add_test(all, earliest_cutoff);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
