/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "pen.h"

#include <math.h>

/* Own palette. Luminance falls from "before" to "after", so that grey prints keep the order. */
static const double INKS[EBB_INK_COUNT][3] = {
    [EBB_INK_TEXT] = {0.11, 0.14, 0.17},  [EBB_INK_QUIET] = {0.37, 0.42, 0.46},
    [EBB_INK_RULE] = {0.82, 0.84, 0.86},  [EBB_INK_PAPER] = {1.00, 1.00, 1.00},
    [EBB_INK_SHADE] = {0.95, 0.95, 0.93}, [EBB_INK_BEFORE] = {0.50, 0.62, 0.70},
    [EBB_INK_AFTER] = {0.04, 0.28, 0.35}, [EBB_INK_BAND] = {0.93, 0.89, 0.79},
    [EBB_INK_MARK] = {0.66, 0.22, 0.15},  [EBB_INK_MUSIC] = {0.10, 0.40, 0.30},
    [EBB_INK_VOICE] = {0.55, 0.36, 0.03}, [EBB_INK_NO] = {0.55, 0.20, 0.16},
};

void ebb_ink_rgb(ebb_ink ink, double rgb[3])
{
    /* An unknown ink is drawn as text rather than read beyond the table. */
    const size_t row = ink < EBB_INK_COUNT ? (size_t)ink : EBB_INK_TEXT;
    for (int i = 0; i < 3; i++) {
        rgb[i] = INKS[row][i];
    }
}

void ebb_draw_ink(cairo_t *cr, ebb_ink ink)
{
    double rgb[3];
    ebb_ink_rgb(ink, rgb);
    cairo_set_source_rgb(cr, rgb[0], rgb[1], rgb[2]);
}

/* Butt ends: with round ones dotted lines run together. */
void ebb_draw_pen(cairo_t *cr, const ebb_draw_style *style)
{
    ebb_draw_ink(cr, style->ink);
    cairo_set_line_width(cr, style->width);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_dash(cr, style->dash, style->dash[0] > 0.0 ? 2 : 0, 0.0);
}

/* Outline of a marker of half width r. */
static void marker_path(cairo_t *cr, ebb_draw_marker marker, double x, double y, double r)
{
    cairo_new_path(cr);
    switch (marker) {
    case EBB_DRAW_RING:
        cairo_arc(cr, x, y, r, 0.0, 2.0 * 3.14159265358979323846);
        break;
    case EBB_DRAW_DIAMOND:
        cairo_move_to(cr, x, y - 1.3 * r);
        cairo_line_to(cr, x + 1.3 * r, y);
        cairo_line_to(cr, x, y + 1.3 * r);
        cairo_line_to(cr, x - 1.3 * r, y);
        cairo_close_path(cr);
        break;
    case EBB_DRAW_SQUARE:
        cairo_rectangle(cr, x - r, y - r, 2.0 * r, 2.0 * r);
        break;
    case EBB_DRAW_CROSS:
        cairo_move_to(cr, x - r, y - r);
        cairo_line_to(cr, x + r, y + r);
        cairo_move_to(cr, x - r, y + r);
        cairo_line_to(cr, x + r, y - r);
        break;
    case EBB_DRAW_NO_MARKER:
        break;
    }
}

/* Open marks for what was, filled ones for what is: this holds in every drawing. */
void ebb_draw_mark(cairo_t *cr, const ebb_draw_style *style, double x, double y)
{
    if (style->marker == EBB_DRAW_NO_MARKER) {
        return;
    }
    ebb_draw_ink(cr, style->ink);
    cairo_set_dash(cr, NULL, 0, 0.0);
    cairo_set_line_width(cr, 0.9);
    marker_path(cr, style->marker, x, y, 2.3);
    if (style->marker == EBB_DRAW_DIAMOND || style->marker == EBB_DRAW_SQUARE) {
        cairo_fill(cr);
    } else {
        cairo_stroke(cr);
    }
}

void ebb_draw_line(cairo_t *cr, double x0, double y0, double x1, double y1)
{
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

void ebb_draw_fill(cairo_t *cr, ebb_ink ink, const ebb_frame *frame)
{
    ebb_draw_ink(cr, ink);
    cairo_rectangle(cr, frame->x, frame->y, frame->width, frame->height);
    cairo_fill(cr);
}

/* Short for the two steps that nearly every text takes. */
void ebb_draw_word(cairo_t *cr, ebb_ink ink, const ebb_label *label, double x, double y)
{
    ebb_draw_ink(cr, ink);
    ebb_label_draw(cr, label, x, y);
}

/* A frame that is too small would be drawn with texts over each other; that is refused, not shrunk.
 */
ebb_status ebb_draw_room_for(ebb_ctx *ctx, const ebb_frame *frame)
{
    /* Written so that a NaN fails too. */
    const bool fits = isfinite(frame->x) && isfinite(frame->y) &&
                      frame->width >= EBB_DRAW_LEAST_WIDTH && frame->width < 1e5 &&
                      frame->height >= EBB_DRAW_LEAST_HEIGHT && frame->height < 1e5;
    if (!fits) {
        return ebb_fail(ctx, EBB_E_RANGE,
                        "a drawing of %g x %g points is asked for; the least is %g x %g",
                        frame->width, frame->height, EBB_DRAW_LEAST_WIDTH, EBB_DRAW_LEAST_HEIGHT);
    }
    return EBB_OK;
}

/* Cairo keeps its first error and does nothing from then on, so one question at the end of a
 * drawing is enough. */
ebb_status ebb_draw_check(ebb_ctx *ctx, cairo_t *cr)
{
    const cairo_status_t status = cairo_status(cr);
    if (status == CAIRO_STATUS_SUCCESS) {
        return EBB_OK;
    }
    const ebb_status code = status == CAIRO_STATUS_NO_MEMORY ? EBB_E_NOMEM : EBB_E_IO;
    return ebb_fail(ctx, code, "the drawing failed: %s", cairo_status_to_string(status));
}
