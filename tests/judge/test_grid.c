/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

static void points_are_24_an_octave_and_hold_the_midbands(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    ebb_grid grid;
    ebb_grid_make(&limits, 40, &grid);
    assert_int_equal(grid.n_cells, 57);
    assert_int_equal(grid.n_hz, 65);
    assert_int_equal(grid.first, 4);
    for (size_t k = 1; k < grid.n_hz; k++)
        assert_near(log10(grid.hz[k] / grid.hz[k - 1]), 0.3 / 24, 1e-14);
    assert_near(grid.hz[grid.first], pow(10, 1.6), 1e-12);         /* 40 Hz band: 39.81 Hz */
    assert_near(grid.hz[grid.first + 56], pow(10, 2.3), 1e-11);    /* 200 Hz band */
    assert_near(grid.hz[0], pow(10, 1.6) / pow(10, 0.05), 1e-12);  /* 1/6 octave below */
    assert_near(grid.hz[64], pow(10, 2.3) * pow(10, 0.05), 1e-11); /* and above */
    assert_int_equal(grid.n_bands, 6);
    for (size_t b = 0; b < 6; b++)
        assert_near(grid.band_hz[b], pow(10, 1.6 + 0.1 * (double)b), 1e-11);
    assert_near(grid.lowest, 40, 0);
    assert_near(grid.highest, 200, 0);
}

static void each_point_lies_in_its_band(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    const double half = pow(10, 0.05);
    for (double lowest = 20; lowest < 110; lowest *= 1.013) {
        ebb_grid grid;
        ebb_grid_make(&limits, lowest, &grid);
        assert_int_equal(grid.band[grid.first], 0);
        /* rounding to the nearest point moves an end by at most half a step */
        assert_true(fabs(log10(grid.hz[grid.first] / lowest)) <= 0.0125 / 2 + 1e-12);
        for (size_t k = 0; k < grid.n_hz; k++) {
            int b = grid.band[k];
            if (b >= 0) {
                assert_true(grid.hz[k] >= grid.band_hz[b] / half * (1 - 1e-12));
                assert_true(grid.hz[k] < grid.band_hz[b] * half * (1 - 1e-12));
            } else {
                assert_true(grid.hz[k] < grid.band_hz[0] / half * (1 - 1e-12) ||
                            grid.hz[k] > grid.band_hz[grid.n_bands - 1] * half * (1 - 1e-12));
            }
        }
    }
}

static void bands_end_with_the_cells(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    ebb_grid grid;
    limits.response_highest = 80;
    ebb_grid_make(&limits, 40, &grid);
    assert_int_equal(grid.n_bands, 4);
    assert_int_equal(grid.band[grid.first + grid.n_cells - 1], 3);
    limits.response_highest = 300;
    limits.decay_highest = 63;
    ebb_grid_make(&limits, 80, &grid);
    assert_int_equal(grid.n_bands, 0);
    assert_int_equal(grid.band[grid.first], -1);
}

static void one_cell_is_enough(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    ebb_grid grid;
    ebb_grid_make(&limits, 200, &grid);
    assert_int_equal(grid.n_cells, 1);
    assert_int_equal(grid.n_hz, 9);
}

static void impossible_grids_are_empty(void **state)
{
    (void)state;
    const double lowest[] = {0, -40, NAN, INFINITY, 1e-300, 201.5 * 1.02, 2};
    for (size_t i = 0; i < sizeof lowest / sizeof lowest[0]; i++) {
        ebb_limits limits = plain_limits();
        ebb_grid grid;
        ebb_grid_make(&limits, lowest[i], &grid);
        assert_int_equal(grid.n_cells, 0);
        assert_int_equal(grid.n_hz, 0);
        assert_int_equal(grid.n_bands, 0);
    }
    ebb_limits limits = plain_limits();
    ebb_grid grid;
    limits.response_highest = NAN;
    ebb_grid_make(&limits, 40, &grid);
    assert_int_equal(grid.n_cells, 0);
}

static ebb_grid usual_grid(void)
{
    ebb_limits limits = plain_limits();
    ebb_grid grid;
    ebb_grid_make(&limits, 40, &grid);
    return grid;
}

/* A free-field source: p = j w rho Q / (4 pi r), flat in the level that is judged. */
static void free_field_is_flat(void **state)
{
    (void)state;
    ebb_grid grid = usual_grid();
    double _Complex h[160];
    double level[160], distance = 2;
    for (size_t k = 0; k < grid.n_hz; k++) {
        double w = 2 * pi * grid.hz[k];
        h[k] = I * w * 1.2 / (4 * pi * distance) * cexp(-I * w / 343 * distance);
    }
    double mean = ebb_smooth_levels(&grid, 1.2, h, level);
    assert_near(mean, -20 * log10(4 * pi * distance), 1e-12);
    for (size_t c = 0; c < grid.n_cells; c++)
        assert_near(level[c], 0, 1e-12);
}

/* One point of power 1 + a over a floor of 1: the sliding mean weighs it 1/8, at its ends 1/16. */
static void one_spike_has_the_width_of_the_mean(void **state)
{
    (void)state;
    ebb_grid grid = usual_grid();
    double _Complex h[160];
    double level[160], a = 40;
    for (size_t k = 0; k < grid.n_hz; k++)
        h[k] = 2 * pi * grid.hz[k] * sqrt(k == 30 ? 1 + a : 1);
    double mean = ebb_smooth_levels(&grid, 1, h, level);
    double inner = 10 * log10(1 + a / 8), outer = 10 * log10(1 + a / 16);
    assert_near(mean, (7 * inner + 2 * outer) / 57, 1e-12);
    for (size_t c = 0; c < grid.n_cells; c++) {
        size_t k = c + grid.first, away = k > 30 ? k - 30 : 30 - k;
        double wanted = away > 4 ? 0 : away == 4 ? outer : inner;
        assert_near(level[c], wanted - mean, 1e-12);
    }
}

/* Third-octave power of a resonance, by fine quadrature on log f. */
static double fine_mean(double middle, double f0, double q)
{
    double sum = 0;
    int n = 4000;
    for (int i = 0; i < n; i++) {
        double f = middle * pow(10, 0.1 * ((i + 0.5) / n - 0.5));
        double detune = q * (f / f0 - f0 / f);
        sum += 1 / (1 + detune * detune);
    }
    return sum / n;
}

static void a_resonance_reads_as_its_third_octave_power(void **state)
{
    (void)state;
    ebb_grid grid = usual_grid();
    double _Complex h[160];
    double level[160], f0 = 71, q = 6;
    for (size_t k = 0; k < grid.n_hz; k++) {
        double detune = q * (grid.hz[k] / f0 - f0 / grid.hz[k]);
        h[k] = 2 * pi * grid.hz[k] / (1 + I * detune);
    }
    double mean = ebb_smooth_levels(&grid, 1, h, level);
    for (size_t c = 0; c < grid.n_cells; c++) {
        double wanted = 10 * log10(fine_mean(grid.hz[c + grid.first], f0, q));
        assert_near(level[c] + mean, wanted, 0.05);
    }
}

static void silence_and_nonsense_are_not_finite(void **state)
{
    (void)state;
    ebb_grid grid = usual_grid();
    double _Complex h[160] = {0};
    double level[160];
    assert_false(isfinite(ebb_smooth_levels(&grid, 1.2, h, level)));
    for (size_t k = 0; k < grid.n_hz; k++)
        h[k] = k == 9 ? NAN : 1;
    assert_false(isfinite(ebb_smooth_levels(&grid, 1.2, h, level)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_are_24_an_octave_and_hold_the_midbands),
        cmocka_unit_test(each_point_lies_in_its_band),
        cmocka_unit_test(bands_end_with_the_cells),
        cmocka_unit_test(one_cell_is_enough),
        cmocka_unit_test(impossible_grids_are_empty),
        cmocka_unit_test(free_field_is_flat),
        cmocka_unit_test(one_spike_has_the_width_of_the_mean),
        cmocka_unit_test(a_resonance_reads_as_its_third_octave_power),
        cmocka_unit_test(silence_and_nonsense_are_not_finite),
    };
    return cmocka_run_group_tests_name("grid", tests, NULL, NULL);
}
