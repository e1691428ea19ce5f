/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One chamber of a cylinder through one slow revolution, in closed form.
 *
 * The chamber is filled through its inlet at supply pressure, expands along p V^n = const, blows
 * down to back pressure, is swept out, and compresses what is trapped along p V^n2 = const:
 *
 *        p_s  admission ______                 V_o  inlet opens       V_r  exhaust opens
 *        |   V_o ->    V_c    \  p V^n         V_a  least volume      V_z  greatest volume
 *        |                     \                    while it fills         while exhausting
 *    p_1 /\                     \ p_r          V_c  inlet shuts       V_k  exhaust shuts
 *          \__p V^n2__ exhaust __|  p_e
 *             V_o  <- V_k      V_r
 *
 * It knows volumes, not angles: stroke/timing.h gives the volumes of a machine's events. The state
 * is periodic, and the temperatures of the periodic state are found without iteration because the
 * balance is linear in 1/T at cut-off.
 */
#ifndef LASTBAR_STROKE_CHAMBER_H
#define LASTBAR_STROKE_CHAMBER_H

#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What the chamber is connected to. Pressures [Pa absolute] > 0, temperatures [K] > 0. */
struct lb_conditions {
  double supply_pressure;      /* p_s */
  double supply_temperature;   /* T_s */
  double back_pressure;        /* p_e */
  double outside_temperature;  /* T_a, of air drawn in through the exhaust */
  double expansion_exponent;   /* n [1] 1 ... 1.67 */
  double compression_exponent; /* n2 [1] 1 ... 1.67 */
};

/* The volumes that do not depend on the cut-off [m3], dead volume included, all >= 0. */
struct lb_volumes {
  double opening;       /* V_o: the inlet opens */
  double filled;        /* V_a: least volume while the inlet is open; V_o unless there is lead */
  double release;       /* V_r > 0: the exhaust opens */
  double exhausting;    /* V_z: greatest volume while the exhaust is open */
  double swept_out;     /* least volume while the exhaust is open: V_k, or the volume at dead centre
                           when the exhaust shuts after it */
  double closing;       /* V_k: the exhaust shuts */
  double trapped_least; /* least volume while both valves are shut before the inlet opens */
};

/* What a reader should be told about a revolution; several may hold. */
enum lb_chamber_flags {
  LB_OVER_COMPRESSION = 1, /* trapped air rises above supply pressure */
  LB_PUSH_BACK = 2,        /* air goes back into the supply through the open inlet */
  LB_IN_FLOW = 4,          /* outside air is drawn in through the exhaust */
  LB_NEGATIVE_LOOP = 8     /* the gas falls below back pressure before release: that part of the
                              diagram costs work */
};

/* A chamber made ready by lb_chamber_prepare: figures that do not depend on the cut-off. */
struct lb_chamber {
  struct lb_conditions conditions;
  struct lb_volumes volumes;
  double compression_pressure; /* p_1 [Pa absolute] before the inlet opens */
  double peak_pressure;        /* [Pa absolute] greatest while trapped */
  double compression_work;     /* on the piston [J], negative when compressing */
  double residual;  /* R m_1 T_e of the residual air that stays when the inlet opens [J] */
  double filling;   /* R m_f with the residual left out of it [J/K], see chamber.c */
  double kept;      /* V_a/V_o [1]: share of the chamber's air kept after lead */
  double blow_down; /* (p_s/p_e)^((n-1)/n) [1] */
};

/* One chamber, one revolution. */
struct lb_turn {
  double work; /* on the piston face [J] */
  double air;  /* drawn from the supply [kg]: filling + admitted - pushed back */
  double filling_air, admitted_air, pushed_back_air, outside_air; /* [kg] */
  double cutoff_air;                                            /* in the chamber at cut-off [kg] */
  double release_pressure, compression_pressure, peak_pressure; /* [Pa absolute] */
  double compression_temperature; /* before the inlet opens [K]; that of the supply when no air is
                                     trapped */
  double filled_temperature;      /* after filling to supply pressure [K], likewise */
  double cutoff_temperature, release_temperature; /* [K] */
  double exhaust_temperature;  /* of the air left in the cylinder while it is swept out [K] */
  double closing_temperature;  /* of the air trapped when the exhaust closes [K]: the former unless
                                  outside air was drawn in last */
  double outgoing_temperature; /* of the stream that leaves, mixed [K]; the former when none does */
  unsigned flags;              /* enum lb_chamber_flags */
};

/* Make a chamber ready.
 * chamber  out
 * Fails (LB_BAD_INPUT) when a condition or volume is not finite or out of its range, and when air
 * is trapped into no volume at all: it would have to be compressed without limit. */
enum lb_status lb_chamber_prepare(struct lb_chamber *chamber,
                                  const struct lb_conditions *conditions,
                                  const struct lb_volumes *volumes, struct lb_error *error);

/* One revolution.
 * turn      out
 * greatest  [m3] greatest volume while the inlet is open: the cut-off volume unless the inlet shuts
 *           after the far dead centre
 * cutoff    [m3] V_c > 0: volume at cut-off
 * Fails (LB_NO_ANSWER) when expansion and compression exponents differ so that no periodic state
 * obeys the first law; the text says which limit is broken. */
enum lb_status lb_chamber_turn(struct lb_turn *turn, const struct lb_chamber *chamber,
                               double greatest, double cutoff, struct lb_error *error);

/* Work and air of a revolution with their derivatives, for an inlet that shuts on the stroke away
 * from this end. */
struct lb_margin {
  double work, air;                       /* [J], [kg] as in lb_turn */
  double work_per_volume, air_per_volume; /* d/dV_c [J/m3], [kg/m3] */
  double release_pressure;                /* [Pa absolute] */
};
void lb_chamber_margin(struct lb_margin *margin, const struct lb_chamber *chamber, double cutoff);

/* Rates of change of everything a revolution depends on, by whatever quantity the caller has in
 * mind: an angle, a dead volume, the supply pressure. */
struct lb_chamber_rates {
  struct lb_volumes volumes; /* [m3 per unit] */
  double greatest, cutoff;   /* of the arguments of lb_chamber_turn [m3 per unit] */
  double supply_pressure;    /* [Pa per unit] */
};

/* The exact rates of work, air and release pressure that follow, by forward differentiation of
 * the closed form.
 * tangent           out: [J], [kg], [Pa] per unit
 * greatest, cutoff  [m3] as in lb_chamber_turn
 * Where trapped air just reaches supply pressure, or release just back pressure, the rates on both
 * sides differ; these are then those of a full chamber (p_1 <= p_s, p_r >= p_e). */
struct lb_chamber_tangent {
  double work, air, release_pressure;
};
void lb_chamber_tangent(struct lb_chamber_tangent *tangent, const struct lb_chamber *chamber,
                        double greatest, double cutoff, const struct lb_chamber_rates *rates);

#ifdef __cplusplus
}
#endif

#endif
