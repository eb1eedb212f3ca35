/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Finite size and the depth limit.
 */
#include "../../src/layers/chain.h"

#include <ebb/bounds.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

#define HALF_PI (PI / 2)

static double hz_at(double k)
{
    return k * sample_air.speed / TWO_PI;
}

static void radiation_has_the_symmetry_of_the_rectangle(void **unused)
{
    (void)unused;
    uint64_t state = 5;
    for (int trial = 0; trial < 300; trial++) {
        const double side[2] = {draw_log(&state, 0.2, 5), draw_log(&state, 0.2, 5)};
        const double swapped[2] = {side[1], side[0]};
        const double hz = draw_log(&state, 1, 600);
        const double angle = HALF_PI * draw(&state), azimuth = HALF_PI * draw(&state);
        const double _Complex z = ebb_radiation(side, &sample_air, hz, angle, azimuth);
        assert_close(ebb_radiation(side, &sample_air, hz, angle, -azimuth), z, 1e-12);
        assert_close(ebb_radiation(side, &sample_air, hz, angle, PI - azimuth), z, 1e-11);
        assert_close(ebb_radiation(swapped, &sample_air, hz, angle, HALF_PI - azimuth), z, 1e-11);
        if (!(creal(z) > 0))
            fail_msg("%g x %g m at %g Hz: %g%+gj", side[0], side[1], hz, creal(z), cimag(z));
    }
}

/* Only the shape counted in wavelengths matters. */
static void radiation_scales(void **unused)
{
    (void)unused;
    const double one[2] = {0.6, 1.2}, ten[2] = {6, 12};
    for (double hz = 20; hz < 2000; hz *= 1.9)
        assert_close(ebb_radiation(one, &sample_air, hz, 0.7, 0.4),
                     ebb_radiation(ten, &sample_air, hz / 10, 0.7, 0.4), 1e-12);
}

/* The plain double integral with the singularity taken off, whose integral is known:
 * of 1/R over a rectangle a asinh(b/a) + b asinh(a/b). */
static double _Complex plain(const double side[2], double k, double angle, double azimuth, int n)
{
    const double a = side[0], b = side[1];
    const double kx = k * sin(angle) * cos(azimuth), ky = k * sin(angle) * sin(azimuth);
    double _Complex sum = 0;
    for (int i = 0; i < n; i++) {
        const double x = a * (i + 0.5) / n, part = (a - x) * cos(kx * x);
        for (int j = 0; j < n; j++) {
            const double y = b * (j + 0.5) / n, r = sqrt(x * x + y * y);
            sum += (part * (b - y) * cos(ky * y) * cexp(-I * k * r) - a * b) / r;
        }
    }
    sum *= a * b / ((double)n * n);
    sum += a * b * (a * asinh(b / a) + b * asinh(a / b));
    return 2 * I * k / (PI * a * b) * sum;
}

static void radiation_of_long_strips(void **unused)
{
    (void)unused;
    /* thirty to one, for which the plain integral needs its own strips: compare coarse and fine */
    const double strip[2] = {3, 0.1};
    for (double k = 0.5; k < 25; k *= 3) {
        const double _Complex z = ebb_radiation(strip, &sample_air, hz_at(k), 0.8, 0.5);
        const double coarse = cabs(plain(strip, k, 0.8, 0.5, 300) - z);
        const double fine = cabs(plain(strip, k, 0.8, 0.5, 900) - z);
        assert_true(fine < 3e-3 * cabs(z));
        assert_true(fine < 0.4 * coarse);
    }
}

static void radiation_changes_without_steps(void **unused)
{
    (void)unused;
    const double side[2] = {1.1, 0.7};
    double _Complex last = ebb_radiation(side, &sample_air, hz_at(0.01), 1.2, 0.6);
    for (double k = 0.0101; k < 90; k *= 1.01) {
        const double _Complex z = ebb_radiation(side, &sample_air, hz_at(k), 1.2, 0.6);
        assert_true(cabs(z - last) < 0.03 * cabs(z) + 0.01 * cabs(z) * k);
        /* one part in a million further on it is the same to that part */
        const double _Complex next =
            ebb_radiation(side, &sample_air, hz_at(k * (1 + 1e-6)), 1.2, 0.6);
        assert_close(next, z, 1e-4);
        last = z;
    }
}

/* Grazing at small size is still the same radiation; at large size it is large but finite. */
static void radiation_at_grazing(void **unused)
{
    (void)unused;
    const double side[2] = {1, 1};
    const double _Complex grazing = ebb_radiation(side, &sample_air, hz_at(0.01), HALF_PI, 0);
    assert_close(grazing, ebb_radiation(side, &sample_air, hz_at(0.01), 0, 0), 1e-4);
    const double _Complex large = ebb_radiation(side, &sample_air, hz_at(60), HALF_PI, 0);
    assert_true(cabs(large) > 3 && cabs(large) < 20);
}

static void masses_of_a_prototype(void **unused)
{
    (void)unused;
    /* computed by an independent prototype, to the digits given */
    static const double value[][3] = {
        {0.6, 1.2, 0.45}, {1.2, 1.2, 0.64}, {2.4, 1.2, 0.81}, {2.4, 2.4, 1.04}};
    for (int i = 0; i < 4; i++)
        assert_near(ebb_radiation_mass(value[i], &sample_air, 40), value[i][2], 0.0055);
}

/* In plain polar coordinates, with many points both ways. */
static double _Complex polar(const double side[2], double k, double angle, double azimuth)
{
    const double a = side[0], b = side[1], corner = atan2(b, a);
    const double kx = k * sin(angle) * cos(azimuth), ky = k * sin(angle) * sin(azimuth);
    const size_t pieces = 12;
    double _Complex sum = 0;
    for (int half = 0; half < 2; half++)
        for (size_t i = 0; i < 64 * pieces; i++) {
            const double low = half ? corner : 0, high = half ? HALF_PI : corner;
            const double step = (high - low) / pieces, start = low + step * (double)(i / 64);
            double turn, far;
            const double phi =
                ebb_layers_gauss_point(&ebb_layers_gauss64, i % 64, start, start + step, &turn);
            const double c = cos(phi), s = sin(phi), reach = half ? b / s : a / c;
            for (size_t n = 0; n < 128; n++) {
                const double r =
                    ebb_layers_gauss_point(&ebb_layers_gauss64, n % 64, n < 64 ? 0 : reach / 2,
                                           n < 64 ? reach / 2 : reach, &far);
                sum += turn * far * (a - r * c) * (b - r * s) * cos(kx * r * c) * cos(ky * r * s) *
                       cexp(-I * k * r);
            }
        }
    return 2 * I * k / (PI * a * b) * sum;
}

/* The promised accuracy, up to the size it is promised for. */
static void radiation_quadrature_has_converged(void **unused)
{
    (void)unused;
    static const double side[][2] = {{1, 1}, {1, 0.3}};
    for (int i = 0; i < 2; i++)
        for (double k = 2; k < 70; k *= 5.4)
            for (double angle = 0.05; angle < 1.6; angle += 0.75) {
                const double _Complex want = polar(side[i], k, angle, 0.4);
                assert_close(ebb_radiation(side[i], &sample_air, hz_at(k), angle, 0.4), want, 1e-6);
            }
}

/* Over the half space with another rule: more points over the angle, fixed steps round. */
static double patch_by_rule(double _Complex beta, const double side[2], double hz, int n)
{
    double sum = 0, weight;
    for (size_t i = 0; i < 64; i++) {
        const double angle = ebb_layers_gauss_point(&ebb_layers_gauss64, i, 0, HALF_PI, &weight);
        for (int j = 0; j < n; j++) {
            const double azimuth = HALF_PI * (j + 0.5) / n;
            const double _Complex zf = ebb_radiation(side, &sample_air, hz, angle, azimuth);
            sum += weight * sin(angle) / pow(cabs(1 / beta + zf), 2);
        }
    }
    return 4 * creal(1 / beta) / PI * sum * TWO_PI / n;
}

static void patch_quadrature_has_converged(void **unused)
{
    (void)unused;
    static const double _Complex beta[] = {0.3, 0.1 + 0.3 * I, 0.5 - I, 5 + 3 * I, 0.01};
    static const double side[][2] = {{0.6, 1.2}, {2.4, 1.2}, {4, 0.5}};
    static const double hz[] = {30, 80, 400};
    for (size_t i = 0; i < 5; i++)
        for (int s = 0; s < 3; s++) {
            const double want = patch_by_rule(beta[i], side[s], hz[s], 50);
            assert_near(ebb_alpha_patch(beta[i], side[s], &sample_air, hz[s]), want, 3e-5 * want);
        }
    const double large[2] = {1, 0.6};
    const double want = patch_by_rule(3, large, hz_at(60), 90);
    assert_near(ebb_alpha_patch(3, large, &sample_air, hz_at(60)), want, 3e-5 * want);
}

static void weak_absorbers_do_not_notice_size(void **unused)
{
    (void)unused;
    const double side[2] = {0.8, 1.3};
    assert_near(ebb_alpha_patch(1e-7 + 1e-7 * I, side, &sample_air, 60) / 8e-7, 1, 1e-5);
    assert_near(ebb_alpha_patch(0, side, &sample_air, 60), 0, 0);
    assert_near(ebb_alpha_patch(2 * I, side, &sample_air, 60), 0, 0);
}

/* A small baffled body takes at most lambda^2/2 pi out of a plane wave (any textbook on aerials and
 * resonators). From all sides at once that is twice as much in absorption area, lambda^2/pi: what
 * falls on a plane counts with the cosine, what a small body takes does not. */
static void small_bodies_reach_at_most_their_share(void **unused)
{
    (void)unused;
    uint64_t state = 31;
    for (int trial = 0; trial < 60; trial++) {
        const double size = draw_log(&state, 0.05, 0.3), side[2] = {size, size};
        const double k = 0.3 / size;
        const double _Complex zf = ebb_radiation(side, &sample_air, hz_at(k), 0, 0);
        /* the best any absorber does: its impedance is that of radiation, conjugated */
        const double best =
            size * size * ebb_alpha_patch(1 / conj(zf), side, &sample_air, hz_at(k));
        const double reach = pow(TWO_PI / k, 2) / PI;
        assert_near(best / reach, 1, 0.02);
        const double _Complex other =
            draw_log(&state, 0.01, 100) * cexp(I * PI * (draw(&state) - 0.5));
        const double area = size * size * ebb_alpha_patch(other, side, &sample_air, hz_at(k));
        assert_true(area < reach * 1.02);
    }
}

static void large_patches_are_endless(void **unused)
{
    (void)unused;
    static const double _Complex beta[] = {0.6, 0.3 + 0.3 * I, 3};
    double excess[2];
    for (int i = 0; i < 3; i++) {
        for (int n = 0; n < 2; n++) {
            const double side[2] = {n ? 6 : 3, n ? 6 : 3};
            excess[n] =
                ebb_alpha_patch(beta[i], side, &sample_air, 500) - ebb_alpha_diffuse(beta[i]);
        }
        assert_true(excess[1] > 0 && excess[1] < 0.15);
        /* edges: twice the size, half the excess or less */
        assert_true(excess[1] < 0.55 * excess[0]);
    }
}

/* A level absorption over a band: depth of air in m, computed by an independent prototype. */
static void depth_of_level_absorption(void **unused)
{
    (void)unused;
    static const double value[][5] = {{30, 60, 0.70, 0.174, 0.125},
                                      {30, 60, 0.90, 0.334, 0.238},
                                      {30, 60, 0.99, 0.667, 0.477},
                                      {30, 100, 0.90, 0.467, 0.334},
                                      {25, 80, 0.90, 0.551, 0.393}};
    for (int i = 0; i < 5; i++) {
        const double alpha[3] = {value[i][2], value[i][2], value[i][2]};
        const double hz[3] = {value[i][0], 45, value[i][1]};
        assert_near(ebb_depth_needed(&sample_air, 3, hz, alpha, 1), value[i][3], 6e-4);
        assert_near(ebb_depth_needed(&sample_air, 3, hz, alpha, 1.4), value[i][4], 6e-4);
    }
}

static void depth_needed_is_what_the_limit_gives(void **unused)
{
    (void)unused;
    const double hz[] = {20, 31, 45, 60, 90}, alpha[] = {0.1, 0.4, 1, 0.7, 0.2};
    const double used = ebb_depth_used(&sample_air, 5, hz, alpha);
    const double depth = ebb_depth_needed(&sample_air, 5, hz, alpha, 1.4);
    const double stiffness = sample_air.density * pow(sample_air.speed, 2) / 1.4;
    assert_true(isfinite(used) && used > 0);
    assert_near(ebb_depth_limit(depth / stiffness, &sample_air), used, 1e-12 * used);
    assert_near(ebb_depth_used(&sample_air, 1, hz, alpha), 0, 0);
    assert_near(ebb_depth_used(&sample_air, 0, NULL, NULL), 0, 0);
}

/* Boards and resistances over sealed air: nothing exceeds the limit of its depth. */
static void no_sealed_absorber_exceeds_the_limit(void **unused)
{
    (void)unused;
    enum { N = 6000 };
    static double hz[N], alpha[N];
    uint64_t state = 2024;
    double nearest = 0;
    for (int trial = 0; trial < 150; trial++) {
        const double depth = draw_log(&state, 0.03, 0.5);
        const ebb_layer layers[3] = {{.kind = EBB_LAYER_LUMPED,
                                      .mass = draw_log(&state, 0.5, 20),
                                      .resistance = draw_log(&state, 50, 3000)},
                                     {.kind = EBB_LAYER_AIR, .thickness = 0.5 * depth},
                                     {.kind = EBB_LAYER_AIR, .thickness = 0.5 * depth}};
        const ebb_assembly assembly = stack(layers, 3, EBB_BACK_RIGID);
        for (int i = 0; i < N; i++) {
            hz[i] = 0.2 * pow(1e5, (double)i / (N - 1));
            alpha[i] = ebb_assembly_alpha(&assembly, &sample_air, hz[i]);
        }
        const double stiffness = sample_air.density * pow(sample_air.speed, 2);
        const double share = ebb_depth_used(&sample_air, N, hz, alpha) /
                             ebb_depth_limit(depth / stiffness, &sample_air);
        if (!(share > 0 && share < 1.004))
            fail_msg("%g m deep: %g of the limit", depth, share);
        nearest = fmax(nearest, share);
    }
    assert_true(nearest > 0.98);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(radiation_has_the_symmetry_of_the_rectangle),
        cmocka_unit_test(radiation_scales),
        cmocka_unit_test(radiation_of_long_strips),
        cmocka_unit_test(radiation_changes_without_steps),
        cmocka_unit_test(radiation_at_grazing),
        cmocka_unit_test(masses_of_a_prototype),
        cmocka_unit_test(radiation_quadrature_has_converged),
        cmocka_unit_test(patch_quadrature_has_converged),
        cmocka_unit_test(weak_absorbers_do_not_notice_size),
        cmocka_unit_test(small_bodies_reach_at_most_their_share),
        cmocka_unit_test(large_patches_are_endless),
        cmocka_unit_test(depth_of_level_absorption),
        cmocka_unit_test(depth_needed_is_what_the_limit_gives),
        cmocka_unit_test(no_sealed_absorber_exceeds_the_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
