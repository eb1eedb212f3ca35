/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Working drawings: scale, running measures, sheets. */
#include "../../src/draw/work.h"
#include "../report/fixture.c"
#include "canvas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

#define POINTS_PER_METRE (72.0 / 0.0254)

static void test_scale_is_the_largest_of_the_trade(void **state)
{
    (void)state;
    const double span[2] = {4.0, 2.5};
    /* At 1:20 it would take 567 x 354 points, at 1:25 453 x 283. */
    assert_float_equal(ebb_work_scale(span, (double[2]){600, 400}, EBB_UNITS_METRIC), 20, 0);
    assert_float_equal(ebb_work_scale(span, (double[2]){500, 400}, EBB_UNITS_METRIC), 25, 0);
    assert_float_equal(ebb_work_scale(span, (double[2]){600, 300}, EBB_UNITS_METRIC), 25, 0);
    assert_float_equal(ebb_work_scale(span, (double[2]){500, 400}, EBB_UNITS_IMPERIAL), 24, 0);
    /* A hall beyond all scales still fits. */
    const double hall[2] = {400.0, 90.0}, room_for[2] = {500, 400};
    const double ratio = ebb_work_scale(hall, room_for, EBB_UNITS_METRIC);
    assert_float_equal(hall[0] * POINTS_PER_METRE / ratio, 500, 1e-6);
}

static void test_edges_stand_once_and_in_order(void **state)
{
    (void)state;
    ebb_work_edges e = {0};
    const double at[] = {50, 0, 100, 50.01, 120, -3, 20};
    for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
        ebb_work_edge(&e, at[i]);
    }
    ebb_work_tidy(&e, 100, 0.1);
    assert_int_equal(e.n, 4);
    assert_true(e.at[0] == 0 && e.at[1] == 20 && e.at[2] == 50 && e.at[3] == 100);
    for (size_t i = 0; i < 2 * EBB_WORK_MOST_EDGES; i++) {
        ebb_work_edge(&e, (double)i);
    }
    assert_int_equal(e.n, EBB_WORK_MOST_EDGES);
}

/* Numbers keep their distance, their order, and stay near where they belong. */
static void test_numbers_do_not_cover_each_other(void **state)
{
    (void)state;
    const double at[] = {0, 2, 4, 100, 101, 200, 300};
    double placed[7];
    ebb_work_spread(7, at, 8.0, placed);
    for (size_t i = 1; i < 7; i++) {
        assert_true(placed[i] - placed[i - 1] >= 8.0 - 1e-9);
    }
    for (size_t i = 0; i < 7; i++) {
        assert_true(fabs(placed[i] - at[i]) <= 8.0);
    }
    assert_float_equal(placed[5], 200, 1e-9);
    assert_float_equal((placed[3] + placed[4]) / 2, 100.5, 1e-9); /* both give way alike */
}

static void test_sheets_are_the_plan_and_what_carries_units(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_layout *layout = &f.answer[0].shown->after.layout;
    size_t list[EBB_MOST_SURFACES + 1];
    const size_t n = ebb_work_surfaces(f.answer[0].room, layout, list);
    /* Units on the ceiling, wall_1, wall_2 (there already), wall_3 and wall_4. */
    assert_int_equal(n, 6);
    assert_true(list[0] == EBB_WORK_PLAN);
    for (size_t i = 1; i < n; i++) {
        assert_int_equal(list[i], i);
    }
    const ebb_layout empty = {0};
    assert_int_equal(ebb_work_surfaces(f.answer[0].room, &empty, list), 1);
    fixture_close(&f);
}

static ebb_status draw(fixture *f, canvas *c, const ebb_layout *layout, size_t surface)
{
    const ebb_frame frame = {10, 10, 780, 540};
    const ebb_work work = {&f->answer[0], layout, surface, EBB_UNITS_METRIC};
    return ebb_draw_work(f->ctx, c->cr, &frame, &work);
}

/* One unit 0.6 x 1.2 m on a wall of 5.4 m at a scale of 1:25: as large as a ruler says. */
static void test_units_are_to_scale(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    f.job.rooms[0].n_openings = f.job.rooms[0].n_placed = 0;
    ebb_placed placed = {0, 2, {1.0, 0.5}, false};
    const ebb_layout one = {.n_placed = 1, .placed = &placed}, none = {0};
    canvas with = canvas_open(800, 560), without = canvas_open(800, 560);
    assert_int_equal(draw(&f, &with, &one, 2), EBB_OK);
    assert_int_equal(draw(&f, &without, &none, 2), EBB_OK);
    /* The fill of the only kind; its swatch in the legend lies below. */
    int left = 800, right = 0, top = 560, bottom = 0;
    for (int y = 0; y < 430; y++) {
        for (int x = 0; x < 800; x++) {
            if (canvas_is(&with, x, y, EBB_INK_BAND)) {
                left = x < left ? x : left;
                right = x > right ? x : right;
                top = y < top ? y : top;
                bottom = y > bottom ? y : bottom;
            }
        }
    }
    assert_true(canvas_differ(&with, &without) > 1000);
    const double width = 0.6 * POINTS_PER_METRE / 25, height = 1.2 * POINTS_PER_METRE / 25;
    assert_true(fabs(right - left + 1 - width) <= 3.0);
    assert_true(fabs(bottom - top + 1 - height) <= 3.0);
    canvas_close(&with);
    canvas_close(&without);
    fixture_close(&f);
}

static void test_every_sheet_stays_in_its_frame(void **state)
{
    (void)state;
    const ebb_frame frame = {10, 10, 780, 540};
    fixture f;
    fixture_open(&f);
    fixture_nasty(&f);
    const ebb_layout *layout = &f.answer[0].shown->after.layout;
    size_t list[EBB_MOST_SURFACES + 1];
    const size_t n = ebb_work_surfaces(f.answer[0].room, layout, list);
    for (size_t i = 0; i < n; i++) {
        canvas c = canvas_open(800, 560);
        assert_int_equal(draw(&f, &c, layout, list[i]), EBB_OK);
        assert_true(canvas_clean_outside(&c, &frame));
        canvas_close(&c);
    }
    fixture_close(&f);
}

static void test_files_and_refusals(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_layout *layout = &f.answer[0].shown->after.layout;
    ebb_work work = {&f.answer[0], layout, 2, EBB_UNITS_IMPERIAL};
    assert_int_equal(ebb_work_file(f.ctx, "work.svg", &work), EBB_OK);
    assert_int_equal(ebb_work_pages(f.ctx, "work.pdf", &work), EBB_OK);
    FILE *file = fopen("work.pdf", "rb");
    assert_non_null(file);
    fclose(file);
    unlink("work.svg");
    unlink("work.pdf");
    assert_int_equal(ebb_work_pages(f.ctx, "work.svg", &work), EBB_E_INPUT);
    assert_int_equal(access("work.svg", F_OK), -1);
    canvas c = canvas_open(800, 560);
    work.surface = 77;
    const ebb_frame frame = {10, 10, 780, 540}, small = {0, 0, 300, 200};
    assert_int_equal(ebb_draw_work(f.ctx, c.cr, &frame, &work), EBB_E_RANGE);
    work.surface = 2;
    assert_int_equal(ebb_draw_work(f.ctx, c.cr, &small, &work), EBB_E_RANGE);
    canvas_close(&c);
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_scale_is_the_largest_of_the_trade),
        cmocka_unit_test(test_edges_stand_once_and_in_order),
        cmocka_unit_test(test_numbers_do_not_cover_each_other),
        cmocka_unit_test(test_sheets_are_the_plan_and_what_carries_units),
        cmocka_unit_test(test_units_are_to_scale),
        cmocka_unit_test(test_every_sheet_stays_in_its_frame),
        cmocka_unit_test(test_files_and_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
