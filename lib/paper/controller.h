/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table for a controller that lets the cut-off follow the supply pressure, or the speed: as a
 * note to read, as CSV and JSON, and as a C header to compile into the controller.
 *
 * A row has the cut-off of each worked end in every measure a controller may count in: degrees,
 * shares of the stroke and of the turn, counts of the encoder on the crankshaft, time. With a
 * speed, for the whole table or its own, it also says when to switch the valves so that they act as
 * the machine wants, delay before event, and up to which speed they can.
 */
#ifndef LASTBAR_PAPER_CONTROLLER_H
#define LASTBAR_PAPER_CONTROLLER_H

#include "decide/schedule.h"
#include "decide/speed_schedule.h"
#include "machine/check.h"
#include "stroke/timing.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What the table is made of. Everything is borrowed. */
struct lb_controller {
  const struct lb_machine *machine;
  const struct lb_schedule *schedule;     /* of that machine */
  const struct lb_speed_schedule *speeds; /* the table is one by speed, and the schedule was made
                                             of this; else NULL */
  enum lb_rule rule;                      /* by which it was found */
  double margin;                          /* [Pa] likewise */
  double speed;                           /* [rad/s] of the crank; 0: none, or by speed */
  bool inch;                              /* the note in inch units */
  const char *file;                       /* name of the machine file [UTF-8] */
  uint32_t checksum;                      /* of its bytes */
  const char *changes;                    /* what the command line changed of it, "" for nothing */
  const struct lb_warning *warning;       /* warning[warnings] */
  size_t warnings;
};

/* The rows of a table by speed, as the functions below take them. */
void lb_controller_speed_rows(struct lb_schedule *schedule, const struct lb_speed_schedule *speeds,
                              const struct lb_machine *machine);

/* An angle as a count of the machine's encoder. */
struct lb_controller_count {
  long count;      /* 0 ... counts in a turn - 1 */
  double rounding; /* [rad] crank angle of that count less the angle */
};

/* The count at a crank angle [rad]; the machine must have an encoder. */
struct lb_controller_count lb_controller_count(const struct lb_machine *machine,
                                               double crank_angle);

/* Angle [rad] after its end's own dead centre at which a valve is switched for an event at the
 * speed of the table or the row. */
double lb_controller_switch(const struct lb_controller *controller,
                            const struct lb_schedule_row *row, enum lb_end end,
                            enum lb_varied event);

/* The greatest speed [rad/s] at which all valves can follow a row (lb_timing_greatest_speed, where
 * angles of switching move the events with the speed); infinite without delays. */
double lb_controller_greatest_speed(const struct lb_controller *controller,
                                    const struct lb_schedule_row *row);

/* Whether any row can be followed at the speed of the table, or at its own.
 * Fails (LB_NO_ANSWER) when none can; the text says which speed would do. */
enum lb_status lb_controller_test(const struct lb_controller *controller, struct lb_error *error);

/* The table in words, lines of at most 79 columns as long as names are of usual length.
 * text  out: [UTF-8] to be released with free; unchanged on failure
 * Fails with LB_NO_MEMORY. */
enum lb_status lb_controller_text(char **text, const struct lb_controller *controller,
                                  struct lb_error *error);

/* One JSON object, and CSV with a row for each pressure, or speed, and worked end. Fail with
 * LB_NO_MEMORY and, when a name is not UTF-8, LB_BAD_INPUT. */
enum lb_status lb_controller_json(char **json, const struct lb_controller *controller,
                                  struct lb_error *error);
enum lb_status lb_controller_csv(char **csv, const struct lb_controller *controller,
                                 struct lb_error *error);

/* Whether a text can begin the names of a C header: a letter, then letters, digits and
 * underscores, at most 31 in all. */
bool lb_controller_prefix_fits(const char *prefix);

/* The rows of a C header: as lb_schedule_find, but on pressures that 16 bit hold exactly (whole
 * mbar absolute, or tens of them where the range goes beyond 65 bar), so that no rounding of theirs
 * adds to the error of interpolation and no two become one.
 *
 * question  its unit is not read */
enum lb_status lb_controller_schedule(struct lb_schedule *schedule,
                                      const struct lb_machine *machine,
                                      const struct lb_schedule_question *question,
                                      struct lb_error *error);

/* A C header of its own: constant arrays of 16 bit, their length, units and the checksum in
 * comments; C99 or later, or C++.
 * controller  its rows are from lb_controller_schedule, or those of a table by speed
 * prefix      begins every name in it, see above
 *
 * Fails with LB_NO_MEMORY, and (LB_NO_ANSWER) when a value does not fit 16 bit or a speed is no
 * whole tenth of 1 rpm. */
enum lb_status lb_controller_code(char **code, const struct lb_controller *controller,
                                  const char *prefix, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
