/* SPDX-License-Identifier: GPL-3.0-or-later */
/* decay.c - decay times of the modes, and of the bands that are judged, against what is heard. */
#include "axes.h"

#include <math.h>
#include <stdio.h>

enum { CURVE = 97 }; /* points of the limit curve */

static const ebb_draw_style BEFORE = {.ink = EBB_INK_BEFORE, .marker = EBB_DRAW_RING};
static const ebb_draw_style AFTER = {.ink = EBB_INK_AFTER, .marker = EBB_DRAW_DIAMOND};
static const ebb_draw_style LIMIT = {.ink = EBB_INK_MARK, .width = 1.4};
static const ebb_draw_style ALLOWED = {.ink = EBB_INK_MARK, .width = 0.9, .dash = {4.0, 2.0}};
static const ebb_draw_style AT_SEAT = {.ink = EBB_INK_AFTER, .width = 2.4};
static const ebb_draw_style EDGE = {.ink = EBB_INK_QUIET, .width = 0.8, .dash = {1.0, 2.0}};

/* Widens the axes to the modes of one case. Modes that never decay or have no frequency can not be
 * placed and are left out here as when drawing. */
static void extend(const ebb_modes *modes, double y[2], double x[2])
{
    for (size_t m = 0; modes && m < modes->n; m++) {
        const double t = modes->mode[m].t60, hz = modes->mode[m].hz;
        if (isfinite(t) && t > 0.0 && isfinite(hz) && hz > 0.0) {
            y[0] = fmin(y[0], t);
            y[1] = fmax(y[1], t);
            x[0] = fmin(x[0], hz);
            x[1] = fmax(x[1], hz);
        }
    }
}

/* One mark for each mode of the damped room, whether or not it is heard at a seat. */
static void draw_modes(const ebb_draw_chart *chart, const ebb_draw_style *style,
                       const ebb_modes *modes)
{
    for (size_t m = 0; modes && m < modes->n; m++) {
        ebb_draw_marks(chart, style, 1, &modes->mode[m].hz, &modes->mode[m].t60);
    }
}

/* The slowest decay over all paths in each judged band, as a bar a third of an octave wide. */
static void draw_bands(const ebb_draw_chart *chart, const ebb_case *one)
{
    const ebb_grid *grid = &one->grid;
    const double half = pow(2.0, 1.0 / 6.0);
    for (size_t b = 0; one->reading.decay && b < grid->n_bands; b++) {
        double t = NAN;
        for (size_t p = 0; p < one->reading.n_paths; p++) {
            t = fmax(t, one->reading.decay[p * grid->n_bands + b]);
        }
        const double hz[2] = {grid->band_hz[b] / half, grid->band_hz[b] * half};
        const double level[2] = {t, t};
        ebb_draw_curve(chart, &AT_SEAT, 2, hz, level);
    }
}

/* The curve is drawn over the whole axis, but its end is marked: above it the decay of modes is not
 * judged, and marks above the curve there do not count. */
static void draw_limit(const ebb_draw_chart *chart, const ebb_answer *answer)
{
    const double volume = ebb_draw_volume(answer);
    double hz[CURVE], limit[CURVE], allowed[CURVE];
    for (int i = 0; i < CURVE; i++) {
        hz[i] = chart->x.low * pow(chart->x.high / chart->x.low, (double)i / (CURVE - 1));
        limit[i] = ebb_decay_limit(&answer->limits, answer->shown->use, volume, hz[i]);
        allowed[i] = limit[i] * answer->limits.decay_factor;
    }
    ebb_draw_curve(chart, &ALLOWED, CURVE, hz, allowed);
    ebb_draw_curve(chart, &LIMIT, CURVE, hz, limit);
    const double edge = ebb_draw_at(&chart->x, answer->limits.decay_highest);
    ebb_draw_pen(chart->cr, &EDGE);
    ebb_draw_line(chart->cr, edge, chart->area.y, edge, chart->area.y + chart->area.height);
}

/* The usual range at least, so that plots of different rooms can be laid side by side. */
static void set_axes(ebb_draw_chart *chart, const ebb_answer *answer)
{
    double y[2] = {0.1, 2.0}, x[2] = {20.0, 200.0};
    extend(answer->shown->before.modes, y, x);
    extend(answer->shown->after.modes, y, x);
    chart->x = (ebb_draw_axis){.low = x[0], .high = x[1], .log = true};
    /* A little air, so that no marker sits on the edge. */
    chart->y = (ebb_draw_axis){.low = y[0] / 1.15, .high = y[1] * 1.15, .log = true};
}

/* Order matters: limit below, bars over it, marks last; nothing that is judged is hidden by
 * something that is not. */
ebb_status ebb_draw_decay(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
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
    char allowed[64], edge[64];
    snprintf(allowed, sizeof allowed, "%g times the limit (our tolerance)",
             view.limits.decay_factor);
    snprintf(edge, sizeof edge, "judged up to %g Hz", view.limits.decay_highest);
    const ebb_draw_key keys[] = {{"modes before", BEFORE},
                                 {"modes after", AFTER},
                                 {"bands at the heads after, slowest path", AT_SEAT},
                                 {"limit of what is heard", LIMIT},
                                 {allowed, ALLOWED},
                                 {edge, EDGE}};
    ebb_draw_chart chart = {.cr = cr,
                            .title = "How long each mode rings",
                            .x_label = "frequency, Hz",
                            .y_label = "decay time T60, s",
                            .x_ticks = EBB_DRAW_THIRDS,
                            .n_keys = sizeof keys / sizeof keys[0],
                            .keys = keys};
    set_axes(&chart, &view);
    ebb_draw_chart_open(&chart, frame);
    ebb_draw_chart_grid(&chart);
    ebb_draw_chart_clip(&chart);
    draw_limit(&chart, &view);
    draw_bands(&chart, &view.shown->after);
    if (!view.shown->before.modes && !view.shown->after.modes) {
        ebb_draw_chart_say(&chart, "No modes were calculated for this room.");
    }
    ebb_draw_chart_close(&chart);
    draw_modes(&chart, &BEFORE, view.shown->before.modes);
    draw_modes(&chart, &AFTER, view.shown->after.modes);
    return ebb_draw_check(ctx, cr);
}
