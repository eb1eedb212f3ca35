/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Moving fronts: front.c. */
#include "boxes.h"

#include <complex.h>

static void test_the_outermost_layer_of_a_stack(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layers[2] = {{.kind = EBB_LAYER_MASS, .mass = 5}, wool(0.25, 5000)};
    const ebb_unit unit = stack_unit(2, layers);
    ebb_study *s = study_of(&b, &unit);
    assert_int_equal(s->n_fronts, 1);
    const ebb_front_view *f = &s->front[0];
    for (size_t i = 0; i < s->table.n; i++) {
        const double omega = 6.283185307179586 * s->table.hz[i];
        near(cabs(f->velocity[i] * s->table.z[i] - 1), 0, 1e-9);
        /* Newton's law over the mass: 1 - p = j w m v. */
        const double _Complex left = 1 - f->pressure[i] - I * omega * 5 * f->velocity[i];
        near(cabs(left), 0, 1e-9);
    }
    near(f->mass, 5, 1e-12);
    assert_true(isnan(f->mount_hz));
    assert_null(f->centre);
    ebb_study_free(s);
    bench_close(&b);
}

static void test_a_mount_of_its_own(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layers[2] = {resonator(&b, 5, 12, 0), wool(0.25, 5000)};
    ebb_unit unit = stack_unit(2, layers);
    ebb_study *s = study_of(&b, &unit);
    near(s->front[0].mount_hz, 12, 1e-9);
    ebb_study_free(s);
    /* Alone, its spring is the cavity, and nothing is known behind it. */
    unit.assembly.n_layers = 1;
    s = study_of(&b, &unit);
    assert_true(isnan(s->front[0].mount_hz));
    assert_null(s->front[0].pressure);
    ebb_study_free(s);
    bench_close(&b);
}

static void test_porous_units_have_no_front(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = wool(0.2, 12000);
    const ebb_unit unit = stack_unit(1, &layer);
    ebb_study *s = study_of(&b, &unit);
    assert_int_equal(s->n_fronts, 0);
    ebb_study_free(s);
    bench_close(&b);
}

static void test_fronts_of_a_cabinet(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    x.cabinet.rigid = true;
    x.cell.front[0].mount.loss = 0;
    x.cell.front[1] = x.cell.front[0];
    x.cell.front[1].mass = 8;
    x.cell.n_fronts = 2;
    x.cell.gap = 0.03;
    x.fill[0].thickness = 0.2;
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    assert_int_equal(s->n_fronts, 2);
    near(s->front[0].mount_hz, 8, 0.01);
    near(s->front[1].mount_hz, 8 * sqrt(4.2 / 8), 0.01);
    const double share = 0.57 * 1.17 / (0.6 * 1.2);
    for (size_t i = 0; i < s->table.n; i++) {
        const double omega = 6.283185307179586 * s->table.hz[i];
        const ebb_front_view *f = s->front;
        /* All that flows into the face goes through the outer front. */
        near(cabs(f[0].velocity[i] * share * s->table.z[i] - 1), 0, 1e-6);
        /* Newton over the inner front: what is before it less what is behind it moves it. The gap
         * is shallow, so that its pressure hardly differs from one side to the other. */
        const double spring = 8 * pow(6.283185307179586 * f[1].mount_hz, 2);
        const double _Complex z = I * (omega * 8 - spring / omega);
        if (s->table.hz[i] <= 100)
            near(cabs(f[0].pressure[i] - f[1].pressure[i] - z * f[1].velocity[i]), 0,
                 0.01 * (cabs(f[0].pressure[i]) + cabs(z * f[1].velocity[i])));
    }
    /* 0.45 kg/m2 for a face of 0.6 x 1.2 m in a wall (computed); only before the outer front. */
    near(s->front[0].radiation, 0.45, 0.02);
    near(s->front[1].radiation, 0, 0);
    ebb_study_free(s);
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_outermost_layer_of_a_stack),
        cmocka_unit_test(test_a_mount_of_its_own),
        cmocka_unit_test(test_porous_units_have_no_front),
        cmocka_unit_test(test_fronts_of_a_cabinet),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
