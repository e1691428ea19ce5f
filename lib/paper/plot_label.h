/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Places for the labels of a diagram (paper/plot.h), clear of each other and of its lines.
 *
 * The frame is divided into small cells that know how much is drawn in them. Each label in turn
 * takes the place, of a fine raster all over the frame, that costs least: distance from what it
 * names, lines that it would cover, lines that its leader would cross. Covering another label costs
 * more than anything else can. Part of the diagrams.
 */
#ifndef LASTBAR_PAPER_PLOT_LABEL_H
#define LASTBAR_PAPER_PLOT_LABEL_H

#include "paper/plot.h"

/* Put and draw all labels of a diagram. Memory running out is told to its drawing. */
void lb_plot_label_place(struct lb_plot *plot);

#endif
