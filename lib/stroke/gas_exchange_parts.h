/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the equations of a cylinder at speed and the search for its periodic revolution share. Use
 * stroke/gas_exchange.h.
 *
 * A system is what is solved at once: one end of a cylinder, both where air leaks between them, or
 * all ends of all cylinders where a receiver before the inlet valves joins them. The independent
 * variable is the crank angle from the cap-end dead centre of the first cylinder. States: p and m
 * of each chamber, then of the receiver. Sums: work, air through the inlet, air through the exhaust
 * of each chamber; with the worth of the air its parts behind them.
 */
#ifndef LASTBAR_STROKE_GAS_EXCHANGE_PARTS_H
#define LASTBAR_STROKE_GAS_EXCHANGE_PARTS_H

#include "base/ode.h"
#include "stroke/gas_exchange.h"

enum {
  LB_GAS_STATES = 2, /* of a chamber, and of the receiver */
  LB_GAS_SUMS = 3,   /* of a chamber */
  LB_GAS_CHAMBERS = LB_CYLINDERS_MOST * LB_ENDS,
  LB_GAS_STATES_MOST = LB_GAS_STATES * (LB_GAS_CHAMBERS + 1),
  LB_GAS_SUMS_MOST = LB_GAS_SUMS * LB_GAS_CHAMBERS,
  LB_GAS_STOPS_MOST = LB_GAS_CHAMBERS * LB_VALVES * 4 + 2
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

/* The ways in and out of a chamber. */
enum lb_gas_way {
  LB_GAS_OPEN_INLET,
  LB_GAS_OPEN_EXHAUST,
  LB_GAS_SHUT_INLET, /* past its seat */
  LB_GAS_SHUT_EXHAUST,
  LB_GAS_TO_SURROUNDINGS, /* past a seal */
  LB_GAS_WAYS_AT_ONCE = 4
};

/* One of them within a segment: a restriction, how far it is open, at + by * crank angle [1], and
 * the state on its outside, which before an inlet is that of the receiver if there is one. */
struct lb_gas_passage {
  enum lb_gas_way way;
  const struct lb_flow *flow;
  double at, by;
  double pressure, temperature;
};

/* Those that pass anything in a segment. */
struct lb_gas_passages {
  struct lb_gas_passage way[LB_GAS_WAYS_AT_ONCE]; /* way[ways] */
  int ways;
};

/* A worked end of a cylinder. */
struct lb_gas_chamber {
  enum lb_end end;
  size_t cylinder;
  double phase; /* [rad] crank angle at which its cylinder passes its cap-end dead centre */
  double area, dead_volume;
  double wall, wall_by_travel;                        /* [W/K] at its dead centre, [W/(K m)] */
  struct lb_gas_passages passages[LB_GAS_STOPS_MOST]; /* by segment */
};

/* The piston of a cylinder at the angle last asked for: several stages of a step ask alike. */
struct lb_gas_place {
  double angle;
  struct lb_piston motion;
};

/* A trace that grows. */
struct lb_gas_trace {
  struct lb_gas_point *point; /* point[points], with room for `room` */
  size_t points, room;
};

struct lb_gas {
  struct lb_ode *ode[LB_ENDS + 1];   /* for one and for two chambers of a cylinder */
  struct lb_ode *audit[LB_ENDS + 1]; /* the same with the parts of the worth */
  struct lb_ode *joined[2];          /* likewise for all chambers behind a receiver */
  size_t joined_chambers;            /* ... as many as these */
  const struct lb_machine *machine;
  double speed, per_speed;                        /* [rad/s], [s/rad] */
  struct lb_gas_chamber chamber[LB_GAS_CHAMBERS]; /* chamber[chambers] of the system */
  size_t chambers;
  bool receiver; /* the system has one */
  double stop[LB_GAS_STOPS_MOST];
  size_t stops;
  struct lb_flow piston_leak, rod_leak, seat_leak[LB_VALVES];
  struct lb_gas_place *place; /* of the first cylinder */
  double scale[LB_GAS_STATES_MOST + LB_GAS_SUMS_MOST + LB_GAS_PARTS];
  struct lb_gas_trace trace[LB_CYLINDERS_MOST][LB_ENDS];
  bool trace_failed;                  /* no memory for it */
  double store_angle, store_pressure; /* of the receiver where it was seen last [rad], [Pa] */
  double store_sum, store_least;      /* its pressure over the angle so far [Pa rad]; least [Pa] */
};

/* Numbers of states and sums of the system. */
size_t lb_gas_states(const struct lb_gas *gas);
size_t lb_gas_sums(const struct lb_gas *gas);

/* A chamber's volume [m3] and its derivatives by the crank angle. */
struct lb_gas_volume {
  double volume, slope, curvature;
};

/* It, from where the piston is. */
struct lb_gas_volume lb_gas_volume(const struct lb_gas *gas, const struct lb_gas_chamber *chamber,
                                   const struct lb_piston *motion);

/* Where the piston of a chamber is at a crank angle. */
struct lb_piston lb_gas_piston(const struct lb_gas *gas, const struct lb_gas_chamber *chamber,
                               double angle);

/* The equations, as base/ode.h wants them; the context is a struct lb_gas. */
void lb_gas_rates(double *rate, double angle, size_t segment, const double *state,
                  const void *context);
void lb_gas_slopes(double *rate, double *slope, double *by_angle, double angle, size_t segment,
                   const double *state, const void *context);

/* A stream into a chamber (negative: out of it), and the state on the outside. */
struct lb_gas_stream {
  enum lb_gas_way way;
  double mass; /* [kg/s] */
  double pressure, temperature;
};

/* A chamber as it is at a moment. */
struct lb_gas_moment {
  double pressure, temperature, wall;               /* [Pa], [K], heat from the wall [W] */
  struct lb_gas_stream stream[LB_GAS_WAYS_AT_ONCE]; /* stream[streams] */
  int streams;
  double leak; /* [kg/s] past the piston out of this chamber into the next, if that is the other end
                  of its cylinder and belongs to the system */
};

/* Look at all chambers at a moment.
 * moment  out: moment[chambers]; behind them that of the receiver, whose one stream is the line */
void lb_gas_look(struct lb_gas_moment *moment, const struct lb_gas *gas, double angle,
                 size_t segment, const double *state);

/* The same equations with the parts of the worth behind them. */
void lb_gas_worth_rates(double *rate, double angle, size_t segment, const double *state,
                        const void *context);
void lb_gas_worth_slopes(double *rate, double *slope, double *by_angle, double angle,
                         size_t segment, const double *state, const void *context);

/* A valve's opening and window [rad] of the crank, from the dead centre of its cylinder, with its
 * ramp. A width of 0 or less: it never opens. */
struct lb_gas_window {
  double from, width, ramp;
};
struct lb_gas_window lb_gas_window(const struct lb_gas *gas, enum lb_end end, enum lb_valve valve,
                                   double cutoff);

/* An angle without whole turns from a start [rad]: start ... start + 2 pi. */
double lb_gas_within_turn(double angle, double start);

/* Set the stops of the system's valves, and what passes between them. */
void lb_gas_set_valves(struct lb_gas *gas, const double *cutoff);

/* Note a point of every chamber's trace; as lb_ode_observe wants it, with the gas as notes. */
void lb_gas_see(double angle, const double *state, void *gas);

/* What the trace of a chamber tells about its revolution: all of it but work and air. */
void lb_gas_read_trace(struct lb_gas_turn *turn, const struct lb_gas *gas,
                       const struct lb_gas_chamber *chamber, const double *cutoff);

/* Integral of |net gas force| |dx| [J] of one cylinder over its traces, an end that does not work
 * being open to the surroundings. */
double lb_gas_absolute_force(const struct lb_gas *gas, size_t cylinder);

#endif
