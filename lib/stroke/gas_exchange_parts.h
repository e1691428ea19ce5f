/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the equations of a cylinder at speed and the search for its periodic revolution share. Use
 * stroke/gas_exchange.h.
 *
 * The independent variable is the crank angle from the cap-end dead centre. States: p and m of each
 * worked end. Sums: work, air from the supply, air to the exhaust of each, then |net force| |dx|;
 * with the worth of the air its parts behind them.
 */
#ifndef LASTBAR_STROKE_GAS_EXCHANGE_PARTS_H
#define LASTBAR_STROKE_GAS_EXCHANGE_PARTS_H

#include "base/ode.h"
#include "stroke/gas_exchange.h"

enum {
  LB_GAS_STATES = 2, /* of an end */
  LB_GAS_SUMS = 3,   /* of an end */
  LB_GAS_STATES_MOST = LB_ENDS * LB_GAS_STATES,
  LB_GAS_SUMS_MOST = LB_ENDS * LB_GAS_SUMS + 1, /* the last: |net force| |dx| */
  LB_GAS_STOPS_MOST = LB_ENDS * LB_VALVES * 4 + 2
};

/* The parts of the worth, as sums behind the others. */
enum lb_gas_part {
  LB_GAS_SUPPLIED,
  LB_GAS_INLET,
  LB_GAS_MIXING,
  LB_GAS_EXHAUST_VALVE,
  LB_GAS_HEAT,
  LB_GAS_LEAKAGE,
  LB_GAS_EXHAUST,
  LB_GAS_PARTS
};

/* Opening of a valve within a segment: at + by * crank angle [1]. */
struct lb_gas_opening {
  double at, by;
};

/* A worked end. */
struct lb_gas_chamber {
  enum lb_end end;
  double area, dead_volume;
  struct lb_gas_opening opening[LB_GAS_STOPS_MOST][LB_VALVES]; /* by segment */
};

struct lb_gas {
  struct lb_ode *ode[LB_ENDS + 1];   /* for one and for two worked ends */
  struct lb_ode *audit[LB_ENDS + 1]; /* the same with the parts of the worth */
  const struct lb_machine *machine;
  double speed;
  struct lb_gas_chamber chamber[LB_ENDS]; /* chamber[chambers] */
  size_t chambers;
  double stop[LB_GAS_STOPS_MOST];
  size_t stops;
  struct lb_flow piston_leak, rod_leak, seat_leak[LB_VALVES];
  double scale[LB_GAS_STATES_MOST + LB_GAS_SUMS_MOST + LB_GAS_PARTS];
};

/* The sums of the ends being solved, the one behind them included. */
size_t lb_gas_sums(const struct lb_gas *gas);

/* The volume of a chamber [m3] and dV/d(angle), from the piston's travel and its slope. */
double lb_gas_volume(const struct lb_gas *gas, const struct lb_gas_chamber *chamber, double travel,
                     double slope, double *by_angle);

/* The equations, as base/ode.h wants them; the context is a struct lb_gas. */
void lb_gas_rates(double *rate, double angle, size_t segment, const double *state,
                  const void *context);
void lb_gas_slopes(double *rate, double *slope, double angle, size_t segment, const double *state,
                   const void *context);

/* The same with the parts of the worth behind them. */
void lb_gas_worth_rates(double *rate, double angle, size_t segment, const double *state,
                        const void *context);
void lb_gas_worth_slopes(double *rate, double *slope, double angle, size_t segment,
                         const double *state, const void *context);

#endif
