/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/quantity.h>

#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

typedef struct printed {
    ebb_quantity_kind kind;
    double value;
    const char *metric, *imperial;
} printed;

static const printed prints[] = {
    {EBB_Q_NUMBER, 0.25, "0.25", "0.25"},
    {EBB_Q_NUMBER, 1000, "1000", "1000"},
    {EBB_Q_FRACTION, 0.4, "40.0 %", "40.0 %"},
    {EBB_Q_LENGTH, 2.7, "2.70 m", "8 ft 10.3 in"},
    {EBB_Q_LENGTH, 0.0125, "12.5 mm", "0.5 in"},
    {EBB_Q_LENGTH, 3.6575, "3.66 m", "12 ft 0 in"}, /* the carry from 11.996 in */
    {EBB_Q_LENGTH, -0.9144, "-0.91 m", "-3 ft 0 in"},
    {EBB_Q_LENGTH, 0, "0.0 mm", "0 in"},
    {EBB_Q_LENGTH, -0.00001, "0.0 mm", "0 in"},
    {EBB_Q_AREA, 0.72, "0.72 m\xC2\xB2", "7.8 ft\xC2\xB2"},
    {EBB_Q_MASS, 42, "42.0 kg", "92.6 lb"},
    {EBB_Q_FREQUENCY, 40, "40.0 Hz", "40.0 Hz"},
    {EBB_Q_TIME, 0.25, "0.25 s", "0.25 s"},
    {EBB_Q_TIME, 0.045, "45.0 ms", "45.0 ms"},
    {EBB_Q_TEMPERATURE, 20,
     "20.0 \xC2\xB0"
     "C",
     "68.0 \xC2\xB0"
     "F"},
    {EBB_Q_PRESSURE, 1900, "1.9 kPa", "39.68 psf"},
    {EBB_Q_PRESSURE, 101325, "101.3 kPa", "14.7 psi"},
    {EBB_Q_RESISTIVITY, 10000, "10 kPa\xC2\xB7s/m\xC2\xB2", "10 kPa\xC2\xB7s/m\xC2\xB2"},
    {EBB_Q_FORCE, 12.5, "12.5 N", "2.81 lbf"},
    {EBB_Q_LEVEL, -0.04, "0.0 dB", "0.0 dB"},
    {EBB_Q_LENGTH, NAN, "-", "-"},
    {EBB_Q_MASS, INFINITY, "-", "-"},
};

static void test_print(void **state)
{
    (void)state;
    char out[64];
    for (size_t i = 0; i < sizeof prints / sizeof prints[0]; i++) {
        const printed *p = &prints[i];
        assert_ptr_equal(ebb_quantity_print(p->kind, p->value, EBB_UNITS_METRIC, out, 64), out);
        assert_string_equal(out, p->metric);
        ebb_quantity_print(p->kind, p->value, EBB_UNITS_IMPERIAL, out, 64);
        assert_string_equal(out, p->imperial);
    }
    ebb_quantity_print(EBB_Q_LENGTH, 2.7, EBB_UNITS_METRIC, out, 4);
    assert_string_equal(out, "2.7");
    ebb_quantity_print(EBB_Q_LENGTH, 1e300, EBB_UNITS_METRIC, out, sizeof out);
    assert_int_equal(strlen(out), sizeof out - 1);
}

/* What is printed can be read, and means the same within half a unit of its last place. */
static void test_print_reads_back(void **state)
{
    (void)state;
    for (int kind = 0; kind < EBB_Q_COUNT_OF_KINDS; kind++)
        for (int units = 0; units < 2; units++)
            for (double v = 0.173; v < 1e7; v *= 3.7) {
                char out[64], why[200] = "";
                double back = NAN;
                ebb_quantity_print((ebb_quantity_kind)kind, v, (ebb_units)units, out, sizeof out);
                const bool ok = ebb_quantity_parse((ebb_quantity_kind)kind, out, strlen(out), &back,
                                                   why, sizeof why);
                /* The coarsest rows: one decimal of °F, 0.1 in, four digits of a pressure. */
                if (!ok || fabs(back - v) > 0.051 + 6e-4 * v)
                    fail_msg("%d %.17g printed as %s read as %.17g %s", kind, v, out, back, why);
            }
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
    char out[64];
    ebb_quantity_print(EBB_Q_LENGTH, 5.25, EBB_UNITS_METRIC, out, sizeof out);
    assert_string_equal(out, "5.25 m");
    ebb_quantity_print(EBB_Q_LENGTH, 2.7, EBB_UNITS_IMPERIAL, out, sizeof out);
    assert_string_equal(out, "8 ft 10.3 in");
    ebb_quantity_print(EBB_Q_PRESSURE, 1900, EBB_UNITS_METRIC, out, sizeof out);
    assert_string_equal(out, "1.9 kPa");
    setlocale(LC_NUMERIC, "C");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_print),
        cmocka_unit_test(test_print_reads_back),
        cmocka_unit_test(test_decimal_comma_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
