/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts that the note about running a store down is put together from. Use
 * paper/answer_rundown.h, which gives the note whole.
 */
#ifndef LASTBAR_PAPER_ANSWER_RUNDOWN_PAGE_H
#define LASTBAR_PAPER_ANSWER_RUNDOWN_PAGE_H

#include "paper/answer_cutoff_page.h"
#include "paper/answer_rundown.h"

#ifdef __cplusplus
extern "C" {
#endif

struct lb_rundown_page {
  struct lb_cutoff_page page; /* style, machine and the text that is added to */
  const struct lb_rundown *rundown;
  bool coasts;  /* a surplus carries further, so that there are two kinds of revolutions */
  bool vehicle; /* there are distances */
};

/* A page for an answer.
 * head  what the first lines say; it must outlive the page */
struct lb_rundown_page lb_rundown_page_begin(const struct lb_rundown_paper *paper,
                                             const struct lb_cutoff_paper *head, bool inch,
                                             struct lb_text *out);

/* What a plan is called in a table: "unregulated", "3 steps". */
struct lb_shown lb_rundown_page_plan(const struct lb_run *run);

/* How distances are shown: in kilometres or miles when one is long enough for that. */
enum lb_measure lb_rundown_page_distance(const struct lb_rundown *rundown);

/* "two", "three" ... of LB_STEPS_LEAST to LB_STEPS_MOST. */
const char *lb_rundown_page_count(int steps);

/* What each plan is set to, and those that were not run. */
void lb_rundown_page_settings(struct lb_rundown_page *page);

/* How far each plan goes, its work and air, what stays in the tank, force and cold. */
void lb_rundown_page_figures(struct lb_rundown_page *page);

/* The cut-offs of the stepped plans, and from which pressure each serves. */
void lb_rundown_page_positions(struct lb_rundown_page *page);

/* Where the worth of the air went. */
void lb_rundown_page_books(struct lb_rundown_page *page);

/* Which plan goes furthest, what steps bring, what would turn it round. */
void lb_rundown_page_verdict(struct lb_rundown_page *page);

/* The least supply that starts the load and that carries it. */
void lb_rundown_page_least_supply(struct lb_rundown_page *page);

/* Only the first sentences of the verdict: the winner and its margin. */
void lb_rundown_page_winner(struct lb_text *line, const struct lb_rundown_page *page);

#ifdef __cplusplus
}
#endif

#endif
