/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The note about one revolution, and its data.
 */
#include "paper/answer_cycle.h"

#include "base/constants.h"
#include "paper/answer_cutoff_page.h"
#include "paper/sketch.h"
#include "paper/table.h"
#include "paper/table_write.h"
#include "stroke/force.h"
#include "stroke/timing.h"

enum {
  DEGREES = 360,
  POINTS = DEGREES + 1
};

/* What the air does at an event: before and after it. */
struct event {
  enum lb_varied event;
  double pressure[2], temperature[2];
};

static void add_event(struct lb_cutoff_page *page, struct lb_table *table, enum lb_end end,
                      const struct event *e) {
  const struct lb_style *style = &page->style;
  double cutoff = page->paper->detail->revolution.end[end].cutoff;
  double angle = lb_timing_event(page->machine, end, e->event, cutoff);
  double travel = lb_timing_stroke_fraction(page->machine, end, angle);
  double volume = lb_timing_volume(page->machine, end, angle);
  double full = page->machine->dead_volume[end] +
                lb_machine_area(page->machine, end) * page->machine->linkage.stroke;
  int decimals = lb_show_decimals(style, LB_SHOW_VOLUME, &full, 1);
  lb_table_cell(table, "  %s", lb_timing_event_name(e->event));
  lb_table_cell(table, "%s", lb_page_angle(true, angle).text);
  lb_table_cell(table, "%s", lb_show(style, LB_SHOW_SHARE, travel).text);
  lb_table_cell(table, "%s",
                lb_show_number(lb_show_value(style, LB_SHOW_VOLUME, volume), decimals).text);
  for (int i = 0; i < 2; i++)
    lb_table_cell(
        table, "%s",
        lb_show_number(lb_show_value(style, LB_SHOW_GAUGE, e->pressure[i]), style->inch ? 1 : 2)
            .text);
  for (int i = 0; i < 2; i++)
    lb_table_cell(
        table, "%s",
        lb_show_number(lb_show_value(style, LB_SHOW_TEMPERATURE, e->temperature[i]), 0).text);
}

/* The four events of an end. */
static void add_events(struct lb_cutoff_page *page, enum lb_end end) {
  const struct lb_machine *m = page->machine;
  const struct lb_turn *t = &page->paper->detail->revolution.end[end].turn;
  double p_s = m->supply_pressure, p_e = m->back_pressure;
  const struct event events[] = {
      {LB_VARIED_INLET_OPENS,
       {t->compression_pressure, p_s},
       {t->compression_temperature, t->filled_temperature}},
      {LB_VARIED_CUTOFF, {p_s, p_s}, {t->cutoff_temperature, t->cutoff_temperature}},
      {LB_VARIED_RELEASE,
       {t->release_pressure, p_e},
       {t->release_temperature, t->exhaust_temperature}},
      {LB_VARIED_EXHAUST_CLOSES, {p_e, p_e}, {t->closing_temperature, t->closing_temperature}}};
  struct lb_table *table = lb_table_new("<>>>>>>>");
  const char *pressure = lb_show_unit(&page->style, LB_SHOW_GAUGE);
  const char *temperature = lb_show_unit(&page->style, LB_SHOW_TEMPERATURE);
  lb_table_cell(table, "At the %s", lb_page_end(end));
  lb_table_cell(table, "after its dc");
  lb_table_cell(table, "of stroke");
  lb_table_cell(table, "%s", lb_show_unit(&page->style, LB_SHOW_VOLUME));
  lb_table_cell(table, "%s", pressure);
  lb_table_cell(table, "then");
  lb_table_cell(table, "%s", temperature);
  lb_table_cell(table, "then");
  for (size_t i = 0; i < sizeof events / sizeof events[0]; i++)
    add_event(page, table, end, &events[i]);
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
}

/* That the machine would not turn, if so. */
static void add_verdict(struct lb_cutoff_page *page) {
  if (page->paper->detail->revolution.work > 0)
    return;
  lb_text_add(page->out, "\n");
  lb_page_refusals(page);
}

enum lb_status lb_answer_cycle_text(char **text, const struct lb_cutoff_paper *paper, bool inch,
                                    struct lb_error *error) {
  struct lb_text out = {0};
  struct lb_cutoff_page page = lb_page_begin(paper, inch, true, &out);
  lb_page_head(&page);
  if (paper->rule == LB_AS_TIMED && !page.own_timing)
    lb_text_add(&out, "Timing: that of the file, its cut-off chosen for %s\n",
                lb_page_choice(&page, LB_ATMOSPHERIC));
  else
    lb_text_add(&out, "Timing: %s\n", lb_page_choice(&page, paper->rule));
  if (paper->detail) {
    struct lb_detail_page detail = lb_page_detail(&page);
    for (int end = 0; end < LB_ENDS; end++)
      if (paper->machine->works[end])
        add_events(&page, (enum lb_end)end);
    lb_text_add(&out, "  (dc: dead centre; pressure and temperature before the event, and then)\n");
    lb_page_gain(&page);
    add_verdict(&page);
    lb_page_details(&page);
    lb_detail_starting(&detail);
    lb_detail_audit(&detail);
    lb_detail_sensitivity(&detail, true);
    lb_detail_tolerance(&detail, true);
    if (paper->sketch) {
      lb_text_add(&out, "\n");
      lb_sketch_timing(&out, paper->machine, paper->detail->cutoff);
    }
  } else {
    lb_text_add(&out, "\n");
    lb_page_refusals(&page);
  }
  lb_page_end_note(&page);
  return lb_text_take(text, &out, error);
}

/* A slow revolution whose torque is asked for. */
struct slow_turn {
  const struct lb_cycle *cycle;
  const double *cutoff;
};

static double slow_torque(double angle, const void *context) {
  const struct slow_turn *turn = context;
  return lb_torque_machine(turn->cycle, turn->cutoff, LB_RUNNING, angle);
}

enum lb_status lb_answer_cycle_json(char **json, const struct lb_cutoff_paper *paper,
                                    const struct lb_cycle *cycle, struct lb_error *error) {
  struct lb_record record = {0};
  lb_page_record_head(&record, paper->machine, "cycle", true);
  lb_record_text(&record, "rule", lb_cutoff_rule_name(paper->rule));
  lb_record_number(&record, "speed_rpm", 0);
  lb_page_record_choice(&record, paper->machine, &paper->answer->choice[paper->rule], "result");
  if (paper->detail) {
    lb_detail_record_audit(&record, &paper->detail->audit);
    const struct slow_turn turn = {cycle, paper->detail->cutoff};
    lb_page_record_torque(&record, slow_torque, &turn);
  } else {
    lb_record_null(&record, "audit");
    lb_record_null(&record, "torque");
  }
  lb_detail_record(&record, paper->machine, paper->detail);
  lb_record_warnings(&record, paper->warning, paper->warnings);
  enum lb_status status = lb_table_write_json(json, &record, error);
  lb_record_free(&record);
  return status;
}

/* The row of one crank angle. */
static void add_point(struct lb_record *record, const struct lb_machine *machine,
                      const struct lb_cycle *cycle, const double *cutoff, int degrees) {
  static const char *const pressure_key[] = {"cap_pressure_pa", "rod_pressure_pa"};
  static const char *const volume_key[] = {"cap_volume_m3", "rod_volume_m3"};
  double angle = degrees * LB_DEGREE, pressure[LB_ENDS];
  lb_force_pressures(pressure, lb_cycle_force(cycle), cutoff, angle);
  lb_record_number(record, "angle_deg", degrees);
  lb_record_number(record, "torque_nm", lb_torque_machine(cycle, cutoff, LB_RUNNING, angle));
  lb_record_number(record, "standstill_torque_nm",
                   lb_torque_machine(cycle, cutoff, LB_STANDSTILL, angle));
  lb_record_number(record, "cylinder_torque_nm",
                   lb_torque_cylinder(cycle, cutoff, LB_RUNNING, angle));
  for (int end = 0; end < LB_ENDS; end++) {
    bool works = machine->works[end];
    double own = angle - lb_linkage_dead_centre(&machine->linkage, (enum lb_end)end);
    lb_record_number_if(record, works, pressure_key[end], pressure[end]);
    lb_record_number_if(record, works, volume_key[end],
                        lb_timing_volume(machine, (enum lb_end)end, own));
  }
}

enum lb_status lb_answer_cycle_csv(char **csv, const struct lb_cutoff_paper *paper,
                                   const struct lb_cycle *cycle, struct lb_error *error) {
  struct lb_record row[POINTS] = {0};
  size_t rows = 0;
  for (int i = 0; paper->detail && i < POINTS; i++)
    add_point(&row[rows++], paper->machine, cycle, paper->detail->cutoff, i);
  struct lb_text none = {0};
  enum lb_status status =
      rows ? lb_table_write_csv(csv, row, rows, error) : lb_text_take(csv, &none, error);
  for (size_t i = 0; i < rows; i++)
    lb_record_free(&row[i]);
  return status;
}
