/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

static ebb_assembly table(const double *hz, const double _Complex *z, size_t n)
{
    return (ebb_assembly){.kind = EBB_ASSEMBLY_TABLE, .n_table = n, .table_hz = hz, .table_z = z};
}

static double _Complex z_at(const ebb_assembly *assembly, double _Complex hz)
{
    return 1 / ebb_assembly_beta(assembly, &sample_air, NULL, TWO_PI * hz);
}

static double _Complex cubic(double _Complex hz)
{
    const double _Complex x = hz / 100;
    return 3 - 2 * I + (0.5 + I) * x + (0.2 - 0.3 * I) * x * x + (0.1 + 0.05 * I) * x * x * x;
}

static void cubic_is_reproduced_and_continued(void **unused)
{
    (void)unused;
    const double hz[] = {20, 25, 33, 50, 61, 80, 140, 200};
    double _Complex z[8];
    for (int i = 0; i < 8; i++)
        z[i] = cubic(hz[i]);
    const ebb_assembly assembly = table(hz, z, 8);
    for (double f = 20; f <= 200; f += 1.7) {
        assert_close(z_at(&assembly, f), cubic(f), 1e-12);
        if (f > 20)
            assert_close(z_at(&assembly, f + 3 * I), cubic(f + 3 * I), 1e-12);
    }
    for (int i = 0; i < 8; i++)
        assert_close(z_at(&assembly, hz[i]), z[i], 1e-14);
}

static void ends_hold_outside(void **unused)
{
    (void)unused;
    const double hz[] = {30, 60, 90, 120, 150};
    const double _Complex z[] = {1 + I, 2, 3 - I, 2, 1};
    const ebb_assembly assembly = table(hz, z, 5);
    assert_close(z_at(&assembly, 10 + I), 1 + I, 1e-14);
    assert_close(z_at(&assembly, 500), 1, 1e-14);
}

static void few_points(void **unused)
{
    (void)unused;
    const double hz[] = {40, 80, 100};
    const double _Complex z[] = {2 + I, 4 - I, 6};
    const ebb_assembly one = table(hz, z, 1), two = table(hz, z, 2), three = table(hz, z, 3);
    assert_close(z_at(&one, 70 + I), 2 + I, 1e-14);
    assert_close(z_at(&two, 60), 3, 1e-14);
    assert_close(z_at(&two, 60 + 4 * I), 3 + 4 * I * (2 - 2 * I) / 40.0, 1e-14);
    /* parabola through three points, Newton's divided differences */
    const double _Complex first = (z[1] - z[0]) / 40, second = ((z[2] - z[1]) / 20 - first) / 60;
    const double _Complex at = 90 + 2 * I;
    assert_close(z_at(&three, at), z[0] + (at - 40) * (first + (at - 80) * second), 1e-13);
}

/* A sharp kink makes the cubic swing below zero resistance; the straight line takes over. */
static void stays_passive_between_coarse_points(void **unused)
{
    (void)unused;
    const double hz[] = {20, 30, 40, 50, 60, 70};
    const double _Complex z[] = {9, 9, 0.01 + I, 0.01 - I, 9, 9};
    const ebb_assembly assembly = table(hz, z, 6);
    bool linear = false;
    for (double f = 15; f < 80; f += 0.25) {
        const double _Complex got = z_at(&assembly, f);
        assert_true(creal(got) >= 0);
        if (f > 41 && f < 49) {
            const double _Complex line = z[2] + (f - 40) / 10 * (z[3] - z[2]);
            linear = linear || cabs(got - line) < 1e-12;
        }
    }
    assert_true(linear);
}

static void variation_scales_the_admittance(void **unused)
{
    (void)unused;
    const double hz[] = {40, 80};
    const double _Complex z[] = {2 + I, 2 + I};
    const ebb_assembly assembly = table(hz, z, 2);
    const ebb_variation vary = {1, 1, 0.5};
    assert_close(ebb_assembly_beta(&assembly, &sample_air, &vary, TWO_PI * 50), 0.5 / (2 + I),
                 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cubic_is_reproduced_and_continued),
        cmocka_unit_test(ends_hold_outside),
        cmocka_unit_test(few_points),
        cmocka_unit_test(stays_passive_between_coarse_points),
        cmocka_unit_test(variation_scales_the_admittance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
