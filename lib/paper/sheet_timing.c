/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The timing sheet, on one page: the diagram, beside it what the timing gives and how dead centre
 * is found, below them the tables of events and the log. The diagram has the room that the others
 * leave.
 */
#include "paper/sheet_timing.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/sheet_grid.h"
#include "paper/sheet_timing_ring.h"
#include "paper/text.h"

#include <math.h>
#include <string.h>

static const double shown_from = LB_DEGREE / 20; /* [rad] less is printed as 0.0 deg */
static const char page_title[] = "Timing";

/* Layout [mm]. */
static const double large_paper = 250; /* room at least so wide has larger letters */
static const double between = 2;       /* from one block to the next */
static const double column_gap = 4;
static const double side_least = 0.36, side_most = 0.46, side_step = 0.02; /* width of the column
                                           beside the diagram as a share of the whole [1] */
static const double diagram_high = 0.6; /* height of the diagram as a share of the width [1] that is
                                           reached before the log has larger rows */
static const double diagram_least =
    36; /* its height in letters [1] that the log gives rows up for */
static const double log_letters_most = 4.2, log_letters_step = 0.1;

enum {
  HEADING = 40,      /* bytes */
  EVENT_COLUMNS = 8, /* of the table of an end */
  RUNS = 5,          /* in the log */
  LOG_COLUMNS = 2 + RUNS,
  LOG_ROWS_MOST = 14
};

/* Draw a table as wide as the box. Column widths are given as shares of one another. */
static struct lb_box draw_grid(struct lb_drawing *drawing, struct lb_box box, double letters,
                               const struct lb_grid *grid, const double *share) {
  double whole = 0;
  for (int i = 0; i < grid->columns; i++)
    whole += share[i];
  return lb_grid_draw(drawing, box, letters, grid, share, (box.right - box.left) / whole);
}

/* "26.8 deg", "11.0 deg or more" where nothing is lost as far as the event may go; "-" where that
 * is nowhere, because another event stands there. */
static void fill_tolerance(struct lb_grid *grid, const struct lb_detail *detail, double off,
                           bool limited) {
  if (!detail->tolerances_found || (limited && off < shown_from))
    lb_grid_add(grid, "-");
  else
    lb_grid_add(grid, "%.20s deg%s", lb_show_number(off / LB_DEGREE, 1).text,
                limited ? " or more" : "");
}

/* The row of an event. */
static void fill_event(struct lb_grid *grid, const struct lb_sheet *sheet, enum lb_end end,
                       enum lb_varied event) {
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_detail *detail = sheet->paper->detail;
  const struct lb_style style = lb_sheet_style(sheet);
  const struct lb_tolerance *t = &detail->work[end][event];
  const int decimals = sheet->inch ? 3 : 2; /* of a length */
  const char *unit = lb_show_unit(&style, LB_SHOW_LENGTH);
  double angle = lb_timing_event(machine, end, event, lb_sheet_cutoff(sheet)[end]);
  double travel = lb_linkage_distance(&machine->linkage, end, angle);
  double slope = fabs(lb_linkage_distance_slope(&machine->linkage, end, angle)) * LB_DEGREE;
  lb_grid_add(grid, "%s", lb_timing_event_name(event));
  lb_grid_add(grid, "%s", lb_page_angle(true, angle).text);
  lb_grid_add(grid, "%.20s deg", lb_show_crank(lb_timing_crank_angle(machine, end, angle), 1).text);
  lb_grid_add(grid, "%.20s %s",
              lb_show_number(lb_show_value(&style, LB_SHOW_LENGTH, travel), decimals).text, unit);
  lb_grid_add(grid, "%s",
              lb_show(&style, LB_SHOW_SHARE, lb_timing_stroke_fraction(machine, end, angle)).text);
  lb_grid_add(grid, "%.20s %s/deg",
              lb_show_number(lb_show_value(&style, LB_SHOW_LENGTH, slope), decimals + 1).text,
              unit);
  fill_tolerance(grid, detail, t->earlier, t->earlier_limited);
  fill_tolerance(grid, detail, t->later, t->later_limited);
}

/* The table of an end's events. */
static struct lb_box draw_events(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                 struct lb_box box, double letters, enum lb_end end) {
  static const double share[EVENT_COLUMNS] = {25, 21, 23, 20, 18, 25, 29, 29};
  static const char *const heading[EVENT_COLUMNS - 1] = {
      "after its dc",   "on the crank", "travel",  "of stroke",
      "travel per deg", "earlier by",   "later by"};
  struct lb_grid grid = {.columns = EVENT_COLUMNS};
  lb_grid_add(&grid, "%s", end == LB_CAP_END ? "Cap end" : "Rod end");
  for (int i = 0; i < EVENT_COLUMNS - 1; i++)
    lb_grid_add(&grid, "%s", heading[i]);
  for (int event = 0; event < LB_EVENTS; event++)
    fill_event(&grid, sheet, end, (enum lb_varied)event);
  box = draw_grid(drawing, box, letters, &grid, share);
  box.top -= between;
  return box;
}

/* Write a text that was put together, and release it. */
static struct lb_box write_text(struct lb_drawing *drawing, struct lb_box box, double letters,
                                struct lb_text *text) {
  if (text->failed)
    drawing->failed = true;
  else
    box = lb_sheet_write(drawing, box, letters, text->bytes);
  lb_text_free(text);
  return box;
}

/* Which cylinder the angles are of, and how far behind the others are. */
static void add_cylinders(struct lb_text *text, const struct lb_machine *machine) {
  if (machine->cylinders == 1)
    return;
  lb_text_add(text, " Crank angles are those of cylinder 1, followed by");
  for (int k = 1; k < machine->cylinders; k++)
    lb_text_add(text, "%s %d at %s",
                k == 1                        ? ""
                : k == machine->cylinders - 1 ? " and"
                                              : ",",
                k + 1, lb_show_number(machine->crank_angle[k] / LB_DEGREE, 1).text);
  lb_text_add(text, " deg.");
}

/* What the columns mean, and what was assumed. */
static struct lb_box draw_notes(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                struct lb_box box, double letters) {
  const struct lb_machine *machine = sheet->paper->machine;
  struct lb_text text = {0};
  lb_text_add(&text, "dc: dead centre, each end's own; angles count from it in the direction of "
                     "rotation, travel and share of the stroke from it too. On the crank: from the "
                     "cap-end dead centre. Earlier, later: as far as an event may be off, all "
                     "others held, for 1 %% less work from the air.");
  add_cylinders(&text, machine);
  if (lb_machine_assumes(machine))
    lb_text_add(&text, " The dead volume is not known: %.0f %% of the swept volume is assumed.",
                lb_machine_dead_share(LB_DEAD_VOLUME_USUAL) * 100);
  box = write_text(drawing, box, letters, &text);
  box.top -= between / 2;
  return box;
}

/* A row of the log: what is measured and, if it was, what is predicted. */
struct log_row {
  const char *quantity, *unit;
  struct lb_shown predicted; /* a number, or "" */
  int rank; /* rows of a lower rank than ALWAYS are left out, lowest first, where room is short */
};

enum {
  NOTE = 1,
  DISTANCE,
  WORK,
  ALWAYS
};

static struct log_row measured(const char *quantity, const char *unit, int rank) {
  return (struct log_row){quantity, unit, {""}, rank};
}

/* A figure that was predicted too, in the digits that it has alone. */
static struct log_row predicted(const struct lb_style *style, const char *quantity,
                                enum lb_measure measure, double si, int rank) {
  int decimals = lb_show_decimals(style, measure, &si, 1);
  return (struct log_row){quantity, lb_show_unit(style, measure),
                          lb_show_number(lb_show_value(style, measure, si), decimals), rank};
}

/* All rows that a machine's log may have. Returns how many. */
static int list_log(struct log_row *row, const struct lb_sheet *sheet) {
  static const char *const release[] = {
      [LB_CAP_END] = "release, cap end", [LB_ROD_END] = "release, rod end"};
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_revolution *r = &sheet->paper->detail->revolution;
  const struct lb_style style = lb_sheet_style(sheet);
  const char *gauge = lb_show_unit(&style, LB_SHOW_GAUGE);
  int rows = 0;
  row[rows++] = measured("speed", "rpm", ALWAYS);
  row[rows++] = predicted(&style, "supply", LB_SHOW_GAUGE, machine->supply_pressure, ALWAYS);
  row[rows++] = measured("tank at the start", gauge, ALWAYS);
  row[rows++] = measured("tank at the end", gauge, ALWAYS);
  row[rows++] = measured("revolutions", "", ALWAYS);
  row[rows++] = measured("run time", "min", ALWAYS);
  row[rows++] = measured("distance", sheet->inch ? "ft" : "m", DISTANCE);
  row[rows++] = predicted(&style, "air per revolution", LB_SHOW_AIR, r->air, ALWAYS);
  row[rows++] = predicted(&style, "work per revolution", LB_SHOW_WORK, r->work, WORK);
  row[rows++] = predicted(&style, "mean torque", LB_SHOW_TORQUE, r->mean_torque, ALWAYS);
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->works[end])
      row[rows++] =
          predicted(&style, release[end], LB_SHOW_GAUGE, r->end[end].turn.release_pressure, ALWAYS);
  row[rows++] = measured("note", "", NOTE);
  return rows;
}

/* How the log is drawn. */
struct log_plan {
  double letters; /* [mm] */
  int left_out;   /* rows up to this rank are */
};

/* The log of test runs, to be filled in. */
static struct lb_box draw_log(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                              struct lb_box box, const struct log_plan *plan) {
  static const double share[LOG_COLUMNS] = {48, 23, 24, 24, 24, 24, 24};
  struct lb_grid grid = {.columns = LOG_COLUMNS};
  struct log_row row[LOG_ROWS_MOST];
  int rows = list_log(row, sheet);
  lb_grid_add(&grid, "Log");
  lb_grid_add(&grid, "predicted");
  for (int run = 1; run <= RUNS; run++)
    lb_grid_add(&grid, "run %d", run);
  for (int i = 0; i < rows; i++) {
    if (row[i].rank <= plan->left_out)
      continue;
    lb_grid_add(&grid, "%s%s%s", row[i].quantity, *row[i].unit ? ", " : "", row[i].unit);
    lb_grid_add(&grid, "%.30s", row[i].predicted.text);
    for (int run = 0; run < RUNS; run++)
      lb_grid_add(&grid, "%s", "");
  }
  return draw_grid(drawing, box, plan->letters, &grid, share);
}

/* Everything below the diagram. Returns the room left. */
static struct lb_box draw_lower(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                struct lb_box box, double letters, const struct log_plan *plan) {
  for (int end = 0; end < LB_ENDS; end++)
    if (sheet->paper->machine->works[end])
      box = draw_events(drawing, sheet, box, letters, (enum lb_end)end);
  box = draw_notes(drawing, sheet, box, letters);
  return draw_log(drawing, sheet, box, plan);
}

static struct lb_box draw_heading(struct lb_drawing *drawing, struct lb_box box, double letters,
                                  const char *text) {
  const struct lb_lettering lettering = {.size = letters, .bold = true};
  const double pitch = 1.4, base = 0.35; /* of a heading, in letters [1] */
  box.top -= pitch * letters;
  lb_drawing_text(drawing, &lettering, (struct lb_point){box.left, box.top + base * letters}, text);
  return box;
}

/* "cap end released at 2.59 bar gauge", and below it, where no unit is parted from its number,
 * "(3.55 bar absolute, 37.5 psig)". */
static void add_pressure(struct lb_text *text, const char *end, const char *pressure) {
  int first = (int)strcspn(pressure, "(");
  lb_text_add(text, "%s released at %.*s\n%s\n", end, first - 1, pressure, pressure + first);
}

/* Work, air and torque of a revolution, and what the ends release at. */
static struct lb_box draw_figures(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                  struct lb_box box, double letters) {
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_revolution *r = &sheet->paper->detail->revolution;
  const struct lb_style style = lb_sheet_style(sheet);
  struct lb_text text = {0};
  char heading[HEADING] = "Per revolution";
  if (machine->cylinders > 1)
    lb_format(heading, sizeof heading, "Per revolution, %d cylinders", machine->cylinders);
  box = draw_heading(drawing, box, letters, heading);
  lb_text_add(&text, "work after friction %s, ", lb_show(&style, LB_SHOW_WORK, r->work).text);
  lb_text_add(&text, "air %s\n", lb_show(&style, LB_SHOW_AIR, r->air).text);
  lb_text_add(&text, "mean torque %s\n", lb_show(&style, LB_SHOW_TORQUE, r->mean_torque).text);
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->works[end])
      add_pressure(&text, lb_page_end((enum lb_end)end),
                   lb_show_pressure(&style, r->end[end].turn.release_pressure).text);
  return write_text(drawing, box, letters, &text);
}

/* What the diagram shows. */
static struct lb_box draw_reading(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                  struct lb_box box, double letters) {
  const struct lb_machine *machine = sheet->paper->machine;
  bool both = machine->works[LB_CAP_END] && machine->works[LB_ROD_END];
  double rod = lb_linkage_dead_centre(&machine->linkage, LB_ROD_END);
  struct lb_text text = {0};
  box = draw_heading(drawing, box, letters, "The diagram");
  lb_text_add(&text, "Seen from the side the chart is mounted on; the crank turns %s (arrows).",
              machine->clockwise ? "clockwise" : "anticlockwise");
  if (both)
    lb_text_add(&text, " Outer ring: cap end; inner: rod end.");
  lb_text_add(&text, " Scale: degrees of the crank from the cap-end dead centre; at the events: "
                     "degrees after the end's own.");
  if (fabs(rod - LB_PI) > shown_from)
    lb_text_add(&text, " That of the rod end lies at %s deg.",
                lb_show_number(rod / LB_DEGREE, 1).text);
  box = write_text(drawing, box, letters, &text);
  box.top -= letters / 2;
  return lb_ring_legend(drawing, box, letters);
}

/* Dead centre from the middle of two marks [rad]: where the piston, a distance from its cap end,
 * comes in and goes out again, is not quite even with an offset. Positive behind the middle. */
static double behind_middle(const struct lb_machine *machine, double distance) {
  const struct lb_linkage *linkage = &machine->linkage;
  double out = lb_linkage_angle_away(linkage, LB_CAP_END, distance);
  double in = lb_linkage_angle_back(linkage, LB_CAP_END, distance) - 2 * LB_PI;
  return -(out + in) / 2;
}

/* How dead centre is found, with a blank. Both marks are made while the crank pushes the rod in:
 * then the play in the pins lies on the same side, and does not move the middle. */
static struct lb_box draw_recipe(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                 struct lb_box box, double letters) {
  const double tenth = 0.1; /* of the stroke: where a degree moves the piston enough */
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_style style = lb_sheet_style(sheet);
  double distance = tenth * machine->linkage.stroke, off = behind_middle(machine, distance);
  struct lb_text text = {0};
  box = draw_heading(drawing, box, letters, "Dead centre by equal travel");
  lb_text_add(
      &text,
      "1. Air off, vented. Turn the crank as it runs until the piston rod has about %.2g %s "
      "still to go in; note the place (dial gauge or tram on the cylinder), mark the disc "
      "at the pointer.\n",
      lb_show_value(&style, LB_SHOW_LENGTH, distance), lb_show_unit(&style, LB_SHOW_LENGTH));
  lb_text_add(&text,
              "2. Turn on, past dead centre, until the rod is well out beyond that place, "
              "then back until it comes in to it again; mark the disc. (It is pushed in both "
              "times: play does not count.)\n");
  lb_text_add(&text, "3. Half-way between the marks is the cap-end dead centre");
  if (fabs(off) >= shown_from)
    lb_text_add(&text, " (with the offset %s deg %s half-way)",
                lb_show_number(fabs(off) / LB_DEGREE, 1).text, off > 0 ? "after" : "before");
  lb_text_add(&text, ": set the pointer to 0 there.");
  box = write_text(drawing, box, letters, &text);
  box.top -= letters / 2;
  return lb_sheet_write(drawing, box, letters, "Pointer moved by ____________ deg");
}

/* The column beside the diagram. Returns the room left. */
static struct lb_box draw_side(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_box box, double letters) {
  box = draw_figures(drawing, sheet, box, letters);
  box.top -= between / 2;
  box = draw_reading(drawing, sheet, box, letters);
  box.top -= between / 2;
  return draw_recipe(drawing, sheet, box, letters);
}

/* A page that nobody sees, with room for everything: heights are found by drawing on it. */
static struct lb_drawing unseen_page(struct lb_box *box) {
  const double endless = 1e4; /* [mm] */
  struct lb_drawing unseen = {0};
  lb_drawing_page(&unseen, page_title, box->right, box->top);
  box->bottom -= endless;
  return unseen;
}

static double side_height(const struct lb_sheet *sheet, struct lb_box box, double letters) {
  struct lb_drawing unseen = unseen_page(&box);
  struct lb_box left = draw_side(&unseen, sheet, box, letters);
  lb_drawing_free(&unseen);
  return box.top - left.top;
}

static double lower_height(const struct lb_sheet *sheet, struct lb_box box, double letters,
                           const struct log_plan *plan) {
  struct lb_drawing unseen = unseen_page(&box);
  struct lb_box left = draw_lower(&unseen, sheet, box, letters, plan);
  lb_drawing_free(&unseen);
  return box.top - left.top;
}

/* How the room is divided. */
struct layout {
  double side;  /* [mm] width of the column beside the diagram */
  double lower; /* [mm] height of what is below */
  struct log_plan log;
};

/* The layout for a width of the side column: the log with the largest letters that leave the
 * diagram its room, and without some of its rows if they do not leave the column its own, or the
 * diagram the least it needs. */
static struct layout lay_out(const struct lb_sheet *sheet, struct lb_box box, double letters,
                             double side) {
  struct lb_box column = box;
  column.left = box.right - side;
  double room = box.top - box.bottom - between;
  double text = side_height(sheet, column, letters);
  double least = fmax(diagram_least * letters, text);
  double diagram = fmax(diagram_high * (box.right - box.left), least);
  struct layout layout = {.side = side, .log = {.letters = log_letters_most}};
  struct log_plan *log = &layout.log;
  while (log->letters > LB_LETTERS_SMALL && lower_height(sheet, box, letters, log) > room - diagram)
    log->letters = fmax(log->letters - log_letters_step, LB_LETTERS_SMALL);
  while (log->left_out < ALWAYS - 1 && lower_height(sheet, box, letters, log) > room - least)
    log->left_out++;
  layout.lower = lower_height(sheet, box, letters, log);
  return layout;
}

/* The layout with the narrowest side column that lets the log have all its rows. */
static struct layout choose_layout(const struct lb_sheet *sheet, struct lb_box box,
                                   double letters) {
  double width = box.right - box.left;
  struct layout layout = lay_out(sheet, box, letters, side_least * width);
  for (double share = side_least; layout.log.left_out > 0 && share < side_most;) {
    share = fmin(share + side_step, side_most);
    layout = lay_out(sheet, box, letters, share * width);
  }
  return layout;
}

enum lb_status lb_sheet_timing(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error) {
  struct lb_box box = lb_sheet_begin(drawing, sheet, page_title);
  double letters = box.right - box.left >= large_paper ? LB_LETTERS_NORMAL : LB_LETTERS_SMALL;
  struct layout layout = choose_layout(sheet, box, letters);
  struct lb_box lower = box, diagram = box, side = box;
  lower.top = box.bottom + layout.lower;
  diagram.bottom = side.bottom = lower.top + between;
  side.left = box.right - layout.side;
  diagram.right = side.left - column_gap;
  struct lb_ring ring;
  if (!lb_ring_fit(&ring, sheet, diagram, letters))
    return lb_error_set(error, LB_NO_ANSWER,
                        "the labels of the timing diagram do not fit this paper; '--paper A3' has "
                        "more room");
  lb_ring_draw(drawing, sheet, &ring);
  draw_side(drawing, sheet, side, letters);
  draw_lower(drawing, sheet, lower, letters, &layout.log);
  return LB_OK;
}
