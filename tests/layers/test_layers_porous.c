/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Limits that the models of porous layers must reach.
 */
#include "../../src/layers/chain.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

static const ebb_layer wool = {.kind = EBB_LAYER_POROUS,
                               .thickness = 0.1,
                               .resistivity = 9000,
                               .porosity = 0.95,
                               .tortuosity = 1.1,
                               .frame_density = 40};

static void fluid(const ebb_layer *layer, double _Complex omega, double _Complex *density,
                  double _Complex *modulus)
{
    ebb_layers_porous(layer, &sample_air, layer->resistivity, omega, density, modulus);
}

static void slow_flow_is_resistive_and_isothermal(void **unused)
{
    (void)unused;
    double _Complex density, modulus;
    const double omega = 1e-3, stiffness = 1.205 * 343.2 * 343.2;
    fluid(&wool, omega, &density, &modulus);
    assert_close(I * omega * density, 9000, 1e-6);
    assert_close(modulus, stiffness / sample_air.gamma / 0.95, 1e-6);
}

static void fast_flow_is_inert_and_adiabatic(void **unused)
{
    (void)unused;
    double _Complex density, modulus;
    fluid(&wool, 1e12, &density, &modulus);
    assert_close(density, 1.1 * 1.205 / 0.95, 1e-3);
    assert_close(modulus, 1.205 * 343.2 * 343.2 / 0.95, 1e-3);
}

/* Explicit lengths equal to the defaults change nothing; others do. */
static void lengths_default_to_cylindrical_pores(void **unused)
{
    (void)unused;
    ebb_layer layer = wool;
    double _Complex density, modulus, density2, modulus2;
    fluid(&layer, 400, &density, &modulus);
    layer.viscous_length = sqrt(8 * 1.1 * sample_air.viscosity / (9000 * 0.95));
    layer.thermal_length = 2 * layer.viscous_length;
    fluid(&layer, 400, &density2, &modulus2);
    assert_close(density2, density, 1e-14);
    assert_close(modulus2, modulus, 1e-14);
    layer.viscous_length *= 2;
    layer.thermal_length *= 3;
    fluid(&layer, 400, &density2, &modulus2);
    assert_true(cabs(density2 - density) > 1e-3 * cabs(density));
    assert_true(cabs(modulus2 - modulus) > 1e-3 * cabs(modulus));
}

static void open_pores_are_air(void **unused)
{
    (void)unused;
    ebb_layer layer = wool;
    layer.resistivity = 10;
    layer.porosity = 1;
    layer.tortuosity = 1;
    layer.viscous_length = layer.thermal_length = 0.1;
    const ebb_layer gap = {.kind = EBB_LAYER_AIR, .thickness = 0.1};
    assert_close(impedance(&layer, 1, EBB_BACK_RIGID, TWO_PI * 200),
                 impedance(&gap, 1, EBB_BACK_RIGID, TWO_PI * 200), 0.02);
}

static void limp_frame_between_locked_and_rigid(void **unused)
{
    (void)unused;
    ebb_layer limp = wool;
    limp.model = EBB_POROUS_LIMP;
    double _Complex rigid, moving, modulus, modulus_limp;
    /* q: flow relative to the frame, u: frame; unit pressure gradient on the air and on the whole:
     * rigid q + rho u = 1, rho q + m u = 1, and the whole flow is q + u */
    const double rho = 1.205, m = 40 + 0.95 * rho;
    fluid(&wool, 500, &rigid, &modulus);
    fluid(&limp, 500, &moving, &modulus);
    const double _Complex determinant = rigid * m - rho * rho;
    const double _Complex q = (m - rho) / determinant, u = (rigid - rho) / determinant;
    assert_close(moving, 1 / (q + u), 1e-13);
    /* slow: flow and frame are locked together and move as one mass */
    fluid(&limp, 1e-4, &moving, &modulus);
    assert_close(moving, 40 + 0.95 * 1.205, 1e-6);
    /* a very heavy frame stands still */
    limp.frame_density = 3e9;
    fluid(&limp, 500, &moving, &modulus_limp);
    fluid(&wool, 500, &rigid, &modulus);
    assert_close(moving, rigid, 1e-6);
    assert_close(modulus_limp, modulus, 1e-15);
}

/* Miki's formula as printed, with f/sigma in SI (coefficients .0699, .107, .109, .160). */
static void miki_as_printed(void **unused)
{
    (void)unused;
    ebb_layer layer = wool;
    layer.model = EBB_POROUS_MIKI;
    double _Complex density, modulus;
    const double hz = 400, x = hz / 9000;
    const double _Complex z = 1 + (0.0699 - 0.107 * I) * pow(x, -0.632);
    const double _Complex k = 1 + (0.109 - 0.160 * I) * pow(x, -0.618);
    fluid(&layer, TWO_PI * hz, &density, &modulus);
    assert_close(csqrt(density * modulus) / (1.205 * 343.2), z, 2e-3); /* printed to 3 digits */
    assert_close(csqrt(density / modulus) * 343.2, k, 2e-3);
}

/* Below its range the formula is continued without a step and stays passive. */
static void miki_below_its_range(void **unused)
{
    (void)unused;
    ebb_layer layer = wool;
    layer.model = EBB_POROUS_MIKI;
    const double border = 1.06e-3 * 9000 * TWO_PI;
    double _Complex below[2], above[2];
    fluid(&layer, border * (1 - 1e-9), &below[0], &below[1]);
    fluid(&layer, border * (1 + 1e-9), &above[0], &above[1]);
    assert_close(below[0], above[0], 1e-8);
    assert_close(below[1], above[1], 1e-3);
    for (double hz = 0.01; hz < 1000; hz *= 1.1) {
        fluid(&layer, TWO_PI * hz, &below[0], &below[1]);
        assert_true(cimag(below[0]) < 0);
        assert_true(cimag(below[1]) >= 0 && creal(below[1]) > 0);
    }
}

/* At complex frequency every model continues its own values on the real axis. */
static void continued_from_the_real_axis(void **unused)
{
    (void)unused;
    for (int model = EBB_POROUS_JCA; model <= EBB_POROUS_MIKI; model++) {
        ebb_layer layer = wool;
        layer.model = (ebb_porous_model)model;
        const double w = TWO_PI * 300, h = 30;
        double _Complex density[5], modulus[5], got[2];
        for (int i = 0; i < 5; i++)
            fluid(&layer, w + (i - 2) * h, &density[i], &modulus[i]);
        fluid(&layer, w + I * h, &got[0], &got[1]);
        /* Lagrange through -2 .. 2 at j */
        double _Complex want[2] = {0, 0};
        for (int i = 0; i < 5; i++) {
            double _Complex weight = 1;
            for (int k = 0; k < 5; k++)
                if (k != i)
                    weight *= (I - (double)(k - 2)) / (double)(i - k);
            want[0] += weight * density[i];
            want[1] += weight * modulus[i];
        }
        assert_close(got[0], want[0], 1e-6);
        assert_close(got[1], want[1], 1e-6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slow_flow_is_resistive_and_isothermal),
        cmocka_unit_test(fast_flow_is_inert_and_adiabatic),
        cmocka_unit_test(lengths_default_to_cylindrical_pores),
        cmocka_unit_test(open_pores_are_air),
        cmocka_unit_test(limp_frame_between_locked_and_rigid),
        cmocka_unit_test(miki_as_printed),
        cmocka_unit_test(miki_below_its_range),
        cmocka_unit_test(continued_from_the_real_axis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
