/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The tetrahedron and the triangle of every order, against integrals that can be done by hand.
 */
#include "../../src/field/simplex.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_simplex s;
} fixture;

static void open_order(fixture *f, size_t order)
{
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    assert_int_equal(ebb_simplex_make(f->ctx, f->arena, order, &f->s), EBB_OK);
}

static void close_order(fixture *f)
{
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

#define FOR_ORDERS(f)                                                                              \
    for (size_t order = 1; order <= EBB_ORDER_MOST && (open_order(&(f), order), true);             \
         close_order(&(f)), order++)

static double factorial(size_t n)
{
    return n < 2 ? 1 : (double)n * factorial(n - 1);
}

/* Integral of l1^a l2^b l3^c over the reference tetrahedron: a! b! c! / (a + b + c + 3)!. */
static double integral(size_t a, size_t b, size_t c)
{
    return factorial(a) * factorial(b) * factorial(c) / factorial(a + b + c + 3);
}

static double monomial(const size_t power[3], const double at[4])
{
    return pow(at[1], (double)power[0]) * pow(at[2], (double)power[1]) *
           pow(at[3], (double)power[2]);
}

static double form(const double *a, size_t n, const double *x, const double *y)
{
    double sum = 0;
    for (size_t j = 0; j < n; j++)
        for (size_t i = 0; i < n; i++)
            sum += x[i] * a[j * n + i] * y[j];
    return sum;
}

static void shape_functions_are_one_at_their_node(void **state)
{
    (void)state;
    fixture f;
    FOR_ORDERS(f)
    {
        double out[EBB_TET_MOST];
        for (size_t i = 0; i < f.s.n; i++) {
            ebb_simplex_at(&f.s, f.s.node + 4 * i, out);
            for (size_t j = 0; j < f.s.n; j++)
                assert_near(out[j], i == j, 1e-12);
        }
    }
}

static void nodes_lie_in_their_part_of_the_tetrahedron(void **state)
{
    (void)state;
    fixture f;
    FOR_ORDERS(f)
    {
        size_t n = 0;
        for (size_t p = 0; p < EBB_PARTS; p++) {
            size_t corners = 0;
            for (unsigned c = 0; c < 4; c++)
                corners += ebb_tet_part[p] >> c & 1;
            for (size_t i = 0; i < f.s.inside[corners]; i++, n++)
                for (size_t c = 0; c < 4; c++)
                    assert_true(ebb_tet_part[p] >> c & 1 ? f.s.node[4 * n + c] > 0.01
                                                         : f.s.node[4 * n + c] == 0);
        }
        assert_int_equal(n, f.s.n);
    }
}

/* Bad nodes would show in wild shape functions: their largest sum, Lebesgue's constant. */
static void shape_functions_sum_to_one_and_stay_small(void **state)
{
    (void)state;
    fixture f;
    uint64_t seed = 7;
    FOR_ORDERS(f)
    {
        for (int k = 0; k < 300; k++) {
            double at[4], out[EBB_TET_MOST], sum = 0, size = 0;
            const double a = pow(draw(&seed), 1. / 3), b = sqrt(draw(&seed)), c = draw(&seed);
            at[0] = 1 - a;
            at[1] = a * (1 - b);
            at[2] = a * b * (1 - c);
            at[3] = a * b * c;
            ebb_simplex_at(&f.s, at, out);
            for (size_t i = 0; i < f.s.n; i++) {
                sum += out[i];
                size += fabs(out[i]);
            }
            assert_near(sum, 1, 1e-12);
            assert_below(size, 20); /* equal steps reach 40 and more */
        }
    }
}

static void polynomials_up_to_the_order_are_met_exactly(void **state)
{
    (void)state;
    fixture f;
    const double at[4] = {0.15, 0.35, 0.3, 0.2};
    FOR_ORDERS(f)
    {
        double out[EBB_TET_MOST];
        ebb_simplex_at(&f.s, at, out);
        for (size_t a = 0; a <= order; a++)
            for (size_t b = 0; a + b <= order; b++) {
                const size_t power[3] = {a, b, order - a - b};
                double sum = 0;
                for (size_t i = 0; i < f.s.n; i++)
                    sum += out[i] * monomial(power, f.s.node + 4 * i);
                assert_near(sum, monomial(power, at), 1e-13);
            }
    }
}

static void mass_is_exact(void **state)
{
    (void)state;
    fixture f;
    FOR_ORDERS(f)
    {
        const double *mass = f.s.form + 6 * f.s.n * f.s.n;
        double x[EBB_TET_MOST], y[EBB_TET_MOST];
        for (size_t a = 0; a <= order; a++) {
            const size_t p[3] = {a, order - a, 0}, q[3] = {0, a, order - a};
            for (size_t i = 0; i < f.s.n; i++) {
                x[i] = monomial(p, f.s.node + 4 * i);
                y[i] = monomial(q, f.s.node + 4 * i);
            }
            const double wanted = integral(a, order, order - a);
            assert_near(form(mass, f.s.n, x, y), wanted, 1e-11 * wanted + 1e-15);
        }
    }
}

/* u = l1^p, v = l2^p and v = l1^(p-1) l2: all six products of slopes. */
static void stiffness_is_exact(void **state)
{
    (void)state;
    static const int pair[6][2] = {{0, 0}, {1, 1}, {2, 2}, {0, 1}, {0, 2}, {1, 2}};
    fixture f;
    FOR_ORDERS(f)
    {
        double x[EBB_TET_MOST], y[EBB_TET_MOST];
        for (int k = 0; k < 6; k++) {
            size_t p[3] = {0}, q[3] = {0};
            p[pair[k][0]] = order;
            q[pair[k][1]] += order;
            for (size_t i = 0; i < f.s.n; i++) {
                x[i] = monomial(p, f.s.node + 4 * i);
                y[i] = monomial(q, f.s.node + 4 * i);
            }
            p[pair[k][0]]--;
            q[pair[k][1]]--;
            const double wanted =
                (double)(order * order) * integral(p[0] + q[0], p[1] + q[1], p[2] + q[2]);
            assert_near(form(f.s.form + (size_t)k * f.s.n * f.s.n, f.s.n, x, y), wanted,
                        1e-10 * wanted);
        }
    }
}

static void slopes_agree_with_differences(void **state)
{
    (void)state;
    const double at[4] = {0.15, 0.35, 0.3, 0.2}, step = 1e-6;
    double value[EBB_TET_MOST], up[EBB_TET_MOST], down[EBB_TET_MOST], d[3][EBB_TET_MOST];
    double *const slope[3] = {d[0], d[1], d[2]};
    ebb_tet_modal(EBB_ORDER_MOST, at, value, slope);
    for (int a = 0; a < 3; a++) {
        double plus[4] = {at[0] - step, at[1], at[2], at[3]};
        double minus[4] = {at[0] + step, at[1], at[2], at[3]};
        plus[a + 1] += step;
        minus[a + 1] -= step;
        ebb_tet_modal(EBB_ORDER_MOST, plus, up, NULL);
        ebb_tet_modal(EBB_ORDER_MOST, minus, down, NULL);
        for (size_t i = 0; i < EBB_TET_MOST; i++)
            assert_near(d[a][i], (up[i] - down[i]) / (2 * step), 1e-7 * (1 + fabs(d[a][i])));
    }
}

/* Two elements that share a face must mean the same by its freedoms. */
static void faces_agree_with_the_triangle(void **state)
{
    (void)state;
    static const size_t corner[4][3] = {{0, 1, 2}, {0, 1, 3}, {0, 2, 3}, {1, 2, 3}};
    const double place[3] = {0.2, 0.5, 0.3};
    fixture f;
    FOR_ORDERS(f)
    {
        double flat[EBB_TRI_MOST], out[EBB_TET_MOST];
        ebb_simplex_face_at(&f.s, place, flat);
        for (size_t face = 0; face < 4; face++) {
            double at[4] = {0}, sum = 0;
            unsigned mask = 0;
            for (size_t c = 0; c < 3; c++) {
                at[corner[face][c]] = place[c];
                mask |= 1u << corner[face][c];
            }
            ebb_simplex_at(&f.s, at, out);
            for (size_t p = 0, i = 0, j = 0; p < EBB_PARTS; p++) {
                size_t corners = 0;
                for (unsigned c = 0; c < 4; c++)
                    corners += ebb_tet_part[p] >> c & 1;
                const bool on = (ebb_tet_part[p] & mask) == ebb_tet_part[p];
                for (size_t k = 0; k < f.s.inside[corners]; k++, i++) {
                    assert_near(out[i], on ? flat[j] : 0, 1e-12);
                    sum += out[i];
                    j += on;
                }
            }
            assert_near(sum, 1, 1e-12);
        }
    }
}

static void mass_of_the_triangle_is_exact(void **state)
{
    (void)state;
    fixture f;
    FOR_ORDERS(f)
    {
        double sum = 0;
        for (size_t i = 0; i < f.s.n_face * f.s.n_face; i++)
            sum += f.s.face_mass[i];
        assert_near(sum, 0.5, 1e-13);
        for (size_t i = 0; i < f.s.n_face; i++)
            assert_true(f.s.face_mass[i * f.s.n_face + i] > 0);
    }
}

static void gauss_rules_are_exact(void **state)
{
    (void)state;
    for (size_t n = 1; n <= EBB_GAUSS_MOST; n++) {
        double x[EBB_GAUSS_MOST], w[EBB_GAUSS_MOST];
        ebb_gauss01(n, x, w);
        for (size_t degree = 0; degree < 2 * n; degree++) {
            double sum = 0;
            for (size_t i = 0; i < n; i++)
                sum += w[i] * pow(x[i], (double)degree);
            assert_near(sum, 1 / ((double)degree + 1), 1e-14);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shape_functions_are_one_at_their_node),
        cmocka_unit_test(nodes_lie_in_their_part_of_the_tetrahedron),
        cmocka_unit_test(shape_functions_sum_to_one_and_stay_small),
        cmocka_unit_test(polynomials_up_to_the_order_are_met_exactly),
        cmocka_unit_test(mass_is_exact),
        cmocka_unit_test(stiffness_is_exact),
        cmocka_unit_test(slopes_agree_with_differences),
        cmocka_unit_test(faces_agree_with_the_triangle),
        cmocka_unit_test(mass_of_the_triangle_is_exact),
        cmocka_unit_test(gauss_rules_are_exact),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
