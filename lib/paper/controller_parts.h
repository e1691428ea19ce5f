/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the note, the data and the C header of the controller's table share. Use paper/controller.h.
 */
#ifndef LASTBAR_PAPER_CONTROLLER_PARTS_H
#define LASTBAR_PAPER_CONTROLLER_PARTS_H

#include "paper/controller.h"
#include "paper/show.h"

enum {
  LB_SWITCHINGS = 4
};

/* The switchings of an end in the order of the turn. */
struct lb_controller_switching {
  enum lb_varied event;
  const char *words; /* "inlet on" */
  const char *name;  /* "inlet_on", in C */
  const char *degrees_key, *crank_key, *count_key, *late_key;
};
extern const struct lb_controller_switching lb_controller_switching[LB_SWITCHINGS];

/* "cap", "rod". */
extern const char *const lb_controller_end_key[LB_ENDS];

/* How much the speed may change from one revolution to the next [1], for what is said of a
 * controller that knows it a revolution late. */
extern const double lb_controller_change;

/* Counts of the machine's encoder in a turn. */
long lb_controller_counts(const struct lb_encoder *encoder);

/* Where the encoder counts 0 [deg], to a thousandth where it is no whole tenth. */
struct lb_shown lb_controller_offset(const struct lb_encoder *encoder);

/* The speed [rad/s] of a row, its own or the table's; 0: none. */
double lb_controller_speed(const struct lb_controller *controller,
                           const struct lb_schedule_row *row);

/* Whether the table says when to switch: it has speeds and the valves have delays. */
bool lb_controller_shows_switching(const struct lb_controller *controller);

/* How far ahead of an event its valve is switched at the speed of a row [rad]. */
double lb_controller_lead(const struct lb_controller *controller, const struct lb_schedule_row *row,
                          enum lb_end end, enum lb_varied event);

/* The greatest speed [rad/s] at which any row can be followed; in a table by speed the greatest
 * that can be followed with the cut-off for it, past the last row with that of the last, and below
 * the first with that of the first. */
double lb_controller_greatest_of_all(const struct lb_controller *controller);

#endif
