/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../../src/draw/pen.h"
#include "canvas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static void test_markers_are_told_apart(void **state)
{
    (void)state;
    canvas c[EBB_DRAW_CROSS + 1];
    for (int m = 0; m <= EBB_DRAW_CROSS; m++) {
        c[m] = canvas_open(40, 40);
        cairo_scale(c[m].cr, 4.0, 4.0);
        const ebb_draw_style style = {.ink = EBB_INK_TEXT, .marker = (ebb_draw_marker)m};
        ebb_draw_mark(c[m].cr, &style, 5.0, 5.0);
        for (int k = 0; k < m; k++) {
            assert_true(canvas_differ(&c[m], &c[k]) > 30);
        }
    }
    assert_int_equal(canvas_find(&c[EBB_DRAW_NO_MARKER], EBB_INK_PAPER).n, 1600);
    /* open for before, filled for after */
    assert_true(canvas_is(&c[EBB_DRAW_RING], 20, 20, EBB_INK_PAPER));
    assert_true(canvas_is(&c[EBB_DRAW_DIAMOND], 20, 20, EBB_INK_TEXT));
    for (int m = 0; m <= EBB_DRAW_CROSS; m++) {
        canvas_close(&c[m]);
    }
}

static void test_dashes_leave_gaps(void **state)
{
    (void)state;
    int ink[2];
    for (int i = 0; i < 2; i++) {
        canvas c = canvas_open(220, 20);
        const ebb_draw_style style = {
            .ink = EBB_INK_TEXT, .width = 4.0, .dash = {i ? 6.0 : 0.0, i ? 6.0 : 0.0}};
        ebb_draw_pen(c.cr, &style);
        ebb_draw_line(c.cr, 10.0, 10.0, 210.0, 10.0);
        ink[i] = canvas_find(&c, EBB_INK_TEXT).n;
        canvas_close(&c);
    }
    assert_true(ink[0] >= 780);
    assert_in_range(ink[1], ink[0] * 2 / 5, ink[0] * 3 / 5);
}

static void test_a_solid_pen_forgets_the_dashes_before_it(void **state)
{
    (void)state;
    canvas c = canvas_open(220, 20);
    const ebb_draw_style dashed = {.ink = EBB_INK_TEXT, .width = 4.0, .dash = {2.0, 9.0}};
    const ebb_draw_style solid = {.ink = EBB_INK_TEXT, .width = 4.0};
    ebb_draw_pen(c.cr, &dashed);
    ebb_draw_pen(c.cr, &solid);
    ebb_draw_line(c.cr, 10.0, 10.0, 210.0, 10.0);
    assert_true(canvas_find(&c, EBB_INK_TEXT).n >= 780);
    canvas_close(&c);
}

static void test_fills_exactly(void **state)
{
    (void)state;
    canvas c = canvas_open(50, 50);
    const ebb_frame box = {10.0, 15.0, 20.0, 5.0};
    ebb_draw_fill(c.cr, EBB_INK_BAND, &box);
    const canvas_found f = canvas_find(&c, EBB_INK_BAND);
    assert_int_equal(f.n, 100);
    assert_int_equal(f.left, 10);
    assert_int_equal(f.bottom, 19);
    canvas_close(&c);
}

static void test_frames_are_checked(void **state)
{
    (void)state;
    static const ebb_frame BAD[] = {{0, 0, 239, 200}, {0, 0, 300, 159},        {0, 0, NAN, 200},
                                    {0, 0, 300, NAN}, {INFINITY, 0, 300, 200}, {0, NAN, 300, 200},
                                    {0, 0, 2e5, 200}, {0, 0, 300, INFINITY}};
    ebb_ctx *ctx = ebb_ctx_new();
    for (size_t i = 0; i < sizeof BAD / sizeof BAD[0]; i++) {
        assert_int_equal(ebb_draw_room_for(ctx, &BAD[i]), EBB_E_RANGE);
    }
    const ebb_frame least = {-5.0, 0.0, EBB_DRAW_LEAST_WIDTH, EBB_DRAW_LEAST_HEIGHT};
    assert_int_equal(ebb_draw_room_for(ctx, &least), EBB_OK);
    assert_non_null(strstr(ebb_ctx_message(ctx, 0)->text, "239 x 200 points"));
    ebb_ctx_free(ctx);
}

static void test_state_of_cairo_becomes_a_status(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(10, 10);
    assert_int_equal(ebb_draw_check(ctx, c.cr), EBB_OK);
    cairo_restore(c.cr); /* without a save: cairo remembers the error */
    assert_int_equal(ebb_draw_check(ctx, c.cr), EBB_E_IO);
    canvas_close(&c);
    /* what cairo gives when memory has run out */
    cairo_surface_t *none = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 30000, 1 << 30);
    cairo_t *cr = cairo_create(none);
    assert_int_not_equal(ebb_draw_check(ctx, cr), EBB_OK);
    cairo_destroy(cr);
    cairo_surface_destroy(none);
    assert_int_equal(ebb_ctx_errors(ctx), 2);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_markers_are_told_apart),
        cmocka_unit_test(test_dashes_leave_gaps),
        cmocka_unit_test(test_a_solid_pen_forgets_the_dashes_before_it),
        cmocka_unit_test(test_fills_exactly),
        cmocka_unit_test(test_frames_are_checked),
        cmocka_unit_test(test_state_of_cairo_becomes_a_status),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
