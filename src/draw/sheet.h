/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sheet.h - the room drawing: several views of one room on one sheet, all to one scale. */
#ifndef EBB_DRAW_SHEET_H
#define EBB_DRAW_SHEET_H

#include "pen.h"

#define EBB_DRAW_PLAN ((size_t)-1) /* the view that shows no surface but the plan */
enum { EBB_DRAW_MOST_VIEWS = 12, EBB_DRAW_MOST_TYPES = 8 };

/* One view: a flat rectangle in metres put on the page. */
typedef struct ebb_draw_view {
    size_t surface; /* index into room->surfaces, or EBB_DRAW_PLAN */
    char title[64];
    double low[2], span[2]; /* m: lower ends and extents, across and up */
    bool mirrored;          /* walls: seen from inside, their first corner lies on the right */
    ebb_frame box;          /* points */
    double scale;           /* points per metre */
} ebb_draw_view;

/* What all views of a sheet share. */
typedef struct ebb_draw_sheet {
    cairo_t *cr;
    const ebb_job *job;
    const ebb_room *room;
    const ebb_layout *layout;
    ebb_units units;
    size_t n_views;
    ebb_draw_view view[EBB_DRAW_MOST_VIEWS];
    size_t n_types; /* kinds of units in use, and the index of each in job->absorbers */
    size_t type[EBB_DRAW_MOST_TYPES];
} ebb_draw_sheet;

/* Page point of (across, up) in metres. */
void ebb_draw_view_point(const ebb_draw_view *view, double across, double up, double at[2]);
/* Page rectangle of a rectangle in metres. */
ebb_frame ebb_draw_view_frame(const ebb_draw_view *view, const double at[2], const double size[2]);

/* Outline of a surface on its view, and how many walls run round the plan. */
void ebb_draw_outline(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                      const ebb_surface *surface);
size_t ebb_draw_walls(const ebb_room *room);

/* A sheet with one view only, the plan or a surface; whoever draws it places it. */
void ebb_draw_sheet_single(ebb_draw_sheet *sheet, size_t surface);
/* The views of a room, and their places within `frame` at the largest common scale; returns the
 * height they take. */
void ebb_draw_sheet_views(ebb_draw_sheet *sheet);
double ebb_draw_sheet_arrange(ebb_draw_sheet *sheet, const ebb_frame *frame);

/* Draws one view: the plan, or a surface seen from inside (the ceiling from above). */
void ebb_draw_plan_view(const ebb_draw_sheet *sheet, const ebb_draw_view *view);
void ebb_draw_surface_view(const ebb_draw_sheet *sheet, const ebb_draw_view *view);

/* Unit of a placement, NULL when its index is not one of the job's. */
const ebb_unit *ebb_draw_unit_of(const ebb_draw_sheet *sheet, const ebb_placed *placed);
/* A unit's rectangle: filled by kind, with a heavy edge when it was there before. */
void ebb_draw_unit_box(const ebb_draw_sheet *sheet, const ebb_frame *box, size_t placed);
/* The fill of kind `type` (index into sheet->type). */
void ebb_draw_hatch(cairo_t *cr, const ebb_frame *box, size_t type);
/* A door, window or vent as seen from the front. */
void ebb_draw_opening(cairo_t *cr, const ebb_frame *box, ebb_opening_kind kind);
const char *ebb_draw_opening_name(ebb_opening_kind kind);

/* A dimension line from (x0, y0) along x or, upright, along y, with its length in words. */
void ebb_draw_dimension(const ebb_draw_sheet *sheet, const ebb_frame *line, double metres);
/* A corner's number, centred on (x, y). */
void ebb_draw_corner(cairo_t *cr, size_t corner, double x, double y);

/* Places short texts so that they do not cover one another. */
enum { EBB_DRAW_MOST_TAKEN = 160 };
typedef struct ebb_draw_taken {
    ebb_frame bounds; /* texts stay inside */
    size_t n;
    ebb_frame box[EBB_DRAW_MOST_TAKEN];
} ebb_draw_taken;

void ebb_draw_take(ebb_draw_taken *taken, const ebb_frame *box);
/* Where a text of the given size goes beside a point: the first free of eight places, else the one
 * that covers least. Takes it. */
ebb_frame ebb_draw_beside(ebb_draw_taken *taken, const double at[2], const double size[2]);

/* What is under the views: kinds of units, symbols, scale bar. */
double ebb_draw_sheet_legend(const ebb_draw_sheet *sheet, const ebb_frame *frame, bool draw);

#endif
