/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A table of a sheet with cells of its own, filled row by row. Part of the sheets.
 */
#ifndef LASTBAR_PAPER_SHEET_GRID_H
#define LASTBAR_PAPER_SHEET_GRID_H

#include "paper/sheet.h"

enum {
  LB_GRID_ROWS = 96, /* the most, the headings among them */
  LB_GRID_COLUMNS = 8,
  LB_GRID_CELL = 64 /* bytes of a cell's text; what is longer is cut off */
};

/* A table starts with its columns alone: `{.columns = 3}`. */
struct lb_grid {
  char text[LB_GRID_ROWS * LB_GRID_COLUMNS][LB_GRID_CELL];
  int columns; /* 1 ... LB_GRID_COLUMNS */
  int cells;   /* filled so far */
};

/* Fill the next cell with a printf-style text; the first row is that of the headings. There is room
 * for LB_GRID_ROWS rows. */
void lb_grid_add(struct lb_grid *grid, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Draw the table as lb_sheet_table does.
 *
 * width  width[columns] in units of `unit`
 * unit   [mm] */
struct lb_box lb_grid_draw(struct lb_drawing *drawing, struct lb_box box, double letters,
                           const struct lb_grid *grid, const double *width, double unit);

#endif
