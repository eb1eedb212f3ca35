/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every plot shares: chart.c. */
#include "../../src/draw/axes.h"
#include "canvas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static const ebb_frame FRAME = {10.0, 10.0, 480.0, 280.0};
static const ebb_draw_style LINE = {.ink = EBB_INK_AFTER, .width = 4.0};
static const ebb_draw_style MARK = {.ink = EBB_INK_MARK, .marker = EBB_DRAW_SQUARE};

/* A chart from 0 to 10 on both axes, opened on a new canvas. */
static ebb_draw_chart chart_open(canvas *c, size_t n_keys, const ebb_draw_key *keys)
{
    *c = canvas_open(500, 300);
    ebb_draw_chart chart = {.cr = c->cr,
                            .title = "title",
                            .x_label = "x, m",
                            .y_label = "y, s",
                            .x = {.low = 0.0, .high = 10.0},
                            .y = {.low = 0.0, .high = 10.0},
                            .n_keys = n_keys,
                            .keys = keys};
    ebb_draw_chart_open(&chart, &FRAME);
    return chart;
}

static void finish(ebb_draw_chart *chart)
{
    ebb_draw_chart_clip(chart);
    ebb_draw_chart_close(chart);
}

static void test_area_lies_inside_the_frame(void **state)
{
    (void)state;
    canvas c;
    ebb_draw_chart chart = chart_open(&c, 0, NULL);
    const ebb_frame *a = &chart.area;
    assert_true(a->x > FRAME.x + 18.0); /* the upright label and the texts of ticks */
    assert_true(a->y > FRAME.y + 10.0); /* the title */
    assert_true(a->x + a->width < FRAME.x + FRAME.width);
    assert_true(a->y + a->height < FRAME.y + FRAME.height - 25.0); /* texts and label of x */
    assert_true(a->width > 400.0 && a->height > 200.0);
    assert_float_equal(ebb_draw_at(&chart.x, 0.0), a->x, 1e-9);
    assert_float_equal(ebb_draw_at(&chart.x, 10.0), a->x + a->width, 1e-9);
    assert_float_equal(ebb_draw_at(&chart.y, 0.0), a->y + a->height, 1e-9);
    assert_float_equal(ebb_draw_at(&chart.y, 10.0), a->y, 1e-9);
    finish(&chart);
    assert_true(canvas_clean_outside(&c, &FRAME));
    canvas_close(&c);
}

static void test_wide_tick_texts_move_the_area(void **state)
{
    (void)state;
    canvas c;
    ebb_draw_chart chart = chart_open(&c, 0, NULL);
    const double narrow = chart.area.x;
    canvas_close(&c);
    c = canvas_open(500, 300);
    chart.cr = c.cr;
    chart.y.low = -0.001;
    chart.y.high = 0.001;
    ebb_draw_chart_open(&chart, &FRAME);
    assert_true(chart.area.x > narrow + 10.0);
    finish(&chart);
    assert_true(canvas_clean_outside(&c, &FRAME));
    canvas_close(&c);
}

static void test_legend_takes_rows_as_it_needs(void **state)
{
    (void)state;
    canvas c = canvas_open(500, 300);
    ebb_draw_key keys[12];
    for (int i = 0; i < 12; i++) {
        keys[i] = (ebb_draw_key){"a name of some length", LINE};
    }
    const double none = ebb_draw_legend(c.cr, &FRAME, 0, keys, false);
    const double one = ebb_draw_legend(c.cr, &FRAME, 1, keys, false);
    const double two = ebb_draw_legend(c.cr, &FRAME, 2, keys, false);
    const double many = ebb_draw_legend(c.cr, &FRAME, 12, keys, false);
    assert_float_equal(none, 0.0, 0.0);
    assert_true(one > 5.0);
    assert_float_equal(one, two, 1e-9); /* both in one row */
    assert_true(many > 3.0 * one);
    assert_int_equal(canvas_find(&c, EBB_INK_AFTER).n, 0); /* only measured */
    assert_float_equal(ebb_draw_legend(c.cr, &FRAME, 12, keys, true), many, 1e-9);
    const canvas_found f = canvas_find(&c, EBB_INK_AFTER);
    assert_true(f.n > 12 * 20);
    assert_true(f.bottom < FRAME.y + many && f.right < FRAME.x + FRAME.width);
    canvas_close(&c);
}

static void test_legend_pushes_the_area_down(void **state)
{
    (void)state;
    canvas a, b;
    char name[200];
    memset(name, 'm', sizeof name - 1);
    name[sizeof name - 1] = '\0';
    const ebb_draw_key keys[3] = {{name, LINE}, {name, LINE}, {"short", MARK}};
    ebb_draw_chart bare = chart_open(&a, 0, NULL), full = chart_open(&b, 3, keys);
    assert_true(full.area.y > bare.area.y + 25.0);
    /* a name wider than the frame takes one row, not several */
    assert_float_equal(ebb_draw_legend(a.cr, &FRAME, 1, keys, false),
                       ebb_draw_legend(a.cr, &FRAME, 1, keys + 2, false), 1e-9);
    finish(&bare);
    finish(&full);
    assert_true(canvas_clean_outside(&b, &FRAME)); /* long names are cut, not drawn beyond */
    canvas_close(&a);
    canvas_close(&b);
}

static void test_curves_are_cut_at_the_area(void **state)
{
    (void)state;
    static const double X[4] = {-5.0, 5.0, 5.0, 15.0}, Y[4] = {5.0, 5.0, 50.0, -20.0};
    canvas c;
    ebb_draw_chart chart = chart_open(&c, 0, NULL);
    ebb_draw_chart_clip(&chart);
    ebb_draw_curve(&chart, &LINE, 4, X, Y);
    ebb_draw_chart_close(&chart);
    const canvas_found f = canvas_find(&c, EBB_INK_AFTER);
    assert_true(f.n > 400);
    assert_true(f.left >= (int)chart.area.x && f.top >= (int)chart.area.y);
    assert_true(f.right <= (int)(chart.area.x + chart.area.width));
    assert_true(f.bottom <= (int)(chart.area.y + chart.area.height));
    canvas_close(&c);
}

static void test_marks_stay_whole_or_away(void **state)
{
    (void)state;
    /* on the corner, inside, beyond, not a number */
    static const double X[4] = {0.0, 5.0, 11.0, NAN}, Y[4] = {0.0, 5.0, 5.0, 5.0};
    int n[4];
    for (int i = 0; i < 4; i++) {
        canvas c;
        ebb_draw_chart chart = chart_open(&c, 0, NULL);
        finish(&chart);
        ebb_draw_marks(&chart, &MARK, 1, X + i, Y + i);
        n[i] = canvas_find(&c, EBB_INK_MARK).n;
        canvas_close(&c);
    }
    assert_true(n[1] >= 9);
    assert_in_range(n[0], n[1] - 8, n[1] + 8); /* not cut in half by the edge */
    assert_int_equal(n[2], 0);
    assert_int_equal(n[3], 0);
}

static void test_crowded_tick_texts_are_left_out(void **state)
{
    (void)state;
    /* 31 third octaves from 20 Hz to 20 kHz do not fit as texts; their lines do. */
    canvas c = canvas_open(300, 300);
    const ebb_frame frame = {10.0, 10.0, 280.0, 280.0};
    ebb_draw_chart chart = {.cr = c.cr,
                            .title = "",
                            .x_label = "",
                            .y_label = "",
                            .x = {.low = 20.0, .high = 20000.0, .log = true},
                            .y = {.low = 0.0, .high = 1.0},
                            .x_ticks = EBB_DRAW_THIRDS};
    ebb_draw_chart_open(&chart, &frame);
    ebb_draw_chart_grid(&chart);
    finish(&chart);
    ebb_draw_ticks ticks;
    ebb_draw_ticks_third(&chart.x, &ticks);
    assert_int_equal(ticks.n, 31);
    /* Columns of pixels in the row of texts that hold any ink: all of them, were all written. */
    const int top = (int)(chart.area.y + chart.area.height) + 3;
    int inked = 0, wide = (int)chart.area.width;
    for (int x = (int)chart.area.x; x < (int)chart.area.x + wide; x++) {
        bool any = false;
        for (int y = top; y < top + 10; y++) {
            any = any || !canvas_is(&c, x, y, EBB_INK_PAPER);
        }
        inked += any;
    }
    assert_in_range(inked, wide / 3, wide * 17 / 20);
    assert_true(canvas_clean_outside(&c, &frame));
    canvas_close(&c);
}

static void test_says_what_is_missing(void **state)
{
    (void)state;
    canvas a, b;
    ebb_draw_chart quiet = chart_open(&a, 0, NULL), loud = chart_open(&b, 0, NULL);
    ebb_draw_chart_clip(&loud);
    ebb_draw_chart_say(&loud, "nothing was calculated");
    ebb_draw_chart_close(&loud);
    finish(&quiet);
    assert_true(canvas_differ(&a, &b) > 200);
    canvas_close(&a);
    canvas_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_area_lies_inside_the_frame),
        cmocka_unit_test(test_wide_tick_texts_move_the_area),
        cmocka_unit_test(test_legend_takes_rows_as_it_needs),
        cmocka_unit_test(test_legend_pushes_the_area_down),
        cmocka_unit_test(test_curves_are_cut_at_the_area),
        cmocka_unit_test(test_marks_stay_whole_or_away),
        cmocka_unit_test(test_crowded_tick_texts_are_left_out),
        cmocka_unit_test(test_says_what_is_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
