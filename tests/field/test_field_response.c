/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Responses and power: reciprocity, passivity, energy balance, changes of size, and that the number
 * of threads does not matter.
 */
#include <ebb/field.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#ifdef _OPENMP
#include <omp.h>
#endif

#include "../../src/field/reduced.h"
#include "rooms.h"

typedef struct fixture {
    ebb_ctx *ctx;
    treated room;
    ebb_reduced *reduced;
} fixture;

static void open_room(fixture *f, double richness)
{
    f->ctx = ebb_ctx_new();
    treated_make(&f->room, richness);
    f->reduced = project(f->ctx, &f->room.geometry);
}

static void close_room(fixture *f)
{
    ebb_reduced_free(f->reduced);
    ebb_ctx_free(f->ctx);
}

static const ebb_variation varied[1] = {{1.07, 0.8, 1.3}};

/* The states in which every property must hold: plain, without units, scaled, varied. */
#define STATES 4
static void put_state(fixture *f, int which)
{
    ebb_state *state = &f->room.state;
    const double scale[3] = {1.01, 0.985, 1.012};
    state->n_used = which == 1 ? 0 : PATCHES;
    for (int d = 0; d < 3; d++)
        state->scale[d] = which == 2 ? scale[d] : 1;
    state->n_vary = which == 3;
    state->vary = which == 3 ? varied : NULL;
}

/* ---- reciprocity ----------------------------------------------------------------------------- */

static void source_and_receiver_may_change_places(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.4);
    for (int which = 0; which < STATES; which++) {
        put_state(&f, which);
        ebb_state swapped = f.room.state;
        swapped.n_sources = f.room.state.n_receivers;
        swapped.sources = f.room.state.receivers;
        swapped.n_receivers = f.room.state.n_sources;
        swapped.receivers = f.room.state.sources;
        size_t n, n_hz;
        double _Complex *h = respond(f.ctx, f.reduced, &f.room.state, 9, &n);
        double _Complex *back = respond(f.ctx, f.reduced, &swapped, 9, &n);
        n_hz = n / 6;
        for (size_t s = 0; s < 2; s++)
            for (size_t r = 0; r < 3; r++)
                for (size_t i = 0; i < n_hz; i++)
                    assert_close(back[(r * 2 + s) * n_hz + i], h[(s * 3 + r) * n_hz + i], 1e-9);
        free(h);
        free(back);
    }
    close_room(&f);
}

/* ---- power ----------------------------------------------------------------------------------- */

static void power_in_is_power_absorbed(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.4);
    for (int which = 0; which < STATES; which++) {
        put_state(&f, which);
        for (double hz = 20; hz <= 200; hz *= 1.17) {
            double power[1 + EBB_FACES + PATCHES], sum = 0;
            assert_ok(f.ctx, ebb_power(f.ctx, f.reduced, &f.room.state, hz, power));
            for (size_t i = 1; i < 1 + EBB_FACES + f.room.state.n_used; i++) {
                assert_true(power[i] >= 0);
                sum += power[i];
            }
            assert_true(power[0] > 0);
            assert_close(sum, power[0], 1e-9);
        }
    }
    close_room(&f);
}

/* One absorbing wall takes everything, and a harder room lets more pressure build up. */
static void the_only_absorber_takes_all(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.4);
    const ebb_assembly rigid = constant(0);
    f.room.state.n_used = 0;
    for (int face = 0; face < EBB_FACES; face++)
        f.room.state.face[face] = face == 2 ? &f.room.hard : &rigid;
    double power[1 + EBB_FACES];
    assert_ok(f.ctx, ebb_power(f.ctx, f.reduced, &f.room.state, 62, power));
    for (int face = 0; face < EBB_FACES; face++)
        assert_near(power[1 + face], face == 2 ? power[0] : 0, 1e-9 * power[0]);
    close_room(&f);
}

/* Below the first mode a room is a spring with the leak of its walls: the power put in by a unit
 * flow is Re(1 / (Y + j w V / rho c^2)) / 2, Y = sum beta S / rho c. */
static void at_low_frequencies_the_room_is_a_spring(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.4);
    f.room.state.n_used = 0;
    for (int face = 0; face < EBB_FACES; face++)
        f.room.state.face[face] = &f.room.hard;
    const double *size = f.room.geometry.size, hz = 2, rho_c = test_air.density * test_air.speed;
    double volume = size[0] * size[1] * size[2];
    double area = 2 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0]);
    double _Complex y = 0.02 * area / rho_c + I * 2 * PI * hz * volume / (rho_c * test_air.speed);
    double power[1 + EBB_FACES];
    assert_ok(f.ctx, ebb_power(f.ctx, f.reduced, &f.room.state, hz, power));
    assert_close(power[0], creal(1 / y) / 2, 0.02);
    close_room(&f);
}

/* The same between any two points of the smallest room at the lowest frequencies there are. */
static void a_small_box_is_a_spring_everywhere(void **unused)
{
    (void)unused;
    static const double side[3] = {0.5, 0.5, 0.5}, hz[2] = {5, 15};
    const ebb_vec3 point[2] = {{0.1, 0.15, 0.2}, {0.4, 0.3, 0.35}};
    fixture f;
    f.ctx = ebb_ctx_new();
    treated_make_plain(&f.room, side, 1e-6);
    memcpy(f.room.point, point, sizeof point);
    f.room.geometry.n_points = 2;
    f.room.geometry.highest = 20;
    f.room.state.n_sources = f.room.state.n_receivers = 1;
    f.room.state.receivers = f.room.point + 1;
    f.reduced = project(f.ctx, &f.room.geometry);
    double _Complex h[2];
    assert_ok(f.ctx, ebb_response(f.ctx, f.reduced, &f.room.state, 2, hz, h));
    for (size_t i = 0; i < 2; i++) /* rho c^2 / (j w V) */
        assert_close(h[i], test_air.density * pow(test_air.speed, 2) / (I * 2 * PI * hz[i] * 0.125),
                     0.01);
    close_room(&f);
}

/* Re v^T (j w A^-1) v >= 0 for every real v: nothing in the room gives energy away. */
static void driving_point_is_passive(void **unused)
{
    (void)unused;
    enum { N = 8, N_HZ = 13 };
    fixture f;
    open_room(&f, 0.4);
    size_t size = ebb_reduced_size(f.reduced);
    double *vector = malloc(N * size * sizeof *vector), hz[N_HZ];
    double _Complex *g = malloc(N_HZ * N * N * sizeof *g);
    uint64_t seed = 11;
    for (int i = 0; i < N_HZ; i++)
        hz[i] = 20 * pow(10, i / (N_HZ - 1.));
    for (size_t i = 0; i < N * size; i++)
        vector[i] = draw(&seed) - 0.5;
    for (size_t p = 0; p < POINTS; p++) /* points of the room among them */
        assert_ok(f.ctx,
                  ebb_reduced_points(f.ctx, f.reduced, 1, &f.room.point[p], vector + p * size));
    for (int which = 0; which < STATES; which++) {
        put_state(&f, which);
        assert_ok(f.ctx, ebb_green(f.ctx, f.reduced, &f.room.state, N_HZ, hz, N, vector, g));
        for (size_t i = 0; i < N_HZ; i++)
            for (size_t v = 0; v < N; v++)
                assert_true(creal(I * g[(i * N + v) * N + v]) >= 0);
    }
    free(vector);
    free(g);
    close_room(&f);
}

/* ---- Green matrix ---------------------------------------------------------------------------- */

static void green_matrix_is_the_response_without_near_field(void **unused)
{
    (void)unused;
    enum { N_HZ = 3 };
    static const double hz[N_HZ] = {33, 80, 171};
    fixture f;
    open_room(&f, 0.4);
    put_state(&f, 2);
    const ebb_state *state = &f.room.state;
    size_t size = ebb_reduced_size(f.reduced);
    double *vector = malloc(POINTS * size * sizeof *vector), lack[2 * 2 * 3];
    double _Complex g[N_HZ * POINTS * POINTS], h[2 * 3 * N_HZ];
    for (size_t p = 0; p < POINTS; p++)
        assert_ok(f.ctx,
                  ebb_reduced_points(f.ctx, f.reduced, 1, &f.room.point[p], vector + p * size));
    assert_ok(f.ctx, ebb_green(f.ctx, f.reduced, state, N_HZ, hz, POINTS, vector, g));
    assert_ok(f.ctx, ebb_response(f.ctx, f.reduced, state, N_HZ, hz, h));
    assert_int_equal(f.reduced->lack(f.reduced, state, lack), EBB_OK);
    double volume = state->scale[0] * state->scale[1] * state->scale[2];
    for (size_t i = 0; i < N_HZ; i++)
        for (size_t s = 0; s < 2; s++)
            for (size_t r = 0; r < 3; r++) {
                double k = 2 * PI * hz[i] / test_air.speed;
                const double *part = lack + 2 * (s * 3 + r);
                double _Complex sum =
                    g[(i * POINTS + 2 + r) * POINTS + s] + part[0] + k * k * part[1];
                assert_close(h[(s * 3 + r) * N_HZ + i],
                             I * 2 * PI * hz[i] * test_air.density / volume * sum, 1e-10);
                assert_close(g[(i * POINTS + s) * POINTS + 2 + r],
                             g[(i * POINTS + 2 + r) * POINTS + s], 1e-10);
            }
    free(vector);
    close_room(&f);
}

/* ---- what must and must not change a response ------------------------------------------------ */

/* A rigid front and a locally reacting area of the same kind are different things. */
static void a_rigid_front_differs_from_a_local_one(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.4);
    size_t n;
    double _Complex *as_it_is = respond(f.ctx, f.reduced, &f.room.state, 10, &n);
    for (size_t p = 0; p < PATCHES; p++)
        f.room.patch[p].piston = false;
    ebb_reduced *local = project(f.ctx, &f.room.geometry);
    double _Complex *changed = respond(f.ctx, local, &f.room.state, 10, &n);
    assert_true(level_p99(n, changed, as_it_is) > 0.1);
    free(as_it_is);
    free(changed);
    ebb_reduced_free(local);
    close_room(&f);
}

/* A locally reacting patch of the wall's own kind is no patch, but for the near field of its edge.
 */
static void a_patch_like_its_wall_changes_little(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.7);
    f.room.state.n_used = 0;
    f.room.state.face[0] = &f.room.low; /* what patch 0 is made of */
    size_t n;
    double _Complex *bare = respond(f.ctx, f.reduced, &f.room.state, 5, &n);
    f.room.state.n_used = 1;
    double _Complex *covered = respond(f.ctx, f.reduced, &f.room.state, 5, &n);
    assert_below(level_p99(n, covered, bare), 0.02);
    free(bare);
    free(covered);
    close_room(&f);
}

/* A room of size L at scale s is a room of size s L. The patches keep their size in metres, so the
 * comparison is without them; points move with the room. */
static void scale_is_a_change_of_size(void **unused)
{
    (void)unused;
    const double scale[3] = {1.015, 0.985, 1.01};
    fixture f;
    open_room(&f, 1);
    f.room.state.n_used = 0;
    memcpy(f.room.state.scale, scale, sizeof scale);
    size_t n;
    double _Complex *scaled = respond(f.ctx, f.reduced, &f.room.state, 3, &n);
    for (int d = 0; d < 3; d++) {
        f.room.geometry.size[d] *= scale[d];
        f.room.state.scale[d] = 1;
    }
    for (size_t p = 0; p < POINTS; p++) {
        f.room.point[p].x *= scale[0];
        f.room.point[p].y *= scale[1];
        f.room.point[p].z *= scale[2];
    }
    f.room.geometry.n_patches = 0;
    ebb_reduced *larger = project(f.ctx, &f.room.geometry);
    double _Complex *direct = respond(f.ctx, larger, &f.room.state, 3, &n);
    assert_below(level_p99(n, scaled, direct), 0.1);
    free(scaled);
    free(direct);
    ebb_reduced_free(larger);
    close_room(&f);
}

#ifdef _OPENMP
static void thread_count_does_not_matter(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, 0.3);
    int before = omp_get_max_threads();
    size_t n;
    omp_set_num_threads(1);
    double _Complex *one = respond(f.ctx, f.reduced, &f.room.state, 7, &n);
    omp_set_num_threads(2);
    double _Complex *two = respond(f.ctx, f.reduced, &f.room.state, 7, &n);
    omp_set_num_threads(before);
    assert_memory_equal(one, two, n * sizeof *one);
    free(one);
    free(two);
    close_room(&f);
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(source_and_receiver_may_change_places),
        cmocka_unit_test(power_in_is_power_absorbed),
        cmocka_unit_test(the_only_absorber_takes_all),
        cmocka_unit_test(at_low_frequencies_the_room_is_a_spring),
        cmocka_unit_test(a_small_box_is_a_spring_everywhere),
        cmocka_unit_test(driving_point_is_passive),
        cmocka_unit_test(green_matrix_is_the_response_without_near_field),
        cmocka_unit_test(a_rigid_front_differs_from_a_local_one),
        cmocka_unit_test(a_patch_like_its_wall_changes_little),
        cmocka_unit_test(scale_is_a_change_of_size),
#ifdef _OPENMP
        cmocka_unit_test(thread_count_does_not_matter),
#endif
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
