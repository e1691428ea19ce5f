/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What all workshop sheets share: the paper, the heading that says what a sheet was made from, how
 * crank angles lie on it, and templates in true size with bars to check the printer by.
 *
 * A diagram is drawn as the crank turns, dead centre up: an event stands where the crank is then. A
 * template for something that turns with the crank (a disc, a cam) runs the other way round: what
 * passes a fixed switch later lies further back against the direction of rotation.
 */
#ifndef LASTBAR_PAPER_SHEET_H
#define LASTBAR_PAPER_SHEET_H

#include "decide/curves.h"
#include "duty/rundown.h"
#include "paper/answer_cutoff.h"
#include "paper/drawing.h"
#include "paper/show.h"
#include "stroke/cycle.h"

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

enum lb_paper_size {
  LB_PAPER_A4,
  LB_PAPER_A3,
  LB_PAPER_LETTER,
  LB_PAPER_SIZES
};

/* What a sheet is made of. Everything is borrowed. */
struct lb_sheet {
  const struct lb_cutoff_paper *paper; /* the machine and its answers; paper->rule names the timing
                                          drawn, which has an answer: paper->detail is there */
  const struct lb_cycle *cycle;        /* prepared for the machine */
  bool inch;
  const char *file;    /* name of the machine file [UTF-8] */
  uint32_t checksum;   /* of its bytes, see base/checksum.h */
  const char *changes; /* what the command line changed of it, "" for nothing [UTF-8] */
  enum lb_paper_size size;
  double measured[2]; /* [mm] what the bars in x and y measured on paper; LB_SHEET_BAR: true */
  const struct lb_curves *curves; /* for the curves page: of the machine, by the rule; else NULL */
  const struct lb_rundown *rundown; /* for the rundown page: of the machine; else NULL */
  const struct lb_running *running; /* a revolution at speed with the timing drawn, shown over the
                                       slow one of the indicator diagram; NULL: the slow one alone
                                     */
  const struct lb_gas *gas; /* the workspace that `running` was found in last; NULL without */
  bool cutting;             /* for a machine that cuts: templates without paper around them */
};

/* The pens of all sheets. */
extern const struct lb_pen lb_pen_fine;   /* 0.13 mm: scales, hatching */
extern const struct lb_pen lb_pen_normal; /* 0.25 mm */
extern const struct lb_pen lb_pen_heavy;  /* 0.5 mm: curves, events */
extern const struct lb_pen lb_pen_dashed; /* 0.25 mm, broken: what is for comparison */
extern const struct lb_pen lb_pen_cut;    /* 0.13 mm on the layer of cuts */

/* Sizes of letters [mm]: the least is readable at arm's length. */
#define LB_LETTERS_SMALL 2.6
#define LB_LETTERS_NORMAL 3.2
#define LB_LETTERS_TITLE 5.5

/* True length of the bars on a template that the printer is checked by [mm]. */
#define LB_SHEET_BAR 100.0

/* Width of the border of a page that printers may leave white [mm]. */
#define LB_SHEET_MARGIN 10.0

/* Width and height of the paper, upright [mm]. */
void lb_sheet_paper(double *width, double *height, enum lb_paper_size size);

/* The angles drawn: cutoff[LB_ENDS] of the choice [rad] after each end's own dead centre. */
const double *lb_sheet_cutoff(const struct lb_sheet *sheet);

/* Direction on the page [rad] in which the crank stands at a crank angle [rad]: up at the cap-end
 * dead centre, turning as the machine does seen from the side the chart is mounted on. */
double lb_sheet_direction(const struct lb_machine *machine, double crank_angle);

/* Direction on a template [rad], its mark up, of what a fixed place ahead of the pointer by
 * `place` (in the direction of rotation) sees at a crank angle: a disc turned by the crank angle
 * brings the point at place - crank angle there. */
double lb_sheet_template_direction(const struct lb_machine *machine, double place,
                                   double crank_angle);

/* The point at a distance from a centre in a direction. */
struct lb_point lb_sheet_polar(struct lb_point centre, double radius, double direction);

/* What the timing drawn is called: "as timed in the file". */
const char *lb_sheet_rule(const struct lb_sheet *sheet);

/* For whom the sheet's figures are shown. */
struct lb_style lb_sheet_style(const struct lb_sheet *sheet);

/* An arc or a piece of a ring from one direction to another the way a crank angle grows (or, on a
 * template, shrinks): the two directions in the order lb_drawing_arc wants them.
 * from, to   in: directions; out: so that the arc runs counterclockwise
 * clockwise  whether it runs clockwise from the one to the other on the page: that of the machine
 *            on a diagram, the opposite on a template */
void lb_sheet_order(double *from, double *to, bool clockwise);

/* Begin a page with its heading: machine, title and rule, supply, law, version and checksum; and
 * its foot: the cautions and the page's title and number. Returns the room between.
 * title  [UTF-8] the sheet's, which becomes the page's name too: "Timing" */
struct lb_box lb_sheet_begin(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             const char *title);

/* A text no wider than a room: its letters are made smaller, down to LB_LETTERS_SMALL, and what is
 * too long even so is shortened in its middle by "...".
 * width  [mm] along the line of the text */
void lb_sheet_text(struct lb_drawing *drawing, const struct lb_lettering *lettering,
                   struct lb_point at, double width, const char *utf8);

/* Height that lb_sheet_write takes for a text in a width [mm]. */
double lb_sheet_height(double width, double letters, const char *utf8);

/* Lines of text from the top left corner of a box downwards, each at most as wide as the box
 * (longer ones are broken at blanks). Returns the room left below, as a box. Lines that would come
 * below the box are left out.
 * utf8  lines parted by line ends */
struct lb_box lb_sheet_write(struct lb_drawing *drawing, struct lb_box box, double letters,
                             const char *utf8);

/* A table: a row of headings and rows of cells, text left, figures right; a column is one of
 * figures when a cell below its heading begins like a number. What is too wide for its column is
 * made smaller or shortened as by lb_sheet_text. Returns the room left below it, as a box. Rows
 * that would come below the box are left out.
 *
 * cell   cell[rows][columns], row by row, the headings first [UTF-8]; a cell may have several
 *        lines, parted by line ends
 * width  width[columns] [mm] */
struct lb_box lb_sheet_table(struct lb_drawing *drawing, struct lb_box box, double letters,
                             const char *const *cell, int rows, int columns, const double *width);

/* A drawing in true size: something that knows how to draw itself about its own origin [mm]. */
struct lb_template {
  const char *title;
  const char *note;     /* [UTF-8] lines of text below it, parted by line ends; or NULL */
  struct lb_box extent; /* all that it draws lies within */
  void (*draw)(struct lb_drawing *drawing, const void *context);
  const void *context;
};

/* Set a template's extent to what it draws and 2 mm around.
 * drawing  not added to; told when memory runs out */
void lb_sheet_measure(struct lb_drawing *drawing, struct lb_template *piece);

/* Put a template on as many pages as it takes: as large as it is (corrected for a printer that is
 * out, never made to fit), bars of 100 mm in x and y and one of an inch on every page, overlap and
 * marks where there are several pages. The note stands below it, or on a page of its own where it
 * does not fit there. For a cutting machine there is one page as large as the template, with the
 * title as a text outside of it and no note. */
void lb_sheet_template(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                       const struct lb_template *piece);

#ifdef __cplusplus
}
#endif

#endif
