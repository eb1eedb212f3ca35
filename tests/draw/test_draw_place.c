/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../../src/draw/sheet.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static bool apart(const ebb_frame *a, const ebb_frame *b)
{
    return a->x + a->width <= b->x || b->x + b->width <= a->x || a->y + a->height <= b->y ||
           b->y + b->height <= a->y;
}

static bool within(const ebb_frame *a, const ebb_frame *b)
{
    return a->x >= b->x && a->y >= b->y && a->x + a->width <= b->x + b->width &&
           a->y + a->height <= b->y + b->height;
}

static void test_names_of_one_point_do_not_cover_each_other(void **state)
{
    (void)state;
    ebb_draw_taken taken = {.bounds = {0.0, 0.0, 200.0, 200.0}};
    const double at[2] = {100.0, 100.0}, size[2] = {40.0, 8.0};
    ebb_frame box[8];
    for (int i = 0; i < 8; i++) {
        box[i] = ebb_draw_beside(&taken, at, size);
        assert_true(within(&box[i], &taken.bounds));
        for (int k = 0; k < i; k++) {
            assert_true(apart(&box[i], &box[k]));
        }
    }
}

static void test_marks_are_kept_free(void **state)
{
    (void)state;
    ebb_draw_taken taken = {.bounds = {0.0, 0.0, 200.0, 200.0}};
    const ebb_frame mark = {105.0, 90.0, 60.0, 20.0};
    ebb_draw_take(&taken, &mark);
    const double at[2] = {100.0, 100.0}, size[2] = {40.0, 8.0};
    const ebb_frame box = ebb_draw_beside(&taken, at, size);
    assert_true(apart(&box, &mark));
}

static void test_stays_inside_at_the_edge(void **state)
{
    (void)state;
    ebb_draw_taken taken = {.bounds = {0.0, 0.0, 200.0, 200.0}};
    const double at[2] = {198.0, 100.0}, size[2] = {40.0, 8.0};
    const ebb_frame box = ebb_draw_beside(&taken, at, size);
    assert_true(within(&box, &taken.bounds));
}

static void test_full_list_still_answers(void **state)
{
    (void)state;
    ebb_draw_taken taken = {.bounds = {0.0, 0.0, 50.0, 50.0}};
    const double at[2] = {25.0, 25.0}, size[2] = {40.0, 8.0};
    for (int i = 0; i < EBB_DRAW_MOST_TAKEN + 20; i++) {
        const ebb_frame box = ebb_draw_beside(&taken, at, size);
        assert_true(isfinite(box.x) && isfinite(box.y));
    }
    assert_int_equal(taken.n, EBB_DRAW_MOST_TAKEN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_of_one_point_do_not_cover_each_other),
        cmocka_unit_test(test_marks_are_kept_free),
        cmocka_unit_test(test_stays_inside_at_the_edge),
        cmocka_unit_test(test_full_list_still_answers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
