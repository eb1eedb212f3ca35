/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One plan under draws: the nominal one without any, the same twice, another with another seed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

typedef struct solved_scene {
    scene *s;
    ebb_case made;
    ebb_solved solved;
} solved_scene;

static int set_up(void **state)
{
    const size_t option[2] = {0, 0};
    set_up_scene(state);
    solved_scene *x = test_calloc(1, sizeof *x);
    scene *s = x->s = *state;
    *state = x;
    ebb_layout none = {0};
    ebb_layout_count(s->job, s->room, &none);
    make_stations(s, EBB_USE_MUSIC);
    assert_ok(s->ctx, ebb_case_make(s->ctx, s->arena, s->job, s->room, &s->limits, &s->stations,
                                    option, &none, &x->made, &x->solved));
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

static ebb_odds odds_of(const solved_scene *x, size_t draws, unsigned seed)
{
    const scene *s = x->s;
    ebb_effort effort = {.seed = seed, .starts = 1, .draws = draws};
    ebb_odds odds;
    assert_ok(s->ctx, ebb_draw_odds(s->ctx, s->job, s->room, &s->limits, &x->made, &x->solved,
                                    &effort, &odds));
    return odds;
}

static void without_draws_the_nominal_plan_decides(void **state)
{
    solved_scene *x = *state;
    ebb_odds odds = odds_of(x, 0, 1);
    assert_int_equal(odds.draws, 0);
    assert_true(odds.share == 0); /* a bare brick cell */
    assert_true(odds.margin_median == x->made.reading.margin);
    x->made.reading.right = true;
    odds = odds_of(x, 0, 1);
    assert_true(odds.share == 1);
    assert_string_equal(odds.decider, "nothing");
}

static void draws_repeat_and_seeds_differ(void **state)
{
    const solved_scene *x = *state;
    ebb_odds a = odds_of(x, 6, 1), b = odds_of(x, 6, 1), c = odds_of(x, 6, 2);
    assert_int_equal(a.draws, 6);
    assert_true(a.margin_median == b.margin_median && a.share == b.share);
    assert_string_equal(a.decider, b.decider);
    assert_true(a.margin_median != c.margin_median);
}

static void a_hopeless_room_stays_so(void **state)
{
    const solved_scene *x = *state;
    ebb_odds odds = odds_of(x, 6, 1);
    assert_true(odds.share == 0);
    assert_true(odds.margin_median < 0);
    assert_string_not_equal(odds.decider, "nothing");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(without_draws_the_nominal_plan_decides, set_up, tear_down),
        cmocka_unit_test_setup_teardown(draws_repeat_and_seeds_differ, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_hopeless_room_stays_so, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
