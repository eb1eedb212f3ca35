/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units that may be changed: copy.c. */
#include "boxes.h"

#include "../../src/unit/private.h"

#include <stdlib.h>

static bool thicken(ebb_layer *layer, double factor)
{
    layer->thickness *= factor;
    return layer->kind == EBB_LAYER_GRANULAR;
}

static bool weigh(ebb_front *front, double factor)
{
    front->mass *= factor;
    return front->mass > 5;
}

static void test_a_stack_is_copied_deep(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layers[2] = {wool(0.1, 5000), carbon(0.05)};
    const ebb_unit unit = stack_unit(2, layers);
    ebb_unit_model *m = ebb_unit_copy(b.arena, &unit.assembly);
    assert_ptr_not_equal(m->layer, layers);
    assert_ptr_equal(m->assembly.layers, m->layer);
    /* True when any call was: the grains are the second. */
    assert_true(ebb_unit_each_layer(m, thicken, 2));
    near(m->layer[1].thickness, 0.1, 1e-12);
    near(layers[1].thickness, 0.05, 0);
    assert_false(ebb_unit_each_front(m, weigh, 2));
    assert_int_equal(ebb_unit_ready(b.ctx, b.arena, m), EBB_OK);
    m->layer[0].porosity = 2;
    assert_int_equal(ebb_unit_ready(NULL, b.arena, m), EBB_E_RANGE);
    bench_close(&b);
}

static void test_a_box_is_copied_deep(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    x.fill[0] = wool(0.05, 5000);
    x.fill[1] = carbon(0.02);
    x.cell.n_fill = 2;
    const ebb_layer between = wool(0.02, 4000);
    x.cell.n_between = 1;
    x.cell.between = &between;
    x.cell.n_fronts = 2;
    x.cell.front[1] = x.cell.front[0];
    x.cell.front[1].mass = 8;
    x.cell.gap = 0.05;
    box_ready(&b, &x);
    ebb_unit_model *m = ebb_unit_copy(b.arena, &x.unit.assembly);
    assert_ptr_equal(m->assembly.cabinet, &m->cabinet);
    assert_ptr_not_equal(m->cabinet.cell, x.cabinet.cell);
    assert_true(ebb_unit_each_layer(m, thicken, 1.5));
    assert_true(ebb_unit_each_front(m, weigh, 1.1));
    near(m->cabinet.cell[0].between[0].thickness, 0.03, 1e-12);
    near(m->cabinet.cell[0].fill[1].thickness, 0.03, 1e-12);
    near(m->cabinet.cell[0].front[1].mass, 8.8, 1e-12);
    near(between.thickness, 0.02, 0);
    near(x.fill[1].thickness, 0.02, 0);
    near(x.cell.front[1].mass, 8, 0);
    assert_int_equal(ebb_unit_ready(b.ctx, b.arena, m), EBB_OK);
    bench_close(&b);
}

static void test_what_a_unit_holds(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    assert_true(ebb_unit_holds(&x.unit, EBB_LAYER_POROUS));
    assert_false(ebb_unit_holds(&x.unit, EBB_LAYER_GRANULAR));
    const ebb_layer grains = carbon(0.02);
    x.cell.between = &grains;
    x.cell.n_between = 1;
    assert_true(ebb_unit_holds(&x.unit, EBB_LAYER_GRANULAR));
    const ebb_unit stack = stack_unit(1, &grains);
    assert_true(ebb_unit_holds(&stack, EBB_LAYER_GRANULAR));
    assert_false(ebb_unit_holds(&stack, EBB_LAYER_AIR));
    ebb_unit table = stack;
    table.assembly.kind = EBB_ASSEMBLY_CONSTANT;
    assert_false(ebb_unit_holds(&table, EBB_LAYER_GRANULAR));
    bench_close(&b);
}

/* A copy needs memory; without any there is none. */
static void test_no_memory_no_copy(void **state)
{
    (void)state;
    const ebb_layer layer = wool(0.1, 5000);
    const ebb_unit unit = stack_unit(1, &layer);
    assert_null(ebb_unit_copy(NULL, &unit.assembly));
    joiner x;
    joiners_box(&x);
    assert_null(ebb_unit_copy(NULL, &x.unit.assembly));
}

static void test_grids(void **state)
{
    (void)state;
    bench b = bench_open();
    const double *hz = ebb_unit_grid(b.arena, 10, 400, 257);
    near(hz[0], 10, 0);
    near(hz[256], 400, 1e-9);
    for (int i = 1; i < 257; i++)
        near(hz[i] / hz[i - 1], pow(40, 1.0 / 256), 1e-9);
    assert_null(ebb_unit_grid(NULL, 10, 400, 5));
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_stack_is_copied_deep),
        cmocka_unit_test(test_a_box_is_copied_deep),
        cmocka_unit_test(test_what_a_unit_holds),
        cmocka_unit_test(test_no_memory_no_copy),
        cmocka_unit_test(test_grids),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
