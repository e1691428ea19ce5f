/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A table of text: rows of cells under each other, each column as wide as its widest cell.
 *
 * Cells are filled in from left to right; the row ends with its last column. A cell at the left
 * edge of its column with only empty cells behind it may run over them and takes no part in the
 * widths. A row may be a plain line instead, which takes no part either: a heading between rows.
 * Running out of memory is remembered and told when the table is put into a text.
 */
#ifndef LASTBAR_PAPER_TABLE_H
#define LASTBAR_PAPER_TABLE_H

#include "paper/text.h"

#ifdef __cplusplus
extern "C" {
#endif

struct lb_table;

enum {
  LB_TABLE_COLUMNS = 12 /* at most */
};

/* An empty table, to be released with lb_table_free; NULL when memory runs out.
 * columns  a letter for each of 1 ... LB_TABLE_COLUMNS columns: '<' begins at the left edge of the
 *          column, '>' ends at its right edge */
struct lb_table *lb_table_new(const char *columns);

/* Takes NULL too. */
void lb_table_free(struct lb_table *table);

/* Fill in the next cell with a printf-style text [UTF-8]. A table that is NULL takes nothing. */
void lb_table_cell(struct lb_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* A line across all columns, at the margin; cells still missing in the row before it stay empty. */
void lb_table_line(struct lb_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Put the table into a text.
 * indent  columns before every row of cells
 * gap     columns between two cells
 * No line ends in blanks. A table that is NULL or not whole leaves the text `failed`. */
void lb_table_render(struct lb_text *text, const struct lb_table *table, int indent, int gap);

#ifdef __cplusplus
}
#endif

#endif
