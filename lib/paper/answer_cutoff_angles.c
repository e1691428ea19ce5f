/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The head of the note, and the table of angles.
 */
#include "paper/answer_cutoff_page.h"

#include "base/constants.h"
#include "paper/table.h"
#include "stroke/timing.h"

#include <stdio.h>

static const char *acting(const struct lb_machine *machine) {
  if (machine->works[LB_CAP_END] && machine->works[LB_ROD_END])
    return "double-acting";
  return machine->works[LB_CAP_END] ? "single-acting (cap end)" : "single-acting (rod end)";
}

/* "Trolley: 2 x double-acting 50 x 100 mm, swinging, 16 and 18 cm3 dead volume" */
static void add_machine(struct lb_cutoff_page *page) {
  static const char *const linkage[] = {[LB_CONNECTING_ROD] = "connecting rod",
                                        [LB_SWINGING] = "swinging",
                                        [LB_YOKE] = "Scotch yoke"};
  const struct lb_machine *m = page->machine;
  struct lb_text line = {0};
  double bore = lb_show_value(&page->style, LB_SHOW_LENGTH, m->bore);
  double stroke = lb_show_value(&page->style, LB_SHOW_LENGTH, m->linkage.stroke);
  lb_text_add(&line, "%s: ", m->name);
  if (m->cylinders > 1)
    lb_text_add(&line, "%d x ", m->cylinders);
  lb_text_add(&line, "%s %.6g x %.6g %s, %s, ", acting(m), bore, stroke,
              lb_show_unit(&page->style, LB_SHOW_LENGTH), linkage[m->linkage.kind]);
  const char *between = "";
  for (int end = 0; end < LB_ENDS; end++) {
    if (!m->works[end])
      continue;
    double dead = lb_show_value(&page->style, LB_SHOW_VOLUME, m->dead_volume[end]);
    lb_text_add(&line, "%s%.4g", between, dead);
    between = " and ";
  }
  lb_text_add(&line, " %s dead volume", lb_show_unit(&page->style, LB_SHOW_VOLUME));
  if (line.failed)
    page->out->failed = true;
  else
    lb_text_wrap(page->out, LB_PAGE_WIDTH, "", "  ", line.bytes);
  lb_text_free(&line);
}

static const char *law(char *text, size_t size, double exponent) {
  if (exponent == LB_GAMMA)
    return "adiabatic";
  if (exponent == 1)
    return "isothermal";
  snprintf(text, size, "exponent %.4g", exponent);
  return text;
}

void lb_page_head(struct lb_cutoff_page *page) {
  const struct lb_machine *m = page->machine;
  const struct lb_style *style = &page->style;
  struct lb_text *out = page->out;
  char expansion[32], compression[32];
  add_machine(page);
  lb_text_add(out, "Supply %s, %s.\n", lb_show_pressure(style, m->supply_pressure).text,
              lb_show(style, LB_SHOW_TEMPERATURE, m->supply_temperature).text);
  lb_text_add(out, "Surroundings %s, %s.\n", lb_show_absolute(style, m->ambient_pressure).text,
              lb_show(style, LB_SHOW_TEMPERATURE, m->ambient_temperature).text);
  if (!page->open_exhaust)
    lb_text_add(out, "Exhaust back pressure %s.\n", lb_show_pressure(style, m->back_pressure).text);
  lb_text_add(out, "Slow cycle, %s", law(expansion, sizeof expansion, m->expansion_exponent));
  if (m->compression_exponent != m->expansion_exponent)
    lb_text_add(out, ", compression %s",
                law(compression, sizeof compression, m->compression_exponent));
  if (page->paper->margin > 0)
    lb_text_add(out, ". Margin: release %s above %s",
                lb_show(style, LB_SHOW_PRESSURE, page->paper->margin).text,
                page->open_exhaust ? "ambient" : "back pressure");
  lb_text_add(out, ".\n");
}

static const char *angle_label(const struct lb_cutoff_page *page, enum lb_rule rule) {
  if (rule == LB_AS_TIMED)
    return "as timed in the file";
  if (rule == LB_ECONOMY)
    return "best economy";
  if (page->paper->margin > 0)
    return "release with the margin";
  return page->open_exhaust ? "atmospheric release" : "release at back pressure";
}

static void add_angle_row(struct lb_cutoff_page *page, struct lb_table *table, enum lb_rule rule) {
  const struct lb_choice *choice = &page->answer->choice[rule];
  lb_table_cell(table, "  %s", angle_label(page, rule));
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    if (!page->machine->works[i])
      continue;
    double cutoff = choice->cutoff[i];
    double travel = lb_timing_stroke_fraction(page->machine, end, cutoff);
    lb_table_cell(table, "%s", lb_page_angle(choice->end_found[i], cutoff).text);
    lb_table_cell(table, "%s",
                  choice->end_found[i] ? lb_show(&page->style, LB_SHOW_SHARE, travel).text : "");
  }
}

/* "isothermal 42.6 deg cap end, 45.0 deg rod end" */
static void add_bound(const struct lb_cutoff_page *page, struct lb_text *line, const char *name,
                      const bool *found, const double *cutoff) {
  lb_text_add(line, "%s", name);
  const char *between = " ";
  for (int end = 0; end < LB_ENDS; end++) {
    if (!page->machine->works[end])
      continue;
    lb_text_add(line, "%s%s", between, lb_page_angle(found[end], cutoff[end]).text);
    if (page->both_ends)
      lb_text_add(line, " %s", lb_page_end((enum lb_end)end));
    between = ", ";
  }
}

/* The angles under the other bounding law, or under both. */
static void add_bounds(struct lb_cutoff_page *page) {
  const struct lb_cutoff_answer *answer = page->answer;
  double exponent = page->machine->expansion_exponent;
  struct lb_text line = {0};
  lb_text_add(&line, "%s for %s%s: ",
              exponent == 1 || exponent == LB_GAMMA ? "The other bound" : "The bounds",
              page->open_exhaust ? "atmospheric release" : "release at back pressure",
              page->paper->margin > 0 ? " without margin" : "");
  if (exponent != 1)
    add_bound(page, &line, "isothermal", answer->isothermal_found, answer->isothermal);
  if (exponent != 1 && exponent != LB_GAMMA)
    lb_text_add(&line, "; ");
  if (exponent != LB_GAMMA)
    add_bound(page, &line, "adiabatic", answer->adiabatic_found, answer->adiabatic);
  lb_text_add(&line, ".");
  if (line.failed)
    page->out->failed = true;
  else
    lb_text_wrap(page->out, LB_PAGE_WIDTH, "  ", "  ", line.bytes);
  lb_text_free(&line);
}

void lb_page_angles(struct lb_cutoff_page *page) {
  struct lb_table *table = lb_table_new(page->both_ends ? "<>>>>" : "<>>");
  lb_table_cell(table, "Shut the inlet at");
  for (int end = 0; end < LB_ENDS; end++)
    if (page->machine->works[end]) {
      lb_table_cell(table, "%s", lb_page_end((enum lb_end)end));
      lb_table_cell(table, "of stroke");
    }
  for (int i = 0; i < page->rules; i++)
    add_angle_row(page, table, page->rule[i]);
  lb_text_add(page->out, "\n");
  lb_table_render(page->out, table, 0, 2);
  lb_table_free(table);
  add_bounds(page);
  lb_text_add(page->out, "  %s dead centre, in the direction of rotation.\n",
              page->both_ends ? "Each end counts from its own" : "Counted from this end's");
}
