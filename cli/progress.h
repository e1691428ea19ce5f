/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bar that tells how much of a long calculation is done.
 *
 * It is drawn on a terminal only, once the work has lasted a second, on one line that is written
 * over and wiped at the end.
 */
#ifndef LASTBAR_CLI_PROGRESS_H
#define LASTBAR_CLI_PROGRESS_H

#include <stdbool.h>
#include <stdio.h>

struct progress {
  FILE *stream;
  bool terminal;
  double began; /* [s] */
  int drawn;    /* [%] as it stands on the terminal; -1 while nothing does */
};

/* A bar for work that begins.
 * stream    where to draw it
 * terminal  whether that is one: isatty
 * now       [s] of a clock that only goes forward */
void progress_begin(struct progress *progress, FILE *stream, bool terminal, double now);

/* Tell that a share [1] of the work is done, 0 ... 1. */
void progress_tell(struct progress *progress, double share, double now);

/* Wipe what was drawn. */
void progress_end(struct progress *progress);

/* A clock that only goes forward [s]. */
double progress_clock(void);

#endif
