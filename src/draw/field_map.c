/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * field_map.c - pressure of a mode, or level, on a cut through a room.
 *
 * Shades are bands between levels, so that their borders are lines of equal value and a grey print
 * says the same. A mode's two signs have two colours that also the colour-blind tell apart, and
 * dashed lines on one side, for in grey the colours are alike. Beside the map stands the scale.
 */
#include "contour.h"
#include "field_scale.h"
#include "sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WIDE 580.0   /* of a picture in a file, points */
#define BELOW 24.0   /* for the scale bar and the note */
#define AROUND 130.0 /* of WIDE, that the map itself can not have */
#define FOOT 0.3048
#define STILL 0.05 /* m that a seat or speaker may lie off the cut without a word */
static const char *const axis_name[3] = {"length", "width", "height"};

/* ---- the map --------------------------------------------------------------------------------- */

static void page_point(const ebb_draw_field_view *v, const double at[2], double out[2])
{
    out[0] = ebb_draw_at(&v->chart.x, at[0] / v->unit);
    out[1] = ebb_draw_at(&v->chart.y, at[1] / v->unit);
}

static void outline_path(const ebb_draw_field_view *v)
{
    cairo_t *cr = v->chart.cr;
    const double(*point)[2] = (const double(*)[2])v->cut.point;
    cairo_new_path(cr);
    for (size_t l = 0; l < v->cut.n_loops; point += v->cut.loop[l++]) {
        cairo_new_sub_path(cr);
        for (size_t i = 0; i < v->cut.loop[l]; i++) {
            double at[2];
            page_point(v, point[i], at);
            cairo_line_to(cr, at[0], at[1]);
        }
        cairo_close_path(cr);
    }
}

/* The lowest band lies under everything: values below it are not blank, which only the outside of
 * the room is. */
static void draw_bands(const ebb_draw_field_view *v)
{
    cairo_t *cr = v->chart.cr;
    for (int k = 0; k < v->bands.n; k++) {
        cairo_new_path(cr);
        ebb_draw_above(cr, &v->grid, k == 0 ? -INFINITY : v->bands.low + k * v->bands.step);
        ebb_draw_band_colour(cr, &v->bands, k);
        cairo_fill(cr);
    }
}

/* Every line but the node line, which comes last and heavy. */
static void draw_lines(const ebb_draw_field_view *v)
{
    static const ebb_draw_style ABOVE = {.ink = EBB_INK_TEXT, .width = 0.4};
    static const ebb_draw_style UNDER = {.ink = EBB_INK_TEXT, .width = 0.4, .dash = {2.0, 1.5}};
    static const ebb_draw_style NODE = {.ink = EBB_INK_TEXT, .width = 1.8};
    cairo_t *cr = v->chart.cr;
    const ebb_draw_bands *b = &v->bands;
    for (int k = b->every; k < b->n; k += b->every) {
        const bool middle = !b->levels && 2 * k == b->n;
        ebb_draw_pen(cr, b->levels || 2 * k > b->n ? &ABOVE : middle ? &NODE : &UNDER);
        cairo_new_path(cr);
        ebb_draw_contour(cr, &v->grid, middle ? 0.0 : b->low + k * b->step);
        cairo_stroke(cr);
    }
}

/* ---- seats and speakers ---------------------------------------------------------------------- */

static double coordinate(const ebb_room *room, const ebb_station *s, int axis)
{
    return axis == 0   ? s->at.x - room->origin.x
           : axis == 1 ? s->at.y - room->origin.y
                       : s->at.z - room->origin.z;
}

/* "left" on the cut, "left, 0.40 m off" before or behind it. */
static void name_of(const ebb_draw_field_view *v, const ebb_station *s, char *text, size_t size)
{
    const double off = fabs(coordinate(v->map->room, s, v->map->axis) - v->map->at);
    char length[32];
    if (off <= STILL) {
        snprintf(text, size, "%.80s", s->name);
    } else {
        snprintf(text, size, "%.80s, %s off", s->name,
                 ebb_quantity_print(EBB_Q_LENGTH, off, v->map->units, length, sizeof length));
    }
}

static void draw_name(const ebb_draw_field_view *v, ebb_draw_taken *taken, const ebb_station *s,
                      const double at[2])
{
    char text[128];
    name_of(v, s, text, sizeof text);
    ebb_label label = {.text = text, .size = EBB_DRAW_TINY};
    double size[2];
    ebb_label_size(v->chart.cr, &label, size);
    if (size[0] > v->chart.area.width / 2.0) {
        label.lines = 1;
        label.width = size[0] = v->chart.area.width / 2.0;
    }
    const ebb_frame box = ebb_draw_beside(taken, at, size);
    const ebb_frame ground = {box.x - 1.5, box.y, box.width + 3.0, box.height};
    ebb_draw_fill(v->chart.cr, EBB_INK_PAPER, &ground);
    ebb_draw_word(v->chart.cr, EBB_INK_TEXT, &label, box.x, box.y);
}

static const ebb_draw_style SEAT = {.ink = EBB_INK_TEXT, .marker = EBB_DRAW_RING};
static const ebb_draw_style SPEAKER = {.ink = EBB_INK_MARK, .marker = EBB_DRAW_SQUARE};

/* On a white disc, for the shades may be as dark as the mark. */
static void draw_mark(const ebb_draw_field_view *v, ebb_draw_taken *taken,
                      const ebb_draw_style *style, const double at[2])
{
    cairo_t *cr = v->chart.cr;
    ebb_draw_ink(cr, EBB_INK_PAPER);
    cairo_new_path(cr);
    cairo_arc(cr, at[0], at[1], 4.5, 0.0, 2.0 * 3.14159265358979323846);
    cairo_fill(cr);
    ebb_draw_mark(cr, style, at[0], at[1]);
    const ebb_frame box = {at[0] - 4.5, at[1] - 4.5, 9.0, 9.0};
    ebb_draw_take(taken, &box);
}

/* Marks first, so that no name covers one. */
static void draw_stations(const ebb_draw_field_view *v)
{
    const ebb_room *room = v->map->room;
    const size_t n = room->n_seats + room->n_speakers;
    ebb_draw_taken taken = {.bounds = v->chart.area};
    for (size_t pass = 0; pass < 2 * n; pass++) {
        const size_t i = pass % n;
        const bool seat = i < room->n_seats;
        const ebb_station *s = seat ? &room->seats[i] : &room->speakers[i - room->n_seats];
        const double at[2] = {coordinate(room, s, v->axis[0]), coordinate(room, s, v->axis[1])};
        double page[2];
        page_point(v, at, page);
        if (pass < n) {
            draw_mark(v, &taken, seat ? &SEAT : &SPEAKER, page);
        } else {
            draw_name(v, &taken, s, page);
        }
    }
}

/* ---- putting it together --------------------------------------------------------------------- */

/* Places of the points on the page. */
static double *places(ebb_arena *arena, const ebb_draw_axis *axis, size_t n)
{
    double *at = EBB_NEW(arena, double, n);
    for (size_t i = 0; at && i < n; i++) {
        at[i] = axis->from + (double)i / (double)(n - 1) * (axis->to - axis->from);
    }
    return at;
}

static ebb_status lay_grid(ebb_arena *arena, ebb_draw_field_view *v)
{
    ebb_draw_grid *grid = &v->grid;
    grid->value = ebb_draw_field_values(arena, v->map, grid->n);
    grid->x = places(arena, &v->chart.x, grid->n[0]);
    grid->y = places(arena, &v->chart.y, grid->n[1]);
    if (!grid->value || !grid->x || !grid->y) {
        return EBB_E_NOMEM;
    }
    v->bands = ebb_draw_bands_of(v->map, grid);
    return ebb_draw_cut_room(arena, v->map->room, v->map->axis, v->map->at, &v->cut);
}

/* A metre is as long across as up; what is left of the area stays white on the right and below. */
static void equal_scales(ebb_draw_field_view *v)
{
    ebb_draw_chart *c = &v->chart;
    const double scale = fmin(c->area.width / c->x.high, c->area.height / c->y.high);
    c->area.width = scale * c->x.high;
    c->area.height = scale * c->y.high;
    c->x.to = c->x.from + c->area.width;
    c->y.from = c->y.to + c->area.height;
}

static void draw_inside(const ebb_draw_field_view *v)
{
    cairo_t *cr = v->chart.cr;
    cairo_save(cr);
    outline_path(v);
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_clip(cr);
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_WINDING);
    draw_bands(v);
    draw_lines(v);
    cairo_restore(cr);
}

static void draw_walls(const ebb_draw_field_view *v)
{
    static const ebb_draw_style WALL = {.ink = EBB_INK_TEXT, .width = 1.6};
    ebb_draw_pen(v->chart.cr, &WALL);
    outline_path(v);
    cairo_stroke(v->chart.cr);
}

static ebb_status draw_view(ebb_ctx *ctx, ebb_arena *arena, const ebb_frame *frame,
                            ebb_draw_field_view *v)
{
    const ebb_frame part = {frame->x, frame->y, frame->width - EBB_DRAW_SCALE_WIDTH,
                            frame->height - BELOW};
    ebb_draw_chart_open(&v->chart, &part);
    equal_scales(v);
    if (lay_grid(arena, v) != EBB_OK) {
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a drawing");
    }
    ebb_draw_chart_clip(&v->chart);
    draw_inside(v);
    ebb_draw_chart_close(&v->chart);
    draw_walls(v);
    draw_stations(v);
    const ebb_frame *area = &v->chart.area;
    ebb_draw_field_scale(v, area->x + area->width + 14.0);
    ebb_draw_field_bar(v, area->y + area->height + 30.0);
    ebb_draw_field_note(v, frame, area->y + area->height + 30.0);
    return ebb_draw_check(ctx, v->chart.cr);
}

/* What the marks and lines mean; only what is there. */
static size_t fill_keys(const ebb_field_map *map, ebb_draw_key key[4])
{
    static const ebb_draw_style NODE = {.ink = EBB_INK_TEXT, .width = 1.8};
    static const ebb_draw_style UNDER = {.ink = EBB_INK_TEXT, .width = 0.6, .dash = {2.0, 1.5}};
    size_t n = 0;
    if (!map->imaginary) {
        key[n++] = (ebb_draw_key){"no pressure", NODE};
        key[n++] = (ebb_draw_key){"opposite sign", UNDER};
    }
    if (map->room->n_seats > 0) {
        key[n++] = (ebb_draw_key){"seat", SEAT};
    }
    if (map->room->n_speakers > 0) {
        key[n++] = (ebb_draw_key){"speaker", SPEAKER};
    }
    return n;
}

static ebb_status check_map(ebb_ctx *ctx, const ebb_field_map *map)
{
    for (int d = 0; d < 2; d++) {
        if (map->n[d] < 2 || map->n[d] > 500) {
            return ebb_fail(ctx, EBB_E_RANGE, "a map of %zu x %zu points can not be drawn",
                            map->n[0], map->n[1]);
        }
    }
    if (map->axis < 0 || map->axis > 2 ||
        !(map->at >= 0.0 && map->at <= map->room->size[map->axis])) {
        return ebb_fail(ctx, EBB_E_RANGE, "the cut lies outside the room");
    }
    if (map->imaginary && !(map->loudest > 0.0 && isfinite(map->loudest))) {
        return ebb_fail(ctx, EBB_E_RANGE, "there is no sound on the cut");
    }
    for (size_t i = 0; i < map->n[0] * map->n[1]; i++) {
        if (isfinite(map->value[i])) {
            return EBB_OK;
        }
    }
    return ebb_fail(ctx, EBB_E_RANGE, "the cut holds no point of the room");
}

ebb_status ebb_draw_field(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                          const ebb_field_map *map)
{
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status == EBB_OK) {
        status = check_map(ctx, map);
    }
    if (status != EBB_OK) {
        return status;
    }
    const bool feet = map->units == EBB_UNITS_IMPERIAL;
    ebb_draw_field_view v = {.map = map, .unit = feet ? FOOT : 1.0};
    ebb_draw_cut_axes(map->axis, v.axis);
    char title[240], label[2][32], at[32];
    ebb_draw_key key[4];
    snprintf(title, sizeof title, "%.150s; cut at %s %s", map->title, axis_name[map->axis],
             ebb_quantity_print(EBB_Q_LENGTH, map->at, map->units, at, sizeof at));
    for (int d = 0; d < 2; d++) {
        snprintf(label[d], sizeof label[d], "%s, %s", axis_name[v.axis[d]], feet ? "ft" : "m");
    }
    v.chart = (ebb_draw_chart){.cr = cr,
                               .title = title,
                               .x_label = label[0],
                               .y_label = label[1],
                               .x = {.high = ebb_draw_field_size(&v, 0) / v.unit},
                               .y = {.high = ebb_draw_field_size(&v, 1) / v.unit},
                               .x_ticks = EBB_DRAW_ROUND,
                               .n_keys = fill_keys(map, key),
                               .keys = key};
    ebb_arena *scratch = ebb_arena_new(ctx);
    status = draw_view(ctx, scratch, frame, &v);
    ebb_arena_free(scratch);
    return status;
}

static ebb_status paint(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_field(ctx, cr, frame, what);
}

/* All of the same width; tall cuts are given the height that their width asks for, within reason.
 */
ebb_status ebb_field_file(ebb_ctx *ctx, const char *path, const ebb_field_map *map)
{
    int axis[2];
    const ebb_status status = check_map(ctx, map);
    if (status != EBB_OK) {
        return status;
    }
    ebb_draw_cut_axes(map->axis, axis);
    const double tall = map->room->size[axis[1]] / map->room->size[axis[0]] * (WIDE - AROUND);
    const ebb_picture picture = {.width = WIDE,
                                 .height = fmin(fmax(tall, 120.0), 460.0) + AROUND - 32.0,
                                 .prefix = "f",
                                 .paint = paint,
                                 .what = map};
    return ebb_picture_file(ctx, path, &picture);
}
