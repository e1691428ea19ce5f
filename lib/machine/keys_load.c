/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keys of the load.
 */
#include "machine/keys_table.h"

static const struct lb_key rows[] = {
    {.section = "load",
     .name = "torque",
     .kind = LB_KEY_QUANTITY,
     .quantity = LB_TORQUE,
     .offset = LB_ROW_MACHINE(load_torque),
     .least = 0,
     .most = 1e6,
     .limits = "the torque of a load lies between 0 (none) and 1000000 N m",
     .otherwise = "none",
     .unit = "N m",
     .inch_unit = "lb ft",
     .example = "2 N m",
     .meaning = "torque that the load takes at the crank shaft; dead arcs are counted against it",
     .measure =
         "Hang a weight from a cord round a drum on the shaft: the weight that just turns it, "
         "times the radius of the drum.",
     .usual = "a third to a half of the mean torque"}};

const struct lb_keys_part lb_keys_of_load = {rows, sizeof rows / sizeof rows[0]};
