/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of a switch disc, and its table. The mark of the cap-end dead centre is up; what
 * passes the switches later lies further back against the direction of rotation.
 *
 * Of a track the part that switches on is outlined and shaded; through the rest goes a broken line
 * at its middle, on which arc lengths and chords are measured.
 */
#include "paper/sheet_disc.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/label.h"
#include "paper/sheet_disc_tracks.h"
#include "paper/sheet_grid.h"
#include "paper/text.h"
#include "stroke/timing.h"

#include <math.h>

static const char title[] = "Switch disc";

static const double turn = 2 * LB_PI, millisecond = 1e-3; /* [rad], [s] */

static const struct lb_point centre = {0, 0};

/* What the template is drawn from. */
struct disc {
  const struct lb_sheet *sheet;
  const struct lb_machine *machine;
  struct lb_disc_track track[LB_DISC_TRACKS_MOST];
  int tracks;
};

/* Lines to the labels belong to them: they are no part of the disc. */
static const struct lb_pen label_pen = {.layer = LB_LAYER_TEXT, .width = 0.13};

/* Names of the tracks on the disc, from the outermost inwards. */
static char letter_of(int track) {
  return (char)('A' + track);
}

static double rim(const struct disc *disc) {
  return disc->machine->switch_disc.outer_diameter / 2 / LB_MILLIMETRE;
}

/* Direction on the template of what lies at a place, see paper/sheet_disc_tracks.h. */
static double direction(const struct disc *disc, double place) {
  return lb_sheet_template_direction(disc->machine, 0, place);
}

/* The hole with its keyway at the mark, as one closed outline. */
static void draw_bore(struct lb_drawing *drawing, const struct disc *disc) {
  const struct lb_switch_disc *given = &disc->machine->switch_disc;
  double radius = given->bore / 2 / LB_MILLIMETRE, half = given->keyway_width / 2 / LB_MILLIMETRE;
  double top = radius + given->keyway_depth / LB_MILLIMETRE;
  if (!(half > 0 && given->keyway_depth > 0)) {
    lb_drawing_circle(drawing, &lb_pen_cut, centre, radius);
    return;
  }
  double foot = sqrt(fmax(radius * radius - half * half, 0)), up = atan2(foot, half);
  const struct lb_point right = {half, foot}, left = {-half, foot};
  const struct lb_point corner[] = {left, {-half, top}, {half, top}, right};
  lb_drawing_arc(drawing, &lb_pen_cut, centre, radius, LB_PI - up, turn + up);
  for (size_t i = 1; i < sizeof corner / sizeof corner[0]; i++)
    lb_drawing_line(drawing, &lb_pen_cut, corner[i - 1], corner[i]);
}

/* What is cut. */
static void draw_outline(struct lb_drawing *drawing, const struct disc *disc) {
  const struct lb_switch_disc *given = &disc->machine->switch_disc;
  double circle = given->bolt_circle / 2 / LB_MILLIMETRE;
  double hole = given->bolt_hole / 2 / LB_MILLIMETRE;
  lb_drawing_circle(drawing, &lb_pen_cut, centre, rim(disc));
  draw_bore(drawing, disc);
  for (int i = 0; i < given->bolt_count; i++) {
    double at = direction(disc, turn * i / given->bolt_count);
    lb_drawing_circle(drawing, &lb_pen_cut, lb_sheet_polar(centre, circle, at), hole);
  }
}

/* A cross to centre the paper by, within the hole. */
static void draw_cross(struct lb_drawing *drawing, const struct disc *disc) {
  double arm = 0.8 * disc->machine->switch_disc.bore / 2 / LB_MILLIMETRE;
  lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){-arm, 0}, (struct lb_point){arm, 0});
  lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){0, -arm}, (struct lb_point){0, arm});
}

/* Inner and outer edge of a track [mm]. */
static double track_edge(const struct disc *disc, int track, double outwards) {
  double half = disc->machine->switch_disc.track_width / 2;
  return (disc->track[track].radius + outwards * half) / LB_MILLIMETRE;
}

/* The end of a track's part that is on. */
static void draw_edge(struct lb_drawing *drawing, const struct disc *disc, int track,
                      double place) {
  double at = direction(disc, place);
  lb_drawing_line(drawing, &lb_pen_normal, lb_sheet_polar(centre, track_edge(disc, track, -1), at),
                  lb_sheet_polar(centre, track_edge(disc, track, 1), at));
}

static void draw_track(struct lb_drawing *drawing, const struct disc *disc, int track) {
  static const struct lb_pen broken = {.layer = LB_LAYER_MARK, .width = 0.13, .dash = 2};
  const double shade = 0.8; /* [1] */
  const struct lb_disc_track *t = &disc->track[track];
  double inner = track_edge(disc, track, -1), outer = track_edge(disc, track, 1);
  double from = direction(disc, t->on.place), to = direction(disc, t->off.place);
  lb_sheet_order(&from, &to, !disc->machine->clockwise);
  if (!disc->sheet->cutting)
    lb_drawing_sector(drawing, shade, centre, inner, outer, from, to);
  lb_drawing_arc(drawing, &lb_pen_normal, centre, inner, from, to);
  lb_drawing_arc(drawing, &lb_pen_normal, centre, outer, from, to);
  lb_drawing_arc(drawing, &broken, centre, t->radius / LB_MILLIMETRE, to, from);
  draw_edge(drawing, disc, track, t->on.place);
  draw_edge(drawing, disc, track, t->off.place);
}

/* Place of the mark that is at the pointer when an end stands at its dead centre. */
static double mark_place(const struct disc *disc, enum lb_end end) {
  return lb_timing_crank_angle(disc->machine, end, 0);
}

/* Room that a letter in a track wants [mm], in both directions. */
static const double letter_room = 1.25 * LB_LETTERS_SMALL;

/* Whether no line goes through a letter in a track at a place: the marks cross all tracks, the
 * lines to labels those further out than their own. */
static bool is_clear(const struct disc *disc, int track, double place) {
  double line[LB_ENDS + 2 * LB_DISC_TRACKS_MOST] = {0};
  int lines = 1;
  if (disc->machine->works[LB_ROD_END])
    line[lines++] = mark_place(disc, LB_ROD_END);
  for (int i = track; i < disc->tracks; i++) {
    line[lines++] = disc->track[i].on.place;
    line[lines++] = disc->track[i].off.place;
  }
  for (int i = 0; i < lines; i++) {
    double away =
        fabs(remainder(place - line[i], turn)) * disc->track[track].radius / LB_MILLIMETRE;
    if (away < letter_room / 2)
      return false;
  }
  return true;
}

/* Where a track's letter stands: in the part that is on, near its middle, off lines and well apart
 * from the letters that stand already. Returns false when it has no room.
 * taken  taken[letters] */
static bool place_letter(struct lb_point *place, const struct disc *disc, int track,
                         const struct lb_point *taken, int letters) {
  static const double share[] = {0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8};
  const struct lb_disc_track *t = &disc->track[track];
  if (disc->machine->switch_disc.track_width / LB_MILLIMETRE < letter_room)
    return false;
  for (size_t i = 0; i < sizeof share / sizeof share[0]; i++) {
    double at = t->on.place + share[i] * t->window;
    bool fits = is_clear(disc, track, at);
    *place = lb_sheet_polar(centre, t->radius / LB_MILLIMETRE, direction(disc, at));
    for (int j = 0; j < letters; j++)
      fits = fits && hypot(place->x - taken[j].x, place->y - taken[j].y) >= 2 * letter_room;
    if (fits)
      return true;
  }
  return false;
}

/* Each track's letter; one without room is left to the labels outside. */
static void draw_letters(struct lb_drawing *drawing, const struct disc *disc) {
  const struct lb_lettering lettering = {
      .size = LB_LETTERS_SMALL, .align = LB_ALIGN_MIDDLE, .bold = true};
  struct lb_point taken[LB_DISC_TRACKS_MOST];
  int letters = 0;
  for (int i = 0; i < disc->tracks; i++) {
    const char letter[] = {letter_of(i), '\0'};
    if (place_letter(&taken[letters], disc, i, taken, letters))
      lb_drawing_text(drawing, &lettering, taken[letters++], letter);
  }
}

/* Radius from which outwards the disc is free up to the tracks: beyond hole, keyway and bolts. */
static double hub(const struct disc *disc) {
  const struct lb_switch_disc *given = &disc->machine->switch_disc;
  double hole = hypot(given->bore / 2 + given->keyway_depth, given->keyway_width / 2);
  double bolts = given->bolt_count > 0 ? (given->bolt_circle + given->bolt_hole) / 2 : 0;
  return fmax(hole, bolts) / LB_MILLIMETRE;
}

/* The arrow of rotation, in the middle of the widest ring without holes and tracks. */
static void draw_arrow(struct lb_drawing *drawing, const struct disc *disc) {
  const double head = 4, begin = 150 * LB_DEGREE, length = 50 * LB_DEGREE; /* [mm], [rad] */
  double inner = hub(disc), inmost = track_edge(disc, disc->tracks - 1, -1);
  double outmost = track_edge(disc, 0, 1), radius = (inner + inmost) / 2;
  if (rim(disc) - outmost > inmost - inner)
    radius = (rim(disc) + outmost) / 2;
  double from = direction(disc, begin), to = direction(disc, begin - length);
  double ahead = to + (disc->machine->clockwise ? -LB_PI / 2 : LB_PI / 2);
  struct lb_point tip = lb_sheet_polar(centre, radius, to);
  lb_sheet_order(&from, &to, disc->machine->clockwise);
  lb_drawing_arc(drawing, &lb_pen_normal, centre, radius, from, to);
  lb_drawing_arrow(drawing, &lb_pen_normal, tip, ahead, fmin(head, radius / 2));
}

/* The marks of the dead centres go through the tracks to the edge. */
static void draw_mark(struct lb_drawing *drawing, const struct disc *disc, enum lb_end end) {
  const struct lb_pen *pen = end == LB_CAP_END ? &lb_pen_normal : &lb_pen_dashed;
  double at = direction(disc, mark_place(disc, end));
  lb_drawing_line(drawing, pen, lb_sheet_polar(centre, hub(disc), at),
                  lb_sheet_polar(centre, rim(disc), at));
}

/* A label beyond the edge, and how far from the centre the line to it begins. */
struct note {
  char text[40];
  double place, from; /* [rad], [mm] */
};

enum {
  NOTES_MOST = LB_ENDS + 2 * LB_DISC_TRACKS_MOST
};

/* What there is to say around the disc. Returns how much. */
static size_t collect_notes(struct note *note, const struct disc *disc) {
  size_t notes = 0;
  note[notes++] = (struct note){"cap-end dead centre", 0, rim(disc)};
  if (disc->machine->works[LB_ROD_END])
    note[notes++] = (struct note){"rod-end dead centre", mark_place(disc, LB_ROD_END), rim(disc)};
  for (int i = 0; i < disc->tracks; i++)
    for (int edge = 0; edge < 2; edge++) {
      double place = edge ? disc->track[i].off.place : disc->track[i].on.place;
      struct note *new = &note[notes++];
      *new = (struct note){.place = place, .from = track_edge(disc, i, 1)};
      lb_format(new->text, sizeof new->text, "%c %s %.12s\302\260", letter_of(i),
                edge ? "off" : "on", lb_show_crank(place, 1).text);
    }
  return notes;
}

static void draw_notes(struct lb_drawing *drawing, const struct disc *disc) {
  const double off = 4, spare = 60, gap = 0.6, height = 1.25;
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_MIDDLE};
  const struct lb_label_ring ring = {.radius = rim(disc) + off, .spare = spare, .gap = gap};
  /* letters keep their size where a correction draws the disc smaller */
  const double *measured = disc->sheet->measured;
  double grown = fmax(fmax(measured[0], measured[1]) / LB_SHEET_BAR, 1);
  struct note note[NOTES_MOST];
  struct lb_label label[NOTES_MOST];
  size_t notes = collect_notes(note, disc);
  for (size_t i = 0; i < notes; i++)
    label[i] = (struct lb_label){.direction = direction(disc, note[i].place),
                                 .width = grown * lb_drawing_text_width(&lettering, note[i].text),
                                 .height = grown * height * LB_LETTERS_SMALL};
  lb_label_place(label, notes, &ring);
  for (size_t i = 0; i < notes; i++) {
    struct lb_point edge = lb_sheet_polar(centre, rim(disc), label[i].direction);
    struct lb_point begin = lb_sheet_polar(centre, note[i].from, label[i].direction);
    if (note[i].from < rim(disc))
      lb_drawing_line(drawing, &label_pen, begin, edge);
    struct lb_point leader[LB_LABEL_LEADER_MOST];
    size_t points = lb_label_leader(leader, &label[i], rim(disc));
    lb_drawing_polyline(drawing, &label_pen, leader, points, false);
    lb_drawing_text(drawing, &lettering, label[i].at, note[i].text);
  }
}

static void draw_disc(struct lb_drawing *drawing, const void *context) {
  const struct disc *disc = context;
  for (int i = 0; i < disc->tracks; i++)
    draw_track(drawing, disc, i);
  draw_mark(drawing, disc, LB_CAP_END);
  if (disc->machine->works[LB_ROD_END])
    draw_mark(drawing, disc, LB_ROD_END);
  draw_outline(drawing, disc);
  draw_cross(drawing, disc);
  draw_arrow(drawing, disc);
  draw_letters(drawing, disc);
  draw_notes(drawing, disc);
}

/* "9 ms = 6.5 deg" */
static void add_delay(struct lb_text *text, const char *what, double delay, double speed) {
  lb_text_add(text, "%s %.4g ms = %.1f deg", what, delay / millisecond, delay * speed / LB_DEGREE);
}

/* What the tracks make up for. */
static void add_compensation(struct lb_text *text, const struct disc *disc) {
  const struct lb_valve_delay *delay = disc->machine->valve_delay;
  const struct lb_valve_delay *inlet = &delay[LB_INLET_VALVE], *exhaust = &delay[LB_EXHAUST_VALVE];
  double speed = disc->machine->switch_disc.compensated_speed;
  bool same = inlet->on == exhaust->on && inlet->off == exhaust->off;
  if (!(speed > 0 && inlet->on + inlet->off + exhaust->on + exhaust->off > 0)) {
    lb_text_add(text, "Not compensated for delays of the valves.\n");
    return;
  }
  lb_text_add(text, "Compensated for %.4g rpm: ", speed / LB_RPM);
  for (int valve = 0; valve < (same ? 1 : LB_VALVES); valve++) {
    lb_text_add(text, "%s", same ? "" : valve == LB_INLET_VALVE ? "inlet " : "; exhaust ");
    add_delay(text, "on", delay[valve].on, speed);
    add_delay(text, ", off", delay[valve].off, speed);
  }
  lb_text_add(text, "; right at this speed only.\n");
  for (int end = 0; end < LB_ENDS; end++)
    if (disc->machine->works[end] && disc->machine->timing[end].angles_are_switching)
      lb_text_add(text, "The file gives the angles of the %s as those of switching: they stay.\n",
                  lb_page_end((enum lb_end)end));
}

/* Where the switches of a cylinder stand [deg] from the pointer in the direction of rotation: as
 * much further as it passes its dead centre later. */
static struct lb_shown switch_degrees(const struct disc *disc, int cylinder) {
  return lb_show_crank(
      disc->machine->switch_disc.switch_offset + disc->machine->crank_angle[cylinder], 1);
}

static void add_switches(struct lb_text *text, const struct disc *disc) {
  const int cylinders = disc->machine->cylinders;
  if (cylinders > 1)
    lb_text_add(text, "One disc serves all cylinders, each with switches of its own. ");
  lb_text_add(text, "From the pointer of dead centre, in the direction of rotation, the switches "
                    "stand at ");
  for (int i = 0; i < cylinders; i++)
    lb_text_add(text, "%s%s", i ? ", " : "", switch_degrees(disc, i).text);
  lb_text_add(text, " deg%s.\n", cylinders > 1 ? ", in the order of the cylinders" : "");
}

/* What stands below the template. */
static void add_legend(struct lb_text *text, const struct disc *disc) {
  const struct lb_switch_disc *given = &disc->machine->switch_disc;
  bool keyed = given->keyway_width > 0 && given->keyway_depth > 0, bolted = given->bolt_count > 0;
  lb_text_add(text, "Tracks: ");
  for (int i = 0; i < disc->tracks; i++)
    lb_text_add(text, "%s%c %s", i ? "; " : "", letter_of(i), lb_disc_track_name(&disc->track[i]));
  lb_text_add(text,
              ". A valve is switched on while the outlined part of its track passes its switch; "
              "broken lines are the middles of the tracks.\n"
              "Turns %s (arrow), seen from the side the chart is mounted on. Degrees count from "
              "the mark of the cap-end dead centre against the rotation.\n",
              disc->machine->clockwise ? "clockwise" : "anticlockwise");
  add_switches(text, disc);
  add_compensation(text, disc);
  if (keyed || bolted)
    lb_text_add(text, "%s%s%s at the cap-end mark.\n", keyed ? "The keyway" : "",
                keyed && bolted ? " and the first bolt hole are"
                : keyed         ? " is"
                                : "",
                keyed || !bolted ? "" : "The first bolt hole is");
}

static void draw_template(struct lb_drawing *drawing, const struct disc *disc) {
  struct lb_template template = {.title = title, .draw = draw_disc, .context = disc};
  struct lb_text legend = {0};
  add_legend(&legend, disc);
  drawing->failed |= legend.failed;
  template.note = legend.bytes;
  lb_sheet_measure(drawing, &template);
  lb_sheet_template(drawing, disc->sheet, &template);
  lb_text_free(&legend);
}

/* Draw a table as wide as `share[columns]` says of the box. */
static struct lb_box draw_grid(struct lb_drawing *drawing, struct lb_box box,
                               const struct lb_grid *grid, const double *share) {
  const double below = 5; /* [mm] */
  box = lb_grid_draw(drawing, box, LB_LETTERS_NORMAL, grid, share, box.right - box.left);
  box.top -= below;
  return box;
}

/* A row for an end of a track. Dividers go from the mark the shorter way. */
static void add_edge_row(struct lb_grid *grid, const struct disc *disc, int track,
                         const struct lb_disc_edge *edge) {
  const double radius = disc->track[track].radius;
  bool back = edge->place <= LB_PI;
  double way = back ? edge->place : turn - edge->place;
  lb_grid_add(grid, "%c %s", letter_of(track), lb_disc_track_name(&disc->track[track]));
  lb_grid_add(grid, "%s: %s", edge == &disc->track[track].on ? "on" : "off",
              lb_timing_event_name(edge->event));
  lb_grid_add(grid, "%s", lb_show_number(edge->angle / LB_DEGREE, 1).text);
  lb_grid_add(grid, "%s", lb_show_number(edge->lead / LB_DEGREE, 1).text);
  lb_grid_add(grid, "%s", lb_show_crank(edge->place, 1).text);
  lb_grid_add(grid, "%.1f %s", way / LB_DEGREE, back ? "back" : "ahead");
  lb_grid_add(grid, "%s", lb_disc_length(disc->sheet, radius * way).text);
  lb_grid_add(grid, "%s", lb_disc_length(disc->sheet, 2 * radius * sin(way / 2)).text);
}

static struct lb_box draw_edges(struct lb_drawing *drawing, const struct disc *disc,
                                struct lb_box box) {
  static const double share[] = {0.17, 0.19, 0.12, 0.10, 0.10, 0.12, 0.10, 0.10};
  struct lb_grid grid = {.columns = sizeof share / sizeof share[0]};
  lb_grid_add(&grid, "track");
  lb_grid_add(&grid, "switched");
  lb_grid_add(&grid, "event after\nown dead\ncentre [deg]");
  lb_grid_add(&grid, "switched\nahead by\n[deg]");
  lb_grid_add(&grid, "on the\ndisc [deg]");
  lb_grid_add(&grid, "from the\nmark the\nshorter way\n[deg]");
  lb_grid_add(&grid, "arc");
  lb_grid_add(&grid, "chord");
  for (int i = 0; i < disc->tracks; i++) {
    add_edge_row(&grid, disc, i, &disc->track[i].on);
    add_edge_row(&grid, disc, i, &disc->track[i].off);
  }
  return draw_grid(drawing, box, &grid, share);
}

static struct lb_box draw_windows(struct lb_drawing *drawing, const struct disc *disc,
                                  struct lb_box box) {
  static const double share[] = {0.22, 0.14, 0.12, 0.12, 0.12, 0.12};
  struct lb_grid grid = {.columns = sizeof share / sizeof share[0]};
  lb_grid_add(&grid, "track");
  lb_grid_add(&grid, "middle radius");
  lb_grid_add(&grid, "on [deg]");
  lb_grid_add(&grid, "on, arc");
  lb_grid_add(&grid, "off [deg]");
  lb_grid_add(&grid, "off, arc");
  for (int i = 0; i < disc->tracks; i++) {
    const struct lb_disc_track *track = &disc->track[i];
    double off = turn - track->window;
    lb_grid_add(&grid, "%c %s", letter_of(i), lb_disc_track_name(track));
    lb_grid_add(&grid, "%s", lb_disc_length(disc->sheet, track->radius).text);
    lb_grid_add(&grid, "%.1f", track->window / LB_DEGREE);
    lb_grid_add(&grid, "%s", lb_disc_length(disc->sheet, track->radius * track->window).text);
    lb_grid_add(&grid, "%.1f", off / LB_DEGREE);
    lb_grid_add(&grid, "%s", lb_disc_length(disc->sheet, track->radius * off).text);
  }
  return draw_grid(drawing, box, &grid, share);
}

static struct lb_box draw_switches(struct lb_drawing *drawing, const struct disc *disc,
                                   struct lb_box box) {
  static const double share[] = {0.15, 0.35};
  struct lb_grid grid = {.columns = sizeof share / sizeof share[0]};
  lb_grid_add(&grid, "cylinder");
  lb_grid_add(&grid, "switches, from the pointer [deg]");
  for (int i = 0; i < disc->machine->cylinders; i++) {
    lb_grid_add(&grid, "%d", i + 1);
    lb_grid_add(&grid, "%s", switch_degrees(disc, i).text);
  }
  return draw_grid(drawing, box, &grid, share);
}

/* What to set dividers to. */
static void draw_table(struct lb_drawing *drawing, const struct disc *disc) {
  struct lb_box box = lb_sheet_begin(drawing, disc->sheet, "Switch disc, table");
  struct lb_text text = {0};
  add_compensation(&text, disc);
  lb_text_add(&text,
              "On the disc, degrees count from the mark of the cap-end dead centre against the "
              "rotation (back); ahead is with it. Arcs and chords from the mark, the shorter way, "
              "on the middle of the track.");
  drawing->failed |= text.failed;
  if (!text.failed)
    box = lb_sheet_write(drawing, box, LB_LETTERS_NORMAL, text.bytes);
  lb_text_free(&text);
  box.top -= 2;
  box = draw_edges(drawing, disc, box);
  box = draw_windows(drawing, disc, box);
  draw_switches(drawing, disc, box);
}

enum lb_status lb_sheet_disc(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             struct lb_error *error) {
  struct disc disc = {.sheet = sheet, .machine = sheet->paper->machine};
  enum lb_status status = lb_disc_tracks(disc.track, &disc.tracks, sheet, error);
  if (status != LB_OK)
    return status;
  draw_template(drawing, &disc);
  if (!sheet->cutting)
    draw_table(drawing, &disc);
  return lb_drawing_status(drawing, error);
}
