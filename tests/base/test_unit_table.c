/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../../src/base/unit_table.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static double in_si(ebb_quantity_kind kind, const char *name, double number)
{
    const ebb_base_unit *unit = ebb_base_unit_find(kind, name);
    assert_non_null(unit);
    assert_int_equal(unit->kind, kind);
    assert_string_equal(unit->name, name);
    return (number + unit->shift) * unit->times / unit->over;
}

static void near(double got, double wanted)
{
    if (fabs(got - wanted) > 1e-15 * fabs(wanted))
        fail_msg("wanted %.17g, got %.17g", wanted, got);
}

/* From the definitions: inch, pound, standard gravity (sources in unit_table.c). */
static void test_imperial(void **state)
{
    (void)state;
    const double foot = 12 * 0.0254, pound = 0.45359237, force = 0.45359237 * 9.80665;
    near(in_si(EBB_Q_LENGTH, "ft", 1), foot);
    near(in_si(EBB_Q_LENGTH, "'", 1), foot);
    near(in_si(EBB_Q_LENGTH, "in", 1), 0.0254);
    near(in_si(EBB_Q_LENGTH, "\"", 1), 0.0254);
    near(in_si(EBB_Q_AREA, "ft2", 1), foot * foot);
    near(in_si(EBB_Q_MASS, "lb", 1), pound);
    near(in_si(EBB_Q_AREA_MASS, "lb/ft2", 1), pound / (foot * foot));
    near(in_si(EBB_Q_DENSITY, "lb/ft3", 1), pound / (foot * foot * foot));
    near(in_si(EBB_Q_SPEED, "ft/s", 1), foot);
    near(in_si(EBB_Q_PRESSURE, "psi", 1), force / (0.0254 * 0.0254));
    near(in_si(EBB_Q_PRESSURE, "psf", 1), force / (foot * foot));
}

static void test_temperatures(void **state)
{
    (void)state;
    near(in_si(EBB_Q_TEMPERATURE, "F", 212), 100);
    near(in_si(EBB_Q_TEMPERATURE, "F", -40), -40);
    assert_true(in_si(EBB_Q_TEMPERATURE, "F", 32) == 0);
    assert_true(in_si(EBB_Q_TEMPERATURE, "K", 273.15) == 0);
    assert_true(in_si(EBB_Q_TEMPERATURE, "C", 21) == 21);
}

static void test_prefixes(void **state)
{
    (void)state;
    near(in_si(EBB_Q_LENGTH, "mm", 1), 1e-3);
    near(in_si(EBB_Q_LENGTH, "cm", 1), 1e-2);
    near(in_si(EBB_Q_MASS, "g", 1), 1e-3);
    near(in_si(EBB_Q_TIME, "ms", 1), 1e-3);
    near(in_si(EBB_Q_FREQUENCY, "kHz", 1), 1e3);
    near(in_si(EBB_Q_PRESSURE, "hPa", 1), 1e2);
    near(in_si(EBB_Q_PRESSURE, "kPa", 1), 1e3);
    near(in_si(EBB_Q_PRESSURE, "MPa", 1), 1e6);
    near(in_si(EBB_Q_PRESSURE, "GPa", 1), 1e9);
    near(in_si(EBB_Q_PRESSURE, "N/m2", 1), 1);
    near(in_si(EBB_Q_PRESSURE, "kN/m2", 1), 1e3);
    near(in_si(EBB_Q_LENGTH, "um", 1), 1e-6);
    near(in_si(EBB_Q_FORCE, "kN", 1), 1e3);
    near(in_si(EBB_Q_RESISTIVITY, "kPa.s/m2", 1), 1e3);
    near(in_si(EBB_Q_RESISTANCE, "kPa.s/m", 1), 1e3);
    near(in_si(EBB_Q_AREA_STIFFNESS, "kPa/m", 1), 1e3);
    near(in_si(EBB_Q_AREA_STIFFNESS, "MPa/m", 1), 1e6);
    near(in_si(EBB_Q_FRACTION, "%", 1), 1e-2);
}

static void test_finding(void **state)
{
    (void)state;
    assert_null(ebb_base_unit_find(EBB_Q_LENGTH, "kg"));
    assert_null(ebb_base_unit_find(EBB_Q_LENGTH, "M"));
    assert_null(ebb_base_unit_find(EBB_Q_LENGTH, ""));
    assert_string_equal(ebb_base_unit_like(EBB_Q_LENGTH, "M")->name, "m");
    assert_string_equal(ebb_base_unit_like(EBB_Q_FREQUENCY, "KHZ")->name, "kHz");
    assert_null(ebb_base_unit_like(EBB_Q_LENGTH, "kg"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_imperial),
        cmocka_unit_test(test_temperatures),
        cmocka_unit_test(test_prefixes),
        cmocka_unit_test(test_finding),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
