/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

/* A stage without a room behind it: modes at free frequencies, one path. */
static void lone_mode(stage *s, double hz, double t60, double _Complex residue)
{
    size_t m = s->modes.n++;
    s->mode[m] = (ebb_mode){.hz = hz, .delta = 3 * log(10) / t60, .t60 = t60};
    s->residue[m] = residue;
}

static double weight(double hz, double band)
{
    double q = 1 / (pow(10, 0.05) - pow(10, -0.05));
    return 1 / (1 + pow(q * (hz / band - band / hz), 6));
}

static double level_at(const stage *s, double band, double t)
{
    double sum = 0;
    for (size_t m = 0; m < s->modes.n; m++) {
        double w = weight(s->mode[m].hz, band), r = cabs(s->residue[m]);
        if (w >= 0.01)
            sum += w * r * r * exp(-2 * s->mode[m].delta * t) / (2 * s->mode[m].delta);
    }
    return 10 * log10(sum);
}

static double time_of(const stage *s, double band, double below)
{
    double low = 0, high = 1000, start = level_at(s, band, 0);
    for (int i = 0; i < 200; i++) {
        double t = (low + high) / 2;
        if (level_at(s, band, t) > start - below)
            low = t;
        else
            high = t;
    }
    return low;
}

/* The same reading by brute force: bisection and a line through 4000 samples. */
static double slow_decay(const stage *s, double band)
{
    double t0 = time_of(s, band, 5), t1 = time_of(s, band, 25);
    double n = 4000, sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (int i = 0; i < 4000; i++) {
        double t = t0 + (t1 - t0) * i / (n - 1), y = level_at(s, band, t);
        sx += t, sy += y, sxx += t * t, sxy += t * y;
    }
    return -60 / ((n * sxy - sx * sy) / (n * sxx - sx * sx));
}

static void one_mode_gives_its_own_decay_time(void **state)
{
    (void)state;
    const double t60[] = {1e-3, 0.08, 0.5, 3, 400};
    for (size_t i = 0; i < 5; i++) {
        stage s;
        stage_make(&s, 1, 1);
        lone_mode(&s, 66, t60[i], 3 - 4 * I);
        assert_near(ebb_band_decay(&s.modes, 0, 0, 63.0957), t60[i], t60[i] * 1e-9);
        /* heard less in the next band, but with the same decay */
        assert_near(ebb_band_decay(&s.modes, 0, 0, 79.433), t60[i], t60[i] * 1e-9);
    }
}

static void equal_modes_decay_as_one(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 1, 1);
    lone_mode(&s, 59, 0.7, 1);
    lone_mode(&s, 63, 0.7, 5 * I);
    lone_mode(&s, 69, 0.7, -0.2);
    assert_near(ebb_band_decay(&s.modes, 0, 0, 63.0957), 0.7, 1e-9);
}

static void two_modes_agree_with_brute_force(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 1, 1);
    lone_mode(&s, 60, 0.2, 1);
    lone_mode(&s, 66, 1.2, 0.15);
    double got = ebb_band_decay(&s.modes, 0, 0, 63.0957);
    assert_near(got, slow_decay(&s, 63.0957), 2e-3 * got);
    assert_true(got > 0.2 && got < 1.2);
}

static void many_modes_agree_with_brute_force(void **state)
{
    (void)state;
    uint32_t seed = 7;
    for (int round = 0; round < 40; round++) {
        stage s;
        stage_make(&s, 1, 1);
        double slowest = 0, fastest = INFINITY;
        for (int m = 0; m < 20; m++) {
            double t60 = 0.05 * pow(60, uniform(&seed));
            lone_mode(&s, 50 + 3 * m, t60, uniform(&seed) * cexp(6 * I * uniform(&seed)));
            if (weight(s.mode[m].hz, 79.4328) >= 0.01) {
                slowest = fmax(slowest, t60);
                fastest = fmin(fastest, t60);
            }
        }
        double got = ebb_band_decay(&s.modes, 0, 0, 79.4328);
        assert_near(got, slow_decay(&s, 79.4328), 3e-3 * got);
        assert_true(got >= fastest && got <= slowest);
    }
}

/* All rates doubled: half the time. All residues scaled: the same time. */
static void time_and_amplitude_scale(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 1, 1);
    for (int m = 0; m < 10; m++)
        lone_mode(&s, 70 + 2 * m, 0.1 + 0.15 * m, 1 + 0.3 * m * I);
    double first = ebb_band_decay(&s.modes, 0, 0, 79.4328);
    for (int m = 0; m < 10; m++)
        s.residue[m] *= 1e-7;
    assert_near(ebb_band_decay(&s.modes, 0, 0, 79.4328), first, 1e-9);
    for (int m = 0; m < 10; m++)
        s.mode[m].delta *= 2;
    assert_near(ebb_band_decay(&s.modes, 0, 0, 79.4328), first / 2, 1e-9);
}

static void paths_are_read_apart(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 2, 2);
    for (size_t m = 0; m < 4; m++) {
        lone_mode(&s, 60 + (double)m, 0.3 + 0.2 * (double)m, 0);
        s.residue[m] = 0;
    }
    /* path p hears only mode p */
    for (size_t m = 0; m < 4; m++)
        s.residue[m * 4 + m] = 1;
    for (size_t k = 0; k < 2; k++)
        for (size_t r = 0; r < 2; r++)
            assert_near(ebb_band_decay(&s.modes, k, r, 63.0957), 0.3 + 0.2 * (double)(2 * k + r),
                        1e-9);
}

static void no_mode_no_number(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 1, 1);
    assert_true(isnan(ebb_band_decay(&s.modes, 0, 0, 63.0957)));
    lone_mode(&s, 200, 1, 1);
    assert_true(isnan(ebb_band_decay(&s.modes, 0, 0, 63.0957)));
    s.modes.n = 0;
    lone_mode(&s, 63, 1, 0); /* there, but not heard */
    assert_true(isnan(ebb_band_decay(&s.modes, 0, 0, 63.0957)));
}

/* The border lies where the band filter passes a hundredth. */
static void far_modes_do_not_count(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 1, 1);
    const double band = 50.1187;
    for (double hz = 25; hz < 100; hz *= 1.01) {
        s.modes.n = 0;
        lone_mode(&s, hz, 1, 1);
        bool counts = weight(hz, band) >= 0.01;
        assert_int_equal(isnan(ebb_band_decay(&s.modes, 0, 0, band)), !counts);
    }
}

static void what_never_decays_is_infinite(void **state)
{
    (void)state;
    stage s;
    stage_make(&s, 1, 1);
    lone_mode(&s, 60, 0.4, 1);
    lone_mode(&s, 63, 0.4, 1);
    s.mode[1].delta = 0;
    assert_true(isinf(ebb_band_decay(&s.modes, 0, 0, 63.0957)));
    s.residue[1] = 0; /* not heard: does not matter */
    assert_near(ebb_band_decay(&s.modes, 0, 0, 63.0957), 0.4, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_mode_gives_its_own_decay_time),
        cmocka_unit_test(equal_modes_decay_as_one),
        cmocka_unit_test(two_modes_agree_with_brute_force),
        cmocka_unit_test(many_modes_agree_with_brute_force),
        cmocka_unit_test(time_and_amplitude_scale),
        cmocka_unit_test(paths_are_read_apart),
        cmocka_unit_test(no_mode_no_number),
        cmocka_unit_test(far_modes_do_not_count),
        cmocka_unit_test(what_never_decays_is_infinite),
    };
    return cmocka_run_group_tests_name("decay", tests, NULL, NULL);
}
