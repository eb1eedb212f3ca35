/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Integrals over rectangles that cut through the triangles of the mesh.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "spaces.h"

static const size_t bricks[3] = {3, 2, 2};

static double field(ebb_vec3 at)
{
    return at.x * at.x * at.y + 0.7 * at.z * at.z - at.x * at.y * at.z + 0.3;
}

/* Legendre polynomials of unit norm of degrees 0..2 on a length, written out. */
static double pattern(int degree, double length, double share)
{
    const double t = 2 * share - 1;
    const double p = degree == 0 ? 1 : degree == 1 ? t : (3 * t * t - 1) / 2;
    return p * sqrt((2 * degree + 1) / length);
}

static double length_of(ebb_vec3 v)
{
    return sqrt(v.x * v.x + v.y * v.y + v.z * v.z);
}

/* The same integral by a fine midpoint rule in one piece, Richardson's step taken once. */
static double by_midpoints(const ebb_rect *r, const int degree[2], int n)
{
    const double a = length_of(r->along), b = length_of(r->up);
    double sum = 0;
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) {
            const double u = (i + 0.5) / n, v = (j + 0.5) / n;
            const ebb_vec3 at = {r->at.x + u * r->along.x + v * r->up.x,
                                 r->at.y + u * r->along.y + v * r->up.y,
                                 r->at.z + u * r->along.z + v * r->up.z};
            sum += field(at) * pattern(degree[0], a, u) * pattern(degree[1], b, v);
        }
    return sum * a * b / n / n;
}

static double by_hand(const ebb_rect *r, const int degree[2])
{
    const double coarse = by_midpoints(r, degree, 100), fine = by_midpoints(r, degree, 200);
    return fine + (fine - coarse) / 3;
}

static const int degrees[6][2] = {{0, 0}, {1, 0}, {0, 1}, {2, 0}, {1, 1}, {0, 2}};

static void compare(const ebb_rect *rect)
{
    for (size_t order = 3; order <= EBB_ORDER_MOST; order++) {
        space_fixture f;
        open_bare(&f, small_size, bricks, order);
        const double *x = interpolate(&f, field);
        double *out = EBB_NEW(f.arena, double, 6 * f.space->size);
        assert_ok(f.ctx, ebb_space_rect(f.ctx, f.space, rect, 6, degrees, out));
        for (size_t q = 0; q < 6; q++)
            assert_near(inner(f.space, x, out + q * f.space->size), by_hand(rect, degrees[q]),
                        2e-9);
        close_space(&f);
    }
}

static void integrals_over_part_of_a_wall_are_exact(void **state)
{
    (void)state;
    const ebb_rect wall = {
        .surface = 1, .at = {1.3, 0.17, 0.11}, .along = {0, 0.71, 0}, .up = {0, 0, 0.52}};
    const ebb_rect floor = {
        .surface = 4, .at = {1.2, 0.1, 0}, .along = {0, 0.9, 0}, .up = {-1.03, 0, 0}};
    compare(&wall);
    compare(&floor);
}

static void a_rectangle_may_lie_askew(void **state)
{
    (void)state;
    const ebb_rect rect = {
        .surface = 5, .at = {0.5, 0.2, 0.8}, .along = {0.4, 0.3, 0}, .up = {-0.3, 0.4, 0}};
    compare(&rect);
}

static void a_whole_wall_is_its_boundary_mass(void **state)
{
    (void)state;
    const ebb_rect rect = {.surface = 0, .along = {0, 1.1, 0}, .up = {0, 0, 0.8}};
    space_fixture f;
    open_bare(&f, small_size, bricks, 5);
    const size_t size = f.space->size;
    double *one = EBB_NEW(f.arena, double, size), *want = EBB_NEW(f.arena, double, size);
    double *out = EBB_NEW(f.arena, double, size);
    for (size_t i = 0; i < size; i++)
        one[i] = 1;
    ebb_space_boundary(f.space, 0, 1, one, want);
    assert_ok(f.ctx, ebb_space_rect(f.ctx, f.space, &rect, 1, degrees, out));
    for (size_t i = 0; i < size; i++)
        assert_near(out[i], want[i] / sqrt(1.1 * 0.8), 1e-13);
    close_space(&f);
}

/* Two halves make the whole, wherever they meet. */
static void halves_make_a_whole(void **state)
{
    (void)state;
    space_fixture f;
    open_bare(&f, small_size, bricks, 4);
    const size_t size = f.space->size;
    double *out[3];
    const double from[3] = {0.1, 0.1, 0.437}, length[3] = {0.9, 0.337, 0.563};
    for (int i = 0; i < 3; i++) {
        const ebb_rect rect = {
            .surface = 2, .at = {from[i], 0, 0.2}, .along = {length[i], 0, 0}, .up = {0, 0, 0.5}};
        out[i] = EBB_NEW(f.arena, double, size);
        assert_ok(f.ctx, ebb_space_rect(f.ctx, f.space, &rect, 1, degrees, out[i]));
    }
    for (size_t i = 0; i < size; i++)
        assert_near(sqrt(0.9) * out[0][i], sqrt(0.337) * out[1][i] + sqrt(0.563) * out[2][i],
                    1e-13);
    close_space(&f);
}

static void refuse(space_fixture *f, const ebb_rect *rect, const int (*degree)[2], const char *word)
{
    double *out = EBB_NEW(f->arena, double, f->space->size);
    out[0] = 1;
    ebb_ctx_clear(f->ctx);
    assert_int_equal(ebb_space_rect(f->ctx, f->space, rect, 1, degree, out), EBB_E_RANGE);
    assert_true(inner(f->space, out, out) == 0);
    if (!strstr(ebb_ctx_message(f->ctx, 0)->text, word))
        fail_msg("\"%s\" does not say %s", ebb_ctx_message(f->ctx, 0)->text, word);
}

static void rectangles_off_their_surface_are_refused(void **state)
{
    (void)state;
    static const ebb_rect bad[] = {
        {.surface = 6, .along = {0, 1, 0}, .up = {0, 0, 0.5}},
        {.surface = 0, .along = {0, 0, 0}, .up = {0, 0, 0.5}},
        {.surface = 0, .along = {0, NAN, 0}, .up = {0, 0, 0.5}},
        {.surface = 0, .along = {0, 1, 0}, .up = {0, 0.1, 0.5}},
        {.surface = 1, .along = {0, 1, 0}, .up = {0, 0, 0.5}},
        {.surface = 0, .along = {0, 1, 0}, .up = {0, 0, 0.81}},
        {.surface = 0, .at = {0.001, 0, 0}, .along = {0, 1, 0}, .up = {0, 0, 0.5}}};
    static const char *const word[] = {"not there", "extent", "extent", "square",
                                       "only",      "only",   "only"};
    static const int steep[1][2] = {{21, 0}}, negative[1][2] = {{0, -1}};
    space_fixture f;
    open_bare(&f, small_size, bricks, 2);
    for (size_t i = 0; i < COUNT(bad); i++)
        refuse(&f, &bad[i], degrees, word[i]);
    const ebb_rect good = {.surface = 0, .along = {0, 1, 0}, .up = {0, 0, 0.5}};
    refuse(&f, &good, steep, "degree 21");
    refuse(&f, &good, negative, "degree -1");
    close_space(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(integrals_over_part_of_a_wall_are_exact),
        cmocka_unit_test(a_rectangle_may_lie_askew),
        cmocka_unit_test(a_whole_wall_is_its_boundary_mass),
        cmocka_unit_test(halves_make_a_whole),
        cmocka_unit_test(rectangles_off_their_surface_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
