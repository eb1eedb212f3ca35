/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../../src/draw/axes.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void test_linear_and_log_places(void **state)
{
    (void)state;
    const ebb_draw_axis plain = {-10.0, 10.0, false, 100.0, 300.0};
    assert_float_equal(ebb_draw_at(&plain, -10.0), 100.0, 1e-12);
    assert_float_equal(ebb_draw_at(&plain, 0.0), 200.0, 1e-12);
    assert_float_equal(ebb_draw_at(&plain, 20.0), 400.0, 1e-12);
    const ebb_draw_axis log = {20.0, 200.0, true, 0.0, 100.0};
    assert_float_equal(ebb_draw_at(&log, 20.0), 0.0, 1e-12);
    assert_float_equal(ebb_draw_at(&log, 20.0 * sqrt(10.0)), 50.0, 1e-9);
    /* equal ratios are equal distances */
    assert_float_equal(ebb_draw_at(&log, 80.0) - ebb_draw_at(&log, 40.0),
                       ebb_draw_at(&log, 160.0) - ebb_draw_at(&log, 80.0), 1e-9);
    /* an upward axis */
    const ebb_draw_axis up = {0.0, 1.0, false, 300.0, 100.0};
    assert_float_equal(ebb_draw_at(&up, 0.75), 150.0, 1e-12);
}

static void test_thirds_are_the_preferred_numbers(void **state)
{
    (void)state;
    /* IEC 61260-1 nominal mid-band frequencies, 20 to 200 Hz */
    static const char *const WANTED[] = {"20", "25",  "31.5", "40",  "50", "63",
                                         "80", "100", "125",  "160", "200"};
    const ebb_draw_axis axis = {20.0, 200.0, true, 0.0, 1.0};
    ebb_draw_ticks ticks;
    ebb_draw_ticks_third(&axis, &ticks);
    assert_int_equal(ticks.n, 11);
    for (size_t i = 0; i < ticks.n; i++) {
        assert_string_equal(ticks.text[i], WANTED[i]);
        assert_float_equal(ticks.value[i], atof(WANTED[i]), 1e-9);
    }
}

static void test_octaves(void **state)
{
    (void)state;
    const ebb_draw_axis axis = {90.0, 5600.0, true, 0.0, 1.0};
    ebb_draw_ticks ticks;
    ebb_draw_ticks_octave(&axis, &ticks);
    assert_int_equal(ticks.n, 6);
    assert_string_equal(ticks.text[0], "125");
    assert_string_equal(ticks.text[5], "4000");
}

static void test_round_steps(void **state)
{
    (void)state;
    const ebb_draw_axis axis = {-15.0, 15.0, false, 0.0, 1.0};
    ebb_draw_ticks ticks;
    ebb_draw_ticks_round(&axis, 8, &ticks);
    assert_int_equal(ticks.n, 7);
    assert_string_equal(ticks.text[0], "\u221215");
    assert_string_equal(ticks.text[3], "0");
    assert_string_equal(ticks.text[6], "15");
    /* never more than asked for, whatever the range */
    for (double high = 1e-6; high < 1e9; high *= 3.7) {
        const ebb_draw_axis any = {0.0, high, false, 0.0, 1.0};
        ebb_draw_ticks_round(&any, 8, &ticks);
        assert_in_range(ticks.n, 3, 9);
        assert_true(ticks.value[ticks.n - 1] <= high * (1.0 + 1e-6));
    }
}

static void test_log_axis_always_has_ticks(void **state)
{
    (void)state;
    const ebb_draw_axis wide = {0.1, 5.0, true, 0.0, 1.0};
    ebb_draw_ticks ticks;
    ebb_draw_ticks_round(&wide, 8, &ticks);
    assert_int_equal(ticks.n, 6); /* 0.1 0.2 0.5 1 2 5 */
    assert_string_equal(ticks.text[2], "0.5");
    const ebb_draw_axis narrow = {3.1, 3.9, true, 0.0, 1.0};
    ebb_draw_ticks_round(&narrow, 8, &ticks);
    assert_true(ticks.n >= 3);
}

static void test_many_ticks_do_not_overflow(void **state)
{
    (void)state;
    const ebb_draw_axis axis = {1e-30, 1e30, true, 0.0, 1.0};
    ebb_draw_ticks ticks;
    ebb_draw_ticks_third(&axis, &ticks);
    assert_int_equal(ticks.n, EBB_DRAW_TICKS);
}

static void test_widen(void **state)
{
    (void)state;
    ebb_draw_axis axis = {-11.2, 7.3, false, 0.0, 1.0};
    ebb_draw_axis_widen(&axis, 5.0);
    assert_float_equal(axis.low, -15.0, 1e-12);
    assert_float_equal(axis.high, 10.0, 1e-12);
    ebb_draw_axis flat = {5.0, 5.0, false, 0.0, 1.0};
    ebb_draw_axis_widen(&flat, 5.0);
    assert_true(flat.high > flat.low);
}

static void test_volume_is_what_is_left(void **state)
{
    (void)state;
    const ebb_room room = {.size = {5.0, 4.0, 3.0}};
    ebb_treatment shown = {.after.layout.size = {4.0, 3.0, 2.0}};
    const ebb_answer answer = {.room = &room, .shown = &shown};
    assert_float_equal(ebb_draw_volume(&answer), 24.0, 1e-12);
    shown.after.layout.size[0] = 0.0;
    assert_float_equal(ebb_draw_volume(&answer), 60.0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_linear_and_log_places),
        cmocka_unit_test(test_thirds_are_the_preferred_numbers),
        cmocka_unit_test(test_octaves),
        cmocka_unit_test(test_round_steps),
        cmocka_unit_test(test_log_axis_always_has_ticks),
        cmocka_unit_test(test_many_ticks_do_not_overflow),
        cmocka_unit_test(test_widen),
        cmocka_unit_test(test_volume_is_what_is_left),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
