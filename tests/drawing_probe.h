/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests of sheets: what must hold of any drawing, found from its shapes without the
 * library's boxes. The test fails with the page, the shape and where it lies.
 */
#ifndef LASTBAR_TESTS_DRAWING_PROBE_H
#define LASTBAR_TESTS_DRAWING_PROBE_H

#include "paper/drawing.h"

#include <stdbool.h>

/* Every shape of a page's own view lies on the page with a border left free (of lines the middle of
 * their width), and every other view shows only what does.
 * border  [mm] >= 0: LB_SHEET_MARGIN of a sheet, 0 of a page for a cutting machine */
void probe_inside_pages(const struct lb_drawing *drawing, double border);

/* No two texts of a page, as far as their views show them, overlap, however they are turned. */
void probe_no_overlapping_texts(const struct lb_drawing *drawing);

/* Whether two texts of a page do. */
bool probe_overlap(const struct lb_drawing *drawing, const struct lb_shape *one,
                   const struct lb_shape *other);

/* No text is smaller than letters that can be read at arm's length, 2.6 mm, and none is empty. */
void probe_readable_texts(const struct lb_drawing *drawing);

/* All three, of a sheet on paper. */
void probe_sheet(const struct lb_drawing *drawing);

/* The text of a shape that is one. */
const char *probe_letters(const struct lb_drawing *drawing, const struct lb_shape *shape);

/* The first text of a page that contains some letters, or NULL.
 * page  index of the page */
const struct lb_shape *probe_find(const struct lb_drawing *drawing, size_t page,
                                  const char *letters);

/* A shape's point on its page [mm]. */
struct lb_point probe_seen(const struct lb_drawing *drawing, const struct lb_shape *shape,
                           struct lb_point point);

#endif
