/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which measurement helps: rooms in which one unknown alone matters, and draws like the judge's. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../../src/plan/vary.h"
#include "rooms.h"

typedef struct solved_scene {
    scene *s;
    ebb_case made;
    ebb_solved solved;
    ebb_drawing drawing;
    ebb_effort effort;
} solved_scene;

/* The small room with one wool and one front. */
static int set_up(void **state)
{
    static ebb_placed placed[2] = {{FRONT, 5, {0.1, 0.1}, false}, {WOOL, 4, {0.2, 0.3}, false}};
    const size_t option[2] = {0, 0};
    set_up_scene(state);
    solved_scene *x = test_calloc(1, sizeof *x);
    scene *s = x->s = *state;
    *state = x;
    ebb_layout layout = {.n_placed = 2, .placed = placed};
    ebb_layout_count(s->job, s->room, &layout);
    make_stations(s, EBB_USE_MUSIC);
    assert_ok(s->ctx, ebb_case_make(s->ctx, s->arena, s->job, s->room, &s->limits, &s->stations,
                                    option, &layout, &x->made, &x->solved));
    x->drawing = (ebb_drawing){.job = s->job,
                               .room = s->room,
                               .limits = &s->limits,
                               .made = &x->made,
                               .solved = &x->solved};
    x->effort = (ebb_effort){.seed = 1, .starts = 1, .draws = 8};
    return 0;
}

static int tear_down(void **state)
{
    solved_scene *x = *state;
    ebb_modes_free(x->made.modes);
    ebb_solved_close(&x->solved);
    *state = x->s;
    test_free(x);
    return tear_down_scene(state);
}

static ebb_doubt doubt_of(solved_scene *x)
{
    ebb_doubt doubt;
    assert_ok(x->s->ctx, ebb_doubt_make(x->s->ctx, x->s->arena, &x->drawing, &x->effort, &doubt));
    return doubt;
}

/* All spreads but one are nothing: that one explains all of it, the others none. */
static void one_unknown_alone_is_found(void **state)
{
    solved_scene *x = *state;
    const struct {
        ebb_unknown unknown;
        ebb_spreads spreads;
    } alone[] = {{EBB_UNKNOWN_WALLS, {.walls = 0.5}},
                 {EBB_UNKNOWN_SIZE, {.size = 0.02}},
                 {EBB_UNKNOWN_AIR, {.temperature = 8}},
                 {EBB_UNKNOWN_UNITS, {.stiffness = 0.3, .resistance = 0.3}},
                 {EBB_UNKNOWN_PLACES, {.place = 0.1}}};
    for (size_t i = 0; i < sizeof alone / sizeof alone[0]; i++) {
        x->drawing.spreads = alone[i].spreads;
        const ebb_doubt doubt = doubt_of(x);
        assert_true(doubt.spread > 0);
        assert_true(doubt.any);
        assert_int_equal(doubt.most, alone[i].unknown);
        assert_non_null(strstr(doubt.measure, ebb_unknown_measure(alone[i].unknown)));
        for (int u = 0; u < EBB_UNKNOWNS; u++)
            assert_near(doubt.part[u].explained, u == (int)alone[i].unknown, 1e-9);
    }
}

/* The middle band leaves no trace in the wrong cells; it is told by what fails. The walls of a
 * plan that is right but for its middle band are set aside here. */
static void a_middle_band_at_its_border_is_found(void **state)
{
    solved_scene *x = *state;
    x->made.use = EBB_USE_VOICE;
    x->s->limits.response_deviation = x->s->limits.response_worst = 1000;
    x->s->limits.decay_factor = 1000;
    x->drawing.spreads = (ebb_spreads){.mid = 0.3};
    const double volume = ebb_layout_volume(x->s->room, &x->made.layout);
    double mask[2];
    for (int o = 0; o < EBB_OCTAVES; o++) {
        ebb_mid_mask(&x->s->limits, EBB_USE_VOICE, volume, o, mask);
        x->made.mid.t60[o] = 0.5 * (mask[0] + mask[1]);
    }
    const ebb_doubt doubt = doubt_of(x);
    assert_true(doubt.share < 1);
    assert_true(doubt.any);
    assert_int_equal(doubt.most, EBB_UNKNOWN_MID);
    assert_true(doubt.part[EBB_UNKNOWN_MID].share == 1);
    assert_non_null(strstr(doubt.measure, "500 and 1000 Hz"));
}

static void nothing_unknown_is_nothing_to_measure(void **state)
{
    solved_scene *x = *state;
    x->drawing.spreads = (ebb_spreads){0};
    const ebb_doubt doubt = doubt_of(x);
    assert_near(doubt.spread, 0, 1e-12);
    assert_false(doubt.any);
    assert_non_null(strstr(doubt.measure, "No single measurement"));
}

static void without_draws_it_is_not_known(void **state)
{
    solved_scene *x = *state;
    x->effort.draws = 0;
    const ebb_doubt doubt = doubt_of(x);
    assert_int_equal(doubt.draws, 0);
    assert_non_null(strstr(doubt.measure, "Without draws"));
}

/* The doubt is about the verdict: its draws must be the verdict's own. */
static void draws_are_those_of_the_verdict(void **state)
{
    solved_scene *x = *state;
    scene *s = x->s;
    s->limits.response_deviation = 12; /* so that some draws are right and some are not */
    s->limits.response_worst = 14;
    s->limits.decay_factor = 20;
    ebb_spreads_default(&x->drawing.spreads);
    ebb_odds odds;
    assert_ok(s->ctx, ebb_draw_odds(s->ctx, s->job, s->room, &s->limits, &x->made, &x->solved,
                                    &x->effort, &odds));
    const ebb_doubt doubt = doubt_of(x);
    assert_int_equal(doubt.draws, odds.draws);
    assert_true(doubt.share == odds.share);
    double margin[8], *deviate = test_calloc(8 * ebb_draw_dims(&x->drawing), sizeof *deviate);
    const size_t dims = ebb_draw_dims(&x->drawing);
    assert_ok(s->ctx, ebb_draws_normal(s->ctx, 8, dims, x->effort.seed, deviate));
    size_t below = 0;
    for (size_t i = 0; i < 8; i++) {
        ebb_drawn drawn;
        assert_int_equal(ebb_draw_one(&x->drawing, deviate + i * dims, &drawn), EBB_OK);
        margin[i] = drawn.margin;
        below += margin[i] < odds.margin_median;
    }
    assert_int_equal(below, 4);
    test_free(deviate);
}

static void every_deviate_belongs_to_an_unknown(void **state)
{
    solved_scene *x = *state;
    size_t count[EBB_UNKNOWNS] = {0};
    for (size_t i = 0; i < ebb_draw_dims(&x->drawing); i++)
        count[ebb_draw_unknown(&x->drawing, i)]++;
    const size_t points = x->solved.state.n_sources + x->solved.state.n_receivers;
    assert_int_equal(count[EBB_UNKNOWN_SIZE], 3);
    assert_int_equal(count[EBB_UNKNOWN_WALLS], 1);
    assert_int_equal(count[EBB_UNKNOWN_AIR], 1);
    assert_int_equal(count[EBB_UNKNOWN_MID], 1);
    assert_int_equal(count[EBB_UNKNOWN_UNITS], 4); /* two kinds */
    assert_int_equal(count[EBB_UNKNOWN_PLACES], 3 * points);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(one_unknown_alone_is_found, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_middle_band_at_its_border_is_found, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nothing_unknown_is_nothing_to_measure, set_up, tear_down),
        cmocka_unit_test_setup_teardown(without_draws_it_is_not_known, set_up, tear_down),
        cmocka_unit_test_setup_teardown(draws_are_those_of_the_verdict, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_deviate_belongs_to_an_unknown, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
