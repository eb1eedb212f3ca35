/* SPDX-License-Identifier: GPL-3.0-or-later */
/* absorption.c - what units absorb, over frequency. */
#include "axes.h"

#include <math.h>
#include <stdio.h>

#define WIDTH 560.0 /* of a file, points */
#define HEIGHT 400.0
#define HEIGHT_MANY 300.0
#define LOWER 0.36 /* of the height, for the area of one unit */

enum { MOST_STUDIES = 12 };

static const ebb_draw_style NORMAL = {.ink = EBB_INK_AFTER, .width = 1.9};
static const ebb_draw_style DIFFUSE = {.ink = EBB_INK_MARK, .width = 1.1, .dash = {6.0, 2.5}};
static const ebb_draw_style BULK = {.ink = EBB_INK_VOICE, .width = 1.0, .dash = {1.5, 2.0}};
static const ebb_draw_style HALF = {.ink = EBB_INK_BAND, .area = true};
static const ebb_draw_style USEFUL = {.ink = EBB_INK_QUIET, .width = 0.8, .dash = {1.0, 2.0}};
static const ebb_draw_style AREA = {.ink = EBB_INK_AFTER, .width = 1.1, .marker = EBB_DRAW_DIAMOND};

/* The axis is that of the third octaves in the table, with a little air at its ends. */
static const ebb_draw_axis HZ = {.low = 19.0, .high = 211.0, .log = true};

/* The band where half of the peak is left; open ends run out of the chart. */
static void shade_band(const ebb_draw_chart *chart, const ebb_band *band)
{
    const double low = isfinite(band->half[0]) ? band->half[0] : chart->x.low;
    const double high = isfinite(band->half[1]) ? band->half[1] : chart->x.high;
    const double from = ebb_draw_at(&chart->x, fmax(low, chart->x.low));
    const double to = ebb_draw_at(&chart->x, fmin(high, chart->x.high));
    if (to <= from) {
        return;
    }
    const ebb_frame box = {from, chart->area.y, to - from, chart->area.height};
    ebb_draw_fill(chart->cr, EBB_INK_BAND, &box);
}

/* Dotted, as bounds are in all charts here. */
static void level_line(const ebb_draw_chart *chart, double value)
{
    const double y = ebb_draw_at(&chart->y, value);
    ebb_draw_pen(chart->cr, &USEFUL);
    ebb_draw_line(chart->cr, chart->area.x, y, chart->area.x + chart->area.width, y);
}

/* Legend texts with the numbers of this unit. */
typedef struct legend {
    char half[80], useful[48];
    ebb_draw_key keys[5];
    size_t n;
} legend;

/* Written out, because the ends of a shaded band can not be read to a hertz. */
static void band_text(const ebb_band *band, char *text, size_t size)
{
    const double *h = band->half;
    if (isfinite(h[0]) && isfinite(h[1])) {
        snprintf(text, size, "half of its peak or more: %.0f to %.0f Hz", h[0], h[1]);
    } else if (isfinite(h[0])) {
        snprintf(text, size, "half of its peak or more: from %.0f Hz up", h[0]);
    } else if (isfinite(h[1])) {
        snprintf(text, size, "half of its peak or more: up to %.0f Hz", h[1]);
    } else {
        snprintf(text, size, "half of its peak or more: everywhere");
    }
}

/* Only what is drawn is in the legend. */
static void make_legend(legend *l, const ebb_study *study)
{
    l->n = 0;
    l->keys[l->n++] = (ebb_draw_key){"normal incidence", NORMAL};
    l->keys[l->n++] = (ebb_draw_key){"random incidence, large area", DIFFUSE};
    if (study->fine.bulk) {
        l->keys[l->n++] = (ebb_draw_key){"the same, sound also running along inside", BULK};
    }
    band_text(&study->band, l->half, sizeof l->half);
    snprintf(l->useful, sizeof l->useful, "useful at all: %g", EBB_USEFUL);
    l->keys[l->n++] = (ebb_draw_key){l->half, HALF};
    l->keys[l->n++] = (ebb_draw_key){l->useful, USEFUL};
}

/* Coefficients of one unit. */
static void draw_one(cairo_t *cr, const ebb_frame *frame, const ebb_study *study)
{
    const ebb_spectrum *s = &study->fine;
    legend l;
    make_legend(&l, study);
    ebb_draw_chart chart = {.cr = cr,
                            .title = study->unit->name,
                            .x_label = "frequency, Hz",
                            .y_label = "absorption coefficient",
                            .x = HZ,
                            .y = {.low = 0.0, .high = 1.05},
                            .x_ticks = EBB_DRAW_THIRDS,
                            .n_keys = l.n,
                            .keys = l.keys};
    ebb_draw_chart_open(&chart, frame);
    shade_band(&chart, &study->band);
    ebb_draw_chart_grid(&chart);
    ebb_draw_chart_clip(&chart);
    level_line(&chart, EBB_USEFUL);
    if (s->bulk) {
        ebb_draw_curve(&chart, &BULK, s->n, s->hz, s->bulk);
    }
    ebb_draw_curve(&chart, &DIFFUSE, s->n, s->hz, s->diffuse);
    ebb_draw_curve(&chart, &NORMAL, s->n, s->hz, s->normal);
    ebb_draw_chart_close(&chart);
}

/* What a reverberation room would show of one unit: an area, so that nobody reads it as a
 * coefficient. */
static void draw_area(cairo_t *cr, const ebb_frame *frame, const ebb_study *study)
{
    const ebb_spectrum *s = &study->fine, *marks = &study->table;
    double most = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        const bool shown = s->hz[i] >= HZ.low && s->hz[i] <= HZ.high && isfinite(s->area[i]);
        most = shown ? fmax(most, s->area[i]) : most;
    }
    char face[80];
    snprintf(face, sizeof face, "one unit alone in a wall; its face has %.2f m\u00b2",
             study->unit->face[0] * study->unit->face[1]);
    const ebb_draw_key key = {face, AREA};
    ebb_draw_chart chart = {.cr = cr,
                            .title = "Absorption area, random incidence",
                            .x_label = "frequency, Hz",
                            .y_label = "area, m\u00b2",
                            .x = HZ,
                            .y = {.low = 0.0, .high = most > 0.0 ? 1.1 * most : 1.0},
                            .x_ticks = EBB_DRAW_THIRDS,
                            .n_keys = 1,
                            .keys = &key};
    ebb_draw_chart_open(&chart, frame);
    ebb_draw_chart_grid(&chart);
    ebb_draw_chart_clip(&chart);
    ebb_draw_curve(&chart, &AREA, s->n, s->hz, s->area);
    ebb_draw_chart_close(&chart);
    ebb_draw_marks(&chart, &AREA, marks->n, marks->hz, marks->area);
}

/* Several units are compared at normal incidence alone: more curves could not be read. */
static ebb_status draw_many(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, size_t n,
                            const ebb_study *const *study)
{
    ebb_series series[MOST_STUDIES];
    for (size_t i = 0; i < n; i++) {
        const ebb_spectrum *s = &study[i]->fine;
        series[i] = (ebb_series){study[i]->unit->name, s->n, s->hz, s->normal, false};
    }
    const ebb_plot plot = {.title = "Absorption at normal incidence",
                           .x_label = "frequency, Hz",
                           .y_label = "absorption coefficient",
                           .log_x = true,
                           .x_range = {HZ.low, HZ.high},
                           .y_range = {0.0, 1.05},
                           .n_series = n,
                           .series = series};
    return ebb_draw_plot(ctx, cr, frame, &plot);
}

/* The area has a chart of its own: on one axis with coefficients it would be read as one. */
ebb_status ebb_draw_absorption(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, size_t n,
                               const ebb_study *const *study)
{
    if (n == 0 || n > MOST_STUDIES) {
        return ebb_fail(ctx, EBB_E_RANGE, "absorption of %zu units is asked for; 1 to %d fit", n,
                        MOST_STUDIES);
    }
    if (n > 1) {
        return draw_many(ctx, cr, frame, n, study);
    }
    const double split = (1.0 - LOWER) * frame->height;
    const ebb_frame upper = {frame->x, frame->y, frame->width, split - 8.0};
    const ebb_frame lower = {frame->x, frame->y + split, frame->width, frame->height - split};
    /* Both parts need their room; the lower one gets along with less than a chart of its own. */
    const ebb_status status = ebb_draw_room_for(ctx, &upper);
    if (status != EBB_OK) {
        return status;
    }
    draw_one(cr, &upper, study[0]);
    draw_area(cr, &lower, study[0]);
    return ebb_draw_check(ctx, cr);
}

/* What a painter is handed. */
typedef struct request {
    size_t n;
    const ebb_study *const *study;
} request;

static ebb_status paint(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    const request *r = what;
    return ebb_draw_absorption(ctx, cr, frame, r->n, r->study);
}

/* One chart needs less height than two. */
ebb_status ebb_absorption_file(ebb_ctx *ctx, const char *path, size_t n,
                               const ebb_study *const *study)
{
    const request r = {n, study};
    const ebb_picture picture = {.width = WIDTH,
                                 .height = n == 1 ? HEIGHT : HEIGHT_MANY,
                                 .prefix = "a",
                                 .paint = paint,
                                 .what = &r};
    return ebb_picture_file(ctx, path, &picture);
}
