/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bar that tells how much of a long calculation is done.
 */
#include "progress.h"

#include <time.h>

enum {
  WIDTH = 40, /* columns of the bar */
  WHOLE = 100 /* [%] */
};
static const double patience = 1; /* [s] in which nothing is drawn */

void progress_begin(struct progress *progress, FILE *stream, bool terminal, double now) {
  *progress = (struct progress){.stream = stream, .terminal = terminal, .began = now, .drawn = -1};
}

void progress_tell(struct progress *progress, double share, double now) {
  double bounded = share > 0 ? share < 1 ? share : 1 : 0; /* NaN counts as nothing */
  int percent = (int)(bounded * WHOLE);
  if (!progress->terminal || now - progress->began < patience || percent == progress->drawn)
    return;
  fprintf(progress->stream, "\r[");
  for (int i = 0; i < WIDTH; i++)
    fputc(i * WHOLE < percent * WIDTH ? '#' : ' ', progress->stream);
  fprintf(progress->stream, "] %3d %%", percent);
  fflush(progress->stream);
  progress->drawn = percent;
}

void progress_end(struct progress *progress) {
  const int columns = WIDTH + 8; /* of the whole line */
  if (progress->drawn < 0)
    return;
  fprintf(progress->stream, "\r%*s\r", columns, "");
  fflush(progress->stream);
  progress->drawn = -1;
}

double progress_clock(void) {
  const double nanosecond = 1e-9;
  struct timespec now = {0};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + (double)now.tv_nsec * nanosecond;
}
