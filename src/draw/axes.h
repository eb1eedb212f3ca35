/* SPDX-License-Identifier: GPL-3.0-or-later */
/* axes.h - axes, ticks, legend: what every plot shares. */
#ifndef EBB_DRAW_AXES_H
#define EBB_DRAW_AXES_H

#include "pen.h"

/* One axis: values low..high on page coordinates from..to (from > to for an upward y). */
typedef struct ebb_draw_axis {
    double low, high;
    bool log;
    double from, to;
} ebb_draw_axis;

#define EBB_DRAW_TICKS 64

/* Ticks of an axis. Texts are short numbers without unit. */
typedef struct ebb_draw_ticks {
    size_t n;
    double value[EBB_DRAW_TICKS];
    char text[EBB_DRAW_TICKS][16];
} ebb_draw_ticks;

/* Page coordinate of a value; values outside the axis land outside it. */
double ebb_draw_at(const ebb_draw_axis *axis, double value);
/* Preferred third-octave frequencies within the axis: 20 25 31.5 40 ... */
void ebb_draw_ticks_third(const ebb_draw_axis *axis, ebb_draw_ticks *ticks);
/* Octave frequencies within the axis: ... 63 125 250 500 1000 ... */
void ebb_draw_ticks_octave(const ebb_draw_axis *axis, ebb_draw_ticks *ticks);
/* Linear: at most `most` round steps. Log: 1, 2 and 5 times powers of ten. */
void ebb_draw_ticks_round(const ebb_draw_axis *axis, size_t most, ebb_draw_ticks *ticks);
/* Widens low..high to whole multiples of step. */
void ebb_draw_axis_widen(ebb_draw_axis *axis, double step);

typedef enum ebb_draw_tick_kind {
    EBB_DRAW_ROUND,  /* 1, 2, 5 and their like */
    EBB_DRAW_THIRDS, /* third-octave frequencies */
    EBB_DRAW_OCTAVES /* 125 250 500 ... */
} ebb_draw_tick_kind;

/* One entry of a legend. */
typedef struct ebb_draw_key {
    const char *name;
    ebb_draw_style style;
} ebb_draw_key;

/* A chart: title, legend, axes with grid. Filled by the caller up to `keys`. */
typedef struct ebb_draw_chart {
    cairo_t *cr;
    const char *title, *x_label, *y_label;
    ebb_draw_axis x, y; /* low, high, log given; from, to set by opening */
    ebb_draw_tick_kind x_ticks;
    size_t n_keys;
    const ebb_draw_key *keys;
    ebb_frame area; /* set by opening: inside the axes */
} ebb_draw_chart;

/* Draws title and legend and works out the area; nothing inside it yet. */
void ebb_draw_chart_open(ebb_draw_chart *chart, const ebb_frame *frame);
/* Grid lines; call after shaded areas, before curves. */
void ebb_draw_chart_grid(ebb_draw_chart *chart);
/* Everything until the end is cut off at the edges of the area. */
void ebb_draw_chart_clip(ebb_draw_chart *chart);
/* Ends the clip; draws the frame, tick texts and axis labels. */
void ebb_draw_chart_close(ebb_draw_chart *chart);
/* A sentence at the top of the area, for charts that have nothing to show. */
void ebb_draw_chart_say(ebb_draw_chart *chart, const char *text);

/* Legend in rows from (frame->x, frame->y) within frame->width; returns its height. With
 * draw == false it is only measured. */
double ebb_draw_legend(cairo_t *cr, const ebb_frame *frame, size_t n, const ebb_draw_key *keys,
                       bool draw);

/* A curve through (x, y), broken at values that are not finite. */
void ebb_draw_curve(const ebb_draw_chart *chart, const ebb_draw_style *style, size_t n,
                    const double *x, const double *y);
/* A marker at every (x, y) within the area; call it after the clip has ended, so that markers on
 * the edge stay whole. */
void ebb_draw_marks(const ebb_draw_chart *chart, const ebb_draw_style *style, size_t n,
                    const double *x, const double *y);

/* Volume whose limits are drawn: what the treated room keeps, as it was judged, else the bare
 * room. answer->shown is not NULL. */
double ebb_draw_volume(const ebb_answer *answer);

#endif
