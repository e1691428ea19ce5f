/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests of what is written about running a store down: an answer made up by hand, whose
 * figures are told from each other. Nothing in it was calculated.
 */
#ifndef LASTBAR_TESTS_RUNDOWN_MAKER_H
#define LASTBAR_TESTS_RUNDOWN_MAKER_H

#include "paper/answer_rundown.h"

/* Its surroundings [Pa absolute]. */
#define RUNDOWN_MAKER_AMBIENT 1e5

/* Its runs by index. The first, unregulated, is not run. */
enum {
  RUNDOWN_MAKER_REGULATED = 1,
  RUNDOWN_MAKER_BEST,
  RUNDOWN_MAKER_TWO, /* steps */
  RUNDOWN_MAKER_THREE,
  RUNDOWN_MAKER_FOLLOWING,
  RUNDOWN_MAKER_RUNS
};

/* An answer and what it is about; its paper is made anew by each call of rundown_maker_paper. */
struct rundown_maker {
  struct lb_machine machine;
  struct lb_rundown *rundown;
  struct lb_rundown_paper paper;
};

/* A vehicle with everything, at a speed. To be released with rundown_maker_free. */
struct rundown_maker rundown_maker_new(void);
void rundown_maker_free(struct rundown_maker *maker);

/* Its paper, to be used until the maker moves. */
const struct lb_rundown_paper *rundown_maker_paper(struct rundown_maker *maker);

#endif
