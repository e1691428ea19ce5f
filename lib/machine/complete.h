/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What follows from a machine's own figures. Its valves and its tube: the way of the air into a
 * chamber and out of it as one restriction each, and the volume of a tube that lies between valves
 * and piston. Its store: the room for air of a rated one. Its load: the torque of a vehicle.
 *
 *   supply > tube (serves inlet) > inlet valve > tube (serves both) > chamber
 *   chamber > tube (serves both) > exhaust valve > tube (serves exhaust) > exhaust
 */
#ifndef LASTBAR_MACHINE_COMPLETE_H
#define LASTBAR_MACHINE_COMPLETE_H

#include "base/status.h"
#include "machine/machine.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What a discharge coefficient is when nobody says [1]: that of a sharp-edged orifice. */
#define LB_ORIFICE_COEFFICIENT 0.6

/* b and the discharge coefficient of a valve [1]: as given, else what is usual for the way its size
 * is stated in. */
double lb_valve_ratio(const struct lb_valve_size *size);
double lb_valve_coefficient(const struct lb_valve_size *size);

/* A valve wide open, alone, from what is stated of its size; conductance 0 when nothing is.
 * size  one that passes lb_machine_check
 * For Kv, Cv and nominal flow with an index that is not 0.5, it is the flow from 6 to 5 bar gauge
 * that is kept. */
struct lb_flow lb_valve_flow(const struct lb_valve_size *size);

/* Derive path[].flow and its tube_reynolds, and take the volume of a shared tube into dead_volume[]
 * (that of a tube counted there before leaves it), from valve_size[] and tube; the volume of a
 * store from its rating, where it has one; load_torque of a vehicle from its rolling resistance and
 * gradient, without what comes with speed and wind. lb_machine_read does so; call it again after
 * changing one of these, the surroundings, or a pressure by a factor: the friction in a tube is
 * that at supply pressure for the inlet, and at the geometric mean of supply and back pressure for
 * the exhaust. A rating of free air holds V = amount rho(p_a, T_a)/rho(p_rated, T_a), with air as a
 * real gas. The flow of a path stays as it is where no size is stated for its valve, so that a
 * program may set one itself. Fails (LB_BAD_INPUT) for a tube out of its range, with LB_NO_MEMORY,
 * as lb_numeric_root and lb_real_air_state; the dead volumes and the load are right even then. */
enum lb_status lb_machine_complete(struct lb_machine *machine, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
