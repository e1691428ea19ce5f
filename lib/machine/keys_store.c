/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keys of the store of compressed air, and of the regulator behind it.
 */
#include "machine/keys_table.h"

#include "physics/real_air.h"

#include <math.h>

/* How the walls give heat, as one number: the time constant, which is 0 where they hold the
 * temperature and infinite where they give nothing. */
static double load_heat(const struct lb_machine *machine) {
  const struct lb_store *store = &machine->store;
  switch (store->heat) {
  case LB_STORE_ISOTHERMAL:
    return 0;
  case LB_STORE_ADIABATIC:
    return (double)INFINITY;
  case LB_STORE_TIME_CONSTANT:
    break;
  }
  return store->time_constant;
}

static void store_heat(struct lb_machine *machine, double time) {
  struct lb_store *store = &machine->store;
  store->heat = time == 0     ? LB_STORE_ISOTHERMAL
                : isinf(time) ? LB_STORE_ADIABATIC
                              : LB_STORE_TIME_CONSTANT;
  store->time_constant = store->heat == LB_STORE_TIME_CONSTANT ? time : 0;
}

static const struct lb_key rows[] = {
    {.section = "store",
     .name = "volume",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_VOLUME,
     .offset = LB_ROW_MACHINE(store.volume),
     .flag = LB_ROW_MACHINE(store.given),
     .least = 1e-5,
     .most = 1000,
     .limits = "a store has room for 0.01 L to 1000 m3 of air",
     .alternative = "rating",
     .when = LB_WHEN_SECTION,
     .required = true,
     .otherwise = "",
     .unit = "L",
     .inch_unit = "cu ft",
     .example = "10 L",
     .meaning = "room for air in the store that the machine runs from: its water capacity, not "
                "the free air it holds; of several bottles together, their sum",
     .measure = "It is stamped on the shoulder as water capacity (V or WC). Else fill it with "
                "water and weigh it: a litre for each kilogram.",
     .usual = "1 to 50 L"},
    {.section = "store",
     .name = "rating",
     .kind = LB_KEY_RATING,
     .quantity = LB_PRESSURE,
     .flag = LB_ROW_MACHINE(store.given),
     .restates = true,
     .least = LB_ROW_BAR,
     .most = LB_REAL_AIR_HIGHEST,
     .limits = "the pressure of a rating lies between 1 and 350 bar absolute, where the table of "
               "air as a real gas ends",
     .alternative = "volume",
     .when = LB_WHEN_SECTION,
     .otherwise = "from the volume",
     .unit = "",
     .inch_unit = "",
     .example = "10 L at 200 bar gauge",
     .telling = "80 cu ft at 3000 psig",
     .meaning = "what the store is sold as, from which its room for air follows: an amount and the "
                "pressure it holds that at. L, cm3, gal and cu in are room for air; cu ft, and any "
                "volume with 'free' or 'ANR' behind it, are the free air that it holds",
     .measure = "Read the label or the catalogue. A filled bottle of 80 cu ft gives 80 cu ft of "
                "free air; a room of so many cubic feet is a volume.",
     .usual = "10 L at 200 bar gauge, 80 cu ft at 3000 psig"},
    {.section = "store",
     .name = "start pressure",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE,
     .offset = LB_ROW_MACHINE(store.start_pressure),
     .flag = LB_ROW_MACHINE(store.given),
     .zero_is_unstated = true,
     .least = 0.1 * LB_ROW_BAR,
     .most = LB_REAL_AIR_HIGHEST,
     .limits = "a store starts with 0.1 to 350 bar absolute, where the table of air as a real gas "
               "ends",
     .when = LB_WHEN_SECTION,
     .otherwise = "that of the rating",
     .unit = "bar gauge",
     .inch_unit = "psig",
     .example = "9 bar gauge",
     .meaning = "pressure in the store when the run begins",
     .measure = "Read its gauge when it has come back to the temperature of the surroundings after "
                "filling; warm from filling it shows too much.",
     .usual = "8 to 10 bar gauge of a workshop's compressor; 200 or 300 bar gauge of a bottle"},
    {.section = "store",
     .name = "lowest pressure",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE,
     .offset = LB_ROW_MACHINE(store.lowest_pressure),
     .flag = LB_ROW_MACHINE(store.given),
     .zero_is_unstated = true,
     .least = 0.01 * LB_ROW_BAR,
     .most = LB_REAL_AIR_HIGHEST,
     .limits = "a run is broken off at 0.01 to 350 bar absolute; leave it out to run until the "
               "load stops the machine",
     .when = LB_WHEN_SECTION,
     .otherwise = "the run goes on until the load stops the machine",
     .unit = "bar gauge",
     .inch_unit = "psig",
     .example = "2 bar gauge",
     .meaning = "pressure in the store at which the run is broken off",
     .measure = "Nothing to measure: decide how much is to stay in the store.",
     .usual = "left out; 20 to 50 bar gauge in a bottle that must not be emptied"},
    {.section = "store",
     .name = "temperature",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_TEMPERATURE,
     .offset = LB_ROW_MACHINE(store.temperature),
     .flag = LB_ROW_MACHINE(store.given),
     .least = LB_ROW_CELSIUS(-60),
     .most = LB_ROW_CELSIUS(120),
     .limits = "the air in a store has between -60 and 120 degC at the start",
     .when = LB_WHEN_SECTION,
     .otherwise = "that of the surroundings",
     .unit = "degC",
     .inch_unit = "degF",
     .example = "18 degC",
     .meaning = "temperature of the air in the store at the start, and of its walls all along",
     .measure = "Tape a thermometer to the vessel under a rag and wait.",
     .usual = "that of the surroundings, an hour or two after filling"},
    {.section = "store",
     .name = "heat",
     .kind = LB_KEY_HEAT,
     .quantity = LB_TIME,
     .load = load_heat,
     .store = store_heat,
     .flag = LB_ROW_MACHINE(store.given),
     .least = 1,
     .most = 1000 * 3600.0,
     .limits = "a store takes heat with a time constant between 1 s and 1000 h; for more than "
               "that write adiabatic, for less isothermal",
     .when = LB_WHEN_SECTION,
     .otherwise = "isothermal",
     .unit = "min",
     .inch_unit = "min",
     .example = "isothermal",
     .telling = "20 min",
     .meaning = "how the air left in the store takes heat from its walls: isothermal (as much as "
                "it needs, a run that takes long), adiabatic (none, a run that is over at once), "
                "or the time constant with which the difference of temperature dies away",
     .measure = "Let much air out quickly, shut the valve and watch the gauge rise: after one time "
                "constant, 63 % of the rise is done.",
     .usual = "isothermal for runs of an hour; 5 to 30 min for small steel vessels"},
    {.section = "store",
     .name = "leakage",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_CONDUCTANCE,
     .offset = LB_ROW_MACHINE(store.leakage),
     .flag = LB_ROW_MACHINE(store.given),
     .least = 0,
     .most = 1e-4,
     .limits = "the leakage of a store lies between 0 and 10000 L/(s bar)",
     .when = LB_WHEN_SECTION,
     .otherwise = "none",
     .only_at_speed = true,
     .unit = "L/(s bar)",
     .inch_unit = "L/(s bar)",
     .example = "0 L/(s bar)",
     .meaning = "air that the store loses to the surroundings through fittings, as a conductance",
     .measure = "Fill it, wait until it is cold, and read the gauge a night later: volume in "
                "litres times the share of the absolute pressure lost, divided by the seconds.",
     .usual = "0 to 0.0001 L/(s bar)"},
    {.section = "store",
     .name = "vessel mass",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_MASS,
     .offset = LB_ROW_MACHINE(store.vessel_mass),
     .flag = LB_ROW_MACHINE(store.given),
     .zero_is_unstated = true,
     .least = 1e-3,
     .most = 1e6,
     .limits = "a vessel weighs between 1 g and 1000 t",
     .when = LB_WHEN_SECTION,
     .otherwise = "not known",
     .unit = "kg",
     .inch_unit = "lb",
     .example = "12 kg",
     .meaning = "mass of the empty vessel, to compare it with that of its air",
     .measure = "It is stamped on the shoulder as tare; else weigh it empty.",
     .usual = "1.2 kg for each litre of a steel bottle for 200 bar; 0.4 of a vessel for 10 bar"},
    {.section = "store",
     .name = "marked pressure",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE,
     .offset = LB_ROW_MACHINE(store.marked_pressure),
     .flag = LB_ROW_MACHINE(store.given),
     .zero_is_unstated = true,
     .least = 0.1 * LB_ROW_BAR,
     .most = 1000 * LB_ROW_BAR,
     .limits = "a vessel is marked with a pressure between 0.1 and 1000 bar absolute",
     .when = LB_WHEN_SECTION,
     .otherwise = "not known",
     .unit = "bar gauge",
     .inch_unit = "psig",
     .example = "10 bar gauge",
     .meaning = "pressure that the vessel may be filled to, above which no run is allowed to start",
     .measure = "It is stamped on the vessel or stands on its plate (PS, PW or WP), beside the "
                "higher test pressure (PT or TP), which does not count.",
     .usual = "10 or 11 bar gauge of a receiver; 200, 232 or 300 bar gauge of a bottle"},

    {.section = "regulator",
     .name = "set pressure",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE,
     .offset = LB_ROW_MACHINE(regulator.set_pressure),
     .flag = LB_ROW_MACHINE(regulator.given),
     .least = 0.01 * LB_ROW_BAR,
     .most = 100 * LB_ROW_BAR,
     .limits = "a regulator is set to between 0.01 and 100 bar absolute",
     .when = LB_WHEN_SECTION,
     .otherwise = "the pressure of the supply",
     .unit = "bar gauge",
     .inch_unit = "psig",
     .example = "4 bar gauge",
     .meaning = "pressure behind the regulator while no air flows",
     .measure = "Read the gauge behind it while the machine stands.",
     .usual = "1 to 8 bar gauge"},
    {.section = "regulator",
     .name = "droop",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_DROOP,
     .offset = LB_ROW_MACHINE(regulator.droop),
     .flag = LB_ROW_MACHINE(regulator.given),
     .least = 0,
     .most = 1e12,
     .limits = "the droop of a regulator lies between 0 and 10000 bar/(L/s)",
     .when = LB_WHEN_SECTION,
     .otherwise = "none",
     .only_at_speed = true,
     .unit = "bar/(L/s)",
     .inch_unit = "psi/(cu ft/min)",
     .example = "0 bar/(L/s)",
     .telling = "0.1 bar/(L/s)",
     .meaning = "how far the pressure behind the regulator falls for each litre of free air a "
                "second",
     .measure = "Read the gauge behind it while the machine stands and while it runs; divide the "
                "fall by the free air it takes a second. The maker's flow chart shows the same.",
     .usual = "0.05 to 0.5 bar/(L/s)"},
    {.section = "regulator",
     .name = "least difference",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE_DIFFERENCE,
     .offset = LB_ROW_MACHINE(regulator.least_difference),
     .flag = LB_ROW_MACHINE(regulator.given),
     .least = 0,
     .most = 50 * LB_ROW_BAR,
     .limits = "the least difference across a regulator lies between 0 and 50 bar",
     .when = LB_WHEN_SECTION,
     .otherwise = "none",
     .unit = "bar",
     .inch_unit = "psi",
     .example = "0.2 bar",
     .meaning = "by how much the store must be above the pressure behind the regulator; below "
                "that, the regulator is wide open and the pressure behind it follows the store",
     .measure = "Let the store run down and read both gauges once the one behind the regulator "
                "has begun to fall.",
     .usual = "0.1 to 0.5 bar; up to several bar with a pilot"},
};

const struct lb_keys_part lb_keys_of_store = {rows, sizeof rows / sizeof rows[0]};
