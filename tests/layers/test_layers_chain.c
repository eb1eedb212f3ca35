/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Each kind of layer alone, and where one kind must go over into another.
 */
#include "../../src/layers/chain.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

#define RHO_C (1.205 * 343.2)

static const double _Complex omegas[] = {TWO_PI * 20, TWO_PI * 47 + 5 * I, TWO_PI * 80 + 40 * I,
                                         TWO_PI * 160 - 3 * I, TWO_PI * 900 + 1 * I};
#define OMEGAS (sizeof omegas / sizeof omegas[0])

static void scaled_sine_and_cosine(void **unused)
{
    (void)unused;
    for (double x = 0.01; x < 12; x *= 1.7)
        for (double y = -20; y <= 20; y += 2.5) {
            const double _Complex z = x + I * y;
            double _Complex sine, cosine;
            const double factor = ebb_layers_sincos(z, &sine, &cosine);
            assert_close(factor, exp(-fabs(y)), 1e-14);
            assert_close(sine, factor * csin(z), 1e-13);
            assert_close(cosine, factor * ccos(z), 1e-13);
        }
    double _Complex sine, cosine;
    assert_near(ebb_layers_sincos(1 + 900 * I, &sine, &cosine), 0, 0);
    assert_close(sine, 0.5 * (sin(1) + I * cos(1)), 1e-15); /* no overflow */
}

static void square_root_is_the_principal_one(void **unused)
{
    (void)unused;
    for (int i = 0; i < 64; i++) {
        const double angle = PI * (i - 31.5) / 32;
        const double _Complex z = pow(10, i - 30) * cexp(I * angle);
        assert_close(ebb_layers_root(z), csqrt(z), 1e-15);
    }
    assert_true(ebb_layers_root(0) == 0);
}

static void mass_is_j_omega_m(void **unused)
{
    (void)unused;
    const ebb_layer mass = {.kind = EBB_LAYER_MASS, .mass = 7};
    for (size_t i = 0; i < OMEGAS; i++)
        assert_close(impedance(&mass, 1, EBB_BACK_OUTDOORS, omegas[i]),
                     1 + 7 * I * omegas[i] / RHO_C, 1e-14);
}

static const ebb_layer board = {.kind = EBB_LAYER_PANEL,
                                .thickness = 0.0125,
                                .mass = 9,
                                .modulus = 2.5e9,
                                .poisson = 0.2,
                                .loss = 0.03,
                                .span = 0.6};

static double bending(const ebb_layer *panel)
{
    return panel->modulus * pow(panel->thickness, 3) / (12 * (1 - pow(panel->poisson, 2)));
}

/* Sum over the modes of the strip; what is left out after 2000 terms is below 1e-10. */
static double _Complex modal_impedance(const ebb_layer *panel, double _Complex omega)
{
    double _Complex y = 0;
    for (int n = 1; n < 4000; n += 2) {
        const double share = 8 / (PI * PI * n * n);
        const double wn2 = bending(panel) / panel->mass * pow(n * PI / panel->span, 4);
        y += share * I * omega / (panel->mass * (wn2 * (1 + I * panel->loss) - omega * omega));
    }
    return 1 / y;
}

static void panel_is_the_sum_of_its_modes(void **unused)
{
    (void)unused;
    for (size_t i = 0; i < OMEGAS; i++)
        assert_close(impedance(&board, 1, EBB_BACK_OUTDOORS, omegas[i]) - 1,
                     modal_impedance(&board, omegas[i]) / RHO_C, 1e-9);
}

/* Below the first mode the panel is a spring of 120 D / span^4 (static mean of a strip under even
 * load), and the two branches of the code agree where they meet. */
static void panel_is_a_spring_at_low_frequency(void **unused)
{
    (void)unused;
    ebb_layer panel = board;
    const double _Complex stiffness =
        120 * bending(&panel) * (1 + I * panel.loss) / pow(panel.span, 4);
    const double omega = TWO_PI * 0.02;
    assert_close(impedance(&panel, 1, EBB_BACK_OUTDOORS, omega) - 1,
                 stiffness / (I * omega) / RHO_C, 1e-6);

    panel.loss = 0;
    const double border = sqrt(1e-3 * 16 * bending(&panel) / panel.mass / pow(panel.span, 4));
    for (int side = -1; side <= 1; side += 2) {
        const double w = border * (1 + side * 1e-9);
        assert_close((impedance(&panel, 1, EBB_BACK_OUTDOORS, w) - 1) * w,
                     modal_impedance(&panel, w) * w / RHO_C, 1e-9);
    }
}

static void panel_is_limp_without_supports_and_far_above_the_modes(void **unused)
{
    (void)unused;
    ebb_layer panel = board;
    panel.span = 0;
    assert_close(impedance(&panel, 1, EBB_BACK_OUTDOORS, 300), 1 + 9 * I * 300 / RHO_C, 1e-14);
    panel.span = 25; /* first mode at 0.02 Hz */
    panel.loss = 0.3;
    const double _Complex limp = 9 * I * 300 / RHO_C;
    const double _Complex z = impedance(&panel, 1, EBB_BACK_OUTDOORS, 300) - 1;
    assert_close(z, limp, 0.05);
}

/* At a mode without loss the panel lets everything through instead of failing. */
static void panel_without_loss_at_its_mode(void **unused)
{
    (void)unused;
    ebb_layer panel = board;
    panel.loss = 0;
    const double hz = PI / 2 / (panel.span * panel.span) * sqrt(bending(&panel) / panel.mass);
    const ebb_assembly assembly = stack(&panel, 1, EBB_BACK_ROOM);
    assert_near(ebb_assembly_transmitted(&assembly, &sample_air, hz), 1, 1e-9);
}

static void air_gap_is_a_transmission_line(void **unused)
{
    (void)unused;
    const ebb_layer gap = {.kind = EBB_LAYER_AIR, .thickness = 0.35, .loss = 0.02};
    for (size_t i = 0; i < OMEGAS; i++) {
        const double _Complex root = csqrt(1 + 0.02 * I), kd = omegas[i] / 343.2 * 0.35 / root;
        assert_close(impedance(&gap, 1, EBB_BACK_RIGID, omegas[i]), -I * root / ctan(kd), 1e-12);
    }
    /* without loss it continues the room: free air behind stays free air */
    const ebb_layer free_gap = {.kind = EBB_LAYER_AIR, .thickness = 0.35};
    assert_close(impedance(&free_gap, 1, EBB_BACK_OUTDOORS, 500), 1, 1e-14);
}

static void thin_gap_is_a_lumped_spring(void **unused)
{
    (void)unused;
    const double depth = 1e-4, rho_c2 = 1.205 * 343.2 * 343.2;
    const ebb_layer gap[2] = {{.kind = EBB_LAYER_MASS, .mass = 5},
                              {.kind = EBB_LAYER_AIR, .thickness = depth, .loss = 0.01}};
    const ebb_layer spring = {
        .kind = EBB_LAYER_LUMPED, .mass = 5, .stiffness = rho_c2 / depth, .loss = 0.01};
    for (size_t i = 0; i < OMEGAS; i++) {
        const double _Complex line = impedance(gap, 2, EBB_BACK_RIGID, omegas[i]);
        assert_close(line, impedance(&spring, 1, EBB_BACK_RIGID, omegas[i]), 5e-4);
    }
}

static void screen_fixed_and_free(void **unused)
{
    (void)unused;
    ebb_layer screen = {.kind = EBB_LAYER_SCREEN, .resistance = 400};
    assert_close(impedance(&screen, 1, EBB_BACK_OUTDOORS, 300), 1 + 400 / RHO_C, 1e-14);
    screen.mass = 0.5;
    const double _Complex both = 1 / (1 / 400. + 1 / (I * 300 * 0.5));
    assert_close(impedance(&screen, 1, EBB_BACK_OUTDOORS, 300), 1 + both / RHO_C, 1e-14);
    screen.mass = 4000; /* too heavy to be dragged along */
    assert_close(impedance(&screen, 1, EBB_BACK_OUTDOORS, 300), 1 + 400 / RHO_C, 1e-3);
}

static void lumped_is_mass_damper_and_spring(void **unused)
{
    (void)unused;
    const ebb_layer lumped = {
        .kind = EBB_LAYER_LUMPED, .mass = 6, .resistance = 413, .stiffness = 4.8e5, .loss = 0.1};
    for (size_t i = 0; i < OMEGAS; i++) {
        const double _Complex jw = I * omegas[i];
        const double _Complex z = (6 * jw + 413 + 4.8e5 * (1 + 0.1 * I) / jw) / RHO_C;
        /* the spring stands on a rigid back; in front of another layer it is a series element */
        assert_close(impedance(&lumped, 1, EBB_BACK_RIGID, omegas[i]), z, 1e-14);
        const ebb_layer pair[2] = {lumped, {.kind = EBB_LAYER_AIR, .thickness = 0.2}};
        assert_close(impedance(pair, 2, EBB_BACK_RIGID, omegas[i]),
                     z - I / ctan(omegas[i] / 343.2 * 0.2), 1e-12);
        assert_close(impedance(&lumped, 1, EBB_BACK_OUTDOORS, omegas[i]), 1 + z, 1e-14);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scaled_sine_and_cosine),
        cmocka_unit_test(square_root_is_the_principal_one),
        cmocka_unit_test(mass_is_j_omega_m),
        cmocka_unit_test(panel_is_the_sum_of_its_modes),
        cmocka_unit_test(panel_is_a_spring_at_low_frequency),
        cmocka_unit_test(panel_is_limp_without_supports_and_far_above_the_modes),
        cmocka_unit_test(panel_without_loss_at_its_mode),
        cmocka_unit_test(air_gap_is_a_transmission_line),
        cmocka_unit_test(thin_gap_is_a_lumped_spring),
        cmocka_unit_test(screen_fixed_and_free),
        cmocka_unit_test(lumped_is_mass_damper_and_spring),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
