/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of speeds, cell by cell.
 */
#include "paper/sheet_curves_table.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/sheet_curves.h"

#include <math.h>

/* What the table is made from. */
struct page {
  const struct lb_machine *machine;
  const struct lb_curves *curves;
  struct lb_style style;
};

enum {
  COLUMNS_MOST = 9,
  ROWS_MOST = LB_SHEET_CURVES_MOST + 1
};

/* A table in the making. */
struct table {
  struct lb_shown text[ROWS_MOST * COLUMNS_MOST];
  const char *cell[ROWS_MOST * COLUMNS_MOST];
  int cells, rows;
};

static void add_cell(struct table *table, const char *text) {
  lb_format(table->text[table->cells].text, sizeof table->text[0].text, "%s", text);
  table->cell[table->cells] = table->text[table->cells].text;
  table->cells++;
}

static void add_heading(struct table *table, const char *name, const char *unit) {
  char text[64];
  lb_format(text, sizeof text, "%s\n%s", name, unit);
  add_cell(table, text);
}

/* A speed, or that there is none. */
static void add_speed(struct table *table, double speed) {
  add_cell(table, speed > 0 ? lb_show_number(speed / LB_RPM, 0).text : "-");
}

/* Where a tenth of the slow work is lost, which may be below the range. */
static void add_tenth_lost(struct table *table, const struct lb_curve *c) {
  const double left = 0.9; /* [1] of the slow work */
  char text[32];
  if (c->found && c->slow.work > 0 && !(c->tenth_lost_speed > 0) &&
      c->point[0].revolution.work < left * c->slow.work) {
    lb_format(text, sizeof text, "under %.4g", c->point[0].speed / LB_RPM);
    add_cell(table, text);
    return;
  }
  add_speed(table, c->tenth_lost_speed);
}

/* A figure in a column with so many decimals, or that there is none. */
static void add_figure_cell(struct table *table, const struct page *p, enum lb_measure measure,
                            bool there, double value, int decimals) {
  add_cell(table,
           there ? lb_show_number(lb_show_value(&p->style, measure, value), decimals).text : "-");
}

bool lb_curves_table_has_economy(const struct lb_curves *curves) {
  bool any = false;
  for (size_t i = 0; i < curves->curves; i++)
    any = any || curves->curve[i].best_economy_speed > 0;
  return any;
}

static void add_headings(struct table *table, const struct page *p) {
  const struct lb_style *style = &p->style;
  add_heading(table, "supply", lb_show_unit(style, LB_SHOW_GAUGE));
  add_heading(table, "slow", lb_show_unit(style, LB_SHOW_TORQUE));
  add_heading(table, "tenth lost", "rpm");
  if (p->machine->load_torque > 0)
    add_heading(table, "at the load", "rpm");
  add_heading(table, "best power", "rpm");
  add_heading(table, "there", lb_show_unit(style, LB_SHOW_POWER));
  add_heading(table, "no load", "rpm");
  if (!lb_curves_table_has_economy(p->curves))
    return;
  add_heading(table, "economy", "rpm");
  add_heading(table, "there", lb_show_unit(style, LB_SHOW_YIELD));
}

/* Decimals of the columns that are no speeds. */
struct decimals {
  int torque, power, yield;
};

static struct decimals decimals_of(const struct page *p) {
  double torque[LB_SHEET_CURVES_MOST], power[LB_SHEET_CURVES_MOST], yield[LB_SHEET_CURVES_MOST];
  size_t count = p->curves->curves;
  for (size_t i = 0; i < count; i++) {
    const struct lb_curve *c = &p->curves->curve[i];
    torque[i] = c->found ? c->slow.mean_torque : (double)NAN;
    power[i] = c->best_power_speed > 0 ? c->best_power : (double)NAN;
    yield[i] = c->best_economy_speed > 0 ? c->best_economy : (double)NAN;
  }
  return (struct decimals){lb_show_decimals(&p->style, LB_SHOW_TORQUE, torque, count),
                           lb_show_decimals(&p->style, LB_SHOW_POWER, power, count),
                           lb_show_decimals(&p->style, LB_SHOW_YIELD, yield, count)};
}

/* The speeds a builder asks for. */
static void fill_table(struct table *table, const struct page *p) {
  const struct decimals decimals = decimals_of(p);
  add_headings(table, p);
  for (size_t i = 0; i < p->curves->curves; i++) {
    const struct lb_curve *c = &p->curves->curve[i];
    add_figure_cell(table, p, LB_SHOW_GAUGE, true, c->supply_pressure, p->style.inch ? 1 : 2);
    add_figure_cell(table, p, LB_SHOW_TORQUE, c->found, c->slow.mean_torque, decimals.torque);
    add_tenth_lost(table, c);
    if (p->machine->load_torque > 0)
      add_speed(table, c->load_speed);
    add_speed(table, c->best_power_speed);
    add_figure_cell(table, p, LB_SHOW_POWER, c->best_power_speed > 0, c->best_power,
                    decimals.power);
    add_speed(table, c->no_load_speed);
    if (!lb_curves_table_has_economy(p->curves))
      continue;
    add_speed(table, c->best_economy_speed);
    add_figure_cell(table, p, LB_SHOW_YIELD, c->best_economy_speed > 0, c->best_economy,
                    decimals.yield);
  }
  table->rows = 1 + (int)p->curves->curves;
}

struct lb_box lb_curves_table(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                              struct lb_box box) {
  struct table table = {.cells = 0};
  const double wider = 0.6; /* [1] */
  double width[COLUMNS_MOST];
  const struct page p = {sheet->paper->machine, sheet->curves, lb_sheet_style(sheet)};
  fill_table(&table, &p);
  int columns = table.cells / table.rows;
  bool economy = lb_curves_table_has_economy(p.curves); /* whose last column has the longest unit */
  double even = (box.right - box.left) / (columns + (economy ? wider : 0));
  for (int i = 0; i < columns; i++)
    width[i] = economy && i + 1 == columns ? (1 + wider) * even : even;
  return lb_sheet_table(drawing, box, LB_LETTERS_SMALL, table.cell, table.rows, columns, width);
}
