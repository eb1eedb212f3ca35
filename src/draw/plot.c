/* SPDX-License-Identifier: GPL-3.0-or-later */
/* plot.c - line plots of any series. */
#include "axes.h"

#include <math.h>

/* Looks of series, in turn: dashes and markers tell them apart without colour. */
static const ebb_draw_style LOOKS[] = {
    {.ink = EBB_INK_AFTER, .width = 1.5, .marker = EBB_DRAW_DIAMOND},
    {.ink = EBB_INK_MARK, .width = 1.2, .dash = {6.0, 2.5}, .marker = EBB_DRAW_RING},
    {.ink = EBB_INK_BEFORE, .width = 1.5, .marker = EBB_DRAW_SQUARE},
    {.ink = EBB_INK_VOICE, .width = 1.2, .dash = {1.5, 2.0}, .marker = EBB_DRAW_CROSS},
    {.ink = EBB_INK_TEXT, .width = 0.7, .marker = EBB_DRAW_RING},
    {.ink = EBB_INK_MUSIC, .width = 1.0, .dash = {9.0, 3.0}, .marker = EBB_DRAW_SQUARE},
};
enum { N_LOOKS = sizeof LOOKS / sizeof LOOKS[0], MOST_SERIES = 64 };

/* Points are drawn without a line, lines without points. */
static ebb_draw_style look_of(const ebb_plot *plot, size_t i)
{
    ebb_draw_style style = LOOKS[i % N_LOOKS];
    if (plot->series[i].points) {
        style.width = 0.0;
    } else {
        style.marker = EBB_DRAW_NO_MARKER;
    }
    return style;
}

/* Range of one coordinate over all series; false when there is no usable value. */
static bool data_range(const ebb_plot *plot, bool of_x, double range[2])
{
    range[0] = INFINITY;
    range[1] = -INFINITY;
    for (size_t s = 0; s < plot->n_series; s++) {
        const ebb_series *series = &plot->series[s];
        const double *value = of_x ? series->x : series->y;
        for (size_t i = 0; i < series->n; i++) {
            const bool usable = isfinite(value[i]) && !(of_x && plot->log_x && value[i] <= 0.0);
            if (usable) {
                range[0] = fmin(range[0], value[i]);
                range[1] = fmax(range[1], value[i]);
            }
        }
    }
    return range[0] <= range[1];
}

/* Sets an axis from the asked range, else from the data, never empty. */
static void set_axis(const ebb_plot *plot, bool of_x, ebb_draw_axis *axis)
{
    double data[2];
    const double *asked = of_x ? plot->x_range : plot->y_range;
    axis->log = of_x && plot->log_x;
    if (!data_range(plot, of_x, data)) {
        data[0] = axis->log ? 20.0 : 0.0;
        data[1] = axis->log ? 200.0 : 1.0;
    }
    axis->low = isfinite(asked[0]) ? asked[0] : data[0];
    axis->high = isfinite(asked[1]) ? asked[1] : data[1];
    if (axis->high <= axis->low) {
        const double half = axis->low != 0.0 ? 0.1 * fabs(axis->low) : 1.0;
        axis->low -= half;
        axis->high += half;
    }
    if (!of_x && !isfinite(asked[0]) && !isfinite(asked[1])) {
        ebb_draw_ticks ticks;
        ebb_draw_ticks_round(axis, 8, &ticks);
        ebb_draw_axis_widen(axis, ticks.n > 1 ? ticks.value[1] - ticks.value[0] : 1.0);
    }
}

/* What can not be drawn is refused with a reason; comparisons with NAN are false, so a range that
 * is left to the data passes. */
static ebb_status check_plot(ebb_ctx *ctx, const ebb_plot *plot)
{
    if (plot->n_series > MOST_SERIES) {
        return ebb_fail(ctx, EBB_E_RANGE, "a plot of %zu series is asked for; the most is %d",
                        plot->n_series, MOST_SERIES);
    }
    const double *x = plot->x_range, *y = plot->y_range;
    if (x[0] >= x[1] || y[0] >= y[1]) {
        return ebb_fail(ctx, EBB_E_RANGE, "an axis must run from a lower to a higher value");
    }
    if (plot->log_x && (x[0] <= 0.0 || x[1] <= 0.0)) {
        return ebb_fail(ctx, EBB_E_RANGE, "a logarithmic axis can not reach %g",
                        x[0] <= 0.0 ? x[0] : x[1]);
    }
    return EBB_OK;
}

/* Lines under points: a point marks one value and must not be hidden by a line. */
ebb_status ebb_draw_plot(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const ebb_plot *plot)
{
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status == EBB_OK) {
        status = check_plot(ctx, plot);
    }
    if (status != EBB_OK) {
        return status;
    }
    ebb_draw_key keys[MOST_SERIES];
    for (size_t i = 0; i < plot->n_series; i++) {
        keys[i] = (ebb_draw_key){plot->series[i].name, look_of(plot, i)};
    }
    ebb_draw_chart chart = {.cr = cr,
                            .title = plot->title,
                            .x_label = plot->x_label,
                            .y_label = plot->y_label,
                            .n_keys = plot->n_series,
                            .keys = keys};
    set_axis(plot, true, &chart.x);
    set_axis(plot, false, &chart.y);
    /* Third-octave ticks where they fit, powers of ten on longer axes. */
    const bool thirds = plot->log_x && chart.x.high / chart.x.low < 1e3 && chart.x.low >= 1.0;
    chart.x_ticks = thirds ? EBB_DRAW_THIRDS : EBB_DRAW_ROUND;

    ebb_draw_chart_open(&chart, frame);
    ebb_draw_chart_grid(&chart);
    ebb_draw_chart_clip(&chart);
    for (size_t i = 0; i < plot->n_series; i++) {
        const ebb_series *series = &plot->series[i];
        if (!series->points) {
            ebb_draw_curve(&chart, &keys[i].style, series->n, series->x, series->y);
        }
    }
    ebb_draw_chart_close(&chart);
    for (size_t i = 0; i < plot->n_series; i++) {
        const ebb_series *series = &plot->series[i];
        if (series->points) {
            ebb_draw_marks(&chart, &keys[i].style, series->n, series->x, series->y);
        }
    }
    return ebb_draw_check(ctx, cr);
}
