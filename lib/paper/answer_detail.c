/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Torque, audit, sensitivity and tolerance on paper.
 */
#include "paper/answer_detail.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/table.h"

#include <math.h>
#include <string.h>

enum {
  WIDTH = 79,
  BAR = 26 /* columns of the longest bar */
};

static const double same_pressure = 1; /* [Pa] less is no difference */
/* The steps that a sensitivity is shown for: a share of the dead volume [1], of the supply [Pa]. */
static const double dead_share = 0.1, supply_step = 0.1e5;

static const char *const end_name[] = {[LB_CAP_END] = "cap end", [LB_ROD_END] = "rod end"};

/* Add a paragraph that was put together in a text of its own, and release that. */
static void add_paragraph(const struct lb_detail_page *page, struct lb_text *line) {
  if (line->failed)
    page->out->failed = true;
  else
    lb_text_wrap(page->out, WIDTH, "  ", "  ", line->bytes);
  lb_text_free(line);
}

static struct lb_shown torque(const struct lb_detail_page *page, double value) {
  return lb_show(&page->style, LB_SHOW_TORQUE, value);
}

/* Torques of one sentence, in one precision. */
static void add_torques(const struct lb_detail_page *page) {
  const struct lb_detail *d = page->detail;
  const double all[] = {d->revolution.mean_torque, d->running.least, d->running.greatest,
                        d->standstill.greatest};
  struct lb_shown shown[sizeof all / sizeof all[0]];
  int decimals = lb_show_decimals(&page->style, LB_SHOW_TORQUE, all, sizeof all / sizeof all[0]);
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
    shown[i] = lb_show_number(lb_show_value(&page->style, LB_SHOW_TORQUE, all[i]), decimals);
  const char *unit = lb_show_unit(&page->style, LB_SHOW_TORQUE);
  struct lb_text line = {0};
  lb_text_add(&line, "Running, the torque is %s %s on the mean, from %s %s at %s deg of the crank ",
              shown[0].text, unit, shown[1].text, unit,
              lb_show_crank(d->running.least_angle, 0).text);
  lb_text_add(&line, "to %s %s at %s deg. ", shown[2].text, unit,
              lb_show_crank(d->running.greatest_angle, 0).text);
  lb_text_add(&line, "At standstill it is at most %s %s, at %s deg.", shown[3].text, unit,
              lb_show_crank(d->standstill.greatest_angle, 0).text);
  add_paragraph(page, &line);
}

/* "It does not start against a load of 3 N m from 78.0 to 180.0, 258.0 to 360.0 deg: ..." */
static void add_arcs(const struct lb_detail_page *page) {
  const struct lb_detail *d = page->detail;
  struct lb_text line = {0};
  /* beyond a turn an arc ends in the next revolution */
  const double turn = 2 * LB_PI + LB_DEGREE / 1000;
  bool everywhere = lb_detail_dead(d) >= 2 * LB_PI - LB_DEGREE / 1000;
  lb_text_add(&line, d->arcs == 0 ? "It starts" : "It does not start");
  if (page->machine->load_torque > 0)
    lb_text_add(&line, " against a load of %s", torque(page, page->machine->load_torque).text);
  if (d->arcs == 0)
    lb_text_add(&line, " from every position.");
  else if (everywhere)
    lb_text_add(&line, " from any position.");
  for (size_t i = 0; !everywhere && i < d->arcs; i++)
    lb_text_add(&line, "%s %.1f to %.1f", i ? "," : " from", d->arc[i].from / LB_DEGREE,
                d->arc[i].to / LB_DEGREE - (d->arc[i].to > turn ? 360 : 0));
  if (!everywhere && d->arcs > 0)
    lb_text_add(&line, " deg: dead arcs of %.*f deg in 360, to be passed by hand or flywheel.",
                lb_detail_dead(d) / LB_DEGREE < 10 ? 1 : 0, lb_detail_dead(d) / LB_DEGREE);
  add_paragraph(page, &line);
}

static void add_supplies(const struct lb_detail_page *page) {
  const struct lb_starting_supply *s = &page->detail->starting;
  struct lb_text line = {0};
  if (!s->best_found) {
    lb_text_add(&line, "No supply pressure starts it, not even from its best position.");
  } else {
    lb_text_add(&line, "From its best position, %s deg, it starts with a supply of %s or more",
                lb_show_crank(s->best_angle, 0).text, lb_show_pressure(&page->style, s->best).text);
    if (s->anywhere_found)
      lb_text_add(&line, ", from any with %s.", lb_show_pressure(&page->style, s->anywhere).text);
    else
      lb_text_add(&line, "; no pressure makes it start from every position, because dead arcs come "
                         "from the timing.");
  }
  add_paragraph(page, &line);
}

void lb_detail_starting(const struct lb_detail_page *page) {
  lb_text_add(page->out, "\nTorque and starting (crank angles from %s cap-end dead centre)\n",
              page->machine->cylinders > 1 ? "cylinder 1's" : "the");
  add_torques(page);
  add_arcs(page);
  add_supplies(page);
}

/* A part of the audit. */
struct part {
  const char *label;
  double value; /* [J] */
};

/* A bar of '#', of '-' for a part that is received. */
static void add_bar(struct lb_table *table, double share) {
  char bar[BAR + 1];
  int length = (int)lround(fmin(fabs(share), 1) * BAR);
  memset(bar, share < 0 ? '-' : '#', (size_t)length);
  bar[length] = '\0';
  lb_table_cell(table, "%s", bar);
}

/* A row of the audit: work, share of the whole, bar. */
static void add_part(const struct lb_detail_page *page, struct lb_table *table,
                     const struct part *part, double whole, double most, int decimals) {
  double work = lb_show_value(&page->style, LB_SHOW_WORK, part->value);
  lb_table_cell(table, "%s", part->label);
  lb_table_cell(table, "%s", lb_show_number(work, decimals).text);
  lb_table_cell(table, "%s %%", lb_show_number(100 * part->value / whole, 1).text);
  add_bar(table, part->value / most);
}

void lb_detail_audit(const struct lb_detail_page *page) {
  const struct lb_audit *a = &page->detail->audit;
  const double shown_from = 5e-4; /* share that would print as something */
  /* Air that leaves below ambient pressure is worth less than nothing: a pump pays for it, and so
   * its worth is given, like that of the supply. */
  bool vacuum = a->exhaust < 0;
  bool open = page->machine->back_pressure <= page->machine->ambient_pressure + same_pressure;
  const struct part parts[] = {
      {"crank", a->crank},
      {"friction", a->friction},
      {"filling the dead volume", a->filling},
      {"pushed back", a->pushed_back},
      {"lost at release", a->blow_down},
      {"heat", a->heat},
      {open ? "exhaust, by its cold" : "exhaust, pressure and cold", vacuum ? 0 : a->exhaust}};
  double whole = a->supplied - (vacuum ? a->exhaust : 0), most = whole;
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    most = fmax(most, fabs(parts[i].value));
  if (!(whole > 0))
    return;
  int decimals = lb_show_decimals(&page->style, LB_SHOW_WORK, &most, 1) + 1;
  struct lb_table *table = lb_table_new("<>><");
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    if (fabs(parts[i].value) >= shown_from * most)
      add_part(page, table, &parts[i], whole, most, decimals);
  lb_text_add(page->out, "\nWhere the %s worth goes (of %s a revolution at the most)\n",
              vacuum ? "vacuum's" : "air's", lb_show(&page->style, LB_SHOW_WORK, whole).text);
  lb_table_render(page->out, table, 2, 2);
  lb_table_free(table);
  if (!open)
    lb_text_wrap(page->out, WIDTH, "  ", "  ",
                 "What the exhaust still has is lost, unless another machine takes it on.");
  if (fabs(a->heat) >= shown_from * most)
    lb_text_wrap(page->out, WIDTH, "  ", "  ",
                 "With an exponent other than 1.4 heat is accounting: what the law of expansion "
                 "takes from the walls or gives to them.");
}

/* The step a quantity is shown for, in its own unit, and what it is called. */
static double step_of(char *name, size_t size, const struct lb_detail_page *page,
                      const struct lb_sensitivity *s) {
  bool both = page->machine->works[LB_CAP_END] && page->machine->works[LB_ROD_END];
  const char *comma = both ? ", " : "", *end = both ? end_name[s->end] : "";
  if (s->varied == LB_VARIED_DEAD_VOLUME) {
    lb_format(name, size, "dead volume +10 %%%s%s", comma, end);
    return dead_share * page->machine->dead_volume[s->end];
  }
  if (s->varied == LB_VARIED_SUPPLY_PRESSURE) {
    lb_format(name, size, page->style.inch ? "supply +1.45 psi%s%s" : "supply +0.1 bar%s%s", comma,
              end);
    return supply_step;
  }
  lb_format(name, size, "%s +1 deg%s%s", lb_timing_event_name(s->varied), comma, end);
  return LB_DEGREE;
}

static const char *signed_number(char *text, size_t size, double value, int decimals) {
  struct lb_shown plain = lb_show_number(fabs(value), decimals);
  bool zero = strspn(plain.text, "0.") == strlen(plain.text);
  lb_format(text, size, "%s%.40s", zero ? "" : value < 0 ? "-" : "+", plain.text);
  return text;
}

static void add_sensitivity(const struct lb_detail_page *page, struct lb_table *table,
                            const struct lb_sensitivity *s) {
  const struct lb_revolution *r = &page->detail->revolution;
  char name[64], cell[48];
  double step = step_of(name, sizeof name, page, s);
  double work = s->work * step / r->work, air = s->air * step / r->air;
  lb_table_cell(table, "%s", name);
  lb_table_cell(
      table, "%s",
      signed_number(cell, sizeof cell,
                    lb_show_value(&page->style, LB_SHOW_PRESSURE, s->release_pressure * step),
                    page->style.inch ? 2 : 3));
  lb_table_cell(table, "%s", signed_number(cell, sizeof cell, 100 * work, 2));
  lb_table_cell(table, "%s", signed_number(cell, sizeof cell, 100 * air, 2));
  lb_table_cell(table, "%s", signed_number(cell, sizeof cell, 100 * (work - air), 2));
}

void lb_detail_sensitivity(const struct lb_detail_page *page, bool all) {
  const struct lb_detail *d = page->detail;
  if (!(d->revolution.work > 0 && d->revolution.air > 0))
    return;
  struct lb_table *table = lb_table_new("<>>>>");
  lb_table_cell(table, "What a small change does");
  lb_table_cell(table, "release, %s", lb_show_unit(&page->style, LB_SHOW_PRESSURE));
  lb_table_cell(table, "%s", "work, %");
  lb_table_cell(table, "%s", "air, %");
  lb_table_cell(table, "%s", "work/air, %");
  for (size_t i = 0; i < d->sensitivities; i++) {
    const struct lb_sensitivity *s = &d->sensitivity[i];
    bool event = s->varied <= LB_VARIED_EXHAUST_CLOSES;
    if (all || !event || s->varied == LB_VARIED_CUTOFF)
      add_sensitivity(page, table, s);
  }
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
}

/* "-26.8 to +4.3", with "any" where nothing is lost up to the event beside it. */
static void add_interval(struct lb_table *table, const struct lb_tolerance *t, double unit,
                         int decimals) {
  char earlier[48] = "any", later[48] = "any";
  if (!t->earlier_limited)
    signed_number(earlier, sizeof earlier, -t->earlier / unit, decimals);
  if (!t->later_limited)
    signed_number(later, sizeof later, t->later / unit, decimals);
  if (t->earlier_limited && t->later_limited)
    lb_table_cell(table, "any");
  else
    lb_table_cell(table, "%s to %s", earlier, later);
}

/* The tolerances in a unit of angle, or of length on the disc. */
static void add_tolerances(const struct lb_detail_page *page, bool all, const char *title,
                           double unit, int decimals) {
  const struct lb_detail *d = page->detail;
  struct lb_table *table = lb_table_new("<>>");
  lb_table_cell(table, "%s", title);
  lb_table_cell(table, "%s", "1 % less work/air");
  lb_table_cell(table, "%s at release", page->style.inch ? "1.45 psi" : "0.1 bar");
  for (int end = 0; end < LB_ENDS; end++)
    for (int event = 0; page->machine->works[end] && event < LB_EVENTS; event++) {
      if (!all && event != LB_VARIED_CUTOFF)
        continue;
      lb_table_cell(table, "  %s, %s", lb_timing_event_name((enum lb_varied)event), end_name[end]);
      add_interval(table, &d->work[end][event], unit, decimals);
      add_interval(table, &d->pressure[end][event], unit, decimals);
    }
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 3);
  lb_table_free(table);
}

void lb_detail_tolerance(const struct lb_detail_page *page, bool all) {
  if (!page->detail->tolerances_found)
    return;
  add_tolerances(page, all, "How far off before it costs, deg", LB_DEGREE, 1);
  if (page->disc > 0) {
    char title[96];
    bool in_inches = page->style.inch;
    const char *unit = lb_show_unit(&page->style, LB_SHOW_LENGTH);
    lb_format(title, sizeof title, "On a disc %.5g %s across, %s",
              lb_show_value(&page->style, LB_SHOW_LENGTH, page->disc), unit, unit);
    add_tolerances(page, all, title, (in_inches ? LB_INCH : LB_MILLIMETRE) / (page->disc / 2),
                   in_inches ? 2 : 1);
  }
}

static const char *const end_key[] = {[LB_CAP_END] = "cap", [LB_ROD_END] = "rod"};

static void record_sensitivity(struct lb_record *record, const struct lb_machine *machine,
                               const struct lb_sensitivity *s) {
  static const char *const quantity[] = {[LB_VARIED_INLET_OPENS] = "inlet_opens_deg",
                                         [LB_VARIED_CUTOFF] = "cutoff_deg",
                                         [LB_VARIED_RELEASE] = "release_deg",
                                         [LB_VARIED_EXHAUST_CLOSES] = "exhaust_closes_deg",
                                         [LB_VARIED_DEAD_VOLUME] = "dead_volume_percent",
                                         [LB_VARIED_SUPPLY_PRESSURE] = "supply_pressure_pa"};
  double step = 1, unit = LB_DEGREE; /* of `step`, in SI */
  if (s->varied == LB_VARIED_DEAD_VOLUME) {
    step = 100 * dead_share;
    unit = machine->dead_volume[s->end] / 100;
  } else if (s->varied == LB_VARIED_SUPPLY_PRESSURE) {
    step = supply_step;
    unit = 1;
  }
  lb_record_open(record, NULL);
  lb_record_text(record, "end", end_key[s->end]);
  lb_record_text(record, "quantity", quantity[s->varied]);
  lb_record_number(record, "step", step);
  lb_record_number(record, "release_pressure_pa", s->release_pressure * step * unit);
  lb_record_number(record, "work_j", s->work * step * unit);
  lb_record_number(record, "air_kg", s->air * step * unit);
  lb_record_close(record);
}

/* The tolerances of the cut-offs: of work per kilogram, or of the release pressure. */
static void record_tolerance(struct lb_record *record, const struct lb_machine *machine,
                             const struct lb_detail *detail, const char *name, bool of_release) {
  lb_record_open(record, name);
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_tolerance *t = of_release ? &detail->pressure[end][LB_VARIED_CUTOFF]
                                              : &detail->work[end][LB_VARIED_CUTOFF];
    if (!detail->tolerances_found || !machine->works[end]) {
      lb_record_null(record, end_key[end]);
      continue;
    }
    lb_record_open(record, end_key[end]);
    lb_record_number(record, "earlier", t->earlier / LB_DEGREE);
    lb_record_number(record, "later", t->later / LB_DEGREE);
    lb_record_close(record);
  }
  lb_record_close(record);
}

static void record_starting(struct lb_record *record, const struct lb_detail *detail) {
  const struct lb_starting_supply *s = &detail->starting;
  lb_record_open_list(record, "dead_arcs_deg");
  for (size_t i = 0; i < detail->arcs; i++) {
    lb_record_open_list(record, NULL);
    lb_record_number(record, NULL, detail->arc[i].from / LB_DEGREE);
    lb_record_number(record, NULL, detail->arc[i].to / LB_DEGREE);
    lb_record_close(record);
  }
  lb_record_close(record);
  lb_record_open(record, "starting_supply_pa");
  lb_record_number_if(record, s->anywhere_found, "anywhere", s->anywhere);
  lb_record_number_if(record, s->best_found, "best", s->best);
  lb_record_close(record);
}

void lb_detail_record(struct lb_record *record, const struct lb_machine *machine,
                      const struct lb_detail *detail) {
  static const char *const members[] = {"dead_arcs_deg", "starting_supply_pa", "sensitivity",
                                        "tolerance_deg", "release_tolerance_deg"};
  if (!detail) {
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++)
      lb_record_null(record, members[i]);
    return;
  }
  record_starting(record, detail);
  lb_record_open_list(record, "sensitivity");
  for (size_t i = 0; i < detail->sensitivities; i++)
    record_sensitivity(record, machine, &detail->sensitivity[i]);
  lb_record_close(record);
  record_tolerance(record, machine, detail, "tolerance_deg", false);
  record_tolerance(record, machine, detail, "release_tolerance_deg", true);
}

void lb_detail_record_audit(struct lb_record *record, const struct lb_audit *audit) {
  lb_record_open(record, "audit");
  lb_record_number(record, "crank_j", audit->crank);
  lb_record_number(record, "friction_j", audit->friction);
  lb_record_number(record, "filling_j", audit->filling);
  lb_record_number(record, "pushed_back_j", audit->pushed_back);
  lb_record_number(record, "blowdown_j", audit->blow_down);
  lb_record_number(record, "inlet_throttling_j", 0);
  lb_record_number(record, "exhaust_throttling_j", 0);
  lb_record_number(record, "heat_j", audit->heat);
  lb_record_number(record, "leakage_j", 0);
  lb_record_number(record, "exhaust_j", audit->exhaust);
  lb_record_number(record, "supplied_j", audit->supplied);
  lb_record_close(record);
}
