/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air in a store while some of it leaves: its state, its worth, how it cools.
 *
 *   m cv dT = T (dp/dT)_v v dm + Q dt,   Q = m1 cv1/tau (T_w - T)   with a time constant
 *
 * so that without heat what stays expands isentropically; isothermal walls hold T. Real gas
 * throughout (physics/real_air.h). The worth of the air is what it could do at most against
 * surroundings at p_a, T_a:
 *
 *   content [J/kg]  u - u_a + p_a (v - v_a) - T_a (s - s_a);   flowing  h - h_a - T_a (s - s_a)
 */
#ifndef LASTBAR_DUTY_TANK_H
#define LASTBAR_DUTY_TANK_H

#include "machine/machine.h"
#include "physics/real_air.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A machine's store ready to be run down. */
struct lb_tank {
  const struct lb_machine *machine;  /* borrowed */
  const struct lb_real_air *air;     /* borrowed */
  double start_mass;                 /* [kg] of air at the start */
  double heat_per_kelvin;            /* [W/K] from the walls; with a time constant only, else 0 */
  struct lb_real_state surroundings; /* of the air around, as a real gas */
};

/* The air in it at one moment. */
struct lb_tank_state {
  double mass, temperature; /* [kg], [K] */
  double pressure;          /* [Pa absolute] */
  struct lb_real_state gas;
};

/* Prepare it. `machine` and `air` must outlive it.
 * Fails (LB_NO_ANSWER) when start or surroundings lie outside the range of the table. */
enum lb_status lb_tank_prepare(struct lb_tank *tank, const struct lb_machine *machine,
                               const struct lb_real_air *air, struct lb_error *error);

/* The state with a mass [kg] of air at a temperature [K].
 * state  in: pressure as a guess, or 0; out
 * Fails as lb_real_air_pressure. */
enum lb_status lb_tank_at(struct lb_tank_state *state, const struct lb_tank *tank, double mass,
                          double temperature, struct lb_error *error);

/* Air that leaks to the surroundings [kg/s]. */
double lb_tank_leak(const struct lb_tank *tank, const struct lb_tank_state *state);

/* Heat that the walls give the air [W] with a time constant; 0 else. */
double lb_tank_heat(const struct lb_tank *tank, const struct lb_tank_state *state);

/* dT/dm [K/kg] while air leaves at a rate [kg/s] > 0 (only read with a time constant). */
double lb_tank_cooling(const struct lb_tank *tank, const struct lb_tank_state *state, double rate);

/* Heat that the walls give for each kilogram that leaves [J/kg], whatever the kind of walls. */
double lb_tank_heat_per_kg(const struct lb_tank *tank, const struct lb_tank_state *state,
                           double rate);

/* Worth of the air in the store [J], and of a kilogram that flows out of it [J/kg]. */
double lb_tank_worth(const struct lb_tank *tank, const struct lb_tank_state *state);
double lb_tank_flow_worth(const struct lb_tank *tank, const struct lb_real_state *gas);

/* Its pressure [Pa absolute] once it has come back to the temperature of the surroundings.
 * Fails as lb_real_air_pressure. */
enum lb_status lb_tank_warmed(double *pressure, const struct lb_tank *tank,
                              const struct lb_tank_state *state, struct lb_error *error);

/* ---------- behind it ---------- */

/* The air that comes to the inlet valve. */
struct lb_outlet {
  double pressure;    /* [Pa absolute] */
  double temperature; /* [K] at the inlet valve: as the machine states it, else as throttled */
  double throttled;   /* [K] behind the regulator, or the store's without one */
  double regulator;   /* [J/kg] worth destroyed by throttling: T_a times the entropy made */
  double pipe;        /* [J/kg] worth lost (negative: gained) on the way from there to the valve,
                         where the pipe brings it to the stated temperature */
  double ideal;       /* [J/kg] what is taken for lost because air counts as ideal from here on */
};

/* The pressure there [Pa absolute]: min(set, store - least difference) less droop; without a
 * regulator the store's. Not above 0 where nothing gets through.
 * set_pressure  [Pa absolute] of the regulator; 0: none
 * flow          [kg/s] for the droop; 0: none */
double lb_tank_outlet_pressure(const struct lb_tank *tank, const struct lb_tank_state *state,
                               double set_pressure, double flow);

/* The outlet of the store, through the regulator or not, at that pressure.
 * Fails (LB_NO_ANSWER) when that is not above 0, and as lb_real_air_throttled. */
enum lb_status lb_tank_outlet(struct lb_outlet *outlet, const struct lb_tank *tank,
                              const struct lb_tank_state *state, double set_pressure, double flow,
                              struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
