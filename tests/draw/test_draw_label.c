/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "canvas.h"

#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void size_of(const char *text, double width, int lines, double size[2])
{
    canvas c = canvas_open(10, 10);
    const ebb_label label = {.text = text, .size = 10.0, .width = width, .lines = lines};
    ebb_label_size(c.cr, &label, size);
    canvas_close(&c);
}

static void test_size_follows_text(void **state)
{
    (void)state;
    double one[2], two[2], none[2];
    size_of("room", 0.0, 0, one);
    size_of("room room", 0.0, 0, two);
    size_of("", 0.0, 0, none);
    assert_true(two[0] > 1.9 * one[0]);
    assert_float_equal(one[1], two[1], 1e-6);
    assert_float_equal(none[0], 0.0, 1e-6);
    assert_true(none[1] > 5.0); /* an empty line still has its height */
}

static void test_wraps_and_cuts(void **state)
{
    (void)state;
    static const char TEXT[] = "a sentence that is far too long for so narrow a column";
    double line[2], wrapped[2], cut[2], word[2];
    size_of(TEXT, 0.0, 0, line);
    size_of(TEXT, 80.0, 0, wrapped);
    size_of(TEXT, 80.0, 2, cut);
    size_of("aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", 80.0, 0, word);
    assert_true(wrapped[0] <= 80.0 && wrapped[1] > 3.0 * line[1]);
    assert_float_equal(cut[1], 2.0 * line[1], 0.5);
    assert_true(word[0] <= 80.0 && word[1] > line[1]); /* broken within the word */
}

static void test_same_on_every_surface(void **state)
{
    (void)state;
    /* Scaled or not, the layout must break at the same words. */
    canvas c = canvas_open(10, 10);
    const ebb_label label = {.text = "one two three four five six", .size = 7.5, .width = 61.0};
    double plain[2], scaled[2];
    ebb_label_size(c.cr, &label, plain);
    cairo_scale(c.cr, 1.37, 1.37);
    ebb_label_size(c.cr, &label, scaled);
    assert_float_equal(plain[0], scaled[0], 0.01);
    assert_float_equal(plain[1], scaled[1], 0.01);
    canvas_close(&c);
}

static void test_fit_gives_whole_lines(void **state)
{
    (void)state;
    static const char TEXT[] = "one two three four five six seven eight nine ten eleven twelve";
    canvas c = canvas_open(10, 10);
    ebb_label label = {.text = TEXT, .size = 10.0, .width = 60.0};
    double all[2];
    ebb_label_size(c.cr, &label, all);
    assert_int_equal(ebb_label_fit(c.cr, &label, all[1] + 1.0), strlen(TEXT));
    assert_int_equal(ebb_label_fit(c.cr, &label, 2.0), 0);
    const size_t half = ebb_label_fit(c.cr, &label, all[1] / 2.0);
    assert_in_range(half, 10, strlen(TEXT) - 10);
    /* what fits is as high as promised, and ends between words */
    label.length = half;
    double part[2];
    ebb_label_size(c.cr, &label, part);
    assert_true(part[1] <= all[1] / 2.0);
    assert_true(TEXT[half] == ' ' || TEXT[half - 1] == ' ');
    canvas_close(&c);
}

static void test_alignment(void **state)
{
    (void)state;
    for (int i = 0; i < 3; i++) {
        canvas c = canvas_open(200, 40);
        const ebb_label label = {.text = "mmmm", .size = 12.0, .bold = true, .align = i / 2.0};
        double size[2];
        ebb_label_size(c.cr, &label, size);
        ebb_draw_ink(c.cr, EBB_INK_TEXT);
        ebb_label_draw(c.cr, &label, 100.0, 5.0);
        const canvas_found f = canvas_find(&c, EBB_INK_TEXT);
        const double left = 100.0 - i / 2.0 * size[0];
        assert_in_range(f.left, (int)left - 1, (int)left + 4);
        assert_in_range(f.right, (int)(left + size[0]) - 4, (int)(left + size[0]) + 1);
        canvas_close(&c);
    }
}

static void test_text_is_never_markup(void **state)
{
    (void)state;
    double plain[2], marked[2];
    size_of("<b>x</b>", 0.0, 0, marked);
    size_of("x", 0.0, 0, plain);
    assert_true(marked[0] > 4.0 * plain[0]);
}

static void test_broken_text_is_drawn_quietly(void **state)
{
    (void)state;
    /* GLib would print a warning about broken UTF-8; made fatal, it would end this test. */
    const GLogLevelFlags before = g_log_set_always_fatal(
        (GLogLevelFlags)(G_LOG_LEVEL_WARNING | G_LOG_LEVEL_CRITICAL | G_LOG_LEVEL_ERROR));
    double size[2];
    size_of("\xff\xfe\xc3", 0.0, 0, size);
    assert_true(size[0] > 0.0);
    size_of(NULL, 0.0, 0, size);
    assert_float_equal(size[0], 0.0, 1e-6);
    g_log_set_always_fatal(before);
}

static void test_inks_are_apart(void **state)
{
    (void)state;
    double before[3], after[3], beyond[3], text[3];
    ebb_ink_rgb(EBB_INK_BEFORE, before);
    ebb_ink_rgb(EBB_INK_AFTER, after);
    ebb_ink_rgb(EBB_INK_COUNT, beyond);
    ebb_ink_rgb(EBB_INK_TEXT, text);
    const double grey[3] = {0.2126, 0.7152, 0.0722};
    double light = 0.0;
    for (int i = 0; i < 3; i++) {
        light += grey[i] * (before[i] - after[i]);
        assert_float_equal(beyond[i], text[i], 0.0);
    }
    assert_true(light > 0.3); /* still apart in a grey print */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_size_follows_text),
        cmocka_unit_test(test_wraps_and_cuts),
        cmocka_unit_test(test_same_on_every_surface),
        cmocka_unit_test(test_fit_gives_whole_lines),
        cmocka_unit_test(test_alignment),
        cmocka_unit_test(test_text_is_never_markup),
        cmocka_unit_test(test_broken_text_is_drawn_quietly),
        cmocka_unit_test(test_inks_are_apart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
