/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * work.c - working drawings: the plan or one surface on a sheet of its own, to a scale that rulers
 * have, with running measures for every edge that is to be marked on site.
 */
#include "work.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define POINTS_PER_METRE (72.0 / 0.0254)
#define LEFT 66.0 /* points kept free around the view for measures; feet and inches take more */
#define FEET 18.0
#define BELOW 86.0
#define ABOVE 36.0
#define RIGHT 20.0
#define SAME 0.0005 /* m: edges nearer than this share one measure */

/* ---- scale ----------------------------------------------------------------------------------- */

/* The largest scale of the trade at which a view fits; the true ratio where none does. */
double ebb_work_scale(const double span[2], const double room_for[2], ebb_units units)
{
    static const double METRIC[] = {10, 20, 25, 50, 100, 200};
    static const double IMPERIAL[] = {12, 16, 24, 32, 48, 96, 192};
    const bool feet = units == EBB_UNITS_IMPERIAL;
    const double *list = feet ? IMPERIAL : METRIC;
    const size_t n = feet ? sizeof IMPERIAL / sizeof *IMPERIAL : sizeof METRIC / sizeof *METRIC;
    const double least = POINTS_PER_METRE * fmax(span[0] / room_for[0], span[1] / room_for[1]);
    for (size_t i = 0; i < n; i++) {
        if (list[i] >= least) {
            return list[i];
        }
    }
    return least;
}

/* ---- what is marked -------------------------------------------------------------------------- */

/* Page distances of a rectangle on a view from its left and lower ends. */
static void add_box(const ebb_draw_view *view, const double at[2], const double size[2],
                    ebb_work_edges side[2])
{
    const ebb_frame box = ebb_draw_view_frame(view, at, size);
    const double foot = view->box.y + view->box.height;
    ebb_work_edge(&side[0], box.x - view->box.x);
    ebb_work_edge(&side[0], box.x + box.width - view->box.x);
    ebb_work_edge(&side[1], foot - box.y - box.height);
    ebb_work_edge(&side[1], foot - box.y);
}

static void surface_edges(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                          ebb_work_edges side[2])
{
    for (size_t p = 0; p < sheet->layout->n_placed; p++) {
        const ebb_placed *placed = &sheet->layout->placed[p];
        const ebb_unit *unit = ebb_draw_unit_of(sheet, placed);
        double size[2];
        if (unit && placed->surface == view->surface) {
            ebb_placed_size(unit, placed, size);
            add_box(view, placed->at, size, side);
        }
    }
    for (size_t i = 0; i < sheet->room->n_openings; i++) {
        const ebb_opening *o = &sheet->room->openings[i];
        if (o->surface == view->surface) {
            add_box(view, o->at, o->size, side);
        }
    }
}

/* On the plan it is seats and speakers that must be found again. */
static void plan_edges(const ebb_draw_sheet *sheet, const ebb_draw_view *view,
                       ebb_work_edges side[2])
{
    const ebb_room *room = sheet->room;
    for (size_t i = 0; i < room->n_seats + room->n_speakers; i++) {
        const bool seat = i < room->n_seats;
        const size_t k = seat ? i : i - room->n_seats;
        const ebb_vec3 *moved = seat ? sheet->layout->seats : sheet->layout->speakers;
        const ebb_vec3 at = moved ? moved[k] : seat ? room->seats[k].at : room->speakers[k].at;
        double point[2];
        ebb_draw_view_point(view, at.x, at.y, point);
        ebb_work_edge(&side[0], point[0] - view->box.x);
        ebb_work_edge(&side[1], view->box.y + view->box.height - point[1]);
    }
}

/* What each unit is, in its box where there is room: numbers alone mean nothing on a ladder. */
static void name_units(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    for (size_t p = 0; p < sheet->layout->n_placed; p++) {
        const ebb_placed *placed = &sheet->layout->placed[p];
        const ebb_unit *unit = ebb_draw_unit_of(sheet, placed);
        double size[2], need[2];
        if (!unit || placed->surface != view->surface) {
            continue;
        }
        ebb_placed_size(unit, placed, size);
        const ebb_frame box = ebb_draw_view_frame(view, placed->at, size);
        const ebb_label label = {.text = unit->name, .size = EBB_DRAW_TINY, .align = 0.5};
        ebb_label_size(sheet->cr, &label, need);
        if (need[0] > box.width - 4.0 || need[1] > box.height / 2.0 - 8.0) {
            continue;
        }
        const double x = box.x + box.width / 2.0, y = box.y + box.height / 2.0 + 7.0;
        const ebb_frame ground = {x - need[0] / 2.0 - 1.0, y, need[0] + 2.0, need[1]};
        ebb_draw_fill(sheet->cr, EBB_INK_PAPER, &ground);
        ebb_draw_word(sheet->cr, EBB_INK_TEXT, &label, x, y);
    }
}

/* ---- the sheet ------------------------------------------------------------------------------- */

/* "Net loft: wall_2 seen from inside. Scale 1:25 at full size. ..." */
static void heading(const ebb_draw_sheet *sheet, const ebb_frame *frame, double ratio)
{
    const ebb_draw_view *view = &sheet->view[0];
    const bool plan = view->surface == EBB_DRAW_PLAN;
    const bool wall = !plan && view->surface >= 2 &&
                      !ebb_surface_is_ceiling(&sheet->room->surfaces[view->surface]);
    char text[420];
    const ebb_label name = {.text = sheet->room->name,
                            .size = EBB_DRAW_TITLE,
                            .bold = true,
                            .width = frame->width,
                            .lines = 1};
    ebb_draw_word(sheet->cr, EBB_INK_TEXT, &name, frame->x, frame->y);
    snprintf(text, sizeof text, "Scale 1:%.0f when printed at full size. %s %s%s.", ratio,
             wall ? "Measures run from the left end and from the floor"
                  : "Measures run from the left and from the lower edge of the drawing",
             sheet->units == EBB_UNITS_IMPERIAL ? "in feet and inches" : "in millimetres",
             plan ? "; they lead to seats and speakers" : "");
    const ebb_label line = {
        .text = text, .size = EBB_DRAW_SMALL, .width = frame->width, .lines = 2};
    ebb_draw_word(sheet->cr, EBB_INK_QUIET, &line, frame->x, frame->y + 13.0);
}

/* The one view of the sheet at a scale of the trade, in the middle of what is left of the frame. */
static double arrange(ebb_draw_sheet *sheet, const ebb_frame *frame, double legend)
{
    ebb_draw_view *view = &sheet->view[0];
    const double left = sheet->units == EBB_UNITS_IMPERIAL ? LEFT + FEET : LEFT;
    const double room_for[2] = {frame->width - left - RIGHT,
                                frame->height - ABOVE - 18.0 - BELOW - legend};
    const double ratio = ebb_work_scale(view->span, room_for, sheet->units);
    view->scale = POINTS_PER_METRE / ratio;
    view->box.width = view->scale * view->span[0];
    view->box.height = view->scale * view->span[1];
    view->box.x = frame->x + left + (room_for[0] - view->box.width) / 2.0;
    view->box.y = frame->y + ABOVE + 18.0;
    return ratio;
}

static void draw_view(const ebb_draw_sheet *sheet, const ebb_draw_view *view)
{
    ebb_work_edges side[2] = {{0}, {0}};
    for (int i = 0; i < 2; i++) {
        const double length = i == 0 ? view->box.width : view->box.height;
        ebb_work_edge(&side[i], 0.0);
        ebb_work_edge(&side[i], length);
    }
    if (view->surface == EBB_DRAW_PLAN) {
        plan_edges(sheet, view, side);
    } else {
        surface_edges(sheet, view, side);
    }
    ebb_work_tidy(&side[0], view->box.width, SAME * view->scale);
    ebb_work_tidy(&side[1], view->box.height, SAME * view->scale);
    ebb_draw_measures(sheet, view, &side[0], true);
    ebb_draw_measures(sheet, view, &side[1], false);
    if (view->surface == EBB_DRAW_PLAN) {
        ebb_draw_plan_view(sheet, view);
    } else {
        ebb_draw_surface_view(sheet, view);
        name_units(sheet, view);
    }
}

/* The plan, then what carries units; what carries none needs no drawing. */
size_t ebb_work_surfaces(const ebb_room *room, const ebb_layout *layout,
                         size_t list[EBB_MOST_SURFACES + 1])
{
    size_t n = 0;
    list[n++] = EBB_WORK_PLAN;
    for (size_t s = 0; s < room->n_surfaces && s < EBB_MOST_SURFACES; s++) {
        for (size_t p = 0; p < layout->n_placed; p++) {
            if (layout->placed[p].surface == s) {
                list[n++] = s;
                break;
            }
        }
    }
    return n;
}

ebb_status ebb_draw_work(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const ebb_work *work)
{
    const ebb_room *room = work->answer->room;
    if (ebb_draw_room_for(ctx, frame) != EBB_OK || frame->height < 300.0) {
        return ebb_fail(ctx, EBB_E_RANGE, "a working drawing needs %g x 300 points",
                        EBB_DRAW_LEAST_WIDTH);
    }
    if (work->surface != EBB_WORK_PLAN && work->surface >= room->n_surfaces) {
        return ebb_fail(ctx, EBB_E_RANGE, "the room has no surface %zu", work->surface);
    }
    ebb_draw_sheet sheet = {.cr = cr,
                            .job = work->answer->job,
                            .room = room,
                            .layout = work->layout,
                            .units = work->units};
    ebb_draw_sheet_single(&sheet, work->surface);
    if (!(sheet.view[0].span[0] > 0.0 && sheet.view[0].span[1] > 0.0)) {
        return ebb_fail(ctx, EBB_E_RANGE, "a surface without area can not be drawn");
    }
    const double legend = ebb_draw_sheet_legend(&sheet, frame, false);
    const double ratio = arrange(&sheet, frame, legend);
    heading(&sheet, frame, ratio);
    draw_view(&sheet, &sheet.view[0]);
    const ebb_frame *box = &sheet.view[0].box;
    const ebb_frame foot = {frame->x, box->y + box->height + BELOW, frame->width, legend};
    ebb_draw_sheet_legend(&sheet, &foot, true);
    return ebb_draw_check(ctx, cr);
}

/* ---- files ----------------------------------------------------------------------------------- */

static const double PAGE[2] = {841.89, 595.28}; /* A4 across, points */

static ebb_status paint_one(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    const ebb_frame inner = {frame->x + 20.0, frame->y + 20.0, frame->width - 40.0,
                             frame->height - 40.0};
    return ebb_draw_work(ctx, cr, &inner, what);
}

ebb_status ebb_work_file(ebb_ctx *ctx, const char *path, const ebb_work *work)
{
    const ebb_picture picture = {
        .width = PAGE[0], .height = PAGE[1], .prefix = "w", .paint = paint_one, .what = work};
    return ebb_picture_file(ctx, path, &picture);
}

static ebb_status paint_all(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    ebb_work page = *(const ebb_work *)what;
    size_t list[EBB_MOST_SURFACES + 1];
    const size_t n = ebb_work_surfaces(page.answer->room, page.layout, list);
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < n && status == EBB_OK; i++) {
        page.surface = list[i];
        status = paint_one(ctx, cr, frame, &page);
        if (i + 1 < n) {
            cairo_show_page(cr);
        }
    }
    return status;
}

/* Pages come out of one painter: for a PDF a picture is all that is drawn before its file ends. */
ebb_status ebb_work_pages(ebb_ctx *ctx, const char *path, const ebb_work *work)
{
    const size_t n = strlen(path);
    if (n < 5 || strcmp(path + n - 4, ".pdf") != 0) {
        return ebb_fail(ctx, EBB_E_INPUT, "%s: drawings on several pages need a .pdf file", path);
    }
    const ebb_picture picture = {
        .width = PAGE[0], .height = PAGE[1], .prefix = "w", .paint = paint_all, .what = work};
    return ebb_picture_file(ctx, path, &picture);
}
