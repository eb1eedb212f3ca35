/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One axis of a box: the rigid-walled line has cosines with eigenvalues (i pi / L)^2.
 */
#include "../../src/field/line.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../base/failing.h"
#include "rooms.h"

#define DEGREE 36
#define N (DEGREE + 1)
#define LOW 12 /* functions that are cosines to rounding at this degree */

static const double lengths[] = {0.5, 2.7, 40};

typedef struct fixture {
    ebb_arena *arena;
    ebb_line line;
    double work[N], value[N];
} fixture;

static void open_line(fixture *f, double length)
{
    f->arena = ebb_arena_new(NULL);
    assert_int_equal(ebb_line_make(f->arena, length, DEGREE, &f->line), EBB_OK);
    assert_int_equal(f->line.n, N);
}

static void close_line(fixture *f)
{
    ebb_arena_free(f->arena);
}

/* Five-point Gauss rule on one of many equal panels: point g (0..4) of panel i of n, and its
 * weight. An independent rule, so that an error of the library's own cannot hide. */
static double panel_point(double from, double to, size_t i, size_t n, int g, double *weight)
{
    static const double node[5] = {-0.906179845938664, -0.538469310105683, 0, 0.538469310105683,
                                   0.906179845938664};
    static const double share[5] = {0.236926885056189, 0.478628670499366, 0.568888888888889,
                                    0.478628670499366, 0.236926885056189};
    double width = (to - from) / (double)n;
    *weight = share[g] * width / 2;
    return from + width * ((double)i + 0.5 + node[g] / 2);
}

/* product[i * N + j] = integral of phi_i phi_j over the line. */
static void inner_products(fixture *f, double *product)
{
    memset(product, 0, N * N * sizeof *product);
    for (size_t panel = 0; panel < 400; panel++)
        for (int g = 0; g < 5; g++) {
            double weight, x = panel_point(0, f->line.length, panel, 400, g, &weight);
            ebb_line_at(&f->line, x, f->work, f->value);
            for (size_t i = 0; i < N; i++)
                for (size_t j = 0; j < N; j++)
                    product[i * N + j] += weight * f->value[i] * f->value[j];
        }
}

static void functions_are_orthonormal(void **state)
{
    (void)state;
    static double product[N * N];
    for (size_t l = 0; l < COUNT(lengths); l++) {
        fixture f;
        open_line(&f, lengths[l]);
        inner_products(&f, product);
        for (size_t i = 0; i < N; i++)
            for (size_t j = 0; j < N; j++)
                assert_near(product[i * N + j], i == j, 1e-9);
        close_line(&f);
    }
}

static void low_eigenvalues_are_those_of_cosines(void **state)
{
    (void)state;
    for (size_t l = 0; l < COUNT(lengths); l++) {
        fixture f;
        open_line(&f, lengths[l]);
        assert_true(f.line.lambda[0] == 0);
        for (size_t i = 1; i < LOW; i++)
            assert_close(f.line.lambda[i], pow((double)i * PI / lengths[l], 2), 1e-10);
        for (size_t i = 1; i < N; i++)
            assert_true(f.line.lambda[i] > f.line.lambda[i - 1]);
        close_line(&f);
    }
}

/* The Galerkin eigenvalues lie above the true ones, whatever the degree. */
static void high_eigenvalues_lie_above(void **state)
{
    (void)state;
    fixture f;
    open_line(&f, 3);
    for (size_t i = 1; i < N; i++)
        assert_true(f.line.lambda[i] >= pow((double)i * PI / 3, 2) * (1 - 1e-10));
    assert_true(f.line.lambda[N - 1] > 1.5 * pow(DEGREE * PI / 3, 2));
    close_line(&f);
}

static void low_functions_are_cosines(void **state)
{
    (void)state;
    fixture f;
    const double length = 4.7;
    open_line(&f, length);
    for (double x = 0; x <= length; x += length / 29) {
        ebb_line_at(&f.line, x, f.work, f.value);
        assert_near(f.value[0], sqrt(1 / length), 1e-12);
        for (size_t i = 1; i < LOW; i++)
            assert_near(f.value[i], sqrt(2 / length) * cos((double)i * PI * x / length), 1e-8);
    }
    close_line(&f);
}

static void end_values(void **state)
{
    (void)state;
    for (size_t l = 0; l < COUNT(lengths); l++) {
        fixture f;
        open_line(&f, lengths[l]);
        const double length = lengths[l];
        for (int side = 0; side < 2; side++) {
            ebb_line_at(&f.line, side * length, f.work, f.value);
            for (size_t i = 0; i < N; i++)
                assert_near(f.line.end[side][i], f.value[i], 1e-12);
        }
        assert_close(f.line.end[0][0], sqrt(1 / length), 1e-10);
        for (size_t i = 1; i < LOW; i++) {
            assert_close(f.line.end[0][i], sqrt(2 / length), 1e-8);
            assert_close(f.line.end[1][i], (i % 2 ? -1 : 1) * sqrt(2 / length), 1e-8);
        }
        close_line(&f);
    }
}

/* Unit-norm Legendre polynomials of degree 0..3, written out. */
static double unit_legendre(int degree, double from, double to, double x)
{
    const double t = 2 * (x - from) / (to - from) - 1;
    const double p[4] = {1, t, (3 * t * t - 1) / 2, (5 * t * t * t - 3 * t) / 2};
    return p[degree] * sqrt((2 * degree + 1) / (to - from));
}

static void ports_agree_with_quadrature(void **state)
{
    (void)state;
    static const double span[][2] = {{0, 0.6}, {1.25, 1.85}, {3.1, 4.3}, {0, 4.3}, {2, 2.02}};
    fixture f;
    open_line(&f, 4.3);
    for (size_t s = 0; s < COUNT(span); s++) {
        double port[4 * N], brute[4 * N] = {0};
        const double from = span[s][0], to = span[s][1];
        assert_int_equal(ebb_line_ports(f.arena, &f.line, from, to, 4, port), EBB_OK);
        for (size_t panel = 0; panel < 400; panel++)
            for (int g = 0; g < 5; g++) {
                double weight, x = panel_point(from, to, panel, 400, g, &weight);
                ebb_line_at(&f.line, x, f.work, f.value);
                for (int q = 0; q < 4; q++)
                    for (size_t i = 0; i < N; i++)
                        brute[(size_t)q * N + i] +=
                            weight * unit_legendre(q, from, to, x) * f.value[i];
            }
        for (size_t i = 0; i < 4 * N; i++)
            assert_near(port[i], brute[i], 1e-11);
    }
    close_line(&f);
}

/* The first port of the whole line is its first function, and of two halves their parts. */
static void ports_add_up(void **state)
{
    (void)state;
    fixture f;
    open_line(&f, 4);
    double whole[N], left[N], right[N];
    assert_int_equal(ebb_line_ports(f.arena, &f.line, 0, 4, 1, whole), EBB_OK);
    assert_int_equal(ebb_line_ports(f.arena, &f.line, 0, 1, 1, left), EBB_OK);
    assert_int_equal(ebb_line_ports(f.arena, &f.line, 1, 4, 1, right), EBB_OK);
    for (size_t i = 0; i < N; i++) {
        assert_near(whole[i], i == 0, 1e-12);
        assert_near(whole[i] * 2, left[i] * 1 + right[i] * sqrt(3), 1e-12);
    }
    close_line(&f);
}

static void smallest_and_largest_degree(void **state)
{
    (void)state;
    ebb_arena *arena = ebb_arena_new(NULL);
    ebb_line line;
    assert_int_equal(ebb_line_make(arena, 1, 2, &line), EBB_OK);
    assert_close(line.lambda[1], 12, 1e-12); /* one parabola and one slope: 12 and 60 / L^2 */
    assert_close(line.lambda[2], 60, 1e-12);
    assert_int_equal(ebb_line_make(arena, 1, 200, &line), EBB_OK);
    for (size_t i = 1; i < 100; i++)
        assert_close(line.lambda[i], pow((double)i * PI, 2), 1e-10);
    ebb_arena_free(arena);
}

static void failing_memory_is_reported(void **state)
{
    (void)state;
    ebb_status status = EBB_E_NOMEM;
    for (long n = 1; status != EBB_OK; n++) {
        failing f = {.left = n};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_line line;
        double port[3 * 61];
        status = ebb_line_make(arena, 3, 60, &line);
        if (status == EBB_OK)
            status = ebb_line_ports(arena, &line, 1, 2, 3, port);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM);
        assert_true(status == EBB_E_NOMEM || n > 3);
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
        assert_true(n < 50);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(functions_are_orthonormal),
        cmocka_unit_test(low_eigenvalues_are_those_of_cosines),
        cmocka_unit_test(high_eigenvalues_lie_above),
        cmocka_unit_test(low_functions_are_cosines),
        cmocka_unit_test(end_values),
        cmocka_unit_test(ports_agree_with_quadrature),
        cmocka_unit_test(ports_add_up),
        cmocka_unit_test(smallest_and_largest_degree),
        cmocka_unit_test(failing_memory_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
