/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Many frequencies at once, of which most are solved in the span of a few, against each of them
 * solved by itself.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

#define N_HZ 181 /* 20..200 Hz */

typedef struct fixture {
    ebb_ctx *ctx;
    treated room;
    ebb_reduced *reduced;
} fixture;

static int set_up(void **state)
{
    static fixture f;
    f.ctx = ebb_ctx_new();
    treated_make(&f.room, 1);
    f.reduced = project(f.ctx, &f.room.geometry);
    *state = &f;
    return 0;
}

static int tear_down(void **state)
{
    fixture *f = *state;
    ebb_reduced_free(f->reduced);
    ebb_ctx_free(f->ctx);
    return 0;
}

/* In pieces too short for anything but solving each frequency. */
static void one_by_one(const fixture *f, const ebb_state *state, double _Complex *h)
{
    const size_t pairs = state->n_sources * state->n_receivers;
    for (size_t k = 0; k < N_HZ; k++) {
        const double hz = 20 + (double)k;
        double _Complex one[6];
        assert_ok(f->ctx, ebb_response(f->ctx, f->reduced, state, 1, &hz, one));
        for (size_t i = 0; i < pairs; i++)
            h[i * N_HZ + k] = one[i];
    }
}

/* Largest difference of a path, as part of its root of mean square over the band. */
static double worst(const double _Complex *got, const double _Complex *want, size_t pairs)
{
    double most = 0;
    for (size_t i = 0; i < pairs; i++) {
        double square = 0, largest = 0;
        for (size_t k = i * N_HZ; k < (i + 1) * N_HZ; k++) {
            square += pow(cabs(want[k]), 2) / N_HZ;
            largest = fmax(largest, cabs(got[k] - want[k]));
        }
        most = fmax(most, largest / sqrt(square));
    }
    return most;
}

static void expect_alike(const fixture *f, const ebb_state *state)
{
    double _Complex want[6 * N_HZ];
    size_t n;
    double _Complex *got = respond(f->ctx, f->reduced, state, 1, &n);
    assert_int_equal(n, 6 * N_HZ);
    assert_true(ebb_reduced_size(f->reduced) > 200); /* else nothing is saved */
    one_by_one(f, state, want);
    const double off = worst(got, want, 6);
    assert_below(off, 5e-3);
    assert_true(off > 1e-12); /* else all were solved, and this tests nothing */
    assert_below(level_p99(n, got, want), 5e-3);
    /* The ends of the band are solved in any case. */
    for (size_t i = 0; i < 6; i++) {
        assert_close(got[i * N_HZ], want[i * N_HZ], 1e-9);
        assert_close(got[i * N_HZ + N_HZ - 1], want[i * N_HZ + N_HZ - 1], 1e-9);
    }
    free(got);
}

static void a_treated_room_is_as_if_all_were_solved(void **state)
{
    const fixture *f = *state;
    expect_alike(f, &f->room.state);
}

/* Sharp resonances, any of which lies between the frequencies that are solved. */
static void a_hard_room_too(void **state)
{
    const fixture *f = *state;
    ebb_assembly hardest = constant(0.002);
    ebb_state hard = f->room.state;
    hard.n_used = 0;
    for (int face = 0; face < EBB_FACES; face++)
        hard.face[face] = &hardest;
    expect_alike(f, &hard);
}

/* Units that ring sharply between the frequencies that are solved first: only checks find them. */
static void sharp_units_too(void **state)
{
    fixture *f = *state;
    ebb_layer kept[3];
    memcpy(kept, f->room.layer, sizeof kept);
    for (int i = 0; i < 3; i++)
        f->room.layer[i].resistance *= 0.1;
    expect_alike(f, &f->room.state);
    memcpy(f->room.layer, kept, sizeof kept);
}

/* Frequencies in no order are as good as any, and none is left out. */
static void order_does_not_matter(void **state)
{
    const fixture *f = *state;
    double hz[N_HZ];
    double _Complex got[6 * N_HZ], want[6 * N_HZ];
    for (size_t k = 0; k < N_HZ; k++)
        hz[k] = 20 + (double)(k * 100 % N_HZ);
    assert_ok(f->ctx, ebb_response(f->ctx, f->reduced, &f->room.state, N_HZ, hz, got));
    one_by_one(f, &f->room.state, want);
    for (size_t i = 0; i < 6; i++)
        for (size_t k = 0; k < N_HZ; k++)
            assert_close(got[i * N_HZ + k], want[i * N_HZ + k * 100 % N_HZ], 1e-9);
}

static void speaker_and_seat_may_change_places(void **state)
{
    const fixture *f = *state;
    ebb_state there = f->room.state, back = there;
    there.n_sources = there.n_receivers = back.n_sources = back.n_receivers = 1;
    back.sources = there.receivers;
    back.receivers = there.sources;
    size_t n;
    double _Complex *h = respond(f->ctx, f->reduced, &there, 1, &n);
    double _Complex *g = respond(f->ctx, f->reduced, &back, 1, &n);
    for (size_t i = 0; i < n; i++)
        assert_close(h[i], g[i], 1e-9);
    free(h);
    free(g);
}

static void the_same_comes_out_twice(void **state)
{
    const fixture *f = *state;
    size_t n;
    double _Complex *h = respond(f->ctx, f->reduced, &f->room.state, 1, &n);
    double _Complex *again = respond(f->ctx, f->reduced, &f->room.state, 1, &n);
    assert_memory_equal(h, again, n * sizeof *h);
    free(h);
    free(again);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_treated_room_is_as_if_all_were_solved),
        cmocka_unit_test(a_hard_room_too),
        cmocka_unit_test(sharp_units_too),
        cmocka_unit_test(order_does_not_matter),
        cmocka_unit_test(speaker_and_seat_may_change_places),
        cmocka_unit_test(the_same_comes_out_twice),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
