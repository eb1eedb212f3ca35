/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../../src/draw/output.h"
#include "../base/failing.h"
#include "../report/fixture.c"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

static ebb_status paint(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_response(ctx, cr, frame, what);
}

static ebb_picture picture_of(const fixture *f, const char *prefix)
{
    return (ebb_picture){500.0, 260.0, prefix, paint, &f->answer[0]};
}

/* Number of places where `part` occurs in text. */
static size_t count(const char *text, const char *part)
{
    size_t n = 0;
    for (const char *at = strstr(text, part); at; at = strstr(at + 1, part)) {
        n++;
    }
    return n;
}

static void test_names_are_prefixed_unique_and_known(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_picture picture = picture_of(&f, "q7-");
    const char *svg;
    assert_int_equal(ebb_draw_svg(f.ctx, f.arena, &picture, &svg), EBB_OK);
    assert_true(count(svg, " id=\"") > 10);
    assert_int_equal(count(svg, " id=\""), count(svg, " id=\"q7-"));
    assert_int_equal(count(svg, "xlink:href=\"#"), count(svg, "xlink:href=\"#q7-"));
    assert_int_equal(count(svg, "url(#"), count(svg, "url(#q7-"));
    for (const char *at = strstr(svg, " id=\""); at; at = strstr(at + 1, " id=\"")) {
        char whole[64];
        snprintf(whole, sizeof whole, "%.*s\"", (int)strcspn(at + 5, "\"") + 5, at);
        assert_int_equal(count(svg, whole), 1);
    }
    for (const char *at = strstr(svg, "href=\"#"); at; at = strstr(at + 1, "href=\"#")) {
        char named[64];
        snprintf(named, sizeof named, " id=\"%.*s\"", (int)strcspn(at + 7, "\""), at + 7);
        assert_int_equal(count(svg, named), 1);
    }
    fixture_close(&f);
}

static void test_one_element_without_styles(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_picture picture = picture_of(&f, "p");
    const char *svg;
    assert_int_equal(ebb_draw_svg(f.ctx, f.arena, &picture, &svg), EBB_OK);
    assert_memory_equal(svg, "<svg ", 5);
    assert_int_equal(count(svg, "<svg"), 1);
    assert_int_equal(count(svg, "</svg>"), 1);
    assert_int_equal(count(svg, "style="), 0);
    assert_int_equal(count(svg, "<?xml"), 0);
    assert_non_null(strstr(svg, "viewBox=\"0 0 500 260\""));
    assert_true(count(svg, "stroke=\"rgb(") > 10);
    fixture_close(&f);
}

static void test_same_bytes_again(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_picture picture = picture_of(&f, "p");
    const char *a, *b;
    assert_int_equal(ebb_draw_svg(f.ctx, f.arena, &picture, &a), EBB_OK);
    assert_int_equal(ebb_draw_svg(f.ctx, f.arena, &picture, &b), EBB_OK);
    assert_string_equal(a, b);
    fixture_close(&f);
}

static void test_rewriting_by_hand(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_picture picture = {10.0, 20.0, "z", NULL, NULL};
    const char *svg;
    assert_int_equal(ebb_draw_svg_clean(f.ctx, f.arena, &picture,
                                        "<?xml?><svg width=\"1pt\"><g id=\"a\" style=\"fill:none;"
                                        "clip-path:url(#b);\"/><use xlink:href=\"#a\"/>"
                                        "<c id=\"b\"/></svg>",
                                        &svg),
                     EBB_OK);
    assert_non_null(strstr(svg, "><g id=\"z0\" fill=\"none\" clip-path=\"url(#z1)\"/>"
                                "<use xlink:href=\"#z0\"/><c id=\"z1\"/></svg>"));
    assert_int_not_equal(ebb_draw_svg_clean(f.ctx, f.arena, &picture, "not a drawing", &svg),
                         EBB_OK);
    assert_int_not_equal(ebb_draw_svg_clean(f.ctx, f.arena, &picture, "<svg ><g id=\"broken", &svg),
                         EBB_OK);
    fixture_close(&f);
}

static void test_out_of_memory_anywhere(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_picture picture = picture_of(&f, "p");
    ebb_status status = EBB_E_NOMEM;
    int n = 0;
    for (; status != EBB_OK && n < 200; n++) {
        failing fail = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&fail);
        ebb_arena *arena = ebb_arena_new(ctx);
        const char *svg = "left alone";
        fail.left = n;
        status = ebb_draw_svg(ctx, arena, &picture, &svg);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM);
        assert_true((status == EBB_OK) == (svg != NULL));
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
    }
    assert_int_equal(status, EBB_OK);
    assert_true(n > 3); /* it did fail before */
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_are_prefixed_unique_and_known),
        cmocka_unit_test(test_one_element_without_styles),
        cmocka_unit_test(test_same_bytes_again),
        cmocka_unit_test(test_rewriting_by_hand),
        cmocka_unit_test(test_out_of_memory_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
