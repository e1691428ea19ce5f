/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the tracks of a switch disc begin and end, and whether switches and valves can follow them.
 *
 * A track works one valve: it switches on when the valve is to open and off when it is to shut. The
 * switch stands fixed, `offset` from the pointer in the direction of rotation; with the mark at the
 * pointer at crank angle 0, what is at the switch at a crank angle lies
 *
 *   place = crank angle - offset
 *
 * from the mark, against the direction of rotation. Part of the sheet of the disc.
 */
#ifndef LASTBAR_PAPER_SHEET_DISC_TRACKS_H
#define LASTBAR_PAPER_SHEET_DISC_TRACKS_H

#include "paper/sheet.h"

enum {
  LB_DISC_TRACKS_MOST = LB_ENDS * LB_VALVES
};

/* An end of a track. */
struct lb_disc_edge {
  enum lb_varied event;
  double angle; /* [rad] of the event, after the end's own dead centre */
  double lead;  /* [rad] by which the edge is ahead of the event */
  double crank; /* [rad] crank angle at which the edge passes the switch, from the first cylinder's
                   cap-end dead centre; any turn */
  double place; /* [rad] of the edge, as above, 0 ... less than 2 pi */
};

struct lb_disc_track {
  enum lb_end end;
  enum lb_valve valve;
  double radius;               /* [m] of its middle */
  struct lb_disc_edge on, off; /* off.crank > on.crank */
  double window;               /* [rad] off.crank - on.crank: as long as it is on */
};

/* "cap end, inlet". */
const char *lb_disc_track_name(const struct lb_disc_track *track);

/* A length [m] to a tenth of a millimetre, or a thousandth of an inch: "54.0 mm", "2.126 in".
 */
struct lb_shown lb_disc_length(const struct lb_sheet *sheet, double length);

/* The tracks from the outermost inwards. With a compensated speed every edge is ahead of its event
 * by what its valve is late at that speed, but for angles of the file that are those of switching.
 * track  out: track[LB_DISC_TRACKS_MOST]; unchanged on failure
 * count  out: 1 ... LB_DISC_TRACKS_MOST
 * Fails (LB_NO_ANSWER) when a track is on or off for less than its switch can tell, or its valve
 * could not follow at the compensated speed; the text says which and what would do. */
enum lb_status lb_disc_tracks(struct lb_disc_track *track, int *count, const struct lb_sheet *sheet,
                              struct lb_error *error);

#endif
