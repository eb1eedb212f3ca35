/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drawings of an answer: response.c, decay.c, mid.c, and the chart around them. */
#include "../report/fixture.c"
#include "canvas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

typedef ebb_status (*drawing)(ebb_ctx *, cairo_t *, const ebb_frame *, const ebb_answer *);
static const drawing DRAWINGS[] = {ebb_draw_response, ebb_draw_decay, ebb_draw_mid};
static const ebb_frame FRAME = {20.0, 20.0, 500.0, 260.0};

static canvas drawn(fixture *f, drawing draw, size_t i)
{
    canvas c = canvas_open(540, 300);
    assert_int_equal(draw(f->ctx, c.cr, &FRAME, &f->answer[i]), EBB_OK);
    return c;
}

/* Height of the shaded band at the left edge of the plot, pixels. */
static int band_height(const canvas *c)
{
    int most = 0;
    for (int x = 0; x < c->width; x++) {
        int n = 0;
        for (int y = 70; y < c->height; y++) {
            n += canvas_is(c, x, y, EBB_INK_BAND);
        }
        most = n > most ? n : most;
    }
    return most;
}

static void test_limit_band_follows_the_limit(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas narrow = drawn(&f, ebb_draw_response, 0);
    f.answer[0].limits.response_deviation = 6.0;
    f.answer[0].limits.response_worst = 9.0;
    canvas wide = drawn(&f, ebb_draw_response, 0);
    const double ratio = (double)band_height(&wide) / band_height(&narrow);
    assert_true(ratio > 1.8 && ratio < 2.2);
    canvas_close(&narrow);
    canvas_close(&wide);
    fixture_close(&f);
}

static void test_flat_response_is_a_flat_line(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_case *after = &f.answer[0].music.after;
    for (size_t i = 0; i < after->reading.n_paths * after->grid.n_cells; i++) {
        after->reading.level[i] = 0.0;
    }
    canvas c = drawn(&f, ebb_draw_response, 0);
    /* Below the legend, ink of "after" lies in one line as wide as the plot. */
    int top = c.height, bottom = 0, wide = 0;
    for (int y = 75; y < c.height; y++) {
        int n = 0;
        for (int x = 0; x < c.width; x++) {
            n += canvas_is(&c, x, y, EBB_INK_AFTER);
        }
        if (n > 100) {
            top = y < top ? y : top;
            bottom = y > bottom ? y : bottom;
            wide = n > wide ? n : wide;
        }
    }
    assert_in_range(bottom - top, 0, 3);
    assert_true(wide > 400);
    canvas_close(&c);
    fixture_close(&f);
}

static void test_modes_are_drawn_one_by_one(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_mode one = {.hz = 50.0, .t60 = 1.5};
    ebb_modes few = {.n = 1, .mode = &one};
    f.answer[0].music.after.modes = &few;
    f.answer[0].music.after.reading.decay = NULL;
    canvas a = drawn(&f, ebb_draw_decay, 0);
    const int with_one = canvas_find(&a, EBB_INK_AFTER).n;
    few.n = 0;
    canvas b = drawn(&f, ebb_draw_decay, 0);
    const int with_none = canvas_find(&b, EBB_INK_AFTER).n;
    assert_in_range(with_one - with_none, 8, 40); /* one diamond */
    canvas_close(&a);
    canvas_close(&b);
    fixture_close(&f);
}

static void test_mode_outside_any_sense_is_left_out(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_mode odd[3] = {{.hz = NAN, .t60 = 1.0}, {.hz = 60.0, .t60 = INFINITY}, {.hz = 0, .t60 = 0}};
    ebb_modes few = {.n = 3, .mode = odd};
    f.answer[0].music.before.modes = f.answer[0].music.after.modes = &few;
    canvas c = drawn(&f, ebb_draw_decay, 0);
    assert_true(canvas_clean_outside(&c, &FRAME));
    canvas_close(&c);
    fixture_close(&f);
}

static void test_mask_of_the_treated_volume(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas large = drawn(&f, ebb_draw_mid, 0);
    for (int axis = 0; axis < 3; axis++) {
        f.answer[0].music.after.layout.size[axis] = 1.0;
    }
    canvas small = drawn(&f, ebb_draw_mid, 0);
    /* A smaller volume has a lower mask: its lowest shaded row is further down. */
    assert_true(canvas_find(&small, EBB_INK_BAND).bottom >
                canvas_find(&large, EBB_INK_BAND).bottom);
    canvas_close(&large);
    canvas_close(&small);
    fixture_close(&f);
}

static void test_every_answer_stays_in_its_frame(void **state)
{
    (void)state;
    for (int how = 0; how < 3; how++) {
        fixture f;
        fixture_open(&f);
        if (how == 1) {
            fixture_nasty(&f);
        } else if (how == 2) {
            fixture_bare(&f);
        }
        for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
            for (size_t d = 0; d < 3; d++) {
                canvas c = drawn(&f, DRAWINGS[d], i);
                assert_true(canvas_clean_outside(&c, &FRAME));
                assert_true(canvas_find(&c, EBB_INK_TEXT).n > 100);
                canvas_close(&c);
            }
        }
        fixture_close(&f);
    }
}

static void test_too_small_a_frame_is_refused(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas c = canvas_open(300, 300);
    const ebb_frame small = {0.0, 0.0, 239.0, 300.0};
    for (size_t d = 0; d < 3; d++) {
        assert_int_equal(DRAWINGS[d](f.ctx, c.cr, &small, &f.answer[0]), EBB_E_RANGE);
    }
    assert_int_equal(ebb_ctx_errors(f.ctx), 3);
    canvas_close(&c);
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_limit_band_follows_the_limit),
        cmocka_unit_test(test_flat_response_is_a_flat_line),
        cmocka_unit_test(test_modes_are_drawn_one_by_one),
        cmocka_unit_test(test_mode_outside_any_sense_is_left_out),
        cmocka_unit_test(test_mask_of_the_treated_volume),
        cmocka_unit_test(test_every_answer_stays_in_its_frame),
        cmocka_unit_test(test_too_small_a_frame_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
