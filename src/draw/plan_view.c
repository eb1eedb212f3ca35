/* SPDX-License-Identifier: GPL-3.0-or-later */
/* plan_view.c - the plan: walls, openings, depth of units, seats, speakers. */
#include "sheet.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* Something that stands on a surface, seen from above: its corner on the page, the direction in
 * which its width runs, and a box in the frame that starts there (x along, y down the page's turn).
 */
typedef struct footprint {
    double at[2], angle; /* points, radians */
    ebb_frame box;
} footprint;

static footprint footprint_of(const ebb_draw_view *view, const ebb_surface *s, const double at[2],
                              const double size[2], double depth)
{
    const ebb_vec3 a = ebb_surface_point(s, at[0], at[1]);
    const ebb_vec3 b = ebb_surface_point(s, at[0] + size[0], at[1]);
    const ebb_vec3 out = ebb_surface_normal(s);
    double from[2], to[2], in[2];
    ebb_draw_view_point(view, a.x, a.y, from);
    ebb_draw_view_point(view, b.x, b.y, to);
    ebb_draw_view_point(view, a.x - depth * out.x, a.y - depth * out.y, in);
    const double along[2] = {to[0] - from[0], to[1] - from[1]};
    const double width = hypot(along[0], along[1]);
    const double reach = hypot(in[0] - from[0], in[1] - from[1]);
    /* On the page the room may lie on either side of the way along. */
    const double turn = along[0] * (in[1] - from[1]) - along[1] * (in[0] - from[0]);
    return (footprint){{from[0], from[1]},
                       atan2(along[1], along[0]),
                       {0.0, turn < 0.0 ? -reach : 0.0, width, reach}};
}

/* Starts drawing in a footprint's own frame; ends with cairo_restore. */
static void enter(cairo_t *cr, const footprint *f)
{
    cairo_save(cr);
    cairo_translate(cr, f->at[0], f->at[1]);
    cairo_rotate(cr, f->angle);
}

/* Units above each other share their footprint; which is which is told by the views of the walls.
 */
static void draw_units(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    for (size_t p = 0; p < sheet->layout->n_placed; p++) {
        const ebb_placed *placed = &sheet->layout->placed[p];
        const ebb_unit *unit = ebb_draw_unit_of(sheet, placed);
        /* Units under the ceiling would hide the floor; they are in the view of the ceiling. */
        if (!unit || placed->surface >= sheet->room->n_surfaces ||
            ebb_surface_is_ceiling(&sheet->room->surfaces[placed->surface])) {
            continue;
        }
        double size[2];
        ebb_placed_size(unit, placed, size);
        const footprint f = footprint_of(view, &sheet->room->surfaces[placed->surface], placed->at,
                                         size, unit->depth);
        enter(sheet->cr, &f);
        ebb_draw_unit_box(sheet, &f.box, p);
        cairo_restore(sheet->cr);
    }
}

/* An opening is a break in the wall line, closed by a thin line for a window or vent. */
static void draw_openings(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    const ebb_draw_style gap = {.ink = EBB_INK_PAPER, .width = 3.4};
    const ebb_draw_style pane = {.ink = EBB_INK_QUIET, .width = 0.8};
    const double tick = 3.5;
    cairo_t *cr = sheet->cr;
    for (size_t i = 0; i < sheet->room->n_openings; i++) {
        const ebb_opening *o = &sheet->room->openings[i];
        if (o->surface >= sheet->room->n_surfaces ||
            ebb_surface_is_floor(&sheet->room->surfaces[o->surface]) ||
            ebb_surface_is_ceiling(&sheet->room->surfaces[o->surface])) {
            continue;
        }
        const footprint f =
            footprint_of(view, &sheet->room->surfaces[o->surface], o->at, o->size, 0.0);
        enter(cr, &f);
        ebb_draw_pen(cr, &gap);
        ebb_draw_line(cr, 0.0, 0.0, f.box.width, 0.0);
        ebb_draw_pen(cr, &pane);
        if (o->kind != EBB_OPENING_DOOR) {
            ebb_draw_line(cr, 0.0, 0.0, f.box.width, 0.0);
        }
        ebb_draw_line(cr, 0.0, -tick, 0.0, tick);
        ebb_draw_line(cr, f.box.width, -tick, f.box.width, tick);
        cairo_restore(cr);
    }
}

/* One seat or speaker: its zone about the wished place, a mark where it stands now. */
static void draw_station(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                         const ebb_station *station, ebb_vec3 now, bool seat)
{
    static const ebb_draw_style ZONE = {.ink = EBB_INK_QUIET, .width = 0.6, .dash = {1.5, 1.5}};
    cairo_t *cr = sheet->cr;
    double at[2];
    if (station->zone > 0.0) {
        ebb_draw_view_point(view, station->at.x, station->at.y, at);
        ebb_draw_pen(cr, &ZONE);
        cairo_new_path(cr);
        cairo_arc(cr, at[0], at[1], station->zone * view->scale, 0.0, 2.0 * PI);
        cairo_stroke(cr);
    }
    ebb_draw_view_point(view, now.x, now.y, at);
    const ebb_draw_style mark = {.ink = seat ? EBB_INK_TEXT : EBB_INK_MARK,
                                 .marker = seat ? EBB_DRAW_RING : EBB_DRAW_SQUARE};
    ebb_draw_mark(cr, &mark, at[0], at[1]);
}

/* Written on a white ground, as it may lie over the dotted circle of a zone. */
static void draw_name(const ebb_draw_sheet *sheet, const ebb_draw_view *view, ebb_draw_taken *taken,
                      const char *name, ebb_vec3 now)
{
    ebb_label label = {.text = name, .size = EBB_DRAW_TINY};
    double size[2], at[2];
    ebb_label_size(sheet->cr, &label, size);
    /* A name never takes more than half the plan. */
    const double most = fmax(view->box.width / 2.0, 30.0);
    if (size[0] > most) {
        label.lines = 1;
        label.width = size[0] = most;
    }
    ebb_draw_view_point(view, now.x, now.y, at);
    const ebb_frame box = ebb_draw_beside(taken, at, size);
    ebb_draw_fill(sheet->cr, EBB_INK_PAPER, &box);
    ebb_draw_word(sheet->cr, EBB_INK_TEXT, &label, box.x, box.y);
}

static void draw_stations(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    const ebb_room *room = sheet->room;
    const ebb_layout *layout = sheet->layout;
    ebb_draw_taken taken = {.bounds = view->box};
    const size_t n = room->n_seats + room->n_speakers;
    /* Marks first, so that no name covers one. */
    for (int naming = 0; naming < 2; naming++) {
        for (size_t i = 0; i < n; i++) {
            const bool seat = i < room->n_seats;
            const size_t k = seat ? i : i - room->n_seats;
            const ebb_station *station = seat ? &room->seats[k] : &room->speakers[k];
            const ebb_vec3 *moved = seat ? layout->seats : layout->speakers;
            const ebb_vec3 now = moved ? moved[k] : station->at;
            if (naming) {
                draw_name(sheet, view, &taken, station->name, now);
                continue;
            }
            draw_station(sheet, view, station, now, seat);
            double at[2];
            ebb_draw_view_point(view, now.x, now.y, at);
            const ebb_frame mark = {at[0] - 4.0, at[1] - 4.0, 8.0, 8.0};
            ebb_draw_take(&taken, &mark);
        }
    }
}

/* Numbers of the plan corners, outside the walls. */
static void draw_corners(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    const ebb_frame *box = &view->box;
    const double cx = box->x + box->width / 2.0, cy = box->y + box->height / 2.0;
    for (size_t s = 2; s < 2 + ebb_draw_walls(sheet->room); s++) {
        const ebb_surface *wall = &sheet->room->surfaces[s];
        const ebb_vec3 corner = ebb_surface_point(wall, wall->range[0][0], wall->range[1][0]);
        double at[2];
        ebb_draw_view_point(view, corner.x, corner.y, at);
        ebb_draw_corner(sheet->cr, s - 1, at[0] + (at[0] < cx ? -8.0 : 8.0),
                        at[1] + (at[1] < cy ? -8.0 : 8.0));
    }
}

/* From the ground up: units, walls over their backs, gaps in the walls, then what stands in the
 * room. */
void ebb_draw_plan_view(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    const ebb_draw_style wall = {.ink = EBB_INK_TEXT, .width = 2.0};
    const ebb_frame *box = &view->box;
    cairo_t *cr = sheet->cr;
    const ebb_label title = {.text = view->title,
                             .size = EBB_DRAW_SMALL,
                             .bold = true,
                             .width = box->width + 12.0,
                             .lines = 1};
    ebb_draw_word(cr, EBB_INK_TEXT, &title, box->x + 8.0, box->y - 15.0);
    draw_units(sheet, view);
    ebb_draw_pen(cr, &wall);
    ebb_draw_outline(sheet, view, &sheet->room->surfaces[0]);
    draw_openings(sheet, view);
    draw_corners(sheet, view);
    draw_stations(sheet, view);
    const ebb_frame across = {box->x, box->y + box->height + 9.0, box->width, 0.0};
    ebb_draw_dimension(sheet, &across, view->span[0]);
    const ebb_frame up = {box->x - 9.0, box->y, 0.0, box->height};
    ebb_draw_dimension(sheet, &up, view->span[1]);
}
