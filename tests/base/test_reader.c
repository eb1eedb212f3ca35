/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../../src/base/reader.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void expect_spelling(const char *text, const char *plain)
{
    ebb_base_reader r = {.why = NULL};
    assert_true(ebb_base_reader_start(&r, text, strlen(text)));
    assert_string_equal(r.text, plain);
    assert_ptr_equal(r.at, r.text);
}

static void test_one_spelling(void **state)
{
    (void)state;
    expect_spelling("  a \t  b  ", "a b");
    expect_spelling("m\xC2\xB2", "m2");
    expect_spelling("m^3", "m3");
    expect_spelling("Pa\xC2\xB7s\xE2\x8B\x85m*s", "Pa.s.m.s");
    expect_spelling("5\xE2\x80\xB2 6\xE2\x80\xB3", "5' 6\"");
    expect_spelling("5' 6''", "5' 6\"");
    expect_spelling("\xE2\x88\x92"
                    "3 \xC2\xB0"
                    "C",
                    "-3 C");
    expect_spelling("\xC3\xA9\x01", "???"); /* what has no plain spelling */
    expect_spelling("\xC2", "?");           /* cut in the middle of a character */
    expect_spelling("", "");
}

static void test_length(void **state)
{
    (void)state;
    char text[EBB_BASE_READER_LONGEST + 1], why[64] = "";
    memset(text, '1', sizeof text);
    ebb_base_reader r = {.why = why, .why_size = sizeof why};
    assert_true(ebb_base_reader_start(&r, text, EBB_BASE_READER_LONGEST - 1));
    assert_false(ebb_base_reader_start(&r, text, EBB_BASE_READER_LONGEST));
    assert_string_equal(why, "too long for a number with a unit");
}

/* Decimal texts against the C library's own reading in the C locale. */
static void test_numbers_like_strtod(void **state)
{
    (void)state;
    unsigned long long random = 88172645463325252ULL;
    for (int i = 0; i < 20000; i++) {
        random ^= random << 13; /* xorshift, Marsaglia 2003, from memory */
        random ^= random >> 7;
        random ^= random << 17;
        char text[64];
        const int digits = (int)(random % 19), exponent = (int)(random >> 40 & 511) - 256;
        snprintf(text, sizeof text, "%.*fe%d", digits, (double)(random >> 11) / 7.0e9, exponent);
        ebb_base_reader r = {.why = NULL};
        double value = 0;
        assert_true(ebb_base_reader_start(&r, text, strlen(text)));
        assert_true(ebb_base_reader_number(&r, &value));
        assert_true(value == strtod(text, NULL));
        assert_int_equal(*r.at, '\0');
    }
}

static void expect_number(const char *text, double wanted, const char *left)
{
    ebb_base_reader r = {.why = NULL};
    double value = NAN;
    assert_true(ebb_base_reader_start(&r, text, strlen(text)));
    assert_true(ebb_base_reader_number(&r, &value));
    assert_true(value == wanted);
    assert_string_equal(r.at, left);
}

static void test_where_numbers_end(void **state)
{
    (void)state;
    expect_number("5m", 5, "m");
    expect_number("5 m", 5, "m");
    expect_number("5.m", 5, "m");
    expect_number(".5", 0.5, "");
    expect_number("5e", 5, "e");
    expect_number("5e+", 5, "e+");
    expect_number("5e2x", 500, "x");
    expect_number("5.5.5", 5.5, ".5");
    expect_number("0x10", 0, "x10");
    expect_number("-0", 0, "");
    expect_number("0.000e-999", 0, "");
}

static void test_no_numbers(void **state)
{
    (void)state;
    static const char *const texts[] = {"",    "-",   "+",   ".",     "e5",
                                        "nan", "inf", "--5", "1e999", "5,"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ebb_base_reader r = {.why = NULL};
        double value;
        assert_true(ebb_base_reader_start(&r, texts[i], strlen(texts[i])));
        assert_false(ebb_base_reader_number(&r, &value));
    }
}

static void expect_fraction(const char *text, double wanted, const char *left)
{
    ebb_base_reader r = {.why = NULL};
    double value = NAN;
    assert_true(ebb_base_reader_start(&r, text, strlen(text)));
    assert_true(ebb_base_reader_number(&r, &value));
    const char *before = r.at;
    const bool found = ebb_base_reader_fraction(&r, &value);
    assert_true(value == wanted);
    assert_string_equal(r.at, left);
    assert_true(found == (r.at != before));
}

static void test_fractions(void **state)
{
    (void)state;
    expect_fraction("5/8 in", 0.625, "in");
    expect_fraction("2 5/8 in", 2.625, "in");
    expect_fraction("2 5/8", 2.625, "");
    expect_fraction("2 in", 2, "in");
    expect_fraction("2 5 in", 2, "5 in");
    expect_fraction("2.5/8 in", 2.5, "/8 in");
    expect_fraction("5/0 in", 5, "/0 in");
    expect_fraction("5/x", 5, "/x");
    expect_fraction("5/9999999", 5, "/9999999");
}

static void test_refusal(void **state)
{
    (void)state;
    char why[8];
    ebb_base_reader r = {.why = why, .why_size = sizeof why};
    assert_false(ebb_base_reader_refuse(&r, "%s", "far too long"));
    assert_string_equal(why, "far too");
    r.why = NULL;
    assert_false(ebb_base_reader_refuse(&r, "%s", "nobody asks"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_spelling),
        cmocka_unit_test(test_length),
        cmocka_unit_test(test_numbers_like_strtod),
        cmocka_unit_test(test_where_numbers_end),
        cmocka_unit_test(test_no_numbers),
        cmocka_unit_test(test_fractions),
        cmocka_unit_test(test_refusal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
