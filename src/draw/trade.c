/* SPDX-License-Identifier: GPL-3.0-or-later */
/* trade.c - the trade-offs of a designed box as a plot. */
#include <ebb/draw.h>

#include <math.h>

#define WIDTH 480.0
#define HEIGHT 320.0

/* A series of one point, named for the pick with its depth, which the plot has no axis for. */
static ebb_status name_picks(ebb_ctx *ctx, ebb_arena *arena, const ebb_craft *craft,
                             ebb_series *series)
{
    for (size_t i = 0; i < craft->n_picks; i++) {
        const ebb_craft_pick *p = &craft->pick[i];
        const char *name = ebb_arena_format(arena, "%s, %.0f mm deep", ebb_craft_aim_name(p->aim),
                                            1000.0 * p->merit.depth);
        if (!name) {
            return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a plot");
        }
        series[i] = (ebb_series){name, 1, &p->merit.mass, &p->merit.absorption, true};
    }
    return EBB_OK;
}

/* A little more than the values span, so that no point lies on the frame. */
static void span(size_t n, const double *value, double range[2])
{
    range[0] = range[1] = value[0];
    for (size_t i = 1; i < n; i++) {
        range[0] = fmin(range[0], value[i]);
        range[1] = fmax(range[1], value[i]);
    }
    const double more = fmax(0.06 * (range[1] - range[0]), 1e-3 * fabs(range[1]));
    range[0] -= more;
    range[1] += more;
}

static ebb_status draw(ebb_ctx *ctx, ebb_arena *arena, const char *path, const ebb_craft *craft)
{
    ebb_series *series = EBB_NEW(arena, ebb_series, craft->n_picks + 1);
    double *x = EBB_NEW(arena, double, craft->n_front), *y = EBB_NEW(arena, double, craft->n_front);
    if (!series || !x || !y) {
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a plot");
    }
    for (size_t i = 0; i < craft->n_front; i++) {
        x[i] = craft->front_merit[i].mass;
        y[i] = craft->front_merit[i].absorption;
    }
    series[0] = (ebb_series){"best trade-offs", craft->n_front, x, y, true};
    const ebb_status status = name_picks(ctx, arena, craft, series + 1);
    if (status != EBB_OK) {
        return status;
    }
    const bool mode = craft->target->goal == EBB_GOAL_MODE;
    ebb_plot plot = {
        .title = craft->target->name,
        .x_label = "mass of the complete box, kg",
        .y_label = mode ? "fall of the mode's peak, dB" : "mean absorption, normal incidence",
        .n_series = craft->n_picks + 1,
        .series = series,
    };
    span(craft->n_front, x, plot.x_range);
    span(craft->n_front, y, plot.y_range);
    return ebb_plot_file(ctx, path, WIDTH, HEIGHT, &plot);
}

ebb_status ebb_trade_file(ebb_ctx *ctx, const char *path, const ebb_craft *craft)
{
    if (craft->n_front == 0) {
        return ebb_fail(ctx, EBB_E_RANGE, "%s: no box passes, so there is nothing to plot",
                        craft->target->name);
    }
    ebb_arena *arena = ebb_arena_new(ctx);
    const ebb_status status = draw(ctx, arena, path, craft);
    ebb_arena_free(arena);
    return status;
}
