/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keys of the valves. The slow cycle knows nothing of them; the sheets for the workshop and the
 * controller's table know how late they follow. They matter once their section stands in the
 * machine file.
 */
#include "machine/keys_table.h"

#include "machine/complete.h"

/* What holds for a critical ratio or a coefficient that is not given depends on how the size is
 * stated; the machine keeps only what is.
 *
 * These turn both into numbers for a valve. */
#define RATIO_AND_COEFFICIENT(word, valve)                                                         \
  static double load_##word##_ratio(const struct lb_machine *machine) {                            \
    return lb_valve_ratio(&machine->valve_size[valve]);                                            \
  }                                                                                                \
  static void store_##word##_ratio(struct lb_machine *machine, double ratio) {                     \
    machine->valve_size[valve].critical_ratio = ratio;                                             \
    machine->valve_size[valve].critical_ratio_given = true;                                        \
  }                                                                                                \
  static double load_##word##_coefficient(const struct lb_machine *machine) {                      \
    return lb_valve_coefficient(&machine->valve_size[valve]);                                      \
  }                                                                                                \
  static void store_##word##_coefficient(struct lb_machine *machine, double coefficient) {         \
    machine->valve_size[valve].discharge_coefficient = coefficient;                                \
  }
RATIO_AND_COEFFICIENT(inlet, LB_INLET_VALVE)
RATIO_AND_COEFFICIENT(exhaust, LB_EXHAUST_VALVE)

/* The keys of one valve. */
#define KEYS(word, valve)                                                                          \
  {.section = #word " valve",                                                                      \
   .name = "conductance",                                                                          \
   .kind = LB_KEY_QUANTITY,                                                                        \
   .quantity = LB_CONDUCTANCE,                                                                     \
   .offset = LB_ROW_MACHINE(valve_size[valve].conductance),                                        \
   .zero_is_unstated = true,                                                                       \
   .least = 1e-12,                                                                                 \
   .most = 1e-4,                                                                                   \
   .limits = "a valve has a conductance between 0.0001 and 10000 L/(s bar)",                       \
   .when = LB_WHEN_SECTION,                                                                        \
   .otherwise = "not known",                                                                       \
   .only_at_speed = true,                                                                          \
   .unit = "L/(s bar)",                                                                            \
   .inch_unit = "L/(s bar)",                                                                       \
   .example = "1.4 L/(s bar)",                                                                     \
   .meaning =                                                                                      \
       "sonic conductance C of the " #word                                                         \
       " valve with its ports (ISO 6358): litres of free air a "                                   \
       "second, when choked, for each bar of absolute pressure before it; Kv, Cv, effective "      \
       "area, orifice and nominal flow say the same in other ways, one of them at most",           \
   .measure = "The valve's data sheet. Or let a bottle empty through the valve: its litres over "  \
              "the seconds in which the absolute pressure falls to 0.37 of what it was, down to "  \
              "2 bar absolute at the least, are C in L/(s bar).",                                  \
   .usual = "0.2 L/(s bar) with M5 ports, 1 to 2 with G1/8, 3 to 5 with G1/4"},                    \
      {.section = #word " valve",                                                                  \
       .name = "critical ratio",                                                                   \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_NUMBER,                                                                      \
       .load = load_##word##_ratio,                                                                \
       .store = store_##word##_ratio,                                                              \
       .least = 0,                                                                                 \
       .most = 0.9,                                                                                \
       .limits = "a critical ratio lies between 0 and 0.9",                                        \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "0.3; 0.528 for an orifice",                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "",                                                                                 \
       .inch_unit = "",                                                                            \
       .example = "0.3",                                                                           \
       .meaning =                                                                                  \
           "critical ratio b of the valve: downstream over upstream absolute pressure below "      \
           "which it passes no more, as the air in it is as fast as sound",                        \
       .measure = "It stands in the maker's data sheet beside C, as b.",                           \
       .usual = "0.2 to 0.5"},                                                                     \
      {.section = #word " valve",                                                                  \
       .name = "subsonic index",                                                                   \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_NUMBER,                                                                      \
       .offset = LB_ROW_MACHINE(valve_size[valve].subsonic_index),                                 \
       .least = 0.2,                                                                               \
       .most = 1,                                                                                  \
       .limits = "a subsonic index lies between 0.2 and 1",                                        \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "0.5",                                                                         \
       .only_at_speed = true,                                                                      \
       .unit = "",                                                                                 \
       .inch_unit = "",                                                                            \
       .example = "0.5",                                                                           \
       .meaning =                                                                                  \
           "exponent m of the law by which the flow falls off above the critical ratio; 0.5 "      \
           "makes it a quarter of an ellipse",                                                     \
       .measure = "It stands in some makers' data sheets as m; if not, leave it out.",             \
       .usual = "0.5"},                                                                            \
      {.section = #word " valve",                                                                  \
       .name = "kv",                                                                               \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_VOLUME_FLOW,                                                                 \
       .offset = LB_ROW_MACHINE(valve_size[valve].kv),                                             \
       .zero_is_unstated = true,                                                                   \
       .another_way = true,                                                                        \
       .least = 1e-5 / 3600,                                                                       \
       .most = 1e3 / 3600,                                                                         \
       .limits = "a Kv lies between 0.00001 and 1000 m3/h",                                        \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "not known",                                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "m3/h",                                                                             \
       .inch_unit = "m3/h",                                                                        \
       .example = "0.3 m3/h",                                                                      \
       .meaning =                                                                                  \
           "size of the valve by a water test: what passes at a drop of 1 bar; good to about "     \
           "20 % for air",                                                                         \
       .measure = "The valve's data sheet says Kv; some give it in L/min.",                        \
       .usual = "0.04 m3/h with M5 ports, 0.2 to 0.45 with G1/8, 0.6 to 1.1 with G1/4"},           \
      {.section = #word " valve",                                                                  \
       .name = "cv",                                                                               \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_NUMBER,                                                                      \
       .offset = LB_ROW_MACHINE(valve_size[valve].cv),                                             \
       .zero_is_unstated = true,                                                                   \
       .another_way = true,                                                                        \
       .least = 1e-5,                                                                              \
       .most = 1e3,                                                                                \
       .limits = "a Cv lies between 0.00001 and 1000",                                             \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "not known",                                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "",                                                                                 \
       .inch_unit = "",                                                                            \
       .example = "0.35",                                                                          \
       .meaning = "size of the valve by a water test: US gallons a minute at a drop of 1 psi, "    \
                  "without a unit; good to about 20 % for air",                                    \
       .measure = "The valve's data sheet says Cv.",                                               \
       .usual = "0.05 with 10-32 ports, 0.25 to 0.5 with 1/8 NPT, 0.7 to 1.3 with 1/4 NPT"},       \
      {.section = #word " valve",                                                                  \
       .name = "effective area",                                                                   \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_AREA,                                                                        \
       .offset = LB_ROW_MACHINE(valve_size[valve].effective_area),                                 \
       .zero_is_unstated = true,                                                                   \
       .another_way = true,                                                                        \
       .least = 1e-10,                                                                             \
       .most = 0.1,                                                                                \
       .limits = "an effective area lies between 0.0001 and 100000 mm2",                           \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "not known",                                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "mm2",                                                                              \
       .inch_unit = "sq in",                                                                       \
       .example = "7 mm2",                                                                         \
       .meaning =                                                                                  \
           "size of the valve as the area of an ideal nozzle that passes as much when choked "     \
           "(S of makers' data sheets)",                                                           \
       .measure = "The valve's data sheet gives it as effective or equivalent sectional area, S.", \
       .usual = "1 mm2 with M5 ports, 5 to 10 with G1/8, 15 to 25 with G1/4"},                     \
      {.section = #word " valve",                                                                  \
       .name = "orifice",                                                                          \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_LENGTH,                                                                      \
       .offset = LB_ROW_MACHINE(valve_size[valve].orifice),                                        \
       .zero_is_unstated = true,                                                                   \
       .another_way = true,                                                                        \
       .least = 1e-5,                                                                              \
       .most = 1,                                                                                  \
       .limits = "an orifice lies between 0.01 mm and 1 m",                                        \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "not known",                                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "mm",                                                                               \
       .inch_unit = "in",                                                                          \
       .example = "3 mm",                                                                          \
       .meaning = "size of the valve as the diameter of the narrowest hole on the way of the air", \
       .measure =                                                                                  \
           "Take the valve apart and measure the seat, with the shank of a drill that just "       \
           "fits, and see that nothing before or behind it is as narrow.",                         \
       .usual = "1 to 10 mm"},                                                                     \
      {.section = #word " valve",                                                                  \
       .name = "discharge coefficient",                                                            \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_NUMBER,                                                                      \
       .load = load_##word##_coefficient,                                                          \
       .store = store_##word##_coefficient,                                                        \
       .least = 0.1,                                                                               \
       .most = 1,                                                                                  \
       .limits = "a discharge coefficient lies between 0.1 and 1",                                 \
       .when = LB_WHEN_ORIFICE,                                                                    \
       .otherwise = "0.6: a sharp edge",                                                           \
       .only_at_speed = true,                                                                      \
       .unit = "",                                                                                 \
       .inch_unit = "",                                                                            \
       .example = "0.6",                                                                           \
       .meaning = "share of the orifice's area that counts, as the jet contracts behind an edge",  \
       .measure = "Look at the edge that the air meets: sharp, a short bore, or well rounded.",    \
       .usual = "0.6 with a sharp edge, 0.85 for a short bore, 0.97 rounded"},                     \
      {.section = #word " valve",                                                                  \
       .name = "nominal flow",                                                                     \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_FREE_FLOW,                                                                   \
       .offset = LB_ROW_MACHINE(valve_size[valve].nominal_flow),                                   \
       .zero_is_unstated = true,                                                                   \
       .another_way = true,                                                                        \
       .least = 1e-3 / 60e3,                                                                       \
       .most = 1e7 / 60e3,                                                                         \
       .limits = "a nominal flow lies between 0.001 and 10000000 L/min ANR",                       \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "not known",                                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "L/min ANR",                                                                        \
       .inch_unit = "L/min ANR",                                                                   \
       .example = "350 L/min ANR",                                                                 \
       .meaning = "size of the valve as the free air that passes from 6 to 5 bar gauge",           \
       .measure = "The valve's data sheet gives it as nominal flow rate, mostly in L/min.",        \
       .usual = "50 L/min ANR with M5 ports, 250 to 500 with G1/8, 800 to 1300 with G1/4"},        \
      {.section = #word " valve",                                                                  \
       .name = "seat leakage",                                                                     \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_CONDUCTANCE,                                                                 \
       .offset = LB_ROW_MACHINE(path[valve].seat_leakage),                                         \
       .least = 0,                                                                                 \
       .most = 1e-4,                                                                               \
       .limits = "the leakage of a seat lies between 0 and 10000 L/(s bar)",                       \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "0 L/(s bar)",                                                                 \
       .only_at_speed = true,                                                                      \
       .unit = "L/(s bar)",                                                                        \
       .inch_unit = "L/(s bar)",                                                                   \
       .example = "0.001 L/(s bar)",                                                               \
       .meaning =                                                                                  \
           "what passes the " #word " valve while it is shut, as a conductance, as for the "       \
           "leakage of the cylinder",                                                              \
       .measure =                                                                                  \
           "Shut the valve with pressure before it and lead its other port under an upturned "     \
           "measuring glass full of water; divide litres a second by the absolute pressure in "    \
           "bar.",                                                                                 \
       .usual = "nearly 0 with soft seats, 0.0005 to 0.01 L/(s bar) with metal slides"},           \
      {.section = #word " valve",                                                                  \
       .name = "pilot least pressure",                                                             \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_PRESSURE,                                                                    \
       .offset = LB_ROW_MACHINE(valve_size[valve].pilot_least_pressure),                           \
       .zero_is_unstated = true,                                                                   \
       .least = 0,                                                                                 \
       .most = 20 * LB_ROW_BAR,                                                                    \
       .above_ambient = true,                                                                      \
       .limits = "a pilot needs between 0 and 20 bar gauge",                                       \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "not known",                                                                   \
       .only_at_speed = true,                                                                      \
       .unit = "bar gauge",                                                                        \
       .inch_unit = "psig",                                                                        \
       .example = "1.5 bar gauge",                                                                 \
       .meaning =                                                                                  \
           "supply pressure below which the pilot of the valve does not move it; for a warning",   \
       .measure =                                                                                  \
           "It stands in the valve's data sheet as the least operating pressure; or lower the "    \
           "supply until the valve no longer switches.",                                           \
       .usual = "1.5 to 3 bar gauge; a valve without a pilot has none"},                           \
      {.section = #word " valve",                                                                  \
       .name = "on delay",                                                                         \
       .kind = LB_KEY_QUANTITY,                                                                    \
       .quantity = LB_TIME,                                                                        \
       .offset = LB_ROW_MACHINE(valve_delay[valve].on),                                            \
       .least = 0,                                                                                 \
       .most = 1,                                                                                  \
       .limits = "a valve follows its signal within 0 to 1 s",                                     \
       .when = LB_WHEN_SECTION,                                                                    \
       .otherwise = "0 ms: it follows at once",                                                    \
       .only_at_speed = true,                                                                      \
       .unit = "ms",                                                                               \
       .inch_unit = "ms",                                                                          \
       .example = "9 ms",                                                                          \
       .meaning = "time from switching the " #word " valve on until it begins to open",            \
       .measure =                                                                                  \
           "The valve's data sheet, for the supply pressure; or record the coil's voltage and "    \
           "a microphone at the open port together, with air shut in behind the valve, and "       \
           "read off the time to the first hiss.",                                                 \
       .usual = "5 to 20 ms for a solenoid valve with a pilot, 1 to 5 ms for a fast one"},         \
  {                                                                                                \
    .section = #word " valve", .name = "off delay", .kind = LB_KEY_QUANTITY, .quantity = LB_TIME,  \
    .offset = LB_ROW_MACHINE(valve_delay[valve].off), .least = 0, .most = 1,                       \
    .limits = "a valve follows its signal within 0 to 1 s", .when = LB_WHEN_SECTION,               \
    .otherwise = "0 ms: it follows at once", .only_at_speed = true, .unit = "ms",                  \
    .inch_unit = "ms", .example = "11 ms",                                                         \
    .meaning = "time from switching the " #word " valve off until it is shut",                     \
    .measure =                                                                                     \
        "As the on delay, to the end of the hiss. A diode across the coil makes it longer: "       \
        "measure with the driver that will be used.",                                              \
    .usual = "8 to 30 ms for a solenoid valve with a pilot, 2 to 8 ms for a fast one"              \
  }

static const struct lb_key rows[] = {KEYS(inlet, LB_INLET_VALVE), KEYS(exhaust, LB_EXHAUST_VALVE)};

const struct lb_keys_part lb_keys_of_valve = {rows, sizeof rows / sizeof rows[0]};
