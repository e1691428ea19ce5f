/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a builder is warned of when a store is run down: ice by the vapour that a full store can
 * hold, water left in it, cold, drag. Answers are made up here; saturation pressures are those of
 * any psychrometric table (20 degC: 23.4 hPa; over ice -41 degC: 0.115, -21 degC: 0.937 hPa).
 */
#include "base/constants.h"
#include "duty/rundown.h"
#include "support.h"

#include <string.h>

/* A machine, an answer with two runs, and what is said about them. */
struct warned {
  struct lb_machine machine;
  struct lb_rundown rundown;
  struct lb_warning item[LB_RUNDOWN_WARNINGS];
  size_t count;
};

/* A store of 200 bar at 20 degC from moist air, with 2.4 kg in it; nothing gets cold. */
static struct warned *quiet(void) {
  static struct warned w;
  memset(&w, 0, sizeof w);
  lb_machine_defaults(&w.machine);
  w.machine.supply_pressure = 8e5;
  w.machine.store = (struct lb_store){
      .given = true, .volume = 0.01, .start_pressure = 200e5, .temperature = 293.15};
  w.rundown.start_mass = 2.4;
  w.rundown.runs = 3;
  for (size_t i = 0; i < w.rundown.runs; i++) {
    struct lb_run *run = &w.rundown.run[i];
    *run = (struct lb_run){.ran = true,
                           .coldest_gas = 290,
                           .coldest_tank = 290,
                           .coldest_supply = 290,
                           .end_pressure = 5e5,
                           .warmed_pressure = 6e5};
  }
  w.rundown.run[1].set_pressure = 8e5;
  w.rundown.run[2] = (struct lb_run){
      .ran = false, .set_pressure = 8e5}; /* 0 K everywhere, and not to be looked at */
  return &w;
}

static double celsius(double degrees) {
  return LB_ZERO_CELSIUS + degrees;
}

/* The text of a warning, or NULL when it is not there. */
static const char *find(struct warned *w, const char *code) {
  const char *text = NULL;
  w->count = lb_rundown_warnings(w->item, &w->machine, &w->rundown);
  ck_assert_uint_le(w->count, LB_RUNDOWN_WARNINGS);
  for (size_t i = 0; i < w->count; i++) {
    size_t length = strlen(w->item[i].text);
    ck_assert(length > 0 && length < sizeof w->item[i].text - 1);
    ck_assert(w->item[i].text[length - 1] != '.' && !strchr(w->item[i].text, '\n'));
    if (strcmp(w->item[i].code, code) == 0) {
      ck_assert_ptr_null(text);
      text = w->item[i].text;
    }
  }
  return text;
}

static void ck_says(const char *text, const char *part) {
  ck_assert_msg(text && strstr(text, part), "%s", text ? text : "(nothing)");
}

START_TEST(nothing_to_say) {
  struct warned *w = quiet();
  find(w, "");
  ck_assert_uint_eq(w->count, 0);
}
END_TEST

/* A full store at 20 degC holds 23.3 of 200 000 hPa of vapour: 0.118 of 1013 hPa, which freezes out
 * below -41 degC. Half of 23.3 is drawn in at 50 %, ten times what the store holds: no difference.
 */
START_TEST(ice) {
  struct warned *w = quiet();
  w->rundown.run[1].coldest_gas = celsius(-39);
  ck_assert_ptr_null(find(w, "ice"));
  w->rundown.run[1].coldest_gas = celsius(-80);
  ck_says(find(w, "ice"), "falls to -80 degC (-112 degF), and what moisture a full store can hold");
  ck_says(find(w, "ice"),
          "freezes out below -41 degC (-41 degF): expect ice in the exhaust unless");
  w->machine.humidity_given = true;
  w->machine.humidity = 0.5;
  ck_says(find(w, "ice"), "and its moisture freezes out below -41 degC");
  w->machine.humidity = 0;
  ck_assert_ptr_null(find(w, "ice"));
}
END_TEST

/* A store at 5 degC holds 8.72 hPa, 0.0442 at the exhaust: -49 degC. */
START_TEST(ice_from_a_cool_store) {
  struct warned *w = quiet();
  w->rundown.run[1].coldest_gas = celsius(-80);
  w->machine.store.temperature = celsius(5);
  ck_says(find(w, "ice"), "freezes out below -49 degC");
}
END_TEST

/* Air so dry that pressing does not saturate it keeps its share: 5 % of 23.3 hPa at 2 bar are 1.17
 * hPa at 1013, frost below -19 degC (1.137 hPa at -19, 1.24 at -18). */
START_TEST(ice_of_dry_surroundings) {
  struct warned *w = quiet();
  w->machine.store.start_pressure = 2e5;
  w->machine.humidity_given = true;
  w->machine.humidity = 0.05;
  w->rundown.run[0].coldest_gas = celsius(-25);
  ck_says(find(w, "ice"), "freezes out below -19 degC");
}
END_TEST

/* The dew point of the supply is said of the supply's own pressure: 3 degC at 8 bar, 7.58 of 8000
 * hPa, is 0.96 of 1013 hPa, -21 degC over ice. What the surroundings are like says nothing then. */
START_TEST(ice_by_the_dew_point) {
  struct warned *w = quiet();
  w->machine.dew_point_given = true;
  w->machine.dew_point = celsius(3);
  w->machine.humidity_given = true;
  w->machine.humidity = 0.5;
  w->rundown.run[0].coldest_gas = celsius(-25);
  ck_says(find(w, "ice"), "its moisture freezes out below -21 degC");
  ck_assert_ptr_null(find(w, "wet_store"));
  w->machine.dew_point = celsius(-70);
  ck_assert_ptr_null(find(w, "ice"));
}
END_TEST

/* Behind the regulator, at 8 bar, the vapour of the full store is 0.933 hPa: -21 degC. A plan
 * without a regulator has none that could freeze. */
START_TEST(regulator_ice) {
  struct warned *w = quiet();
  w->rundown.run[1].coldest_supply = celsius(-14);
  ck_assert_ptr_null(find(w, "regulator_ice"));
  w->rundown.run[0].coldest_supply = celsius(-60);
  ck_assert_ptr_null(find(w, "regulator_ice"));
  w->rundown.run[1].coldest_supply = celsius(-25);
  ck_says(find(w, "regulator_ice"), "falls to -25 degC (-13 degF), and what moisture a full store");
  ck_says(find(w, "regulator_ice"), "freezes out below -21 degC (-6 degF) there");
  w->rundown.run[0].set_pressure = 10e5;
  ck_says(find(w, "regulator_ice"), "falls to -60 degC");
  w->machine.dew_point_given = true;
  w->machine.dew_point = celsius(3);
  ck_says(find(w, "regulator_ice"), "its moisture freezes out below 0 degC (32 degF)");
}
END_TEST

START_TEST(cold_store) {
  struct warned *w = quiet();
  w->rundown.run[0].coldest_tank = celsius(-19.9);
  ck_assert_ptr_null(find(w, "cold_store"));
  w->rundown.run[0].coldest_tank = celsius(-30);
  w->rundown.run[1].coldest_tank = celsius(-45);
  w->rundown.run[1].end_pressure = w->machine.ambient_pressure + 4e5;
  w->rundown.run[1].warmed_pressure = w->machine.ambient_pressure + 5.5e5;
  ck_says(find(w, "cold_store"), "falls to -45 degC (-49 degF): usual seals stiffen");
  ck_says(find(w, "cold_store"),
          "4 bar gauge (58 psig) at the end of the run, 5.5 bar gauge (79.8 psig) later");
}
END_TEST

/* 20 degC and 65 % hold 15.2 hPa: 9.5 g of water with each kilogram of dry air at 1013 hPa, of
 * which the full store keeps 0.07: 9.4 g of each of 2.4 kg stay behind, 23 g. */
START_TEST(wet_store) {
  struct warned *w = quiet();
  ck_assert_ptr_null(find(w, "wet_store"));
  w->machine.humidity_given = true;
  w->machine.humidity = 0.65;
  ck_says(find(w, "wet_store"), "leaves about 23 g of water");
  w->machine.store.start_pressure = 4e5; /* and keeps 3.65 of 9.45 g */
  ck_says(find(w, "wet_store"), "leaves about 14 g of water");
  w->machine.store.start_pressure = 1.5e5;
  ck_assert_ptr_null(find(w, "wet_store"));
  w->machine.store.start_pressure = 1.6e5;
  ck_assert_ptr_nonnull(find(w, "wet_store"));
}
END_TEST

START_TEST(drag) {
  struct warned *w = quiet();
  w->rundown.demand.drag_left_out = true;
  ck_says(find(w, "drag_left_out"), "--speed counts them");
}
END_TEST

/* All at once, in one order. */
START_TEST(all_together) {
  static const char *const code[] = {"ice", "regulator_ice", "cold_store", "wet_store",
                                     "drag_left_out"};
  struct warned *w = quiet();
  w->machine.humidity_given = true;
  w->machine.humidity = 0.65;
  w->rundown.run[1].coldest_gas = w->rundown.run[1].coldest_tank =
      w->rundown.run[1].coldest_supply = celsius(-90);
  w->rundown.demand.drag_left_out = true;
  find(w, "");
  ck_assert_uint_eq(w->count, sizeof code / sizeof code[0]);
  for (size_t i = 0; i < w->count; i++)
    ck_assert_str_eq(w->item[i].code, code[i]);
}
END_TEST

/* Air at -141 degC is still a gas at any pressure; below 132.6 K it need not be (Lemmon et al.,
 * 2000). Plans that were not run do not count. */
START_TEST(near_to_liquid) {
  struct warned *w = quiet();
  w->rundown.run[0].coldest_gas = 134;
  ck_assert_ptr_null(find(w, "near_liquid"));
  w->rundown.run[0].coldest_gas = 132;
  ck_says(find(w, "near_liquid"), "falls to -141 degC (-222 degF), near to where it turns liquid");
  w->rundown.run[0].ran = false;
  ck_assert_ptr_null(find(w, "near_liquid"));
}
END_TEST

/* 9 bar absolute on a cylinder of which nothing is known, where the file gives it 8. */
START_TEST(cylinder_without_a_rating) {
  struct warned *w = quiet();
  w->rundown.run[0].point[0].supply_pressure = 8e5;
  ck_assert_ptr_null(find(w, "unrated_cylinder"));
  w->rundown.run[0].point[0].supply_pressure = LB_ATMOSPHERE + 9e5;
  ck_says(find(w, "unrated_cylinder"), "plans put 9 bar gauge (131 psig) on a cylinder");
  w->machine.rated_pressure = 20e5;
  ck_assert_ptr_null(find(w, "unrated_cylinder"));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/rundown_warnings");
  TCase *all = tcase_create("all");
  tcase_add_test(all, nothing_to_say);
  tcase_add_test(all, ice);
  tcase_add_test(all, ice_from_a_cool_store);
  tcase_add_test(all, ice_of_dry_surroundings);
  tcase_add_test(all, ice_by_the_dew_point);
  tcase_add_test(all, regulator_ice);
  tcase_add_test(all, cold_store);
  tcase_add_test(all, wet_store);
  tcase_add_test(all, drag);
  tcase_add_test(all, near_to_liquid);
  tcase_add_test(all, cylinder_without_a_rating);
  tcase_add_test(all, all_together);
  suite_add_tcase(suite, all);
  return support_run(suite, (Suite *)NULL);
}
