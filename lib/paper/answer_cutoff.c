/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The note about cut-offs, from its blocks.
 */
#include "paper/answer_cutoff.h"

#include "base/constants.h"
#include "paper/answer_cutoff_page.h"
#include "paper/sketch.h"

#include <math.h>

const char lb_page_cautions[] =
    "A crank under air starts by itself: vent before you reach in. Your local rules for pressure "
    "equipment, and licensed trades, come first.";

const char *lb_page_end(enum lb_end end) {
  return end == LB_CAP_END ? "cap end" : "rod end";
}

struct lb_shown lb_page_angle(bool found, double angle) {
  const struct lb_style any = {false, LB_ATMOSPHERE}; /* an angle has one unit in all styles */
  return found ? lb_show(&any, LB_SHOW_ANGLE, angle) : (struct lb_shown){"none"};
}

const char *lb_page_rule(const struct lb_cutoff_page *page) {
  if (page->paper->margin > 0)
    return "release with the margin";
  return page->open_exhaust ? "the atmospheric rule" : "release at back pressure";
}

void lb_page_paragraph(struct lb_cutoff_page *page, const char *lead, struct lb_text *line) {
  if (line->failed)
    page->out->failed = true;
  else if (line->bytes)
    lb_text_wrap(page->out, LB_PAGE_WIDTH, lead, lead, line->bytes);
  lb_text_free(line);
}

struct lb_cutoff_page lb_page_begin(const struct lb_cutoff_paper *paper, bool inch, bool alone,
                                    struct lb_text *out) {
  const double same_pressure = 1; /* [Pa] */
  const struct lb_machine *m = paper->machine;
  struct lb_cutoff_page page = {.machine = m, .answer = paper->answer, .paper = paper, .out = out};
  page.style = (struct lb_style){inch, m->ambient_pressure};
  page.both_ends = m->works[LB_CAP_END] && m->works[LB_ROD_END];
  page.open_exhaust = fabs(m->back_pressure - m->ambient_pressure) < same_pressure;
  page.pushes = m->supply_pressure > m->back_pressure;
  for (int end = 0; end < LB_ENDS; end++)
    page.own_timing = page.own_timing || (m->works[end] && m->timing[end].cutoff_given);
  if (alone) {
    page.rule[page.rules++] = paper->rule;
    return page;
  }
  page.rule[page.rules++] = LB_ATMOSPHERIC;
  page.rule[page.rules++] = LB_ECONOMY;
  if (page.own_timing)
    page.rule[page.rules++] = LB_AS_TIMED;
  return page;
}

struct lb_detail_page lb_page_detail(const struct lb_cutoff_page *page) {
  return (struct lb_detail_page){page->machine, page->paper->detail, page->style, page->paper->disc,
                                 page->out};
}

void lb_page_end_note(struct lb_cutoff_page *page) {
  const struct lb_cutoff_paper *paper = page->paper;
  if (paper->warnings > 0)
    lb_text_add(page->out, "\nWarnings\n");
  for (size_t i = 0; i < paper->warnings; i++)
    lb_text_wrap(page->out, LB_PAGE_WIDTH, "  - ", "    ",
                 lb_show_sentence(&page->style, paper->warning[i].text).text);
  lb_text_add(page->out, "\n");
  lb_text_wrap(page->out, LB_PAGE_WIDTH, "", "", lb_page_cautions);
}

/* Everything about the choice that was asked for. */
static void add_detail(struct lb_cutoff_page *page) {
  struct lb_detail_page detail = lb_page_detail(page);
  if (!detail.detail)
    return;
  if (page->paper->rule == LB_AS_TIMED)
    lb_text_add(page->out, "\nAs timed in the file:\n");
  else
    lb_text_add(page->out, "\nIf the inlet shuts for %s%s:\n",
                lb_page_choice(page, page->paper->rule),
                page->own_timing ? " (as timed: see lastbar cycle)" : "");
  lb_detail_starting(&detail);
  lb_detail_audit(&detail);
  lb_detail_sensitivity(&detail, false);
  lb_detail_tolerance(&detail, false);
  if (page->paper->sketch) {
    lb_text_add(page->out, "\n");
    lb_sketch_timing(page->out, page->machine, detail.detail->cutoff);
  }
}

enum lb_status lb_answer_cutoff_text(char **text, const struct lb_cutoff_paper *paper, bool inch,
                                     struct lb_error *error) {
  struct lb_text out = {0};
  struct lb_cutoff_page page = lb_page_begin(paper, inch, false, &out);
  lb_page_head(&page);
  lb_page_angles(&page);
  lb_page_assumed(&page);
  lb_page_gain(&page);
  lb_text_add(&out, "\n");
  lb_page_refusals(&page);
  lb_page_own_timing(&page);
  lb_page_common_angle(&page);
  lb_page_supply(&page);
  lb_page_details(&page);
  add_detail(&page);
  lb_page_end_note(&page);
  return lb_text_take(text, &out, error);
}
