/* SPDX-License-Identifier: GPL-3.0-or-later */
/* contour.h - areas above a level and lines of equal value on a grid of points. */
#ifndef EBB_DRAW_CONTOUR_H
#define EBB_DRAW_CONTOUR_H

#include <cairo.h>
#include <stddef.h>

/* Values at the points (x[i], y[j]) of the page; NAN where there is none. */
typedef struct ebb_draw_grid {
    size_t n[2];
    const double *x, *y;
    const double *value; /* [j * n[0] + i] */
} ebb_draw_grid;

/* Adds to the path of cr all that is at or above a level, between the points by straight lines.
 * Cells with a corner that has no value are left out. */
void ebb_draw_above(cairo_t *cr, const ebb_draw_grid *grid, double level);
/* Adds the lines on which the value is just the level: the borders of the above. */
void ebb_draw_contour(cairo_t *cr, const ebb_draw_grid *grid, double level);

#endif
