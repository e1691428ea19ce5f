/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From cells in a row to lb_sheet_table.
 */
#include "paper/sheet_grid.h"

#include "base/format.h"

#include <stdarg.h>

void lb_grid_add(struct lb_grid *grid, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(grid->text[grid->cells++], LB_GRID_CELL, format, arguments);
  va_end(arguments);
}

struct lb_box lb_grid_draw(struct lb_drawing *drawing, struct lb_box box, double letters,
                           const struct lb_grid *grid, const double *width, double unit) {
  const char *cell[LB_GRID_ROWS * LB_GRID_COLUMNS];
  double column[LB_GRID_COLUMNS];
  for (int i = 0; i < grid->cells; i++)
    cell[i] = grid->text[i];
  for (int i = 0; i < grid->columns; i++)
    column[i] = width[i] * unit;
  return lb_sheet_table(drawing, box, letters, cell, grid->cells / grid->columns, grid->columns,
                        column);
}
