/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/draw.h - plots and drawings on a cairo surface: one code for PDF, SVG and PNG.
 *
 * Sizes are points (1/72 inch) on the page. Nothing here knows what a verdict is but through the
 * structs it is given.
 */
#ifndef EBB_DRAW_H
#define EBB_DRAW_H

#include <ebb/plan.h>

#ifndef __cplusplus

typedef struct _cairo cairo_t;

/* A rectangle on the page, points. */
typedef struct ebb_frame {
    double x, y, width, height;
} ebb_frame;

/* Plan view and four unfolded walls of a room with openings, units, seats and speakers, to scale,
 * with a scale bar. */
EBB_API ebb_status ebb_draw_room(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const ebb_answer *answer, const ebb_layout *layout);
/* 1/3-octave levels before (thin) and after (bold) over frequency with the limit band; one panel,
 * all paths, the worst path marked. */
EBB_API ebb_status ebb_draw_response(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                     const ebb_answer *answer);
/* Decay time of every damped mode before and after over frequency, with the audibility limit. */
EBB_API ebb_status ebb_draw_decay(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                  const ebb_answer *answer);
/* Mid-band decay per octave before and after with its mask. */
EBB_API ebb_status ebb_draw_mid(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                const ebb_answer *answer);

/* A generic line plot for tools and the bench: n series over a common abscissa. */
typedef struct ebb_series {
    const char *name;
    size_t n;
    const double *x, *y; /* NAN breaks the line */
    bool points;         /* markers instead of a line */
} ebb_series;

typedef struct ebb_plot {
    const char *title, *x_label, *y_label; /* with units */
    bool log_x;
    double x_range[2], y_range[2]; /* NAN: from the data */
    size_t n_series;
    const ebb_series *series;
} ebb_plot;

EBB_API ebb_status ebb_draw_plot(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const ebb_plot *plot);
/* Draws a plot into a file, format by ending: .svg, .pdf, .png (width and height in points). */
EBB_API ebb_status ebb_plot_file(ebb_ctx *ctx, const char *path, double width, double height,
                                 const ebb_plot *plot);

#endif /* !__cplusplus */
#endif
