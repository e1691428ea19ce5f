/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tables of the note about running a store down. A row is a plan; what a table shows is listed
 * as columns, so that each table only names its figures.
 */
#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_rundown_page.h"
#include "paper/table.h"

#include <math.h>
#include <string.h>

/* A column: a figure of every run. */
struct column {
  bool shown;
  const char *heading;
  enum lb_measure measure; /* LB_MEASURES: a number of revolutions */
  size_t figure;           /* where it stands in a run */
  size_t less;             /* where what is taken from it stands; 0: nothing is */
  bool regulated;          /* only of runs with a regulator */
};

#define FIGURE(member) offsetof(struct lb_run, member)
#define FIGURES(columns) (sizeof(columns) / sizeof(columns)[0])

static double member(const void *run, size_t offset) {
  double value;
  memcpy(&value, (const char *)run + offset, sizeof value);
  return value;
}

static double value_of(const struct lb_run *run, const struct column *column) {
  if (!run->ran || (column->regulated && !(run->set_pressure > 0)))
    return (double)NAN;
  const double rounding = 1e-12; /* [1] */
  double whole = member(run, column->figure), less = column->less ? member(run, column->less) : 0;
  return fabs(whole - less) <= rounding * fabs(whole) ? 0 : whole - less;
}

struct lb_shown lb_rundown_page_plan(const struct lb_run *run) {
  static const char *const name[LB_PLANS] = {[LB_PLAN_UNREGULATED] = "unregulated",
                                             [LB_PLAN_REGULATED] = "regulated as set",
                                             [LB_PLAN_REGULATED_BEST] = "regulated best",
                                             [LB_PLAN_STEPPED] = "steps",
                                             [LB_PLAN_FOLLOWING] = "following"};
  struct lb_shown shown;
  if (run->plan == LB_PLAN_STEPPED)
    lb_format(shown.text, sizeof shown.text, "%d %s", run->steps, name[run->plan]);
  else
    lb_format(shown.text, sizeof shown.text, "%s", name[run->plan]);
  return shown;
}

const char *lb_rundown_page_count(int steps) {
  static const char *const count[] = {"no", "one", "two", "three", "four", "five", "six"};
  return count[steps];
}

/* Decimals of a column: a tenth of a revolution counts only while there are few. */
static int decimals_of(const struct lb_style *style, const struct column *column,
                       const double *value, size_t count) {
  const double few = 100; /* revolutions */
  double most = 0;
  if (column->measure != LB_MEASURES)
    return lb_show_decimals(style, column->measure, value, count);
  for (size_t i = 0; i < count; i++)
    most = fmax(most, value[i]); /* which passes over NaN */
  return most < few ? 1 : 0;
}

static struct lb_shown shown_of(const struct lb_style *style, const struct column *column,
                                double value, int decimals) {
  if (column->measure == LB_MEASURES)
    return lb_show_number(value, decimals);
  return lb_show_number(lb_show_value(style, column->measure, value), decimals);
}

/* The two rows above a table: what, and in which unit.
 * last  heading of a column of words behind them, or NULL */
static void add_headings(struct lb_table *table, const struct lb_style *style,
                         const struct column *column, size_t columns, const char *last) {
  lb_table_cell(table, "Plan");
  for (size_t i = 0; i < columns; i++)
    if (column[i].shown)
      lb_table_cell(table, "%s", column[i].heading);
  if (last)
    lb_table_cell(table, "%s", last);
  lb_table_cell(table, "%s", "");
  for (size_t i = 0; i < columns; i++)
    if (column[i].shown)
      lb_table_cell(table, "%s",
                    column[i].measure == LB_MEASURES ? "rev"
                                                     : lb_show_unit(style, column[i].measure));
  if (last)
    lb_table_cell(table, "%s", "");
}

/* Why a run ended, in a word or two. */
static const char *ended(const struct lb_run *run) {
  static const char *const word[] = {[LB_RUN_LOAD] = "the load",
                                     [LB_RUN_LOWEST] = "lowest pressure",
                                     [LB_RUN_PILOT] = "the pilot"};
  return word[run->ended];
}

/* A table of all plans that ran, with a last column of why they ended or without. */
static void add_table(struct lb_rundown_page *page, const char *title, const struct column *column,
                      size_t columns, const char *last) {
  const struct lb_rundown *rundown = page->rundown;
  const struct lb_style *style = &page->page.style;
  char form[LB_TABLE_COLUMNS + 1] = "<";
  int decimals[LB_TABLE_COLUMNS] = {0};
  for (size_t i = 0; i < columns; i++) {
    double value[LB_RUNS];
    for (size_t k = 0; k < rundown->runs; k++)
      value[k] = value_of(&rundown->run[k], &column[i]);
    decimals[i] = decimals_of(style, &column[i], value, rundown->runs);
    if (column[i].shown)
      strcat(form, ">");
  }
  struct lb_table *table = lb_table_new(strcat(form, last ? "<" : ""));
  add_headings(table, style, column, columns, last);
  for (size_t k = 0; k < rundown->runs; k++) {
    if (!rundown->run[k].ran)
      continue;
    lb_table_cell(table, "%s", lb_rundown_page_plan(&rundown->run[k]).text);
    for (size_t i = 0; i < columns; i++)
      if (column[i].shown)
        lb_table_cell(
            table, "%s",
            shown_of(style, &column[i], value_of(&rundown->run[k], &column[i]), decimals[i]).text);
    if (last)
      lb_table_cell(table, "%s", ended(&rundown->run[k]));
  }
  lb_text_add(page->page.out, "\n%s\n", title);
  lb_table_render(page->page.out, table, 2, 2);
  lb_table_free(table);
}

/* Whether two plans were not run for the same reason. */
static bool same_reason(const struct lb_run *one, const struct lb_run *other) {
  return !one->ran && !other->ran && strcmp(one->why, other->why) == 0;
}

/* Plans that could not be run, and why: those with one reason together. */
static void add_not_run(struct lb_rundown_page *page) {
  const struct lb_run *run = page->rundown->run;
  size_t runs = page->rundown->runs;
  for (size_t k = 0; k < runs; k++) {
    struct lb_text line = {0};
    bool told = run[k].ran;
    for (size_t i = 0; i < k && !told; i++)
      told = same_reason(&run[i], &run[k]);
    if (told)
      continue;
    lb_text_add(&line, "Not run, %s", lb_rundown_page_plan(&run[k]).text);
    for (size_t i = k + 1; i < runs; i++)
      if (same_reason(&run[k], &run[i]))
        lb_text_add(&line, ", %s", lb_rundown_page_plan(&run[i]).text);
    lb_text_add(&line, ": %s.", lb_show_sentence(&page->page.style, run[k].why).text);
    lb_page_paragraph(&page->page, "  ", &line);
  }
}

static bool any_ran(const struct lb_rundown *rundown, enum lb_plan plan) {
  for (size_t k = 0; k < rundown->runs; k++)
    if (rundown->run[k].ran && rundown->run[k].plan == plan)
      return true;
  return false;
}

static bool any_regulated(const struct lb_rundown *rundown) {
  for (size_t k = 0; k < rundown->runs; k++)
    if (rundown->run[k].ran && rundown->run[k].set_pressure > 0)
      return true;
  return false;
}

/* What the names of the plans stand for. */
static void add_names(struct lb_rundown_page *page) {
  static const char *const meaning[LB_PLANS] = {
      [LB_PLAN_UNREGULATED] = "unregulated: the store's own pressure, the fixed timing",
      [LB_PLAN_REGULATED] = "as set: the regulator of the file, the fixed timing",
      [LB_PLAN_REGULATED_BEST] = "best: its pressure and the cut-offs chosen for the range",
      [LB_PLAN_STEPPED] = "steps: the store's own pressure, so many cut-offs, the first shown",
      [LB_PLAN_FOLLOWING] =
          "following: the store's own pressure, the best cut-off at each, the first shown"};
  struct lb_text line = {0};
  for (int plan = 0; plan < LB_PLANS; plan++)
    if (any_ran(page->rundown, (enum lb_plan)plan))
      lb_text_add(&line, "%s%s", line.length ? "; " : "(", meaning[plan]);
  if (line.length)
    lb_text_add(&line, ")");
  lb_page_paragraph(&page->page, "  ", &line);
}

void lb_rundown_page_settings(struct lb_rundown_page *page) {
  const struct lb_machine *m = page->page.machine;
  const bool *works = m->works;
  const struct column columns[] = {
      {any_regulated(page->rundown), "set to", LB_SHOW_GAUGE, FIGURE(set_pressure), 0, true},
      {works[LB_CAP_END], "cap end", LB_SHOW_ANGLE, FIGURE(cutoff[LB_CAP_END]), 0, false},
      {works[LB_ROD_END], "rod end", LB_SHOW_ANGLE, FIGURE(cutoff[LB_ROD_END]), 0, false}};
  add_table(page, "The plans: regulator, and cut-off after each end's own dead centre", columns,
            FIGURES(columns), NULL);
  add_names(page);
  add_not_run(page);
}

enum lb_measure lb_rundown_page_distance(const struct lb_rundown *rundown) {
  const double long_way = 10e3; /* [m] */
  double most = 0;
  for (size_t k = 0; k < rundown->runs; k++)
    if (rundown->run[k].ran)
      most = fmax(most, rundown->run[k].distance);
  return most < long_way ? LB_SHOW_DISTANCE : LB_SHOW_ROAD;
}

static void add_range(struct lb_rundown_page *page) {
  bool vehicle = page->vehicle, coasts = page->coasts, timed = page->rundown->speed > 0;
  enum lb_measure distance = lb_rundown_page_distance(page->rundown);
  const struct column columns[] = {
      {true, "powered", LB_MEASURES, FIGURE(powered_revolutions), 0, false},
      {coasts, "with coasting", LB_MEASURES, FIGURE(revolutions), 0, false},
      {vehicle, "powered", distance, FIGURE(powered_distance), 0, false},
      {vehicle && coasts, "with coasting", distance, FIGURE(distance), 0, false},
      {timed, "time", LB_SHOW_DURATION, FIGURE(duration), 0, false}};
  add_table(page, "How far it goes", columns, FIGURES(columns), NULL);
}

static void add_work(struct lb_rundown_page *page) {
  bool leaks = page->page.machine->store.leakage > 0; /* then mass would be one column too many */
  const struct column columns[] = {
      {true, "work", LB_SHOW_ENERGY, FIGURE(work), 0, false},
      {true, "useful", LB_SHOW_ENERGY, FIGURE(useful_work), 0, false},
      {true, "surplus", LB_SHOW_ENERGY, FIGURE(work), FIGURE(useful_work), false},
      {true, "air used", LB_SHOW_AIR, FIGURE(air_used), 0, false},
      {!leaks, "air used", LB_SHOW_MASS, FIGURE(air_used), 0, false},
      {leaks, "leaked", LB_SHOW_AIR, FIGURE(air_leaked), 0, false}};
  add_table(page, "Work after friction, what of it the load took, and air", columns,
            FIGURES(columns), NULL);
}

static void add_left(struct lb_rundown_page *page) {
  bool cools = page->page.machine->store.heat != LB_STORE_ISOTHERMAL;
  const struct column columns[] = {
      {true, "air left", LB_SHOW_AIR, FIGURE(air_left), 0, false},
      {true, "air left", LB_SHOW_MASS, FIGURE(air_left), 0, false},
      {true, "at the end", LB_SHOW_GAUGE, FIGURE(end_pressure), 0, false},
      {cools, "warmed up", LB_SHOW_GAUGE, FIGURE(warmed_pressure), 0, false}};
  add_table(page, "How much stays in the tank", columns, FIGURES(columns), "stopped by");
}

static void add_strain(struct lb_rundown_page *page) {
  bool regulated = any_regulated(page->rundown);
  const struct column columns[] = {
      {true, "on the pin", LB_SHOW_FORCE, FIGURE(peak_pin_force), 0, false},
      {true, "cylinder", LB_SHOW_TEMPERATURE, FIGURE(coldest_gas), 0, false},
      {true, "tank", LB_SHOW_TEMPERATURE, FIGURE(coldest_tank), 0, false},
      {regulated, "regulator", LB_SHOW_TEMPERATURE, FIGURE(coldest_supply), 0, true}};
  add_table(page, "Greatest force, and the coldest air", columns, FIGURES(columns), NULL);
}

void lb_rundown_page_figures(struct lb_rundown_page *page) {
  add_range(page);
  add_work(page);
  add_left(page);
  add_strain(page);
}

/* ---------- fixed steps ---------- */

static void add_position(struct lb_rundown_page *page, struct lb_table *table,
                         const struct lb_position *position, const char *name) {
  const struct lb_style *style = &page->page.style;
  int decimals = style->inch ? 1 : 2;
  lb_table_cell(table, "%s", name);
  lb_table_cell(table, "%s",
                lb_show_number(lb_show_value(style, LB_SHOW_GAUGE, position->from), decimals).text);
  lb_table_cell(table, "%s",
                lb_show_number(lb_show_value(style, LB_SHOW_GAUGE, position->to), decimals).text);
  for (int end = 0; end < LB_ENDS; end++)
    if (page->page.machine->works[end])
      lb_table_cell(table, "%s", lb_page_angle(true, position->cutoff[end]).text);
}

void lb_rundown_page_positions(struct lb_rundown_page *page) {
  if (!any_ran(page->rundown, LB_PLAN_STEPPED))
    return;
  struct lb_table *table = lb_table_new(page->page.both_ends ? "<>>>>" : "<>>>");
  lb_table_cell(table, "%s", lb_show_unit(&page->page.style, LB_SHOW_GAUGE));
  lb_table_cell(table, "from");
  lb_table_cell(table, "down to");
  for (int end = 0; end < LB_ENDS; end++)
    if (page->page.machine->works[end])
      lb_table_cell(table, "%s", lb_page_end((enum lb_end)end));
  for (size_t k = 0; k < page->rundown->runs; k++) {
    const struct lb_run *run = &page->rundown->run[k];
    if (!run->ran || run->plan != LB_PLAN_STEPPED)
      continue;
    for (int i = 0; i < run->positions; i++)
      add_position(page, table, &run->position[i], i ? "" : lb_rundown_page_plan(run).text);
  }
  lb_text_add(page->page.out, "\nThe fixed steps: cut-off, and the supply at which each serves\n");
  lb_table_render(page->page.out, table, 2, 2);
  lb_table_free(table);
}

/* ---------- books ---------- */

/* A place where worth goes. */
struct part {
  const char *label;
  size_t place; /* in the books */
};

#define PLACE(member) offsetof(struct lb_run_books, member)

static const struct part parts[] = {{"still in the tank", PLACE(end)},
                                    {"crank", PLACE(crank)},
                                    {"friction", PLACE(friction)},
                                    {"regulator, throttled", PLACE(regulator)},
                                    {"pipe, by its heat", PLACE(pipe)},
                                    {"inlet, throttled", PLACE(inlet)},
                                    {"filling the dead volume", PLACE(filling)},
                                    {"pushed back", PLACE(pushed_back)},
                                    {"lost at release", PLACE(release)},
                                    {"heat in the cylinder", PLACE(heat)},
                                    {"leakage", PLACE(leakage)},
                                    {"exhaust, by its cold", PLACE(exhaust)},
                                    {"taken as an ideal gas", PLACE(ideal)},
                                    {"walls of the store", PLACE(store_walls)},
                                    {"leak of the store", PLACE(store_leak)}};

static double share_of(const struct lb_run *run, const struct part *part) {
  return run->ran ? member(&run->books, part->place) / run->books.start : (double)NAN;
}

/* Whether a part would print as something for any plan. */
static bool appears(const struct lb_rundown *rundown, const struct part *part) {
  const double shown_from = 5e-4; /* [1] */
  for (size_t k = 0; k < rundown->runs; k++)
    if (fabs(share_of(&rundown->run[k], part)) >= shown_from)
      return true;
  return false;
}

/* The name of a plan above a narrow column. */
static struct lb_shown short_name(const struct lb_run *run) {
  static const char *const name[LB_PLANS] = {[LB_PLAN_UNREGULATED] = "unreg",
                                             [LB_PLAN_REGULATED] = "set",
                                             [LB_PLAN_REGULATED_BEST] = "best",
                                             [LB_PLAN_STEPPED] = "steps",
                                             [LB_PLAN_FOLLOWING] = "follow"};
  struct lb_shown shown;
  if (run->plan == LB_PLAN_STEPPED)
    lb_format(shown.text, sizeof shown.text, "%d st", run->steps);
  else
    lb_format(shown.text, sizeof shown.text, "%s", name[run->plan]);
  return shown;
}

void lb_rundown_page_books(struct lb_rundown_page *page) {
  const struct lb_rundown *rundown = page->rundown;
  char form[LB_RUNS + 2] = "<";
  for (size_t k = 0; k < rundown->runs; k++)
    if (rundown->run[k].ran)
      strcat(form, ">");
  struct lb_table *table = lb_table_new(form);
  lb_table_cell(table, "%% of it");
  for (size_t k = 0; k < rundown->runs; k++)
    if (rundown->run[k].ran)
      lb_table_cell(table, "%s", short_name(&rundown->run[k]).text);
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
    if (!appears(rundown, &parts[i]))
      continue;
    lb_table_cell(table, "%s", parts[i].label);
    for (size_t k = 0; k < rundown->runs; k++)
      if (rundown->run[k].ran)
        lb_table_cell(table, "%s",
                      lb_show_number(100 * share_of(&rundown->run[k], &parts[i]), 1).text);
  }
  lb_text_add(page->page.out, "\nWhere the worth of the air went (%s in the store at the start)\n",
              lb_show(&page->page.style, LB_SHOW_ENERGY, rundown->start_worth).text);
  lb_table_render(page->page.out, table, 2, 1);
  lb_table_free(table);
}
