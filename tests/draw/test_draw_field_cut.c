/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a field map is made of: field_cut.c, field_values.c, contour.c. */
#include "../../src/draw/contour.h"
#include "../../src/draw/field_cut.h"
#include "canvas.h"
#include "prism.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

/* ---- outlines -------------------------------------------------------------------------------- */

/* Area within a cut, by the even-odd rule: loops within another are holes. None here is deeper. */
static double area_of(const ebb_draw_outline_of_cut *cut)
{
    double sum = 0.0, most = 0.0;
    const double(*p)[2] = (const double(*)[2])cut->point;
    for (size_t l = 0; l < cut->n_loops; p += cut->loop[l++]) {
        double twice = 0.0;
        for (size_t i = 0, n = cut->loop[l]; i < n; i++) {
            twice += p[i][0] * p[(i + 1) % n][1] - p[(i + 1) % n][0] * p[i][1];
        }
        sum += fabs(twice) / 2.0;
        most = fmax(most, fabs(twice) / 2.0);
    }
    return cut->n_loops < 2 ? sum : 2.0 * most - sum;
}

/* Cuts a room; the area, and the number of loops. */
static double cut_area(const ebb_room *room, int held, double at, size_t *loops)
{
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_draw_outline_of_cut cut;
    assert_int_equal(ebb_draw_cut_room(arena, room, held, at, &cut), EBB_OK);
    const double area = area_of(&cut);
    *loops = cut.n_loops;
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
    return area;
}

static void test_a_box_is_cut_in_rectangles(void **state)
{
    (void)state;
    const ebb_room room = {.size = {5.0, 4.0, 3.0}};
    const double wanted[3] = {12.0, 15.0, 20.0};
    for (int d = 0; d < 3; d++) {
        size_t loops;
        assert_float_equal(cut_area(&room, d, 1.0, &loops), wanted[d], 1e-12);
        assert_int_equal(loops, 1);
    }
}

static void test_plans_are_cut_along_their_walls(void **state)
{
    (void)state;
    prism p;
    size_t loops;
    prism_l(&p, false);
    assert_float_equal(cut_area(&p.room, 2, 1.2, &loops), 8.0, 1e-12);
    assert_int_equal(loops, 1);
    assert_float_equal(cut_area(&p.room, 1, 0.5, &loops), 10.0, 1e-12); /* 4 m x 2.5 m */
    assert_float_equal(cut_area(&p.room, 1, 2.0, &loops), 5.0, 1e-12);
    assert_float_equal(cut_area(&p.room, 0, 1.0, &loops), 7.5, 1e-12);
    prism_l(&p, true);
    assert_float_equal(cut_area(&p.room, 2, 1.2, &loops), 7.75, 1e-12);
    assert_int_equal(loops, 2);
}

/* Through a column the air comes in two pieces. */
static void test_a_cut_may_fall_apart(void **state)
{
    (void)state;
    prism p;
    prism_l(&p, true);
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_draw_outline_of_cut cut;
    assert_int_equal(ebb_draw_cut_room(arena, &p.room, 1, 0.75, &cut), EBB_OK);
    assert_int_equal(cut.n_loops, 2);
    const double(*point)[2] = (const double(*)[2])cut.point;
    for (size_t l = 0; l < 2; point += cut.loop[l++]) {
        const bool left = point[0][0] < 0.75;
        double low = 9.0, high = 0.0;
        for (size_t i = 0; i < cut.loop[l]; i++) {
            low = fmin(low, point[i][0]);
            high = fmax(high, point[i][0]);
        }
        assert_float_equal(low, left ? 0.0 : 1.0, 1e-12);
        assert_float_equal(high, left ? 0.5 : 4.0, 1e-12);
    }
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

static void test_a_roof_narrows(void **state)
{
    (void)state;
    prism p;
    size_t loops;
    prism_gable(&p);
    assert_float_equal(cut_area(&p.room, 2, 1.0, &loops), 20.0, 1e-12);
    assert_float_equal(cut_area(&p.room, 2, 2.5, &loops), 10.0, 1e-12);
    assert_float_equal(cut_area(&p.room, 1, 4.0, &loops), 10.0, 1e-12);
    /* Corners in the plane, and planes that only touch the room. */
    assert_float_equal(cut_area(&p.room, 2, 2.0, &loops), 20.0, 1e-12);
    assert_float_equal(cut_area(&p.room, 0, 2.0, &loops), 15.0, 1e-12);
    assert_float_equal(cut_area(&p.room, 2, 0.0, &loops), 20.0, 1e-12);
    assert_float_equal(cut_area(&p.room, 2, 3.0, &loops), 0.0, 1e-3);
    assert_int_equal(loops, 1);
}

/* ---- values ---------------------------------------------------------------------------------- */

enum { N = 9 };

static double parabola(double x, double y)
{
    return 1.0 + 0.5 * x - 0.25 * y + 0.125 * x * x - 0.0625 * x * y + 0.03125 * y * y;
}

/* A map of the parabola over N x N points, x and y from 0 to 8; nothing for x > known. */
static void fill(double *value, double known)
{
    for (size_t k = 0; k < N * N; k++) {
        value[k] = (double)(k % N) > known ? NAN : parabola((double)(k % N), (double)(k / N));
    }
}

static void test_parabolas_are_refined_exactly(void **state)
{
    (void)state;
    double value[N * N];
    fill(value, 9.0);
    const ebb_field_map map = {.n = {N, N}, .value = value};
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    size_t n[2];
    const double *fine = ebb_draw_field_values(arena, &map, n);
    assert_non_null(fine);
    assert_true(n[0] > N && n[0] == n[1] && (n[0] - 1) % (N - 1) == 0);
    const double step = (double)(N - 1) / (double)(n[0] - 1);
    for (size_t k = 0; k < n[0] * n[1]; k++) {
        const double x = step * (double)(k % n[0]), y = step * (double)(k / n[0]);
        assert_true(fabs(fine[k] - parabola(x, y)) < 1e-12);
    }
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

/* Two steps on, about straight, and no further. */
static void test_values_are_carried_on(void **state)
{
    (void)state;
    double value[N * N];
    for (size_t k = 0; k < N * N; k++) {
        value[k] = k % N > 4 ? NAN : 2.0 * (double)(k % N) - (double)(k / N);
    }
    const ebb_field_map map = {.n = {N, N}, .value = value};
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    size_t n[2];
    const double *fine = ebb_draw_field_values(arena, &map, n);
    assert_non_null(fine);
    const size_t part = (n[0] - 1) / (N - 1), row = 4 * part * n[0];
    assert_float_equal(fine[row + 4 * part], 4.0, 1e-12);
    assert_float_equal(fine[row + 5 * part], 6.0, 1e-12);
    assert_true(fabs(fine[row + 6 * part] - 8.0) < 1e-12);
    assert_true(isnan(fine[row + 7 * part]));
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

static void test_levels_are_of_both_parts(void **state)
{
    (void)state;
    const double re[4] = {3.0, 0.0, 0.0, 30.0}, im[4] = {4.0, 0.5, 0.0, 0.0};
    const ebb_field_map map = {.n = {2, 2}, .value = re, .imaginary = im, .loudest = 5.0};
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    size_t n[2];
    const double *fine = ebb_draw_field_values(arena, &map, n);
    assert_non_null(fine);
    assert_float_equal(fine[0], 0.0, 1e-12);
    assert_float_equal(fine[n[0] - 1], -20.0, 1e-12);
    assert_true(fine[(n[1] - 1) * n[0]] <= -200.0 && isfinite(fine[(n[1] - 1) * n[0]]));
    assert_float_equal(fine[n[0] * n[1] - 1], 0.0, 1e-12); /* louder than the loudest */
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

/* ---- contours -------------------------------------------------------------------------------- */

static const double X[3] = {0.0, 50.0, 100.0}, Y[3] = {100.0, 50.0, 0.0}; /* upwards on the page */

static void test_areas_end_at_their_level(void **state)
{
    (void)state;
    const double value[9] = {0, 1, 2, 0, 1, 2, 0, 1, 2};
    const ebb_draw_grid grid = {{3, 3}, X, Y, value};
    canvas c = canvas_open(100, 100);
    ebb_draw_above(c.cr, &grid, 0.5);
    for (int y = 5; y < 100; y += 10) {
        assert_false(cairo_in_fill(c.cr, 24.0, y));
        assert_true(cairo_in_fill(c.cr, 26.0, y));
        assert_true(cairo_in_fill(c.cr, 99.0, y));
    }
    cairo_new_path(c.cr);
    ebb_draw_contour(c.cr, &grid, 0.5);
    assert_true(cairo_in_stroke(c.cr, 25.0, 30.0) && cairo_in_stroke(c.cr, 25.0, 70.0));
    assert_false(cairo_in_stroke(c.cr, 30.0, 30.0));
    canvas_close(&c);
}

/* A corner below takes its part of the cell away, also between cells that are wholly above. */
static void test_low_corners_are_cut_off(void **state)
{
    (void)state;
    const double value[9] = {1, 1, 1, 1, 1, 1, 1, 0, 1};
    const ebb_draw_grid grid = {{3, 3}, X, Y, value};
    canvas c = canvas_open(100, 100);
    ebb_draw_above(c.cr, &grid, 0.5);
    for (int side = -1; side <= 1; side += 2) {
        assert_false(cairo_in_fill(c.cr, 50.0 + side * 10.0, 10.0));
        assert_true(cairo_in_fill(c.cr, 50.0 + side * 20.0, 20.0));
        assert_true(cairo_in_fill(c.cr, 50.0 + side * 10.0, 60.0));
    }
    canvas_close(&c);
}

static void test_cells_without_a_value_stay_blank(void **state)
{
    (void)state;
    const double value[9] = {1, 1, NAN, 1, 1, 1, 1, 1, 1};
    const ebb_draw_grid grid = {{3, 3}, X, Y, value};
    canvas c = canvas_open(100, 100);
    ebb_draw_above(c.cr, &grid, -INFINITY);
    assert_false(cairo_in_fill(c.cr, 75.0, 75.0));
    assert_true(cairo_in_fill(c.cr, 25.0, 75.0));
    assert_true(cairo_in_fill(c.cr, 75.0, 25.0));
    assert_true(cairo_in_fill(c.cr, 25.0, 25.0));
    canvas_close(&c);
}

/* Every piece of line has the area on one side and none on the other; in a saddle there are two. */
static void test_lines_are_borders_in_saddles_too(void **state)
{
    (void)state;
    const double signs[2][4] = {{1, -1, -1, 1}, {-1, 1, 1, -1}};
    for (int s = 0; s < 2; s++) {
        const ebb_draw_grid grid = {{2, 2}, X, Y, signs[s]};
        canvas c = canvas_open(60, 110);
        ebb_draw_contour(c.cr, &grid, 0.2);
        cairo_path_t *lines = cairo_copy_path(c.cr);
        cairo_new_path(c.cr);
        ebb_draw_above(c.cr, &grid, 0.2);
        int n = 0;
        for (int i = 0; i + 3 < lines->num_data; i += 4, n++) {
            const cairo_path_data_t *a = &lines->data[i + 1], *b = &lines->data[i + 3];
            const double x = (a->point.x + b->point.x) / 2.0, y = (a->point.y + b->point.y) / 2.0;
            const double dx = b->point.x - a->point.x, dy = b->point.y - a->point.y;
            const double part = 0.5 / hypot(dx, dy);
            assert_true(cairo_in_fill(c.cr, x + part * dy, y - part * dx) !=
                        cairo_in_fill(c.cr, x - part * dy, y + part * dx));
        }
        assert_int_equal(n, 2);
        cairo_path_destroy(lines);
        canvas_close(&c);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_box_is_cut_in_rectangles),
        cmocka_unit_test(test_plans_are_cut_along_their_walls),
        cmocka_unit_test(test_a_cut_may_fall_apart),
        cmocka_unit_test(test_a_roof_narrows),
        cmocka_unit_test(test_parabolas_are_refined_exactly),
        cmocka_unit_test(test_values_are_carried_on),
        cmocka_unit_test(test_levels_are_of_both_parts),
        cmocka_unit_test(test_areas_end_at_their_level),
        cmocka_unit_test(test_low_corners_are_cut_off),
        cmocka_unit_test(test_cells_without_a_value_stay_blank),
        cmocka_unit_test(test_lines_are_borders_in_saddles_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
