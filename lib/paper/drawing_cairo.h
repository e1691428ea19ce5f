/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drawing as PDF (all its pages), and a page as SVG or PNG.
 *
 * Everything is as large as the drawing says, to the last digit of the format: a PDF's and an SVG's
 * page in millimetres, a PNG's pixels at a stated resolution, which the file carries. Letters are
 * DejaVu Sans where it is installed, else the nearest that the system has, else those that cairo
 * brings; a text wider than lb_drawing_text_width is narrowed to it.
 */
#ifndef LASTBAR_PAPER_DRAWING_CAIRO_H
#define LASTBAR_PAPER_DRAWING_CAIRO_H

#include "paper/drawing.h"

#ifdef __cplusplus
extern "C" {
#endif

enum lb_drawing_format {
  LB_DRAWING_PDF,
  LB_DRAWING_SVG,
  LB_DRAWING_PNG
};

/* The resolutions of a PNG [dots per inch]. */
enum {
  LB_DPI_LEAST = 30,
  LB_DPI_USUAL = 150,
  LB_DPI_MOST = 1200
};

/* Write a drawing: PDF all pages, else the first.
 * bytes   out: to be released with free; unchanged on failure. The same drawing gives the same
 *         bytes on one system, there is no date in it.
 * length  out
 * title   [UTF-8] of a PDF document, shown by readers
 * dpi     of PNG, LB_DPI_LEAST ... LB_DPI_MOST; not read for the others
 * Fails with LB_NO_MEMORY; (LB_BAD_INPUT) when the drawing has no page; (LB_NUMERIC) when cairo
 * refuses, with its reason. Thread-safe. */
enum lb_status lb_drawing_write(char **bytes, size_t *length, const struct lb_drawing *drawing,
                                enum lb_drawing_format format, const char *title, double dpi,
                                struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
