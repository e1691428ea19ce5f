/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The note about the curves, and their data. One function gives the figures of a point, so that
 * JSON and CSV cannot differ.
 */
#include "paper/answer_curves.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/record.h"
#include "paper/table.h"
#include "paper/table_write.h"
#include "physics/air.h"

#include <math.h>
#include <stdlib.h>

enum {
  STEPS_SHOWN = 12 /* of a curve in the note */
};
static const double crawl = 60 * LB_RPM; /* [rad/s] below it a tenth of a rpm is shown */
static const double litre = 1e-3;        /* [m3] */
static const double tenth_lost = 0.9;    /* [1] share of the slow work left then */

static const char *const end_key[LB_ENDS] = {"cap", "rod"};

/* ---------- the note ---------- */

/* A speed in rpm, or that there is none. */
static struct lb_shown speed_of(double speed) {
  return speed > 0 ? lb_show_number(speed / LB_RPM, 0) : (struct lb_shown){"-"};
}

/* A cell with a value of a measure. */
static void add_cell(struct lb_table *table, const struct lb_style *style, enum lb_measure measure,
                     double value, int decimals) {
  lb_table_cell(table, "%s", lb_show_number(lb_show_value(style, measure, value), decimals).text);
}

/* Where a tenth of the slow work is lost, which may be below the range. */
static struct lb_shown tenth_lost_of(const struct lb_curve *c) {
  struct lb_shown shown = speed_of(c->tenth_lost_speed);
  if (c->found && c->slow.work > 0 && !(c->tenth_lost_speed > 0) &&
      c->point[0].revolution.work < tenth_lost * c->slow.work)
    lb_format(shown.text, sizeof shown.text, "under %.4g", c->point[0].speed / LB_RPM);
  return shown;
}

/* The speeds a builder asks for. */
static void add_speeds(struct lb_cutoff_page *page, const struct lb_curves_paper *paper) {
  const struct lb_style *style = &page->style;
  bool load = paper->machine->load_torque > 0;
  struct lb_table *table = lb_table_new(load ? ">>>>>>>" : ">>>>>>");
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_GAUGE));
  lb_table_cell(table, "slow %s", lb_show_unit(style, LB_SHOW_TORQUE));
  lb_table_cell(table, "no load");
  lb_table_cell(table, "best power");
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_POWER));
  lb_table_cell(table, "tenth lost");
  if (load)
    lb_table_cell(table, "at the load");
  for (size_t i = 0; i < paper->curves->curves; i++) {
    const struct lb_curve *c = &paper->curves->curve[i];
    add_cell(table, style, LB_SHOW_GAUGE, c->supply_pressure, style->inch ? 1 : 2);
    add_cell(table, style, LB_SHOW_TORQUE, c->found ? c->slow.mean_torque : (double)NAN, 2);
    lb_table_cell(table, "%s", speed_of(c->no_load_speed).text);
    lb_table_cell(table, "%s", speed_of(c->best_power_speed).text);
    lb_table_cell(table, "%s",
                  c->best_power > 0
                      ? lb_show_number(lb_show_value(style, LB_SHOW_POWER, c->best_power),
                                       style->inch ? 3 : 1)
                            .text
                      : "-");
    lb_table_cell(table, "%s", tenth_lost_of(c).text);
    if (load)
      lb_table_cell(table, "%s", speed_of(c->load_speed).text);
  }
  lb_text_add(page->out, "\nSpeeds in rpm, by supply pressure\n");
  lb_table_render(page->out, table, 2, 2);
  lb_table_free(table);
}

/* What the columns of that table mean. */
static void add_legend(struct lb_cutoff_page *page, const struct lb_curves_paper *paper) {
  struct lb_text line = {0};
  const struct lb_curves *curves = paper->curves;
  lb_text_add(&line,
              "No load: the torque has come down to nothing. Tenth lost: a tenth of the slow work "
              "is lost.");
  if (paper->machine->load_torque > 0)
    lb_text_add(&line, " At the load: the torque has come down to the %s asked for.",
                lb_show(&page->style, LB_SHOW_TORQUE, paper->machine->load_torque).text);
  lb_text_add(&line, " -: nowhere from %.4g to %.4g rpm.", curves->speed[0] / LB_RPM,
              curves->speed[curves->speeds - 1] / LB_RPM);
  lb_page_paragraph(page, "  ", &line);
}

/* Where a curve makes most of its air. */
static void add_economy(struct lb_cutoff_page *page, const struct lb_curve *c) {
  struct lb_text line = {0};
  if (c->best_economy_speed > 0)
    lb_text_add(&line, "Most work from the air at %.0f rpm: %s.", c->best_economy_speed / LB_RPM,
                lb_show(&page->style, LB_SHOW_YIELD, c->best_economy).text);
  else if (c->point[0].revolution.work > 0)
    lb_text_add(&line, "Most work from the air at the lowest speed: the slower, the better.");
  lb_page_paragraph(page, "  ", &line);
}

static void add_point(struct lb_cutoff_page *page, struct lb_table *table,
                      const struct lb_running *p, int rpm_decimals) {
  const struct lb_style *style = &page->style;
  const struct lb_revolution *r = &p->revolution;
  lb_table_cell(table, "%.*f", rpm_decimals, p->speed / LB_RPM);
  add_cell(table, style, LB_SHOW_TORQUE, r->mean_torque, 2);
  lb_table_cell(
      table, "%s",
      lb_show_number(lb_show_value(style, LB_SHOW_POWER, p->power), style->inch ? 3 : 1).text);
  add_cell(table, style, LB_SHOW_AIR, r->air, style->inch ? 4 : 3);
  add_cell(table, style, LB_SHOW_YIELD, r->air > 0 ? r->work_per_kg : (double)NAN,
           style->inch ? 0 : 1);
  for (int end = 0; end < LB_ENDS; end++)
    if (page->machine->works[end])
      add_cell(table, style, LB_SHOW_GAUGE, r->end[end].turn.release_pressure, style->inch ? 1 : 2);
  add_cell(table, style, LB_SHOW_TEMPERATURE, lb_running_coldest(p, page->machine), 0);
}

/* One curve in a few steps. */
static void add_curve(struct lb_cutoff_page *page, const struct lb_curves *curves,
                      const struct lb_curve *c) {
  const struct lb_style *style = &page->style;
  lb_text_add(page->out, "\nSupply %s\n", lb_show_pressure(style, c->supply_pressure).text);
  if (!c->found) {
    lb_text_wrap(page->out, LB_PAGE_WIDTH, "  ", "  ", c->why);
    return;
  }
  struct lb_table *table = lb_table_new(page->both_ends ? ">>>>>>>>" : ">>>>>>>");
  lb_table_cell(table, "rpm");
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_TORQUE));
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_POWER));
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_AIR));
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_YIELD));
  for (int end = 0; end < LB_ENDS; end++)
    if (page->machine->works[end])
      lb_table_cell(table, "%s end", end_key[end]);
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_TEMPERATURE));
  size_t shown = curves->speeds < STEPS_SHOWN ? curves->speeds : STEPS_SHOWN;
  int rpm_decimals = curves->speed[curves->speeds - 1] < crawl ? 1 : 0;
  for (size_t i = 0; i < shown; i++)
    add_point(page, table, &c->point[(i + 1) * curves->speeds / shown - 1], rpm_decimals);
  lb_table_render(page->out, table, 2, 2);
  lb_table_free(table);
  add_economy(page, c);
}

/* What the columns of the curves mean. */
static void add_columns(struct lb_cutoff_page *page) {
  struct lb_text line = {0};
  enum lb_end worked = page->machine->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  lb_text_add(&line, "(per revolution; %s: %s at release; %s: the coldest air in the cylinder)",
              page->both_ends ? "cap end, rod end" : lb_page_end(worked),
              lb_show_unit(&page->style, LB_SHOW_GAUGE),
              lb_show_unit(&page->style, LB_SHOW_TEMPERATURE));
  lb_page_paragraph(page, "  ", &line);
}

/* Whose timing the curves have. */
static void add_timing(struct lb_cutoff_page *page, enum lb_rule rule) {
  struct lb_text line = {0};
  lb_text_add(&line, "Timing: %s",
              rule == LB_AS_TIMED && !page->own_timing
                  ? "that of the file, its cut-off that of the slow cycle for release at back "
                    "pressure, at each supply pressure"
              : rule == LB_AS_TIMED ? "as timed in the file, at every pressure"
              : rule == LB_ECONOMY  ? "best economy of the slow cycle, at each supply pressure"
                                   : "atmospheric rule of the slow cycle, at each supply pressure");
  lb_page_paragraph(page, "", &line);
}

enum lb_status lb_answer_curves_text(char **text, const struct lb_curves_paper *paper, bool inch,
                                     struct lb_error *error) {
  struct lb_text out = {0};
  const struct lb_cutoff_paper head = {.machine = paper->machine,
                                       .margin = paper->margin,
                                       .speed = (double)INFINITY,
                                       .rule = paper->rule,
                                       .warning = paper->warning,
                                       .warnings = paper->warnings};
  struct lb_cutoff_page page = lb_page_begin(&head, inch, true, &out);
  lb_page_head(&page);
  add_timing(&page, paper->rule);
  add_speeds(&page, paper);
  add_legend(&page, paper);
  for (size_t i = 0; i < paper->curves->curves; i++)
    add_curve(&page, paper->curves, &paper->curves->curve[i]);
  add_columns(&page);
  lb_page_end_note(&page);
  return lb_text_take(text, &out, error);
}

/* ---------- data ---------- */

static void record_point(struct lb_record *record, const struct lb_machine *machine,
                         const struct lb_curve *curve, const struct lb_running *p) {
  static const char *const release_key[LB_ENDS] = {"cap_release_pressure_pa",
                                                   "rod_release_pressure_pa"};
  const struct lb_revolution *r = &p->revolution;
  lb_record_number(record, "supply_pressure_pa", curve->supply_pressure);
  lb_record_number(record, "speed_rpm", p->speed / LB_RPM);
  lb_record_number(record, "work_per_rev_j", r->work);
  lb_record_number(record, "indicated_work_per_rev_j", r->indicated_work);
  lb_record_number(record, "friction_work_per_rev_j", r->friction_work);
  lb_record_number(record, "air_per_rev_kg", r->air);
  lb_record_number(record, "air_per_rev_l_anr", lb_air_volume_anr(r->air) / litre);
  lb_record_number(record, "mean_torque_nm", r->mean_torque);
  lb_record_number(record, "mean_effective_pressure_pa", r->mean_effective_pressure);
  lb_record_number(record, "power_w", p->power);
  lb_record_number_if(record, r->air > 0, "work_per_kg_j", r->work_per_kg);
  lb_record_number_if(record, r->isentropic_efficiency != 0, "isentropic_efficiency",
                      r->isentropic_efficiency);
  lb_record_number_if(record, r->isothermal_efficiency != 0, "isothermal_efficiency",
                      r->isothermal_efficiency);
  for (int end = 0; end < LB_ENDS; end++)
    lb_record_number_if(record, machine->works[end], release_key[end],
                        r->end[end].turn.release_pressure);
  lb_record_number(record, "coldest_temperature_k", lb_running_coldest(p, machine));
}

static void record_curve(struct lb_record *record, const struct lb_machine *machine,
                         const struct lb_curve *c) {
  static const char *const cutoff_key[LB_ENDS] = {"cap_cutoff_deg", "rod_cutoff_deg"};
  lb_record_open(record, NULL);
  lb_record_number(record, "supply_pressure_pa", c->supply_pressure);
  lb_record_truth(record, "found", c->found);
  lb_record_text(record, "why", *c->why ? c->why : NULL);
  for (int end = 0; end < LB_ENDS; end++)
    lb_record_number_if(record, c->found && machine->works[end], cutoff_key[end],
                        c->cutoff[end] / LB_DEGREE);
  lb_record_number_if(record, c->found, "slow_work_per_rev_j", c->slow.work);
  lb_record_number_if(record, c->no_load_speed > 0, "no_load_speed_rpm", c->no_load_speed / LB_RPM);
  lb_record_number_if(record, c->best_power_speed > 0, "best_power_speed_rpm",
                      c->best_power_speed / LB_RPM);
  lb_record_number_if(record, c->best_power_speed > 0, "best_power_w", c->best_power);
  lb_record_number_if(record, c->best_economy_speed > 0, "best_economy_speed_rpm",
                      c->best_economy_speed / LB_RPM);
  lb_record_number_if(record, c->best_economy_speed > 0, "best_economy_work_per_kg_j",
                      c->best_economy);
  lb_record_number_if(record, c->tenth_lost_speed > 0, "tenth_lost_speed_rpm",
                      c->tenth_lost_speed / LB_RPM);
  lb_record_number_if(record, c->load_speed > 0, "load_speed_rpm", c->load_speed / LB_RPM);
  lb_record_close(record);
}

enum lb_status lb_answer_curves_json(char **json, const struct lb_curves_paper *paper,
                                     struct lb_error *error) {
  const struct lb_curves *curves = paper->curves;
  struct lb_record record = {0};
  lb_page_record_head(&record, paper->machine, "curves", false);
  lb_record_text(&record, "rule", lb_cutoff_rule_name(paper->rule));
  lb_record_number(&record, "load_torque_nm", paper->machine->load_torque);
  lb_record_open_list(&record, "curves");
  for (size_t i = 0; i < curves->curves; i++)
    record_curve(&record, paper->machine, &curves->curve[i]);
  lb_record_close(&record);
  lb_record_open_list(&record, "points");
  for (size_t i = 0; i < curves->curves; i++)
    for (size_t k = 0; curves->curve[i].found && k < curves->speeds; k++) {
      lb_record_open(&record, NULL);
      record_point(&record, paper->machine, &curves->curve[i], &curves->curve[i].point[k]);
      lb_record_close(&record);
    }
  lb_record_close(&record);
  lb_record_warnings(&record, paper->warning, paper->warnings);
  enum lb_status status = lb_table_write_json(json, &record, error);
  lb_record_free(&record);
  return status;
}

enum lb_status lb_answer_curves_csv(char **csv, const struct lb_curves_paper *paper,
                                    struct lb_error *error) {
  const struct lb_curves *curves = paper->curves;
  struct lb_record *row = calloc(curves->curves * curves->speeds + 1, sizeof *row);
  size_t rows = 0;
  if (!row)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the rows of the curves");
  for (size_t i = 0; i < curves->curves; i++)
    for (size_t k = 0; curves->curve[i].found && k < curves->speeds; k++) {
      lb_record_text(&row[rows], "machine", paper->machine->name);
      record_point(&row[rows++], paper->machine, &curves->curve[i], &curves->curve[i].point[k]);
    }
  enum lb_status status = lb_table_write_csv(csv, row, rows, error);
  for (size_t i = 0; i < rows; i++)
    lb_record_free(&row[i]);
  free(row);
  return status;
}
