/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The smaller model around one state: same answers near it, same laws everywhere.
 */
#include <ebb/field.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

typedef struct fixture {
    ebb_ctx *ctx;
    treated room;
    ebb_reduced *larger, *smaller;
    ebb_modes *modes;
} fixture;

static void open_around(fixture *f, double richness)
{
    f->ctx = ebb_ctx_new();
    treated_make(&f->room, richness);
    f->room.state.n_used = PATCHES - 1; /* the last patch stays out of use */
    f->larger = project(f->ctx, &f->room.geometry);
    assert_ok(f->ctx, ebb_modes_new(f->ctx, f->larger, &f->room.state, 20, 200, &f->modes));
    assert_ok(f->ctx, ebb_reduced_around(f->ctx, f->larger, &f->room.state, f->modes, 20, 200,
                                         &f->smaller));
}

static void close_around(fixture *f)
{
    ebb_reduced_free(f->smaller);
    ebb_modes_free(f->modes);
    ebb_reduced_free(f->larger);
    ebb_ctx_free(f->ctx);
}

static double response_error(const fixture *f)
{
    size_t n;
    double _Complex *large = respond(f->ctx, f->larger, &f->room.state, 2, &n);
    double _Complex *small = respond(f->ctx, f->smaller, &f->room.state, 2, &n);
    double error = level_p99(n, small, large);
    free(large);
    free(small);
    return error;
}

static void assert_modes_agree(const fixture *f, const ebb_modes *large, double hz, double decay)
{
    ebb_modes *small;
    assert_ok(f->ctx, ebb_modes_new(f->ctx, f->smaller, &f->room.state, 20, 200, &small));
    assert_int_equal(small->n, large->n);
    for (size_t m = 0; m < small->n; m++) {
        assert_close(small->mode[m].hz, large->mode[m].hz, hz);
        assert_close(small->mode[m].delta, large->mode[m].delta, decay);
        assert_memory_equal(small->mode[m].label, large->mode[m].label, 3 * sizeof(int));
        assert_near(small->mode[m].likeness, large->mode[m].likeness, 0.01);
        assert_near(small->mode[m].share, large->mode[m].share, 0.01);
    }
    ebb_modes_free(small);
}

static void answers_at_its_own_state_are_kept(void **state)
{
    (void)state;
    fixture f;
    open_around(&f, 0.5);
    assert_true((double)ebb_reduced_size(f.smaller) < 0.7 * (double)ebb_reduced_size(f.larger));
    assert_below(response_error(&f), 0.05);
    assert_modes_agree(&f, f.modes, 1e-4, 5e-3);
    close_around(&f);
}

/* Without modes the solutions at the state's points must carry the whole band, its upper end too.
 */
static void solutions_alone_carry_the_band(void **state)
{
    (void)state;
    fixture f;
    open_around(&f, 0.5);
    ebb_reduced_free(f.smaller);
    assert_ok(f.ctx, ebb_reduced_around(f.ctx, f.larger, &f.room.state, NULL, 20, 200, &f.smaller));
    assert_below(response_error(&f), 0.1);
    close_around(&f);
}

static void answers_nearby_stay_close(void **state)
{
    (void)state;
    static const ebb_variation vary = {1.03, 0.9, 1.1};
    const double scale[3] = {1.004, 0.997, 1.003};
    fixture f;
    open_around(&f, 0.5);
    memcpy(f.room.state.scale, scale, sizeof scale);
    f.room.state.n_vary = 1;
    f.room.state.vary = &vary;
    f.room.state.air.speed *= 1.002;
    assert_below(response_error(&f), 0.1);
    ebb_modes *large;
    assert_ok(f.ctx, ebb_modes_new(f.ctx, f.larger, &f.room.state, 20, 200, &large));
    assert_modes_agree(&f, large, 2e-4, 5e-3);
    ebb_modes_free(large);
    close_around(&f);
}

/* A small move of seat and speaker needs no new model. */
static void points_may_move_a_little(void **state)
{
    (void)state;
    fixture f;
    open_around(&f, 0.5);
    for (size_t p = 0; p < POINTS; p++) {
        f.room.point[p].x += 0.03;
        f.room.point[p].y -= 0.02;
    }
    assert_below(response_error(&f), 0.2);
    close_around(&f);
}

static void patches_out_of_use_are_gone(void **state)
{
    (void)state;
    fixture f;
    open_around(&f, 0.3);
    for (size_t p = 0; p < PATCHES - 1; p++)
        assert_non_null(ebb_reduced_port(f.smaller, p, 0));
    assert_null(ebb_reduced_port(f.smaller, PATCHES - 1, 0));
    f.room.state.n_used = PATCHES;
    double hz = 50;
    double _Complex h[6];
    assert_int_equal(ebb_response(f.ctx, f.smaller, &f.room.state, 1, &hz, h), EBB_E_RANGE);
    assert_non_null(strstr(ebb_ctx_message(f.ctx, 0)->text, "patch 4"));
    close_around(&f);
}

static void laws_hold_in_the_smaller_model(void **state)
{
    (void)state;
    fixture f;
    open_around(&f, 0.3);
    const ebb_state *room = &f.room.state;
    for (double hz = 25; hz < 200; hz *= 1.3) {
        double power[1 + EBB_FACES + PATCHES], sum = 0;
        assert_ok(f.ctx, ebb_power(f.ctx, f.smaller, room, hz, power));
        for (size_t i = 1; i < 1 + EBB_FACES + room->n_used; i++) {
            assert_true(power[i] >= 0);
            sum += power[i];
        }
        assert_close(sum, power[0], 1e-9);
        double _Complex there[6], back[6];
        ebb_state swapped = *room;
        swapped.n_sources = room->n_receivers;
        swapped.sources = room->receivers;
        swapped.n_receivers = room->n_sources;
        swapped.receivers = room->sources;
        assert_ok(f.ctx, ebb_response(f.ctx, f.smaller, room, 1, &hz, there));
        assert_ok(f.ctx, ebb_response(f.ctx, f.smaller, &swapped, 1, &hz, back));
        for (size_t s = 0; s < 2; s++)
            for (size_t r = 0; r < 3; r++)
                assert_close(back[r * 2 + s], there[s * 3 + r], 1e-9);
    }
    close_around(&f);
}

/* Every mode of `wanted` is among `found`, with its label. A unit's own mode near the least share
 * in the air may come and go. */
static void assert_among(const ebb_modes *wanted, const ebb_modes *found)
{
    for (size_t m = 0; m < wanted->n; m++) {
        const ebb_mode *mode = &wanted->mode[m];
        size_t i = 0;
        while (i < found->n &&
               !(fabs(found->mode[i].hz / mode->hz - 1) < 1e-3 &&
                 fabs(found->mode[i].delta / mode->delta - 1) < 0.01 &&
                 memcmp(found->mode[i].label, mode->label, sizeof mode->label) == 0))
            i++;
        if (i == found->n && mode->share > 0.35)
            fail_msg("the mode at %g Hz is lost", mode->hz);
    }
}

static void a_smaller_model_can_be_made_smaller_still(void **state)
{
    (void)state;
    static const double hz[] = {35, 52, 70, 95};
    fixture f;
    open_around(&f, 0.4);
    ebb_modes *modes, *again;
    ebb_reduced *smallest;
    double _Complex first[6 * COUNT(hz)], second[6 * COUNT(hz)];
    const ebb_state *room = &f.room.state;
    assert_ok(f.ctx, ebb_modes_new(f.ctx, f.smaller, room, 30, 100, &modes));
    assert_ok(f.ctx, ebb_reduced_around(f.ctx, f.smaller, room, modes, 30, 100, &smallest));
    assert_true(ebb_reduced_size(smallest) <= ebb_reduced_size(f.smaller));
    assert_ok(f.ctx, ebb_response(f.ctx, f.larger, room, COUNT(hz), hz, first));
    assert_ok(f.ctx, ebb_response(f.ctx, smallest, room, COUNT(hz), hz, second));
    for (size_t i = 0; i < COUNT(first); i++)
        assert_close(second[i], first[i], 0.01);
    assert_ok(f.ctx, ebb_modes_new(f.ctx, smallest, room, 30, 100, &again));
    assert_among(modes, again);
    ebb_modes_free(again);
    ebb_reduced_free(smallest);
    ebb_modes_free(modes);
    close_around(&f);
}

static void what_does_not_fit_is_refused(void **state)
{
    (void)state;
    fixture f;
    open_around(&f, 0.3);
    ebb_reduced *none = f.larger;
    assert_int_equal(ebb_reduced_around(f.ctx, f.smaller, &f.room.state, f.modes, 20, 200, &none),
                     EBB_E_RANGE);
    assert_null(none);
    f.room.state.face[0] = NULL;
    none = f.larger;
    assert_int_equal(ebb_reduced_around(f.ctx, f.larger, &f.room.state, f.modes, 20, 200, &none),
                     EBB_E_RANGE);
    assert_null(none);
    assert_int_equal(ebb_ctx_errors(f.ctx), 2);
    f.room.state.face[0] = &f.room.hard;
    static const double bad[][2] = {{0, 100}, {-20, 100}, {100, 100}, {20, NAN}, {NAN, 100}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        none = f.larger;
        assert_int_equal(ebb_reduced_around(f.ctx, f.larger, &f.room.state, f.modes, bad[i][0],
                                            bad[i][1], &none),
                         EBB_E_RANGE);
        assert_null(none);
    }
    close_around(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(answers_at_its_own_state_are_kept),
        cmocka_unit_test(solutions_alone_carry_the_band),
        cmocka_unit_test(answers_nearby_stay_close),
        cmocka_unit_test(points_may_move_a_little),
        cmocka_unit_test(patches_out_of_use_are_gone),
        cmocka_unit_test(laws_hold_in_the_smaller_model),
        cmocka_unit_test(a_smaller_model_can_be_made_smaller_still),
        cmocka_unit_test(what_does_not_fit_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
