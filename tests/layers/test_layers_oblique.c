/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Absorption at oblique and random incidence.
 */
#include "../../src/layers/chain.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

#define HALF_PI (PI / 2)
#define RHO_C (1.205 * 343.2)

static double alpha_of(double _Complex z, double angle)
{
    return 4 * creal(z) * cos(angle) / pow(cabs(z * cos(angle) + 1), 2);
}

static const ebb_layer wool = {.kind = EBB_LAYER_POROUS,
                               .thickness = 0.15,
                               .resistivity = 9000,
                               .porosity = 0.95,
                               .tortuosity = 1.1};

static void gauss_is_exact_for_polynomials(void **unused)
{
    (void)unused;
    const ebb_gauss *const rule[] = {&ebb_layers_gauss16, &ebb_layers_gauss64};
    for (int r = 0; r < 2; r++)
        for (int degree = 0; degree < (r ? 128 : 32); degree++) {
            double sum = 0;
            for (size_t i = 0; i < 2 * rule[r]->n; i++) {
                double weight;
                const double x = ebb_layers_gauss_point(rule[r], i, 1, 3, &weight);
                sum += weight * pow(x - 2, degree);
            }
            assert_near(sum, degree % 2 ? 0 : 2. / (degree + 1), 1e-14);
        }
}

/* Across a fluid: wave number and impedance written out. */
static void porous_layer_by_its_own_wave_number(void **unused)
{
    (void)unused;
    const ebb_assembly assembly = stack(&wool, 1, EBB_BACK_RIGID);
    for (double hz = 20; hz < 2000; hz *= 1.8)
        for (double angle = 0; angle < HALF_PI; angle += 0.2) {
            const double omega = TWO_PI * hz;
            double _Complex density, modulus;
            ebb_layers_fluid(&wool, &sample_air, &EBB_NO_VARIATION, omega, &density, &modulus);
            const double trace = omega / 343.2 * sin(angle);
            const double _Complex kz = csqrt(omega * omega * density / modulus - trace * trace);
            const double _Complex z = -I * omega * density / kz / ctan(kz * 0.15) / RHO_C;
            assert_near(ebb_assembly_oblique(&assembly, &sample_air, hz, angle, true),
                        alpha_of(z, angle), 1e-12);
        }
}

static void without_angle_both_are_normal_incidence(void **unused)
{
    (void)unused;
    uint64_t state = 99;
    ebb_layer layers[6];
    for (int trial = 0; trial < 500; trial++) {
        const ebb_assembly assembly = draw_assembly(&state, layers);
        const double hz = draw_log(&state, 5, 1000);
        const double want = ebb_assembly_alpha(&assembly, &sample_air, hz);
        assert_near(ebb_assembly_oblique(&assembly, &sample_air, hz, 0, false), want, 1e-12);
        assert_near(ebb_assembly_oblique(&assembly, &sample_air, hz, 0, true), want,
                    1e-9 + 1e-6 * want);
    }
}

/* Free air behind free air takes everything, at every angle. */
static void air_continues_the_room(void **unused)
{
    (void)unused;
    const ebb_layer gap = {.kind = EBB_LAYER_AIR, .thickness = 0.7};
    const ebb_assembly assembly = stack(&gap, 1, EBB_BACK_OUTDOORS);
    for (double angle = 0; angle < 1.57; angle += 0.157)
        assert_near(ebb_assembly_oblique(&assembly, &sample_air, 300, angle, true), 1, 1e-11);
    assert_true(ebb_assembly_oblique(&assembly, &sample_air, 300, 1.2, false) < 0.8);
}

/* Mass law at oblique incidence: the part that goes through a limp wall. */
static void limp_wall_by_hand(void **unused)
{
    (void)unused;
    const ebb_layer wall = {.kind = EBB_LAYER_MASS, .mass = 8};
    const ebb_assembly assembly = stack(&wall, 1, EBB_BACK_ROOM);
    for (double angle = 0; angle < 1.5; angle += 0.3) {
        const double x = TWO_PI * 90 * 8 * cos(angle) / (2 * RHO_C);
        assert_near(ebb_assembly_oblique(&assembly, &sample_air, 90, angle, true), 1 / (1 + x * x),
                    1e-12);
    }
}

static void oblique_absorption_is_passive(void **unused)
{
    (void)unused;
    uint64_t state = 777;
    ebb_layer layers[6];
    for (int trial = 0; trial < 4000; trial++) {
        const ebb_assembly assembly = draw_assembly(&state, layers);
        const double hz = draw_log(&state, 1, 2000), angle = HALF_PI * draw(&state);
        for (int bulk = 0; bulk < 2; bulk++) {
            const double alpha = ebb_assembly_oblique(&assembly, &sample_air, hz, angle, bulk);
            if (!(alpha >= 0 && alpha <= 1 + 1e-9))
                fail_msg("trial %d at %g Hz, %g rad, bulk %d: %g", trial, hz, angle, bulk, alpha);
        }
    }
    const ebb_assembly assembly = stack(&wool, 1, EBB_BACK_RIGID);
    const double grazing = ebb_assembly_oblique(&assembly, &sample_air, 50, HALF_PI - 1e-9, true);
    assert_true(grazing >= 0 && grazing < 1e-6);
}

/* 64 points have converged: to the closed form where there is one. */
static void local_diffuse_is_the_closed_form(void **unused)
{
    (void)unused;
    for (double size = 0.02; size < 20; size *= 1.5)
        for (double turn = -1.4; turn < 1.5; turn += 0.4) {
            const ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CONSTANT,
                                           .beta0 = size * cexp(I * turn)};
            const double want = ebb_alpha_diffuse(assembly.beta0);
            for (int bulk = 0; bulk < 2; bulk++)
                assert_near(ebb_assembly_diffuse(&assembly, &sample_air, 80, HALF_PI, bulk), want,
                            1e-6 * want);
        }
}

/* Up to any limit, against a plain sum; towards 0 it becomes normal incidence. */
static void diffuse_up_to_a_limit(void **unused)
{
    (void)unused;
    const ebb_layer layers[2] = {{.kind = EBB_LAYER_MASS, .mass = 2}, wool};
    const ebb_assembly assembly = stack(layers, 2, EBB_BACK_RIGID);
    for (int bulk = 0; bulk < 2; bulk++)
        for (double limit = 0.3; limit < 1.6; limit += 0.2) {
            const int n = 4000;
            double sum = 0;
            for (int i = 0; i < n; i++) {
                const double angle = limit * (i + 0.5) / n;
                sum += ebb_assembly_oblique(&assembly, &sample_air, 100, angle, bulk) *
                       sin(2 * angle) * limit / n;
            }
            assert_near(ebb_assembly_diffuse(&assembly, &sample_air, 100, limit, bulk),
                        sum / pow(sin(limit), 2), 1e-6);
        }
    assert_near(ebb_assembly_diffuse(&assembly, &sample_air, 100, 1e-4, true),
                ebb_assembly_alpha(&assembly, &sample_air, 100), 1e-6);
}

/* A highly resistive layer bends every wave towards the normal: both ways agree. */
static void dense_layers_are_local(void **unused)
{
    (void)unused;
    ebb_layer dense = wool;
    dense.resistivity = 2e5;
    const ebb_assembly thick = stack(&dense, 1, EBB_BACK_RIGID);
    const double local = ebb_assembly_diffuse(&thick, &sample_air, 100, HALF_PI, false);
    assert_near(ebb_assembly_diffuse(&thick, &sample_air, 100, HALF_PI, true), local, 0.02 * local);
    const ebb_layer gap = {.kind = EBB_LAYER_AIR, .thickness = 0.2, .loss = 0.1};
    const ebb_assembly hollow = stack(&gap, 1, EBB_BACK_RIGID);
    const double apart = ebb_assembly_diffuse(&hollow, &sample_air, 300, HALF_PI, false) /
                         ebb_assembly_diffuse(&hollow, &sample_air, 300, HALF_PI, true);
    assert_true(fabs(apart - 1) > 0.1);
}

/* Leaks beside the layers count at every angle. */
static void joints_count_at_every_angle(void **unused)
{
    (void)unused;
    ebb_assembly assembly = stack(NULL, 0, EBB_BACK_RIGID);
    assembly.beta0 = 0.1 + 0.05 * I;
    for (int bulk = 0; bulk < 2; bulk++)
        assert_near(ebb_assembly_oblique(&assembly, &sample_air, 100, 1, bulk),
                    alpha_of(1 / (0.1 + 0.05 * I), 1), 1e-13);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gauss_is_exact_for_polynomials),
        cmocka_unit_test(porous_layer_by_its_own_wave_number),
        cmocka_unit_test(without_angle_both_are_normal_incidence),
        cmocka_unit_test(air_continues_the_room),
        cmocka_unit_test(limp_wall_by_hand),
        cmocka_unit_test(oblique_absorption_is_passive),
        cmocka_unit_test(local_diffuse_is_the_closed_form),
        cmocka_unit_test(diffuse_up_to_a_limit),
        cmocka_unit_test(dense_layers_are_local),
        cmocka_unit_test(joints_count_at_every_angle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
