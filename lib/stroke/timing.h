/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the angles of a machine's valve events to the volumes its chambers have there.
 *
 * Every angle here counts from the end's own dead centre in the direction of rotation:
 *
 *   inlet opens --admission-- cut-off --expansion-- release --exhaust-- exhaust closes
 *        ^------------------------------compression------------------------------'
 */
#ifndef LASTBAR_STROKE_TIMING_H
#define LASTBAR_STROKE_TIMING_H

#include "machine/machine.h"
#include "stroke/chamber.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Volume of an end's chamber [m3], dead volume included, at an angle [rad]. */
double lb_timing_volume(const struct lb_machine *machine, enum lb_end end, double angle);

/* Its derivative [m3/rad]. */
double lb_timing_volume_slope(const struct lb_machine *machine, enum lb_end end, double angle);

/* The angle on the stroke away from the end [rad] at which the chamber has a volume [m3]; NaN when
 * it never has. */
double lb_timing_angle(const struct lb_machine *machine, enum lb_end end, double volume);

/* The volumes at an end's events, the cut-off left out; the machine must pass lb_machine_check. */
void lb_timing_volumes(struct lb_volumes *volumes, const struct lb_machine *machine,
                       enum lb_end end);

/* The cut-offs a search may choose from [rad]: on the stroke away from the end, from dead centre or
 * the inlet's opening to the opposite dead centre or the release. Where the chamber has no volume
 * at dead centre the earliest is moved off it by a hair, so that there is something to expand. */
void lb_timing_window(double *earliest, double *latest, const struct lb_machine *machine,
                      enum lb_end end);

/* Volume at a cut-off, and the greatest volume while the inlet is open (the same unless the inlet
 * shuts after the opposite dead centre) [m3]. */
void lb_timing_cutoff(double *volume, double *greatest, const struct lb_machine *machine,
                      enum lb_end end, double cutoff);

/* What a chamber's volumes can be changed by. */
enum lb_varied {
  LB_VARIED_INLET_OPENS, /* [rad] */
  LB_VARIED_CUTOFF,
  LB_VARIED_RELEASE,
  LB_VARIED_EXHAUST_CLOSES,
  LB_VARIED_DEAD_VOLUME,     /* [m3] */
  LB_VARIED_SUPPLY_PRESSURE, /* [Pa] */
  LB_VARIED
};

/* What an event is called: "inlet opens", "cut-off", "release", "exhaust closes".
 * event  LB_VARIED_INLET_OPENS ... LB_VARIED_EXHAUST_CLOSES */
const char *lb_timing_event_name(enum lb_varied event);

/* Angle of one of the four events of an end [rad] after its own dead centre.
 * event   LB_VARIED_INLET_OPENS ... LB_VARIED_EXHAUST_CLOSES
 * cutoff  [rad] that of the end */
double lb_timing_event(const struct lb_machine *machine, enum lb_end end, enum lb_varied event,
                       double cutoff);

/* The crank angle [rad], 0 ... less than 2 pi, from the first cylinder's cap-end dead centre, of an
 * angle after an end's own dead centre. */
double lb_timing_crank_angle(const struct lb_machine *machine, enum lb_end end, double angle);

/* How far ahead of an event its valve must be switched [rad] at a speed [rad/s]: speed times the
 * delay, on delay where the valve opens, off delay where it shuts; 0 where the file's angle is that
 * of switching already.
 * found  a cut-off was found by a rule: then it is one of the valve, whatever the file's angles
 *        mean */
double lb_timing_lead(const struct lb_machine *machine, enum lb_end end, enum lb_varied event,
                      bool found, double speed);

/* How much later than the file's angle of an event its valve acts [rad] at a speed [rad/s]: speed
 * times the delay where the file's angles are those of switching, else 0. */
double lb_timing_lag(const struct lb_machine *machine, enum lb_end end, enum lb_varied event,
                     double speed);

/* The greatest speed [rad/s] at which a valve can follow its signal: it must have begun to open
 * before it is switched off, window >= speed * off delay, and be shut before it is switched on
 * again, 2 pi - window >= speed * on delay. Infinite without delays.
 * window  [rad] how long it is open */
double lb_timing_greatest_speed(const struct lb_machine *machine, enum lb_valve valve,
                                double window);

/* The rates of an end's volumes (and of the supply pressure) with one of these. */
void lb_timing_rates(struct lb_chamber_rates *rates, const struct lb_machine *machine,
                     enum lb_end end, double cutoff, enum lb_varied varied);

/* Share of the end's own stroke [1] that the piston has travelled from its dead centre. */
double lb_timing_stroke_fraction(const struct lb_machine *machine, enum lb_end end, double angle);

#ifdef __cplusplus
}
#endif

#endif
