/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tracks from the timing drawn.
 */
#include "paper/sheet_disc_tracks.h"

#include "base/constants.h"
#include "base/format.h"
#include "stroke/timing.h"

#include <math.h>

static const double turn = 2 * LB_PI; /* [rad] */

/* Lengths that are equal but for a rounding [m]. */
static const double length_slack = 1e-9;

const char *lb_disc_track_name(const struct lb_disc_track *track) {
  static const char *const names[LB_ENDS][LB_VALVES] = {
      [LB_CAP_END] = {[LB_INLET_VALVE] = "cap end, inlet", [LB_EXHAUST_VALVE] = "cap end, exhaust"},
      [LB_ROD_END] = {
          [LB_INLET_VALVE] = "rod end, inlet", [LB_EXHAUST_VALVE] = "rod end, exhaust"}};
  return names[track->end][track->valve];
}

/* Steps to which lengths are rounded [m], as above. */
static double length_step(const struct lb_sheet *sheet) {
  return sheet->inch ? 0.001 * LB_INCH : 1e-4;
}

struct lb_shown lb_disc_length(const struct lb_sheet *sheet, double length) {
  const struct lb_style style = lb_sheet_style(sheet);
  const int decimals = sheet->inch ? 3 : 1;
  struct lb_shown shown;
  double value = lb_show_value(&style, LB_SHOW_LENGTH, length);
  lb_format(shown.text, sizeof shown.text, "%.60s %s", lb_show_number(value, decimals).text,
            lb_show_unit(&style, LB_SHOW_LENGTH));
  return shown;
}

/* An angle without whole turns [rad]: 0 ... less than 2 pi. */
static double without_turns(double angle) {
  double rest = fmod(angle, turn);
  if (rest < 0)
    rest += turn;
  return rest < turn ? rest : 0;
}

static struct lb_disc_edge find_edge(const struct lb_sheet *sheet, enum lb_end end,
                                     enum lb_varied event) {
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_switch_disc *disc = &machine->switch_disc;
  struct lb_disc_edge edge = {.event = event};
  edge.angle = lb_timing_event(machine, end, event, lb_sheet_cutoff(sheet)[end]);
  bool found = sheet->paper->rule != LB_AS_TIMED || !machine->timing[end].cutoff_given;
  edge.lead = lb_timing_lead(machine, end, event, found, disc->compensated_speed);
  edge.crank = lb_linkage_dead_centre(&machine->linkage, end) + edge.angle - edge.lead;
  edge.place = without_turns(edge.crank - disc->switch_offset);
  return edge;
}

static struct lb_disc_track find_track(const struct lb_sheet *sheet, enum lb_end end,
                                       enum lb_valve valve) {
  bool inlet = valve == LB_INLET_VALVE;
  struct lb_disc_track track = {.end = end, .valve = valve};
  track.on = find_edge(sheet, end, inlet ? LB_VARIED_INLET_OPENS : LB_VARIED_RELEASE);
  track.off = find_edge(sheet, end, inlet ? LB_VARIED_CUTOFF : LB_VARIED_EXHAUST_CLOSES);
  track.window = track.off.crank - track.on.crank;
  return track;
}

/* Refuse a track whose valve could not follow it at the compensated speed. Of angles that are those
 * of switching nothing is known about the valve. */
static enum lb_status test_speed(const struct lb_sheet *sheet, const struct lb_disc_track *track,
                                 struct lb_error *error) {
  const struct lb_machine *machine = sheet->paper->machine;
  double speed = machine->switch_disc.compensated_speed;
  double window = track->off.angle - track->on.angle;
  double greatest = lb_timing_greatest_speed(machine, track->valve, window);
  if (machine->timing[track->end].angles_are_switching || speed <= greatest)
    return LB_OK;
  bool opens = window >= speed * machine->valve_delay[track->valve].off;
  return lb_error_set(error, LB_NO_ANSWER,
                      "%s: at the compensated speed of %.4g rpm the valve would be switched %s; "
                      "its delays allow %.1f rpm at most",
                      lb_disc_track_name(track), speed / LB_RPM,
                      opens ? "on again before it has shut" : "off before it has begun to open",
                      floor(greatest / LB_RPM * 10) / 10);
}

/* Refuse a track that is on or off for less than its switch can tell.
 * index  of the track, counted from the outermost */
static enum lb_status test_length(const struct lb_sheet *sheet, const struct lb_disc_track *track,
                                  int index, struct lb_error *error) {
  const struct lb_switch_disc *disc = &sheet->paper->machine->switch_disc;
  bool on = track->window <= LB_PI;
  double least_window = on ? track->window : turn - track->window;
  double length = track->radius * least_window, least = disc->least_arc;
  if (least_window > 0 && length >= least - length_slack)
    return LB_OK;
  if (!(least_window > 0) && disc->compensated_speed > 0)
    return lb_error_set(error, LB_NO_ANSWER,
                        "%s: at the compensated speed of %.4g rpm it would be switched off before "
                        "it is switched on; a lower compensated speed would do",
                        lb_disc_track_name(track), disc->compensated_speed / LB_RPM);
  if (!(least_window > 0))
    return lb_error_set(error, LB_NO_ANSWER,
                        "%s: the valve shuts at the angle at which it opens, so its track would "
                        "never be on; a later angle of shutting would do",
                        lb_disc_track_name(track));
  double radius = least / least_window + index * disc->track_spacing, step = length_step(sheet);
  return lb_error_set(
      error, LB_NO_ANSWER,
      "%s: the track is %s over %s only (%.1f deg at a radius of %s), and its switch tells %s or "
      "more; a track radius of %s on a disc to match would do, or a switch with a least arc of %s",
      lb_disc_track_name(track), on ? "on" : "off", lb_disc_length(sheet, length).text,
      least_window / LB_DEGREE, lb_disc_length(sheet, track->radius).text,
      lb_disc_length(sheet, least).text,
      lb_disc_length(sheet, ceil((radius - length_slack) / step) * step).text,
      lb_disc_length(sheet, floor(length / step) * step).text);
}

enum lb_status lb_disc_tracks(struct lb_disc_track *track, int *count, const struct lb_sheet *sheet,
                              struct lb_error *error) {
  const struct lb_machine *machine = sheet->paper->machine;
  struct lb_disc_track found[LB_DISC_TRACKS_MOST];
  int tracks = 0;
  for (int i = 0; i < LB_DISC_TRACKS_MOST; i++) {
    enum lb_end end = (enum lb_end)(i / LB_VALVES);
    if (!machine->works[end])
      continue;
    struct lb_disc_track *new = &found[tracks];
    *new = find_track(sheet, end, (enum lb_valve)(i % LB_VALVES));
    new->radius = machine->switch_disc.track_radius - tracks * machine->switch_disc.track_spacing;
    enum lb_status status = test_speed(sheet, new, error);
    if (status == LB_OK)
      status = test_length(sheet, new, tracks, error);
    if (status != LB_OK)
      return status;
    tracks++;
  }
  for (int i = 0; i < tracks; i++)
    track[i] = found[i];
  *count = tracks;
  return LB_OK;
}
