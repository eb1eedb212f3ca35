/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Finite size and the depth limit against closed forms, limits and a plain double integral.
 */
#include <ebb/bounds.h>
#include <ebb/layers.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

#define PI 3.14159265358979323846

static const ebb_air air = {.temperature = 20,
                            .humidity = 0.5,
                            .pressure = 101325,
                            .speed = 343.2,
                            .density = 1.205,
                            .gamma = 1.4,
                            .viscosity = 1.84e-5,
                            .prandtl = 0.71};

static double hz_at(double k)
{
    return k * air.speed / (2 * PI);
}

static void large_rectangles(void **unused)
{
    (void)unused;
    static const double degrees[] = {0, 30, 60}, tolerance[] = {2e-3, 0.01, 0.05};
    const double side[2] = {1, 1};
    char what[100];
    for (int i = 0; i < 3; i++) {
        const double angle = degrees[i] * PI / 180;
        snprintf(what, sizeof what,
                 "radiation resistance over rho c of a square, k a = 150, %g deg", degrees[i]);
        outside_value(what, "1/cos(angle), the endless plane, any textbook", 1 / cos(angle),
                      creal(ebb_radiation(side, &air, hz_at(150), angle, 0.3)), tolerance[i]);
    }
}

static void small_rectangles(void **unused)
{
    (void)unused;
    const double sides[][2] = {{1, 1}, {2, 0.5}, {0.4, 2.5}};
    char what[100];
    for (int i = 0; i < 3; i++) {
        snprintf(what, sizeof what, "radiation resistance over k^2 S/2 pi, %g x %g, small",
                 sides[i][0], sides[i][1]);
        outside_value(what, "1: point source on a plane, any textbook", 1,
                      creal(ebb_radiation(sides[i], &air, hz_at(0.01), 0.9, 0.3)) * 2 * PI /
                          (1e-4 * sides[i][0] * sides[i][1]),
                      1e-4);
    }
    const double reactance = cimag(ebb_radiation(sides[0], &air, hz_at(1e-3), 0, 0)) / 1e-3;
    /* the integral of (1 - x)(1 - y)/R over the unit square, by hand */
    const double integral = 2 * (log(1 + sqrt(2)) - (sqrt(2) - 1) / 3);
    outside_value("radiation reactance over k side of a small square",
                  "(2/pi) times the integral of (1-x)(1-y)/R, done by hand", integral / PI,
                  reactance, 1e-6);
    outside_value("the same", "0.4732, evaluated separately", 0.4732, reactance, 5e-5);
    outside_value("mass of air on a small square over that on a circle of its area",
                  "Rayleigh: 8 rho a/3 pi for the circle, any textbook; no shape has more", 0.99,
                  reactance / (8 / (3 * PI * sqrt(PI))), 0.01);
}

/* The double integral as it stands, by midpoints; only the singularity at the corner is taken off,
 * whose integral over the rectangle is a asinh(b/a) + b asinh(a/b). */
static double _Complex plain(const double side[2], double k, double angle, double azimuth)
{
    const int n = 700;
    const double a = side[0], b = side[1];
    const double kx = k * sin(angle) * cos(azimuth), ky = k * sin(angle) * sin(azimuth);
    double re = 0, im = 0;
    for (int i = 0; i < n; i++) {
        const double x = a * (i + 0.5) / n, part = (a - x) * cos(kx * x);
        for (int j = 0; j < n; j++) {
            const double y = b * (j + 0.5) / n, r = sqrt(x * x + y * y);
            const double size = part * (b - y) * cos(ky * y);
            re += (size * cos(k * r) - a * b) / r;
            im -= size * sin(k * r) / r;
        }
    }
    const double cell = a * b / ((double)n * n);
    const double corner = a * b * (a * asinh(b / a) + b * asinh(a / b));
    return 2 * I * k / (PI * a * b) * (re * cell + corner + I * im * cell);
}

static void brute_force(void **unused)
{
    (void)unused;
    const double side[2] = {0.6, 1.2};
    double worst = 0;
    for (double k = 0.3; k < 20; k *= 3)
        for (double angle = 0.1; angle < 1.5; angle += 0.65) {
            const double _Complex want = plain(side, k, angle, 0.5);
            const double _Complex got = ebb_radiation(side, &air, hz_at(k), angle, 0.5);
            worst = fmax(worst, cabs(got - want) / cabs(want));
        }
    outside_below("radiation impedance of 0.6 x 1.2 m, relative error",
                  "Thomasson 1980, Acustica 44 (abstract): double integral by 490000 midpoints",
                  1e-5, worst);
}

/* The edges take their share, which falls by the same factor with each doubling of size, as good
 * as: extrapolated from three sizes (Aitken). */
static void large_patch(void **unused)
{
    (void)unused;
    static const double z[][2] = {{1, 0}, {1.567, 0}, {1, 1}}, endless[] = {.9096, .9512, .7811};
    static const double side[3][2] = {{10, 10}, {20, 20}, {40, 40}};
    char what[100];
    for (int i = 0; i < 3; i++) {
        const double _Complex beta = 1 / (z[i][0] + I * z[i][1]);
        double alpha[3];
        for (int k = 0; k < 3; k++)
            alpha[k] = ebb_alpha_patch(beta, side[k], &air, 100);
        const double first = alpha[1] - alpha[0], second = alpha[2] - alpha[1];
        snprintf(what, sizeof what, "absorption of a square growing without end, z = %g%+gj",
                 z[i][0], z[i][1]);
        outside_value(what, "Paris' integral by quadrature; closed form Vigran 2008, eq. 3.80",
                      endless[i], alpha[2] - second * second / (second - first), 0.025);
    }
}

/* Matched to the radiation, a small body takes the power of lambda^2/2 pi out of a plane wave; in
 * absorption area from all sides that is twice as much. */
static void small_body(void **unused)
{
    (void)unused;
    const double side[2] = {0.1, 0.1};
    const double _Complex radiation = ebb_radiation(side, &air, 50, 0, 0);
    const double wavelength = air.speed / 50;
    outside_value("most absorption area of a small body in a wall at 50 Hz, m2",
                  "lambda^2/pi, from lambda^2/2 pi per plane wave, any textbook",
                  wavelength * wavelength / PI,
                  0.01 * ebb_alpha_patch(1 / conj(radiation), side, &air, 50), 0.02);
}

/* Used over available for a mass on a spring with viscous damping on a rigid back. */
static double share_used(double r)
{
    enum { N = 200000 };
    static double hz[N], alpha[N];
    const double f0 = 50, m = 5;
    const ebb_layer layer = {.kind = EBB_LAYER_LUMPED,
                             .mass = m,
                             .resistance = r * air.density * air.speed,
                             .stiffness = m * pow(2 * PI * f0, 2)};
    const ebb_assembly assembly = {.n_layers = 1, .layers = &layer};
    for (int i = 0; i < N; i++) {
        hz[i] = f0 * exp(-14 + 28 * (i + 0.5) / N);
        alpha[i] = ebb_assembly_alpha(&assembly, &air, hz[i]);
    }
    return ebb_depth_used(&air, N, hz, alpha) / ebb_depth_limit(1 / layer.stiffness, &air);
}

static void depth_limit(void **unused)
{
    (void)unused;
    static const double r[] = {1, 1.5, 3, 0.6}, share[] = {1, 1, 1, 0.6};
    char what[100];
    for (int i = 0; i < 4; i++) {
        snprintf(what, sizeof what, "depth limit, used over available, resonator with r = %g",
                 r[i]);
        outside_value(what,
                      "Yang et al. 2017, Mater. Horiz. 4, 673-680 (abstract); contour integral",
                      share[i], share_used(r[i]), 2e-3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(large_rectangles), cmocka_unit_test(small_rectangles),
        cmocka_unit_test(brute_force),      cmocka_unit_test(large_patch),
        cmocka_unit_test(small_body),       cmocka_unit_test(depth_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
