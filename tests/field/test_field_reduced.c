/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Access to the reduced model, patches on surfaces, compression, and what happens when memory ends.
 */
#include "../../src/field/reduced.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#ifdef _OPENMP
#include <omp.h>
#endif

#include "../base/failing.h"
#include "rooms.h"

/* ---- access ---------------------------------------------------------------------------------- */

static void what_is_asked_outside_the_model_is_nothing(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make_tiny(&room);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    assert_int_equal(ebb_reduced_ports(reduced, 1), 7);
    assert_int_equal(ebb_reduced_ports(reduced, 2), 0);
    assert_non_null(ebb_reduced_port(reduced, 1, 6));
    assert_null(ebb_reduced_port(reduced, 1, 7));
    assert_null(ebb_reduced_port(reduced, 2, 0));
    size_t n;
    assert_non_null(ebb_reduced_rigid(reduced, &n, NULL));
    assert_true(n > 0 && n < ebb_reduced_size(reduced));
    ebb_reduced_free(reduced);
    ebb_reduced_free(NULL);
    ebb_modes_free(NULL);
    ebb_ctx_free(ctx);
}

/* The constant function comes first and is 1 / sqrt(V) everywhere. */
static void first_basis_function_is_constant(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make_tiny(&room);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    double *value = malloc(ebb_reduced_size(reduced) * sizeof *value);
    const ebb_vec3 at[] = {{0, 0, 0}, {2, 1.5, 1.2}, {0.7, 1.1, 0.3}};
    for (size_t i = 0; i < COUNT(at); i++) {
        assert_int_equal(ebb_reduced_points(NULL, reduced, 1, &at[i], value), EBB_OK);
        assert_close(value[0], 1 / sqrt(2 * 1.5 * 1.2), 1e-12);
    }
    free(value);
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* ---- patches on surfaces --------------------------------------------------------------------- */

/* A room of 5 x 4 x 3 m whose lower corner lies at (1, 2, 0.5): floor, ceiling and the four walls
 * in plan order, as ebb/job.h describes them. */
static const double origin[3] = {1, 2, 0.5}, extent[3] = {5, 4, 3};

static void make_surfaces(ebb_surface surface[EBB_FACES])
{
    const ebb_vec3 x = {1, 0, 0}, y = {0, 1, 0}, z = {0, 0, 1}, back_x = {-1, 0, 0},
                   back_y = {0, -1, 0};
    const ebb_surface made[EBB_FACES] = {
        {.origin = {0, 0, 0.5}, .along = x, .up = y, .axis = 2, .side = 0},
        {.origin = {0, 0, 3.5}, .along = x, .up = y, .axis = 2, .side = 1},
        {.origin = {1, 2, 0.5}, .along = x, .up = z, .axis = 1, .side = 0},
        {.origin = {6, 2, 0.5}, .along = y, .up = z, .axis = 0, .side = 1},
        {.origin = {6, 6, 0.5}, .along = back_x, .up = z, .axis = 1, .side = 1},
        {.origin = {1, 6, 0.5}, .along = back_y, .up = z, .axis = 0, .side = 0}};
    memcpy(surface, made, sizeof made);
}

static void patches_land_on_their_face(void **state)
{
    (void)state;
    /* surface coordinates (along, up) and the same place in face coordinates */
    static const struct {
        double at[2], size[2];
        int face;
        double want_at[2], want_size[2];
    } cases[EBB_FACES] = {
        {{1.5, 2.25}, {0.6, 1.2}, 4, {0.5, 0.25}, {0.6, 1.2}}, /* floor: job coordinates */
        {{1.5, 2.25}, {0.6, 1.2}, 5, {0.5, 0.25}, {0.6, 1.2}},
        {{0.5, 0.25}, {0.6, 1.2}, 2, {0.5, 0.25}, {0.6, 1.2}},
        {{0.5, 0.25}, {0.6, 1.2}, 1, {0.5, 0.25}, {0.6, 1.2}},
        {{0.5, 0.25}, {0.6, 1.2}, 3, {3.9, 0.25}, {0.6, 1.2}}, /* runs backwards along x */
        {{0.5, 0.25}, {0.6, 1.2}, 0, {2.9, 0.25}, {0.6, 1.2}}};
    ebb_surface surface[EBB_FACES];
    make_surfaces(surface);
    ebb_room room = {.name = "cellar", .n_surfaces = EBB_FACES, .surfaces = surface};
    room.origin = (ebb_vec3){origin[0], origin[1], origin[2]};
    memcpy(room.size, extent, sizeof extent);
    ebb_ctx *ctx = ebb_ctx_new();
    for (size_t s = 0; s < EBB_FACES; s++) {
        ebb_patch patch = {.face = -1, .piston = true, .vary = 3};
        assert_ok(ctx, ebb_patch_on(ctx, &room, s, cases[s].at, cases[s].size, &patch));
        assert_int_equal(patch.face, cases[s].face);
        for (int d = 0; d < 2; d++) {
            assert_near(patch.at[d], cases[s].want_at[d], 1e-12);
            assert_near(patch.size[d], cases[s].want_size[d], 1e-12);
        }
        assert_true(patch.piston && patch.vary == 3); /* left alone */
    }
    ebb_patch patch;
    assert_int_equal(ebb_patch_on(ctx, &room, EBB_FACES, cases[0].at, cases[0].size, &patch),
                     EBB_E_RANGE);
    assert_non_null(strstr(ebb_ctx_message(ctx, 0)->text, "cellar"));
    ebb_ctx_free(ctx);
}

/* ---- compression ----------------------------------------------------------------------------- */

#define SIZE 12

static double inner(const double *a, const double *b)
{
    double sum = 0;
    for (size_t i = 0; i < SIZE; i++)
        sum += a[i] * b[i];
    return sum;
}

/* Vectors of rank 3 plus dust give 3 orthonormal ones that span them. */
static void compression_finds_the_rank(void **state)
{
    (void)state;
    enum { N = 9, RANK = 3 };
    uint64_t seed = 7;
    double base[RANK * SIZE], vectors[N * SIZE], copy[N * SIZE], *kept;
    for (size_t i = 0; i < RANK * SIZE; i++)
        base[i] = draw(&seed) - 0.5;
    for (size_t i = 0; i < N * SIZE; i++)
        vectors[i] = 1e-9 * (draw(&seed) - 0.5);
    for (size_t v = 0; v < N; v++)
        for (size_t r = 0; r < RANK; r++) {
            double part = draw(&seed) - 0.5;
            for (size_t i = 0; i < SIZE; i++)
                vectors[v * SIZE + i] += part * base[r * SIZE + i];
        }
    memcpy(copy, vectors, sizeof copy);
    ebb_arena *arena = ebb_arena_new(NULL);
    assert_int_equal(ebb_compress(arena, SIZE, N, vectors, 1e-6, &kept), RANK);
    for (size_t a = 0; a < RANK; a++)
        for (size_t b = 0; b < RANK; b++)
            assert_near(inner(kept + a * SIZE, kept + b * SIZE), a == b, 1e-9);
    for (size_t v = 0; v < N; v++) {
        double left = inner(copy + v * SIZE, copy + v * SIZE);
        double whole = left;
        for (size_t a = 0; a < RANK; a++)
            left -= pow(inner(kept + a * SIZE, copy + v * SIZE), 2);
        assert_below(fabs(left) / whole, 1e-12);
    }
    ebb_arena_free(arena);
}

/* More vectors than dimensions cannot give more directions than there are. */
static void compression_is_bounded_by_the_dimension(void **state)
{
    (void)state;
    enum { N = 30 };
    uint64_t seed = 9;
    double vectors[N * SIZE], *kept;
    for (size_t i = 0; i < N * SIZE; i++)
        vectors[i] = draw(&seed) - 0.5;
    ebb_arena *arena = ebb_arena_new(NULL);
    assert_int_equal(ebb_compress(arena, SIZE, N, vectors, 1e-9, &kept), SIZE);
    assert_int_equal(ebb_compress(arena, SIZE, 0, vectors, 1e-9, &kept), 0);
    assert_null(kept);
    ebb_arena_free(arena);
}

/* ---- memory ---------------------------------------------------------------------------------- */

/* The whole line of calls on a closet, up to the first that fails. */
static ebb_status everything(ebb_ctx *ctx, const treated *room)
{
    ebb_reduced *reduced, *smaller = NULL;
    ebb_modes *modes = NULL, *followed = NULL;
    static const double hz[3] = {40, 85, 110};
    double power[1 + EBB_FACES + 2];
    double _Complex h[3];
    ebb_status status = ebb_reduced_new(ctx, &room->geometry, &reduced);
    if (status != EBB_OK) {
        assert_null(reduced);
        return status;
    }
    status = ebb_response(ctx, reduced, &room->state, 3, hz, h);
    if (status == EBB_OK)
        status =
            ebb_green(ctx, reduced, &room->state, 3, hz, 1, ebb_reduced_port(reduced, 0, 0), h);
    if (status == EBB_OK)
        status = ebb_power(ctx, reduced, &room->state, 50, power);
    if (status == EBB_OK) {
        status = ebb_modes_new(ctx, reduced, &room->state, 30, 120, &modes);
        assert_true((status == EBB_OK) == (modes != NULL));
    }
    if (status == EBB_OK) {
        status = ebb_modes_follow(ctx, reduced, &room->state, modes, &followed);
        assert_true((status == EBB_OK) == (followed != NULL));
    }
    if (status == EBB_OK) {
        status = ebb_reduced_around(ctx, reduced, &room->state, modes, 30, 120, &smaller);
        assert_true((status == EBB_OK) == (smaller != NULL));
    }
    ebb_reduced_free(smaller);
    ebb_modes_free(followed);
    ebb_modes_free(modes);
    ebb_reduced_free(reduced);
    return status;
}

/* Lets the nth allocation and all after it fail, for every n that matters: each failure is reported
 * with a message, and nothing is left behind. One thread, since the allocator counts plainly. */
static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    treated room;
    treated_make_tiny(&room);
#ifdef _OPENMP
    int before = omp_get_max_threads();
    omp_set_num_threads(1);
#endif
    failing all = {.left = -1};
    ebb_ctx *ctx = failing_ctx(&all);
    assert_ok(ctx, everything(ctx, &room));
    ebb_ctx_free(ctx);
    assert_int_equal(all.blocks, 0);
    assert_true(all.asked > 60);
    for (long n = 1; n < all.asked; n++) {
        failing f = {.left = n};
        ctx = failing_ctx(&f);
        assert_non_null(ctx);
        assert_int_equal(everything(ctx, &room), EBB_E_NOMEM);
        assert_int_equal(ebb_ctx_errors(ctx), 1);
        assert_int_equal(ebb_ctx_message(ctx, 0)->status, EBB_E_NOMEM);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
#ifdef _OPENMP
    omp_set_num_threads(before);
#endif
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_asked_outside_the_model_is_nothing),
        cmocka_unit_test(first_basis_function_is_constant),
        cmocka_unit_test(patches_land_on_their_face),
        cmocka_unit_test(compression_finds_the_rank),
        cmocka_unit_test(compression_is_bounded_by_the_dimension),
        cmocka_unit_test(every_failing_allocation_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
