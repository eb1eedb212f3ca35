/* SPDX-License-Identifier: GPL-3.0-or-later */
/* work.h - the parts of a working drawing. */
#ifndef EBB_DRAW_WORK_H
#define EBB_DRAW_WORK_H

#include "sheet.h"

#define EBB_WORK_MOST_EDGES 256

/* The ratio 1:n of a view of `span` metres within `room_for` points: one of the trade's, else the
 * exact one that fits. */
double ebb_work_scale(const double span[2], const double room_for[2], ebb_units units);

/* Edges along one side of a view, points from its left or lower end. */
typedef struct ebb_work_edges {
    size_t n;
    double at[EBB_WORK_MOST_EDGES];
} ebb_work_edges;

/* Adds an edge; those beyond the most are left out. */
void ebb_work_edge(ebb_work_edges *e, double at);
/* Sorts them, leaves each once (within `same`) and none outside 0..length. */
void ebb_work_tidy(ebb_work_edges *e, double length, double same);
/* The axis with a tick for every edge, a thin line from the edge through the view, and the numbers:
 * below the view or to its left. */
void ebb_draw_measures(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                       const ebb_work_edges *e, bool below);

/* Places of numbers for rising `at`, at least `spacing` apart and near where they belong. */
void ebb_work_spread(size_t n, const double *at, double spacing, double *placed);

#endif
