/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Curves and band: spectrum.c, band.c. */
#include "boxes.h"

#include <complex.h>

/* For alpha = 4r/((1+r)^2 + x^2) with x = (w m - k/w)/rho c half of the peak is left at x =
 * +-(1+r), so that the two frequencies multiply to f0^2 and differ by (1+r) rho c/(2 pi m). */
static void test_half_band_is_as_wide_as_the_mass_says(void **state)
{
    (void)state;
    bench b = bench_open();
    static const double MASS[3] = {4, 8, 12}, R[3] = {1, 1.5, 0.7};
    for (int i = 0; i < 3; i++) {
        const ebb_layer layer = resonator(&b, MASS[i], 45, R[i]);
        const ebb_unit unit = stack_unit(1, &layer);
        ebb_study *s = study_of(&b, &unit);
        const double wide = (1 + R[i]) * b.rho_c / (6.283185307179586 * MASS[i]);
        near(s->band.half[1] - s->band.half[0], wide, 0.002 * wide);
        near(s->band.half[1] * s->band.half[0], 45.0 * 45.0, 5);
        near(s->band.peak_hz, 45, 0.02);
        near(s->band.peak, 4 * R[i] / ((1 + R[i]) * (1 + R[i])), 1e-6);
        near(s->band.match, R[i], 1e-4);
        assert_true(s->band.inside);
        ebb_study_free(s);
    }
    bench_close(&b);
}

/* Useful is where 4r/((1+r)^2 + x^2) is at least 0.2: |x| = 4 for r = 1. */
static void test_useful_band(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = resonator(&b, 6, 45, 1);
    ebb_unit unit = stack_unit(1, &layer);
    ebb_study *s = study_of(&b, &unit);
    const double wide = 4 * b.rho_c / (6.283185307179586 * 6);
    near(s->band.useful[1] - s->band.useful[0], wide, 0.005 * wide);
    ebb_study_free(s);

    /* Nothing useful: a hard wall. */
    unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.01};
    s = study_of(&b, &unit);
    assert_true(isnan(s->band.useful[0]) && isnan(s->band.useful[1]));
    assert_false(s->band.inside);
    ebb_study_free(s);
    bench_close(&b);
}

static void test_mean_is_the_mean_of_the_curve(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = resonator(&b, 5, 47, 1.1);
    const ebb_unit unit = stack_unit(1, &layer);
    ebb_study *s = study_of(&b, &unit);
    double sum = 0;
    const int n = 3000; /* midpoints, much finer than the study's own steps */
    for (int i = 0; i < n; i++)
        sum += ebb_assembly_alpha(&unit.assembly, &b.air, 30 + 30 * (i + 0.5) / n);
    near(s->band.mean, sum / n, 1e-4);
    ebb_study_free(s);
    bench_close(&b);
}

static void test_columns_agree_with_each_other(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layers[2] = {{.kind = EBB_LAYER_MASS, .mass = 4}, wool(0.25, 5000)};
    const ebb_unit unit = stack_unit(2, layers);
    ebb_study *s = study_of(&b, &unit);
    assert_int_equal(s->table.n, 12);
    for (size_t i = 0; i < s->table.n; i++) {
        const double _Complex beta = b.rho_c / s->table.z[i];
        const double hz = s->table.hz[i];
        near(s->table.normal[i], ebb_alpha_normal(beta), 1e-12);
        near(s->table.diffuse[i], ebb_alpha_diffuse(beta), 1e-12);
        near(s->table.conductance[i], creal(beta), 1e-12);
        near(s->table.area[i], 0.72 * s->table.patch[i], 1e-12);
        near(s->table.patch[i], ebb_alpha_patch(beta, unit.face, &b.air, hz), 1e-12);
        near(s->table.transmitted[i], 0, 0);
        assert_true(i == 0 || hz > s->table.hz[i - 1]);
    }
    assert_non_null(s->table.bulk);
    near(s->fine.hz[0], 10, 1e-9);
    near(s->fine.hz[s->fine.n - 1], 400, 1e-6);
    ebb_study_free(s);
    bench_close(&b);
}

/* The table for plots takes the finite unit from interpolated radiation. */
static void test_fine_patch_is_near_the_exact_one(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = resonator(&b, 5, 47, 1);
    const ebb_unit unit = stack_unit(1, &layer);
    ebb_study *s = study_of(&b, &unit);
    for (size_t i = 3; i < s->fine.n; i += 25) {
        const double exact =
            ebb_alpha_patch(b.rho_c / s->fine.z[i], unit.face, &b.air, s->fine.hz[i]);
        near(s->fine.patch[i], exact, 0.01 * exact);
    }
    ebb_study_free(s);
    bench_close(&b);
}

static void test_walls_tell_what_leaves(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = {.kind = EBB_LAYER_MASS, .mass = 9};
    ebb_unit unit = stack_unit(1, &layer);
    unit.assembly.back = EBB_BACK_ROOM;
    ebb_study *s = study_of(&b, &unit);
    for (size_t i = 0; i < s->table.n; i++) {
        assert_true(s->table.transmitted[i] > 0);
        /* A limp mass takes nothing: what it absorbs goes through. */
        near(s->table.transmitted[i], s->table.normal[i], 1e-9);
    }
    ebb_study_free(s);
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_half_band_is_as_wide_as_the_mass_says),
        cmocka_unit_test(test_useful_band),
        cmocka_unit_test(test_mean_is_the_mean_of_the_curve),
        cmocka_unit_test(test_columns_agree_with_each_other),
        cmocka_unit_test(test_fine_patch_is_near_the_exact_one),
        cmocka_unit_test(test_walls_tell_what_leaves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
