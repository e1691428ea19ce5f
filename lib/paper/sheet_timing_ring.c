/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rings, scale and labels. All measures follow from the size of the letters, but for the radius,
 * which is the greatest that leaves the labels their room.
 */
#include "paper/sheet_timing_ring.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/drawing_letters.h"

#include <math.h>
#include <string.h>

static const double turn = 2 * LB_PI;
static const double upright = LB_PI / 2; /* direction up the page [rad] */

enum {
  OUTSIDE,
  INSIDE
};

/* Measures as multiples of the letters' size [1]. */
static const double one_ring_width = 3.2, two_ring_width = 2.5; /* of one ring, of each of two */
static const double scale_width = 2.4;
static const double beyond = 0.5;     /* a line goes on straight beyond its ring */
static const double triangle = 1.1;   /* mark of a dead centre */
static const double label_off = 1.4;  /* from the ring to the labels */
static const double line_pitch = 1.2; /* from one line of a label to the next */
static const double label_gap = 0.25; /* between labels */
static const double label_side = 0.2; /* blank left and right of a label's lines */

/* Steps in which the radius is tried [mm]. */
static const double radius_step = 0.5;

/* How much wider the circle of labels may become [mm]. */
static const double spare_outside = 12, spare_inside = 6;

/* Phases shorter than this are none [rad]; those of a shorter arc than this [mm] lie all but hidden
 * between the lines of the events at their ends, and are not lettered. */
static const double no_phase = 1e-9, least_seen = 1;

/* How a phase is told: by its letter and name, shade, and up to two hatchings. */
struct look {
  const char *letter, *name;
  double shade;
  int hatchings;
  double angle[2], spacing; /* [rad], [mm] */
};

static const struct look looks[LB_RING_PHASES] = {
    {"A", "admission", 0.72, 2, {45 * LB_DEGREE, 135 * LB_DEGREE}, 1.6},
    {"B", "expansion", 0.88, 1, {45 * LB_DEGREE}, 2.0},
    {"C", "exhaust", 1.0, 0, {0}, 0},
    {"D", "compression", 0.80, 1, {135 * LB_DEGREE}, 1.0}};

/* The angle after the end's own dead centre at which a phase begins. */
static double own_angle(const struct lb_sheet *sheet, enum lb_end end, int phase) {
  double cutoff = lb_sheet_cutoff(sheet)[end];
  double event =
      lb_timing_event(sheet->paper->machine, end, (enum lb_varied)(phase % LB_RING_PHASES), cutoff);
  return event + (phase == LB_RING_PHASES ? turn : 0);
}

double lb_ring_crank(const struct lb_sheet *sheet, enum lb_end end, int phase) {
  return lb_linkage_dead_centre(&sheet->paper->machine->linkage, end) +
         own_angle(sheet, end, phase);
}

static double phase_span(const struct lb_sheet *sheet, enum lb_end end, int phase) {
  return own_angle(sheet, end, phase + 1) - own_angle(sheet, end, phase);
}

static double phase_middle(const struct lb_sheet *sheet, enum lb_end end, int phase) {
  return (lb_ring_crank(sheet, end, phase) + lb_ring_crank(sheet, end, phase + 1)) / 2;
}

static int longest_phase(const struct lb_sheet *sheet, enum lb_end end) {
  int longest = 0;
  for (int phase = 1; phase < LB_RING_PHASES; phase++)
    if (phase_span(sheet, end, phase) > phase_span(sheet, end, longest))
      longest = phase;
  return longest;
}

/* The side on which an end's labels stand. */
static int side_of(const struct lb_machine *machine, enum lb_end end) {
  return end == LB_ROD_END && machine->works[LB_CAP_END] ? INSIDE : OUTSIDE;
}

/* A text that stands along a ring: where, and how much of the ring it takes. */
struct seat {
  char text[64];
  double radius; /* [mm] of its middle */
  double half;   /* [rad] half the angle it takes */
};

/* Whether a text fits a phase of a ring, and where. */
static bool fits(struct seat *seat, const struct lb_ring *ring, enum lb_end end, double span) {
  const struct lb_lettering lettering = {.size = ring->letters};
  const double margin = 0.15 * ring->letters;
  double half_width = lb_drawing_text_width(&lettering, seat->text) / 2;
  double half_height = (LB_LETTER_CAPITAL / 2 + LB_LETTER_LOWER) * ring->letters;
  double reach = ring->outer[end] - margin;
  if (half_width >= reach)
    return false;
  seat->radius = fmin((ring->inner[end] + ring->outer[end]) / 2,
                      sqrt(reach * reach - half_width * half_width) - half_height);
  seat->half = atan((half_width + margin) / (seat->radius - half_height));
  return seat->radius - half_height >= ring->inner[end] + margin && 2 * seat->half <= span;
}

/* The longest text that fits a phase: its letter and name, on the longest phase of a ring behind
 * the end it is of; or the letter alone. False when not even that fits. */
static bool find_seat(struct seat *seat, const struct lb_ring *ring, const struct lb_sheet *sheet,
                      enum lb_end end, int phase) {
  static const char *const ends[LB_ENDS][2] = {{"cap end: ", "cap: "}, {"rod end: ", "rod: "}};
  const struct look *look = &looks[phase];
  double span = phase_span(sheet, end, phase);
  for (int i = 0; phase == longest_phase(sheet, end) && i < 2; i++) {
    lb_format(seat->text, sizeof seat->text, "%s%s %s", ends[end][i], look->letter, look->name);
    if (fits(seat, ring, end, span))
      return true;
  }
  lb_format(seat->text, sizeof seat->text, "%s %s", look->letter, look->name);
  if (fits(seat, ring, end, span))
    return true;
  lb_format(seat->text, sizeof seat->text, "%s", look->letter);
  return fits(seat, ring, end, span);
}

/* Add a label to a side; its size is that of its lines. */
static void add_label(struct lb_ring *ring, int side, const struct lb_ring_label *text,
                      double direction) {
  const struct lb_lettering lettering = {.size = ring->letters};
  size_t at = ring->labels[side]++;
  double width = 0;
  for (int i = 0; i < text->lines; i++)
    width = fmax(width, lb_drawing_text_width(&lettering, text->line[i]));
  double height = (text->lines - 1) * line_pitch + LB_LETTER_UPPER + LB_LETTER_LOWER;
  ring->text[side][at] = *text;
  ring->label[side][at] = (struct lb_label){.direction = direction,
                                            .width = width + 2 * label_side * ring->letters,
                                            .height = height * ring->letters};
}

/* Put words in the lines of a label: each blank of `words` begins another line when it is to be
 * tall. */
static void set_words(struct lb_ring_label *text, const char *words, bool tall) {
  const char *blank = tall ? strchr(words, ' ') : NULL;
  size_t first = blank ? (size_t)(blank - words) : strlen(words);
  lb_format(text->line[text->lines++], sizeof text->line[0], "%.*s", (int)first, words);
  if (blank)
    lb_format(text->line[text->lines++], sizeof text->line[0], "%s", blank + 1);
}

/* Where the leaders of an end's labels start: at the end of the lines of events. */
static double leader_start(const struct lb_ring *ring, int side, enum lb_end end) {
  double off = beyond * ring->letters;
  return side == INSIDE ? ring->inner[end] - off : ring->outer[end] + off;
}

/* The label of an event: what it is, and its angle. Beside the diagram and within it narrow labels
 * leave the rings more room, above and below it low ones. */
static void add_event(struct lb_ring *ring, const struct lb_sheet *sheet, enum lb_end end,
                      int event) {
  const double beside = 0.6; /* least cosine of a direction to the side */
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_style style = lb_sheet_style(sheet);
  int side = side_of(machine, end);
  double direction = lb_sheet_direction(machine, lb_ring_crank(sheet, end, event));
  double angle = lb_show_value(&style, LB_SHOW_ANGLE, own_angle(sheet, end, event));
  struct lb_ring_label text = {.start = leader_start(ring, side, end)};
  bool tall = side == INSIDE || ring->brief || fabs(cos(direction)) > beside;
  if (!(ring->brief && side == INSIDE))
    set_words(&text, lb_timing_event_name((enum lb_varied)event), tall);
  lb_format(text.line[text.lines++], sizeof text.line[0], "%.12s\u00b0",
            lb_show_number(angle, 1).text);
  add_label(ring, side, &text, direction);
}

/* The letter of a phase that is too short for it. */
static void add_letter(struct lb_ring *ring, const struct lb_sheet *sheet, enum lb_end end,
                       int phase) {
  const struct lb_machine *machine = sheet->paper->machine;
  int side = side_of(machine, end);
  struct lb_ring_label text = {.start = leader_start(ring, side, end)};
  set_words(&text, looks[phase].letter, false);
  add_label(ring, side, &text, lb_sheet_direction(machine, phase_middle(sheet, end, phase)));
}

static void add_dead_centre(struct lb_ring *ring, const struct lb_sheet *sheet, enum lb_end end) {
  const struct lb_machine *machine = sheet->paper->machine;
  double direction = lb_sheet_direction(machine, lb_linkage_dead_centre(&machine->linkage, end));
  enum lb_end outermost = machine->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  struct lb_ring_label text = {.start = leader_start(ring, OUTSIDE, outermost)};
  set_words(&text, end == LB_CAP_END ? "cap-end" : "rod-end", false);
  set_words(&text, "dead centre", false);
  add_label(ring, OUTSIDE, &text, direction);
}

/* Whether a phase wants a label for its letter: it can be seen, but is too short for a text. */
static bool wants_letter(const struct lb_ring *ring, const struct lb_sheet *sheet, enum lb_end end,
                         int phase) {
  struct seat seat;
  if (ring->brief && side_of(sheet->paper->machine, end) == INSIDE)
    return false;
  return phase_span(sheet, end, phase) * ring->outer[end] > least_seen &&
         !find_seat(&seat, ring, sheet, end, phase);
}

static void add_labels(struct lb_ring *ring, const struct lb_sheet *sheet) {
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    add_dead_centre(ring, sheet, end);
    for (int phase = 0; sheet->paper->machine->works[end] && phase < LB_RING_PHASES; phase++) {
      add_event(ring, sheet, end, phase);
      if (wants_letter(ring, sheet, end, phase))
        add_letter(ring, sheet, end, phase);
    }
  }
}

/* The radii of everything for an outermost one. */
static void set_radii(struct lb_ring *ring, const struct lb_machine *machine, double outermost) {
  double letters = ring->letters, free;
  bool both = machine->works[LB_CAP_END] && machine->works[LB_ROD_END];
  enum lb_end first = machine->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  double width = (both ? two_ring_width : one_ring_width) * letters;
  ring->outer[first] = outermost;
  ring->inner[first] = ring->scale_outer = outermost - width;
  free = ring->scale_inner = ring->scale_outer - scale_width * letters;
  if (both) {
    ring->outer[LB_ROD_END] = ring->scale_inner;
    free = ring->inner[LB_ROD_END] = ring->scale_inner - width;
  }
  ring->most[OUTSIDE] = outermost + label_off * letters;
  ring->most[INSIDE] = free - label_off * letters;
}

static void take_in(struct lb_box *box, struct lb_box more) {
  box->left = fmin(box->left, more.left);
  box->bottom = fmin(box->bottom, more.bottom);
  box->right = fmax(box->right, more.right);
  box->top = fmax(box->top, more.top);
}

/* Whether the diagram fits its room with an outermost radius; it is put in the middle of it. */
static bool fit_radius(struct lb_ring *ring, const struct lb_sheet *sheet, struct lb_box box,
                       double outermost) {
  bool placed = true;
  double letters = ring->letters, mark = outermost + triangle * letters;
  *ring = (struct lb_ring){.letters = letters, .brief = ring->brief};
  set_radii(ring, sheet->paper->machine, outermost);
  add_labels(ring, sheet);
  for (int side = OUTSIDE; side <= INSIDE; side++) {
    struct lb_label_ring room = {.inside = side == INSIDE,
                                 .radius = ring->most[side],
                                 .spare = side == INSIDE ? spare_inside : spare_outside,
                                 .gap = label_gap * letters};
    if (!lb_label_place(ring->label[side], ring->labels[side], &room))
      placed = false;
  }
  struct lb_box extent = {-mark, -mark, mark, mark};
  for (size_t i = 0; i < ring->labels[OUTSIDE]; i++)
    take_in(&extent, lb_label_box(&ring->label[OUTSIDE][i]));
  ring->centre = (struct lb_point){(box.left + box.right - extent.left - extent.right) / 2,
                                   (box.bottom + box.top - extent.bottom - extent.top) / 2};
  return placed && extent.right - extent.left <= box.right - box.left &&
         extent.top - extent.bottom <= box.top - box.bottom;
}

bool lb_ring_fit(struct lb_ring *ring, const struct lb_sheet *sheet, struct lb_box box,
                 double letters) {
  const double least = 2 * (two_ring_width + scale_width) * letters;
  double most = fmin(box.right - box.left, box.top - box.bottom) / 2;
  ring->letters = letters;
  for (int brief = 0; brief < 2; brief++) {
    ring->brief = brief;
    for (double outermost = most; outermost > least; outermost -= radius_step)
      if (fit_radius(ring, sheet, box, outermost))
        return true;
  }
  return false;
}

/* A point of the diagram at a crank angle. */
static struct lb_point at_crank(const struct lb_ring *ring, const struct lb_machine *machine,
                                double radius, double crank) {
  return lb_sheet_polar(ring->centre, radius, lb_sheet_direction(machine, crank));
}

/* A line along a radius at a crank angle. */
static void draw_radius(struct lb_drawing *drawing, const struct lb_pen *pen,
                        const struct lb_ring *ring, const struct lb_machine *machine, double crank,
                        double from, double to) {
  lb_drawing_line(drawing, pen, at_crank(ring, machine, from, crank),
                  at_crank(ring, machine, to, crank));
}

/* The hatching of a ring from one crank angle to another. */
static void hatch(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                  const struct lb_ring *ring, enum lb_end end, const struct look *look, double from,
                  double to) {
  const struct lb_machine *machine = sheet->paper->machine;
  double first = lb_sheet_direction(machine, from), last = lb_sheet_direction(machine, to);
  lb_sheet_order(&first, &last, machine->clockwise);
  for (int i = 0; i < look->hatchings; i++)
    lb_drawing_hatch_sector(drawing, &lb_pen_fine, ring->centre, ring->inner[end], ring->outer[end],
                            first, last, look->angle[i], look->spacing);
}

/* A text along the circumference, the right way up. */
static void draw_along(struct lb_drawing *drawing, const struct lb_ring *ring, double radius,
                       double direction, const char *text) {
  double along = remainder(direction - upright, turn);
  if (fabs(along) > upright)
    along = remainder(along + LB_PI, turn);
  const struct lb_lettering lettering = {
      .size = ring->letters, .align = LB_ALIGN_MIDDLE, .turn = along};
  lb_drawing_text(drawing, &lettering, lb_sheet_polar(ring->centre, radius, direction), text);
}

/* A text in a phase. The ring is blank behind it. */
static void draw_seat(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                      const struct lb_ring *ring, enum lb_end end, const struct seat *seat,
                      double crank) {
  const double frame = 0.3, blank = 1; /* [mm] of the shade left around it; its own shade */
  double direction = lb_sheet_direction(sheet->paper->machine, crank);
  lb_drawing_sector(drawing, blank, ring->centre, ring->inner[end] + frame,
                    ring->outer[end] - frame, direction - seat->half, direction + seat->half);
  draw_along(drawing, ring, seat->radius, direction, seat->text);
}

static void draw_phase(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                       const struct lb_ring *ring, enum lb_end end, int phase) {
  const struct lb_machine *machine = sheet->paper->machine;
  const struct look *look = &looks[phase];
  double from = lb_ring_crank(sheet, end, phase), to = lb_ring_crank(sheet, end, phase + 1);
  double first = lb_sheet_direction(machine, from), last = lb_sheet_direction(machine, to);
  struct seat seat;
  if (phase_span(sheet, end, phase) <= no_phase)
    return;
  lb_sheet_order(&first, &last, machine->clockwise);
  lb_drawing_sector(drawing, look->shade, ring->centre, ring->inner[end], ring->outer[end], first,
                    last);
  if (!find_seat(&seat, ring, sheet, end, phase)) {
    hatch(drawing, sheet, ring, end, look, from, to);
    return;
  }
  double middle = phase_middle(sheet, end, phase);
  hatch(drawing, sheet, ring, end, look, from, middle - seat.half);
  hatch(drawing, sheet, ring, end, look, middle + seat.half, to);
}

/* The texts in the phases of a ring, over all that lies there. */
static void draw_seats(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                       const struct lb_ring *ring, enum lb_end end) {
  for (int phase = 0; phase < LB_RING_PHASES; phase++) {
    struct seat seat;
    if (find_seat(&seat, ring, sheet, end, phase))
      draw_seat(drawing, sheet, ring, end, &seat, phase_middle(sheet, end, phase));
  }
}

static void draw_end(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                     const struct lb_ring *ring, enum lb_end end) {
  const struct lb_machine *machine = sheet->paper->machine;
  double off = beyond * ring->letters, inner = ring->inner[end], outer = ring->outer[end];
  for (int phase = 0; phase < LB_RING_PHASES; phase++)
    draw_phase(drawing, sheet, ring, end, phase);
  lb_drawing_circle(drawing, &lb_pen_normal, ring->centre, inner);
  lb_drawing_circle(drawing, &lb_pen_normal, ring->centre, outer);
  bool inside = side_of(machine, end) == INSIDE;
  for (int event = 0; event < LB_EVENTS; event++)
    draw_radius(drawing, &lb_pen_heavy, ring, machine, lb_ring_crank(sheet, end, event),
                inside ? inner - off : inner, inside ? outer : outer + off);
}

/* Both dead centres: a broken line over the rings and a triangle on the outer one. */
static void draw_dead_centres(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                              const struct lb_ring *ring) {
  const struct lb_machine *machine = sheet->paper->machine;
  double outer = fmax(ring->outer[LB_CAP_END], ring->outer[LB_ROD_END]);
  for (int i = 0; i < LB_ENDS; i++) {
    double crank = lb_linkage_dead_centre(&machine->linkage, (enum lb_end)i);
    for (int end = 0; end < LB_ENDS; end++)
      if (machine->works[end])
        draw_radius(drawing, &lb_pen_dashed, ring, machine, crank, ring->inner[end],
                    ring->outer[end]);
    lb_drawing_arrow(drawing, &lb_pen_normal, at_crank(ring, machine, outer, crank),
                     lb_sheet_direction(machine, crank) + LB_PI, triangle * ring->letters);
  }
}

/* Degrees of the crank: a stroke every ten, a number every thirty. */
static void draw_scale(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                       const struct lb_ring *ring) {
  enum {
    EVERY = 10,
    NUMBERED = 30,
    TURN = 360
  };
  const struct lb_machine *machine = sheet->paper->machine;
  const double plain = 0.35 * ring->letters, numbered = 0.55 * ring->letters;
  double middle = (ring->scale_inner + ring->scale_outer) / 2;
  bool both = machine->works[LB_CAP_END] && machine->works[LB_ROD_END];
  for (int at = 0; at < TURN; at += EVERY) {
    double length = at % NUMBERED == 0 ? numbered : plain;
    char number[8];
    draw_radius(drawing, &lb_pen_fine, ring, machine, at * LB_DEGREE, ring->scale_outer - length,
                ring->scale_outer);
    if (both)
      draw_radius(drawing, &lb_pen_fine, ring, machine, at * LB_DEGREE, ring->scale_inner,
                  ring->scale_inner + length);
    lb_format(number, sizeof number, "%d", at);
    if (at % NUMBERED == 0)
      draw_along(drawing, ring, middle, lb_sheet_direction(machine, at * LB_DEGREE), number);
  }
}

/* Arrows between the numbers of the scale, the way the crank turns. */
static void draw_rotation(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                          const struct lb_ring *ring) {
  static const double starts[] = {30, 120, 210, 300}; /* [degrees] numbers that an arrow follows */
  const double between = 30 * LB_DEGREE;
  const struct lb_machine *machine = sheet->paper->machine;
  double middle = (ring->scale_inner + ring->scale_outer) / 2, head = ring->letters;
  double number = 1.5 * ring->letters / middle, tip_angle = head / middle;
  for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
    double from = starts[i] * LB_DEGREE + number, to = starts[i] * LB_DEGREE + between - number;
    double first = lb_sheet_direction(machine, from);
    double last = lb_sheet_direction(machine, to - tip_angle);
    double way = lb_sheet_direction(machine, to - tip_angle / 2 + upright);
    lb_sheet_order(&first, &last, machine->clockwise);
    lb_drawing_arc(drawing, &lb_pen_heavy, ring->centre, middle, first, last);
    lb_drawing_arrow(drawing, &lb_pen_heavy, at_crank(ring, machine, middle, to), way, head);
  }
}

/* The lines of a label: on the side of the diagram that they stand they begin or end at it. */
static void draw_lines(struct lb_drawing *drawing, const struct lb_ring *ring,
                       const struct lb_ring_label *text, const struct lb_label *label,
                       bool inside) {
  const double beside = 0.35; /* least cosine of a place to the side */
  double cosine = label->at.x / fmax(hypot(label->at.x, label->at.y), ring->letters);
  if (inside)
    cosine = -cosine;
  struct lb_box box = lb_label_box(label);
  struct lb_lettering lettering = {.size = ring->letters, .align = LB_ALIGN_BELOW};
  double x = label->at.x;
  if (cosine > beside) {
    lettering.align = LB_ALIGN_LEFT;
    x = box.left + label_side * ring->letters;
  } else if (cosine < -beside) {
    lettering.align = LB_ALIGN_RIGHT;
    x = box.right - label_side * ring->letters;
  }
  double y = box.top - LB_LETTER_UPPER * ring->letters;
  for (int i = 0; i < text->lines; i++, y -= line_pitch * ring->letters)
    lb_drawing_text(drawing, &lettering, (struct lb_point){ring->centre.x + x, ring->centre.y + y},
                    text->line[i]);
}

/* A label with the line to it. */
static void draw_label(struct lb_drawing *drawing, const struct lb_ring *ring, int side,
                       size_t at) {
  const struct lb_ring_label *text = &ring->text[side][at];
  const struct lb_label *label = &ring->label[side][at];
  struct lb_point point[LB_LABEL_LEADER_MOST];
  size_t points = lb_label_leader(point, label, text->start);
  for (size_t i = 0; i < points; i++)
    point[i] = (struct lb_point){ring->centre.x + point[i].x, ring->centre.y + point[i].y};
  lb_drawing_polyline(drawing, &lb_pen_fine, point, points, false);
  draw_lines(drawing, ring, text, label, side == INSIDE);
}

void lb_ring_draw(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                  const struct lb_ring *ring) {
  for (int end = 0; end < LB_ENDS; end++)
    if (sheet->paper->machine->works[end])
      draw_end(drawing, sheet, ring, (enum lb_end)end);
  draw_dead_centres(drawing, sheet, ring);
  for (int end = 0; end < LB_ENDS; end++)
    if (sheet->paper->machine->works[end])
      draw_seats(drawing, sheet, ring, (enum lb_end)end);
  draw_scale(drawing, sheet, ring);
  draw_rotation(drawing, sheet, ring);
  for (int side = OUTSIDE; side <= INSIDE; side++)
    for (size_t i = 0; i < ring->labels[side]; i++)
      draw_label(drawing, ring, side, i);
}

struct lb_box lb_ring_legend(struct lb_drawing *drawing, struct lb_box box, double letters) {
  const double wide = 3.2 * letters, high = 1.3 * letters, pitch = 1.7 * letters;
  const double between = 0.5 * letters;
  const struct lb_lettering lettering = {.size = letters};
  double column = (box.right - box.left) / 2;
  for (int phase = 0; phase < LB_RING_PHASES; phase++) {
    const struct look *look = &looks[phase];
    double left = box.left + (phase % 2) * column, bottom = box.top - high - phase / 2 * pitch;
    const struct lb_point corner[] = {
        {left, bottom}, {left + wide, bottom}, {left + wide, bottom + high}, {left, bottom + high}};
    char text[32];
    lb_drawing_area(drawing, look->shade, corner, 4);
    for (int i = 0; i < look->hatchings; i++)
      lb_drawing_hatch(drawing, &lb_pen_fine, corner, 4, look->angle[i], look->spacing);
    lb_drawing_polyline(drawing, &lb_pen_normal, corner, 4, true);
    lb_format(text, sizeof text, "%s %s", look->letter, look->name);
    lb_drawing_text(
        drawing, &lettering,
        (struct lb_point){left + wide + between, bottom + (high - LB_LETTER_CAPITAL * letters) / 2},
        text);
  }
  box.top -= LB_RING_PHASES / 2 * pitch;
  return box;
}
