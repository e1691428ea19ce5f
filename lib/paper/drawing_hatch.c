/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Hatching. Regions are looked at in a frame turned with the lines: u along them, v across.
 */
#include "paper/drawing_hatch.h"

#include "base/constants.h"

#include <math.h>
#include <stdlib.h>

/* Shorter pieces of lines are left out: they come from lines that touch a corner [mm]. */
static const double least_length = 1e-6;

/* The turned frame. */
struct frame {
  double cosine, sine;
};

static struct frame frame_of(const struct lb_hatching *hatching) {
  return (struct frame){cos(hatching->angle), sin(hatching->angle)};
}

/* Into the frame: x becomes u, y becomes v; and back. */
static struct lb_point turned(const struct frame *frame, struct lb_point p) {
  return (struct lb_point){p.x * frame->cosine + p.y * frame->sine,
                           p.y * frame->cosine - p.x * frame->sine};
}

static struct lb_point turned_back(const struct frame *frame, double u, double v) {
  return (struct lb_point){u * frame->cosine - v * frame->sine,
                           u * frame->sine + v * frame->cosine};
}

static void put(const struct lb_hatching *hatching, const struct frame *frame, double from,
                double to, double v) {
  if (to - from >= least_length)
    hatching->put(hatching->context, turned_back(frame, from, v), turned_back(frame, to, v));
}

static int by_size(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Where the line at v crosses the edges. An edge has its lower end and not its upper one, so that a
 * corner counts once where the outline goes on and twice or never where it turns back; thus there
 * is an even number of crossings. Returns how many. */
static size_t crossings(double *u, const struct frame *frame, const struct lb_point *point,
                        size_t count, double v) {
  size_t found = 0;
  struct lb_point before = turned(frame, point[count - 1]);
  for (size_t i = 0; i < count; i++) {
    struct lb_point here = turned(frame, point[i]);
    if ((before.y <= v) != (here.y <= v))
      u[found++] = before.x + (here.x - before.x) * (v - before.y) / (here.y - before.y);
    before = here;
  }
  return found;
}

/* The numbers of the lines that may meet what lies between two v. Returns false when there are too
 * many, or no numbers. */
static bool lines_between(double *first, double *last, const struct lb_hatching *hatching,
                          double low, double high) {
  *first = ceil(low / hatching->spacing);
  *last = floor(high / hatching->spacing);
  return fabs(*first) <= LB_HATCH_LINES_MOST && fabs(*last) <= LB_HATCH_LINES_MOST;
}

static void hatch_polygon_line(const struct lb_hatching *hatching, const struct frame *frame,
                               const struct lb_point *point, size_t count, double *u, double v) {
  size_t found = crossings(u, frame, point, count, v);
  qsort(u, found, sizeof *u, by_size);
  for (size_t i = 0; i + 1 < found; i += 2)
    put(hatching, frame, u[i], u[i + 1], v);
}

enum lb_status lb_hatch_polygon(const struct lb_hatching *hatching, const struct lb_point *point,
                                size_t count) {
  struct frame frame = frame_of(hatching);
  double low = turned(&frame, point[0]).y, high = low, first, last;
  for (size_t i = 1; i < count; i++) {
    double v = turned(&frame, point[i]).y;
    low = fmin(low, v);
    high = fmax(high, v);
  }
  if (!lines_between(&first, &last, hatching, low, high))
    return LB_NUMERIC;
  double *u = calloc(count, sizeof *u);
  if (!u)
    return LB_NO_MEMORY;
  for (double k = first; k <= last; k++)
    hatch_polygon_line(hatching, &frame, point, count, u, k * hatching->spacing);
  free(u);
  return LB_OK;
}

/* The most places where a line crosses the edge of a piece of a ring: twice each circle, once each
 * straight side. */
enum {
  MOST_CROSSINGS = 6
};

/* Where a line at the distance `away` from the centre crosses a circle, measured from the foot of
 * the perpendicular; a circle of no radius is the centre itself, where both sides end. Returns how
 * many were added to u. */
static size_t cross_circle(double *u, double radius, double away) {
  if (!(fabs(away) <= radius))
    return 0;
  double half = sqrt((radius - away) * (radius + away));
  u[0] = -half;
  u[1] = half;
  return 2;
}

/* Where it crosses a straight side, which runs from the centre in a direction. */
static size_t cross_side(double *u, double direction, double away) {
  double rise = sin(direction);
  if (rise * away <= 0)
    return 0;
  u[0] = away * cos(direction) / rise;
  return 1;
}

/* Whether a place in the turned frame, seen from the centre, lies in the piece. */
static bool inside(const struct lb_ring_piece *piece, double first, double u, double v) {
  double radius = hypot(u, v);
  double ahead = fmod(atan2(v, u) - first, 2 * LB_PI);
  if (ahead < 0)
    ahead += 2 * LB_PI;
  return radius >= piece->inner && radius <= piece->outer && ahead <= piece->sweep;
}

/* Between neighbouring crossings a line is inside or outside as a whole; its middle tells. Pieces
 * that follow each other become one line. */
static void hatch_ring_line(const struct lb_hatching *hatching, const struct frame *frame,
                            const struct lb_ring_piece *piece, double v) {
  struct lb_point centre = turned(frame, piece->centre);
  double first = piece->from - hatching->angle, away = v - centre.y, u[MOST_CROSSINGS];
  size_t found = cross_circle(u, piece->outer, away);
  found += cross_circle(u + found, piece->inner, away);
  found += cross_side(u + found, first, away);
  found += cross_side(u + found, first + piece->sweep, away);
  qsort(u, found, sizeof u[0], by_size);
  for (size_t i = 0; i + 1 < found; i++) {
    size_t begin = i;
    while (i + 1 < found && inside(piece, first, (u[i] + u[i + 1]) / 2, away))
      i++;
    put(hatching, frame, centre.x + u[begin], centre.x + u[i], v);
  }
}

enum lb_status lb_hatch_ring_piece(const struct lb_hatching *hatching,
                                   const struct lb_ring_piece *piece) {
  struct frame frame = frame_of(hatching);
  double middle = turned(&frame, piece->centre).y, first, last;
  if (!lines_between(&first, &last, hatching, middle - piece->outer, middle + piece->outer))
    return LB_NUMERIC;
  for (double k = first; k <= last; k++)
    hatch_ring_line(hatching, &frame, piece, k * hatching->spacing);
  return LB_OK;
}
