/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The notes about a machine at speed.
 */
#include "paper/answer_running.h"

#include "base/constants.h"
#include "base/format.h"
#include "machine/complete.h"
#include "paper/answer_cutoff_page.h"
#include "paper/table.h"
#include "physics/conductance.h"
#include "stroke/timing.h"

#include <math.h>
#include <string.h>

void lb_answer_running_choice(struct lb_choice *slow, const struct lb_machine *machine,
                              const struct lb_running_choice *choice) {
  *slow = (struct lb_choice){.found = choice->found, .revolution = choice->running.revolution};
  lb_format(slow->why, sizeof slow->why, "%s", choice->why);
  lb_format(slow->would_do, sizeof slow->would_do, "%s", choice->would_do);
  for (int end = 0; end < LB_ENDS; end++) {
    slow->end_found[end] = choice->found && machine->works[end];
    slow->cutoff[end] = choice->cutoff[end];
  }
}

static bool any_delay(const struct lb_machine *m) {
  for (int valve = 0; valve < LB_VALVES; valve++)
    if (m->valve_delay[valve].on > 0 || m->valve_delay[valve].off > 0)
      return true;
  return false;
}

/* The angles at which to switch valves that follow late. */
static void add_switching(struct lb_cutoff_page *page, const struct lb_running_paper *paper) {
  static const struct {
    enum lb_varied event;
    const char *label;
  } rows[] = {{LB_VARIED_INLET_OPENS, "  inlet on"},
              {LB_VARIED_CUTOFF, "  inlet off"},
              {LB_VARIED_RELEASE, "  exhaust on"},
              {LB_VARIED_EXHAUST_CLOSES, "  exhaust off"}};
  const struct lb_machine *m = page->machine;
  if (!paper->choice->found || !any_delay(m))
    return;
  struct lb_table *table = lb_table_new(page->both_ends ? "<>>" : "<>");
  lb_table_cell(table, "Switch, for %s", lb_page_choice(page, paper->paper.rule));
  for (int end = 0; end < LB_ENDS; end++)
    if (m->works[end])
      lb_table_cell(table, "%s", lb_page_end((enum lb_end)end));
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    lb_table_cell(table, "%s", rows[i].label);
    for (int e = 0; e < LB_ENDS; e++) {
      enum lb_end end = (enum lb_end)e;
      if (!m->works[e])
        continue;
      double angle = lb_timing_event(m, end, rows[i].event, paper->choice->cutoff[e]);
      double lead = lb_timing_lead(m, end, rows[i].event, true, paper->paper.speed);
      lb_table_cell(table, "%s", lb_page_angle(true, angle - lead).text);
    }
  }
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
  lb_text_wrap(
      page->out, LB_PAGE_WIDTH, "  ", "  ",
      "(after each end's own dead centre; the delays of the valves at this speed are in it)");
}

/* ---------- what takes work away ---------- */

/* A conductance as builders know it: "3.02 L/(s bar)", in inch units "a Cv of 0.755 (3.02 L/(s
 * bar))".
 */
static struct lb_shown size_of(const struct lb_flow *flow, double times, bool inch) {
  const double unit = 1e-8; /* [m3/(s Pa)] L/(s bar) */
  struct lb_shown shown;
  double conductance = times * flow->conductance;
  double of_one = lb_conductance_of_cv(1, flow->critical_ratio).conductance;
  if (inch)
    lb_format(shown.text, sizeof shown.text, "a Cv of %.3g (%.3g L/(s bar))", conductance / of_one,
              conductance / unit);
  else
    lb_format(shown.text, sizeof shown.text, "%.3g L/(s bar)", conductance / unit);
  return shown;
}

/* The size of both valves, so many times as wide as they are; without a tube in their way they are
 * all there is. */
static void add_wide(struct lb_text *line, const struct lb_cutoff_page *page, double times) {
  const struct lb_machine *m = page->machine;
  struct lb_flow flow[LB_VALVES];
  for (int valve = 0; valve < LB_VALVES; valve++) {
    struct lb_flow alone = lb_valve_flow(&m->valve_size[valve]);
    flow[valve] = m->tube.given && alone.conductance > 0 ? alone : m->path[valve].flow;
  }
  lb_text_add(line, "%s at the inlet and ",
              size_of(&flow[LB_INLET_VALVE], times, page->style.inch).text);
  lb_text_add(line, "%s at the exhaust",
              size_of(&flow[LB_EXHAUST_VALVE], times, page->style.inch).text);
}

/* What a tube adds to that. */
static const char *beside_tube(const struct lb_machine *machine) {
  return machine->tube.given ? ", with the tube as it is" : "";
}

static void add_width(struct lb_cutoff_page *page, const struct lb_advice *advice) {
  struct lb_text line = {0};
  double percent = advice->wanted * 100;
  if (advice->wider > 1) {
    lb_text_add(&line, "Both valves %.3g times as wide would give %.0f %% of the slow work: ",
                advice->wider, percent);
    add_wide(&line, page, advice->wider);
    lb_text_add(&line, "%s.", beside_tube(page->machine));
  } else if (advice->wider > 0) {
    lb_text_add(&line, "The valves are wide enough: for %.0f %% of the slow work ", percent);
    add_wide(&line, page, advice->wider);
    lb_text_add(&line, " would do%s.", beside_tube(page->machine));
  } else if (advice->slow.work > 0) {
    lb_text_add(&line, "No width of the valves alone gives %.0f %% of the slow work%s.", percent,
                beside_tube(page->machine));
  }
  lb_page_paragraph(page, "  ", &line);
}

/* Decimals of work beside this much: small parts matter, too. */
static int work_decimals(const struct lb_cutoff_page *page, double work) {
  int decimals = lb_show_decimals(&page->style, LB_SHOW_WORK, &work, 1);
  return decimals > 0 ? decimals : 1;
}

static struct lb_shown work_of(const struct lb_cutoff_page *page, double work, int decimals) {
  return lb_show_number(lb_show_value(&page->style, LB_SHOW_WORK, work), decimals);
}

/* One cause: what the machine would do without it. */
static void add_cause(struct lb_cutoff_page *page, struct lb_table *table,
                      const struct lb_revolution *now, const struct lb_without *without,
                      enum lb_cause cause, int decimals) {
  struct lb_shown change = work_of(page, without->work - now->work, decimals);
  bool grows = change.text[0] != '-' && strpbrk(change.text, "123456789");
  if (!without->applies)
    return;
  lb_table_cell(table, "  %s", lb_advice_cause(cause));
  lb_table_cell(table, "%s", work_of(page, without->work, decimals).text);
  lb_table_cell(table, "%s%s", grows ? "+" : "", change.text);
  lb_table_cell(
      table, "%s",
      lb_show_number(without->work_per_kg != 0
                         ? lb_show_value(&page->style, LB_SHOW_YIELD, without->work_per_kg)
                         : (double)NAN,
                     page->style.inch ? 0 : 1)
          .text);
}

/* "Slowly, without heat, the same timing gives 79.8 J; at 120 rpm 53.6 J are left, 67 % of it." */
static void add_loss(struct lb_cutoff_page *page, const struct lb_advice *advice, double work) {
  struct lb_text line = {0};
  const struct lb_style *style = &page->style;
  lb_text_add(&line, "Slowly, without heat, the same timing gives %s after friction; at %.4g rpm ",
              lb_show(style, LB_SHOW_WORK, advice->slow.work).text, page->paper->speed / LB_RPM);
  if (work < 0)
    lb_text_add(&line, "it takes %s to turn it.", lb_show(style, LB_SHOW_WORK, -work).text);
  else if (advice->slow.work > 0)
    lb_text_add(&line, "%s are left, %.0f %% of it.", lb_show(style, LB_SHOW_WORK, work).text,
                100 * work / advice->slow.work);
  else
    lb_text_add(&line, "it is %s.", lb_show(style, LB_SHOW_WORK, work).text);
  lb_text_add(page->out, "\nWhat takes work away (%s)\n", lb_page_choice(page, page->paper->rule));
  lb_page_paragraph(page, "  ", &line);
}

static void add_advice(struct lb_cutoff_page *page, const struct lb_running_paper *paper) {
  const struct lb_advice *advice = paper->advice;
  const struct lb_revolution *now = &paper->choice->running.revolution;
  if (!advice)
    return;
  int decimals = work_decimals(page, advice->slow.work);
  struct lb_table *table = lb_table_new("<>>>");
  add_loss(page, advice, now->work);
  lb_table_cell(table, "  Without");
  lb_table_cell(table, "work, %s", lb_show_unit(&page->style, LB_SHOW_WORK));
  lb_table_cell(table, "change");
  lb_table_cell(table, "%s", lb_show_unit(&page->style, LB_SHOW_YIELD));
  for (int cause = 0; cause < LB_CAUSES; cause++)
    add_cause(page, table, now, &advice->without[cause], (enum lb_cause)cause, decimals);
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
  lb_text_wrap(
      page->out, LB_PAGE_WIDTH, "  ", "  ",
      "(each taken away in turn, the rest as it is, the angles too: without dead volume less "
      "air gets in by the same cut-off; the changes do not add up)");
  add_width(page, advice);
}

enum lb_status lb_answer_running_cutoff_text(char **text, const struct lb_running_paper *paper,
                                             bool inch, struct lb_error *error) {
  struct lb_text out = {0};
  struct lb_cutoff_page page = lb_page_begin(&paper->paper, inch, false, &out);
  lb_page_head(&page);
  lb_page_angles(&page);
  add_switching(&page, paper);
  lb_page_gain(&page);
  lb_text_add(&out, "\n");
  lb_page_refusals(&page);
  lb_page_own_timing(&page);
  add_advice(&page, paper);
  lb_page_end_note(&page);
  return lb_text_take(text, &out, error);
}

/* ---------- one revolution ---------- */

/* What the air is like at an event. */
struct event {
  enum lb_varied event;
  double pressure, temperature;
};

/* The angle at which a valve acts; the cut-off is one already. */
static double angle_of(const struct lb_cutoff_page *page, const struct lb_running_choice *choice,
                       enum lb_end end, enum lb_varied event) {
  double angle = lb_timing_event(page->machine, end, event, choice->cutoff[end]);
  if (event == LB_VARIED_CUTOFF)
    return angle;
  return angle + lb_timing_lag(page->machine, end, event, page->paper->speed);
}

static void add_events(struct lb_cutoff_page *page, const struct lb_running_choice *choice,
                       enum lb_end end) {
  const struct lb_machine *m = page->machine;
  const struct lb_style *style = &page->style;
  const struct lb_gas_turn *t = &choice->running.cylinder.end[end];
  const struct event events[] = {
      {LB_VARIED_INLET_OPENS, t->compression_pressure, t->compression_temperature},
      {LB_VARIED_CUTOFF, t->cutoff_pressure, t->cutoff_temperature},
      {LB_VARIED_RELEASE, t->release_pressure, t->release_temperature},
      {LB_VARIED_EXHAUST_CLOSES, t->closing_pressure, t->closing_temperature}};
  struct lb_table *table = lb_table_new("<>>>>");
  lb_table_cell(table, "At the %s", lb_page_end(end));
  lb_table_cell(table, "after its dc");
  lb_table_cell(table, "of stroke");
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_GAUGE));
  lb_table_cell(table, "%s", lb_show_unit(style, LB_SHOW_TEMPERATURE));
  for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
    double angle = angle_of(page, choice, end, events[i].event);
    lb_table_cell(table, "  %s", lb_timing_event_name(events[i].event));
    lb_table_cell(table, "%s", lb_page_angle(true, angle).text);
    lb_table_cell(table, "%s",
                  lb_show(style, LB_SHOW_SHARE, lb_timing_stroke_fraction(m, end, angle)).text);
    lb_table_cell(
        table, "%s",
        lb_show_number(lb_show_value(style, LB_SHOW_GAUGE, events[i].pressure), style->inch ? 1 : 2)
            .text);
    lb_table_cell(
        table, "%s",
        lb_show_number(lb_show_value(style, LB_SHOW_TEMPERATURE, events[i].temperature), 0).text);
  }
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
}

/* The greatest pressure and the coldest air of both ends. */
static void add_extremes(struct lb_cutoff_page *page, const struct lb_running_choice *choice) {
  double greatest = 0, coldest = (double)INFINITY;
  struct lb_text line = {0};
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_gas_turn *t = &choice->running.cylinder.end[end];
    if (!page->machine->works[end])
      continue;
    greatest = fmax(greatest, t->greatest_pressure);
    coldest = fmin(coldest, t->coldest_temperature);
  }
  lb_text_add(&line, "Greatest pressure %s, ", lb_show_pressure(&page->style, greatest).text);
  lb_text_add(&line, "coldest air %s.", lb_show(&page->style, LB_SHOW_TEMPERATURE, coldest).text);
  if (page->machine->supply_line.conductance > 0) {
    const struct lb_gas_cylinder *c = &choice->running.cylinder;
    lb_text_add(&line, " Supply at the inlet valves: mean %s,",
                lb_show_pressure(&page->style, c->mean_supply).text);
    lb_text_add(&line, " least %s.", lb_show_pressure(&page->style, c->least_supply).text);
  }
  lb_page_paragraph(page, "  ", &line);
}

/* The power, beside the revolution's figures. */
static void add_power(struct lb_cutoff_page *page, const struct lb_running *running) {
  double per_minute = running->revolution.air * running->speed / (2 * LB_PI) * 60;
  bool inch = page->style.inch;
  lb_text_add(page->out, "  Power %.*f %s, air %s a minute\n", inch ? 3 : 1,
              lb_show_value(&page->style, LB_SHOW_POWER, running->power),
              lb_show_unit(&page->style, LB_SHOW_POWER),
              lb_show(&page->style, LB_SHOW_AIR, per_minute).text);
}

/* Where the worth of the air goes, of all cylinders. Shares are those of all that is put in: what
 * the supply brings, what a vacuum at the exhaust is worth, what drives the machine. */
static void add_worth(struct lb_cutoff_page *page, const struct lb_running *running) {
  const struct lb_gas_worth *w = &running->cylinder.worth;
  double n = page->machine->cylinders, work = running->revolution.work;
  double whole = n * w->supplied + n * fmax(0, -w->exhaust) + fmax(0, -work);
  const struct {
    const char *label;
    double value;
  } rows[] = {{"  work at the crank", work},
              {"  friction", running->revolution.friction_work},
              {"  throttled at the inlet", n * w->inlet},
              {"  mixing while filling", n * w->mixing},
              {"  throttled at the exhaust", n * w->exhaust_valve},
              {"  heat through the walls", n * w->heat},
              {"  leakage", n * w->leakage},
              {"  leaves with the exhaust", n * w->exhaust},
              {"  supplied", n * w->supplied}};
  int decimals = work_decimals(page, whole);
  struct lb_table *table = lb_table_new("<>>");
  lb_table_cell(table, "Where the worth of the air goes");
  lb_table_cell(table, "%s", lb_show_unit(&page->style, LB_SHOW_WORK));
  lb_table_cell(table, "%s", "");
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    lb_table_cell(table, "%s", rows[i].label);
    lb_table_cell(table, "%s", work_of(page, rows[i].value, decimals).text);
    lb_table_cell(table, "%s",
                  whole > 0 ? lb_show(&page->style, LB_SHOW_SHARE, rows[i].value / whole).text
                            : "");
  }
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
}

enum lb_status lb_answer_running_cycle_text(char **text, const struct lb_running_paper *paper,
                                            bool inch, struct lb_error *error) {
  struct lb_text out = {0}, timing = {0};
  struct lb_cutoff_page page = lb_page_begin(&paper->paper, inch, true, &out);
  const struct lb_running_choice *choice = paper->choice;
  lb_page_head(&page);
  if (paper->paper.rule == LB_AS_TIMED && !page.own_timing)
    lb_text_add(&timing, "Timing: that of the file, its cut-off that of the slow cycle for %s",
                lb_page_choice(&page, LB_ATMOSPHERIC));
  else
    lb_text_add(&timing, "Timing: %s", lb_page_choice(&page, paper->paper.rule));
  lb_page_paragraph(&page, "", &timing);
  if (choice->found) {
    for (int end = 0; end < LB_ENDS; end++)
      if (paper->paper.machine->works[end])
        add_events(&page, choice, (enum lb_end)end);
    lb_text_add(&out, "  (dc: dead centre)\n");
    add_extremes(&page, choice);
    lb_page_gain(&page);
    add_power(&page, &choice->running);
    add_worth(&page, &choice->running);
    add_advice(&page, paper);
  } else {
    lb_text_add(&out, "\n");
    lb_page_refusals(&page);
  }
  lb_page_end_note(&page);
  return lb_text_take(text, &out, error);
}
