/* SPDX-License-Identifier: GPL-3.0-or-later */
/* hatch.c - units, openings, dimension lines: the small parts of the room drawing. */
#include "sheet.h"

#include <math.h>
#include <stdio.h>

/* Parallel lines through a box: slope (dx, dy) per line, `step` points apart. */
static void stripes(cairo_t *cr, const ebb_frame *box, double angle, double step)
{
    const double reach = box->width + box->height;
    const double along[2] = {cos(angle), sin(angle)}, across[2] = {-sin(angle), cos(angle)};
    const double cx = box->x + box->width / 2.0, cy = box->y + box->height / 2.0;
    const int n = (int)ceil(reach / step / 2.0);
    for (int i = -n; i <= n; i++) {
        const double x = cx + across[0] * i * step, y = cy + across[1] * i * step;
        cairo_move_to(cr, x - along[0] * reach, y - along[1] * reach);
        cairo_line_to(cr, x + along[0] * reach, y + along[1] * reach);
    }
    cairo_stroke(cr);
}

/* Kinds of units are told apart by their hatch alone, as colours vanish in print and in copies. The
 * first kind is plain: most plans have one kind, and numbers are easiest to read on it. */
void ebb_draw_hatch(cairo_t *cr, const ebb_frame *box, size_t type)
{
    static const struct {
        double angle[2]; /* degrees; the second is drawn when not negative */
        double step;     /* points, 0: plain */
    } KINDS[EBB_DRAW_MOST_TYPES] = {
        {{0, -1}, 0},   {{45, -1}, 3.5}, {{135, -1}, 3.5}, {{45, 135}, 5.0},
        {{0, -1}, 2.6}, {{90, -1}, 2.6}, {{0, 90}, 4.0},   {{45, -1}, 6.0},
    };
    const ebb_draw_style hair = {.ink = EBB_INK_AFTER, .width = 0.45};
    const size_t kind = type % EBB_DRAW_MOST_TYPES;
    ebb_draw_fill(cr, kind ? EBB_INK_PAPER : EBB_INK_BAND, box);
    if (KINDS[kind].step <= 0.0) {
        return;
    }
    cairo_save(cr);
    cairo_rectangle(cr, box->x, box->y, box->width, box->height);
    cairo_clip(cr);
    ebb_draw_pen(cr, &hair);
    for (int i = 0; i < 2; i++) {
        if (KINDS[kind].angle[i] >= 0.0) {
            stripes(cr, box, KINDS[kind].angle[i] * 3.14159265358979323846 / 180.0,
                    KINDS[kind].step);
        }
    }
    cairo_restore(cr);
}

/* Kinds beyond the table of hatches share the last one; the table of units still names them. */
void ebb_draw_unit_box(const ebb_draw_sheet *sheet, const ebb_frame *box, size_t placed)
{
    const bool old = placed < sheet->room->n_placed;
    const ebb_draw_style edge = {.ink = EBB_INK_AFTER, .width = old ? 1.8 : 0.8};
    size_t type = 0;
    while (type + 1 < sheet->n_types && sheet->type[type] != sheet->layout->placed[placed].unit) {
        type++;
    }
    ebb_draw_hatch(sheet->cr, box, type);
    ebb_draw_pen(sheet->cr, &edge);
    cairo_rectangle(sheet->cr, box->x, box->y, box->width, box->height);
    cairo_stroke(sheet->cr);
}

const char *ebb_draw_opening_name(ebb_opening_kind kind)
{
    switch (kind) {
    case EBB_OPENING_DOOR:
        return "door";
    case EBB_OPENING_WINDOW:
        return "window";
    case EBB_OPENING_VENT:
        return "vent";
    }
    return "opening";
}

/* The ground is white, so that an opening hides what lies on the surface behind it, and units that
 * are drawn later and cover it can be seen to do so. */
void ebb_draw_opening(cairo_t *cr, const ebb_frame *box, ebb_opening_kind kind)
{
    const ebb_draw_style line = {.ink = EBB_INK_QUIET, .width = 0.7};
    const double right = box->x + box->width, bottom = box->y + box->height;
    ebb_draw_fill(cr, EBB_INK_PAPER, box);
    ebb_draw_pen(cr, &line);
    cairo_rectangle(cr, box->x, box->y, box->width, box->height);
    cairo_stroke(cr);
    if (kind == EBB_OPENING_DOOR) {
        /* Two lines that meet at the latch side, as doors are drawn in elevations. */
        ebb_draw_line(cr, box->x, box->y, right, box->y + box->height / 2.0);
        ebb_draw_line(cr, right, box->y + box->height / 2.0, box->x, bottom);
    } else if (kind == EBB_OPENING_WINDOW) {
        ebb_draw_line(cr, box->x + box->width / 2.0, box->y, box->x + box->width / 2.0, bottom);
        ebb_draw_line(cr, box->x, box->y + box->height / 2.0, right, box->y + box->height / 2.0);
    } else {
        for (int i = 1; i < 4; i++) {
            const double y = box->y + box->height * i / 4.0;
            ebb_draw_line(cr, box->x, y, right, y);
        }
    }
}

/* Corners are the builder's fixed points: the same number on the plan and under two walls. */
void ebb_draw_corner(cairo_t *cr, size_t corner, double x, double y)
{
    char text[24];
    snprintf(text, sizeof text, "%zu", corner);
    const ebb_label label = {.text = text, .size = EBB_DRAW_TINY, .align = 0.5};
    double size[2];
    ebb_label_size(cr, &label, size);
    const ebb_draw_style line = {.ink = EBB_INK_QUIET, .width = 0.6};
    ebb_draw_pen(cr, &line);
    cairo_new_path(cr);
    cairo_arc(cr, x, y, 5.0, 0.0, 2.0 * 3.14159265358979323846);
    cairo_stroke(cr);
    ebb_draw_word(cr, EBB_INK_QUIET, &label, x, y - size[1] / 2.0);
}

/* A line with its length written into a gap; where the line is too short for a gap, the text alone.
 */
void ebb_draw_dimension(const ebb_draw_sheet *sheet, const ebb_frame *line, double metres)
{
    cairo_t *cr = sheet->cr;
    const bool upright = line->height > line->width;
    const double length = upright ? line->height : line->width;
    char text[48];
    ebb_quantity_print(EBB_Q_LENGTH, metres, sheet->units, text, sizeof text);
    const ebb_label label = {.text = text, .size = EBB_DRAW_TINY, .align = 0.5};
    double size[2];
    ebb_label_size(cr, &label, size);
    cairo_save(cr);
    cairo_translate(cr, line->x, line->y);
    if (upright) {
        /* Turned so that it reads from the right-hand side of the sheet, as drawings do. */
        cairo_translate(cr, 0.0, length);
        cairo_rotate(cr, -3.14159265358979323846 / 2.0);
    }
    const ebb_draw_style hair = {.ink = EBB_INK_QUIET, .width = 0.6};
    ebb_draw_pen(cr, &hair);
    const double gap = size[0] / 2.0 + 3.0;
    if (length > 2.0 * gap) {
        ebb_draw_line(cr, 0.0, 0.0, length / 2.0 - gap, 0.0);
        ebb_draw_line(cr, length / 2.0 + gap, 0.0, length, 0.0);
    }
    ebb_draw_line(cr, 0.0, -2.5, 0.0, 2.5);
    ebb_draw_line(cr, length, -2.5, length, 2.5);
    ebb_draw_word(cr, EBB_INK_TEXT, &label, length / 2.0, -size[1] / 2.0);
    cairo_restore(cr);
}
