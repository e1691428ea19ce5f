/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Flow, conductances and tubes against printed figures: nozzles, an orifice table, worked examples,
 * the blow-down of a tank, Fanno's function, pipe friction. Every figure comes from a file in
 * data/published.
 */
#include "base/constants.h"
#include "physics/air.h"
#include "physics/conductance.h"
#include "physics/flow.h"
#include "physics/tube.h"
#include "support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const double cubic_foot = 12 * 12 * 12 * LB_CUBIC_INCH; /* [m3] */
static const double pound = 0.45359237, minute = 60;           /* [kg], [s] */
static const double litre_per_bar = 1e-3 / LB_BAR;             /* 1 L/(s bar) in m3/(s Pa) */
static const double sea_level = 14.7;                          /* [psi], as the sources count it */
static const double books_gas_constant = 287;                  /* [J/(kg K)] */

static double kelvin_of_fahrenheit(double degrees) {
  return (degrees + 459.67) * 5 / 9;
}

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

static double nozzle_ratio(void) {
  return lb_conductance_critical_ratio(LB_GAMMA);
}

/* The weight constant from the nozzle at any subsonic ratio, with g in ft/s2 and the gas constant
 * in feet from the density of the source; the others follow from it. */
static void unwin_row(const struct support_row *row) {
  const double g = 32.19, feet = 2116.8 / 0.08075 / 492.6, ratio = 0.8;
  double gamma = support_number(row, "gamma"), value = lb_conductance_critical_ratio(gamma);
  double psi = pow(ratio, 2 / gamma) - pow(ratio, (gamma + 1) / gamma);
  double weight = lb_conductance_nozzle(ratio, gamma) * sqrt(g / feet / psi);
  if (is(row, "quantity", "weight constant"))
    value = weight;
  else if (is(row, "quantity", "volume constant"))
    value = weight * feet;
  else if (is(row, "quantity", "head constant"))
    value = weight * feet * weight * feet / (2 * g);
  else
    ck_assert(is(row, "quantity", "critical ratio"));
  ck_close(value, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Unwin, Encyclopaedia Britannica, 11th edition. */
START_TEST(unwin) {
  support_published("unwin_air_discharge.csv", unwin_row);
}
END_TEST

/* The nozzle at the printed Mach number; and the flow law with the nozzle's b, within the 0.3 per
 * cent it promises down to drops of 0.002. */
static void isentropic_row(const struct support_row *row) {
  double mach = support_number(row, "mach"), square = mach * mach;
  double ratio = pow(1 + (LB_GAMMA - 1) / 2 * square, -LB_GAMMA / (LB_GAMMA - 1));
  double choked = lb_conductance_nozzle(0, LB_GAMMA);
  double area = support_number(row, "area_ratio");
  ck_close(ratio, support_number(row, "pressure_ratio"), 0.00005);
  ck_close(choked / lb_conductance_nozzle(ratio, LB_GAMMA), area, 0.00007);
  struct lb_flow flow = {litre_per_bar, nozzle_ratio(), LB_CONDUCTANCE_INDEX};
  ck_close_relative(lb_flow_share(&flow, ratio, NULL), 1 / area, 0.0031);
}

/* NACA Report 1135. */
START_TEST(isentropic_table) {
  support_published("naca_1135_isentropic_flow.csv", isentropic_row);
}
END_TEST

/* Half a unit of the last digit that a number is printed with. */
static double half_unit(const char *text) {
  const char *point = strchr(text, '.');
  return 0.5 * pow(10, point ? -(double)strlen(point + 1) : 0);
}

/* One pressure: the column of each diameter, by the nozzle and by the law. */
static void moss_row(const struct support_row *row) {
  static const char *const column[] = {"d1",  "d2",  "d4",  "d8",  "d16", "d24",
                                       "d32", "d40", "d48", "d56", "d64"};
  const double rankine = 530 * 5.0 / 9, density = 0.07494 * pound / cubic_foot;
  double pressure = (support_number(row, "pressure_psi_gauge") + sea_level) * LB_PSI;
  double outside = sea_level * LB_PSI;
  for (size_t i = 0; i < sizeof column / sizeof *column; i++) {
    double diameter = atof(column[i] + 1) / 64 * LB_INCH, printed = support_number(row, column[i]);
    double half = half_unit(support_text(row, column[i]));
    double scale = LB_PI / 4 * diameter * diameter * pressure / sqrt(LB_GAS_CONSTANT * rankine);
    double nozzle = scale * lb_conductance_nozzle(outside / pressure, LB_GAMMA);
    struct lb_flow flow = lb_conductance_of_orifice(diameter, 1, nozzle_ratio());
    double law = lb_flow_mass(&flow, pressure, rankine, outside);
    ck_close(nozzle / density / cubic_foot * minute, printed, half + 0.004 * printed);
    ck_close(law / density / cubic_foot * minute, printed, half + 0.006 * printed);
  }
}

/* The trade's table of orifices, after Moss. */
START_TEST(orifice_table) {
  support_published("moss_orifice_flow.csv", moss_row);
}
END_TEST

/* Time in which a tank at one temperature blows down, dt = -V dp/(R T q), by Simpson's rule in the
 * logarithm of the pressure. */
static double blow_down(const struct lb_flow *flow, double volume, double temperature, double from,
                        double to) {
  enum {
    PANELS = 100
  };
  double step = log(from / to) / PANELS, sum = 0;
  for (int i = 0; i <= PANELS; i++) {
    double pressure = to * exp(i * step);
    double weight = i == 0 || i == PANELS ? 1 : i % 2 ? 4 : 2;
    sum += weight * pressure / lb_flow_mass(flow, pressure, temperature, LB_BAR);
  }
  return sum * step / 3 * volume / (books_gas_constant * temperature);
}

static void murugaperumal_row(const struct support_row *row) {
  struct lb_flow exit = lb_conductance_of_area(10e-4, nozzle_ratio());
  struct lb_flow throat = lb_conductance_of_orifice(10e-3, 1, nozzle_ratio());
  double temperature = 500.0 * 500 / (LB_GAMMA * books_gas_constant);
  double pressure = 1.12 * books_gas_constant * temperature;
  double value = 0;
  if (is(row, "quantity", "choked flow factor"))
    value = lb_conductance_nozzle(0, LB_GAMMA) / sqrt(books_gas_constant);
  else if (is(row, "quantity", "time"))
    value = blow_down(&exit, 5, 333, 40 * LB_BAR, 2 * LB_BAR);
  else if (is(row, "quantity", "flow"))
    value = lb_flow_mass(&throat, pressure, temperature, 0);
  else if (is(row, "quantity", "throat pressure"))
    value = nozzle_ratio() * pressure / LB_BAR;
  else if (is(row, "quantity", "throat temperature"))
    value = lb_air_polytropic_temperature(temperature, 1, nozzle_ratio(), LB_GAMMA);
  ck_close(value, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Murugaperumal, Gas Dynamics and Jet Propulsion. */
START_TEST(murugaperumal) {
  support_published("murugaperumal_gas_dynamics.csv", murugaperumal_row);
}
END_TEST

static void coulson_row(const struct support_row *row) {
  const double gamma = 1.47, coefficient = 0.6, temperature = 273, bore = 6e-3, outside = 101.3e3;
  double pressure = support_number(row, "pressure_MPa") * 1e6;
  double flow = coefficient * LB_PI / 4 * bore * bore * pressure /
                sqrt(books_gas_constant * temperature) *
                lb_conductance_nozzle(outside / pressure, gamma);
  ck_close(flow, support_number(row, "flow_kg_per_s"), support_number(row, "tolerance"));
}

/* Coulson and Richardson, Chemical Engineering. */
START_TEST(coulson) {
  support_published("coulson_valve_discharge.csv", coulson_row);
}
END_TEST

/* The flow that the printed Cv passes under the printed pressures. */
static void valve_coefficient_row(const struct support_row *row) {
  struct lb_flow flow = lb_conductance_of_cv(support_number(row, "Cv"), LB_CONDUCTANCE_VALVE_RATIO);
  double up = (support_number(row, "pressure_psi_gauge") + sea_level) * LB_PSI;
  double down = (support_number(row, "back_pressure_psi_gauge") + sea_level) * LB_PSI;
  double temperature = kelvin_of_fahrenheit(support_number(row, "temperature_degF"));
  double mass = lb_flow_mass(&flow, up, temperature, down);
  double volume = lb_air_volume_at(mass, sea_level * LB_PSI, kelvin_of_fahrenheit(68));
  ck_close_relative(volume / cubic_foot * minute, support_number(row, "free_air_ft3_per_min"),
                    support_number(row, "tolerance"));
}

/* Esposito; Sullivan. */
START_TEST(valve_coefficients) {
  support_published("esposito_valve_coefficient.csv", valve_coefficient_row);
  support_published("sullivan_valve_coefficient.csv", valve_coefficient_row);
}
END_TEST

static void conductance_row(const struct support_row *row) {
  const double millimetre = 1e-3, litre = 1e-3;
  double square = millimetre * millimetre;
  double of_area = lb_conductance_of_area(square, 0).conductance / litre_per_bar;
  double value = of_area;
  if (is(row, "quantity", "area of C"))
    value = 1 / of_area;
  else if (is(row, "quantity", "diameter of C"))
    value = sqrt(litre_per_bar / lb_conductance_of_orifice(millimetre, 1, 0).conductance);
  else if (is(row, "quantity", "nominal flow"))
    value = lb_conductance_nominal(&(struct lb_flow){
                litre_per_bar, support_number(row, "critical_ratio"), LB_CONDUCTANCE_INDEX}) /
            litre * minute;
  else if (is(row, "quantity", "C of Cv"))
    value =
        lb_conductance_of_cv(1, support_number(row, "critical_ratio")).conductance / litre_per_bar;
  else
    ck_assert(is(row, "quantity", "C of area"));
  ck_close(value, support_number(row, "value"), support_number(row, "tolerance"));
}

/* ISO 6358. */
START_TEST(sonic_conductance) {
  support_published("iso_6358_conductance.csv", conductance_row);
}
END_TEST

static void fanno_row(const struct support_row *row) {
  ck_close(lb_tube_fanno(support_number(row, "mach")), support_number(row, "fanno"),
           support_number(row, "tolerance"));
}

/* Farokhi, Aircraft Propulsion; two online references. */
START_TEST(fanno_function) {
  support_published("farokhi_fanno_flow.csv", fanno_row);
  support_published("fanno_function_online.csv", fanno_row);
}
END_TEST

static void smooth_pipe_row(const struct support_row *row) {
  ck_close(lb_tube_friction(support_number(row, "reynolds")), support_number(row, "friction"),
           support_number(row, "tolerance"));
}

/* White, Fluid Mechanics. */
START_TEST(smooth_pipe) {
  support_published("white_smooth_pipe.csv", smooth_pipe_row);
}
END_TEST

/* The viscosity is what a Reynolds number leaves of the flow and the bore. */
static void viscosity_row(const struct support_row *row) {
  double temperature = LB_ZERO_CELSIUS + support_number(row, "temperature_degC");
  double viscosity = 4 / (LB_PI * lb_tube_reynolds(1, 1, temperature));
  ck_close_relative(viscosity, support_number(row, "viscosity_1e-5_Pa_s") * 1e-5, 0.012);
}

/* Cengel, Heat and Mass Transfer. */
START_TEST(viscosity_of_air) {
  support_published("cengel_air_viscosity.csv", viscosity_row);
}
END_TEST

static int long_pipes; /* rows with a tolerance, counted by the test below */

/* f from the drop less the weight of the air, and that of a smooth pipe at the same Reynolds
 * number. */
static void st_gotthard_row(const struct support_row *row) {
  const double gravity = 9.80665;
  double in = support_number(row, "pressure_in_atm") * LB_ATMOSPHERE;
  double out = support_number(row, "pressure_out_atm") * LB_ATMOSPHERE;
  double temperature = LB_ZERO_CELSIUS + support_number(row, "temperature_degC");
  double density = lb_air_density((in + out) / 2, temperature);
  double diameter = support_number(row, "diameter_m"), flow = support_number(row, "flow_m3_per_s");
  double speed = flow / (LB_PI / 4 * diameter * diameter);
  double drop = in - out - density * gravity * support_number(row, "rise_m");
  double measured =
      drop * diameter / support_number(row, "length_m") / (density * speed * speed / 2);
  double smooth = lb_tube_friction(lb_tube_reynolds(density * flow, diameter, temperature));
  if (is(row, "tolerance", "")) {
    ck_assert(measured > smooth);
    return;
  }
  ck_close_relative(smooth, measured, support_number(row, "tolerance"));
  long_pipes++;
}

/* Stockalper's pipes, reported by Achard. */
START_TEST(st_gotthard_pipes) {
  long_pipes = 0;
  support_published("st_gotthard_air_pipe.csv", st_gotthard_row);
  ck_assert_int_eq(long_pipes, 3);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("flow, published");
  TCase *cases = tcase_create("flow, published");
  tcase_add_test(cases, unwin);
  tcase_add_test(cases, isentropic_table);
  tcase_add_test(cases, orifice_table);
  tcase_add_test(cases, murugaperumal);
  tcase_add_test(cases, coulson);
  tcase_add_test(cases, valve_coefficients);
  tcase_add_test(cases, sonic_conductance);
  tcase_add_test(cases, fanno_function);
  tcase_add_test(cases, smooth_pipe);
  tcase_add_test(cases, viscosity_of_air);
  tcase_add_test(cases, st_gotthard_pipes);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
