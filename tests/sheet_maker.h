/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests of sheets: all that a sheet of a machine is made of.
 */
#ifndef LASTBAR_TESTS_SHEET_MAKER_H
#define LASTBAR_TESTS_SHEET_MAKER_H

#include "paper/sheet.h"

/* Must stay where it is while the sheet is used. */
struct sheet_maker {
  struct lb_machine machine;
  struct lb_cycle *cycle;
  struct lb_cutoff_answer answer; /* only the choice of the rule is found */
  struct lb_detail detail;
  struct lb_cutoff_paper paper;
  struct lb_sheet sheet; /* A4, true, "machine.ini", CRC-32 0123abcd, nothing changed */
};

/* Make a sheet of a machine with its own timing; what it leaves open is timed by the atmospheric
 * rule. Returns false, with nothing to release, when it has no answer. The test fails when anything
 * else does. */
bool sheet_maker_begin(struct sheet_maker *maker, const struct lb_machine *machine);

/* The same by LB_ATMOSPHERIC or LB_ECONOMY. */
bool sheet_maker_begin_rule(struct sheet_maker *maker, const struct lb_machine *machine,
                            enum lb_rule rule);

void sheet_maker_end(struct sheet_maker *maker);

/* Call for a sheet of every demo machine, in both units and on all papers; where support_is_rough,
 * in the one or the other and on one of them. */
void sheet_maker_demos(void (*check)(struct sheet_maker *maker));

#endif
