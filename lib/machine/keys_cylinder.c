/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keys of the cylinder.
 */
#include "machine/keys_table.h"

enum acting {
  DOUBLE_ACTING,
  CAP_END_ACTS,
  ROD_END_ACTS
};

static double load_acting(const struct lb_machine *machine) {
  if (machine->works[LB_CAP_END] && machine->works[LB_ROD_END])
    return DOUBLE_ACTING;
  return machine->works[LB_ROD_END] ? ROD_END_ACTS : CAP_END_ACTS;
}

static void store_acting(struct lb_machine *machine, double word) {
  machine->works[LB_CAP_END] = word != ROD_END_ACTS;
  machine->works[LB_ROD_END] = word != CAP_END_ACTS;
}

/* Half the area of the working faces [m2]: over a revolution a pressure p on the faces does the
 * work p * area * stroke, and a friction force the work 2 * force * stroke. */
static double friction_area(const struct lb_machine *machine) {
  double area = 0;
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->works[end])
      area += lb_machine_area(machine, (enum lb_end)end);
  return area / 2;
}

static double load_runs_light(const struct lb_machine *machine) {
  return machine->ambient_pressure + machine->friction / friction_area(machine);
}

static void store_runs_light(struct lb_machine *machine, double pressure) {
  machine->friction = (pressure - machine->ambient_pressure) * friction_area(machine);
}

/* The file states the dead volume without a shared tube, which has a section of its own. */
static double load_cap_volume(const struct lb_machine *machine) {
  return machine->dead_volume[LB_CAP_END] - machine->tube_volume;
}

static double load_rod_volume(const struct lb_machine *machine) {
  return machine->dead_volume[LB_ROD_END] - machine->tube_volume;
}

static void store_cap_volume(struct lb_machine *machine, double volume) {
  machine->dead_volume[LB_CAP_END] = volume + machine->tube_volume;
}

static void store_rod_volume(struct lb_machine *machine, double volume) {
  machine->dead_volume[LB_ROD_END] = volume + machine->tube_volume;
}

static const struct lb_key rows[] = {
    {.section = "cylinder",
     .name = "acting",
     .kind = LB_KEY_CHOICE,
     .load = load_acting,
     .store = store_acting,
     .choice = {"double", "cap end", "rod end"},
     .limits = "",
     .otherwise = "double",
     .unit = "",
     .inch_unit = "",
     .example = "double",
     .choice_hint = "the cap end is the one without the piston rod",
     .meaning = "which ends are fed with air: both (double), or only the end without or with the "
                "piston rod",
     .measure = "Count the ports that are piped up.",
     .usual = "double"},
    {.section = "cylinder",
     .name = "bore",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_LENGTH,
     .offset = LB_ROW_MACHINE(bore),
     .least = 1e-3,
     .most = 2,
     .limits = "a bore lies between 1 mm and 2 m",
     .required = true,
     .otherwise = "",
     .unit = "mm",
     .inch_unit = "in",
     .example = "32 mm",
     .meaning = "inside diameter of the cylinder",
     .measure = "Measure across the bore, or read it off the cylinder's label (32 x 50 is bore x "
                "stroke).",
     .usual = "8 to 100 mm"},
    {.section = "cylinder",
     .name = "stroke",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_LENGTH,
     .offset = LB_ROW_MACHINE(linkage.stroke),
     .least = 1e-3,
     .most = 5,
     .limits = "a stroke lies between 1 mm and 5 m",
     .required = true,
     .otherwise = "",
     .unit = "mm",
     .inch_unit = "in",
     .example = "50 mm",
     .meaning = "travel of the piston between its dead centres: twice the crank radius (a little "
                "more with an offset), not the longest travel the cylinder could do",
     .measure = "Turn the crank and measure how far the piston rod moves between its ends.",
     .usual = "1 to 3 times the bore"},
    {.section = "cylinder",
     .name = "piston rod",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_LENGTH,
     .offset = LB_ROW_MACHINE(rod_diameter),
     .least = 0,
     .most = 2,
     .limits = "a piston rod lies between 0 mm (to leave it out of account) and 2 m",
     .when = LB_WHEN_ROD_END,
     .required = true,
     .otherwise = "",
     .unit = "mm",
     .inch_unit = "in",
     .example = "12 mm",
     .meaning = "diameter of the piston rod, which takes area from the rod end",
     .measure = "Measure with a caliper where it leaves the cylinder, not on the thread.",
     .usual = "12 mm for 32 mm bore, 16 for 40, 20 for 50 and 63, 25 for 80 and 100"},
    {.section = "cylinder",
     .name = "through rod",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_LENGTH,
     .offset = LB_ROW_MACHINE(through_rod_diameter),
     .least = 0,
     .most = 2,
     .limits = "a through rod lies between 0 mm (none) and 2 m",
     .otherwise = "none",
     .unit = "mm",
     .inch_unit = "in",
     .example = "0 mm",
     .meaning =
         "diameter of a rod that also leaves the cylinder at the cap end, besides the piston "
         "rod",
     .measure = "Measure with a caliper at the cap end.",
     .usual = "none, or as the piston rod"},
    {.section = "cylinder",
     .name = "dead volume cap end",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_VOLUME,
     .load = load_cap_volume,
     .store = store_cap_volume,
     .least = 0,
     .most = 1,
     .limits = "a dead volume lies between 0 and 1 m3",
     .may_be_unknown = true,
     .when = LB_WHEN_CAP_END,
     .required = true,
     .otherwise = "",
     .unit = "cm3",
     .inch_unit = "cu in",
     .example = "5 cm3",
     .meaning = "volume left between the piston at its cap-end dead centre and the shut valves: "
                "clearance, port and tube; but without a tube that is described in [tube] and "
                "serves both valves",
     .measure = "Bring the crank to this dead centre, hold the cylinder port upwards and fill it "
                "with oil from a syringe up to the valve; read how much went in.",
     .usual = "5 to 20 % of the swept volume; with 'unknown' the answers are given for 5, 10 and "
              "20 %"},
    {.section = "cylinder",
     .name = "dead volume rod end",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_VOLUME,
     .load = load_rod_volume,
     .store = store_rod_volume,
     .least = 0,
     .most = 1,
     .limits = "a dead volume lies between 0 and 1 m3",
     .may_be_unknown = true,
     .when = LB_WHEN_ROD_END,
     .required = true,
     .otherwise = "",
     .unit = "cm3",
     .inch_unit = "cu in",
     .example = "5 cm3",
     .meaning = "volume left in the same way at the rod end, with the piston at its rod-end dead "
                "centre",
     .measure = "As for the cap end, with the crank at the other dead centre.",
     .usual = "5 to 20 % of the swept volume; with 'unknown' the answers are given for 5, 10 and "
              "20 %"},
    {.section = "cylinder",
     .name = "friction",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_FORCE,
     .offset = LB_ROW_MACHINE(friction),
     .least = 0,
     .most = 1e6,
     .limits = "friction lies between 0 and 1 MN",
     .alternative = "runs light at",
     .otherwise = "0 N",
     .unit = "N",
     .inch_unit = "lbf",
     .example = "8 N",
     .meaning = "force that seals and guides take from one cylinder while it moves, whatever the "
                "pressure",
     .measure = "With both ports open, pull the piston rod slowly with a spring balance and read "
                "it while it moves.",
     .usual = "1 to 3 % of the force at full pressure"},
    {.section = "cylinder",
     .name = "runs light at",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE,
     .load = load_runs_light,
     .store = store_runs_light,
     .restates = true,
     .least = 0,
     .most = 20 * LB_ROW_BAR,
     .above_ambient = true,
     .limits = "an engine runs light at a pressure between that of the surroundings and 20 bar "
               "gauge",
     .alternative = "friction",
     .otherwise = "from the friction",
     .unit = "bar gauge",
     .inch_unit = "psig",
     .example = "0.2 bar gauge",
     .meaning =
         "the least supply pressure at which the machine just keeps turning without load, with "
         "the inlet open for the whole stroke and the exhaust free, from which the "
         "friction follows; the friction share comes on top",
     .measure = "Take the load off, set full admission, and turn the regulator down until the "
                "machine stops; the gauge then stood at this pressure.",
     .usual = "0.1 to 0.5 bar gauge"},
    {.section = "cylinder",
     .name = "friction share",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_FRACTION,
     .offset = LB_ROW_MACHINE(friction_share),
     .least = 0,
     .most = 0.9,
     .limits = "the share that friction takes lies between 0 and 90 %",
     .otherwise = "0 %",
     .unit = "%",
     .inch_unit = "%",
     .example = "4 %",
     .meaning = "share of the gas force that friction takes besides the constant force: bearings, "
                "guides and seals pressed on by the air",
     .measure = "Lift a known weight with the cylinder at two pressures; what is missing from "
                "pressure times area, less the constant force, is this share.",
     .usual = "3 to 10 %"},
    {.section = "cylinder",
     .name = "breakaway friction",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_FORCE,
     .offset = LB_ROW_MACHINE(breakaway_friction),
     .least = 0,
     .most = 1e6,
     .limits = "breakaway friction lies between 0 and 1 MN",
     .otherwise = "as the friction",
     .unit = "N",
     .inch_unit = "lbf",
     .example = "12 N",
     .meaning = "force that it takes to start one cylinder moving from rest",
     .measure = "Pull as for the friction after a night at rest, and read the balance when the rod "
                "starts.",
     .usual = "1.2 to 2 times the friction"},
    {.section = "cylinder",
     .name = "leakage",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_CONDUCTANCE,
     .offset = LB_ROW_MACHINE(leakage),
     .least = 0,
     .most = 1e-4,
     .limits = "the leakage past a piston lies between 0 and 10000 L/(s bar)",
     .otherwise = "0 L/(s bar)",
     .only_at_speed = true,
     .unit = "L/(s bar)",
     .inch_unit = "L/(s bar)",
     .example = "0.002 L/(s bar)",
     .meaning = "what passes the piston seal, as a conductance: litres of free air a second for "
                "each bar of absolute pressure before it",
     .measure = "Block the crank, put pressure on one end and lead the other port under an "
                "upturned measuring glass full of water; divide litres a second by the absolute "
                "pressure.",
     .usual = "nearly 0 with soft seals, 0.001 to 0.02 L/(s bar) with a lapped piston"},
    {.section = "cylinder",
     .name = "rod seal leakage",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_CONDUCTANCE,
     .offset = LB_ROW_MACHINE(rod_seal_leakage),
     .least = 0,
     .most = 1e-4,
     .limits = "the leakage past a piston rod lies between 0 and 10000 L/(s bar)",
     .when = LB_WHEN_ROD_END,
     .otherwise = "0 L/(s bar)",
     .only_at_speed = true,
     .unit = "L/(s bar)",
     .inch_unit = "L/(s bar)",
     .example = "0.001 L/(s bar)",
     .meaning = "what passes the seal of the piston rod to the open, as a conductance, as for the "
                "leakage",
     .measure = "Put pressure on the rod end and brush soap water on the seal; catch what bubbles "
                "out of it in an upturned measuring glass.",
     .usual = "nearly 0 with soft seals, 0.0005 to 0.005 L/(s bar) with a packed gland"},
    {.section = "cylinder",
     .name = "wall heat transfer",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_HEAT_TRANSFER,
     .offset = LB_ROW_MACHINE(wall_heat_transfer),
     .least = 0,
     .most = 1e4,
     .limits = "the heat transfer to the walls lies between 0 and 10000 W/(m2 K)",
     .otherwise = "0 W/(m2 K)",
     .only_at_speed = true,
     .unit = "W/(m2 K)",
     .inch_unit = "W/(m2 K)",
     .example = "40 W/(m2 K)",
     .meaning = "heat that passes between the air and the cylinder's walls",
     .measure = "It cannot be measured on the bench; keep the usual value.",
     .usual = "20 to 100 W/(m2 K)"},
    {.section = "cylinder",
     .name = "piston speed limit",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_SPEED,
     .offset = LB_ROW_MACHINE(piston_speed_limit),
     .zero_is_unstated = true,
     .least = 0.01,
     .most = 100,
     .limits = "a limit of piston speed lies between 0.01 and 100 m/s",
     .otherwise = "not known",
     .only_at_speed = true,
     .unit = "m/s",
     .inch_unit = "ft/s",
     .example = "1 m/s",
     .meaning = "greatest speed of the piston that the cylinder is made for",
     .measure = "It stands in the maker's data sheet.",
     .usual = "0.5 to 1.5 m/s for bought cylinders"},
    {.section = "cylinder",
     .name = "rated pressure",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_PRESSURE,
     .offset = LB_ROW_MACHINE(rated_pressure),
     .zero_is_unstated = true,
     .least = 0.1 * LB_ROW_BAR,
     .most = 1000 * LB_ROW_BAR,
     .limits = "a rated pressure lies between 0.1 and 1000 bar absolute",
     .otherwise = "not known",
     .unit = "bar gauge",
     .inch_unit = "psig",
     .example = "10 bar gauge",
     .meaning = "greatest pressure that the cylinder is made for",
     .measure = "It stands on the cylinder's label.",
     .usual = "10 bar gauge for bought cylinders"},
};

const struct lb_keys_part lb_keys_of_cylinder = {rows, sizeof rows / sizeof rows[0]};
