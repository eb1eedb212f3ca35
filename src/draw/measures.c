/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * measures.c - running measures along two sides of a view.
 *
 * They start at one end for all edges. Chains from edge to edge would add up the errors of every
 * step.
 */
#include "work.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define SPACING 8.0 /* least distance of two measures */
#define FIRST 24.0  /* from the outline to the line of running measures */

void ebb_work_edge(ebb_work_edges *e, double at)
{
    if (e->n < EBB_WORK_MOST_EDGES) {
        e->at[e->n++] = at;
    }
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Sorted, each once, none outside the view. */
void ebb_work_tidy(ebb_work_edges *e, double length, double same)
{
    qsort(e->at, e->n, sizeof *e->at, by_value);
    size_t kept = 0;
    for (size_t i = 0; i < e->n; i++) {
        const bool inside = e->at[i] > -same && e->at[i] < length + same;
        if (inside && (kept == 0 || e->at[i] - e->at[kept - 1] > same)) {
            e->at[kept++] = e->at[i];
        }
    }
    e->n = kept;
}

/* Numbers that would cover one another are moved apart, all of a crowd by the same share. */
void ebb_work_spread(size_t n, const double *at, double spacing, double *placed)
{
    for (size_t i = 0; i < n; i++) {
        placed[i] = i > 0 ? fmax(at[i], placed[i - 1] + spacing) : at[i];
    }
    /* A crowd pushed to the right is drawn back to its middle. */
    for (size_t first = 0; first < n;) {
        size_t last = first;
        while (last + 1 < n && placed[last + 1] - placed[last] < spacing + 1e-9) {
            last++;
        }
        double lean = 0.0;
        for (size_t i = first; i <= last; i++) {
            lean += (placed[i] - at[i]) / (double)(last - first + 1);
        }
        const double room = first > 0 ? placed[first] - placed[first - 1] - spacing : lean;
        for (size_t i = first; i <= last; i++) {
            placed[i] -= fmax(0.0, fmin(lean, room));
        }
        first = last + 1;
    }
}

/* Whole millimetres, as a tape shows them, without the unit: the sheet says it once. */
static void tape(double metres, ebb_units units, char *text, size_t size)
{
    if (units == EBB_UNITS_IMPERIAL) {
        ebb_quantity_print(EBB_Q_LENGTH, metres, units, text, size);
    } else {
        snprintf(text, size, "%.0f", fabs(round(1000.0 * metres)));
    }
}

/* One number at the end of its tick: upright below the view, level beside it. */
static void put_number(cairo_t *cr, const char *text, double x, double y, bool below)
{
    const ebb_label label = {.text = text, .size = EBB_DRAW_TINY, .align = 1.0};
    double size[2];
    ebb_label_size(cr, &label, size);
    cairo_save(cr);
    cairo_translate(cr, x, y);
    if (below) {
        cairo_rotate(cr, -1.5707963267948966);
    }
    ebb_draw_word(cr, EBB_INK_TEXT, &label, 0.0, -size[1] / 2.0);
    cairo_restore(cr);
}

/* The axis with a tick for every edge, a thin line from the edge through the view, and the numbers.
 */
void ebb_draw_measures(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                       const ebb_work_edges *e, bool below)
{
    static const ebb_draw_style GUIDE = {.ink = EBB_INK_RULE, .width = 0.4, .dash = {1.0, 2.0}};
    static const ebb_draw_style AXIS = {.ink = EBB_INK_QUIET, .width = 0.5};
    const ebb_frame *box = &view->box;
    cairo_t *cr = sheet->cr;
    double placed[EBB_WORK_MOST_EDGES];
    ebb_work_spread(e->n, e->at, SPACING, placed);
    const double right = box->x + box->width, foot = box->y + box->height;
    for (size_t i = 0; i < e->n; i++) {
        const double at = below ? box->x + e->at[i] : foot - e->at[i];
        const double to = below ? box->x + placed[i] : foot - placed[i];
        const double line = below ? foot + FIRST : box->x - FIRST;
        char text[48];
        tape(e->at[i] / view->scale, sheet->units, text, sizeof text);
        ebb_draw_pen(cr, &GUIDE);
        if (below) {
            ebb_draw_line(cr, at, box->y, at, line - 3.0);
        } else {
            ebb_draw_line(cr, right, at, line + 3.0, at);
        }
        ebb_draw_pen(cr, &AXIS);
        if (below) {
            ebb_draw_line(cr, at, line - 3.0, at, line + 2.0);
            ebb_draw_line(cr, at, line + 2.0, to, line + 7.0);
            put_number(cr, text, to, line + 9.0, true);
        } else {
            ebb_draw_line(cr, line + 3.0, at, line - 2.0, at);
            ebb_draw_line(cr, line - 2.0, at, line - 7.0, to);
            put_number(cr, text, line - 9.0, to, false);
        }
    }
    if (below) {
        ebb_draw_line(cr, box->x, foot + FIRST, right, foot + FIRST);
    } else {
        ebb_draw_line(cr, box->x - FIRST, box->y, box->x - FIRST, foot);
    }
}
