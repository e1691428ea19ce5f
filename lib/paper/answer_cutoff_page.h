/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts that the note about cut-offs is put together from. Use paper/answer_cutoff.h, which
 * gives the note whole.
 *
 * Every function adds one block to the text of the page. Blocks show the same choices in the same
 * order and call things by the same names; those are kept here.
 */
#ifndef LASTBAR_PAPER_ANSWER_CUTOFF_PAGE_H
#define LASTBAR_PAPER_ANSWER_CUTOFF_PAGE_H

#include "paper/answer_cutoff.h"
#include "paper/answer_detail.h"
#include "paper/record.h"
#include "paper/show.h"
#include "paper/text.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_PAGE_WIDTH = 79, /* columns of a line */
  LB_PAGE_CHOICES = 3 /* at most, side by side */
};

struct lb_cutoff_page {
  const struct lb_machine *machine;
  const struct lb_cutoff_answer *answer;
  const struct lb_cutoff_paper *paper;
  struct lb_style style;
  struct lb_text *out;
  enum lb_rule rule[LB_PAGE_CHOICES]; /* rule[rules]: the choices shown */
  int rules;
  bool own_timing;   /* the file gives a cut-off, so that there is something to compare */
  bool both_ends;    /* the cylinder is double-acting */
  bool open_exhaust; /* it empties into the surroundings, not against another pressure */
  bool pushes;       /* the supply is above back pressure; else there are no figures to show */
};

/* What stands below every note and sheet. */
extern const char lb_page_cautions[];

/* "cap end", "rod end". */
const char *lb_page_end(enum lb_end end);

/* An angle [rad] or none: "59.8 deg", "none". */
struct lb_shown lb_page_angle(bool found, double angle);

/* What the atmospheric rule is called in a sentence. */
const char *lb_page_rule(const struct lb_cutoff_page *page);

/* Add a line of words as a paragraph, each of its lines behind a lead, and empty it. */
void lb_page_paragraph(struct lb_cutoff_page *page, const char *lead, struct lb_text *line);

/* A page for an answer; `out` is added to. With `alone` only the choice asked for is shown. */
struct lb_cutoff_page lb_page_begin(const struct lb_cutoff_paper *paper, bool inch, bool alone,
                                    struct lb_text *out);

/* Warnings and cautions. */
void lb_page_end_note(struct lb_cutoff_page *page);

/* The same page for the blocks of paper/answer_detail.h; there must be a detail. */
struct lb_detail_page lb_page_detail(const struct lb_cutoff_page *page);

/* What a choice is called in a table: "atmospheric release", "as timed in the file". */
const char *lb_page_choice(const struct lb_cutoff_page *page, enum lb_rule rule);

/* For programs: the first members of every answer, and a choice as an object of the name given.
 *
 * slow  whether the answer is about the slow cycle: at speed the exponents do not count */
void lb_page_record_head(struct lb_record *record, const struct lb_machine *machine,
                         const char *command, bool slow);
void lb_page_record_choice(struct lb_record *record, const struct lb_machine *machine,
                           const struct lb_choice *choice, const char *name);

/* CSV as lb_answer_cutoff_csv, with or without the angles common to both ends. */
enum lb_status lb_page_csv(char **csv, const struct lb_cutoff_paper *paper, bool common_angles,
                           struct lb_error *error);

/* The torque over the crank angle, a value for each degree of a turn and one for its end.
 *
 * torque   [N m] at a crank angle [rad]
 * context  handed to it */
void lb_page_record_torque(struct lb_record *record,
                           double (*torque)(double angle, const void *context),
                           const void *context);

/* The machine and what holds around it. */
void lb_page_head(struct lb_cutoff_page *page);

/* Where to shut the inlet, by each choice and under the other bounding law. */
void lb_page_angles(struct lb_cutoff_page *page);

/* The same for each assumption of a dead volume that is not known; nothing if all are. */
void lb_page_assumed(struct lb_cutoff_page *page);

/* What each choice gives and costs. */
void lb_page_gain(struct lb_cutoff_page *page);

/* What lies behind it. */
void lb_page_details(struct lb_cutoff_page *page);

/* Choices that have no answer, or no work: why, and what would do. */
void lb_page_refusals(struct lb_cutoff_page *page);

/* The file's own timing against the rules. */
void lb_page_own_timing(struct lb_cutoff_page *page);

/* The supply that the file's own timing suits. */
void lb_page_supply(struct lb_cutoff_page *page);

/* One angle for both ends and what it costs; nothing for a single-acting machine. */
void lb_page_common_angle(struct lb_cutoff_page *page);

#ifdef __cplusplus
}
#endif

#endif
