/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sentences of the note about running a store down: what to build, by how much it is better,
 * what would turn that round, and what supply it takes at the least.
 */
#include "base/constants.h"
#include "paper/answer_rundown_page.h"

#include <ctype.h>
#include <math.h>

/* ---------- the winner ---------- */

/* What to build. */
static void add_advice(struct lb_text *line, const struct lb_rundown_page *page,
                       const struct lb_run *run) {
  switch (run->plan) {
  case LB_PLAN_UNREGULATED:
    lb_text_add(line, "Leave the regulator out and keep the fixed timing");
    break;
  case LB_PLAN_REGULATED:
    lb_text_add(line, "Keep the regulator as it is set, and the fixed timing");
    break;
  case LB_PLAN_REGULATED_BEST:
    lb_text_add(line, "Regulate the supply to %s, with a cut-off that suits it",
                lb_show_pressure(&page->page.style, run->set_pressure).text);
    break;
  case LB_PLAN_STEPPED:
    lb_text_add(line, "Cut %s fixed steps", lb_rundown_page_count(run->steps));
    break;
  default:
    lb_text_add(line, "Let the cut-off follow the pressure");
    break;
  }
}

static const double same = 5e-4; /* [1] a margin that prints as nothing */

/* What it is measured against. */
static void add_rival(struct lb_text *line, const struct lb_run *run) {
  static const char *const name[LB_PLANS] = {
      [LB_PLAN_UNREGULATED] = "one fixed timing at the store's own pressure",
      [LB_PLAN_REGULATED] = "the supply regulated as set",
      [LB_PLAN_REGULATED_BEST] = "the best regulated supply",
      [LB_PLAN_FOLLOWING] = "a cut-off that follows the pressure"};
  if (run->plan == LB_PLAN_STEPPED)
    lb_text_add(line, "%s fixed steps", lb_rundown_page_count(run->steps));
  else
    lb_text_add(line, "%s", name[run->plan]);
}

/* "31 %", "4.2 %": a whole number where it has two digits. */
static struct lb_shown percent(double share) {
  const double two_digits = 0.0995; /* [1] what rounds to 10 % */
  struct lb_shown shown = lb_show_number(100 * share, fabs(share) < two_digits ? 1 : 0);
  return shown;
}

/* "31 % further than", "17 times as far as". */
static void add_margin(struct lb_text *line, const struct lb_rundown_page *page, double margin) {
  const double many = 2; /* [1] from here on as a multiple */
  const char *more = page->vehicle  ? "further"
                     : page->coasts ? "more revolutions"
                                    : "more powered revolutions";
  const char *as_many = page->vehicle  ? "far"
                        : page->coasts ? "many revolutions"
                                       : "many powered revolutions";
  if (margin < many)
    lb_text_add(line, "%s %% %s than ", percent(margin).text, more);
  else
    lb_text_add(line, "%.3g times as %s as ", 1 + margin, as_many);
}

/* How it compares with what the file has now, where that is not the rival already. */
static void add_as_set(struct lb_text *line, const struct lb_rundown_page *page,
                       const struct lb_run *winner) {
  const struct lb_rundown *r = page->rundown;
  for (size_t i = 0; i < r->runs; i++) {
    const struct lb_run *run = &r->run[i];
    double margin = run->ran ? winner->revolutions / run->revolutions - 1 : 0;
    if (run->plan != LB_PLAN_REGULATED || i == r->verdict.rival || margin < same)
      continue;
    lb_text_add(line, ", and ");
    add_margin(line, page, margin);
    add_rival(line, run);
  }
}

void lb_rundown_page_winner(struct lb_text *line, const struct lb_rundown_page *page) {
  const struct lb_verdict *verdict = &page->rundown->verdict;
  const struct lb_run *winner = &page->rundown->run[verdict->winner];
  add_advice(line, page, winner);
  if (!verdict->compared) {
    lb_text_add(line,
                ": the furthest of the plans that ran. None %s a regulator did; the reasons stand "
                "below.",
                winner->set_pressure > 0 ? "without" : "with");
    return;
  }
  lb_text_add(line, verdict->margin < same ? ": it goes as far as " : ": ");
  if (verdict->margin >= same)
    add_margin(line, page, verdict->margin);
  add_rival(line, &page->rundown->run[verdict->rival]);
  add_as_set(line, page, winner);
  lb_text_add(line, ".");
}

/* ---------- steps ---------- */

/* "Two fixed steps already bring 78 % of what following the pressure gains over the fixed timing,
 * three 91 %." */
static void add_steps(struct lb_text *line, const struct lb_rundown_page *page) {
  const double all = 0.995; /* [1] a share that prints as 100 % */
  const double *share = page->rundown->verdict.step_share;
  bool begun = false;
  for (int steps = LB_STEPS_LEAST; steps <= LB_STEPS_MOST; steps++) {
    const char *count = lb_rundown_page_count(steps);
    if (!isfinite(share[steps]) || (begun && share[steps - 1] >= all))
      continue; /* more than all there is to gain is not told step by step */
    if (begun)
      lb_text_add(line, ", %s %s %%", count, percent(share[steps]).text);
    else
      lb_text_add(line,
                  " %c%s fixed steps already bring %s %% of what following the pressure gains "
                  "over the fixed timing",
                  toupper((unsigned char)count[0]), count + 1, percent(share[steps]).text);
    begun = true;
  }
  if (begun)
    lb_text_add(line, ".");
}

/* ---------- what would turn it round ---------- */

static const char *const knob[LB_KNOBS] = {[LB_KNOB_DEAD_VOLUME] = "dead volume",
                                           [LB_KNOB_LOAD] = "load",
                                           [LB_KNOB_START_PRESSURE] = "start pressure"};

static bool searched(const struct lb_flip *flip) {
  return flip->to > flip->from;
}

/* "a dead volume 2.4 times as large". */
static void add_flip(struct lb_text *line, const struct lb_style *style, enum lb_knob which,
                     double value) {
  if (which == LB_KNOB_START_PRESSURE)
    lb_text_add(line, "a start pressure of %s", lb_show_pressure(style, value).text);
  else
    lb_text_add(line, "a %s %.3g times what it is", knob[which], value);
}

/* "dead volume from 0.25 to 4 times". */
static void add_span(struct lb_text *line, const struct lb_style *style, enum lb_knob which,
                     const struct lb_flip *flip) {
  int decimals = style->inch ? 0 : 1;
  if (which == LB_KNOB_START_PRESSURE)
    lb_text_add(line, "start pressure from %s to %s %s",
                lb_show_number(lb_show_value(style, LB_SHOW_GAUGE, flip->from), decimals).text,
                lb_show_number(lb_show_value(style, LB_SHOW_GAUGE, flip->to), decimals).text,
                lb_show_unit(style, LB_SHOW_GAUGE));
  else
    lb_text_add(line, "%s from %.3g to %.3g times what it is", knob[which], flip->from, flip->to);
}

/* The knobs that turn the ranking round, or those that do not, as a list.
 * Returns how many there are. */
static int add_knobs(struct lb_text *line, const struct lb_rundown_page *page, bool found) {
  const struct lb_flip *flip = page->rundown->verdict.flip;
  int all = 0, done = 0;
  for (int i = 0; i < LB_KNOBS; i++)
    all += searched(&flip[i]) && flip[i].found == found;
  for (int i = 0; i < LB_KNOBS; i++) {
    if (!searched(&flip[i]) || flip[i].found != found)
      continue;
    if (found && done > 0)
      lb_text_add(line, done == all - 1 ? " or " : ", ");
    if (!found)
      lb_text_add(line, "%s the ", done > 0 ? ", nor" : all > 1 ? " neither" : " not");
    if (found)
      add_flip(line, &page->page.style, (enum lb_knob)i, flip[i].value);
    else
      add_span(line, &page->page.style, (enum lb_knob)i, &flip[i]);
    done++;
  }
  return all;
}

static void add_flips(struct lb_rundown_page *page) {
  struct lb_text flips = {0}, spans = {0}, line = {0};
  int found = add_knobs(&flips, page, true), others = add_knobs(&spans, page, false);
  if (page->rundown->verdict.compared && found > 0) {
    lb_text_add(&line, "It would be level with %s.", flips.bytes ? flips.bytes : "");
    if (others > 0)
      lb_text_add(&line, " Nothing else turns it round,%s.", spans.bytes ? spans.bytes : "");
  } else if (page->rundown->verdict.compared && others > 0) {
    lb_text_add(&line, "Nothing turns it round,%s.", spans.bytes ? spans.bytes : "");
  }
  line.failed = line.failed || flips.failed || spans.failed;
  lb_text_free(&flips);
  lb_text_free(&spans);
  lb_page_paragraph(&page->page, "", &line);
}

void lb_rundown_page_verdict(struct lb_rundown_page *page) {
  struct lb_text line = {0};
  lb_text_add(page->page.out, "\n");
  lb_rundown_page_winner(&line, page);
  add_steps(&line, page);
  lb_page_paragraph(&page->page, "", &line);
  add_flips(page);
}

/* ---------- the least supply ---------- */

static void add_standing(struct lb_text *line, const struct lb_rundown_page *page) {
  const struct lb_starting_supply *s = &page->rundown->standing;
  const struct lb_style *style = &page->page.style;
  if (!page->rundown->starts)
    return;
  if (!s->best_found) {
    lb_text_add(line, "No supply starts the load at standstill, not even from its best position. ");
    return;
  }
  lb_text_add(line, "To start the load at standstill it takes %s from its best position, ",
              lb_show_pressure(style, s->best).text);
  lb_text_add(line, "%s deg of the crank", lb_show_crank(s->best_angle, 0).text);
  if (s->anywhere_found)
    lb_text_add(line, ", and %s from any. ", lb_show_pressure(style, s->anywhere).text);
  else
    lb_text_add(line, "; from some positions no supply does, dead arcs come from the timing. ");
}

void lb_rundown_page_least_supply(struct lb_rundown_page *page) {
  struct lb_text line = {0};
  lb_text_add(page->page.out, "\nLeast supply at the inlet, with the fixed timing\n");
  add_standing(&line, page);
  if (page->rundown->running_found)
    lb_text_add(&line, "Running, it carries the load with %s or more.",
                lb_show_pressure(&page->page.style, page->rundown->running).text);
  else
    lb_text_add(&line, "Running, no supply that the store may give carries the load.");
  lb_page_paragraph(&page->page, "  ", &line);
}
