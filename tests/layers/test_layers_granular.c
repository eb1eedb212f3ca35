/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A bed of grains that take up gas.
 */
#include "../../src/layers/chain.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

static const ebb_air dry_air = {.temperature = 20,
                                .pressure = 101325,
                                .speed = 343.235,
                                .density = 1.2041,
                                .gamma = 1.4,
                                .viscosity = 1.825e-5,
                                .prandtl = 0.713};

static ebb_layer bed(double diameter, double uptake, double radius, double sorption_hz)
{
    return (ebb_layer){.kind = EBB_LAYER_GRANULAR,
                       .thickness = 0.1,
                       .grains = {.diameter = diameter,
                                  .bed_porosity = 0.4,
                                  .pore_share = 0.5,
                                  .uptake = uptake,
                                  .pore_radius = radius,
                                  .tortuosity = 3,
                                  .sorption_hz = sorption_hz,
                                  .bed_density = 500}};
}

/* gamma P0/K: how much more the bed gives way than as much air. */
static double _Complex give(const ebb_layer *layer, double _Complex omega)
{
    double _Complex density, modulus;
    ebb_layers_fluid(layer, &dry_air, &EBB_NO_VARIATION, omega, &density, &modulus);
    return dry_air.density * dry_air.speed * dry_air.speed / modulus;
}

/* Computed by an independent prototype of the same equations, to the digits given. */
static void values_of_a_prototype(void **unused)
{
    (void)unused;
    static const double hz[] = {30, 50, 80};
    static const struct {
        double diameter, uptake, radius, sorption_hz, resistivity;
        double re[3], im[3];
    } batch[] = {
        {1.5e-3, 5, 0.5e-6, 200, 8.2e3, {2.58, 2.02, 1.59}, {-1.65, -1.46, -1.28}},
        {0.8e-3, 8, 1.0e-6, 300, 29e3, {7.25, 6.62, 5.59}, {-1.60, -2.35, -2.96}},
        {3.0e-3, 2, 0.5e-6, 200, 2.1e3, {1.21, 1.00, 0.83}, {-0.66, -0.57, -0.49}},
    };
    for (size_t i = 0; i < 3; i++) {
        const ebb_layer layer =
            bed(batch[i].diameter, batch[i].uptake, batch[i].radius, batch[i].sorption_hz);
        assert_close(ebb_layers_bed_resistivity(&layer, &dry_air), batch[i].resistivity, 0.025);
        for (int k = 0; k < 3; k++) {
            const double _Complex ratio = give(&layer, TWO_PI * hz[k]);
            assert_near(creal(ratio), batch[i].re[k], 0.0055);
            assert_near(cimag(ratio), batch[i].im[k], 0.0055);
        }
    }
    const ebb_layer idle = bed(1.5e-3, 0, 0.5e-6, 0);
    assert_near(creal(give(&idle, TWO_PI * 30)), 0.97, 0.0055);
    assert_near(creal(give(&idle, TWO_PI * 50)), 0.95, 0.0055);
}

static void slow_pressure_reaches_everything(void **unused)
{
    (void)unused;
    const ebb_layer layer = bed(1.5e-3, 5, 0.5e-6, 200);
    /* air between the grains, air in the pores and what is taken up, all isothermal */
    assert_close(give(&layer, 1e-4), 1.4 * (0.4 + 0.6 * (0.5 + 5)), 1e-4);
}

static void fast_pressure_stays_outside(void **unused)
{
    (void)unused;
    const ebb_layer layer = bed(1.5e-3, 5, 0.5e-6, 200);
    assert_close(give(&layer, 1e10), 0.4, 2e-3);
    double _Complex density, modulus;
    ebb_layers_fluid(&layer, &dry_air, &EBB_NO_VARIATION, 1e10, &density, &modulus);
    assert_close(density, 1.2041 / pow(0.4, 1.5), 0.01);
}

/* Grains that let nothing in are a porous layer of solid spheres. */
static void solid_grains_are_a_porous_layer(void **unused)
{
    (void)unused;
    ebb_layer layer = bed(2e-3, 5, 0.5e-6, 200);
    layer.grains.pore_share = 0;
    const ebb_layer spheres = {.kind = EBB_LAYER_POROUS,
                               .thickness = 0.1,
                               .resistivity = ebb_layers_bed_resistivity(&layer, &dry_air),
                               .porosity = 0.4,
                               .tortuosity = 1 / sqrt(0.4),
                               .thermal_length = 0.4 * 2e-3 / 1.8};
    const ebb_assembly one = stack(&layer, 1, EBB_BACK_RIGID);
    const ebb_assembly other = stack(&spheres, 1, EBB_BACK_RIGID);
    for (double hz = 10; hz < 2000; hz *= 1.7) {
        const double _Complex omega = TWO_PI * hz + 3 * I;
        assert_close(ebb_assembly_beta(&one, &dry_air, NULL, omega),
                     ebb_assembly_beta(&other, &dry_air, NULL, omega), 1e-13);
    }
    layer.resistivity = 5000;
    assert_near(ebb_layers_bed_resistivity(&layer, &dry_air), 5000, 0);
    assert_true(ebb_assembly_alpha(&one, &dry_air, 100) !=
                ebb_assembly_alpha(&other, &dry_air, 100));
}

/* No energy comes out of a bed: its compressibility lags behind the pressure, its density too. */
static void every_bed_is_passive(void **unused)
{
    (void)unused;
    uint64_t state = 1234567;
    for (int trial = 0; trial < 5000; trial++) {
        ebb_layer layer = {.kind = EBB_LAYER_GRANULAR};
        draw_granular(&state, &layer);
        const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
        assert_int_equal(ebb_assembly_check(NULL, &assembly), EBB_OK);
        const double hz = draw_log(&state, 0.01, 1e4);
        double _Complex density, modulus;
        ebb_layers_fluid(&layer, &dry_air, &EBB_NO_VARIATION, TWO_PI * hz, &density, &modulus);
        if (!(cimag(modulus) > 0 && cimag(density) < 0 && creal(modulus) > 0))
            fail_msg("grains of %g m at %g Hz: modulus %g%+gj, density %g%+gj",
                     layer.grains.diameter, hz, creal(modulus), cimag(modulus), creal(density),
                     cimag(density));
        assert_true(ebb_assembly_beta(&assembly, &dry_air, NULL, TWO_PI * hz) != 0);
        assert_true(creal(ebb_assembly_beta(&assembly, &dry_air, NULL, TWO_PI * hz)) >= 0);
    }
}

/* More uptake and finer grains give way more at low frequency; both slowly changing. */
static void storage_follows_uptake_and_grain_size(void **unused)
{
    (void)unused;
    double last = 0;
    for (double uptake = 0; uptake <= 12; uptake += 0.25) {
        const ebb_layer layer = bed(1e-3, uptake, 1e-6, 200);
        const double now = creal(give(&layer, TWO_PI * 25));
        assert_true(now > last && now < last + 1);
        last = now;
    }
    for (double diameter = 0.4e-3; diameter < 5e-3; diameter *= 1.1) {
        const ebb_layer layer = bed(diameter, 5, 0.5e-6, 200);
        const double now = creal(give(&layer, TWO_PI * 40));
        assert_true(now < last);
        last = now;
    }
}

static void variations_act_on_flow_and_stiffness(void **unused)
{
    (void)unused;
    ebb_layer layer = bed(1.5e-3, 5, 0.5e-6, 200);
    const ebb_variation vary = {.stiffness = 1.3, .resistance = 0.7, .admittance = 1};
    double _Complex density, modulus, density2, modulus2;
    ebb_layers_fluid(&layer, &dry_air, &vary, 300, &density, &modulus);
    layer.resistivity = 0.7 * ebb_layers_bed_resistivity(&layer, &dry_air);
    ebb_layers_fluid(&layer, &dry_air, &EBB_NO_VARIATION, 300, &density2, &modulus2);
    assert_close(density, density2, 1e-14);
    assert_close(modulus, 1.3 * modulus2, 1e-14);
    const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
    assert_near(ebb_assembly_mass(&assembly), 50, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_of_a_prototype),
        cmocka_unit_test(slow_pressure_reaches_everything),
        cmocka_unit_test(fast_pressure_stays_outside),
        cmocka_unit_test(solid_grains_are_a_porous_layer),
        cmocka_unit_test(every_bed_is_passive),
        cmocka_unit_test(storage_follows_uptake_and_grain_size),
        cmocka_unit_test(variations_act_on_flow_and_stiffness),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
