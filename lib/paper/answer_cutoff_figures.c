/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two tables of figures of the note; the choices are their columns.
 */
#include "paper/answer_cutoff_page.h"

#include "base/format.h"
#include "paper/table.h"

#include <math.h>

static const char *column_label(const struct lb_cutoff_page *page, enum lb_rule rule) {
  if (rule == LB_AS_TIMED)
    return "as timed";
  if (rule == LB_ECONOMY)
    return "economy";
  if (page->paper->margin > 0)
    return "with margin";
  return page->open_exhaust ? "atmospheric" : "back pressure";
}

/* Head of a table whose columns are the choices; the last column is for units. */
static struct lb_table *begin_choices(struct lb_cutoff_page *page, const char *title) {
  static const char *const columns[] = {"<", "<><", "<>><", "<>>><"};
  struct lb_table *table = lb_table_new(columns[page->rules]);
  lb_table_cell(table, "%s", title);
  for (int i = 0; i < page->rules; i++)
    lb_table_cell(table, "%s", column_label(page, page->rule[i]));
  lb_table_cell(table, "%s", "");
  return table;
}

static void end_choices(struct lb_cutoff_page *page, struct lb_table *table) {
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
}

/* A row with one figure for each choice. */
static void add_row(struct lb_cutoff_page *page, struct lb_table *table, const char *label,
                    enum lb_measure measure, const double *value) {
  int decimals = lb_show_decimals(&page->style, measure, value, (size_t)page->rules);
  lb_table_cell(table, "  %s", label);
  for (int i = 0; i < page->rules; i++)
    lb_table_cell(table, "%s",
                  lb_show_number(lb_show_value(&page->style, measure, value[i]), decimals).text);
  lb_table_cell(table, "%s", lb_show_unit(&page->style, measure));
}

/* A figure of the whole machine. */
struct machine_row {
  const char *label;
  enum lb_measure measure;
  double (*get)(const struct lb_revolution *revolution);
};

/* A figure of each worked end. */
struct end_row {
  const char *label;
  enum lb_measure measure;
  double (*get)(const struct lb_turn *turn);
};

static void add_machine_row(struct lb_cutoff_page *page, struct lb_table *table,
                            const struct machine_row *row) {
  double value[LB_PAGE_CHOICES];
  for (int i = 0; i < page->rules; i++) {
    const struct lb_choice *choice = &page->answer->choice[page->rule[i]];
    value[i] = choice->found ? row->get(&choice->revolution) : (double)NAN;
  }
  add_row(page, table, row->label, row->measure, value);
}

static void add_end_row(struct lb_cutoff_page *page, struct lb_table *table,
                        const struct end_row *row) {
  for (int end = 0; end < LB_ENDS; end++) {
    double value[LB_PAGE_CHOICES];
    char label[64];
    if (!page->machine->works[end])
      continue;
    for (int i = 0; i < page->rules; i++) {
      const struct lb_choice *choice = &page->answer->choice[page->rule[i]];
      value[i] = choice->found ? row->get(&choice->revolution.end[end].turn) : (double)NAN;
    }
    lb_format(label, sizeof label, "%s%s%s", row->label, page->both_ends ? ", " : "",
              page->both_ends ? lb_page_end((enum lb_end)end) : "");
    add_row(page, table, label, row->measure, value);
  }
}

static double work(const struct lb_revolution *r) {
  return r->work;
}
static double air(const struct lb_revolution *r) {
  return r->air;
}
static double yield(const struct lb_revolution *r) {
  return r->air > 0 ? r->work_per_kg : (double)NAN;
}
static double torque(const struct lb_revolution *r) {
  return r->mean_torque;
}
static double indicated(const struct lb_revolution *r) {
  return r->indicated_work;
}
static double friction(const struct lb_revolution *r) {
  return r->friction_work;
}
static double mean_pressure(const struct lb_revolution *r) {
  return r->mean_effective_pressure;
}
static double isentropic(const struct lb_revolution *r) {
  return r->isentropic_efficiency > 0 ? r->isentropic_efficiency : (double)NAN;
}
static double isothermal(const struct lb_revolution *r) {
  return r->isothermal_efficiency > 0 ? r->isothermal_efficiency : (double)NAN;
}
static double released(const struct lb_turn *t) {
  return t->release_pressure;
}
static double compressed(const struct lb_turn *t) {
  return t->compression_pressure;
}
static double left_cold(const struct lb_turn *t) {
  return t->exhaust_temperature;
}
static double stream(const struct lb_turn *t) {
  return t->outgoing_temperature;
}

void lb_page_gain(struct lb_cutoff_page *page) {
  static const struct machine_row rows[] = {{"work after friction", LB_SHOW_WORK, work},
                                            {"air", LB_SHOW_AIR, air},
                                            {"work from the air", LB_SHOW_YIELD, yield},
                                            {"mean torque", LB_SHOW_TORQUE, torque}};
  static const struct end_row release = {"released at", LB_SHOW_GAUGE, released};
  char title[48] = "Per revolution";
  if (!page->pushes)
    return;
  if (page->machine->cylinders > 1)
    lb_format(title, sizeof title, "Per revolution, %d cylinders", page->machine->cylinders);
  struct lb_table *table = begin_choices(page, title);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    add_machine_row(page, table, &rows[i]);
  add_end_row(page, table, &release);
  end_choices(page, table);
}

/* Work over the ceiling. */
static void add_ceiling_row(struct lb_cutoff_page *page, struct lb_table *table) {
  double value[LB_PAGE_CHOICES];
  for (int i = 0; i < page->rules; i++) {
    const struct lb_choice *choice = &page->answer->choice[page->rule[i]];
    bool applies = choice->found && choice->revolution.work > 0 && page->answer->ceiling > 0;
    value[i] = applies ? choice->revolution.work / page->answer->ceiling : (double)NAN;
  }
  add_row(page, table, "share of the ceiling", LB_SHOW_SHARE, value);
}

void lb_page_details(struct lb_cutoff_page *page) {
  static const struct machine_row rows[] = {
      {"work on the pistons", LB_SHOW_WORK, indicated},
      {"lost to friction", LB_SHOW_WORK, friction},
      {"mean effective pressure", LB_SHOW_PRESSURE, mean_pressure},
      {"isentropic efficiency", LB_SHOW_SHARE, isentropic},
      {"isothermal efficiency", LB_SHOW_SHARE, isothermal}};
  static const struct end_row ends[] = {
      {"compressed to", LB_SHOW_GAUGE, compressed},
      {"air left in cylinder", LB_SHOW_TEMPERATURE, left_cold},
      {"exhaust stream", LB_SHOW_TEMPERATURE, stream},
  };
  if (!page->pushes)
    return;
  struct lb_table *table = begin_choices(page, "In full");
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    add_machine_row(page, table, &rows[i]);
  add_ceiling_row(page, table);
  for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
    add_end_row(page, table, &ends[i]);
  end_choices(page, table);
  struct lb_text line = {0};
  lb_text_add(&line,
              "The ceiling is full admission without any loss: %s. Efficiencies are those of the "
              "work after friction.",
              lb_show(&page->style, LB_SHOW_WORK, page->answer->ceiling).text);
  lb_page_paragraph(page, "  ", &line);
}
