/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The blocks of an answer that are about one timing (decide/detail.h), as text and as records.
 */
#ifndef LASTBAR_PAPER_ANSWER_DETAIL_H
#define LASTBAR_PAPER_ANSWER_DETAIL_H

#include "decide/detail.h"
#include "paper/record.h"
#include "paper/show.h"
#include "paper/text.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What a block is made of. Everything is borrowed. */
struct lb_detail_page {
  const struct lb_machine *machine;
  const struct lb_detail *detail;
  struct lb_style style;
  double disc;         /* [m] diameter on which a tolerance is also given in length; 0: none */
  struct lb_text *out; /* lines of at most 79 columns */
};

/* Does it start: torque running and at standstill, dead arcs, starting pressures. */
void lb_detail_starting(const struct lb_detail_page *page);

/* Where the worth of the air goes, with a bar for each part. */
void lb_detail_audit(const struct lb_detail_page *page);

/* What one degree, a tenth of the dead volume, a tenth of a bar more change.
 * all  every event; else the cut-offs alone, with dead volume and supply */
void lb_detail_sensitivity(const struct lb_detail_page *page, bool all);

/* How far events may be off; `all` as above. */
void lb_detail_tolerance(const struct lb_detail_page *page, bool all);

/* Dead arcs, sensitivities and tolerances of the cut-offs as members "dead_arcs_deg",
 * "starting_supply_pa", "sensitivity", "tolerance_deg", "release_tolerance_deg".
 * detail  NULL when there is no answer: all of them are null then */
void lb_detail_record(struct lb_record *record, const struct lb_machine *machine,
                      const struct lb_detail *detail);

/* The audit as member "audit". */
void lb_detail_record_audit(struct lb_record *record, const struct lb_audit *audit);

#ifdef __cplusplus
}
#endif

#endif
