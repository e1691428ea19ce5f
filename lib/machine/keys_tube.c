/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keys of a tube in series with the valves. The slow cycle knows its volume when it serves both.
 */
#include "machine/keys_table.h"

static double load_serves(const struct lb_machine *machine) {
  return machine->tube.serves;
}

static void store_serves(struct lb_machine *machine, double word) {
  machine->tube.serves = (enum lb_tube_serves)word;
}

static const struct lb_key rows[] = {
    {.section = "tube",
     .name = "length",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_LENGTH,
     .offset = LB_ROW_MACHINE(tube.length),
     .flag = LB_ROW_MACHINE(tube.given),
     .least = 1e-3,
     .most = 100,
     .limits = "a tube is between 1 mm and 100 m long",
     .when = LB_WHEN_SECTION,
     .required = true,
     .otherwise = "",
     .unit = "mm",
     .inch_unit = "in",
     .example = "300 mm",
     .meaning = "length of the tube at each end, with its fittings as the tube that would hinder "
                "the air as much",
     .measure = "Measure it along its middle; add 30 bores for an elbow and 50 for a tee.",
     .usual = "50 mm to 2 m"},
    {.section = "tube",
     .name = "bore",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_LENGTH,
     .offset = LB_ROW_MACHINE(tube.bore),
     .flag = LB_ROW_MACHINE(tube.given),
     .least = 5e-4,
     .most = 0.5,
     .limits = "the bore of a tube lies between 0.5 mm and 500 mm",
     .when = LB_WHEN_SECTION,
     .required = true,
     .otherwise = "",
     .unit = "mm",
     .inch_unit = "in",
     .example = "4 mm",
     .meaning = "inside diameter of the tube",
     .measure = "It is printed on the tube as outside by inside diameter (6 x 4); else measure "
                "with the shank of a drill.",
     .usual = "2.5 mm for a tube of 4 mm outside, 4 for 6, 6 for 8, 7 to 8 for 10"},
    {.section = "tube",
     .name = "serves",
     .kind = LB_KEY_CHOICE,
     .load = load_serves,
     .store = store_serves,
     .flag = LB_ROW_MACHINE(tube.given),
     .choice = {"inlet", "exhaust", "both"},
     .limits = "",
     .when = LB_WHEN_SECTION,
     .required = true,
     .otherwise = "",
     .unit = "",
     .inch_unit = "",
     .example = "both",
     .choice_hint = "both when the air goes in and out through it, between valves and cylinder",
     .meaning = "which air passes it: the inlet's (from the supply to the inlet valve), the "
                "exhaust's (from the exhaust valve to the open), or both (between the valves and "
                "the cylinder, where its volume is added to the dead volume)",
     .measure = "Follow the air from the supply to the cylinder and out again.",
     .usual = "both, with valves beside the cylinder"},
};

const struct lb_keys_part lb_keys_of_tube = {rows, sizeof rows / sizeof rows[0]};
