/* SPDX-License-Identifier: GPL-3.0-or-later */
/* response.c - levels at the heads before and after, against the limits. */
#include "axes.h"

#include <math.h>
#include <stdio.h>

static const ebb_draw_style BEFORE = {.ink = EBB_INK_BEFORE, .width = 0.7, .dash = {3.0, 1.5}};
static const ebb_draw_style AFTER = {.ink = EBB_INK_AFTER, .width = 1.1};
static const ebb_draw_style WORST = {.ink = EBB_INK_AFTER, .width = 2.2};
static const ebb_draw_style SPOT = {.ink = EBB_INK_AFTER, .marker = EBB_DRAW_RING};
static const ebb_draw_style BAND = {.ink = EBB_INK_BAND, .area = true};
static const ebb_draw_style BOUND = {.ink = EBB_INK_QUIET, .width = 0.8, .dash = {1.0, 2.0}};

/* The cell where a case is furthest from its mean; false when it has no levels. */
static bool worst_cell(const ebb_case *one, size_t *path, size_t *cell)
{
    const ebb_reading *reading = &one->reading;
    double most = -1.0;
    for (size_t p = 0; reading->level && p < reading->n_paths; p++) {
        for (size_t c = 0; c < one->grid.n_cells; c++) {
            const double off = fabs(reading->level[p * one->grid.n_cells + c]);
            if (isfinite(off) && off > most) {
                most = off;
                *path = p;
                *cell = c;
            }
        }
    }
    return most >= 0.0;
}

/* Widens the axis to everything that is drawn: a curve cut off at the edge would look better than
 * it is. */
static void extend(const ebb_case *one, double range[2])
{
    const size_t n = one->reading.level ? one->reading.n_paths * one->grid.n_cells : 0;
    for (size_t i = 0; i < n; i++) {
        const double level = one->reading.level[i];
        if (isfinite(level)) {
            range[0] = fmin(range[0], level);
            range[1] = fmax(range[1], level);
        }
    }
}

/* One line for each path. They are not told apart but for the worst: what counts is that all of
 * them stay inside. */
static void draw_case(const ebb_draw_chart *chart, const ebb_case *one, const ebb_draw_style *style)
{
    const ebb_grid *grid = &one->grid;
    for (size_t p = 0; one->reading.level && p < one->reading.n_paths; p++) {
        ebb_draw_curve(chart, style, grid->n_cells, grid->hz + grid->first,
                       one->reading.level + p * grid->n_cells);
    }
}

/* Shaded limit band and the outer bound that no cell of a right room may pass. */
static void draw_limits(const ebb_draw_chart *chart, const ebb_limits *limits)
{
    const double top = ebb_draw_at(&chart->y, limits->response_deviation);
    const double bottom = ebb_draw_at(&chart->y, -limits->response_deviation);
    const ebb_frame band = {chart->area.x, top, chart->area.width, bottom - top};
    ebb_draw_fill(chart->cr, EBB_INK_BAND, &band);
    ebb_draw_pen(chart->cr, &BOUND);
    for (int sign = -1; sign <= 1; sign += 2) {
        const double y = ebb_draw_at(&chart->y, sign * limits->response_worst);
        ebb_draw_line(chart->cr, chart->area.x, y, chart->area.x + chart->area.width, y);
    }
}

/* Names of the path in words, as "left to lead". */
static void path_name(const ebb_case *one, size_t path, char *text, size_t size)
{
    const size_t receivers = one->n_receivers ? one->n_receivers : 1;
    const size_t s = path / receivers, r = path % receivers;
    const bool listed = one->source_names && one->receiver_names && s < one->n_sources;
    const bool named = listed && one->source_names[s] && one->receiver_names[r];
    if (named) {
        snprintf(text, size, "%s to %s", one->source_names[s], one->receiver_names[r]);
    } else {
        snprintf(text, size, "path %zu", path + 1);
    }
}

/* Legend texts; the numbers belong to the limits in force. */
typedef struct legend {
    char band[64], bound[64], worst[160];
    ebb_draw_key keys[6];
    size_t n;
} legend;

/* The limits are written out in the legend, as a job may have changed them. */
static void make_legend(legend *l, const ebb_answer *answer, bool found, size_t path, size_t cell)
{
    const ebb_case *after = &answer->shown->after;
    snprintf(l->band, sizeof l->band, "limit \u00b1%g dB", answer->limits.response_deviation);
    snprintf(l->bound, sizeof l->bound, "nothing beyond \u00b1%g dB",
             answer->limits.response_worst);
    l->n = 0;
    l->keys[l->n++] = (ebb_draw_key){"before, every path", BEFORE};
    l->keys[l->n++] = (ebb_draw_key){"after, every path", AFTER};
    if (found) {
        char name[100];
        path_name(after, path, name, sizeof name);
        const double level = after->reading.level[path * after->grid.n_cells + cell];
        snprintf(l->worst, sizeof l->worst, "worst after: %s, %+.1f dB at %.0f Hz", name, level,
                 after->grid.hz[after->grid.first + cell]);
        ebb_draw_style style = WORST;
        style.marker = SPOT.marker;
        l->keys[l->n++] = (ebb_draw_key){l->worst, style};
    }
    l->keys[l->n++] = (ebb_draw_key){l->band, BAND};
    l->keys[l->n++] = (ebb_draw_key){l->bound, BOUND};
}

/* The outer bound is always in the picture, even when no curve comes near it. */
static void set_axes(ebb_draw_chart *chart, const ebb_answer *answer)
{
    const ebb_treatment *shown = answer->shown;
    const ebb_grid *grid = &shown->after.grid;
    const double worst = answer->limits.response_worst + 1.0;
    double range[2] = {-worst, worst};
    extend(&shown->before, range);
    extend(&shown->after, range);
    chart->x = (ebb_draw_axis){.low = 20.0, .high = 200.0, .log = true};
    if (grid->n_cells > 1) {
        /* A little air: the grid ends at 199.5 Hz, and its last tick is 200. */
        chart->x.low = grid->hz[grid->first] / 1.01;
        chart->x.high = grid->hz[grid->first + grid->n_cells - 1] * 1.01;
    }
    chart->y = (ebb_draw_axis){.low = range[0], .high = range[1]};
    ebb_draw_axis_widen(&chart->y, 5.0);
}

ebb_status ebb_draw_response(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                             const ebb_answer *answer)
{
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status != EBB_OK) {
        return status;
    }
    static const ebb_treatment NOTHING;
    ebb_answer view = *answer;
    if (!view.shown) {
        view.shown = &NOTHING;
    }
    const ebb_case *after = &view.shown->after;
    size_t path = 0, cell = 0;
    const bool found = worst_cell(after, &path, &cell);
    legend l;
    make_legend(&l, &view, found, path, cell);
    ebb_draw_chart chart = {.cr = cr,
                            .title = "Level at the heads, by third of an octave",
                            .x_label = "frequency, Hz",
                            .y_label = "level against the mean of the band, dB",
                            .x_ticks = EBB_DRAW_THIRDS,
                            .n_keys = l.n,
                            .keys = l.keys};
    set_axes(&chart, &view);
    ebb_draw_chart_open(&chart, frame);
    draw_limits(&chart, &view.limits);
    ebb_draw_chart_grid(&chart);
    ebb_draw_chart_clip(&chart);
    draw_case(&chart, &view.shown->before, &BEFORE);
    draw_case(&chart, after, &AFTER);
    if (found) {
        const double *hz = after->grid.hz + after->grid.first;
        const double *level = after->reading.level + path * after->grid.n_cells;
        ebb_draw_curve(&chart, &WORST, after->grid.n_cells, hz, level);
    } else {
        ebb_draw_chart_say(&chart, "No response after treatment was calculated.");
    }
    ebb_draw_chart_close(&chart);
    if (found) {
        ebb_draw_marks(&chart, &SPOT, 1, after->grid.hz + after->grid.first + cell,
                       after->reading.level + path * after->grid.n_cells + cell);
    }
    return ebb_draw_check(ctx, cr);
}
