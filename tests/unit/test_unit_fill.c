/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is behind the fronts of boxes that the label check tries: fill.c. */
#include "boxes.h"

#include "../../src/unit/private.h"

#include <complex.h>

static double _Complex alone(const bench *b, size_t n, const ebb_layer *layers, double hz)
{
    const ebb_unit unit = stack_unit(n, layers);
    return b->rho_c / ebb_assembly_beta(&unit.assembly, &b->air, NULL, 6.283185307179586 * hz);
}

/* Closed box of air: -j rho c cot(kd). */
static void test_air_is_a_closed_pipe(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_box box = {0};
    for (double hz = 20; hz < 250; hz *= 1.5) {
        const double omega = 6.283185307179586 * hz, kd = omega / b.air.speed * 0.25;
        const double _Complex z = ebb_unit_fill(&box, &b.air, 0.25, omega);
        near(creal(z), 0, 1e-6);
        near(cimag(z) * tan(kd) / -b.rho_c, 1, 1e-9);
    }
    bench_close(&b);
}

static void test_wool_and_grains_are_the_layers(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_box stiff = {.resistivity = 5000}, limp = {.resistivity = 9000, .frame = 30},
                  mixed = {.resistivity = 5000, .grains = 0.2}, full = {.grains = 1};
    ebb_layer layers[2] = {wool(0.25, 5000)};
    const double omega = 6.283185307179586 * 45;
    near(cabs(ebb_unit_fill(&stiff, &b.air, 0.25, omega) - alone(&b, 1, layers, 45)), 0, 1e-6);
    layers[0] = wool(0.25, 9000);
    layers[0].model = EBB_POROUS_LIMP;
    layers[0].frame_density = 30;
    near(cabs(ebb_unit_fill(&limp, &b.air, 0.25, omega) - alone(&b, 1, layers, 45)), 0, 1e-6);
    /* The favourable batch, at the back. */
    layers[0] = wool(0.2, 5000);
    layers[1] =
        (ebb_layer){.kind = EBB_LAYER_GRANULAR, .thickness = 0.05, .grains = EBB_UNIT_FAVOURABLE};
    near(cabs(ebb_unit_fill(&mixed, &b.air, 0.25, omega) - alone(&b, 2, layers, 45)), 0, 1e-6);
    layers[1].thickness = 0.25;
    near(cabs(ebb_unit_fill(&full, &b.air, 0.25, omega) - alone(&b, 1, layers + 1, 45)), 0, 1e-6);
    bench_close(&b);
}

static void test_ratios(void **state)
{
    (void)state;
    bench b = bench_open();
    near(ebb_unit_fill_ratio(EBB_FILL_AIR, &b.air), 1, 0);
    near(ebb_unit_fill_ratio(EBB_FILL_WOOL, &b.air), b.air.gamma, 0);
    near(ebb_unit_fill_ratio(EBB_FILL_UNSAID, &b.air), b.air.gamma, 0);
    /* The favourable batch: 7.25 at 30 Hz (computed), a little more at 25 Hz. */
    const double grains = ebb_unit_fill_ratio(EBB_FILL_GRAINS, &b.air);
    assert_true(grains > 7.2 && grains < 7.8);
    bench_close(&b);
}

/* Both ends of what carbon may be, at 30, 50 and 80 Hz, against the values of an independent
 * computation of the same model: gamma P0/K. */
static void test_the_two_batches(void **state)
{
    (void)state;
    bench b = bench_open();
    static const double HZ[3] = {30, 50, 80};
    const double _Complex good[3] = {7.25 - 1.60 * I, 6.62 - 2.35 * I, 5.59 - 2.96 * I},
                          poor[3] = {1.21 - 0.66 * I, 1.00 - 0.57 * I, 0.83 - 0.49 * I};
    for (int i = 0; i < 3; i++) {
        const double omega = 6.283185307179586 * HZ[i], depth = 1e-4;
        for (int k = 0; k < 2; k++) {
            const ebb_layer bed = {.kind = EBB_LAYER_GRANULAR,
                                   .thickness = depth,
                                   .grains = k == 0 ? EBB_UNIT_FAVOURABLE : EBB_UNIT_POOR};
            const double _Complex y = b.rho_c / alone(&b, 1, &bed, HZ[i]);
            const double _Complex ratio = y * b.air.speed / (I * omega * depth);
            /* Other air than that of the values, hence the slack. */
            near(cabs(ratio - (k == 0 ? good[i] : poor[i])), 0, k == 0 ? 0.08 : 0.03);
        }
    }
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_air_is_a_closed_pipe),
        cmocka_unit_test(test_wool_and_grains_are_the_layers),
        cmocka_unit_test(test_ratios),
        cmocka_unit_test(test_the_two_batches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
