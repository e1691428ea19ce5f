/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A page as DXF, R12 ASCII: what laser cutters and CAD programs of every age read.
 *
 * One unit is one millimetre, which the file says in a text and in its header. Layers CUT, MARK and
 * TEXT; lines, circles and arcs are true ones, polylines are polylines. Shades have no place in
 * R12: areas and sectors are left out (their hatching and outlines are lines of their own). What a
 * view's window cuts off is not there; a text stays whole.
 */
#ifndef LASTBAR_PAPER_DRAWING_DXF_H
#define LASTBAR_PAPER_DRAWING_DXF_H

#include "paper/drawing.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The first page of a drawing as DXF. Letters outside ASCII are written as "\U+" and four hex
 * digits (those above U+FFFF as "?"), degrees and plus-minus as %%d and %%p. Text heights are those
 * of capitals. The unit stands as a text in the corner of the page, on layer 0, which holds nothing
 * to be made. Only shapes in a view of scale 1 may be on it.
 *
 * bytes   out: to be released with free; unchanged on failure
 * length  out
 *
 * Fails with LB_NO_MEMORY; (LB_BAD_INPUT) when the drawing has no page, or another scale. */
enum lb_status lb_drawing_dxf(char **bytes, size_t *length, const struct lb_drawing *drawing,
                              struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
