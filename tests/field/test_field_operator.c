/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The operator of a state, and its factorisation.
 */
#include "../../src/field/reduced.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

static const double _Complex omegas[] = {2 * PI * 31, 2 * PI * 63 + 7 * I, 2 * PI * 140 + 20 * I};

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    treated room;
    ebb_reduced *reduced;
    ebb_operator op;
} fixture;

static void open_room(fixture *f)
{
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    treated_make_tiny(&f->room);
    f->reduced = project(f->ctx, &f->room.geometry);
}

static void close_room(fixture *f)
{
    ebb_reduced_free(f->reduced);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

/* A(w) of the current state, lower part; borrowed. */
static double _Complex *operator_at(fixture *f, double _Complex omega)
{
    size_t size = f->reduced->size;
    double _Complex *a = EBB_NEW(f->arena, double _Complex, size *size);
    assert_ok(f->ctx, ebb_operator_make(f->ctx, f->arena, f->reduced, &f->room.state, &f->op));
    ebb_operator_at(&f->op, &f->room.state.air, omega, a);
    return a;
}

/* ---- what a state means ---------------------------------------------------------------------- */

static const ebb_variation *variation(const ebb_state *state, size_t index)
{
    return state->vary && index < state->n_vary ? &state->vary[index] : NULL;
}

/* beta of port q of what hangs at used patch u, with the near field that the basis lacks in series:
 * beta / (1 + jk beta lack / scale). */
static double _Complex port_beta(const fixture *f, size_t u, size_t q, double _Complex omega)
{
    const ebb_state *state = &f->room.state;
    const ebb_patch *patch = &f->room.patch[state->used[u]];
    double _Complex k = omega / state->air.speed;
    double lack[2], volume = state->scale[0] * state->scale[1] * state->scale[2];
    if ((q == 0) != patch->piston)
        return 0;
    ebb_reduced_port_lack(f->reduced, state->used[u], q, lack);
    double _Complex beta =
        ebb_assembly_beta(patch->assembly, &state->air, variation(state, patch->vary), omega);
    return beta / (1 + I * k * beta * (lack[0] + k * k * lack[1]) / volume);
}

/* One entry of A(w) from the formula in ebb/field.h, term by term. */
static double _Complex entry(const fixture *f, double _Complex omega, size_t i, size_t j)
{
    const ebb_reduced *reduced = f->reduced;
    const ebb_state *state = &f->room.state;
    const double *s = state->scale;
    size_t at = i * reduced->size + j;
    double _Complex k = omega / state->air.speed, sum = i == j ? -k * k : 0;
    double _Complex wall[EBB_FACES];
    for (int d = 0; d < 3; d++)
        sum += reduced->stiffness[d][at] / (s[d] * s[d]);
    for (int face = 0; face < EBB_FACES; face++) {
        wall[face] = ebb_assembly_beta(state->face[face], &state->air, variation(state, 0), omega);
        sum += I * k * wall[face] * reduced->face[face][at] / s[face / 2];
    }
    for (size_t u = 0; u < state->n_used; u++)
        for (size_t q = 0; q < ebb_reduced_ports(reduced, state->used[u]); q++) {
            const double *port = ebb_reduced_port(reduced, state->used[u], q);
            double _Complex beta = port_beta(f, u, q, omega);
            if (q > 0)
                beta -= wall[f->room.patch[state->used[u]].face];
            sum += I * k * beta * port[i] * port[j] / (s[0] * s[1] * s[2]);
        }
    return sum;
}

static void assert_sum_of_terms(fixture *f)
{
    for (size_t w = 0; w < COUNT(omegas); w++) {
        const double _Complex *a = operator_at(f, omegas[w]);
        for (size_t j = 0; j < f->reduced->size; j++)
            for (size_t i = j; i < f->reduced->size; i++) {
                double _Complex want = entry(f, omegas[w], i, j);
                assert_below(cabs(a[j * f->reduced->size + i] - want), 1e-11 + 1e-12 * cabs(want));
            }
    }
}

static void operator_is_the_sum_of_its_terms(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f);
    assert_sum_of_terms(&f);
    const double scale[3] = {1.02, 0.97, 1.01};
    memcpy(f.room.state.scale, scale, sizeof scale);
    assert_sum_of_terms(&f);
    close_room(&f);
}

/* Variation 0 acts on the faces, others on the patches that name them. */
static void variations_act_on_their_own(void **unused)
{
    (void)unused;
    static const ebb_variation vary[2] = {{1.1, 0.8, 1.2}, {0.9, 1.3, 1.5}};
    fixture f;
    open_room(&f);
    f.room.patch[1].vary = 1;
    ebb_reduced_free(f.reduced);
    f.reduced = project(f.ctx, &f.room.geometry);
    f.room.state.n_vary = 2;
    f.room.state.vary = vary;
    assert_sum_of_terms(&f);
    close_room(&f);
}

/* A state's own word on what hangs at a patch counts before the geometry's. */
static void what_is_mounted_counts(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f);
    const ebb_patch mounted[2] = {{.piston = true, .assembly = &f.room.mid},
                                  {.assembly = &f.room.low}};
    f.room.state.mounted = mounted;
    size_t n = f.reduced->size * f.reduced->size;
    const double _Complex *a = operator_at(&f, omegas[1]);
    f.room.state.mounted = NULL;
    for (size_t p = 0; p < 2; p++) {
        f.room.patch[p].piston = mounted[p].piston;
        f.room.patch[p].assembly = mounted[p].assembly;
    }
    ebb_reduced_free(f.reduced);
    f.reduced = project(f.ctx, &f.room.geometry);
    const double _Complex *b = operator_at(&f, omegas[1]);
    for (size_t i = 0; i < n; i++)
        assert_true(a[i] == b[i]);
    close_room(&f);
}

/* However many patches are of one kind, they cost no more terms than one. */
static void patches_of_a_kind_share_terms(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f);
    const ebb_patch mounted[2] = {{.assembly = &f.room.low}, {.assembly = &f.room.low}};
    f.room.state.mounted = mounted;
    f.room.state.n_used = 1;
    operator_at(&f, omegas[0]);
    size_t one = f.op.n_terms;
    f.room.state.n_used = 2;
    operator_at(&f, omegas[0]);
    assert_int_equal(f.op.n_terms, one);
    close_room(&f);
}

/* ---- factorisation --------------------------------------------------------------------------- */

static void solutions_satisfy_their_equations(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f);
    size_t size = f.reduced->size;
    uint64_t seed = 5;
    const double _Complex *a = operator_at(&f, omegas[1]);
    double _Complex *factor = EBB_NEW(f.arena, double _Complex, ebb_factor_matrix(size));
    double _Complex *x = EBB_NEW(f.arena, double _Complex, 2 * size);
    double _Complex *b = EBB_NEW(f.arena, double _Complex, 2 * size);
    double _Complex *work = EBB_NEW(f.arena, double _Complex, ebb_factor_work(size));
    int *pivot = EBB_NEW(f.arena, int, size);
    memcpy(factor, a, size * size * sizeof *factor);
    for (size_t i = 0; i < 2 * size; i++)
        x[i] = b[i] = draw(&seed) + I * draw(&seed);
    assert_int_equal(ebb_factor(size, factor, pivot, work), EBB_OK);
    assert_int_equal(ebb_factor_solve(size, factor, pivot, 2, x), EBB_OK);
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < size; i++) {
            double _Complex sum = -b[c * size + i];
            for (size_t j = 0; j < size; j++)
                sum += (i >= j ? a[j * size + i] : a[i * size + j]) * x[c * size + j];
            assert_below(cabs(sum), 1e-10);
        }
    close_room(&f);
}

static void a_singular_matrix_is_reported(void **unused)
{
    (void)unused;
    enum { SIZE = 3 };
    double _Complex a[8 * SIZE] = {0}, work[80 * SIZE];
    int pivot[SIZE];
    assert_true(ebb_factor_matrix(SIZE) <= 8 * SIZE && ebb_factor_work(SIZE) <= 80 * SIZE);
    assert_int_equal(ebb_factor(SIZE, a, pivot, work), EBB_E_NUMERIC);
}

/* ---- what is refused ------------------------------------------------------------------------- */

static void refuse(fixture *f, const char *word)
{
    ebb_ctx_clear(f->ctx);
    assert_int_equal(ebb_operator_make(f->ctx, f->arena, f->reduced, &f->room.state, &f->op),
                     EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(f->ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(f->ctx, 0)->text, word));
}

static void states_that_do_not_fit_are_refused(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f);
    ebb_state *state = &f.room.state;
    static const double scales[] = {0.4, 2.5, -1, NAN};
    for (size_t i = 0; i < COUNT(scales); i++) {
        state->scale[1] = scales[i];
        refuse(&f, "scale");
    }
    state->scale[1] = 1;
    state->face[4] = NULL;
    refuse(&f, "face 4 has no construction");
    state->face[4] = &f.room.hard;
    f.room.used[1] = 2;
    refuse(&f, "patch 2");
    f.room.used[1] = (size_t)-1;
    refuse(&f, "patch");
    f.room.used[1] = 1;
    assert_ok(f.ctx, ebb_operator_make(f.ctx, f.arena, f.reduced, state, &f.op));
    close_room(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(operator_is_the_sum_of_its_terms),
        cmocka_unit_test(variations_act_on_their_own),
        cmocka_unit_test(what_is_mounted_counts),
        cmocka_unit_test(patches_of_a_kind_share_terms),
        cmocka_unit_test(solutions_satisfy_their_equations),
        cmocka_unit_test(a_singular_matrix_is_reported),
        cmocka_unit_test(states_that_do_not_fit_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
