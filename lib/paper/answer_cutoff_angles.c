/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The head of the note, and the table of angles.
 */
#include "paper/answer_cutoff_page.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/table.h"
#include "stroke/timing.h"

#include <math.h>

static const char *acting(const struct lb_machine *machine) {
  if (machine->works[LB_CAP_END] && machine->works[LB_ROD_END])
    return "double-acting";
  return machine->works[LB_CAP_END] ? "single-acting (cap end)" : "single-acting (rod end)";
}

/* "16 and 18 cm3 dead volume" */
static void add_dead_volume(struct lb_text *line, const struct lb_cutoff_page *page) {
  const char *between = "";
  for (int end = 0; end < LB_ENDS; end++) {
    if (!page->machine->works[end])
      continue;
    double dead = lb_show_value(&page->style, LB_SHOW_VOLUME, page->machine->dead_volume[end]);
    if (page->machine->dead_volume_unknown[end])
      lb_text_add(line, "%sabout %.3g", between, dead);
    else
      lb_text_add(line, "%s%.4g", between, dead);
    between = " and ";
  }
  lb_text_add(line, " %s dead volume", lb_show_unit(&page->style, LB_SHOW_VOLUME));
}

/* The name, then "2 x double-acting 50 x 100 mm, swinging, 16 and 18 cm3 dead volume". */
static void add_machine(struct lb_cutoff_page *page) {
  static const char *const linkage[] = {[LB_CONNECTING_ROD] = "connecting rod",
                                        [LB_SWINGING] = "swinging",
                                        [LB_YOKE] = "Scotch yoke"};
  const struct lb_machine *m = page->machine;
  const char *kind = acting(m);
  struct lb_text line = {0};
  double bore = lb_show_value(&page->style, LB_SHOW_LENGTH, m->bore);
  double stroke = lb_show_value(&page->style, LB_SHOW_LENGTH, m->linkage.stroke);
  lb_text_add(page->out, "%s\n", m->name);
  if (m->cylinders > 1)
    lb_text_add(&line, "%d x %s", m->cylinders, kind);
  else
    lb_text_add(&line, "%c%s", kind[0] - 'a' + 'A', kind + 1);
  lb_text_add(&line, " %.4g x %.4g %s, %s, ", bore, stroke,
              lb_show_unit(&page->style, LB_SHOW_LENGTH), linkage[m->linkage.kind]);
  add_dead_volume(&line, page);
  lb_page_paragraph(page, "", &line);
}

static const char *law(char *text, size_t size, double exponent) {
  if (exponent == LB_GAMMA)
    return "adiabatic";
  if (exponent == 1)
    return "isothermal";
  lb_format(text, size, "exponent %.4g", exponent);
  return text;
}

/* "At 120 rpm, with flow, heat and leakage as in the file"; with what is slow left out. */
static void add_speed(struct lb_text *line, const struct lb_cutoff_page *page) {
  static const char *const with = "with flow, heat, leakage and friction as in the file";
  if (isfinite(page->paper->speed))
    lb_text_add(line, "At %.4g rpm, %s", page->paper->speed / LB_RPM, with);
  else
    lb_text_add(line, "At speed, %s", with);
}

/* "Slow cycle, adiabatic; margin: release 0.20 bar above ambient" */
static void add_law(struct lb_cutoff_page *page) {
  const struct lb_machine *m = page->machine;
  char expansion[32], compression[32];
  struct lb_text line = {0};
  if (page->paper->speed > 0)
    add_speed(&line, page);
  else
    lb_text_add(&line, "Slow cycle, %s", law(expansion, sizeof expansion, m->expansion_exponent));
  if (page->paper->speed <= 0 && m->compression_exponent != m->expansion_exponent)
    lb_text_add(&line, ", compression %s",
                law(compression, sizeof compression, m->compression_exponent));
  if (page->paper->margin > 0)
    lb_text_add(&line, "; margin: release %s above %s",
                lb_show(&page->style, LB_SHOW_PRESSURE, page->paper->margin).text,
                page->open_exhaust ? "ambient" : "back pressure");
  lb_page_paragraph(page, "", &line);
}

void lb_page_head(struct lb_cutoff_page *page) {
  const struct lb_machine *m = page->machine;
  const struct lb_style *style = &page->style;
  struct lb_text *out = page->out;
  add_machine(page);
  lb_text_add(out, "Supply %s, %s\n", lb_show_pressure(style, m->supply_pressure).text,
              lb_show(style, LB_SHOW_TEMPERATURE, m->supply_temperature).text);
  lb_text_add(out, "Surroundings %s, %s\n", lb_show_absolute(style, m->ambient_pressure).text,
              lb_show(style, LB_SHOW_TEMPERATURE, m->ambient_temperature).text);
  if (!page->open_exhaust)
    lb_text_add(out, "Exhaust back pressure %s\n", lb_show_pressure(style, m->back_pressure).text);
  add_law(page);
}

const char *lb_page_choice(const struct lb_cutoff_page *page, enum lb_rule rule) {
  if (rule == LB_AS_TIMED)
    return "as timed in the file";
  if (rule == LB_ECONOMY)
    return "best economy";
  if (page->paper->margin > 0)
    return "release with the margin";
  return page->open_exhaust ? "atmospheric release" : "release at back pressure";
}

/* Angle and share of the stroke at each worked end. */
static void add_angle_cells(struct lb_cutoff_page *page, struct lb_table *table, const bool *found,
                            const double *cutoff) {
  for (int end = 0; end < LB_ENDS; end++) {
    if (!page->machine->works[end])
      continue;
    double travel = lb_timing_stroke_fraction(page->machine, (enum lb_end)end, cutoff[end]);
    lb_table_cell(table, "%s", lb_page_angle(found[end], cutoff[end]).text);
    lb_table_cell(table, "%s", found[end] ? lb_show(&page->style, LB_SHOW_SHARE, travel).text : "");
  }
}

/* The atmospheric cut-offs under a bounding law. */
static void add_bound_row(struct lb_cutoff_page *page, struct lb_table *table, const char *law_name,
                          const bool *found, const double *cutoff) {
  lb_table_cell(table, "  bound, %s", law_name);
  add_angle_cells(page, table, found, cutoff);
}

static void add_bounds_note(struct lb_cutoff_page *page) {
  double exponent = page->machine->expansion_exponent;
  bool one = exponent == 1 || exponent == LB_GAMMA;
  const char *heat = exponent == 1          ? "gave the air no heat"
                     : exponent == LB_GAMMA ? "kept the air at one temperature"
                                            : "kept the air at one temperature, or gave it no heat";
  struct lb_text line = {0};
  if (page->paper->speed <= 0)
    lb_text_add(&line, "The %s %s%s if the walls %s. ", one ? "bound is" : "bounds are",
                page->open_exhaust ? "atmospheric release" : "release at back pressure",
                page->paper->margin > 0 ? " without margin" : "", heat);
  lb_text_add(&line, "%s dead centre, in the direction of rotation.",
              page->both_ends ? "Each end counts from its own" : "Angles count from this end's");
  lb_page_paragraph(page, "  ", &line);
}

void lb_page_angles(struct lb_cutoff_page *page) {
  if (!page->pushes)
    return;
  const struct lb_cutoff_answer *answer = page->answer;
  struct lb_table *table = lb_table_new(page->both_ends ? "<>>>>" : "<>>");
  double exponent = page->machine->expansion_exponent;
  lb_table_cell(table, "Shut the inlet at");
  for (int end = 0; end < LB_ENDS; end++)
    if (page->machine->works[end]) {
      lb_table_cell(table, "%s", lb_page_end((enum lb_end)end));
      lb_table_cell(table, "of stroke");
    }
  for (int i = 0; i < page->rules; i++) {
    const struct lb_choice *choice = &answer->choice[page->rule[i]];
    lb_table_cell(table, "  %s", lb_page_choice(page, page->rule[i]));
    add_angle_cells(page, table, choice->end_found, choice->cutoff);
  }
  bool slow = page->paper->speed <= 0;
  if (slow && exponent != 1)
    add_bound_row(page, table, "isothermal", answer->isothermal_found, answer->isothermal);
  if (slow && exponent != LB_GAMMA)
    add_bound_row(page, table, "adiabatic", answer->adiabatic_found, answer->adiabatic);
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
  add_bounds_note(page);
}

/* One assumption: "5 % dead volume, 10.1 and 8.4 cm3" and the angles of two rules. */
static void add_assumed(struct lb_cutoff_page *page, struct lb_table *table, int assumed) {
  static const enum lb_rule rule[] = {LB_ATMOSPHERIC, LB_ECONOMY};
  const struct lb_assumed *a = &page->paper->assumed[assumed];
  double share = lb_machine_dead_share((enum lb_dead_volume)assumed);
  for (size_t i = 0; i < sizeof rule / sizeof rule[0]; i++) {
    const struct lb_choice *choice = &a->answer.choice[rule[i]];
    lb_table_cell(table, "  %.0f %%, %s", share * 100, lb_page_choice(page, rule[i]));
    add_angle_cells(page, table, choice->end_found, choice->cutoff);
  }
}

void lb_page_assumed(struct lb_cutoff_page *page) {
  if (!page->paper->assumed)
    return;
  struct lb_table *table = lb_table_new(page->both_ends ? "<>>>>" : "<>>");
  struct lb_text note = {0};
  lb_table_cell(table, "If the dead volume is");
  for (int end = 0; end < LB_ENDS; end++)
    if (page->machine->works[end]) {
      lb_table_cell(table, "%s", lb_page_end((enum lb_end)end));
      lb_table_cell(table, "of stroke");
    }
  for (int i = 0; i < LB_DEAD_VOLUMES; i++)
    add_assumed(page, table, i);
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
  lb_text_add(&note, "The dead volume is not known: 5 %% of the swept volume is low, 10 %% usual "
                     "(taken everywhere else on this page), 20 %% high.");
  lb_page_paragraph(page, "  ", &note);
}
