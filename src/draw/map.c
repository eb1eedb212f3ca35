/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * map.c - the share of wrong cells over a room's dimensions, as shaded fields with contour lines.
 *
 * Darker is worse; every tenth has its line, so that a black-and-white print can be read. Where
 * three dimensions may change, slices at up to three heights stand side by side.
 */
#include "axes.h"

#include <math.h>
#include <stdio.h>

#define SLICES 3
#define STEP 0.1 /* between contour lines, share of wrong cells */
#define SCALE_HEIGHT 34.0

static const char *const axis_name[3] = {"length", "width", "height"};

/* Which axes a map runs over, and the slice. */
typedef struct view {
    const ebb_reshaped *map;
    int x, y, across; /* across: the axis that is held */
    size_t at;        /* index on it */
    double low, high; /* shares over the whole map */
} view;

static double share(const view *v, size_t i, size_t j)
{
    size_t at[3];
    at[v->x] = i;
    at[v->y] = j;
    at[v->across] = v->at;
    return v->map->shape[(at[0] * v->map->n[1] + at[1]) * v->map->n[2] + at[2]].wrong;
}

static void limits_of(const ebb_reshaped *map, double *low, double *high)
{
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < map->n[0] * map->n[1] * map->n[2]; i++) {
        *low = fmin(*low, map->shape[i].wrong);
        *high = fmax(*high, map->shape[i].wrong);
    }
    *low = floor(*low / STEP) * STEP;
    *high = fmax(ceil(*high / STEP) * STEP, *low + STEP);
}

/* From paper for the least wrong to the ink of untreated rooms for the most. */
static void shade(cairo_t *cr, const view *v, double value)
{
    double light[3], dark[3];
    ebb_ink_rgb(EBB_INK_PAPER, light);
    ebb_ink_rgb(EBB_INK_BEFORE, dark);
    const double t = 0.1 + 0.9 * (value - v->low) / (v->high - v->low);
    cairo_set_source_rgb(cr, light[0] + t * (dark[0] - light[0]),
                         light[1] + t * (dark[1] - light[1]), light[2] + t * (dark[2] - light[2]));
}

/* Borders of the field around a value: half way to its neighbours. */
static void borders(const double *value, size_t n, size_t i, double out[2])
{
    out[0] = i > 0 ? (value[i - 1] + value[i]) / 2 : value[i];
    out[1] = i + 1 < n ? (value[i] + value[i + 1]) / 2 : value[i];
}

static void draw_fields(const ebb_draw_chart *chart, const view *v)
{
    const ebb_reshaped *map = v->map;
    for (size_t i = 0; i < map->n[v->x]; i++)
        for (size_t j = 0; j < map->n[v->y]; j++) {
            const double value = share(v, i, j);
            if (!isfinite(value))
                continue;
            double x[2], y[2];
            borders(map->value[v->x], map->n[v->x], i, x);
            borders(map->value[v->y], map->n[v->y], j, y);
            shade(chart->cr, v, value);
            cairo_rectangle(chart->cr, ebb_draw_at(&chart->x, x[0]), ebb_draw_at(&chart->y, y[1]),
                            ebb_draw_at(&chart->x, x[1]) - ebb_draw_at(&chart->x, x[0]) + 0.3,
                            ebb_draw_at(&chart->y, y[0]) - ebb_draw_at(&chart->y, y[1]) + 0.3);
            cairo_fill(chart->cr);
        }
}

/* Where a contour crosses the edge between two corners of a cell: false when it does not. */
static bool crossing(const double corner[3], const double next[3], double level, double out[2])
{
    if (!isfinite(corner[2]) || !isfinite(next[2]) || (corner[2] < level) == (next[2] < level))
        return false;
    const double t = (level - corner[2]) / (next[2] - corner[2]);
    for (int d = 0; d < 2; d++)
        out[d] = corner[d] + t * (next[d] - corner[d]);
    return true;
}

/* One cell of the marching squares; a saddle is joined in the order met, which is one of the two
 * right ways. */
static void contour_cell(const ebb_draw_chart *chart, double corner[4][3], double level)
{
    double point[4][2];
    int n = 0;
    for (int e = 0; e < 4; e++)
        n += crossing(corner[e], corner[(e + 1) % 4], level, point[n]);
    for (int i = 0; i + 1 < n; i += 2)
        ebb_draw_line(chart->cr, ebb_draw_at(&chart->x, point[i][0]),
                      ebb_draw_at(&chart->y, point[i][1]), ebb_draw_at(&chart->x, point[i + 1][0]),
                      ebb_draw_at(&chart->y, point[i + 1][1]));
}

static void draw_contours(const ebb_draw_chart *chart, const view *v)
{
    const ebb_draw_style pen = {.ink = EBB_INK_TEXT, .width = 0.5};
    const double *x = v->map->value[v->x], *y = v->map->value[v->y];
    ebb_draw_pen(chart->cr, &pen);
    for (size_t i = 0; i + 1 < v->map->n[v->x]; i++)
        for (size_t j = 0; j + 1 < v->map->n[v->y]; j++) {
            double corner[4][3] = {{x[i], y[j], share(v, i, j)},
                                   {x[i + 1], y[j], share(v, i + 1, j)},
                                   {x[i + 1], y[j + 1], share(v, i + 1, j + 1)},
                                   {x[i], y[j + 1], share(v, i, j + 1)}};
            for (double level = v->low + STEP; level < v->high - STEP / 2; level += STEP)
                contour_cell(chart, corner, level);
        }
}

static void mark_today(const ebb_draw_chart *chart, const view *v)
{
    const ebb_draw_style cross = {.ink = EBB_INK_MARK, .width = 1.6, .marker = EBB_DRAW_CROSS};
    const double x = v->map->today.size[v->x], y = v->map->today.size[v->y];
    ebb_draw_marks(chart, &cross, 1, &x, &y);
}

static void draw_slice(cairo_t *cr, const ebb_frame *frame, const view *v)
{
    char title[80], label[2][40];
    const ebb_reshaped *map = v->map;
    snprintf(title, sizeof title, "%s %.2f m", axis_name[v->across], map->value[v->across][v->at]);
    snprintf(label[0], sizeof label[0], "%s, m", axis_name[v->x]);
    snprintf(label[1], sizeof label[1], "%s, m", axis_name[v->y]);
    ebb_draw_chart chart = {.cr = cr,
                            .title = title,
                            .x_label = label[0],
                            .y_label = label[1],
                            .x_ticks = EBB_DRAW_ROUND};
    chart.x.low = map->value[v->x][0];
    chart.x.high = map->value[v->x][map->n[v->x] - 1];
    chart.y.low = map->value[v->y][0];
    chart.y.high = map->value[v->y][map->n[v->y] - 1];
    ebb_draw_chart_open(&chart, frame);
    ebb_draw_chart_clip(&chart);
    draw_fields(&chart, v);
    draw_contours(&chart, v);
    ebb_draw_chart_close(&chart);
    mark_today(&chart, v);
}

/* Shades from the least to the most wrong, with their numbers, and what the cross means. */
static void draw_scale(cairo_t *cr, const ebb_frame *frame, const view *v)
{
    const int n = (int)lround((v->high - v->low) / STEP);
    const double width = fmin(36.0, frame->width / (2.0 * (n + 1)));
    for (int i = 0; i <= n; i++) {
        char text[16];
        snprintf(text, sizeof text, "%.0f %%", 100 * (v->low + i * STEP));
        const double x = frame->x + i * width;
        if (i < n) {
            shade(cr, v, v->low + (i + 0.5) * STEP);
            cairo_rectangle(cr, x, frame->y, width, 9.0);
            cairo_fill(cr);
        }
        const ebb_label label = {.text = text, .size = EBB_DRAW_TINY, .align = i == 0 ? 0 : 0.5};
        ebb_draw_word(cr, EBB_INK_TEXT, &label, x, frame->y + 11.0);
    }
    const ebb_draw_style cross = {.ink = EBB_INK_MARK, .width = 1.6, .marker = EBB_DRAW_CROSS};
    const double x = frame->x + (n + 1) * width;
    ebb_draw_mark(cr, &cross, x, frame->y + 4.5);
    const ebb_label label = {.text = "the room today; shade: share of wrong cells, bare",
                             .size = EBB_DRAW_SMALL,
                             .width = frame->width - (n + 1) * width - 8.0};
    ebb_draw_word(cr, EBB_INK_TEXT, &label, x + 8.0, frame->y - 1.0);
}

/* A line when one dimension may change. */
static ebb_status draw_line_map(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                const ebb_reshaped *map, int axis)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    double *y = EBB_NEW(scratch, double, map->n[axis]);
    if (!y) {
        ebb_arena_free(scratch);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a drawing");
    }
    for (size_t i = 0; i < map->n[axis]; i++)
        y[i] = map->shape[i].wrong;
    char label[40];
    snprintf(label, sizeof label, "%s, m", axis_name[axis]);
    const double *today = map->today.size;
    const ebb_series series[2] = {
        {.name = "bare room", .n = map->n[axis], .x = map->value[axis], .y = y},
        {.name = "the room today",
         .n = 1,
         .x = &today[axis],
         .y = &map->today.wrong,
         .points = true}};
    const ebb_plot plot = {.title = "Share of wrong cells over one dimension",
                           .x_label = label,
                           .y_label = "share of wrong cells",
                           .x_range = {NAN, NAN},
                           .y_range = {0, 1},
                           .n_series = 2,
                           .series = series};
    const ebb_status status = ebb_draw_plot(ctx, cr, frame, &plot);
    ebb_arena_free(scratch);
    return status;
}

/* Slices at the ends and in the middle of the axis held. */
static void draw_slices(cairo_t *cr, const ebb_frame *frame, view *v)
{
    const size_t most = v->map->n[v->across], n = most < SLICES ? most : SLICES;
    const double width = frame->width / (double)n;
    for (size_t i = 0; i < n; i++) {
        v->at = n == 1 ? 0 : i * (most - 1) / (n - 1);
        const ebb_frame part = {frame->x + (double)i * width, frame->y, width - 8.0,
                                frame->height - SCALE_HEIGHT};
        draw_slice(cr, &part, v);
    }
    const ebb_frame scale = {frame->x + 30.0, frame->y + frame->height - SCALE_HEIGHT + 10.0,
                             frame->width - 30.0, SCALE_HEIGHT - 10.0};
    draw_scale(cr, &scale, v);
}

ebb_status ebb_draw_reshape(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                            const ebb_reshaped *map)
{
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status != EBB_OK)
        return status;
    int free_axis[3], n = 0, held = 2;
    for (int d = 0; d < 3; d++)
        if (map->n[d] > 1)
            free_axis[n++] = d;
        else
            held = d;
    if (n == 1)
        return draw_line_map(ctx, cr, frame, map, free_axis[0]);
    view v = {.map = map, .x = free_axis[0], .y = free_axis[1], .across = n == 3 ? 2 : held};
    limits_of(map, &v.low, &v.high);
    draw_slices(cr, frame, &v);
    return ebb_draw_check(ctx, cr);
}

static ebb_status paint(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_reshape(ctx, cr, frame, what);
}

ebb_status ebb_reshape_file(ebb_ctx *ctx, const char *path, const ebb_reshaped *map)
{
    int n = 0;
    for (int d = 0; d < 3; d++)
        n += map->n[d] > 1;
    if (n == 0)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "no dimension of room \"%s\" may change: there is no map to draw",
                        map->room->name);
    const ebb_picture picture = {.width = n == 3 ? 760.0 : 480.0,
                                 .height = 320.0,
                                 .prefix = "m",
                                 .paint = paint,
                                 .what = map};
    return ebb_picture_file(ctx, path, &picture);
}
