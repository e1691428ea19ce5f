/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Templates of cams by what they do: cut out along the lines of the layer of cuts, put on the shaft
 * and turned with the crank, a cam must lift its roller as the timing says. Everything is measured
 * on the shapes, in millimetres; lifts are worked out here.
 */
#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "paper/sheet_cam.h"
#include "random_machine.h"
#include "sheet_maker.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double turn = 2 * LB_PI, degree = LB_PI / 180;

/* What a template must be right to, and a roundings' worth [mm]. */
static const double template_tolerance = 0.01, joint = 1e-9;

/* A machine of which every cam can be made; [timing] may follow. */
static const char cams[] = "[cam]\nbase radius = 24 mm\nlift = 4 mm\nroller radius = 6 mm\n"
                           "bore = 12 mm\n[timing]\n";
static const char timing[] = "inlet opens = -3 deg\ncut-off = 78 deg\nrelease = 172 deg\n"
                             "exhaust closes = 346 deg\nopening ramp = 30 deg\n";

/* One valve of a machine. */
struct valve {
  double base, lift, roller; /* [mm] */
  double opens, closes, ramp;
  double dead_centre; /* [rad] crank angle the two count from */
  bool cycloidal, clockwise;
};

/* The valve of a page of templates, the inlet before the exhaust of each worked end. */
static struct valve valve_of(const struct lb_machine *machine, int page) {
  int end = machine->works[LB_CAP_END] && page < LB_VALVES ? LB_CAP_END : LB_ROD_END;
  const struct lb_timing *t = &machine->timing[end];
  bool inlet = page % LB_VALVES == 0;
  return (struct valve){.base = machine->cam.base_radius * 1e3,
                        .lift = machine->cam.lift * 1e3,
                        .roller = machine->cam.roller_radius * 1e3,
                        .opens = inlet ? t->inlet_opens : t->release,
                        .closes = inlet ? t->cutoff : t->exhaust_closes,
                        .ramp = t->opening_ramp,
                        .dead_centre = end == LB_CAP_END ? 0 : machine->linkage.outward,
                        .cycloidal = machine->cam.cycloidal,
                        .clockwise = machine->clockwise};
}

static int valves_of(const struct lb_machine *machine) {
  return LB_VALVES * (machine->works[LB_CAP_END] + machine->works[LB_ROD_END]);
}

/* Lift [mm] when the crank stands at an angle. */
static double lift_at(const struct valve *valve, double crank) {
  double after = crank - valve->dead_centre - valve->opens;
  after -= turn * floor(after / turn);
  double u = fmin(fmin(after, valve->closes - valve->opens - after) / valve->ramp, 1);
  if (!(u > 0))
    return 0;
  return valve->lift * (valve->cycloidal ? u - sin(turn * u) / turn
                                         : 10 * pow(u, 3) - 15 * pow(u, 4) + 6 * pow(u, 5));
}

/* A closed outline in points no farther apart than `pitch`. */
struct outline {
  struct lb_point *point;
  size_t points, room;
};
static const double pitch = 0.1; /* [mm] */

static void add_point(struct outline *outline, double x, double y) {
  if (outline->points == outline->room) {
    outline->room = outline->room ? 2 * outline->room : 4096;
    outline->point = realloc(outline->point, outline->room * sizeof *outline->point);
    ck_assert_ptr_nonnull(outline->point);
  }
  outline->point[outline->points++] = (struct lb_point){x, y};
}

static void add_arc(struct outline *outline, const struct lb_shape *arc) {
  int steps = (int)ceil(arc->radius * arc->sweep / pitch);
  for (int i = 0; i <= steps; i++) {
    double along = arc->from + arc->sweep * i / steps;
    add_point(outline, arc->at.x + arc->radius * cos(along), arc->at.y + arc->radius * sin(along));
  }
}

static void add_lines(struct outline *outline, const struct lb_drawing *drawing,
                      const struct lb_shape *lines) {
  for (size_t i = 1; i < lines->count; i++) {
    struct lb_point a = drawing->point[lines->first + i - 1];
    struct lb_point b = drawing->point[lines->first + i];
    int steps = (int)ceil(hypot(b.x - a.x, b.y - a.y) / pitch) + 1;
    for (int j = 0; j <= steps; j++)
      add_point(outline, a.x + (b.x - a.x) * j / steps, a.y + (b.y - a.y) * j / steps);
  }
}

static bool is_cut(const struct lb_shape *shape) {
  return shape->kind != LB_SHAPE_TEXT && shape->pen.layer == LB_LAYER_CUT;
}

/* What is cut out on a page but for the hole, about the shaft's centre, in the order drawn. */
static struct outline outline_of(const struct lb_drawing *drawing, size_t page) {
  const struct lb_page *p = &drawing->page[page];
  struct outline outline = {0};
  for (size_t i = p->first; i < p->first + p->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (!is_cut(shape) || shape->kind == LB_SHAPE_CIRCLE)
      continue;
    if (shape->kind == LB_SHAPE_ARC)
      add_arc(&outline, shape);
    else
      add_lines(&outline, drawing, shape);
  }
  ck_assert_uint_gt(outline.points, 100);
  return outline;
}

/* Where a roller above the shaft rests on an outline that has turned with the crank: the height of
 * its centre [mm]. */
static double roller_height(const struct outline *outline, const struct valve *valve,
                            double crank) {
  double turned = valve->clockwise ? -crank : crank, highest = 0;
  double sine = sin(turned), cosine = cos(turned), square = valve->roller * valve->roller;
  for (size_t i = 0; i < outline->points; i++) {
    struct lb_point p = outline->point[i];
    double x = cosine * p.x - sine * p.y, y = sine * p.x + cosine * p.y;
    if (x * x <= square)
      highest = fmax(highest, y + sqrt(square - x * x));
  }
  return highest;
}

/* The cam on a page lifts its roller as the timing says all around a turn. */
static void require_lifts(const struct lb_drawing *drawing, size_t page,
                          const struct valve *valve) {
  struct outline outline = outline_of(drawing, page);
  for (int i = 0; i < 180; i++) {
    double crank = (2 * i + 0.37) * degree;
    ck_close(roller_height(&outline, valve, crank),
             valve->base + valve->roller + lift_at(valve, crank), template_tolerance);
  }
  free(outline.point);
}

/* The pages of templates for cutting: no others are among them. */
static void draw_for_cutting(struct lb_drawing *drawing, struct sheet_maker *maker,
                             const struct lb_machine *machine) {
  struct lb_error error;
  ck_assert(sheet_maker_begin(maker, machine));
  maker->sheet.cutting = true;
  enum lb_status status = lb_sheet_cam(drawing, &maker->sheet, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  ck_assert_int_eq(lb_drawing_status(drawing, &error), LB_OK);
  ck_assert_int_eq((int)drawing->pages, valves_of(machine));
}

static void require_all_lifts(const struct lb_drawing *drawing, const struct lb_machine *machine) {
  for (int page = 0; page < valves_of(machine); page++) {
    struct valve valve = valve_of(machine, page);
    require_lifts(drawing, (size_t)page, &valve);
  }
}

static void require_machine_lifts(const struct lb_machine *machine) {
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  draw_for_cutting(&drawing, &maker, machine);
  require_all_lifts(&drawing, machine);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}

/* A machine from the text above and what follows it in [timing]. */
static struct lb_machine machine_with(const char *more, const char *override) {
  char text[2000];
  snprintf(text, sizeof text, "%s%s%s", machine_text_least, cams, more);
  return machine_text(text, override);
}

START_TEST(cams_lift_as_the_timing_says) {
  const char *const changed[] = {"machine.rotation=anticlockwise", "machine.rotation=clockwise",
                                 "cam.motion law=cycloidal", "timing.opening ramp=40.5 deg",
                                 "cylinder.acting=rod end"};
  for (size_t i = 0; i < sizeof changed / sizeof *changed; i++) {
    struct lb_machine machine = machine_with(timing, changed[i]);
    require_machine_lifts(&machine);
  }
}
END_TEST

/* The rod end of a crank with an offset does not reverse half a turn after the cap end. */
START_TEST(rod_end_counts_from_its_own_dead_centre) {
  struct lb_machine machine = machine_with(timing, NULL);
  ck_assert_int_eq(lb_linkage_init(&machine.linkage, LB_CONNECTING_ROD, 0.1, 0.2, 0.05, NULL),
                   LB_OK);
  ck_assert(fabs(machine.linkage.outward - LB_PI) > 5 * degree);
  require_machine_lifts(&machine);
}
END_TEST

/* Cams for a random machine; false when there is no room for flanks of 5 deg. */
static bool give_cams(struct lb_machine *machine, uint64_t *state) {
  double window = turn;
  for (int page = 0; page < valves_of(machine); page++) {
    struct valve valve = valve_of(machine, page);
    window = fmin(window, valve.closes - valve.opens);
  }
  double ramp = window / 2 * support_between(state, 0.3, 1);
  double lift = support_between(state, 1, 4) * 1e-3;
  machine->cam = (struct lb_cam){.given = true,
                                 .lift = lift,
                                 .base_radius = lift * (3 + 3 / ramp),
                                 .roller_radius = lift * support_between(state, 0.5, 2),
                                 .cycloidal = support_uniform(state) < 0.5,
                                 .pressure_angle_limit = 45 * degree};
  machine->cam.bore = support_uniform(state) < 0.5 ? 0 : machine->cam.base_radius;
  for (int end = 0; end < LB_ENDS; end++) {
    machine->timing[end].opening_ramp = ramp;
    machine->timing[end].opening_ramp_time = 0;
  }
  machine->clockwise = support_uniform(state) < 0.5;
  return ramp > 5 * degree;
}

/* Draw cams of random machines, and look at those that can be made.
 * vary  changes the nth sheet before it is drawn */
static void every_random_cam(uint64_t state, int times, void (*vary)(struct lb_sheet *sheet, int n),
                             void (*look)(const struct lb_drawing *drawing,
                                          const struct lb_machine *machine)) {
  int drawn = 0;
  for (int i = 0; drawn < times; i++) {
    struct lb_machine machine;
    struct sheet_maker maker;
    struct lb_drawing drawing = {0};
    ck_assert_int_lt(i, 10 * times);
    random_machine(&machine, &state);
    if (!give_cams(&machine, &state) || !sheet_maker_begin(&maker, &machine))
      continue;
    vary(&maker.sheet, i);
    enum lb_status status = lb_sheet_cam(&drawing, &maker.sheet, NULL);
    ck_assert(status == LB_OK || status == LB_NO_ANSWER);
    if (status == LB_OK)
      look(&drawing, &machine);
    drawn += status == LB_OK;
    lb_drawing_free(&drawing);
    sheet_maker_end(&maker);
  }
}

static void for_cutting(struct lb_sheet *sheet, int n) {
  (void)n;
  sheet->cutting = true;
}

START_TEST(random_cams_lift_as_the_timing_says) {
  every_random_cam(1, support_times(40), for_cutting, require_all_lifts);
}
END_TEST

/* Distance from a point of the template to the nearest place of the roller's centre [mm], the
 * rollers standing around a cam at rest. */
static double nearest_roller(const struct valve *valve, struct lb_point p) {
  const int steps = 14400;
  double nearest = (double)INFINITY;
  for (int i = 0; i < steps; i++) {
    double crank = turn * i / steps, reach = valve->base + valve->roller + lift_at(valve, crank);
    double along = LB_PI / 2 + (valve->clockwise ? crank : -crank);
    nearest = fmin(nearest, hypot(p.x - reach * cos(along), p.y - reach * sin(along)));
  }
  return nearest;
}

/* No roller cuts into the outline, and one touches it everywhere. */
START_TEST(outline_is_the_envelope_of_the_rollers) {
  struct lb_machine machine = machine_with(timing, NULL);
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  draw_for_cutting(&drawing, &maker, &machine);
  for (int page = 0; page < 2; page++) {
    struct valve valve = valve_of(&machine, page);
    struct outline outline = outline_of(&drawing, (size_t)page);
    for (size_t i = 0; i < outline.points; i += support_is_rough() ? 70 : 7)
      ck_close(nearest_roller(&valve, outline.point[i]), valve.roller, template_tolerance);
    free(outline.point);
  }
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

static double apart(struct lb_point a, struct lb_point b) {
  return hypot(a.x - b.x, a.y - b.y);
}

/* The ends of an arc or of lines. */
static void ends_of(struct lb_point end[2], const struct lb_drawing *drawing,
                    const struct lb_shape *shape) {
  for (int i = 0; i < 2; i++) {
    double along = shape->from + i * shape->sweep;
    if (shape->kind == LB_SHAPE_ARC)
      end[i] = (struct lb_point){shape->at.x + shape->radius * cos(along),
                                 shape->at.y + shape->radius * sin(along)};
    else
      end[i] = drawing->point[shape->first + (i ? shape->count - 1 : 0)];
  }
}

/* The four pieces of a page's outline: two arcs, then two flanks, and its hole. */
static void pieces_of(const struct lb_shape *piece[5], const struct lb_drawing *drawing,
                      size_t page) {
  const struct lb_page *p = &drawing->page[page];
  int arcs = 0, flanks = 0, holes = 0;
  for (size_t i = p->first; i < p->first + p->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (!is_cut(shape))
      continue;
    ck_assert_int_lt(arcs + flanks + holes, 5);
    if (shape->kind == LB_SHAPE_ARC)
      piece[arcs++] = shape;
    else if (shape->kind == LB_SHAPE_CIRCLE)
      piece[4 + holes++] = shape;
    else
      piece[2 + flanks++] = shape;
  }
  ck_assert(arcs == 2 && flanks == 2 && holes == 1);
}

/* Shut and open are true arcs, as long as the timing says; the four pieces meet end to end. */
START_TEST(outline_is_of_arcs_and_closed) {
  struct lb_machine machine = machine_with(timing, NULL);
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  draw_for_cutting(&drawing, &maker, &machine);
  for (int page = 0; page < valves_of(&machine); page++) {
    struct valve valve = valve_of(&machine, page);
    const struct lb_shape *piece[5];
    struct lb_point end[4][2];
    pieces_of(piece, &drawing, (size_t)page);
    double window = valve.closes - valve.opens;
    ck_close(piece[0]->radius, 24, joint);
    ck_close(piece[0]->sweep, turn - window, joint);
    ck_close(piece[1]->radius, 28, joint);
    ck_close(piece[1]->sweep, window - 2 * valve.ramp, joint);
    ck_close(piece[4]->radius, 6, joint);
    for (int i = 0; i < 4; i++)
      ends_of(end[i], &drawing, piece[i]);
    for (int arc = 0; arc < 2; arc++)
      for (int i = 0; i < 2; i++) {
        /* a flank runs from its foot on the base circle up to the arc of full lift */
        double to_rise = apart(end[arc][i], end[2][arc]);
        ck_close(fmin(to_rise, apart(end[arc][i], end[3][arc])), 0, joint);
      }
  }
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

static struct lb_drawing drawn(struct sheet_maker *maker, const struct lb_machine *machine) {
  struct lb_drawing drawing = {0};
  struct lb_error error;
  ck_assert(sheet_maker_begin(maker, machine));
  enum lb_status status = lb_sheet_cam(&drawing, &maker->sheet, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return drawing;
}

static bool same_text(const struct lb_drawing *drawing, size_t page, const char *text) {
  const struct lb_shape *found = probe_find(drawing, page, text);
  return found && strcmp(probe_letters(drawing, found), text) == 0;
}

/* Labels stand on the side of what they name: seen from the centre, within 45 deg of it. */
static void require_label(const struct lb_drawing *drawing, size_t page, const char *text,
                          double direction) {
  const struct lb_shape *label = probe_find(drawing, page, text);
  ck_assert_msg(label && strcmp(probe_letters(drawing, label), text) == 0, "no label '%s'", text);
  double off = fabs(remainder(atan2(label->at.y, label->at.x) - direction, turn));
  ck_assert_msg(off < LB_PI / 4, "label '%s' is %g deg off", text, off / degree);
}

START_TEST(labels_name_the_events) {
  struct lb_machine machine = machine_with(timing, "machine.rotation=clockwise");
  struct sheet_maker maker;
  struct lb_drawing drawing = drawn(&maker, &machine);
  /* a clockwise cam: what passes the roller later lies further to the left of the top */
  require_label(&drawing, 0, "opens 357.0 deg", 87 * degree);
  require_label(&drawing, 0, "full lift 27.0 deg", 117 * degree);
  require_label(&drawing, 0, "full lift to 48.0 deg", 138 * degree);
  require_label(&drawing, 0, "shut 78.0 deg", 168 * degree);
  require_label(&drawing, 0, "cap-end dead centre", 90 * degree);
  ck_assert(same_text(&drawing, 0, "turns clockwise"));
  ck_assert_str_eq(drawing.page[0].name, "Cam: cap end, inlet");
  ck_assert_str_eq(drawing.page[1].name, "Cam: cap end, exhaust");
  ck_assert_str_eq(drawing.page[2].name, "Cams: cap end, radii");
  ck_assert_str_eq(drawing.page[3].name, "Cam: rod end, inlet");
  ck_assert_str_eq(drawing.page[5].name, "Cams: rod end, radii");
  require_label(&drawing, 3, "opens 177.0 deg", (90 + 177) * degree);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
  machine = machine_with(timing, "machine.rotation=anticlockwise");
  drawing = drawn(&maker, &machine);
  require_label(&drawing, 0, "shut 78.0 deg", 12 * degree);
  ck_assert(same_text(&drawing, 0, "turns anticlockwise"));
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

/* Where two flanks fill the whole opening there is no arc at the top and no second label. */
START_TEST(flanks_may_meet_at_the_top) {
  struct lb_machine machine = machine_with(timing, "timing.opening ramp=40.5 deg");
  struct sheet_maker maker;
  struct lb_drawing drawing = drawn(&maker, &machine);
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "full lift 37.5 deg"));
  ck_assert_ptr_null(probe_find(&drawing, 0, "full lift to"));
  ck_assert_ptr_nonnull(probe_find(&drawing, 1, "full lift to"));
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

/* The next text of a page from a shape on, or NULL. */
static const char *next_text(const struct lb_drawing *drawing, size_t page, size_t *at) {
  const struct lb_page *p = &drawing->page[page];
  while (*at < p->first + p->shapes) {
    const struct lb_shape *shape = &drawing->shape[(*at)++];
    if (shape->kind == LB_SHAPE_TEXT)
      return probe_letters(drawing, shape);
  }
  return NULL;
}

/* The radius of an outline on a ray [mm]: where the chord between two neighbours crosses it. */
static double on_ray(const struct outline *outline, double along) {
  for (size_t i = 1; i < outline->points; i++) {
    struct lb_point a = outline->point[i - 1], b = outline->point[i];
    double before = a.y * cos(along) - a.x * sin(along);
    double after = b.y * cos(along) - b.x * sin(along);
    double forward = a.x * cos(along) + a.y * sin(along);
    if (apart(a, b) <= pitch && forward > 0 && before * after <= 0 && before != after) {
      double t = before / (before - after);
      return hypot(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y));
    }
  }
  ck_abort_msg("no point on the ray of %g deg", along / degree);
  return 0;
}

/* Follow the rows of a table of radii; each must fit the outlines on the two pages in front of it.
 * Returns the number of rows. */
static int follow_rows(const struct lb_drawing *drawing, const struct lb_machine *machine,
                       size_t page, size_t first_page) {
  struct valve inlet = valve_of(machine, 0);
  struct outline outline = outline_of(drawing, first_page);
  struct outline other = outline_of(drawing, first_page + 1);
  const char *text;
  int rows = 0;
  size_t at = drawing->page[page].first;
  while ((text = next_text(drawing, page, &at))) {
    char whole[16];
    snprintf(whole, sizeof whole, "%d.0", rows);
    if (strcmp(text, whole) != 0)
      continue;
    double cell[6];
    for (int i = 0; i < 6; i++)
      cell[i] = strtod(next_text(drawing, page, &at), NULL);
    for (int i = 0; i < 4; i++) {
      double along = LB_PI / 2 + cell[i] * degree; /* of a clockwise machine */
      ck_close(on_ray(i < 2 ? &outline : &other, along), cell[5], 0.005 + template_tolerance);
    }
    ck_close(cell[4], inlet.base + inlet.roller + lift_at(&inlet, cell[0] * degree), 0.0051);
    rows++;
  }
  free(outline.point);
  free(other.point);
  return rows;
}

START_TEST(table_gives_the_radii_of_the_outline) {
  const char *const ramps[] = {"timing.opening ramp=30 deg", "timing.opening ramp=40 deg"};
  const int rows[] = {31, 41};
  for (int i = 0; i < 2; i++) {
    struct lb_machine machine = machine_with(timing, ramps[i]);
    struct sheet_maker maker;
    machine.clockwise = true;
    struct lb_drawing drawing = drawn(&maker, &machine);
    ck_assert_int_eq((int)drawing.pages, 6);
    ck_assert_int_eq(follow_rows(&drawing, &machine, 2, 0), rows[i]);
    lb_drawing_free(&drawing);
    sheet_maker_end(&maker);
  }
}
END_TEST

/* A long flank that is no whole number of degrees: every degree and the end, on enough pages. */
START_TEST(table_goes_on_as_long_as_the_flank) {
  struct lb_machine machine =
      machine_with("cut-off = 170 deg\nopening ramp = 84.55 deg\n", "cylinder.acting=cap end");
  for (int size = 0; size < LB_PAPER_SIZES; size++) {
    struct sheet_maker maker;
    struct lb_drawing drawing = {0};
    int seen = 0;
    ck_assert(sheet_maker_begin(&maker, &machine));
    maker.sheet.size = (enum lb_paper_size)size;
    ck_assert_int_eq(lb_sheet_cam(&drawing, &maker.sheet, NULL), LB_OK);
    ck_assert_uint_ge(drawing.pages, 3);
    for (size_t page = 2; page < drawing.pages; page++) {
      ck_assert_str_eq(drawing.page[page].name, "Cams: cap end, radii");
      size_t at = drawing.page[page].first;
      for (const char *text; (text = next_text(&drawing, page, &at));) {
        char wanted[16];
        snprintf(wanted, sizeof wanted, seen == 85 ? "84.5" : "%d.0", seen);
        if (strncmp(text, wanted, 4) == 0 && strlen(text) == strlen(wanted)) {
          seen++;
          for (int i = 0; i < 6; i++)
            ck_assert_ptr_nonnull(next_text(&drawing, page, &at));
        }
      }
    }
    ck_assert_int_eq(seen, 86);
    probe_sheet(&drawing);
    lb_drawing_free(&drawing);
    sheet_maker_end(&maker);
  }
}
END_TEST

/* Why there is no sheet; static buffer. */
static const char *refusal(const struct lb_machine *machine, bool inch) {
  static struct lb_error error;
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  ck_assert(sheet_maker_begin(&maker, machine));
  maker.sheet.inch = inch;
  ck_assert_int_eq(lb_sheet_cam(&drawing, &maker.sheet, &error), LB_NO_ANSWER);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
  return error.text;
}

START_TEST(a_cam_needs_a_ramp_in_degrees) {
  static const char wanted[] =
      "a cam needs an opening ramp in degrees; write 'opening ramp = 30 deg' in [timing]";
  struct lb_machine machine = machine_with(timing, "timing.opening ramp=0 deg");
  ck_assert_str_eq(refusal(&machine, false), wanted);
  machine = machine_with(timing, "timing.opening ramp=4 ms");
  ck_assert_str_eq(refusal(&machine, false), wanted);
}
END_TEST

/* What a refusal says would do, does. */
static void require_cure(const struct lb_machine *machine) {
  struct sheet_maker maker;
  struct lb_drawing drawing = drawn(&maker, machine);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}

START_TEST(short_openings_are_refused) {
  struct lb_machine machine = machine_with(timing, "timing.opening ramp=45 deg");
  ck_assert_str_eq(refusal(&machine, false),
                   "cam of the cap end, inlet: the valve is open for 81.0 deg, too short for two "
                   "flanks of 45.0 deg; an opening ramp of 40.50 deg or less fits every cam");
  machine = machine_with(timing, "timing.opening ramp=40.5 deg");
  require_cure(&machine);
  /* both ends' inlets are too short: the ramp named is for both, whichever is shorter */
  for (int end = 0; end < LB_ENDS; end++) {
    machine = machine_with(timing, "timing.opening ramp=50 deg");
    machine.timing[end].cutoff = 60 * degree;
    ck_assert_ptr_nonnull(
        strstr(refusal(&machine, false), end == LB_CAP_END ? "open for 63.0 deg" : "for 81.0 deg"));
    ck_assert_ptr_nonnull(strstr(refusal(&machine, false), "ramp of 31.50 deg or less"));
  }
}
END_TEST

/* The base radius that a text names [m]. */
static double named_base(const char *text, double unit) {
  static const char before[] = "a base radius of ";
  const char *at = strstr(text, before);
  ck_assert_ptr_nonnull(at);
  return strtod(at + strlen(before), NULL) * unit;
}

/* A machine whose cams fail as the text's beginning says; the base radius named cures all, and one
 * a fiftieth smaller does not. */
static void require_refusal(const char *more, const char *override, const char *begins) {
  const double units[2] = {1e-3, 0.0254};
  for (int inch = 0; inch < 2; inch++) {
    struct lb_machine machine = machine_with(more, override);
    const char *text = refusal(&machine, inch);
    if (!inch)
      ck_assert_msg(strncmp(text, begins, strlen(begins)) == 0, "%s", text);
    double base = named_base(text, units[inch]);
    machine.cam.base_radius = base / 1.02;
    refusal(&machine, inch);
    machine.cam.base_radius = base;
    require_cure(&machine);
  }
}

START_TEST(what_a_roller_cannot_follow_is_refused) {
  require_refusal(timing, "timing.opening ramp=20 deg",
                  "cam of the cap end, inlet: the pressure angle reaches ");
  require_refusal(timing, "cam.roller radius=18 mm",
                  "cam of the cap end, inlet: it is undercut, as the path of a roller of 18.00 mm "
                  "radius bends to ");
  struct lb_machine machine = machine_with(timing, "timing.opening ramp=10 deg");
  ck_assert_ptr_nonnull(strstr(refusal(&machine, false), ", over its limit of 30.0 deg, and it is "
                                                         "undercut, as the path of a roller of"));
  machine.cam.pressure_angle_limit = 80 * degree;
  machine.cam.base_radius = 7e-3;
  machine.cam.roller_radius = 30e-3;
  ck_assert_ptr_nonnull(strstr(refusal(&machine, false), ", and its flanks hang over;"));
}
END_TEST

/* The cams of one end need more than those of the other: the radius named is for both. */
START_TEST(the_base_radius_named_is_for_every_cam) {
  for (int end = 0; end < LB_ENDS; end++) {
    struct lb_machine machine = machine_with(timing, "timing.opening ramp=20 deg");
    machine.timing[end].opening_ramp = 12 * degree;
    const char *text = refusal(&machine, false);
    ck_assert_ptr_nonnull(strstr(text, "cam of the cap end, inlet"));
    machine.cam.base_radius = named_base(text, 1e-3);
    require_cure(&machine);
  }
}
END_TEST

/* The arrow beside the pitch curve: how far its head is ahead of its shaft's middle, anticlockwise
 * about the shaft's centre [rad]. */
static double arrow_ahead(const struct lb_drawing *drawing, size_t page) {
  const struct lb_page *p = &drawing->page[page];
  double shaft = (double)NAN, head = (double)NAN;
  for (size_t i = p->first; i < p->first + p->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    const struct lb_point *at = drawing->point + shape->first;
    if (shape->kind == LB_SHAPE_ARC && fabs(shape->radius - (24 + 4 + 6 + 2)) < joint)
      shaft = shape->from + shape->sweep / 2;
    if (shape->kind == LB_SHAPE_AREA)
      head = atan2(at[0].y + at[1].y + at[2].y, at[0].x + at[1].x + at[2].x);
  }
  return remainder(head - shaft, turn);
}

START_TEST(arrow_shows_the_rotation) {
  for (int clockwise = 0; clockwise < 2; clockwise++) {
    struct lb_machine machine = machine_with(timing, NULL);
    struct sheet_maker maker;
    machine.clockwise = clockwise;
    struct lb_drawing drawing = drawn(&maker, &machine);
    double ahead = arrow_ahead(&drawing, 0);
    ck_assert(clockwise ? ahead < 0 : ahead > 0);
    lb_drawing_free(&drawing);
    sheet_maker_end(&maker);
  }
}
END_TEST

/* Another paper, printer and unit. */
static void on_any_paper(struct lb_sheet *sheet, int n) {
  sheet->inch = n % 2;
  sheet->size = (enum lb_paper_size)(n % LB_PAPER_SIZES);
  sheet->measured[0] = n % 4 ? LB_SHEET_BAR : 97;
  sheet->measured[1] = n % 5 ? LB_SHEET_BAR : 103;
}

static void require_readable(const struct lb_drawing *drawing, const struct lb_machine *machine) {
  (void)machine;
  probe_sheet(drawing);
}

/* Nothing outside of the page, no two labels over each other, nothing too small, whatever the
 * timing, the paper, the printer and the units. */
START_TEST(sheets_are_readable) {
  every_random_cam(2, support_times(200), on_any_paper, require_readable);
}
END_TEST

/* Figures in inches, and what is said of a machine with several cylinders. */
START_TEST(notes_say_what_the_cam_is) {
  struct lb_machine machine = machine_with(timing, "machine.cylinders=2");
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  ck_assert(sheet_maker_begin(&maker, &machine));
  maker.sheet.inch = true;
  ck_assert_int_eq(lb_sheet_cam(&drawing, &maker.sheet, NULL), LB_OK);
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "Base radius 0.945 in, lift 0.157 in"));
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "3-4-5 polynomial over 30.0 deg"));
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "The others have the same cam"));
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "(limit 30.0 deg)"));
  ck_assert_ptr_nonnull(probe_find(&drawing, 2, "0.9449"));
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("sheet of cams");
  TCase *cases = tcase_create("sheet of cams");
  tcase_set_timeout(cases, 120);
  tcase_add_test(cases, cams_lift_as_the_timing_says);
  tcase_add_test(cases, rod_end_counts_from_its_own_dead_centre);
  tcase_add_test(cases, random_cams_lift_as_the_timing_says);
  tcase_add_test(cases, outline_is_the_envelope_of_the_rollers);
  tcase_add_test(cases, outline_is_of_arcs_and_closed);
  tcase_add_test(cases, labels_name_the_events);
  tcase_add_test(cases, flanks_may_meet_at_the_top);
  tcase_add_test(cases, table_gives_the_radii_of_the_outline);
  tcase_add_test(cases, table_goes_on_as_long_as_the_flank);
  tcase_add_test(cases, a_cam_needs_a_ramp_in_degrees);
  tcase_add_test(cases, short_openings_are_refused);
  tcase_add_test(cases, what_a_roller_cannot_follow_is_refused);
  tcase_add_test(cases, the_base_radius_named_is_for_every_cam);
  tcase_add_test(cases, arrow_shows_the_rotation);
  tcase_add_test(cases, sheets_are_readable);
  tcase_add_test(cases, notes_say_what_the_cam_is);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
