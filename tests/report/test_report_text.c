/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal report: text.c, column.c. */
#include "../../src/report/column.h"
#include "../base/failing.h"
#include "fixture.c"

#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static void test_width_counts_columns(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t width;
    } CASES[] = {{"", 0},       {"abc", 3},     {"\u00e9", 1}, {"e\u0301", 1}, {"\u5f71\u97ff", 4},
                 {"\u2192", 1}, {"a\u200bb", 2}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        assert_int_equal(ebb_report_width(CASES[i].text, strlen(CASES[i].text)), CASES[i].width);
    }
}

static void test_cut_keeps_characters_whole(void **state)
{
    (void)state;
    assert_int_equal(ebb_report_cut("\u5f71\u97ff", 3), 3); /* one of them, two columns */
    assert_int_equal(ebb_report_cut("\u5f71\u97ff", 4), 6);
    assert_int_equal(ebb_report_cut("ab", 9), 2);
    assert_int_equal(ebb_report_cut("e\u0301x", 1), 3); /* the accent goes with its letter */
}

static const char *field(fixture *f, const char *text, size_t columns, bool right)
{
    ebb_report_text_buffer out = {.arena = f->arena};
    ebb_report_puts(&out, "");
    ebb_report_field(&out, text, columns, right);
    assert_false(out.failed);
    return out.data;
}

static void test_fields_are_as_wide_as_told(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    assert_string_equal(field(&f, "ab", 5, false), "ab   ");
    assert_string_equal(field(&f, "ab", 5, true), "   ab");
    assert_string_equal(field(&f, "abcdef", 5, false), "abcd\u2026");
    assert_string_equal(field(&f, "\u5f71\u97ff\u7814", 5, false), "\u5f71\u97ff\u2026");
    assert_string_equal(field(&f, "\u5f71\u97ff\u7814", 4, true), " \u5f71\u2026");
    fixture_close(&f);
}

static void test_wrap_indents_and_breaks(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_report_text_buffer out = {.arena = f.arena};
    char text[301];
    memset(text, 'x', 300);
    text[300] = '\0';
    text[90] = ' '; /* one word of 90, one of 209 that fits no line */
    ebb_report_wrap(&out, "  - ", text);
    char **line = g_strsplit(out.data, "\n", -1);
    assert_int_equal(g_strv_length(line), 5);
    assert_int_equal(strlen(line[0]), 94);
    assert_int_equal(strlen(line[1]), 100);
    assert_memory_equal(line[1], "    x", 5);
    assert_string_equal(line[4], "");
    g_strfreev(line);
    fixture_close(&f);
}

/* Every line valid, within 100 columns, without control characters. */
static void check_lines(const char *text)
{
    assert_true(g_utf8_validate(text, -1, NULL));
    char **line = g_strsplit(text, "\n", -1);
    for (size_t i = 0; line[i]; i++) {
        if (ebb_report_width(line[i], strlen(line[i])) > EBB_REPORT_COLUMNS) {
            fail_msg("too long: %s", line[i]);
        }
        for (const char *at = line[i]; *at; at++) {
            assert_true((unsigned char)*at >= 0x20 && *at != 0x7f);
        }
    }
    g_strfreev(line);
}

static void test_every_room_has_its_row_and_part(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *text;
    assert_int_equal(ebb_report_text(f.ctx, f.arena, &f.answers, -1, &text), EBB_OK);
    check_lines(text);
    static const char *const ROW = "Sail store        music    94 %               +0.09     6 "
                                   "\u2192 1   100 %       40 Hz    250 kg     1940\n"
                                   "  In 60 of 64 draws";
    const char *const WANTED[] = {
        ROW,
        "Net loft          voice    61 % near border ",
        "Lamp room         no       97 % ",
        "Sail store: can be made right for music (sure: 94 % of 64 draws agree)",
        "    - The worst decay is 0.76 times its limit.",
        "2  deep              wall_4    100 mm from corner 4, 100 mm up\n",
        "1  mid               wall_2    2600 mm from corner 2, 400 mm up, already there\n",
        "5  deep              wall_1    100 mm from corner 1, 1400 mm up, turned\n",
        "lead              2256 mm right, 2050 mm up the plan, 1200 mm high\n",
        "Harbour house\nEbb 0.1.0, input harbour-house.yaml, seed 7, 4 starts, 64 draws\n",
        "\nAssumptions\n  Rectangular rooms",
        "\nCautions\n  Before anything is built",
    };
    for (size_t i = 0; i < sizeof WANTED / sizeof WANTED[0]; i++) {
        if (!strstr(text, WANTED[i])) {
            fail_msg("missing: %s\nin:\n%s", WANTED[i], text);
        }
    }
    fixture_close(&f);
}

static void test_units_can_be_asked_for(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *text;
    assert_int_equal(ebb_report_text(f.ctx, f.arena, &f.answers, EBB_UNITS_IMPERIAL, &text),
                     EBB_OK);
    check_lines(text);
    assert_non_null(strstr(text, "552 lb"));
    assert_non_null(strstr(text, "3.9 in from corner 4"));
    assert_null(strstr(text, " mm"));
    fixture_close(&f);
}

static void test_nasty_and_bare_and_none(void **state)
{
    (void)state;
    for (int how = 0; how < 3; how++) {
        fixture f;
        fixture_open(&f);
        const char *text;
        if (how == 0) {
            fixture_nasty(&f);
        } else if (how == 1) {
            fixture_bare(&f);
        } else {
            f.answers.n = 0;
        }
        assert_int_equal(ebb_report_text(f.ctx, f.arena, &f.answers, -1, &text), EBB_OK);
        check_lines(text);
        if (how == 0) {
            assert_non_null(strstr(text, "(unnamed room)"));
        } else if (how == 1) {
            assert_non_null(strstr(text, "no draws               \u2013     6 \u2192 \u2013"));
        } else {
            assert_non_null(strstr(text, "The job has no rooms."));
        }
        fixture_close(&f);
    }
}

static void test_out_of_memory_anywhere(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    fixture_nasty(&f);
    ebb_status status = EBB_E_NOMEM;
    int n = 0;
    for (; status != EBB_OK && n < 500; n++) {
        failing fail = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&fail);
        ebb_arena *arena = ebb_arena_new(ctx);
        const char *text = "left alone";
        fail.left = n;
        status = ebb_report_text(ctx, arena, &f.answers, -1, &text);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM);
        assert_true((status == EBB_OK) == (text != NULL));
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
    }
    assert_int_equal(status, EBB_OK);
    assert_true(n > 2);
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_width_counts_columns),
        cmocka_unit_test(test_cut_keeps_characters_whole),
        cmocka_unit_test(test_fields_are_as_wide_as_told),
        cmocka_unit_test(test_wrap_indents_and_breaks),
        cmocka_unit_test(test_every_room_has_its_row_and_part),
        cmocka_unit_test(test_units_can_be_asked_for),
        cmocka_unit_test(test_nasty_and_bare_and_none),
        cmocka_unit_test(test_out_of_memory_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
