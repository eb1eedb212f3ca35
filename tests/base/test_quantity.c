/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/quantity.h>

#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

typedef struct good {
    ebb_quantity_kind kind;
    const char *text;
    double value;
} good;

static const good accepted[] = {
    {EBB_Q_NUMBER, "3", 3},
    {EBB_Q_NUMBER, "-2.5e-3", -2.5e-3},
    {EBB_Q_NUMBER, "+.5", 0.5},
    {EBB_Q_NUMBER, "5.", 5},
    {EBB_Q_NUMBER, " 7 ", 7},
    {EBB_Q_NUMBER, "0.1", 0.1},
    {EBB_Q_NUMBER, "9007199254740993", 9007199254740992.0}, /* a tie, to even */
    {EBB_Q_NUMBER, "1.7976931348623157e308", 1.7976931348623157e308},
    {EBB_Q_NUMBER, "0e999999", 0},
    {EBB_Q_FRACTION, "40 %", 0.40},
    {EBB_Q_FRACTION, "40%", 0.40},
    {EBB_Q_FRACTION, "0.4", 0.4},
    {EBB_Q_FRACTION, "1", 1},
    {EBB_Q_FRACTION, "140 %", 1.4}, /* whether that makes sense is not for the parser */
    {EBB_Q_LENGTH, "5.2 m", 5.2},
    {EBB_Q_LENGTH, "5.2m", 5.2},
    {EBB_Q_LENGTH, "-1.5 m", -1.5},
    {EBB_Q_LENGTH, "350 mm", 0.35},
    {EBB_Q_LENGTH, "12.5 mm", 0.0125},
    {EBB_Q_LENGTH, "35 cm", 0.35},
    {EBB_Q_LENGTH, "10 ft", 3.048},
    {EBB_Q_LENGTH, "17 ft 2 in", 5.2324},
    {EBB_Q_LENGTH, "17ft2in", 5.2324},
    {EBB_Q_LENGTH, "17' 2\"", 5.2324},
    {EBB_Q_LENGTH, "17'2\"", 5.2324},
    {EBB_Q_LENGTH, "17' 2''", 5.2324},
    {EBB_Q_LENGTH, "17\xE2\x80\xB2 2\xE2\x80\xB3", 5.2324}, /* primes */
    {EBB_Q_LENGTH, "17\xE2\x80\x99 2\xE2\x80\x9D", 5.2324}, /* quotation marks */
    {EBB_Q_LENGTH,
     "17\xC2\xA0"
     "ft 2\xC2\xA0in",
     5.2324}, /* blanks that do not break */
    {EBB_Q_LENGTH, "17 ft 2.5 in", 5.2451},
    {EBB_Q_LENGTH, "17 ft 2 1/2 in", 5.2451},
    {EBB_Q_LENGTH, "-3 ft 6 in", -1.0668},
    {EBB_Q_LENGTH,
     "\xE2\x88\x92"
     "3 ft 6 in",
     -1.0668}, /* minus sign */
    {EBB_Q_LENGTH, "0 ft 6 in", 0.1524},
    {EBB_Q_LENGTH, "-0 ft 6 in", -0.1524},
    {EBB_Q_LENGTH, "12 ft 0 in", 3.6576},
    {EBB_Q_LENGTH, "5/8 in", 0.015875},
    {EBB_Q_LENGTH, "2 5/8 in", 0.066675},
    {EBB_Q_LENGTH, "30\"", 0.762},
    {EBB_Q_AREA, "1.2 m2", 1.2},
    {EBB_Q_AREA, "1.2 m\xC2\xB2", 1.2},
    {EBB_Q_AREA, "1.2 m^2", 1.2},
    {EBB_Q_AREA, "10 ft2", 0.9290304},
    {EBB_Q_MASS, "42 kg", 42},
    {EBB_Q_MASS, "500 g", 0.5},
    {EBB_Q_MASS, "1 lb", 0.45359237},
    {EBB_Q_AREA_MASS, "4.2 kg/m2", 4.2},
    {EBB_Q_AREA_MASS, "4.2 kg / m\xC2\xB2", 4.2},
    {EBB_Q_AREA_MASS, "1 lb/ft2", 4.8824276363830506},
    {EBB_Q_DENSITY, "60 kg/m3", 60},
    {EBB_Q_DENSITY, "1 lb/ft3", 16.018463373960142},
    {EBB_Q_FREQUENCY, "40 Hz", 40},
    {EBB_Q_FREQUENCY, "1.25 kHz", 1250},
    {EBB_Q_TIME, "0.3 s", 0.3},
    {EBB_Q_TIME, "300 ms", 0.3},
    {EBB_Q_SPEED, "343 m/s", 343},
    {EBB_Q_SPEED, "1000 ft/s", 304.8},
    {EBB_Q_TEMPERATURE, "21 C", 21},
    {EBB_Q_TEMPERATURE,
     "21 \xC2\xB0"
     "C",
     21},
    {EBB_Q_TEMPERATURE, "-40 F", -40},
    {EBB_Q_TEMPERATURE, "212 F", 100},
    {EBB_Q_TEMPERATURE, "273.15 K", 0},
    {EBB_Q_PRESSURE, "1.9 kPa", 1900},
    {EBB_Q_PRESSURE, "1013 hPa", 101300},
    {EBB_Q_PRESSURE, "2 kN/m2", 2000},
    {EBB_Q_PRESSURE, "450 N/m2", 450},
    {EBB_Q_FORCE, "0.5 N", 0.5},
    {EBB_Q_FORCE, "1 lbf", 4.4482216152605},
    {EBB_Q_LENGTH, "0.5 um", 0.5e-6},
    {EBB_Q_PRESSURE, "70 GPa", 70e9},
    {EBB_Q_PRESSURE, "2.1 MPa", 2.1e6},
    {EBB_Q_PRESSURE, "1 psi", 6894.757293168361},
    {EBB_Q_PRESSURE, "1 psf", 47.88025898033584},
    {EBB_Q_RESISTIVITY, "10 kPa.s/m2", 10000},
    {EBB_Q_RESISTIVITY, "10 kPa\xC2\xB7s/m\xC2\xB2", 10000},
    {EBB_Q_RESISTIVITY, "10 kPa*s/m^2", 10000},
    {EBB_Q_RESISTIVITY, "5000 Pa s/m2", 5000},
    {EBB_Q_RESISTANCE, "413 Pa.s/m", 413},
    {EBB_Q_RESISTANCE, "413 Pa\xC2\xB7s/m", 413},
    {EBB_Q_AREA_STIFFNESS, "480 kPa/m", 480000},
    {EBB_Q_AREA_STIFFNESS, "2 MPa/m", 2e6},
    {EBB_Q_LEVEL, "-3 dB", -3},
};

static void test_accepted(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof accepted / sizeof accepted[0]; i++) {
        const good *g = &accepted[i];
        double value = NAN;
        char why[200] = "";
        const bool ok =
            ebb_quantity_parse(g->kind, g->text, strlen(g->text), &value, why, sizeof why);
        /* Two rounding steps at most stand between the text and the value. */
        const double error = fabs(value - g->value);
        if (!ok || !(error <= 2 * 2.3e-16 * fabs(g->value)))
            fail_msg("%s: wanted %.17g, got %.17g, %s", g->text, g->value, value, why);
    }
}

/* The last digit counts where both spellings are decimal. */
static void test_same_double(void **state)
{
    (void)state;
    double a = 0, b = 1;
    assert_true(ebb_quantity_parse(EBB_Q_LENGTH, "350 mm", 6, &a, NULL, 0));
    assert_true(ebb_quantity_parse(EBB_Q_LENGTH, "0.35 m", 6, &b, NULL, 0));
    assert_true(a == b);
    assert_true(ebb_quantity_parse(EBB_Q_LENGTH, "8 ft 6 in", 9, &a, NULL, 0));
    assert_true(ebb_quantity_parse(EBB_Q_LENGTH, "102 in", 6, &b, NULL, 0));
    assert_true(a == b);
    assert_true(
        ebb_quantity_parse(EBB_Q_NUMBER, "0.1000000000000000055511151231", 30, &a, NULL, 0));
    assert_true(a == 0.1);
}

typedef struct bad {
    ebb_quantity_kind kind;
    const char *text, *why;
} bad;

static const bad refused[] = {
    {EBB_Q_NUMBER, "", "there is nothing here"},
    {EBB_Q_NUMBER, "  ", "there is nothing here"},
    {EBB_Q_NUMBER, "3 kg", "a plain number is wanted, without \"kg\""},
    {EBB_Q_NUMBER, "nan", "\"nan\" does not start with a number"},
    {EBB_Q_NUMBER, "inf", "\"inf\" does not start with a number"},
    {EBB_Q_NUMBER, "-", "\"-\" does not start with a number"},
    {EBB_Q_NUMBER, ".", "\".\" does not start with a number"},
    {EBB_Q_NUMBER, "0x10", "a plain number is wanted, without \"x10\""},
    {EBB_Q_NUMBER, "1e400", "\"1e400\" is too large"},
    {EBB_Q_NUMBER, "1e-400", "\"1e-400\" is too small"},
    {EBB_Q_FRACTION, "40", "without \"%\" a share lies between 0 and 1"},
    {EBB_Q_FRACTION, "-0.1", "without \"%\" a share lies between 0 and 1"},
    {EBB_Q_FRACTION, "40 m", "\"m\" is not a unit of share"},
    {EBB_Q_LENGTH, "5.2", "a unit is missing"},
    {EBB_Q_LENGTH, "5 kg", "\"kg\" is not a unit of length"},
    {EBB_Q_LENGTH, "5 M", "\"M\" is not a unit of length; did you mean \"m\"?"},
    {EBB_Q_LENGTH, "5 m2", "\"2\" is left over"},
    {EBB_Q_LENGTH, "5 m 30 cm", "\"30 cm\" is left over"},
    {EBB_Q_LENGTH, "12 6 in", "more than one number: \"6 in\" is left over"},
    {EBB_Q_LENGTH, "5,2 m",
     "a comma after \"5\": write the decimal point as \".\" and no thousands separators"},
    {EBB_Q_LENGTH, "17' 2", "a unit is missing after the inches"},
    {EBB_Q_LENGTH, "17 ft 2 cm", "only inches may follow feet, not \"cm\""},
    {EBB_Q_LENGTH, "17 ft 12 in", "inches after feet must be below 12"},
    {EBB_Q_LENGTH, "17.5 ft 2 in", "feet before inches must be a whole number"},
    {EBB_Q_LENGTH, "17 ft -2 in", "\"-2 in\" is left over after the feet"},
    {EBB_Q_LENGTH, "17 ft 2 in 3", "\"3\" is left over"},
    {EBB_Q_LENGTH, "5/0 in", "\"/\" is not a unit of length"},
    {EBB_Q_LENGTH, "2.5/8 in", "\"/\" is not a unit of length"},
    {EBB_Q_LENGTH, "m", "\"m\" does not start with a number"},
    {EBB_Q_PRESSURE, "5 mpa", "\"mpa\" is not a unit of pressure; did you mean \"MPa\"?"},
    {EBB_Q_PRESSURE, "1e305 GPa", "\"1e305 GPa\" is too large"},
    {EBB_Q_FREQUENCY, "40 hz", "\"hz\" is not a unit of frequency; did you mean \"Hz\"?"},
    {EBB_Q_RESISTIVITY, "5 kPa.s/m", "\"kPa.s/m\" is not a unit of flow resistivity"},
    {EBB_Q_MASS, "1 900 kg", "more than one number: \"900 kg\" is left over"},
    {EBB_Q_MASS, "5 \xC2\xB5g", "\"??g\" is not a unit of mass"},
    {EBB_Q_TEMPERATURE, "21", "a unit is missing"},
};

static void test_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        const bad *b = &refused[i];
        double value = 77;
        char why[200] = "";
        assert_false(ebb_quantity_parse(b->kind, b->text, strlen(b->text), &value, why, 200));
        assert_true(value == 77);
        assert_string_equal(why, b->why);
    }
}

static void test_edges_of_the_call(void **state)
{
    (void)state;
    double value = 77;
    char why[8] = "";
    /* Only `length` bytes are looked at; they need no end mark. */
    assert_true(ebb_quantity_parse(EBB_Q_LENGTH, "5 mm", 3, &value, NULL, 0));
    assert_true(value == 5);
    assert_false(ebb_quantity_parse(EBB_Q_LENGTH, "5 kg", 4, &value, why, sizeof why));
    assert_string_equal(why, "\"kg\" is");
    assert_false(ebb_quantity_parse(EBB_Q_LENGTH, "5 m\0x", 5, &value, why, sizeof why));
    char many[300];
    memset(many, '1', sizeof many);
    assert_false(ebb_quantity_parse(EBB_Q_NUMBER, many, sizeof many, &value, why, sizeof why));
    assert_false(ebb_quantity_parse(EBB_Q_COUNT_OF_KINDS, "1", 1, &value, why, sizeof why));
    assert_true(value == 5);
}

static void test_every_kind_says_what_it_accepts(void **state)
{
    (void)state;
    for (int k = 0; k < EBB_Q_COUNT_OF_KINDS; k++) {
        /* Each example between quotation marks must itself be accepted. */
        const char *at = ebb_quantity_accepts((ebb_quantity_kind)k);
        size_t examples = 0;
        for (const char *from; (from = strchr(at, '"')) != NULL;) {
            const char *to = strchr(from + 1, '"');
            double value;
            assert_non_null(to);
            assert_true(ebb_quantity_parse((ebb_quantity_kind)k, from + 1, (size_t)(to - from - 1),
                                           &value, NULL, 0));
            examples++;
            at = to + 1;
        }
        assert_true(examples > 0);
    }
    assert_non_null(ebb_quantity_accepts((ebb_quantity_kind)99));
}

/* A host program may have set any locale. */
static void test_decimal_comma_locale(void **state)
{
    (void)state;
    const char *names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE", "sv_SE.UTF-8"};
    bool set = false;
    for (size_t i = 0; i < 4 && !set; i++)
        set = setlocale(LC_NUMERIC, names[i]) != NULL;
    if (!set)
        skip(); /* none of them is installed */
    double value = 0;
    assert_true(ebb_quantity_parse(EBB_Q_LENGTH, "5.25 m", 6, &value, NULL, 0));
    assert_true(value == 5.25);
    setlocale(LC_NUMERIC, "C");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_accepted),
        cmocka_unit_test(test_same_double),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_edges_of_the_call),
        cmocka_unit_test(test_every_kind_says_what_it_accepts),
        cmocka_unit_test(test_decimal_comma_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
