/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The machine as the calculation sees it: SI units, absolute pressures, every default filled in.
 *
 * It is plain data: copy it, change a member, calculate again. lb_machine_read (machine/read.h)
 * makes one from a machine file; lb_machine_defaults below gives one with all that has a default.
 */
#ifndef LASTBAR_MACHINE_MACHINE_H
#define LASTBAR_MACHINE_MACHINE_H

#include "base/status.h"
#include "physics/flow.h"
#include "physics/linkage.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_NAME_SIZE = 1001,   /* bytes of a machine's name with its closing zero */
  LB_CYLINDERS_MOST = 24 /* cylinders on one crank */
};

/* When the valves of one end act. All angles [rad] count from this end's own dead centre (where its
 * piston really turns) in the direction of rotation:
 * inlet_opens < cutoff <= release < exhaust_closes <= inlet_opens + 2 pi. */
struct lb_timing {
  double inlet_opens;        /* [rad] negative: lead, not before the opposite dead centre */
  bool cutoff_given;         /* false: the file leaves the cut-off to the atmospheric rule */
  double cutoff;             /* [rad] inlet closes; 0 when not given */
  double release;            /* [rad] exhaust opens; less than 2 pi */
  double exhaust_closes;     /* [rad] compression begins */
  double opening_ramp;       /* [rad] crank angle from shut to open, >= 0; at speed only */
  double opening_ramp_time;  /* [s] >= 0; at speed only; one of the two ramps is 0 */
  bool angles_are_switching; /* the angles are those of the electrical switch; at speed only */
};

/* The two valves of an end. */
enum lb_valve {
  LB_INLET_VALVE,
  LB_EXHAUST_VALVE,
  LB_VALVES
};

/* What is stated of a valve's size, as its maker states it: at most one of conductance, kv, cv,
 * effective_area, orifice and nominal_flow is not 0. All 0: nothing is stated. */
struct lb_valve_size {
  double conductance;           /* C [m3/(s Pa)] ANR */
  double kv;                    /* [m3/s] of water at a drop of 1 bar */
  double cv;                    /* [US gal/min] of water at a drop of 1 psi */
  double effective_area;        /* [m2] */
  double orifice;               /* [m] diameter */
  double discharge_coefficient; /* [1] of the orifice; 0: usual */
  double nominal_flow;          /* [m3/s] ANR, from 6 to 5 bar gauge */
  bool critical_ratio_given;
  double critical_ratio;       /* b [1] 0 ... less than 1; usual unless given */
  double subsonic_index;       /* m [1] > 0 */
  double pilot_least_pressure; /* [Pa absolute] below which its pilot does not move it; 0: none */
};

/* Which air passes a tube, and where it therefore lies. */
enum lb_tube_serves {
  LB_TUBE_INLET,   /* the inlet's: before the inlet valve */
  LB_TUBE_EXHAUST, /* the exhaust's: behind the exhaust valve */
  LB_TUBE_BOTH /* the air of both: between the valves and the cylinder, part of the dead volume */
};

/* A tube in series with the valves of an end, the same at both ends. */
struct lb_tubing {
  bool given;
  double length, bore; /* [m] > 0 */
  enum lb_tube_serves serves;
};

/* What the air passes between the supply and a chamber, or a chamber and the exhaust. */
struct lb_path {
  struct lb_flow flow;  /* of the valve wide open with all that is in series with it; conductance 0:
                           not stated */
  double tube_reynolds; /* [1] of the tube in it when the tube alone is choked; 0: no tube */
  double seat_leakage;  /* [m3/(s Pa)] while the valve is shut, ANR, >= 0 */
};

/* How late a valve follows its electrical signal. */
struct lb_valve_delay {
  double on;  /* [s] from switching on until it begins to open, >= 0 */
  double off; /* [s] from switching off until it is shut, >= 0 */
};

/* A disc on the crankshaft whose tracks work the switches of the valves: one track for each valve
 * of each worked end, the outermost that of the cap end's inlet, then its exhaust, then those of
 * the rod end. */
struct lb_switch_disc {
  bool given;
  double outer_diameter, bore;       /* [m] */
  double keyway_width, keyway_depth; /* [m] of a keyway from the bore outwards; both 0: none */
  double bolt_circle, bolt_hole;     /* [m] diameters; both 0 without bolts */
  int bolt_count;                    /* evenly spaced, the first at the mark; 0: none */
  double track_radius;               /* [m] middle of the outermost track */
  double track_width, track_spacing; /* [m] of a track; from middle to middle of neighbours */
  double switch_offset;              /* [rad] where the switches stand, from the pointer in the
                                        direction of rotation */
  double least_arc;                  /* [m] shortest length along a track that a switch can tell,
                                        on or off */
  double compensated_speed;          /* [rad/s] at which the delays are made up for; 0: not */
};

/* Cams on the crankshaft, one for each valve of each worked end, with a roller that moves towards
 * the shaft's centre. The flanks rise and fall over the opening ramp of the timing. */
struct lb_cam {
  bool given;
  double base_radius, lift, roller_radius; /* [m] > 0 */
  double bore;                             /* [m] diameter; 0: a centre mark alone */
  bool cycloidal;                          /* motion law: cycloidal, else the 3-4-5 polynomial */
  double pressure_angle_limit;             /* [rad] */
};

/* An encoder on the crankshaft. */
struct lb_encoder {
  bool given;
  int counts_per_turn; /* of one channel, >= 1 */
  bool quadrupled;     /* all edges of both channels are counted: four times as many */
  double offset;       /* [rad] crank angle after the cap-end dead centre at which it counts 0 */
  bool counts_down;    /* while the crank turns in its running direction */
};

/* How the air left in a store takes heat from its walls, which keep the store's temperature. */
enum lb_store_heat {
  LB_STORE_ISOTHERMAL,   /* as much as keeps it at their temperature */
  LB_STORE_ADIABATIC,    /* none */
  LB_STORE_TIME_CONSTANT /* m1 cv/time_constant for each kelvin of difference, m1 at the start */
};

/* A vessel of compressed air that the machine runs from. */
struct lb_store {
  bool given;
  double volume;        /* [m3] > 0: the room for air; follows from a rating (machine/complete.h) */
  double rating_amount; /* [m3] what a rated vessel is said to hold; 0: the volume is given */
  bool rating_is_free;  /* the amount is free air at the surroundings, else room for air */
  double rating_pressure; /* [Pa absolute] at which it holds that */
  double start_pressure;  /* [Pa absolute] that of the rating unless given */
  double lowest_pressure; /* [Pa absolute] at which a run is broken off; 0: not before the load
                             stops the machine */
  double temperature;     /* [K] of the air at the start, and of the walls all along; that of the
                             surroundings unless given */
  enum lb_store_heat heat;
  double time_constant;   /* [s] > 0 for LB_STORE_TIME_CONSTANT, else 0 */
  double leakage;         /* [m3/(s Pa)] ANR, to the surroundings; needs a speed */
  double vessel_mass;     /* [kg] 0: not stated */
  double marked_pressure; /* [Pa absolute] the vessel may be filled to; 0: not stated */
};

/* What reduces the pressure of the store to that of the supply. */
struct lb_regulator {
  bool given;
  double set_pressure; /* [Pa absolute] without flow; the supply's unless given */
  double droop;        /* [Pa s/m3] fall of the outlet's pressure with its free flow (ANR), >= 0;
                          needs a speed */
  double least_difference; /* [Pa] between store and outlet, >= 0 */
};

/* What the machine does when it gives more than its load takes. */
enum lb_coasting {
  LB_COASTING_NONE,      /* the surplus is lost */
  LB_COASTING_FREEWHEEL, /* it runs on without the cylinder, which rests */
  LB_COASTING_MOTORING /* it runs on with the cylinder, vented at both ends, whose constant friction
                          it pays */
};

/* What the shaft drives: a torque, or a vehicle. */
struct lb_load {
  double torque_per_speed; /* [N m s/rad] comes to the constant torque, >= 0; needs a speed */
  double torque_per_speed_squared; /* [N m s2/rad2] likewise */
  double mass;                     /* [kg] of a vehicle with all on it; 0: none */
  double rolling_resistance;       /* [1] force over weight, >= 0 */
  double drag_area;                /* [m2] drag coefficient times frontal area, >= 0 */
  double gradient;                 /* [1] rise over level distance; negative: downhill */
  double head_wind;                /* [m/s] negative: from behind */
  double wheel_diameter;           /* [m] > 0 of a vehicle */
  double gearing;                  /* [1] wheel turns per crank turn, > 0 */
  double drive_efficiency;         /* [1] from crank to wheel, more than 0 ... 1 */
  enum lb_coasting coasting;
};

struct lb_machine {
  char name[LB_NAME_SIZE];               /* UTF-8, never empty */
  int cylinders;                         /* 1 ... LB_CYLINDERS_MOST, all equal, on one crank */
  double crank_angle[LB_CYLINDERS_MOST]; /* [rad] 0 ... 2 pi: cylinder k passes its dead centre this
                                            much after the first */
  bool clockwise;                        /* rotation seen from the side the chart is mounted on */

  double ambient_pressure;    /* [Pa absolute] */
  double ambient_temperature; /* [K] */
  bool humidity_given;
  double humidity; /* [1] relative humidity of the surroundings, 0 ... 1; 0 when not given */

  double supply_pressure;    /* [Pa absolute] */
  double supply_temperature; /* [K] at the inlet valve; that of the surroundings unless given */
  bool supply_temperature_given;
  bool dew_point_given;
  double dew_point; /* [K] dew point of the supply at supply pressure; 0 when not given */

  double back_pressure; /* [Pa absolute] in the exhaust; ambient unless given */

  double expansion_exponent;   /* n of p V^n [1], 1 (isothermal) ... 1.42; 1.4 adiabatic */
  double compression_exponent; /* likewise */

  bool works[LB_ENDS];         /* which ends are worked; the other is open to the surroundings */
  double bore;                 /* [m] > 0 */
  double rod_diameter;         /* [m] 0 ... less than bore; 0 when the rod end does not matter */
  double through_rod_diameter; /* [m] rod through the cap end, 0 if none */
  bool dead_volume_unknown[LB_ENDS]; /* the file says so: dead_volume is an assumption */
  double dead_volume[LB_ENDS];       /* [m3] >= 0: volume left at that end's dead centre, that of a
                                        shared tube included */
  double tube_volume;                /* [m3] how much of it is the tube; 0 unless it is shared */
  double friction;                   /* [N] per cylinder, >= 0 */
  double friction_share;             /* [1] of the net gas force, 0 ... less than 1 */
  double breakaway_friction;         /* [N] at standstill, >= 0 */
  double leakage;                    /* [m3/(s Pa)] piston seal, ANR; at speed only */
  double wall_heat_transfer;         /* [W/(m2 K)]; at speed only */
  double piston_speed_limit;         /* [m/s]; 0: not stated */
  double rated_pressure;             /* [Pa absolute]; 0: not stated */

  double load_torque; /* [N m] that the shaft is asked for, its constant part, >= 0; of a vehicle
                         what rolling and gradient ask (machine/complete.h) */
  struct lb_load load;
  struct lb_store store;
  struct lb_regulator regulator;

  struct lb_linkage linkage; /* holds the stroke */
  struct lb_timing timing[LB_ENDS];

  struct lb_valve_size valve_size[LB_VALVES]; /* the same at both ends */
  struct lb_tubing tube;
  struct lb_path path[LB_VALVES]; /* the same at both ends; flow follows from the two above, where
                                     they state something (machine/complete.h) */
  double rod_seal_leakage;        /* [m3/(s Pa)] rod end to the surroundings, ANR */
  struct lb_flow supply_line;     /* from the supply to a receiver before the inlet valves of all
                                     cylinders; conductance 0: the supply is constant at the valves */
  double receiver_volume;         /* [m3] > 0 with a supply line, else 0 */
  struct lb_valve_delay valve_delay[LB_VALVES]; /* the same at both ends */
  struct lb_switch_disc switch_disc;
  struct lb_cam cam;
  struct lb_encoder encoder;
};

/* What rolling and climbing ask of a vehicle [N] along the road, standing as well as moving:
 * m g c cos a and m g sin a, with a the angle of the gradient; the latter is negative downhill. 0
 * without a vehicle.
 * rolling, climbing  out */
void lb_machine_road_forces(double *rolling, double *climbing, const struct lb_load *load);

/* Area of the piston that an end's air works on [m2]: the bore less the rod on that side. */
double lb_machine_area(const struct lb_machine *machine, enum lb_end end);

/* Volume swept by all worked ends of all cylinders in one revolution [m3]. */
double lb_machine_swept_volume(const struct lb_machine *machine);

/* What may be assumed of a dead volume that is not known, as a share of the swept volume: common
 * practice, no source. */
enum lb_dead_volume {
  LB_DEAD_VOLUME_LOW,   /* 5 %: ports in the covers, valves on them */
  LB_DEAD_VOLUME_USUAL, /* 10 % */
  LB_DEAD_VOLUME_HIGH,  /* 20 %: half a metre of tube */
  LB_DEAD_VOLUMES
};
double lb_machine_dead_share(enum lb_dead_volume assumed);

/* Set the dead volumes that are not known to an assumption, to which a shared tube comes. */
void lb_machine_assume_dead_volume(struct lb_machine *machine, enum lb_dead_volume assumed);

/* Whether a worked end's dead volume is not known. */
bool lb_machine_assumes(const struct lb_machine *machine);

/* Fill in everything that has a default: one double-acting cylinder, sea level, 20 degC, adiabatic,
 * no friction, inlet opens 0, cut-off not given, release pi, exhaust closes 2 pi. What has none
 * (bore, stroke, supply pressure, linkage) is 0 and must be set. */
void lb_machine_defaults(struct lb_machine *machine);

#ifdef __cplusplus
}
#endif

#endif
