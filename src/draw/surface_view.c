/* SPDX-License-Identifier: GPL-3.0-or-later */
/* surface_view.c - a wall seen from inside, or the ceiling from above, with what is on it. */
#include "sheet.h"

#include <math.h>
#include <stdio.h>

/* The number of a unit on a white ground, as large as its box allows. */
static void draw_number(cairo_t *cr, const ebb_frame *box, size_t number)
{
    char text[24];
    snprintf(text, sizeof text, "%zu", number);
    const double least = fmin(box->width, box->height);
    const ebb_label label = {.text = text,
                             .size = fmin(EBB_DRAW_SMALL, fmax(3.0, 0.7 * least)),
                             .bold = true,
                             .align = 0.5};
    double size[2];
    ebb_label_size(cr, &label, size);
    const double x = box->x + box->width / 2.0, y = box->y + box->height / 2.0;
    const ebb_frame ground = {x - size[0] / 2.0 - 1.0, y - size[1] / 2.0 + 0.5, size[0] + 2.0,
                              size[1] - 1.0};
    ebb_draw_fill(cr, EBB_INK_PAPER, &ground);
    ebb_draw_word(cr, EBB_INK_TEXT, &label, x, y - size[1] / 2.0);
}

/* Numbers are those of the table of units, so they count through all surfaces. */
static void draw_units(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    for (size_t p = 0; p < sheet->layout->n_placed; p++) {
        const ebb_placed *placed = &sheet->layout->placed[p];
        const ebb_unit *unit = ebb_draw_unit_of(sheet, placed);
        if (!unit || placed->surface != view->surface) {
            continue;
        }
        double size[2];
        ebb_placed_size(unit, placed, size);
        const ebb_frame box = ebb_draw_view_frame(view, placed->at, size);
        ebb_draw_unit_box(sheet, &box, p);
        draw_number(sheet->cr, &box, p + 1);
    }
}

/* Under the units: one that covers an opening is to be seen. */
static void draw_openings(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    for (size_t i = 0; i < sheet->room->n_openings; i++) {
        const ebb_opening *o = &sheet->room->openings[i];
        if (o->surface != view->surface) {
            continue;
        }
        const ebb_frame box = ebb_draw_view_frame(view, o->at, o->size);
        ebb_draw_opening(sheet->cr, &box, o->kind);
        const ebb_label label = {
            .text = ebb_draw_opening_name(o->kind), .size = EBB_DRAW_TINY, .align = 0.5};
        double size[2];
        ebb_label_size(sheet->cr, &label, size);
        /* Written inside when it fits; the legend names the symbol when it does not. */
        if (size[0] + 2.0 < box.width && size[1] < box.height) {
            const double x = box.x + box.width / 2.0, y = box.y + box.height / 2.0;
            const ebb_frame ground = {x - size[0] / 2.0 - 1.0, y - size[1] / 2.0, size[0] + 2.0,
                                      size[1]};
            ebb_draw_fill(sheet->cr, EBB_INK_PAPER, &ground);
            ebb_draw_word(sheet->cr, EBB_INK_QUIET, &label, x, y - size[1] / 2.0);
        }
    }
}

/* Corner numbers under both ends of a wall: the same as on the plan. */
static void draw_corners(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    const size_t walls = ebb_draw_walls(sheet->room), wall = view->surface - 2;
    double first[2], second[2];
    ebb_draw_view_point(view, view->low[0], view->low[1], first);
    ebb_draw_view_point(view, view->low[0] + view->span[0], view->low[1], second);
    ebb_draw_corner(sheet->cr, wall + 1, first[0], first[1] + 9.0);
    ebb_draw_corner(sheet->cr, (wall + 1) % walls + 1, second[0], second[1] + 9.0);
}

size_t ebb_draw_walls(const ebb_room *room)
{
    return room->shaped ? room->n_plan : EBB_FACES - 2;
}

void ebb_draw_outline(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                      const ebb_surface *surface)
{
    cairo_t *cr = sheet->cr;
    const ebb_frame *box = &view->box;
    cairo_new_path(cr);
    if (surface->n_loops == 0) {
        cairo_rectangle(cr, box->x, box->y, box->width, box->height);
    }
    const double(*point)[2] = surface->point;
    for (size_t l = 0; l < surface->n_loops; point += surface->loop[l++]) {
        for (size_t i = 0; i < surface->loop[l]; i++) {
            double at[2];
            ebb_draw_view_point(view, point[i][0], point[i][1], at);
            cairo_line_to(cr, at[0], at[1]);
        }
        cairo_close_path(cr);
    }
    cairo_stroke(cr);
}

void ebb_draw_surface_view(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    const ebb_draw_style edge = {.ink = EBB_INK_TEXT, .width = 1.0};
    const ebb_frame *box = &view->box;
    const bool wall = view->surface >= 2 && view->surface < 2 + ebb_draw_walls(sheet->room);
    cairo_t *cr = sheet->cr;
    const ebb_label title = {.text = view->title,
                             .size = EBB_DRAW_SMALL,
                             .bold = true,
                             .width = box->width + 20.0,
                             .lines = 1};
    ebb_draw_word(cr, EBB_INK_TEXT, &title, box->x, box->y - 13.0);
    draw_openings(sheet, view);
    draw_units(sheet, view);
    ebb_draw_pen(cr, &edge);
    ebb_draw_outline(sheet, view, &sheet->room->surfaces[view->surface]);
    const double inset = wall ? 8.0 : 0.0;
    if (wall) {
        draw_corners(sheet, view);
    }
    if (box->width > 2.0 * inset) {
        const ebb_frame across = {box->x + inset, box->y + box->height + 9.0,
                                  box->width - 2.0 * inset, 0.0};
        ebb_draw_dimension(sheet, &across, view->span[0]);
    }
    const ebb_frame up = {box->x - 9.0, box->y, 0.0, box->height};
    ebb_draw_dimension(sheet, &up, view->span[1]);
}
