/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Products, values at points, rectangles and cuts, with polynomials whose integrals are known.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "spaces.h"

static const size_t bricks[3] = {2, 1, 2};

static double one(ebb_vec3 at)
{
    (void)at;
    return 1;
}

static double slope(ebb_vec3 at)
{
    return 2 * at.x - 3 * at.y + 0.5 * at.z + 1;
}

/* x^a y^b z^c of degree p in one function: (x + y + z)^p would do, but hides mistakes of axis. */
static double bent(ebb_vec3 at)
{
    return at.x * at.x * at.y + 0.7 * at.z * at.z - at.x * at.y * at.z;
}

/* x^T A y with A a product. */
static double energy(space_fixture *f, int axis, const double *x, const double *y)
{
    double *out = EBB_NEW(f->arena, double, f->space->size);
    if (axis < 0)
        ebb_space_mass(f->space, 1, y, out);
    else
        ebb_space_stiffness(f->space, axis, 1, y, out);
    return inner(f->space, x, out);
}

#define FOR_ORDERS(f, from)                                                                        \
    for (size_t order = from;                                                                      \
         order <= EBB_ORDER_MOST && (open_bare(&(f), small_size, bricks, order), true);            \
         close_space(&(f)), order++)

static void energies_of_linear_functions_are_exact(void **state)
{
    (void)state;
    const double volume = 1.3 * 1.1 * 0.8;
    space_fixture f;
    FOR_ORDERS(f, 1)
    {
        const double *u = interpolate(&f, one), *v = interpolate(&f, slope);
        assert_near(energy(&f, -1, u, u), volume, 1e-11);
        assert_near(energy(&f, -1, u, v), volume * slope((ebb_vec3){0.65, 0.55, 0.4}), 1e-11);
        const double square[3] = {4, 9, 0.25};
        for (int axis = 0; axis < 3; axis++) {
            assert_near(energy(&f, axis, v, v), volume * square[axis], 1e-10);
            assert_near(energy(&f, axis, u, u), 0, 1e-10);
        }
    }
}

/* int (2xy - yz)^2, int (x^2 - xz)^2, int (1.4 z - xy)^2 over the box, done by hand. */
static void energies_of_bent_functions_are_exact(void **state)
{
    (void)state;
    const double a = 1.3, b = 1.1, c = 0.8;
    const double want[3] = {4 * a * a * a / 3 * b * b * b / 3 * c -
                                4 * a * a / 2 * b * b * b / 3 * c * c / 2 +
                                a * b * b * b / 3 * c * c * c / 3,
                            a * a * a * a * a / 5 * b * c - 2 * a * a * a * a / 4 * b * c * c / 2 +
                                a * a * a / 3 * b * c * c * c / 3,
                            1.96 * a * b * c * c * c / 3 - 2.8 * a * a / 2 * b * b / 2 * c * c / 2 +
                                a * a * a / 3 * b * b * b / 3 * c};
    space_fixture f;
    FOR_ORDERS(f, 3)
    {
        const double *u = interpolate(&f, bent);
        for (int axis = 0; axis < 3; axis++)
            assert_near(energy(&f, axis, u, u), want[axis], 1e-10);
    }
}

/* Patch test: for a linear u, K u is the flux through the walls alone, sum_t g.n_t B_t 1. */
static void linear_functions_are_carried_by_the_walls(void **state)
{
    (void)state;
    const double gradient[3] = {2, -3, 0.5};
    space_fixture f;
    FOR_ORDERS(f, 1)
    {
        const size_t size = f.space->size;
        const double *u = interpolate(&f, slope), *v = interpolate(&f, one);
        double *left = EBB_NEW(f.arena, double, size), *here = EBB_NEW(f.arena, double, size);
        for (int axis = 0; axis < 3; axis++) {
            ebb_space_stiffness(f.space, axis, 1, u, here);
            for (size_t i = 0; i < size; i++)
                left[i] += here[i];
        }
        for (size_t s = 0; s < 6; s++) {
            ebb_space_boundary(f.space, s, 1, v, here);
            for (size_t i = 0; i < size; i++)
                left[i] -= (s % 2 ? 1 : -1) * gradient[s / 2] * here[i];
        }
        assert_below(sqrt(inner(f.space, left, left)), 1e-10);
    }
}

static void boundary_mass_is_that_of_its_surface(void **state)
{
    (void)state;
    space_fixture f;
    FOR_ORDERS(f, 1)
    {
        const double *u = interpolate(&f, one), *v = interpolate(&f, slope);
        double *out = EBB_NEW(f.arena, double, f.space->size);
        for (size_t s = 0; s < 6; s++) {
            ebb_vec3 middle = {0.65, 0.55, 0.4};
            *(s / 2 == 0   ? &middle.x
              : s / 2 == 1 ? &middle.y
                           : &middle.z) = s % 2 ? small_size[s / 2] : 0;
            ebb_space_boundary(f.space, s, 1, u, out);
            const double area = ebb_space_area(f.space, s);
            assert_near(inner(f.space, u, out), area, 1e-11);
            assert_near(inner(f.space, v, out), area * slope(middle), 1e-10);
        }
    }
}

static void many_vectors_are_like_one(void **state)
{
    (void)state;
    enum { N = 67 };
    space_fixture f;
    uint64_t seed = 2;
    open_bare(&f, small_size, bricks, 4);
    const size_t size = f.space->size;
    double *x = EBB_NEW(f.arena, double, N *size), *y = EBB_NEW(f.arena, double, N *size);
    double *single = EBB_NEW(f.arena, double, size);
    for (size_t i = 0; i < N * size; i++)
        x[i] = draw(&seed) - 0.5;
    ebb_space_stiffness(f.space, 1, N, x, y);
    for (size_t v = 0; v < N; v++) {
        ebb_space_stiffness(f.space, 1, 1, x + v * size, single);
        for (size_t i = 0; i < size; i++)
            assert_near(y[v * size + i], single[i], 1e-11);
    }
    close_space(&f);
}

/* ---- points ---------------------------------------------------------------------------------- */

/* Inside, on a face, an edge and a corner of elements, and a hair outside. */
static const ebb_vec3 places[] = {{0.31, 0.42, 0.53}, {0.65, 0.3, 0.2},  {0.65, 0.55, 0.4},
                                  {0, 0, 0},          {1.3, 1.1, 0.8},   {0.65, 1.1, 0.4},
                                  {1.3, 0.2, 0.1},    {-5e-7, 0.1, 0.1}, {0.2, 1.1 + 5e-7, 0.3},
                                  {1.1, 0.9, -5e-7}};

static void values_at_points_are_those_of_the_function(void **state)
{
    (void)state;
    space_fixture f;
    FOR_ORDERS(f, 3)
    {
        const size_t size = f.space->size;
        double *x = EBB_NEW(f.arena, double, 2 * size), value[2 * COUNT(places)];
        double *all = EBB_NEW(f.arena, double, COUNT(places) * size);
        memcpy(x, interpolate(&f, bent), size * sizeof *x);
        memcpy(x + size, interpolate(&f, slope), size * sizeof *x);
        assert_ok(f.ctx, ebb_space_values(f.ctx, f.space, 2, x, COUNT(places), places, value));
        assert_ok(f.ctx, ebb_space_points(f.ctx, f.space, COUNT(places), places, all));
        for (size_t p = 0; p < COUNT(places); p++) {
            double sum = 0;
            assert_near(value[2 * p], bent(places[p]), 1e-12);
            assert_near(value[2 * p + 1], slope(places[p]), 1e-12);
            assert_near(inner(f.space, all + p * size, x), bent(places[p]), 1e-12);
            for (size_t i = 0; i < size; i++)
                sum += all[p * size + i];
            assert_near(sum, 1, 1e-12);
        }
    }
}

static void points_outside_are_refused(void **state)
{
    (void)state;
    static const ebb_vec3 bad[] = {{-2e-6, 0.1, 0.1},
                                   {0.2, 1.1 + 2e-6, 0.3},
                                   {0.2, 0.2, 5},
                                   {NAN, 0.1, 0.1},
                                   {0.1, INFINITY, 0.1}};
    space_fixture f;
    open_bare(&f, small_size, bricks, 2);
    const size_t size = f.space->size;
    const double *x = interpolate(&f, slope);
    double *out = EBB_NEW(f.arena, double, 2 * size), value[2] = {1, 1};
    for (size_t i = 0; i < COUNT(bad); i++) {
        const ebb_vec3 at[2] = {places[0], bad[i]};
        ebb_ctx_clear(f.ctx);
        assert_int_equal(ebb_space_points(f.ctx, f.space, 2, at, out), EBB_E_RANGE);
        assert_true(inner(f.space, out, out) == 0);
        assert_non_null(strstr(ebb_ctx_message(f.ctx, 0)->text, "point 1"));
        assert_int_equal(ebb_space_values(f.ctx, f.space, 1, x, 2, at, value), EBB_E_RANGE);
        assert_true(value[0] == 0 && value[1] == 0);
    }
    close_space(&f);
}

static void every_point_of_a_graded_room_is_found(void **state)
{
    (void)state;
    static mesh_plan plan;
    double line[8];
    ebb_ctx *ctx = ebb_ctx_new();
    mesh_lines(5, 4, line);
    mesh_l_plan(&plan, 5, line);
    ebb_mesh *mesh = mesh_pull_up(ctx, &plan, 0.3, 2);
    const ebb_space_wish wish = {.highest = 3, .order = 1};
    ebb_space *space;
    assert_ok(ctx, ebb_space_open(ctx, mesh, &wish, &space));
    uint64_t seed = 9;
    for (int i = 0; i < 3000; i++) {
        const ebb_vec3 at = {2 * draw(&seed) - 1, 2 * draw(&seed) - 1, 0.3 * draw(&seed)};
        double place[4];
        size_t element;
        const bool in = ebb_space_find(space, at, &element, place) == EBB_OK;
        assert_int_equal(in, at.x < 0 || at.y > 0);
    }
    ebb_space_free(space);
    ebb_mesh_free(mesh);
    ebb_ctx_free(ctx);
}

/* ---- cuts ------------------------------------------------------------------------------------ */

static void a_cut_has_values_inside_and_none_outside(void **state)
{
    (void)state;
    static const size_t n[2] = {7, 5};
    const ebb_rect plane = {.at = {-0.2, 0.1, 0.3}, .along = {1.8, 0, 0}, .up = {0, 0.9, 0.4}};
    space_fixture f;
    double out[35];
    open_bare(&f, small_size, bricks, 3);
    assert_ok(f.ctx, ebb_space_cut(f.ctx, f.space, interpolate(&f, bent), &plane, n, out));
    for (size_t j = 0; j < n[1]; j++)
        for (size_t i = 0; i < n[0]; i++) {
            const double a = (double)i / 6, b = (double)j / 4;
            const ebb_vec3 at = {-0.2 + 1.8 * a, 0.1 + 0.9 * b, 0.3 + 0.4 * b};
            if (at.x < 0 || at.x > 1.3)
                assert_true(isnan(out[j * n[0] + i]));
            else
                assert_near(out[j * n[0] + i], bent(at), 1e-12);
        }
    const size_t none[2] = {0, 5};
    assert_int_equal(ebb_space_cut(f.ctx, f.space, out, &plane, none, out), EBB_E_RANGE);
    close_space(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(energies_of_linear_functions_are_exact),
        cmocka_unit_test(energies_of_bent_functions_are_exact),
        cmocka_unit_test(linear_functions_are_carried_by_the_walls),
        cmocka_unit_test(boundary_mass_is_that_of_its_surface),
        cmocka_unit_test(many_vectors_are_like_one),
        cmocka_unit_test(values_at_points_are_those_of_the_function),
        cmocka_unit_test(points_outside_are_refused),
        cmocka_unit_test(every_point_of_a_graded_room_is_found),
        cmocka_unit_test(a_cut_has_values_inside_and_none_outside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
