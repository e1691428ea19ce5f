/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rings of letters.
 */
#include "paper/sketch.h"

#include "base/constants.h"
#include "paper/show.h"

#include <math.h>
#include <string.h>

/* A letter is about twice as high as wide, so a ring twice as wide as high looks round. */
enum {
  RADIUS_ROWS = 7,
  RADIUS_COLUMNS = 2 * RADIUS_ROWS,
  ROWS = 2 * RADIUS_ROWS + 1,
  RING = 2 * RADIUS_COLUMNS + 1, /* columns of one ring */
  GAP = 8,
  COLUMNS = LB_ENDS * RING + GAP,
  STEPS = 720 /* marks set round a ring: several for each letter */
};

static const char phase_mark[] = {'#', '-', '.', '='};
static const char event_mark[] = {'O', 'C', 'R', 'K'};
enum {
  EVENTS = 4
};
static const char blank = ' ', coinciding = '*';

struct sheet {
  char cell[ROWS][COLUMNS + 1];
};

/* The cell of an angle after dead centre on the ring that starts at a column. */
static char *cell(struct sheet *sheet, int start, double angle, bool clockwise) {
  double side = clockwise ? sin(angle) : -sin(angle);
  int row = RADIUS_ROWS - (int)lround(RADIUS_ROWS * cos(angle));
  int column = start + RADIUS_COLUMNS + (int)lround(RADIUS_COLUMNS * side);
  return &sheet->cell[row][column];
}

/* The four events of an end, from the opening of the inlet on. */
static void events_of(double *angle, const struct lb_machine *machine, enum lb_end end,
                      const double *cutoff) {
  const struct lb_timing *t = &machine->timing[end];
  angle[0] = t->inlet_opens;
  angle[1] = cutoff[end];
  angle[2] = t->release;
  angle[3] = t->exhaust_closes;
}

static int phase_at(const double *event, double angle) {
  int phase = EVENTS - 1;
  while (phase > 0 && angle < event[phase])
    phase--;
  return phase;
}

static void centre(struct sheet *sheet, int start, int row, const char *words) {
  int length = (int)strlen(words);
  memcpy(&sheet->cell[row][start + RADIUS_COLUMNS - length / 2], words, (size_t)length);
}

static void draw_ring(struct sheet *sheet, int start, const struct lb_machine *machine,
                      enum lb_end end, const double *cutoff) {
  double event[EVENTS];
  events_of(event, machine, end, cutoff);
  for (int i = 0; i < STEPS; i++) {
    double angle = event[0] + 2 * LB_PI * i / STEPS;
    *cell(sheet, start, angle, machine->clockwise) = phase_mark[phase_at(event, angle)];
  }
  for (int i = 0; i < EVENTS; i++) {
    char *at = cell(sheet, start, event[i], machine->clockwise);
    bool taken = memchr(event_mark, *at, sizeof event_mark) != NULL;
    *at = taken ? coinciding : event_mark[i];
  }
  centre(sheet, start, RADIUS_ROWS - 1, end == LB_CAP_END ? "cap end" : "rod end");
  centre(sheet, start, RADIUS_ROWS + 1, machine->clockwise ? "clockwise" : "anticlockwise");
}

/* A row without the blanks at its end. */
static void add_row(struct lb_text *text, const char *row) {
  int length = COLUMNS;
  while (length > 0 && row[length - 1] == blank)
    length--;
  lb_text_add(text, "%.*s\n", length, row);
}

/* "cap end: O -3.0  C 78.0  R 172.0  K 346.0 deg after its dead centre" */
static void add_angles(struct lb_text *text, const struct lb_machine *machine, enum lb_end end,
                       const double *cutoff) {
  double event[EVENTS];
  events_of(event, machine, end, cutoff);
  lb_text_add(text, "%s:", end == LB_CAP_END ? "cap end" : "rod end");
  for (int i = 0; i < EVENTS; i++)
    lb_text_add(text, "%s%c %s", i ? "  " : " ", event_mark[i],
                lb_show_number(event[i] * 180 / LB_PI, 1).text);
  lb_text_add(text, " deg after its dead centre\n");
}

void lb_sketch_timing(struct lb_text *text, const struct lb_machine *machine,
                      const double *cutoff) {
  struct sheet sheet;
  memset(&sheet, blank, sizeof sheet);
  int rings = 0;
  for (int i = 0; i < LB_ENDS; i++)
    if (machine->works[i])
      draw_ring(&sheet, rings++ * (RING + GAP), machine, (enum lb_end)i, cutoff);
  for (int row = 0; row < ROWS; row++)
    add_row(text, sheet.cell[row]);
  lb_text_add(text, "\n");
  for (int i = 0; i < LB_ENDS; i++)
    if (machine->works[i])
      add_angles(text, machine, (enum lb_end)i, cutoff);
  lb_text_add(text, "Dead centre up: O inlet opens, # filling, C cut-off, - expanding, R release,\n"
                    ". exhaust, K exhaust closes, = compressing; * two events in one place.\n");
}
