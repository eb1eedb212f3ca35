/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One rectangle and many admittances: patch.c. */
#include "boxes.h"

#include "../../src/unit/private.h"

#include <complex.h>

static const double FACE[2] = {0.6, 1.2};

/* The stored table gives what the layers module integrates anew each time. */
static void test_table_agrees_with_the_integral(void **state)
{
    (void)state;
    bench b = bench_open();
    static const double HZ[4] = {20, 50, 100, 200};
    const double _Complex beta[4] = {0.05, 0.9 + 0.2 * I, 0.3 - 0.6 * I, 2 + 3 * I};
    for (int i = 0; i < 4; i++) {
        ebb_unit_patch patch;
        ebb_unit_patch_make(FACE, &b.air, HZ[i], &patch);
        for (int k = 0; k < 4; k++) {
            const double exact = ebb_alpha_patch(beta[k], FACE, &b.air, HZ[i]);
            near(ebb_unit_patch_alpha(&patch, beta[k]), exact, 2e-3 * exact);
        }
    }
    bench_close(&b);
}

/* A hard wall and one that yields everything take nothing. */
static void test_what_takes_nothing(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_unit_patch patch;
    ebb_unit_patch_make(FACE, &b.air, 50, &patch);
    near(ebb_unit_patch_alpha(&patch, 0), 0, 0);
    near(ebb_unit_patch_alpha(&patch, 0.5 * I), 0, 1e-12);
    assert_true(ebb_unit_patch_alpha(&patch, 1e9) < 1e-3);
    bench_close(&b);
}

/* Weak absorbers: the small unit is hit by twice the pressure from everywhere, 8 Re(beta). */
static void test_weak_absorbers_show_eight_times_their_conductance(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_unit_patch patch;
    ebb_unit_patch_make(FACE, &b.air, 30, &patch);
    near(ebb_unit_patch_alpha(&patch, 1e-4) / 1e-4, 8, 0.01);
    bench_close(&b);
}

static void test_between_two_frequencies(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_unit_patch pair[2], here, exact;
    const double hz[2] = {40, 47};
    for (int i = 0; i < 2; i++)
        ebb_unit_patch_make(FACE, &b.air, hz[i], &pair[i]);
    ebb_unit_patch_make(FACE, &b.air, 43.5, &exact);
    ebb_unit_patch_between(pair, hz, 43.5, &here);
    for (int i = 0; i < EBB_UNIT_PATCH_NODES; i++) {
        near(cabs(here.z[i] - exact.z[i]), 0, 2e-3 * cabs(exact.z[i]));
        near(here.weight[i], exact.weight[i], 0);
    }
    /* At the ends it is what it was made of. */
    ebb_unit_patch_between(pair, hz, 40, &here);
    near(cabs(here.z[7] - pair[0].z[7]), 0, 1e-12);
    ebb_unit_patch_between(pair, hz, 47, &here);
    near(cabs(here.z[7] - pair[1].z[7]), 0, 1e-12);
    bench_close(&b);
}

/* Nothing passive shows more than the most, and a small face comes to (wavelength)^2/pi. */
static void test_the_most_is_the_most(void **state)
{
    (void)state;
    bench b = bench_open();
    static const double FACES[3][2] = {{0.3, 0.3}, {0.6, 1.2}, {1.8, 1.2}};
    for (int f = 0; f < 3; f++) {
        ebb_unit_patch patch;
        ebb_unit_patch_make(FACES[f], &b.air, 40, &patch);
        const double most = ebb_unit_patch_most(&patch);
        unsigned seed = 7;
        for (int i = 0; i < 2000; i++) {
            double u[2];
            for (int k = 0; k < 2; k++) {
                seed = seed * 1664525u + 1013904223u;
                u[k] = seed / 4294967296.0;
            }
            const double size = pow(10, 4 * u[0] - 2), angle = 3.14159 * (u[1] - 0.5);
            const double _Complex beta = size * (cos(angle) + I * sin(angle));
            assert_true(ebb_unit_patch_alpha(&patch, beta) <= most * (1 + 1e-6));
        }
        const double wavelength = b.air.speed / 40;
        if (f == 0)
            near(most * 0.09 / (wavelength * wavelength / 3.14159265), 1, 0.01);
    }
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table_agrees_with_the_integral),
        cmocka_unit_test(test_what_takes_nothing),
        cmocka_unit_test(test_weak_absorbers_show_eight_times_their_conductance),
        cmocka_unit_test(test_between_two_frequencies),
        cmocka_unit_test(test_the_most_is_the_most),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
