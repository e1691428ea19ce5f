/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One chamber against the printed diagrams of engines and air motors. A mean pressure is the work
 * of a revolution over the swept volume; bores, powers and areas follow from it as each book has
 * them.
 */
#include "base/constants.h"
#include "physics/air.h"
#include "stroke/chamber.h"
#include "support.h"

#include <stdbool.h>
#include <string.h>

static const double inch = 0.0254, foot = 0.3048; /* [m], exact */
static const double psi = 6894.757293168361;      /* [Pa] pound-force per square inch */
static const double horse_power = 745.6998715823; /* [W] 550 foot-pounds a second */
static const double rounded_horse_power = 745.7;  /* [W] as Singh has it */
static const double room_temperature = 293.15;    /* [K] where the source states none */

/* An ideal diagram on a swept volume of 1 m3. */
struct diagram {
  double supply, back; /* [Pa absolute] */
  double temperature;  /* of the supply [K] */
  double exponent;     /* of expansion and compression [1] */
  double clearance;    /* [1] of the swept volume */
  double cutoff;       /* [1] of the stroke */
  double closes;       /* exhaust, [1] of the return stroke; 1: at the near dead centre */
};

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

static void unknown(const struct support_row *row) {
  ck_abort_msg("%s:%d: unknown quantity", row->file, row->line);
}

/* The inlet opens at the near dead centre, the exhaust at the far one. */
static struct lb_turn revolution(const struct diagram *d) {
  const struct lb_conditions conditions = {d->supply,        d->temperature, d->back,
                                           room_temperature, d->exponent,    d->exponent};
  double closing = d->clearance + (1 - d->closes);
  const struct lb_volumes volumes = {.opening = d->clearance,
                                     .filled = d->clearance,
                                     .release = d->clearance + 1,
                                     .exhausting = d->clearance + 1,
                                     .swept_out = closing,
                                     .closing = closing,
                                     .trapped_least = d->clearance};
  double cutoff = d->clearance + d->cutoff;
  struct lb_chamber chamber;
  struct lb_turn turn;
  ck_assert_int_eq(lb_chamber_prepare(&chamber, &conditions, &volumes, NULL), LB_OK);
  ck_assert_int_eq(lb_chamber_turn(&turn, &chamber, cutoff, cutoff, NULL), LB_OK);
  return turn;
}

/* [Pa]; of p V = const, exhaust open to the near dead centre. */
static double isothermal_mean_pressure(double supply, double back, double clearance,
                                       double cutoff) {
  const struct diagram d = {supply, back, room_temperature, 1, clearance, cutoff, 1};
  return revolution(&d).work;
}

/* The factors leave the back pressure out: any will do, and is added again. */
static double admission_factor(double clearance, double cutoff) {
  const double supply = 7e5, back = 1e5;
  return (isothermal_mean_pressure(supply, back, clearance, cutoff) + back) / supply;
}

static void machinery_row(const struct support_row *row) {
  ck_close(admission_factor(support_number(row, "clearance_percent") / 100,
                            support_number(row, "cutoff_fraction")),
           support_number(row, "mean_pressure_factor"), support_number(row, "tolerance"));
}

/* Machinery's Reference Series No. 70, Steam Engines, Table II. */
START_TEST(mean_pressure_with_clearance) {
  support_published("machinery_1911_mean_pressure.csv", machinery_row);
}
END_TEST

/* Admission over the whole stroke at `mean` above the exhaust, both sides of the piston. */
static double full_admission_power(const struct support_row *row) {
  double mean = support_number(row, "mean_pressure_psi") * psi;
  double pressure = isothermal_mean_pressure(mean + LB_ATMOSPHERE, LB_ATMOSPHERE, 0, 1);
  double bore = support_number(row, "bore_in") * inch;
  double swept = LB_PI / 4 * bore * bore * support_number(row, "stroke_in") * inch;
  return pressure * swept * 2 * support_number(row, "speed_rpm") / 60 / horse_power;
}

static void machinery_example_row(const struct support_row *row) {
  double actual = 0;
  if (is(row, "quantity", "power")) {
    actual = full_admission_power(row);
  } else if (is(row, "quantity", "mean pressure")) {
    double supply = support_number(row, "supply_psi_gauge") + support_number(row, "atmosphere_psi");
    actual = isothermal_mean_pressure(supply * psi, support_number(row, "back_psi_absolute") * psi,
                                      support_number(row, "clearance_percent") / 100,
                                      support_number(row, "cutoff_fraction")) /
             psi;
  } else {
    unknown(row);
  }
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* The same book's worked examples. */
START_TEST(machinery_examples) {
  support_published("machinery_1911_examples.csv", machinery_example_row);
}
END_TEST

static void bourne_row(const struct support_row *row) {
  double ratio = support_number(row, "ratio_of_expansion");
  ck_close(ratio * admission_factor(0, 1 / ratio), support_number(row, "gain"),
           support_number(row, "tolerance"));
}

/* Bourne, A Catechism of the Steam Engine. */
START_TEST(gain_by_expansion) {
  support_published("bourne_1865_gain_by_expansion.csv", bourne_row);
}
END_TEST

/* Bore [m] of a cylinder that sweeps `volume` [m3] a stroke, the stroke a multiple of the bore. */
static double bore_of_volume(double volume, double stroke_per_bore) {
  return cbrt(volume / (LB_PI / 4 * stroke_per_bore));
}

static void joel_row(const struct support_row *row) {
  double pressure = isothermal_mean_pressure(support_number(row, "supply_MPa_absolute") * 1e6,
                                             support_number(row, "back_MPa_absolute") * 1e6, 0,
                                             support_number(row, "cutoff_fraction"));
  double per_bore = support_number(row, "stroke_per_bore"), bore, actual = 0;
  double swept_per_second = support_number(row, "power_kW") * 1e3 /
                            (support_number(row, "mechanical_efficiency") *
                             support_number(row, "diagram_factor") * pressure);
  if (is(row, "piston_speed_m_per_s", ""))
    bore =
        bore_of_volume(swept_per_second / (2 * support_number(row, "speed_rev_per_s")), per_bore);
  else
    bore = sqrt(swept_per_second / support_number(row, "piston_speed_m_per_s") / (LB_PI / 4));
  if (is(row, "quantity", "bore"))
    actual = bore * 1e3;
  else if (is(row, "quantity", "stroke"))
    actual = bore * per_bore * 1e3;
  else if (is(row, "quantity", "speed"))
    actual = support_number(row, "piston_speed_m_per_s") / (2 * bore * per_bore) * 60;
  else
    unknown(row);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Rayner Joel, Basic Engineering Thermodynamics, examples 11.1 and 11.2. */
START_TEST(joel_examples) {
  support_published("joel_steam_engine.csv", joel_row);
}
END_TEST

/* Bore [m] for a brake power at the example's speed. */
static double singh_bore(const struct support_row *row, double pressure) {
  double power = support_number(row, "power_hp") * rounded_horse_power /
                 support_number(row, "mechanical_efficiency");
  double strokes_per_second =
      support_number(row, "strokes_per_rev") * support_number(row, "speed_rpm") / 60;
  return bore_of_volume(power / (pressure * strokes_per_second),
                        support_number(row, "stroke_per_bore"));
}

static double singh_power(const struct support_row *row, double pressure) {
  double bore = support_number(row, "bore_m"), stroke = support_number(row, "stroke_m");
  return pressure * LB_PI / 4 * bore * bore * stroke * support_number(row, "strokes_per_rev") *
         support_number(row, "speed_rpm") / 60;
}

static void singh_row(const struct support_row *row) {
  double pressure = support_number(row, "diagram_factor") *
                    isothermal_mean_pressure(support_number(row, "supply_kPa_absolute") * 1e3,
                                             support_number(row, "back_kPa_absolute") * 1e3,
                                             support_number(row, "clearance_fraction"),
                                             support_number(row, "cutoff_fraction"));
  double actual = 0;
  if (is(row, "quantity", "mean pressure"))
    actual = pressure * support_number(row, "area_ratio") / 1e3;
  else if (is(row, "quantity", "power"))
    actual = singh_power(row, pressure) / 1e3;
  else if (is(row, "quantity", "bore"))
    actual = singh_bore(row, pressure) * 1e2;
  else if (is(row, "quantity", "stroke"))
    actual = singh_bore(row, pressure) * support_number(row, "stroke_per_bore") * 1e2;
  else
    unknown(row);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Onkar Singh, Applied Thermodynamics, examples 12.3, 12.4, 12.13 and 12.14. */
START_TEST(singh_examples) {
  support_published("singh_steam_engine.csv", singh_row);
}
END_TEST

static void agrawal_row(const struct support_row *row) {
  const struct diagram d = {.supply = support_number(row, "supply_bar_absolute") * 1e5,
                            .back = support_number(row, "back_bar_absolute") * 1e5,
                            .temperature = room_temperature,
                            .exponent = 1,
                            .clearance = support_number(row, "clearance_fraction"),
                            .cutoff = support_number(row, "cutoff_fraction"),
                            .closes = support_number(row, "exhaust_closes_fraction")};
  struct lb_turn turn = revolution(&d);
  double actual = 0;
  if (is(row, "quantity", "mean pressure"))
    actual = support_number(row, "diagram_factor") * turn.work / 1e5;
  else if (is(row, "quantity", "pressure before admission"))
    actual = turn.compression_pressure / 1e5;
  else if (is(row, "quantity", "diagram factor"))
    actual = support_number(row, "card_mean_pressure_bar") * 1e5 / turn.work;
  else
    unknown(row);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Agrawal, Basic Mechanical Engineering, examples of chapter 13. */
START_TEST(agrawal_examples) {
  support_published("agrawal_steam_engine.csv", agrawal_row);
}
END_TEST

/* The swept volume is the one that takes in the example's mass of air with its own gas constant;
 * the library's mass is then the same but for the gas constants. */
static void nag_row(const struct support_row *row) {
  double gas_constant = support_number(row, "gas_constant_kJ_per_kg_K") * 1e3;
  const struct diagram d = {.supply = support_number(row, "supply_kPa_absolute") * 1e3,
                            .back = support_number(row, "back_kPa_absolute") * 1e3,
                            .temperature = support_number(row, "supply_temperature_K"),
                            .exponent = support_number(row, "exponent"),
                            .cutoff = support_number(row, "cutoff_fraction"),
                            .closes = 1};
  struct lb_turn turn = revolution(&d);
  double air_per_volume = turn.air * LB_GAS_CONSTANT / gas_constant, actual = 0;
  double swept = support_number(row, "air_kg") / air_per_volume;
  if (is(row, "quantity", "indicated output"))
    actual = support_number(row, "diagram_factor") * turn.work * swept / 1e3;
  else if (is(row, "quantity", "mean pressure"))
    actual = turn.work / 1e3;
  else if (is(row, "quantity", "end pressure"))
    actual = turn.release_pressure / 1e3;
  else if (is(row, "quantity", "end temperature"))
    actual = turn.release_temperature;
  else
    unknown(row);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Nag, Basic and Applied Thermodynamics, example 19.12. */
START_TEST(nag_air_motor) {
  support_published("nag_air_motor.csv", nag_row);
}
END_TEST

/* Single-acting: the piston works during half of the distance it travels. */
static void crawford_row(const struct support_row *row) {
  const struct diagram d = {.supply = support_number(row, "supply_psi_absolute") * psi,
                            .back = support_number(row, "back_psi_absolute") * psi,
                            .temperature = room_temperature,
                            .exponent = support_number(row, "exponent"),
                            .cutoff = 1 / support_number(row, "ratio_of_expansion"),
                            .closes = 1};
  double power = support_number(row, "power_hp") * horse_power;
  double piston_speed = support_number(row, "piston_speed_ft_per_min") * foot / 60;
  double area = power / (revolution(&d).work * piston_speed / 2);
  ck_close(area / (inch * inch), support_number(row, "value"), support_number(row, "tolerance"));
}

/* Crawford, Examples in Thermodynamics Problems, example 5.2. */
START_TEST(crawford_air_motor) {
  support_published("crawford_air_motor.csv", crawford_row);
}
END_TEST

static void eastop_row(const struct support_row *row) {
  const struct diagram d = {.supply = support_number(row, "supply_bar_absolute") * 1e5,
                            .back = support_number(row, "back_bar_absolute") * 1e5,
                            .temperature =
                                support_number(row, "supply_temperature_degC") + LB_ZERO_CELSIUS,
                            .exponent = support_number(row, "exponent"),
                            .clearance = support_number(row, "clearance_fraction"),
                            .cutoff = support_number(row, "cutoff_fraction"),
                            .closes = support_number(row, "exhaust_closes_fraction")};
  struct lb_turn turn = revolution(&d);
  double bore = support_number(row, "bore_mm") / 1e3, actual = 0;
  double work = turn.work * LB_PI / 4 * bore * bore * support_number(row, "stroke_mm") / 1e3;
  if (is(row, "quantity", "work per revolution"))
    actual = work;
  else if (is(row, "quantity", "power"))
    actual = work * support_number(row, "speed_rpm") / 60 / 1e3;
  else if (is(row, "quantity", "temperature at release"))
    actual = d.temperature * turn.release_temperature / turn.cutoff_temperature - LB_ZERO_CELSIUS;
  else
    unknown(row);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Eastop and McConkey, from memory. */
START_TEST(eastop_air_motor) {
  support_published("eastop_air_motor.csv", eastop_row);
}
END_TEST

static void harris_row(const struct support_row *row) {
  const struct diagram d = {.supply = support_number(row, "pressure_ratio") * LB_ATMOSPHERE,
                            .back = LB_ATMOSPHERE,
                            .temperature = room_temperature,
                            .exponent = 1,
                            .cutoff = 1,
                            .closes = 1};
  struct lb_turn turn = revolution(&d);
  double ideal = turn.air * lb_air_isothermal_ideal(d.temperature, d.supply, d.back);
  ck_close(turn.work / ideal, support_number(row, "efficiency"), support_number(row, "tolerance"));
}

/* Harris, Compressed Air, formula (18). */
START_TEST(full_pressure_efficiency) {
  support_published("harris_full_pressure_efficiency.csv", harris_row);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("chamber, published");
  TCase *cases = tcase_create("chamber, published");
  tcase_add_test(cases, mean_pressure_with_clearance);
  tcase_add_test(cases, machinery_examples);
  tcase_add_test(cases, gain_by_expansion);
  tcase_add_test(cases, joel_examples);
  tcase_add_test(cases, singh_examples);
  tcase_add_test(cases, agrawal_examples);
  tcase_add_test(cases, nag_air_motor);
  tcase_add_test(cases, crawford_air_motor);
  tcase_add_test(cases, eastop_air_motor);
  tcase_add_test(cases, full_pressure_efficiency);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
