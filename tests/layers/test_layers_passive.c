/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Properties that every assembly must have, tried on thousands of random ones: no energy is
 * created, no more goes through than goes in, and the admittance is analytic.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

static void describe(const ebb_assembly *assembly, char *text, size_t size)
{
    size_t used = 0;
    text[0] = 0;
    for (size_t i = 0; i < assembly->n_layers && used + 40 < size; i++)
        used += (size_t)snprintf(text + used, size - used, "%d(model %d) ",
                                 (int)assembly->layers[i].kind, (int)assembly->layers[i].model);
    snprintf(text + used, size - used, "back %d", (int)assembly->back);
}

static void passive_and_bounded(void **unused)
{
    (void)unused;
    uint64_t state = 88172645463325252ULL;
    ebb_layer layers[6];
    char text[400];
    for (int trial = 0; trial < 6000; trial++) {
        const ebb_assembly assembly = draw_assembly(&state, layers);
        assert_int_equal(ebb_assembly_check(NULL, &assembly), EBB_OK);
        for (int i = 0; i < 12; i++) {
            const double hz = draw_log(&state, 1, 2000);
            const double _Complex beta =
                ebb_assembly_beta(&assembly, &sample_air, NULL, TWO_PI * hz);
            const double alpha = ebb_assembly_alpha(&assembly, &sample_air, hz);
            const double through = ebb_assembly_transmitted(&assembly, &sample_air, hz);
            describe(&assembly, text, sizeof text);
            if (!(creal(beta) >= 0 && isfinite(cimag(beta))))
                fail_msg("%s at %g Hz: admittance %g%+gj", text, hz, creal(beta), cimag(beta));
            if (!(alpha >= 0 && alpha <= 1 + 1e-12))
                fail_msg("%s at %g Hz: absorbed %g", text, hz, alpha);
            if (!(through >= 0 && through <= alpha * (1 + 1e-6) + 1e-15))
                fail_msg("%s at %g Hz: transmitted %g of absorbed %g", text, hz, through, alpha);
            const double diffuse = ebb_alpha_diffuse(beta);
            if (!(diffuse >= 0 && diffuse <= 0.9513))
                fail_msg("%s at %g Hz: diffuse absorption %g", text, hz, diffuse);
        }
    }
}

static void lossless_walls_transmit_what_they_absorb(void **unused)
{
    (void)unused;
    uint64_t state = 362436069ULL;
    ebb_layer layers[6];
    int tried = 0;
    while (tried < 2000) {
        ebb_assembly assembly = draw_assembly(&state, layers);
        bool lossless = assembly.back != EBB_BACK_RIGID;
        for (size_t i = 0; i < assembly.n_layers; i++) {
            layers[i].loss = 0;
            if (layers[i].kind == EBB_LAYER_LUMPED)
                layers[i].resistance = 0;
            lossless = lossless &&
                       (layers[i].kind < EBB_LAYER_POROUS || layers[i].kind == EBB_LAYER_LUMPED);
        }
        if (!lossless)
            continue;
        tried++;
        const double hz = draw_log(&state, 1, 2000);
        const double alpha = ebb_assembly_alpha(&assembly, &sample_air, hz);
        const double through = ebb_assembly_transmitted(&assembly, &sample_air, hz);
        assert_near(through, alpha, 1e-9 + 1e-6 * alpha);
    }
}

/* Sound passes a wall equally well both ways. */
static void transmission_is_reciprocal(void **unused)
{
    (void)unused;
    uint64_t state = 521288629ULL;
    ebb_layer layers[6], reversed[6];
    for (int trial = 0; trial < 2000; trial++) {
        ebb_assembly assembly = draw_assembly(&state, layers);
        assembly.back = EBB_BACK_ROOM;
        for (size_t i = 0; i < assembly.n_layers; i++)
            reversed[i] = layers[assembly.n_layers - 1 - i];
        const ebb_assembly other = stack(reversed, assembly.n_layers, EBB_BACK_ROOM);
        const double hz = draw_log(&state, 5, 1000);
        const double there = ebb_assembly_transmitted(&assembly, &sample_air, hz);
        const double back = ebb_assembly_transmitted(&other, &sample_air, hz);
        assert_near(back, there, 1e-9 * there);
    }
}

static double _Complex beta_at(const ebb_assembly *assembly, double _Complex omega)
{
    return ebb_assembly_beta(assembly, &sample_air, NULL, omega);
}

/* Cauchy-Riemann: the derivative along the real axis is the one along the imaginary axis. Central
 * differences of fourth order; points where they can not resolve the function are not counted. */
static void analytic_at_complex_frequency(void **unused)
{
    (void)unused;
    uint64_t state = 2463534242ULL;
    ebb_layer layers[6];
    int counted = 0;
    for (int trial = 0; trial < 4000; trial++) {
        const ebb_assembly assembly = draw_assembly(&state, layers);
        bool miki = false; /* continued piecewise below its range */
        for (size_t i = 0; i < assembly.n_layers; i++)
            miki =
                miki || (layers[i].kind == EBB_LAYER_POROUS && layers[i].model == EBB_POROUS_MIKI);
        const double hz = miki ? draw_log(&state, 350, 1000) : draw_log(&state, 10, 300);
        const double _Complex omega = TWO_PI * hz + I * draw_log(&state, 1, 60);
        double _Complex slope[2];
        double error = 0;
        for (int way = 0; way < 2; way++) {
            const double _Complex h = (way ? I : 1) * 1e-3 * TWO_PI * hz;
            const double _Complex near =
                (beta_at(&assembly, omega + h / 2) - beta_at(&assembly, omega - h / 2)) / h;
            const double _Complex far =
                (beta_at(&assembly, omega + h) - beta_at(&assembly, omega - h)) / (2 * h);
            slope[way] = (4 * near - far) / 3;
            error = fmax(error, cabs(near - far) / cabs(near));
        }
        /* slope 0: only series layers on a rigid back, admittance 0 throughout */
        if (error > 1e-3 || cabs(slope[0]) == 0)
            continue;
        counted++;
        const double apart = cabs(slope[1] - slope[0]) / cabs(slope[0]);
        if (!(apart < 3e-5)) {
            char text[400];
            describe(&assembly, text, sizeof text);
            fail_msg("%s at %g Hz: slopes differ by %g", text, hz, apart);
        }
    }
    assert_true(counted > 3000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(passive_and_bounded),
        cmocka_unit_test(lossless_walls_transmit_what_they_absorb),
        cmocka_unit_test(transmission_is_reciprocal),
        cmocka_unit_test(analytic_at_complex_frequency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
