/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of plans, column by column. What a plan that was not run has no figure for is "-".
 */
#include "paper/sheet_rundown_table.h"

#include "base/format.h"
#include "paper/sheet_grid.h"

#include <math.h>

/* A table in the making. */
struct table {
  const struct lb_rundown_page *page;
  struct lb_grid grid;
  double width[LB_GRID_COLUMNS]; /* width[grid.columns] as shares */
};

/* Widths of columns [mm] on a page of 190 mm; they grow with it. */
static const double plan_width = 31, angle_width = 27, figure_width = 23;

struct lb_shown lb_rundown_table_plan(const struct lb_run *run) {
  struct lb_shown shown = lb_rundown_page_plan(run);
  if (run->plan == LB_PLAN_STEPPED)
    lb_format(shown.text, sizeof shown.text, "%s steps", lb_rundown_page_count(run->steps));
  return shown;
}

/* Which columns there are. */
struct columns {
  bool set, end[LB_ENDS], distance;
};

static struct columns columns_of(const struct lb_rundown_page *page) {
  const struct lb_rundown *rundown = page->rundown;
  const bool *works = page->page.machine->works;
  struct columns columns = {.end = {works[LB_CAP_END], works[LB_ROD_END]},
                            .distance = page->vehicle};
  for (size_t i = 0; i < rundown->runs; i++)
    columns.set = columns.set || (rundown->run[i].ran && rundown->run[i].set_pressure > 0);
  return columns;
}

static void add_heading(struct table *table, double width, const char *name, const char *unit) {
  table->width[table->grid.columns++] = width;
  lb_grid_add(&table->grid, "%s\n%s", name, unit);
}

static void add_headings(struct table *table, const struct columns *columns) {
  const struct lb_rundown_page *page = table->page;
  const struct lb_style *style = &page->page.style;
  enum lb_measure distance = lb_rundown_page_distance(page->rundown);
  add_heading(table, plan_width, "plan", "");
  if (columns->set)
    add_heading(table, figure_width, "set to", lb_show_unit(style, LB_SHOW_GAUGE));
  if (columns->end[LB_CAP_END])
    add_heading(table, angle_width, "cut-off, cap end", "deg");
  if (columns->end[LB_ROD_END])
    add_heading(table, angle_width, "cut-off, rod end", "deg");
  add_heading(table, figure_width, "revolutions", page->coasts ? "with coasting" : "powered");
  if (columns->distance)
    add_heading(table, figure_width, "distance", lb_show_unit(style, distance));
  add_heading(table, figure_width, "air left", lb_show_unit(style, LB_SHOW_AIR));
  add_heading(table, figure_width, "at the end", lb_show_unit(style, LB_SHOW_GAUGE));
}

/* A figure of one run [SI]; NaN where it has none. */
typedef double figure_of_run(const struct lb_run *run);

static double set_pressure(const struct lb_run *run) {
  return run->ran && run->set_pressure > 0 ? run->set_pressure : (double)NAN;
}

static double revolutions(const struct lb_run *run) {
  return run->ran ? run->revolutions : (double)NAN;
}

static double distance(const struct lb_run *run) {
  return run->ran ? run->distance : (double)NAN;
}

static double air_left(const struct lb_run *run) {
  return run->ran ? run->air_left : (double)NAN;
}

static double end_pressure(const struct lb_run *run) {
  return run->ran ? run->end_pressure : (double)NAN;
}

/* A cell of a measure, with the decimals that suit its column. */
static void add_figure(struct table *table, enum lb_measure measure, figure_of_run *figure,
                       const struct lb_run *run) {
  const struct lb_rundown *rundown = table->page->rundown;
  const struct lb_style *style = &table->page->page.style;
  double column[LB_RUNS];
  for (size_t i = 0; i < rundown->runs; i++)
    column[i] = figure(&rundown->run[i]);
  int decimals = lb_show_decimals(style, measure, column, rundown->runs);
  lb_grid_add(&table->grid, "%.40s",
              lb_show_number(lb_show_value(style, measure, figure(run)), decimals).text);
}

/* A tenth of a revolution counts only while there are few. */
static void add_revolutions(struct table *table, const struct lb_run *run) {
  const struct lb_rundown *rundown = table->page->rundown;
  const double few = 100; /* revolutions */
  double most = 0;
  for (size_t i = 0; i < rundown->runs; i++)
    most = fmax(most, revolutions(&rundown->run[i])); /* which passes over NaN */
  lb_grid_add(&table->grid, "%.40s", lb_show_number(revolutions(run), most < few ? 1 : 0).text);
}

/* "78.0", or from the start to the end "46.2 to 97.0". */
static void add_cutoff(struct table *table, const struct lb_run *run, enum lb_end end) {
  const double same = 0.05; /* [deg] less is not seen */
  const struct lb_style *style = &table->page->page.style;
  if (!run->ran || run->points == 0) {
    lb_grid_add(&table->grid, "-");
    return;
  }
  double first = lb_show_value(style, LB_SHOW_ANGLE, run->point[0].cutoff[end]);
  double last = lb_show_value(style, LB_SHOW_ANGLE, run->point[run->points - 1].cutoff[end]);
  if (fabs(last - first) < same)
    lb_grid_add(&table->grid, "%.20s", lb_show_number(first, 1).text);
  else
    lb_grid_add(&table->grid, "%.20s to %.20s", lb_show_number(first, 1).text,
                lb_show_number(last, 1).text);
}

static void add_row(struct table *table, const struct columns *columns, const struct lb_run *run) {
  lb_grid_add(&table->grid, "%.40s", lb_rundown_table_plan(run).text);
  if (columns->set)
    add_figure(table, LB_SHOW_GAUGE, set_pressure, run);
  for (int end = 0; end < LB_ENDS; end++)
    if (columns->end[end])
      add_cutoff(table, run, (enum lb_end)end);
  add_revolutions(table, run);
  if (columns->distance)
    add_figure(table, lb_rundown_page_distance(table->page->rundown), distance, run);
  add_figure(table, LB_SHOW_AIR, air_left, run);
  add_figure(table, LB_SHOW_GAUGE, end_pressure, run);
}

struct lb_box lb_rundown_table(struct lb_drawing *drawing, const struct lb_rundown_page *page,
                               struct lb_box box) {
  struct table table = {.page = page};
  const struct columns columns = columns_of(page);
  double whole = 0;
  add_headings(&table, &columns);
  for (size_t i = 0; i < page->rundown->runs; i++)
    add_row(&table, &columns, &page->rundown->run[i]);
  for (int i = 0; i < table.grid.columns; i++)
    whole += table.width[i];
  return lb_grid_draw(drawing, box, LB_LETTERS_SMALL, &table.grid, table.width,
                      (box.right - box.left) / whole);
}
