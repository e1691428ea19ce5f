/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Aligned columns. All cells and lines stand in one list in the order they came; a line is a cell
 * that is marked as such and fills a row of its own.
 */
#include "paper/table.h"

#include "base/format.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

struct cell {
  char *text;
  bool is_line;
};

struct lb_table {
  int columns;
  bool right[LB_TABLE_COLUMNS];
  struct cell *cell; /* cell[count] */
  size_t count, capacity;
  int filled; /* cells in the last row, 0 ... columns - 1 */
  bool failed;
};

struct lb_table *lb_table_new(const char *columns) {
  struct lb_table *table = calloc(1, sizeof *table);
  if (!table)
    return NULL;
  for (; columns[table->columns] && table->columns < LB_TABLE_COLUMNS; table->columns++)
    table->right[table->columns] = columns[table->columns] == '>';
  return table;
}

void lb_table_free(struct lb_table *table) {
  if (!table)
    return;
  for (size_t i = 0; i < table->count; i++)
    free(table->cell[i].text);
  free(table->cell);
  free(table);
}

static bool reserve(struct lb_table *table) {
  if (table->count < table->capacity)
    return true;
  size_t capacity = table->capacity ? 2 * table->capacity : 32;
  struct cell *cell = realloc(table->cell, capacity * sizeof *cell);
  if (!cell)
    return false;
  table->cell = cell;
  table->capacity = capacity;
  return true;
}

static void add(struct lb_table *table, bool is_line, const char *format, va_list arguments) {
  va_list again;
  va_copy(again, arguments);
  int length = lb_format_list(NULL, 0, format, arguments);
  char *made = length < 0 ? NULL : malloc((size_t)length + 1);
  if (made && reserve(table)) {
    lb_format_list(made, (size_t)length + 1, format, again);
    table->cell[table->count++] = (struct cell){made, is_line};
  } else {
    free(made);
    table->failed = true;
  }
  va_end(again);
}

void lb_table_cell(struct lb_table *table, const char *format, ...) {
  if (!table)
    return;
  va_list arguments;
  va_start(arguments, format);
  add(table, false, format, arguments);
  va_end(arguments);
  table->filled = (table->filled + 1) % table->columns;
}

void lb_table_line(struct lb_table *table, const char *format, ...) {
  if (!table)
    return;
  while (table->filled > 0)
    lb_table_cell(table, "%s", "");
  va_list arguments;
  va_start(arguments, format);
  add(table, true, format, arguments);
  va_end(arguments);
}

/* Number of a row's cells up to the last that is not empty. */
static size_t used_cells(const struct cell *cell, size_t cells) {
  while (cells > 0 && !*cell[cells - 1].text)
    cells--;
  return cells;
}

/* Cells of the row that begins at a cell of the list. */
static size_t row_cells(const struct lb_table *table, size_t first) {
  size_t left = table->count - first, full = (size_t)table->columns;
  return left < full ? left : full;
}

/* Widths of the columns. The last used cell of a row may run over when it begins at the left. */
static void measure(size_t *width, const struct lb_table *table) {
  for (size_t i = 0; i < table->count;) {
    if (table->cell[i].is_line) {
      i++;
      continue;
    }
    size_t cells = row_cells(table, i), used = used_cells(&table->cell[i], cells);
    for (size_t column = 0; column < used; column++) {
      size_t wide = lb_text_columns(table->cell[i + column].text);
      bool runs_over = column + 1 == used && used < cells && !table->right[column];
      if (wide > width[column] && !runs_over)
        width[column] = wide;
    }
    i += cells;
  }
}

/* One row of cells; blanks are held back until something follows them. */
static void render_row(struct lb_text *text, const struct lb_table *table, const size_t *width,
                       const struct cell *cell, size_t cells, const int *space) {
  size_t blanks = (size_t)space[0];
  for (size_t i = 0; i < cells; i++) {
    size_t wide = lb_text_columns(cell[i].text), rest = width[i] > wide ? width[i] - wide : 0;
    if (table->right[i])
      blanks += rest;
    if (wide > 0) {
      lb_text_add(text, "%*s%s", (int)blanks, "", cell[i].text);
      blanks = 0;
    }
    if (!table->right[i])
      blanks += rest;
    blanks += (size_t)space[1];
  }
  lb_text_add(text, "\n");
}

void lb_table_render(struct lb_text *text, const struct lb_table *table, int indent, int gap) {
  if (!table || table->failed) {
    text->failed = true;
    return;
  }
  size_t width[LB_TABLE_COLUMNS] = {0};
  const int space[] = {indent, gap};
  measure(width, table);
  for (size_t i = 0; i < table->count;) {
    if (table->cell[i].is_line) {
      lb_text_add(text, "%s\n", table->cell[i++].text);
      continue;
    }
    size_t cells = row_cells(table, i);
    render_row(text, table, width, &table->cell[i], used_cells(&table->cell[i], cells), space);
    i += cells;
  }
}
