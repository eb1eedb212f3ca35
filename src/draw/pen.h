/* SPDX-License-Identifier: GPL-3.0-or-later */
/* pen.h - lines, markers and fills for the drawings. */
#ifndef EBB_DRAW_PEN_H
#define EBB_DRAW_PEN_H

#include <cairo.h>
#include <ebb/draw.h>

/* Smallest frame that still holds axes and a legend, points. */
#define EBB_DRAW_LEAST_WIDTH 240.0
#define EBB_DRAW_LEAST_HEIGHT 160.0

/* Font sizes, points. */
#define EBB_DRAW_TITLE 10.0
#define EBB_DRAW_SMALL 7.5
#define EBB_DRAW_TINY 6.5

typedef enum ebb_draw_marker {
    EBB_DRAW_NO_MARKER,
    EBB_DRAW_RING,    /* open circle */
    EBB_DRAW_DIAMOND, /* filled */
    EBB_DRAW_SQUARE,  /* filled */
    EBB_DRAW_CROSS
} ebb_draw_marker;

/* How a series looks. Dash lengths of 0 mean a solid line. */
typedef struct ebb_draw_style {
    ebb_ink ink;
    double width; /* points, 0: no line */
    double dash[2];
    ebb_draw_marker marker;
    bool area; /* the legend shows a filled box */
} ebb_draw_style;

/* Sets ink, width and dashes of a style on cr. */
void ebb_draw_pen(cairo_t *cr, const ebb_draw_style *style);
/* One marker centred on (x, y). */
void ebb_draw_mark(cairo_t *cr, const ebb_draw_style *style, double x, double y);
/* A straight line with the current pen. */
void ebb_draw_line(cairo_t *cr, double x0, double y0, double x1, double y1);
/* A filled rectangle. */
void ebb_draw_fill(cairo_t *cr, ebb_ink ink, const ebb_frame *frame);
/* One line of text about (x, y) with ink, size and align; y is its top. */
void ebb_draw_word(cairo_t *cr, ebb_ink ink, const ebb_label *label, double x, double y);

/* EBB_E_RANGE when the frame is too small or not finite. */
ebb_status ebb_draw_room_for(ebb_ctx *ctx, const ebb_frame *frame);

#endif
