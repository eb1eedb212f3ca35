/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sheet.h"

#include <math.h>
#include <stdio.h>

/* Room kept free around each view for its title, dimensions and corner numbers, points. */
#define ABOVE 16.0
#define BELOW 20.0
#define BESIDE 30.0
#define RIGHT 14.0 /* of the last column: corner numbers stand out */

/* The page counts downwards, rooms upwards. */
void ebb_draw_view_point(const ebb_draw_view *view, double across, double up, double at[2])
{
    const double part = view->scale * (across - view->low[0]);
    at[0] = view->mirrored ? view->box.x + view->box.width - part : view->box.x + part;
    at[1] = view->box.y + view->box.height - view->scale * (up - view->low[1]);
}

ebb_frame ebb_draw_view_frame(const ebb_draw_view *view, const double at[2], const double size[2])
{
    double a[2], b[2];
    ebb_draw_view_point(view, at[0], at[1], a);
    ebb_draw_view_point(view, at[0] + size[0], at[1] + size[1], b);
    return (ebb_frame){fmin(a[0], b[0]), b[1], fabs(b[0] - a[0]), a[1] - b[1]};
}

/* Layouts come from elsewhere: an index beyond the list must not be followed. */
const ebb_unit *ebb_draw_unit_of(const ebb_draw_sheet *sheet, const ebb_placed *placed)
{
    return placed->unit < sheet->job->n_units ? &sheet->job->absorbers[placed->unit] : NULL;
}

/* Facing a wall from inside, its along axis runs to the left when the plan corners run
 * counter-clockwise; worked out from the normal, so that it holds for any orientation. */
static bool runs_left(const ebb_surface *s)
{
    const ebb_vec3 facing = ebb_surface_normal(s);
    /* right-hand direction of someone facing (fx, fy) is (fy, -fx) */
    return s->along.x * facing.y - s->along.y * facing.x < 0.0;
}

/* Ceilings keep the orientation of the plan, as if seen through the roof: so a unit on it lies
 * over the spot of floor that it hangs above. */
static void add_view(ebb_draw_sheet *sheet, size_t surface)
{
    if (sheet->n_views == EBB_DRAW_MOST_VIEWS) {
        return;
    }
    ebb_draw_view *view = &sheet->view[sheet->n_views++];
    const ebb_room *room = sheet->room;
    *view = (ebb_draw_view){.surface = surface};
    if (surface == EBB_DRAW_PLAN) {
        snprintf(view->title, sizeof view->title, "Plan, seen from above");
        view->low[0] = room->origin.x;
        view->low[1] = room->origin.y;
        view->span[0] = room->size[0];
        view->span[1] = room->size[1];
        return;
    }
    const ebb_surface *s = &room->surfaces[surface];
    const bool ceiling = ebb_surface_is_ceiling(s);
    view->mirrored = !ceiling && runs_left(s);
    if (ceiling) {
        snprintf(view->title, sizeof view->title, "%s, seen from above",
                 room->shaped ? s->name : "Ceiling");
    } else {
        snprintf(view->title, sizeof view->title, "%s, seen from inside", s->name);
    }
    for (int i = 0; i < 2; i++) {
        view->low[i] = s->range[i][0];
        view->span[i] = s->range[i][1] - s->range[i][0];
    }
}

/* Rooms that are no box can have dozens of surfaces; empty ones would only make the others small.
 */
static bool carries_something(const ebb_draw_sheet *sheet, size_t surface)
{
    for (size_t p = 0; p < sheet->layout->n_placed; p++) {
        if (sheet->layout->placed[p].surface == surface) {
            return true;
        }
    }
    for (size_t i = 0; i < sheet->room->n_openings; i++) {
        if (sheet->room->openings[i].surface == surface) {
            return true;
        }
    }
    return false;
}

void ebb_draw_sheet_views(ebb_draw_sheet *sheet)
{
    sheet->n_views = 0;
    add_view(sheet, EBB_DRAW_PLAN);
    for (size_t s = 1; s < sheet->room->n_surfaces; s++) {
        if (!sheet->room->shaped || carries_something(sheet, s)) {
            add_view(sheet, s);
        }
    }
}

/* Widths of columns and heights of rows in metres when the views fill `columns` columns. */
typedef struct grid {
    size_t columns, rows;
    double width[EBB_DRAW_MOST_VIEWS], height[EBB_DRAW_MOST_VIEWS];
    double across, down; /* sums */
    double scale;
} grid;

/* How large the views could be in so many columns. */
static grid grid_of(const ebb_draw_sheet *sheet, size_t columns, const ebb_frame *frame)
{
    grid g = {.columns = columns, .rows = (sheet->n_views + columns - 1) / columns};
    for (size_t i = 0; i < sheet->n_views; i++) {
        const ebb_draw_view *view = &sheet->view[i];
        g.width[i % columns] = fmax(g.width[i % columns], view->span[0]);
        g.height[i / columns] = fmax(g.height[i / columns], view->span[1]);
    }
    for (size_t i = 0; i < g.columns; i++) {
        g.across += g.width[i];
    }
    for (size_t i = 0; i < g.rows; i++) {
        g.down += g.height[i];
    }
    const double wide = (frame->width - RIGHT - BESIDE * (double)g.columns) / g.across;
    const double high = (frame->height - (ABOVE + BELOW) * (double)g.rows) / g.down;
    g.scale = fmin(wide, high);
    return g;
}

/* Every number of columns is tried: long rooms want two, small high ones three. */
double ebb_draw_sheet_arrange(ebb_draw_sheet *sheet, const ebb_frame *frame)
{
    grid best = grid_of(sheet, 1, frame);
    for (size_t columns = 2; columns <= sheet->n_views; columns++) {
        const grid g = grid_of(sheet, columns, frame);
        if (g.scale > best.scale) {
            best = g;
        }
    }
    /* Left-over width is shared out between the columns. */
    const double used = best.scale * best.across + RIGHT + BESIDE * (double)best.columns;
    const double gap = (frame->width - used) / (double)best.columns;
    double y = frame->y;
    for (size_t row = 0; row < best.rows; row++) {
        double x = frame->x;
        for (size_t column = 0; column < best.columns; column++) {
            const size_t i = row * best.columns + column;
            if (i < sheet->n_views) {
                ebb_draw_view *view = &sheet->view[i];
                view->scale = best.scale;
                view->box = (ebb_frame){x + BESIDE, y + ABOVE, best.scale * view->span[0],
                                        best.scale * view->span[1]};
            }
            x += best.scale * best.width[column] + BESIDE + gap;
        }
        y += best.scale * best.height[row] + ABOVE + BELOW;
    }
    return y - frame->y;
}

/* Kinds of units in the layout, in order of first use. */
static void find_types(ebb_draw_sheet *sheet)
{
    sheet->n_types = 0;
    for (size_t p = 0; p < sheet->layout->n_placed; p++) {
        const size_t unit = sheet->layout->placed[p].unit;
        size_t t = 0;
        while (t < sheet->n_types && sheet->type[t] != unit) {
            t++;
        }
        if (t == sheet->n_types && t < EBB_DRAW_MOST_TYPES) {
            sheet->type[sheet->n_types++] = unit;
        }
    }
}

/* Kinds are those of the whole layout, so that a hatch means the same on every sheet. */
void ebb_draw_sheet_single(ebb_draw_sheet *sheet, size_t surface)
{
    sheet->n_views = 0;
    find_types(sheet);
    add_view(sheet, surface);
}

/* One scale for all views, so that a unit has the same size wherever it is seen. */
ebb_status ebb_draw_room(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                         const ebb_answer *answer, const ebb_layout *layout, ebb_units units)
{
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status != EBB_OK) {
        return status;
    }
    const double *size = answer->room->size;
    if (!(size[0] > 0.0 && size[1] > 0.0 && size[2] > 0.0)) {
        return ebb_fail(ctx, EBB_E_RANGE, "a room of %g x %g x %g m can not be drawn", size[0],
                        size[1], size[2]);
    }
    ebb_draw_sheet sheet = {
        .cr = cr, .job = answer->job, .room = answer->room, .layout = layout, .units = units};
    find_types(&sheet);
    ebb_draw_sheet_views(&sheet);
    const double legend = ebb_draw_sheet_legend(&sheet, frame, false);
    const ebb_frame views = {frame->x, frame->y, frame->width, frame->height - legend - 6.0};
    const double used = ebb_draw_sheet_arrange(&sheet, &views);
    if (!(sheet.view[0].scale > 0.0)) {
        return ebb_fail(ctx, EBB_E_RANGE, "%g x %g points are too few to draw this room",
                        frame->width, frame->height);
    }
    for (size_t i = 0; i < sheet.n_views; i++) {
        if (sheet.view[i].surface == EBB_DRAW_PLAN) {
            ebb_draw_plan_view(&sheet, &sheet.view[i]);
        } else {
            ebb_draw_surface_view(&sheet, &sheet.view[i]);
        }
    }
    const ebb_frame foot = {frame->x, frame->y + used + 6.0, frame->width, legend};
    ebb_draw_sheet_legend(&sheet, &foot, true);
    return ebb_draw_check(ctx, cr);
}
