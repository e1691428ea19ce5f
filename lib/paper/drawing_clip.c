/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines and arcs cut to a window.
 */
#include "paper/drawing_clip.h"

#include "base/constants.h"

#include <math.h>
#include <stdlib.h>

bool lb_clip_holds(const struct lb_box *window, struct lb_point p) {
  return p.x >= window->left && p.x <= window->right && p.y >= window->bottom && p.y <= window->top;
}

/* Narrow a line's part [*begin, *end], shares of its length, to where start + share * way lies
 * between low and high. Returns false when nothing is left. */
static bool narrow(double *begin, double *end, double start, double way, double low, double high) {
  if (way == 0)
    return start >= low && start <= high;
  double a = (low - start) / way, b = (high - start) / way;
  *begin = fmax(*begin, fmin(a, b));
  *end = fmin(*end, fmax(a, b));
  return *begin <= *end;
}

bool lb_clip_line(struct lb_point *from, struct lb_point *to, const struct lb_box *window) {
  struct lb_point start = *from, way = {to->x - from->x, to->y - from->y};
  double begin = 0, end = 1;
  if (!narrow(&begin, &end, start.x, way.x, window->left, window->right) ||
      !narrow(&begin, &end, start.y, way.y, window->bottom, window->top))
    return false;
  if (begin > 0)
    *from = (struct lb_point){start.x + begin * way.x, start.y + begin * way.y};
  if (end < 1)
    *to = (struct lb_point){start.x + end * way.x, start.y + end * way.y};
  return true;
}

/* Where an arc may cross the window, as angles ahead of its start, and both its ends. */
struct crossings {
  double ahead[LB_CLIP_PIECES_MOST + 1];
  size_t count;
};

/* Add a direction if the arc reaches it. */
static void add(struct crossings *crossings, const struct lb_arc_piece *arc, double direction) {
  double ahead = fmod(direction - arc->from, 2 * LB_PI);
  if (ahead < 0)
    ahead += 2 * LB_PI;
  if (ahead < arc->sweep)
    crossings->ahead[crossings->count++] = ahead;
}

static int by_size(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void find_crossings(struct crossings *crossings, struct lb_point centre, double radius,
                           const struct lb_arc_piece *arc, const struct lb_box *window) {
  double x[] = {(window->left - centre.x) / radius, (window->right - centre.x) / radius};
  double y[] = {(window->bottom - centre.y) / radius, (window->top - centre.y) / radius};
  *crossings = (struct crossings){.ahead = {0, arc->sweep}, .count = 2};
  for (size_t i = 0; i < 2; i++) {
    if (fabs(x[i]) < 1) {
      add(crossings, arc, acos(x[i]));
      add(crossings, arc, -acos(x[i]));
    }
    if (fabs(y[i]) < 1) {
      add(crossings, arc, asin(y[i]));
      add(crossings, arc, LB_PI - asin(y[i]));
    }
  }
  qsort(crossings->ahead, crossings->count, sizeof crossings->ahead[0], by_size);
}

/* Between neighbouring crossings the arc is inside or outside as a whole; its middle tells. */
size_t lb_clip_arc(struct lb_arc_piece *piece, struct lb_point centre, double radius,
                   const struct lb_arc_piece *arc, const struct lb_box *window) {
  struct crossings crossings;
  find_crossings(&crossings, centre, radius, arc, window);
  size_t count = 0;
  for (size_t i = 0; i + 1 < crossings.count; i++) {
    double begin = crossings.ahead[i], end = crossings.ahead[i + 1];
    double middle = arc->from + (begin + end) / 2;
    struct lb_point p = {centre.x + radius * cos(middle), centre.y + radius * sin(middle)};
    if (end > begin && lb_clip_holds(window, p))
      piece[count++] = (struct lb_arc_piece){arc->from + begin, end - begin};
  }
  return count;
}
