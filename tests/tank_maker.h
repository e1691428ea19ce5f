/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stores for tests: a machine with one, made ready, and its air at some moment.
 */
#ifndef LASTBAR_TESTS_TANK_MAKER_H
#define LASTBAR_TESTS_TANK_MAKER_H

#include "duty/tank.h"

/* A machine with all defaults and a store of a room [m3], pressure [Pa absolute] and temperature
 * [K]. */
struct lb_machine tank_maker_machine(double room, double pressure, double temperature,
                                     enum lb_store_heat heat);

/* Its store made ready; the test fails where that does. Machine and air are borrowed. */
struct lb_tank tank_maker_prepare(const struct lb_machine *machine, const struct lb_real_air *air);

/* The store with a mass [kg] of air at a temperature [K]; likewise. */
struct lb_tank_state tank_maker_state(const struct lb_tank *tank, double mass, double temperature);

#endif
