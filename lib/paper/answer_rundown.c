/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The note about running a store down, from its blocks; what is run from, and against what.
 */
#include "paper/answer_rundown.h"

#include "base/constants.h"
#include "paper/answer_rundown_page.h"

#include <math.h>

struct lb_rundown_page lb_rundown_page_begin(const struct lb_rundown_paper *paper,
                                             const struct lb_cutoff_paper *head, bool inch,
                                             struct lb_text *out) {
  return (struct lb_rundown_page){.page = lb_page_begin(head, inch, true, out),
                                  .rundown = paper->rundown,
                                  .coasts = paper->machine->load.coasting != LB_COASTING_NONE,
                                  .vehicle = paper->rundown->demand.distance > 0};
}

/* "Store 10.0 L at 200.00 bar gauge (...), 18 degC: 2.37 kg of air, 1992 L ANR; vessel 12.0 kg". */
static void add_store(struct lb_rundown_page *page) {
  const struct lb_store *store = &page->page.machine->store;
  const struct lb_style *style = &page->page.style;
  struct lb_text line = {0};
  lb_text_add(&line, "Store %s at %s, ", lb_show(style, LB_SHOW_ROOM, store->volume).text,
              lb_show_pressure(style, store->start_pressure).text);
  lb_text_add(&line, "%s: ", lb_show(style, LB_SHOW_TEMPERATURE, store->temperature).text);
  lb_text_add(&line, "%s of air, ", lb_show(style, LB_SHOW_MASS, page->rundown->start_mass).text);
  lb_text_add(&line, "%s", lb_show(style, LB_SHOW_AIR, page->rundown->start_mass).text);
  if (store->vessel_mass > 0)
    lb_text_add(&line, "; vessel %s", lb_show(style, LB_SHOW_MASS, store->vessel_mass).text);
  if (store->heat == LB_STORE_ISOTHERMAL)
    lb_text_add(&line, "; its walls keep the air at their temperature");
  else if (store->heat == LB_STORE_ADIABATIC)
    lb_text_add(&line, "; no heat from its walls");
  else
    lb_text_add(&line, "; its walls warm the air with a time constant of %s",
                lb_show(style, LB_SHOW_DURATION, store->time_constant).text);
  if (store->lowest_pressure > 0)
    lb_text_add(&line, "; not below %s", lb_show_pressure(style, store->lowest_pressure).text);
  lb_page_paragraph(&page->page, "", &line);
}

static void add_regulator(struct lb_rundown_page *page) {
  const struct lb_regulator *regulator = &page->page.machine->regulator;
  const struct lb_style *style = &page->page.style;
  struct lb_text line = {0};
  if (!regulator->given)
    return;
  lb_text_add(&line, "Regulator set to %s", lb_show_pressure(style, regulator->set_pressure).text);
  if (regulator->least_difference > 0)
    lb_text_add(&line, ", at least %s below the store",
                lb_show(style, LB_SHOW_PRESSURE, regulator->least_difference).text);
  lb_page_paragraph(&page->page, "", &line);
}

/* The parts of a vehicle's load, as forces at the rim of its wheel. */
static void add_vehicle(struct lb_text *line, const struct lb_rundown_page *page) {
  const struct lb_demand *demand = &page->rundown->demand;
  const struct lb_style *style = &page->page.style;
  lb_text_add(line, "; at the wheel %s rolling",
              lb_show(style, LB_SHOW_FORCE, demand->rolling).text);
  if (demand->climbing != 0)
    lb_text_add(line, ", %s %s", lb_show(style, LB_SHOW_FORCE, fabs(demand->climbing)).text,
                demand->climbing > 0 ? "climbing" : "back from going downhill");
  if (demand->drag_left_out)
    lb_text_add(line, ", drag and wind left out, which need a speed");
  else if (demand->drag != 0)
    lb_text_add(line, ", %s %s", lb_show(style, LB_SHOW_FORCE, fabs(demand->drag)).text,
                demand->drag > 0 ? "drag" : "back from the wind");
  if (demand->vehicle_speed > 0)
    lb_text_add(line, ", at %s", lb_show(style, LB_SHOW_ROAD_SPEED, demand->vehicle_speed).text);
  lb_text_add(line, "; %s a turn of the crank",
              lb_show(style, LB_SHOW_DISTANCE, demand->distance).text);
}

static void add_load(struct lb_rundown_page *page) {
  const struct lb_demand *demand = &page->rundown->demand;
  const struct lb_style *style = &page->page.style;
  struct lb_text line = {0};
  lb_text_add(&line, "Load %s at the crank, ", lb_show(style, LB_SHOW_TORQUE, demand->torque).text);
  lb_text_add(&line, "%s a revolution", lb_show(style, LB_SHOW_WORK, demand->work).text);
  if (page->vehicle)
    add_vehicle(&line, page);
  lb_page_paragraph(&page->page, "", &line);
}

/* What becomes of a surplus. */
static void add_coasting(struct lb_rundown_page *page) {
  struct lb_text line = {0};
  switch (page->page.machine->load.coasting) {
  case LB_COASTING_NONE:
    lb_text_add(&line, "No coasting: what it gives beyond the load is lost");
    break;
  case LB_COASTING_FREEWHEEL:
    lb_text_add(&line, "Coasting: what it gives beyond the load carries it on, the cylinder at "
                       "rest (freewheel)");
    break;
  case LB_COASTING_MOTORING:
    lb_text_add(&line,
                "Coasting: what it gives beyond the load carries it on, with the cylinder vented "
                "and moving along, which costs %s a revolution",
                lb_show(&page->page.style, LB_SHOW_WORK, page->rundown->demand.motoring_work).text);
    break;
  }
  lb_page_paragraph(&page->page, "", &line);
}

/* Whose timing the plans with a fixed one have. */
static void add_timing(struct lb_rundown_page *page, enum lb_rule rule) {
  struct lb_text line = {0};
  if (rule == LB_AS_TIMED && !page->page.own_timing)
    lb_text_add(&line,
                "Fixed timing: that of the file, its cut-off chosen for %s at the supply "
                "pressure",
                lb_page_choice(&page->page, LB_ATMOSPHERIC));
  else
    lb_text_add(&line, "Fixed timing: %s%s", lb_page_choice(&page->page, rule),
                rule == LB_AS_TIMED ? "" : " at the supply pressure");
  lb_page_paragraph(&page->page, "", &line);
}

enum lb_status lb_answer_rundown_text(char **text, const struct lb_rundown_paper *paper, bool inch,
                                      struct lb_error *error) {
  struct lb_text out = {0};
  const struct lb_cutoff_paper head = {.machine = paper->machine,
                                       .margin = paper->margin,
                                       .speed = paper->rundown->speed,
                                       .rule = paper->rule,
                                       .warning = paper->warning,
                                       .warnings = paper->warnings};
  struct lb_rundown_page page = lb_rundown_page_begin(paper, &head, inch, &out);
  lb_page_head(&page.page);
  add_store(&page);
  add_regulator(&page);
  add_load(&page);
  add_coasting(&page);
  add_timing(&page, paper->rule);
  lb_rundown_page_verdict(&page);
  lb_rundown_page_settings(&page);
  lb_rundown_page_figures(&page);
  lb_rundown_page_positions(&page);
  lb_rundown_page_books(&page);
  lb_rundown_page_least_supply(&page);
  lb_page_end_note(&page.page);
  return lb_text_take(text, &out, error);
}
