/* SPDX-License-Identifier: GPL-3.0-or-later */
/* chart.c - the frame around every plot: title, legend, grid, ticks, labels. */
#include "axes.h"

#include <math.h>

#define SWATCH 20.0    /* length of a legend's line sample, points */
#define KEY_GAP 5.0    /* between sample and name */
#define KEY_SPACE 14.0 /* between entries */

/* The sample in front of a legend's name. */
static void draw_sample(cairo_t *cr, const ebb_draw_style *style, double x, double y)
{
    if (style->area) {
        const ebb_frame box = {x, y - 3.5, SWATCH, 7.0};
        ebb_draw_fill(cr, style->ink, &box);
        return;
    }
    if (style->width > 0.0) {
        ebb_draw_pen(cr, style);
        ebb_draw_line(cr, x, y, x + SWATCH, y);
    }
    ebb_draw_mark(cr, style, x + SWATCH / 2.0, y);
}

/* The same walk measures and draws, so that the space kept free is the space that is filled. The
 * legend stands above the plot and never in it: there it would sooner or later cover a curve. */
double ebb_draw_legend(cairo_t *cr, const ebb_frame *frame, size_t n, const ebb_draw_key *keys,
                       bool draw)
{
    double x = 0.0, y = 0.0, row = 0.0;
    for (size_t i = 0; i < n; i++) {
        ebb_label label = {.text = keys[i].name, .size = EBB_DRAW_SMALL};
        double size[2];
        ebb_label_size(cr, &label, size);
        const double most = frame->width - SWATCH - KEY_GAP;
        if (size[0] > most) {
            /* A name wider than the page is cut with an ellipsis. */
            label.width = size[0] = most;
            label.lines = 1;
        }
        const double width = SWATCH + KEY_GAP + size[0];
        if (x > 0.0 && x + width > frame->width) {
            x = 0.0;
            y += row + 2.0;
        }
        row = size[1];
        if (draw) {
            draw_sample(cr, &keys[i].style, frame->x + x, frame->y + y + row / 2.0);
            ebb_draw_word(cr, EBB_INK_TEXT, &label, frame->x + x + SWATCH + KEY_GAP, frame->y + y);
        }
        x += width + KEY_SPACE;
    }
    return n ? y + row : 0.0;
}

/* Asked for again by every step instead of being kept: ticks are cheap, and a chart then holds
 * nothing that could go out of step with its axes. */
static void chart_ticks(const ebb_draw_chart *chart, ebb_draw_ticks *x, ebb_draw_ticks *y)
{
    switch (chart->x_ticks) {
    case EBB_DRAW_THIRDS:
        ebb_draw_ticks_third(&chart->x, x);
        break;
    case EBB_DRAW_OCTAVES:
        ebb_draw_ticks_octave(&chart->x, x);
        break;
    case EBB_DRAW_ROUND:
        ebb_draw_ticks_round(&chart->x, 10, x);
        break;
    }
    ebb_draw_ticks_round(&chart->y, 8, y);
}

/* Widest tick text of y: the plot's left margin follows it, so that "0.005" is never cut. */
static double widest(cairo_t *cr, const ebb_draw_ticks *ticks)
{
    double most = 0.0;
    for (size_t i = 0; i < ticks->n; i++) {
        const ebb_label label = {.text = ticks->text[i], .size = EBB_DRAW_SMALL};
        double size[2];
        ebb_label_size(cr, &label, size);
        most = fmax(most, size[0]);
    }
    return most;
}

/* Everything with a size of its own is placed first - title, legend, tick texts, labels; the area
 * gets what is left. So nothing overlaps, however long the legend grows. */
void ebb_draw_chart_open(ebb_draw_chart *chart, const ebb_frame *frame)
{
    cairo_t *cr = chart->cr;
    const ebb_label title = {.text = chart->title,
                             .size = EBB_DRAW_TITLE,
                             .bold = true,
                             .width = frame->width,
                             .lines = 1};
    double top = frame->y;
    ebb_draw_ink(cr, EBB_INK_TEXT);
    top += ebb_label_draw(cr, &title, frame->x, top) + 3.0;
    const ebb_frame legend = {frame->x, top, frame->width, 0.0};
    top += ebb_draw_legend(cr, &legend, chart->n_keys, chart->keys, true) + 7.0;

    ebb_draw_ticks x, y;
    chart_ticks(chart, &x, &y);
    const double left = frame->x + 18.0 + widest(cr, &y);
    const double right = frame->x + frame->width - 12.0;
    const double bottom = frame->y + frame->height - 28.0;
    chart->area = (ebb_frame){left, top, right - left, bottom - top};
    chart->x.from = left;
    chart->x.to = right;
    chart->y.from = bottom;
    chart->y.to = top;
    const ebb_frame paper = chart->area;
    ebb_draw_fill(cr, EBB_INK_PAPER, &paper);
}

/* Grid lines go over shaded limits and under curves: a limit must not hide its scale. */
void ebb_draw_chart_grid(ebb_draw_chart *chart)
{
    const ebb_draw_style hair = {.ink = EBB_INK_RULE, .width = 0.5};
    const ebb_frame *area = &chart->area;
    ebb_draw_ticks x, y;
    chart_ticks(chart, &x, &y);
    ebb_draw_pen(chart->cr, &hair);
    for (size_t i = 0; i < x.n; i++) {
        const double at = ebb_draw_at(&chart->x, x.value[i]);
        ebb_draw_line(chart->cr, at, area->y, at, area->y + area->height);
    }
    for (size_t i = 0; i < y.n; i++) {
        const double at = ebb_draw_at(&chart->y, y.value[i]);
        ebb_draw_line(chart->cr, area->x, at, area->x + area->width, at);
    }
}

void ebb_draw_chart_clip(ebb_draw_chart *chart)
{
    const ebb_frame *area = &chart->area;
    cairo_save(chart->cr);
    cairo_rectangle(chart->cr, area->x, area->y, area->width, area->height);
    cairo_clip(chart->cr);
}

/* Tick texts under the area; one that would touch its left neighbour is left out, its line stays.
 */
static void x_texts(const ebb_draw_chart *chart, const ebb_draw_ticks *ticks)
{
    double free_from = -INFINITY;
    for (size_t i = 0; i < ticks->n; i++) {
        const ebb_label label = {.text = ticks->text[i], .size = EBB_DRAW_SMALL, .align = 0.5};
        double size[2];
        ebb_label_size(chart->cr, &label, size);
        const double at = ebb_draw_at(&chart->x, ticks->value[i]);
        if (at - size[0] / 2.0 < free_from) {
            continue;
        }
        ebb_draw_word(chart->cr, EBB_INK_TEXT, &label, at,
                      chart->area.y + chart->area.height + 3.0);
        free_from = at + size[0] / 2.0 + 3.0;
    }
}

/* All ticks of y are written: there are at most nine, and they never touch. */
static void y_texts(const ebb_draw_chart *chart, const ebb_draw_ticks *ticks)
{
    for (size_t i = 0; i < ticks->n; i++) {
        const ebb_label label = {.text = ticks->text[i], .size = EBB_DRAW_SMALL, .align = 1.0};
        double size[2];
        ebb_label_size(chart->cr, &label, size);
        ebb_draw_word(chart->cr, EBB_INK_TEXT, &label, chart->area.x - 4.0,
                      ebb_draw_at(&chart->y, ticks->value[i]) - size[1] / 2.0);
    }
}

/* The y label stands upright along the axis, centred. */
static void upright(const ebb_draw_chart *chart, double left)
{
    const ebb_label label = {.text = chart->y_label, .size = EBB_DRAW_SMALL, .align = 0.5};
    cairo_save(chart->cr);
    cairo_translate(chart->cr, left, chart->area.y + chart->area.height / 2.0);
    cairo_rotate(chart->cr, -3.14159265358979323846 / 2.0);
    ebb_draw_word(chart->cr, EBB_INK_TEXT, &label, 0.0, 0.0);
    cairo_restore(chart->cr);
}

/* The frame comes last, over the ends of curves that were cut off at it. */
void ebb_draw_chart_close(ebb_draw_chart *chart)
{
    const ebb_draw_style edge = {.ink = EBB_INK_QUIET, .width = 0.8};
    const ebb_frame *area = &chart->area;
    cairo_restore(chart->cr);
    ebb_draw_pen(chart->cr, &edge);
    cairo_rectangle(chart->cr, area->x, area->y, area->width, area->height);
    cairo_stroke(chart->cr);

    ebb_draw_ticks x, y;
    chart_ticks(chart, &x, &y);
    x_texts(chart, &x);
    y_texts(chart, &y);
    const ebb_label label = {.text = chart->x_label, .size = EBB_DRAW_SMALL, .align = 0.5};
    ebb_draw_word(chart->cr, EBB_INK_TEXT, &label, area->x + area->width / 2.0,
                  area->y + area->height + 15.0);
    upright(chart, area->x - widest(chart->cr, &y) - 18.0);
}

/* At the top, where curves of the other state are rarest; on a white ground, so that it can be read
 * in any case. */
void ebb_draw_chart_say(ebb_draw_chart *chart, const char *text)
{
    const ebb_frame *area = &chart->area;
    const ebb_label label = {.text = text, .size = 9.0, .align = 0.5};
    double size[2];
    ebb_label_size(chart->cr, &label, size);
    const double x = area->x + area->width / 2.0, y = area->y + 8.0;
    const ebb_frame ground = {x - size[0] / 2.0 - 4.0, y - 2.0, size[0] + 8.0, size[1] + 4.0};
    ebb_draw_fill(chart->cr, EBB_INK_PAPER, &ground);
    ebb_draw_word(chart->cr, EBB_INK_TEXT, &label, x, y);
}

void ebb_draw_curve(const ebb_draw_chart *chart, const ebb_draw_style *style, size_t n,
                    const double *x, const double *y)
{
    bool open = false;
    ebb_draw_pen(chart->cr, style);
    if (style->dash[0] <= 0.0) {
        /* A single value between gaps then shows as a dot. */
        cairo_set_line_cap(chart->cr, CAIRO_LINE_CAP_ROUND);
    }
    cairo_new_path(chart->cr);
    for (size_t i = 0; i < n; i++) {
        const double px = ebb_draw_at(&chart->x, x[i]), py = ebb_draw_at(&chart->y, y[i]);
        if (!isfinite(px) || !isfinite(py)) {
            open = false;
            continue;
        }
        if (!open) {
            cairo_move_to(chart->cr, px, py);
        }
        cairo_line_to(chart->cr, px, py);
        open = true;
    }
    cairo_stroke(chart->cr);
}

void ebb_draw_marks(const ebb_draw_chart *chart, const ebb_draw_style *style, size_t n,
                    const double *x, const double *y)
{
    for (size_t i = 0; i < n; i++) {
        const double px = ebb_draw_at(&chart->x, x[i]), py = ebb_draw_at(&chart->y, y[i]);
        /* Also false for values that are not finite. */
        const bool inside =
            fabs(px - chart->area.x - chart->area.width / 2.0) <= chart->area.width / 2.0 + 0.5 &&
            fabs(py - chart->area.y - chart->area.height / 2.0) <= chart->area.height / 2.0 + 0.5;
        if (inside) {
            ebb_draw_mark(chart->cr, style, px, py);
        }
    }
}
