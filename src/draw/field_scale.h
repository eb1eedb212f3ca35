/* SPDX-License-Identifier: GPL-3.0-or-later */
/* field_scale.h - what a field map is drawn with. */
#ifndef EBB_DRAW_FIELD_SCALE_H
#define EBB_DRAW_FIELD_SCALE_H

#include "axes.h"
#include "contour.h"
#include "field_cut.h"

#define EBB_DRAW_SCALE_WIDTH 74.0 /* kept free beside the map for its scale of shades, points */

/* Bands of value, each of one shade: edges at low + i * step. */
typedef struct ebb_draw_bands {
    double low, step;
    int n;
    int every; /* a line at every so many edges */
    bool levels;
} ebb_draw_bands;

/* One map while it is drawn. */
typedef struct ebb_draw_field_view {
    const ebb_field_map *map;
    ebb_draw_chart chart;
    ebb_draw_grid grid; /* on the page */
    ebb_draw_outline_of_cut cut;
    ebb_draw_bands bands;
    int axis[2];
    double unit; /* m in one unit of the axes */
} ebb_draw_field_view;

/* Length of the room along an axis of the cut, m. */
double ebb_draw_field_size(const ebb_draw_field_view *v, int d);
ebb_draw_bands ebb_draw_bands_of(const ebb_field_map *map, const ebb_draw_grid *grid);
/* Makes the shade of a band the source of cr. */
void ebb_draw_band_colour(cairo_t *cr, const ebb_draw_bands *b, int band);

/* The scale of shades at x, beside the map; the scale bar and the note at y, below it. */
void ebb_draw_field_scale(const ebb_draw_field_view *v, double x);
void ebb_draw_field_bar(const ebb_draw_field_view *v, double y);
void ebb_draw_field_note(const ebb_draw_field_view *v, const ebb_frame *frame, double y);

#endif
