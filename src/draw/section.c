/* SPDX-License-Identifier: GPL-3.0-or-later */
/* section.c - the section of a unit on the page: picture, dimensions, list. */
#include "section.h"

#include <math.h>
#include <stdio.h>

#define WIDTH 560.0 /* of a file, points */
#define MARGINS 16.0
#define TOP 34.0   /* title and the word for the room */
#define LEFT 74.0  /* chain of depths */
#define RIGHT 50.0 /* overall depth */
#define BELOW 40.0 /* wall and width */
#define ROW 14.0
#define THINNEST 1.4 /* points, of a part that must be seen */
#define WALL 12.0    /* points, of the wall behind */

/* ---- fills ----------------------------------------------------------------------------------- */

/* Dots on a grid that is shifted from row to row: grains. */
static void dots(cairo_t *cr, const ebb_frame *box)
{
    const double step = 3.4;
    int row = 0;
    for (double y = box->y + 1.7; y < box->y + box->height; y += step, row++) {
        for (double x = box->x + (row % 2 ? 0.5 : 0.0) * step + 0.9; x < box->x + box->width;
             x += step) {
            cairo_new_sub_path(cr);
            cairo_arc(cr, x, y, 0.85, 0.0, 2.0 * 3.14159265358979323846);
        }
    }
    cairo_fill(cr);
}

/* Waves: wool. */
static void waves(cairo_t *cr, const ebb_frame *box)
{
    const double step = 7.0, length = 12.0;
    for (double y = box->y - step; y < box->y + box->height + step; y += step) {
        cairo_move_to(cr, box->x, y);
        for (double x = box->x; x < box->x + box->width; x += length) {
            cairo_rel_curve_to(cr, length / 4.0, -4.0, length / 4.0, -4.0, length / 2.0, 0.0);
            cairo_rel_curve_to(cr, length / 4.0, 4.0, length / 4.0, 4.0, length / 2.0, 0.0);
        }
    }
    cairo_stroke(cr);
}

/* Slanting lines: boards. */
static void slants(cairo_t *cr, const ebb_frame *box)
{
    const double step = 4.0;
    for (double x = box->x - box->height; x < box->x + box->width; x += step) {
        cairo_move_to(cr, x, box->y + box->height);
        cairo_line_to(cr, x + box->height, box->y);
    }
    cairo_stroke(cr);
}

/* Drawn after the clip has ended: half of a line on the edge would be cut off. */
static void edge(cairo_t *cr, const ebb_frame *box)
{
    const ebb_draw_style line = {.ink = EBB_INK_TEXT, .width = 0.7};
    ebb_draw_pen(cr, &line);
    cairo_rectangle(cr, box->x, box->y, box->width, box->height);
    cairo_stroke(cr);
}

/* Hatches, not colours, tell what is what: a copy of the sheet goes to the workshop. */
void ebb_draw_stuff_fill(cairo_t *cr, ebb_draw_stuff stuff, const ebb_frame *box)
{
    static const ebb_draw_style HAIR = {.ink = EBB_INK_BEFORE, .width = 0.6};
    static const ebb_draw_style BRUSH = {.ink = EBB_INK_QUIET, .width = 0.5};
    cairo_save(cr);
    cairo_rectangle(cr, box->x, box->y, box->width, box->height);
    cairo_clip(cr);
    switch (stuff) {
    case EBB_DRAW_BOARD:
        ebb_draw_fill(cr, EBB_INK_BAND, box);
        ebb_draw_pen(cr, &BRUSH);
        slants(cr, box);
        break;
    case EBB_DRAW_MOVING:
        ebb_draw_fill(cr, EBB_INK_AFTER, box);
        break;
    case EBB_DRAW_MOUNT:
    case EBB_DRAW_SLIT:
        ebb_draw_fill(cr, EBB_INK_MARK, box);
        break;
    case EBB_DRAW_WOOL:
        ebb_draw_fill(cr, EBB_INK_PAPER, box);
        ebb_draw_pen(cr, &HAIR);
        waves(cr, box);
        break;
    case EBB_DRAW_GRAINS:
        ebb_draw_fill(cr, EBB_INK_SHADE, box);
        ebb_draw_ink(cr, EBB_INK_TEXT);
        dots(cr, box);
        break;
    case EBB_DRAW_AIR:
        ebb_draw_fill(cr, EBB_INK_PAPER, box);
        break;
    case EBB_DRAW_SHEET:
        ebb_draw_fill(cr, EBB_INK_BEFORE, box);
        break;
    }
    cairo_restore(cr);
    if (stuff == EBB_DRAW_BOARD || stuff == EBB_DRAW_WOOL || stuff == EBB_DRAW_GRAINS) {
        edge(cr, box);
    }
}

/* ---- the picture ----------------------------------------------------------------------------- */

/* Where metres are on the page. */
typedef struct stage {
    cairo_t *cr;
    const ebb_draw_cut *section;
    ebb_frame box; /* the unit */
    double scale;
} stage;

/* Thin parts grow about their middle, so that they neither vanish nor wander. */
static ebb_frame on_page(const stage *st, const ebb_draw_part *part)
{
    ebb_frame f = {st->box.x + st->scale * part->across[0], st->box.y + st->scale * part->deep[0],
                   st->scale * (part->across[1] - part->across[0]),
                   st->scale * (part->deep[1] - part->deep[0])};
    if (f.height < THINNEST) {
        f.y += 0.5 * (f.height - THINNEST);
        f.height = THINNEST;
    }
    if (f.width < THINNEST) {
        f.x += 0.5 * (f.width - THINNEST);
        f.width = THINNEST;
    }
    return f;
}

/* What fills comes first: frames and mounts reach into it. */
static void parts(const stage *st, bool filling)
{
    for (size_t i = 0; i < st->section->n_parts; i++) {
        const ebb_draw_part *part = &st->section->part[i];
        const bool fills = part->stuff == EBB_DRAW_AIR || part->stuff == EBB_DRAW_WOOL ||
                           part->stuff == EBB_DRAW_GRAINS;
        if (fills == filling) {
            const ebb_frame f = on_page(st, part);
            ebb_draw_stuff_fill(st->cr, part->stuff, &f);
        }
    }
}

/* A number in a circle: the part's row in the list. */
static void badge(cairo_t *cr, size_t number, double x, double y)
{
    char text[24];
    snprintf(text, sizeof text, "%zu", number);
    const ebb_label label = {.text = text, .size = EBB_DRAW_TINY, .align = 0.5};
    double size[2];
    ebb_label_size(cr, &label, size);
    const ebb_draw_style line = {.ink = EBB_INK_TEXT, .width = 0.7};
    cairo_new_path(cr);
    cairo_arc(cr, x, y, 5.4, 0.0, 2.0 * 3.14159265358979323846);
    ebb_draw_ink(cr, EBB_INK_PAPER);
    cairo_fill_preserve(cr);
    ebb_draw_pen(cr, &line);
    cairo_stroke(cr);
    ebb_draw_word(cr, EBB_INK_TEXT, &label, x, y - size[1] / 2.0);
}

/* Each row of the list is marked once, at its first part. Badges of the same cell step to the
 * right from one depth to the next, so that those of thin parts do not cover each other. */
static void badges(const stage *st)
{
    const ebb_draw_cut *s = st->section;
    bool marked[EBB_DRAW_MOST_ITEMS] = {false};
    double turn = 0.0;
    for (size_t i = 0; i < s->n_parts; i++) {
        const ebb_draw_part *part = &s->part[i];
        if (part->item >= s->n_items || marked[part->item]) {
            continue;
        }
        const ebb_frame f = on_page(st, part);
        marked[part->item] = true;
        /* Narrow upright parts are marked low, flat ones across. */
        const bool upright = f.height > 2.0 * f.width;
        const double x =
            upright ? f.x + f.width / 2.0 : f.x + f.width * (0.18 + 0.16 * fmod(turn, 5.0));
        double y = upright ? f.y + 0.62 * f.height : f.y + f.height / 2.0;
        if (part->stuff == EBB_DRAW_SLIT) {
            y = f.y - 7.0; /* a leak is a point on the face; its number stands before it */
        }
        badge(st->cr, part->item + 1, f.width < 14.0 && !upright ? f.x + f.width / 2.0 : x, y);
        turn += upright ? 0.0 : 1.0;
    }
}

/* ---- dimensions ------------------------------------------------------------------------------ */

/* A line with end strokes and its length beside it; upright texts read from the right. */
static void dimension(const stage *st, const double from[2], const double to[2], double metres)
{
    cairo_t *cr = st->cr;
    char text[48];
    ebb_draw_measure(metres, st->section->units, text, sizeof text);
    const ebb_label label = {.text = text, .size = EBB_DRAW_SMALL, .align = 0.5};
    const ebb_draw_style hair = {.ink = EBB_INK_QUIET, .width = 0.6};
    const bool upright = fabs(to[0] - from[0]) < 0.5;
    double size[2];
    ebb_label_size(cr, &label, size);
    ebb_draw_pen(cr, &hair);
    ebb_draw_line(cr, from[0], from[1], to[0], to[1]);
    for (int end = 0; end < 2; end++) {
        const double *p = end ? to : from;
        ebb_draw_line(cr, p[0] - 2.5, p[1] + 2.5, p[0] + 2.5, p[1] - 2.5);
    }
    cairo_save(cr);
    cairo_translate(cr, 0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1]));
    if (upright) {
        cairo_rotate(cr, -3.14159265358979323846 / 2.0);
    }
    ebb_draw_word(cr, EBB_INK_TEXT, &label, 0.0, upright ? 3.0 : -size[1] - 2.0);
    cairo_restore(cr);
}

/* Depths one after the other on the left; those too thin for a text are in the list anyway. */
static void chain(const stage *st)
{
    const ebb_draw_cut *s = st->section;
    cairo_t *cr = st->cr;
    const ebb_draw_style hair = {.ink = EBB_INK_QUIET, .width = 0.6};
    const double x = st->box.x - 16.0;
    ebb_draw_pen(cr, &hair);
    ebb_draw_line(cr, x, st->box.y, x, st->box.y + st->box.height);
    for (size_t i = 0; i < s->n_steps; i++) {
        const double y = st->box.y + st->scale * s->step[i];
        ebb_draw_pen(cr, &hair);
        ebb_draw_line(cr, x - 2.5, y + 2.5, x + 2.5, y - 2.5);
        ebb_draw_line(cr, x + 4.0, y, st->box.x - 3.0, y);
        if (i == 0) {
            continue;
        }
        const double deep = s->step[i] - s->step[i - 1], high = st->scale * deep;
        char text[48];
        ebb_draw_measure(deep, s->units, text, sizeof text);
        const ebb_label label = {.text = text, .size = EBB_DRAW_SMALL, .align = 1.0};
        if (high >= 9.0) {
            ebb_draw_word(cr, EBB_INK_TEXT, &label, x - 6.0, y - high / 2.0 - 5.0);
        }
    }
}

/* Overall measures on two sides, the chain of depths on the third: the fourth is the room's. */
static void dimensions(const stage *st)
{
    const ebb_draw_cut *s = st->section;
    const ebb_frame *b = &st->box;
    const double below = b->y + b->height + WALL + 18.0, right = b->x + b->width + 14.0;
    dimension(st, (const double[2]){b->x, below}, (const double[2]){b->x + b->width, below},
              s->width);
    dimension(st, (const double[2]){right, b->y + b->height}, (const double[2]){right, b->y},
              s->depth);
    chain(st);
}

/* The wall that it hangs on, and the side from which sound comes. */
static void surroundings(const stage *st)
{
    const ebb_frame *b = &st->box;
    const ebb_frame wall = {b->x - 10.0, b->y + b->height, b->width + 20.0, WALL};
    const ebb_draw_style hair = {.ink = EBB_INK_RULE, .width = 0.8};
    const ebb_label room = {.text = "room", .size = EBB_DRAW_SMALL, .align = 0.5};
    const ebb_label back = {.text = "wall", .size = EBB_DRAW_TINY, .align = 0.5};
    ebb_draw_fill(st->cr, EBB_INK_SHADE, &wall);
    ebb_draw_pen(st->cr, &hair);
    ebb_draw_line(st->cr, wall.x, wall.y, wall.x + wall.width, wall.y);
    ebb_draw_word(st->cr, EBB_INK_QUIET, &room, b->x + b->width / 2.0, b->y - 13.0);
    ebb_draw_word(st->cr, EBB_INK_QUIET, &back, b->x + b->width / 2.0, wall.y + 2.0);
}

/* ---- list and sheet -------------------------------------------------------------------------- */

/* Numbers, hatches and words beside each other: a sheet without colour can still be read. */
static void list(cairo_t *cr, const ebb_frame *frame, const ebb_draw_cut *s)
{
    for (size_t i = 0; i < s->n_items; i++) {
        const double y = frame->y + ROW * (double)i;
        const ebb_frame box = {frame->x + 17.0, y + 0.5, 22.0, ROW - 5.0};
        const ebb_label label = {
            .text = s->item[i], .size = EBB_DRAW_SMALL, .width = frame->width - 46.0, .lines = 1};
        badge(cr, i + 1, frame->x + 6.0, y + ROW / 2.0 - 2.0);
        ebb_draw_stuff_fill(cr, s->stuff[i], &box);
        if (s->stuff[i] == EBB_DRAW_AIR) {
            edge(cr, &box);
        }
        ebb_draw_word(cr, EBB_INK_TEXT, &label, frame->x + 46.0, y);
    }
}

/* Height and weight can not be seen in a section, so they stand in its heading. */
static void heading(cairo_t *cr, const ebb_frame *frame, const ebb_draw_cut *s)
{
    const ebb_unit *unit = s->unit;
    char mass[48], high[48], text[160];
    ebb_quantity_print(EBB_Q_MASS, unit->mass, s->units, mass, sizeof mass);
    ebb_draw_measure(unit->face[1], s->units, high, sizeof high);
    snprintf(text, sizeof text, "horizontal section; %s high, %s complete", high, mass);
    const ebb_label name = {.text = unit->name,
                            .size = EBB_DRAW_TITLE,
                            .bold = true,
                            .width = frame->width,
                            .lines = 1};
    const ebb_label note = {.text = text, .size = EBB_DRAW_SMALL, .align = 1.0};
    ebb_draw_word(cr, EBB_INK_TEXT, &name, frame->x, frame->y);
    ebb_draw_word(cr, EBB_INK_QUIET, &note, frame->x + frame->width, frame->y + 2.0);
}

/* Draws the unit as large as width and height left over by the list allow. */
static ebb_status draw_stage(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                             const ebb_draw_cut *s, double *bottom)
{
    const double rows = ROW * (double)s->n_items + 6.0;
    const double wide = frame->width - LEFT - RIGHT;
    const double high = frame->height - TOP - BELOW - rows;
    const double scale = fmin(wide / s->width, high / s->depth);
    if (!(scale > 0.0 && isfinite(scale))) {
        return ebb_fail(ctx, EBB_E_RANGE, "%g x %g points are too few to draw \"%s\"", frame->width,
                        frame->height, s->unit->name);
    }
    const stage st = {.cr = cr,
                      .section = s,
                      .box = {frame->x + LEFT + 0.5 * (wide - scale * s->width), frame->y + TOP,
                              scale * s->width, scale * s->depth},
                      .scale = scale};
    surroundings(&st);
    parts(&st, true);
    parts(&st, false);
    edge(cr, &st.box);
    badges(&st);
    dimensions(&st);
    *bottom = st.box.y + st.box.height + BELOW;
    return EBB_OK;
}

/* Everything that can be wrong is found before the first line is drawn, but for a frame that turns
 * out too small for the list. */
ebb_status ebb_draw_section(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const ebb_unit *unit,
                            ebb_units units)
{
    ebb_draw_cut section;
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status != EBB_OK) {
        return status;
    }
    if (!ebb_draw_cut_make(&section, unit, units)) {
        return ebb_fail(ctx, EBB_E_INPUT,
                        "\"%s\" is given by its admittance: there is no section to draw",
                        unit->name);
    }
    if (!(section.width > 0.0 && section.depth > 0.0)) {
        return ebb_fail(ctx, EBB_E_RANGE, "\"%s\": %g x %g m can not be drawn", unit->name,
                        section.width, section.depth);
    }
    double bottom = frame->y;
    heading(cr, frame, &section);
    status = draw_stage(ctx, cr, frame, &section, &bottom);
    if (status != EBB_OK) {
        return status;
    }
    const ebb_frame foot = {frame->x, bottom, frame->width, 0.0};
    list(cr, &foot, &section);
    return ebb_draw_check(ctx, cr);
}

/* What a painter is handed. */
typedef struct request {
    const ebb_unit *unit;
    ebb_units units;
} request;

/* Pictures are painted through one kind of function, whatever they show. */
static ebb_status paint(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    const request *r = what;
    return ebb_draw_section(ctx, cr, frame, r->unit, r->units);
}

/* As high as the box and its list need at full width. */
ebb_status ebb_section_file(ebb_ctx *ctx, const char *path, const ebb_unit *unit, ebb_units units)
{
    ebb_draw_cut section;
    double height = 2.0 * EBB_DRAW_LEAST_HEIGHT;
    if (ebb_draw_cut_make(&section, unit, units) && section.width > 0.0 && section.depth > 0.0) {
        const double high =
            (WIDTH - MARGINS - LEFT - RIGHT) * fmin(section.depth / section.width, 1.0);
        height = high + TOP + BELOW + ROW * (double)section.n_items + MARGINS + 10.0;
    }
    const request r = {unit, units};
    const ebb_picture picture = {
        .width = WIDTH, .height = height, .prefix = "s", .paint = paint, .what = &r};
    return ebb_picture_file(ctx, path, &picture);
}
