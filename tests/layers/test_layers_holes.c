/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Sheets with holes and slits, and the ratio of Bessel functions under them.
 */
#include "../../src/layers/chain.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

/* Power series of I_nu(s) (2/s)^nu Gamma(nu + 1). */
static double _Complex power_series(double nu, double _Complex u)
{
    double _Complex term = 1, sum = 1;
    for (int k = 1; k < 120; k++) {
        term *= 0.25 * u / (k * (k + nu));
        sum += term;
    }
    return sum;
}

/* u along rays from the positive axis to 120 degrees, past where undamped sound lies (90). */
static void fraction_is_a_ratio_of_power_series(void **unused)
{
    (void)unused;
    for (int first = 3; first <= 6; first++)
        for (double size = 1e-6; size < 15; size *= 1.3)
            for (double turn = 0; turn < 2.1; turn += 0.26) {
                const double _Complex u = size * size * cexp(I * turn);
                const double nu = 0.5 * first;
                const double _Complex want =
                    u / first * power_series(nu, u) / power_series(nu - 1, u);
                assert_close(ebb_layers_fraction(first, u), want, 1e-11);
            }
}

static void fraction_far_out(void **unused)
{
    (void)unused;
    for (int first = 3; first <= 6; first++)
        for (double size = 15; size < 1e3; size *= 1.07)
            for (double turn = 0; turn < 1.9; turn += 0.26) {
                const double _Complex u = size * size * cexp(I * turn);
                double _Complex want = 0;
                for (int k = 5000; k >= 0; k--)
                    want = u / (first + 2 * k + want);
                assert_close(ebb_layers_fraction(first, u), want, 1e-13);
            }
    /* both sides of where one method takes over from the other */
    for (int first = 5; first <= 6; first++)
        assert_close(ebb_layers_fraction(first, 999.999999 * I),
                     ebb_layers_fraction(first, 1000.000001 * I), 3e-9);
}

static const ebb_layer sheet = {
    .kind = EBB_LAYER_PERFORATED, .thickness = 0.5e-3, .opening = 0.3e-3, .open_share = 0.01};
static const ebb_layer grating = {
    .kind = EBB_LAYER_SLITS, .thickness = 0.02, .opening = 1e-3, .open_share = 0.02};

static double _Complex holes(const ebb_layer *layer, double _Complex omega)
{
    return ebb_layers_holes(layer, &sample_air, &EBB_NO_VARIATION, omega);
}

/* Thickness alone: what is outside the openings falls out of the difference. */
static double _Complex inside(ebb_layer layer, double _Complex omega)
{
    const double _Complex thin = holes(&layer, omega);
    layer.thickness *= 2;
    return (holes(&layer, omega) - thin) * layer.open_share;
}

static void slow_flow_is_poiseuilles(void **unused)
{
    (void)unused;
    const double omega = 0.01, eta = sample_air.viscosity, rho = sample_air.density;
    const double _Complex round = inside(sheet, omega);
    assert_close(creal(round), 32 * eta * 0.5e-3 / (0.3e-3 * 0.3e-3), 1e-6);
    assert_close(cimag(round), 4. / 3 * omega * rho * 0.5e-3, 1e-6);
    const double _Complex slit = inside(grating, omega);
    assert_close(creal(slit), 12 * eta * 0.02 / 1e-6, 1e-6);
    assert_close(cimag(slit), 1.2 * omega * rho * 0.02, 1e-6);
}

static void fast_flow_has_boundary_layers(void **unused)
{
    (void)unused;
    const double omega = 1e8, eta = sample_air.viscosity, rho = sample_air.density;
    const double _Complex layer = csqrt(eta / (I * omega * rho)); /* complex thickness */
    assert_close(inside(sheet, omega), I * omega * rho * 0.5e-3 * (1 + 4 * layer / 0.3e-3), 3e-5);
    assert_close(inside(grating, omega), I * omega * rho * 0.02 * (1 + 2 * layer / 1e-3), 3e-5);
}

static void slit_is_the_closed_form(void **unused)
{
    (void)unused;
    for (double hz = 5; hz < 3000; hz *= 1.5) {
        const double _Complex omega = TWO_PI * hz + 5 * I;
        const double _Complex jwr = I * omega * sample_air.density;
        const double _Complex s = 0.5e-3 * csqrt(jwr / sample_air.viscosity);
        const double _Complex want = jwr * 0.018 / (1e-3 * 3.6) / (1 - ctanh(s) / s);
        assert_close(ebb_layers_slit(&sample_air, 1e-3, 0.018, 3.6, omega), want, 1e-11);
        assert_close(inside(grating, omega), jwr * 0.02 / (1 - ctanh(s) / s), 1e-10);
    }
    assert_close(ebb_layers_slit(&sample_air, 0.3e-3, 0.018, 3.6, 0.01),
                 12 * sample_air.viscosity * 0.018 / (2.7e-11 * 3.6), 1e-4);
}

/*
 * The air outside slits by the energy of an assumed flow through a thin grating, v(x) as
 * 1/sqrt((g/2)^2 - x^2), exact for narrow slits and never too low (Rayleigh): length of air
 * (2 b/pi) sum J_0(pi n share)^2/n over the whole area, pitch b.
 */
static void air_outside_slits(void **unused)
{
    (void)unused;
    for (double share = 0.02; share < 0.5; share *= 1.5) {
        ebb_layer layer = grating;
        layer.open_share = share;
        layer.thickness = 1e-9;
        layer.opening = 0.05; /* wide, so that friction is nothing */
        const double omega = 1e4;
        const double length = cimag(holes(&layer, omega)) / (omega * sample_air.density);
        double sum = 0;
        for (int n = 1; n < 200000; n++)
            sum += pow(j0(PI * n * share), 2) / n;
        const double most = 2 * 0.05 / share / PI * sum;
        if (!(length < most * 1.001 && length > most * 0.94))
            fail_msg("share %g: %g m of air, at most %g", share, length, most);
    }
}

/* Neighbours share the air outside: 0.85 d when far apart, nothing when there is no sheet left. */
static void air_outside_holes(void **unused)
{
    (void)unused;
    ebb_layer layer = sheet;
    layer.thickness = 1e-9;
    layer.opening = 0.02;
    double last = 1;
    for (double share = 1e-5; share < 1; share *= 1.3) {
        layer.open_share = share;
        const double omega = 1e4;
        const double length = cimag(holes(&layer, omega)) * share / (omega * sample_air.density);
        const double ratio = length / (0.85 * 0.02);
        assert_true(ratio < last && ratio > 0);
        if (share < 2e-5)
            assert_near(ratio, 1, 0.007);
        last = ratio;
    }
    assert_true(last < 0.2);
}

static void free_sheet_is_dragged_along(void **unused)
{
    (void)unused;
    ebb_layer layer = sheet;
    for (double hz = 20; hz < 2000; hz *= 2) {
        const double _Complex omega = TWO_PI * hz + 2 * I, still = holes(&sheet, omega);
        layer.mass = 0.4;
        assert_close(holes(&layer, omega), 1 / (1 / still + 1 / (I * omega * 0.4)), 1e-13);
        layer.mass = 4000;
        assert_close(holes(&layer, omega), still, 2e-2);
    }
    const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
    assert_near(ebb_assembly_mass(&assembly), 4000, 1e-9);
}

static void resistance_varies_the_friction_alone(void **unused)
{
    (void)unused;
    const ebb_variation vary = {.stiffness = 2, .resistance = 1.4, .admittance = 1};
    const double omega = 0.1;
    for (int i = 0; i < 2; i++) {
        const ebb_layer *layer = i ? &sheet : &grating;
        const double _Complex z = ebb_layers_holes(layer, &sample_air, &vary, omega);
        assert_close(creal(z), 1.4 * creal(holes(layer, omega)), 1e-12);
        assert_true(cimag(z) < 1.2 * cimag(holes(layer, omega)));
    }
}

static void every_opening_is_passive(void **unused)
{
    (void)unused;
    uint64_t state = 424242;
    for (int trial = 0; trial < 5000; trial++) {
        ebb_layer layer = {.kind = trial % 2 ? EBB_LAYER_SLITS : EBB_LAYER_PERFORATED};
        draw_openings(&state, &layer);
        const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_ROOM);
        assert_int_equal(ebb_assembly_check(NULL, &assembly), EBB_OK);
        const double hz = draw_log(&state, 1, 2000);
        const double _Complex z = holes(&layer, TWO_PI * hz);
        if (!(creal(z) > 0 && cimag(z) > 0))
            fail_msg("openings of %g m at %g Hz: %g%+gj", layer.opening, hz, creal(z), cimag(z));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fraction_is_a_ratio_of_power_series),
        cmocka_unit_test(fraction_far_out),
        cmocka_unit_test(slow_flow_is_poiseuilles),
        cmocka_unit_test(fast_flow_has_boundary_layers),
        cmocka_unit_test(slit_is_the_closed_form),
        cmocka_unit_test(air_outside_slits),
        cmocka_unit_test(air_outside_holes),
        cmocka_unit_test(free_sheet_is_dragged_along),
        cmocka_unit_test(resistance_varies_the_friction_alone),
        cmocka_unit_test(every_opening_is_passive),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
