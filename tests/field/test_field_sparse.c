/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Factors and modes against dense linear algebra on matrices put together in the plainest way.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <lapacke.h>

#include "spaces.h"

#include "../../src/field/lanczos.h"

typedef struct dense {
    space_fixture f;
    size_t n;
    double *k, *m, *lambda; /* stiffness, mass, all eigenvalues */
} dense;

/* Element by element, entry by entry. */
static double *assemble(const dense *d, const ebb_mix *mix)
{
    const ebb_space *s = d->f.space;
    double *a = EBB_NEW(d->f.arena, double, d->n * d->n), here[EBB_TET_MOST * EBB_TET_MOST];
    for (size_t t = 0; t < s->mesh.n_tets; t++) {
        const int *freedom = s->element[t].freedom;
        ebb_space_element(s, &s->element[t], mix, here);
        for (size_t j = 0; j < s->simplex.n; j++)
            for (size_t i = 0; i < s->simplex.n; i++)
                a[(size_t)freedom[j] * d->n + (size_t)freedom[i]] += here[j * s->simplex.n + i];
    }
    return a;
}

static void open_dense(dense *d, const double size[3], const size_t bricks[3], size_t order)
{
    const ebb_mix stiffness = {{1, 1, 1}, 0}, mass = {{0}, 1};
    open_bare(&d->f, size, bricks, order);
    d->n = d->f.space->size;
    d->k = assemble(d, &stiffness);
    d->m = assemble(d, &mass);
    d->lambda = EBB_NEW(d->f.arena, double, d->n);
    double *a = EBB_NEW(d->f.arena, double, d->n * d->n),
           *b = EBB_NEW(d->f.arena, double, d->n * d->n);
    memcpy(a, d->k, d->n * d->n * sizeof *a);
    memcpy(b, d->m, d->n * d->n * sizeof *b);
    assert_int_equal(LAPACKE_dsygv(LAPACK_COL_MAJOR, 1, 'N', 'L', (int)d->n, a, (int)d->n, b,
                                   (int)d->n, d->lambda),
                     0);
}

static const size_t bricks[3] = {2, 1, 2};

static void every_order_of_elements_has_a_number_for_every_node(void **state)
{
    (void)state;
    for (size_t order = 1; order <= EBB_ORDER_MOST; order++) {
        space_fixture f;
        open_bare(&f, small_size, bricks, order);
        const ebb_space *s = f.space;
        assert_int_equal(s->size, (2 * order + 1) * (order + 1) * (2 * order + 1));
        bool *seen = EBB_NEW(f.arena, bool, s->size);
        size_t count = 0;
        for (size_t t = 0; t < s->mesh.n_tets; t++)
            for (size_t i = 0; i < s->simplex.n; i++) {
                bool *here = &seen[s->element[t].freedom[i]];
                count += !*here;
                *here = true;
            }
        assert_int_equal(count, s->size);
        close_space(&f);
    }
}

/* What is on the rim is shared with outside, what is owned is not. */
static void halves_own_what_nobody_else_shares(void **state)
{
    (void)state;
    static const size_t more[3] = {3, 2, 2};
    space_fixture f;
    open_bare(&f, small_size, more, 3);
    const ebb_space *s = f.space;
    for (size_t h = 0; h < s->n_halves; h++) {
        const ebb_half *half = &s->half[h];
        char *in = EBB_NEW(f.arena, char, s->size), *out = EBB_NEW(f.arena, char, s->size);
        for (size_t e = 0; e < s->mesh.n_tets; e++)
            for (size_t i = 0; i < s->simplex.n; i++)
                (e >= half->from && e < half->to ? in : out)[s->element[s->order[e]].freedom[i]] =
                    1;
        int rim = 0;
        for (int i = 0; i < (int)s->size; i++)
            if (in[i] && out[i])
                assert_int_equal(half->rim[rim++], i);
        assert_int_equal(rim, half->n_rim);
        for (int i = 0; i < half->own; i++)
            assert_true(in[half->first + i] && !out[half->first + i]);
    }
    close_space(&f);
}

static void factors_count_the_modes_below_any_shift(void **state)
{
    (void)state;
    dense d;
    open_dense(&d, small_size, bricks, 4);
    for (size_t m = 0; m + 1 < 60; m++) {
        const double shift = (d.lambda[m] + d.lambda[m + 1]) / 2;
        size_t below;
        if (d.lambda[m + 1] - d.lambda[m] < 1e-3)
            continue; /* nothing lies between equal modes */
        assert_int_equal(ebb_fronts_count(d.f.ctx, d.f.space, shift, &below), EBB_OK);
        assert_int_equal(below, m + 1);
    }
    close_space(&d.f);
}

static void solutions_agree_with_dense_ones(void **state)
{
    (void)state;
    dense d;
    uint64_t seed = 11;
    open_dense(&d, small_size, bricks, 3);
    ebb_fronts *fronts;
    assert_int_equal(ebb_fronts_new(d.f.ctx, d.f.space, &fronts), EBB_OK);
    for (double shift = -30; shift < 300; shift += 33) {
        double *a = EBB_NEW(d.f.arena, double, d.n *d.n), *x = EBB_NEW(d.f.arena, double, d.n);
        double *y = EBB_NEW(d.f.arena, double, d.n);
        int *pivot = EBB_NEW(d.f.arena, int, d.n);
        for (size_t i = 0; i < d.n * d.n; i++)
            a[i] = d.k[i] - shift * d.m[i];
        for (size_t i = 0; i < d.n; i++)
            x[i] = y[i] = draw(&seed) - 0.5;
        assert_int_equal(
            LAPACKE_dgesv(LAPACK_COL_MAJOR, (int)d.n, 1, a, (int)d.n, pivot, y, (int)d.n), 0);
        assert_int_equal(ebb_fronts_set(d.f.ctx, d.f.space, shift, fronts), EBB_OK);
        assert_int_equal(ebb_fronts_solve(d.f.ctx, d.f.space, fronts, 1, x), EBB_OK);
        for (size_t i = 0; i < d.n; i++)
            assert_near(x[i], y[i], 1e-9 * (1 + fabs(y[i])));
    }
    ebb_fronts_free(fronts);
    close_space(&d.f);
}

/* At 0 the constant is a mode. */
static void a_shift_on_a_mode_is_no_good(void **state)
{
    (void)state;
    space_fixture f;
    ebb_fronts *fronts;
    open_bare(&f, small_size, bricks, 3);
    assert_int_equal(ebb_fronts_new(f.ctx, f.space, &fronts), EBB_OK);
    assert_int_equal(ebb_fronts_set(f.ctx, f.space, 0, fronts), EBB_E_NUMERIC);
    assert_int_equal(ebb_ctx_messages(f.ctx), 0);
    ebb_fronts_free(fronts);
    close_space(&f);
}

/* ---- modes ----------------------------------------------------------------------------------- */

typedef struct found {
    ebb_hunt hunt;
    ebb_fronts *fronts;
    double *lambda, *shape;
} found;

/* Hunts below a border, which lies between modes, from a shift a little above half of it. */
static ebb_status hunt(space_fixture *f, double below, size_t wanted, found *out)
{
    const double shift = 0.55 * below;
    assert_int_equal(ebb_fronts_new(f->ctx, f->space, &out->fronts), EBB_OK);
    assert_int_equal(ebb_fronts_set(f->ctx, f->space, shift, out->fronts), EBB_OK);
    out->hunt = (ebb_hunt){f->space, out->fronts, shift, below, wanted};
    out->lambda = EBB_NEW(f->arena, double, wanted);
    out->shape = EBB_NEW(f->arena, double, wanted * f->space->size);
    return ebb_lanczos(f->ctx, &out->hunt, out->lambda, out->shape);
}

static void modes_agree_with_dense_ones(void **state)
{
    (void)state;
    dense d;
    open_dense(&d, small_size, bricks, 4);
    found out;
    assert_ok(d.f.ctx, hunt(&d.f, (d.lambda[49] + d.lambda[50]) / 2, 50, &out));
    for (size_t m = 0; m < 50; m++)
        assert_near(out.lambda[m], d.lambda[m], 1e-9 * d.lambda[49]);
    ebb_fronts_free(out.fronts);
    close_space(&d.f);
}

static void modes_are_orthonormal_and_leave_no_residual(void **state)
{
    (void)state;
    const ebb_mix stiffness = {{1, 1, 1}, 0};
    dense d;
    open_dense(&d, small_size, bricks, 4);
    found out;
    const size_t n = 30;
    assert_ok(d.f.ctx, hunt(&d.f, (d.lambda[29] + d.lambda[30]) / 2, n, &out));
    double *k = EBB_NEW(d.f.arena, double, n *d.n), *m = EBB_NEW(d.f.arena, double, n *d.n);
    ebb_space_apply(d.f.space, &stiffness, n, out.shape, k);
    ebb_space_mass(d.f.space, n, out.shape, m);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            assert_near(inner(d.f.space, out.shape + i * d.n, m + j * d.n), i == j, 1e-9);
            assert_near(inner(d.f.space, out.shape + i * d.n, k + j * d.n),
                        i == j ? out.lambda[i] : 0, 1e-7 * d.lambda[n]);
        }
    ebb_fronts_free(out.fronts);
    close_space(&d.f);
}

/* All of them: the basis grows until it is everything. */
static void a_coarse_mesh_gives_all_its_modes(void **state)
{
    (void)state;
    static const size_t one[3] = {1, 1, 1};
    dense d;
    open_dense(&d, small_size, one, 2);
    found out;
    assert_ok(d.f.ctx, hunt(&d.f, 2 * d.lambda[d.n - 1], d.n, &out));
    for (size_t m = 0; m < d.n; m++)
        assert_near(out.lambda[m], d.lambda[m], 1e-8 * d.lambda[d.n - 1]);
    ebb_fronts_free(out.fronts);
    close_space(&d.f);
}

/* A cube has modes that are threefold and sixfold: 1 + 3 + 3 + 1 + 3 + 6 + 3 + 3 + 6 + ... */
static void no_mode_of_a_cube_is_missed(void **state)
{
    (void)state;
    static const double cube[3] = {1, 1, 1};
    static const size_t two[3] = {2, 2, 2};
    space_fixture f;
    size_t wanted = 0, below;
    const double border = 10.5 * PI * PI;
    for (int i = 0; i < 4; i++)
        for (int j = 0; j < 4; j++)
            for (int k = 0; k < 4; k++)
                wanted += i * i + j * j + k * k <= 10;
    open_bare(&f, cube, two, 6);
    assert_int_equal(ebb_fronts_count(f.ctx, f.space, border, &below), EBB_OK);
    assert_int_equal(below, wanted);
    found out;
    assert_ok(f.ctx, hunt(&f, border, wanted, &out));
    size_t m = 0;
    for (int square = 0; square <= 10; square++)
        for (int i = 0; i < 4; i++)
            for (int j = 0; j < 4; j++)
                for (int k = 0; k < 4; k++)
                    if (i * i + j * j + k * k == square) {
                        assert_near(out.lambda[m], square * PI * PI, 1e-3 * square * PI * PI);
                        m++;
                    }
    assert_int_equal(m, wanted);
    ebb_fronts_free(out.fronts);
    close_space(&f);
}

/* One more is wanted than there are: it is said, not made up. */
static void a_mode_that_is_not_there_is_not_found(void **state)
{
    (void)state;
    dense d;
    open_dense(&d, small_size, bricks, 2);
    found out;
    assert_int_equal(hunt(&d.f, (d.lambda[9] + d.lambda[10]) / 2, 11, &out), EBB_E_NUMERIC);
    assert_non_null(strstr(ebb_ctx_message(d.f.ctx, 0)->text, "10 of the room's 11 modes"));
    ebb_fronts_free(out.fronts);
    close_space(&d.f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_order_of_elements_has_a_number_for_every_node),
        cmocka_unit_test(halves_own_what_nobody_else_shares),
        cmocka_unit_test(factors_count_the_modes_below_any_shift),
        cmocka_unit_test(solutions_agree_with_dense_ones),
        cmocka_unit_test(a_shift_on_a_mode_is_no_good),
        cmocka_unit_test(modes_agree_with_dense_ones),
        cmocka_unit_test(modes_are_orthonormal_and_leave_no_residual),
        cmocka_unit_test(a_coarse_mesh_gives_all_its_modes),
        cmocka_unit_test(no_mode_of_a_cube_is_missed),
        cmocka_unit_test(a_mode_that_is_not_there_is_not_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
