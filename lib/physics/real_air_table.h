/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table behind real_air.c, printed by data/air_compressibility.py. Its outermost rows lie
 * beyond the range that real_air.h answers for, some at pressures below 0.
 */
#ifndef LASTBAR_PHYSICS_REAL_AIR_TABLE_H
#define LASTBAR_PHYSICS_REAL_AIR_TABLE_H

/* How many rows it has. */
enum {
  LB_REAL_AIR_PRESSURES = 72,
  LB_REAL_AIR_TEMPERATURES = 71
};

/* Where they lie [Pa absolute], [K], growing; one is the pressure 0. */
extern const double lb_real_air_table_pressure[LB_REAL_AIR_PRESSURES];
extern const double lb_real_air_table_temperature[LB_REAL_AIR_TEMPERATURES];

/* Z over the pressures of the first temperature, then of the next, and so on. */
extern const double lb_real_air_table_z[LB_REAL_AIR_TEMPERATURES * LB_REAL_AIR_PRESSURES];

#endif
