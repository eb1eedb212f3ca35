/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

#define RHO_C (1.205 * 343.2)

static void backs_without_layers(void **unused)
{
    (void)unused;
    ebb_assembly assembly = stack(NULL, 0, EBB_BACK_RIGID);
    assert_true(ebb_assembly_beta(&assembly, &sample_air, NULL, 300) == 0);
    assert_near(ebb_assembly_alpha(&assembly, &sample_air, 50), 0, 0);
    assembly.back = EBB_BACK_OUTDOORS; /* an open window */
    assert_close(ebb_assembly_beta(&assembly, &sample_air, NULL, 300), 1, 1e-15);
    assert_near(ebb_assembly_alpha(&assembly, &sample_air, 50), 1, 1e-15);
    assert_near(ebb_assembly_transmitted(&assembly, &sample_air, 50), 1, 1e-15);
}

static void order_runs_from_the_room_inwards(void **unused)
{
    (void)unused;
    const ebb_layer mass = {.kind = EBB_LAYER_MASS, .mass = 3};
    const ebb_layer gap = {.kind = EBB_LAYER_AIR, .thickness = 0.1};
    const ebb_layer mass_first[2] = {mass, gap}, gap_first[2] = {gap, mass};
    const double w = TWO_PI * 100, kd = w / 343.2 * 0.1;
    assert_close(impedance(mass_first, 2, EBB_BACK_RIGID, w), I * (w * 3 / RHO_C - 1 / tan(kd)),
                 1e-13);
    /* a mass on a rigid back does not move */
    assert_close(impedance(gap_first, 2, EBB_BACK_RIGID, w), -I / tan(kd), 1e-13);
}

static void constant_admittance(void **unused)
{
    (void)unused;
    const ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.01 + 0.02 * I};
    const ebb_variation vary = {3, 5, 1.5};
    assert_close(ebb_assembly_beta(&assembly, &sample_air, NULL, 99 + I), 0.01 + 0.02 * I, 1e-15);
    assert_close(ebb_assembly_beta(&assembly, &sample_air, &vary, 99), 0.015 + 0.03 * I, 1e-15);
    assert_near(ebb_assembly_transmitted(&assembly, &sample_air, 50), 0, 0);
    assert_near(ebb_assembly_mass(&assembly), 0, 0);
}

static void resonance_without_loss_is_finite(void **unused)
{
    (void)unused;
    /* stiffness = w^2 m without rounding: the impedance is exactly 0 */
    const ebb_layer layers[2] = {{.kind = EBB_LAYER_LUMPED, .mass = 1, .stiffness = 65536},
                                 {.kind = EBB_LAYER_AIR, .thickness = 0.1}};
    const ebb_assembly open = stack(layers, 1, EBB_BACK_OUTDOORS);
    assert_close(ebb_assembly_beta(&open, &sample_air, NULL, 256), 1, 1e-14);
    const ebb_layer tuned = {.kind = EBB_LAYER_AIR, .thickness = 343.2 / 4 / 50};
    const ebb_assembly quarter = stack(&tuned, 1, EBB_BACK_RIGID);
    const double _Complex beta = ebb_assembly_beta(&quarter, &sample_air, NULL, TWO_PI * 50);
    assert_true(creal(beta) >= 0 && isfinite(creal(beta)) && isfinite(cimag(beta)));
    assert_true(cabs(beta) > 1e10);
}

static void transmission_by_hand(void **unused)
{
    (void)unused;
    /* mass law at normal incidence */
    const ebb_layer mass = {.kind = EBB_LAYER_MASS, .mass = 20};
    const ebb_assembly wall = stack(&mass, 1, EBB_BACK_OUTDOORS);
    const double x = TWO_PI * 100 * 20 / (2 * RHO_C);
    assert_near(ebb_assembly_transmitted(&wall, &sample_air, 100), 1 / (1 + x * x), 1e-14);
    assert_near(ebb_assembly_alpha(&wall, &sample_air, 100), 1 / (1 + x * x), 1e-14);

    /* thick wool: impedance match in, decay, impedance match out; echoes inside are gone */
    ebb_layer wool = {.kind = EBB_LAYER_POROUS,
                      .thickness = 2,
                      .resistivity = 2e4,
                      .porosity = 0.97,
                      .tortuosity = 1,
                      .model = EBB_POROUS_MIKI};
    const ebb_assembly block = stack(&wool, 1, EBB_BACK_ROOM);
    const double hz = 500, mx = hz / 20;
    const double _Complex z = 1 + (5.50 - 8.43 * I) * pow(mx, -0.632);
    const double _Complex k = TWO_PI * hz / 343.2 * (1 + (7.81 - 11.41 * I) * pow(mx, -0.618));
    const double _Complex t = 4 * z / ((1 + z) * (1 + z)) * cexp(-I * k * 2);
    const double want = creal(t) * creal(t) + cimag(t) * cimag(t);
    assert_true(want < 1e-12 && want > 1e-30);
    assert_near(ebb_assembly_transmitted(&block, &sample_air, hz), want, 1e-9 * want);
}

static void variations_act_where_they_say(void **unused)
{
    (void)unused;
    ebb_layer layers[4] = {
        {.kind = EBB_LAYER_LUMPED, .mass = 5, .stiffness = 1e5, .resistance = 200, .loss = 0.1},
        {.kind = EBB_LAYER_SCREEN, .resistance = 150, .mass = 0.3},
        {.kind = EBB_LAYER_POROUS,
         .thickness = 0.05,
         .resistivity = 8e3,
         .porosity = 0.98,
         .tortuosity = 1},
        {.kind = EBB_LAYER_MASS, .mass = 2}};
    const ebb_assembly assembly = stack(layers, 4, EBB_BACK_OUTDOORS);
    const ebb_variation softer = {0.8, 1, 1}, looser = {1, 1.3, 1}, more = {1, 1, 1.4};
    const double w = TWO_PI * 60;
    const double _Complex plain = ebb_assembly_beta(&assembly, &sample_air, NULL, w);
    const double _Complex same = ebb_assembly_beta(&assembly, &sample_air, &EBB_NO_VARIATION, w);
    const double _Complex scaled = ebb_assembly_beta(&assembly, &sample_air, &more, w);
    const double _Complex soft = ebb_assembly_beta(&assembly, &sample_air, &softer, w);
    const double _Complex loose = ebb_assembly_beta(&assembly, &sample_air, &looser, w);
    assert_true(plain == same);
    assert_close(scaled, 1.4 * plain, 1e-15);
    assert_true(cabs(soft - plain) > 1e-3 * cabs(plain));

    layers[0].resistance *= 1.3;
    layers[1].resistance *= 1.3;
    layers[2].resistivity *= 1.3;
    assert_close(ebb_assembly_beta(&assembly, &sample_air, NULL, w), loose, 1e-14);
}

static void stiffness_varies_springs_and_cavities(void **unused)
{
    (void)unused;
    const ebb_variation softer = {0.8, 1, 1};
    const double w = TWO_PI * 60;
    ebb_layer spring = {.kind = EBB_LAYER_LUMPED, .mass = 5, .stiffness = 1e5, .loss = 0.1};
    const ebb_assembly sprung = stack(&spring, 1, EBB_BACK_OUTDOORS);
    const double _Complex soft = ebb_assembly_beta(&sprung, &sample_air, &softer, w);
    spring.stiffness *= 0.8;
    assert_close(ebb_assembly_beta(&sprung, &sample_air, NULL, w), soft, 1e-14);

    /* a shallow cavity is a spring: 20 % less stiffness is 25 % more depth */
    ebb_layer gap = {.kind = EBB_LAYER_AIR, .thickness = 0.02};
    const ebb_assembly cavity = stack(&gap, 1, EBB_BACK_RIGID);
    const double _Complex slack = ebb_assembly_beta(&cavity, &sample_air, &softer, w);
    gap.thickness = 0.025;
    assert_close(ebb_assembly_beta(&cavity, &sample_air, NULL, w), slack, 1e-3);
    gap = (ebb_layer){.kind = EBB_LAYER_POROUS,
                      .thickness = 0.02,
                      .resistivity = 1000,
                      .porosity = 0.98,
                      .tortuosity = 1};
    const double _Complex filled = ebb_assembly_beta(&cavity, &sample_air, &softer, w);
    gap.thickness = 0.025;
    assert_close(ebb_assembly_beta(&cavity, &sample_air, NULL, w), filled, 1e-2);
}

static void masses_add_up(void **unused)
{
    (void)unused;
    const ebb_layer layers[] = {{.kind = EBB_LAYER_PANEL, .mass = 9},
                                {.kind = EBB_LAYER_POROUS, .thickness = 0.1, .frame_density = 40},
                                {.kind = EBB_LAYER_AIR, .thickness = 0.1},
                                {.kind = EBB_LAYER_SCREEN, .resistance = 400, .mass = 0.2},
                                {.kind = EBB_LAYER_LUMPED, .mass = 6},
                                {.kind = EBB_LAYER_MASS, .mass = 1.5}};
    const ebb_assembly assembly = stack(layers, 6, EBB_BACK_RIGID);
    assert_near(ebb_assembly_mass(&assembly), 9 + 4 + 0.2 + 6 + 1.5, 1e-12);
}

/* Paris' integral by the midpoint rule in cos(angle), refined where the integrand is steep. */
static double diffuse_by_quadrature(double _Complex beta)
{
    const int n = 200000;
    double sum = 0;
    for (int i = 0; i < n; i++) {
        const double s = (i + 0.5) / n, mu = s * s * s; /* crowded towards grazing */
        const double _Complex sum_beta = mu + beta;
        const double size2 = creal(sum_beta) * creal(sum_beta) + cimag(sum_beta) * cimag(sum_beta);
        sum += 4 * mu * creal(beta) / size2 * 2 * mu * 3 * s * s / n;
    }
    return sum;
}

static void diffuse_absorption_is_paris_integral(void **unused)
{
    (void)unused;
    for (double size = 1e-6; size < 1e6; size *= 7)
        for (int i = 0; i <= 6; i++) {
            const double angle = PI / 2 * (1 - pow(10, -i)); /* towards the imaginary axis */
            const double _Complex beta = size * cexp(I * angle);
            const double want = diffuse_by_quadrature(beta);
            assert_near(ebb_alpha_diffuse(beta), want, 1e-8 * want);
            assert_near(ebb_alpha_diffuse(conj(beta)), want, 1e-8 * want);
        }
}

/* The branches of the code agree where they meet. */
static void diffuse_absorption_has_no_steps(void **unused)
{
    (void)unused;
    for (int i = 0; i < 30; i++) {
        const double angle = PI / 2 * i / 30;
        const double _Complex unit = cexp(I * angle);
        const double tiny[2] = {ebb_alpha_diffuse(unit * 0.999999e-15),
                                ebb_alpha_diffuse(unit * 1.000001e-15)};
        const double large[2] = {ebb_alpha_diffuse(unit * 19.99999999),
                                 ebb_alpha_diffuse(unit * 20.00000001)};
        assert_near(tiny[1] / tiny[0], 1, 1e-5);
        assert_near(large[1] / large[0], 1, 1e-8);
    }
    for (double g = 1e-3; g < 10; g *= 3) { /* nearly real */
        const double b = 1e-4 * (g * g + g);
        assert_near(ebb_alpha_diffuse(g + I * b * 0.9999) / ebb_alpha_diffuse(g + I * b * 1.0001),
                    1, 1e-7);
    }
    assert_near(ebb_alpha_diffuse(0), 0, 0);
    assert_near(ebb_alpha_diffuse(0.3 * I), 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(backs_without_layers),
        cmocka_unit_test(order_runs_from_the_room_inwards),
        cmocka_unit_test(constant_admittance),
        cmocka_unit_test(resonance_without_loss_is_finite),
        cmocka_unit_test(transmission_by_hand),
        cmocka_unit_test(variations_act_where_they_say),
        cmocka_unit_test(stiffness_varies_springs_and_cavities),
        cmocka_unit_test(masses_add_up),
        cmocka_unit_test(diffuse_absorption_is_paris_integral),
        cmocka_unit_test(diffuse_absorption_has_no_steps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
