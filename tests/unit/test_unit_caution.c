/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cautions: only what a unit gives cause for. */
#include <ebb/unit.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* Does one of the cautions start like this? */
static bool said(const ebb_unit *unit, const char *start)
{
    const char *list[EBB_UNIT_CAUTIONS];
    const size_t n = ebb_unit_cautions(unit, list);
    for (size_t i = 0; i < n; i++)
        if (strncmp(list[i], start, strlen(start)) == 0)
            return true;
    return false;
}

static void test_layers_tell_what_is_inside(void **state)
{
    (void)state;
    const ebb_layer layer[2] = {{.kind = EBB_LAYER_MASS, .mass = 4},
                                {.kind = EBB_LAYER_POROUS, .thickness = 0.2}};
    ebb_unit unit = {.mass = 12, .on_walls = true};
    unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_LAYERS, .n_layers = 1, .layers = layer};
    assert_true(said(&unit, "Weight"));
    assert_true(said(&unit, "Fire"));
    assert_false(said(&unit, "Fibres"));
    assert_false(said(&unit, "Lifting"));
    assert_false(said(&unit, "Overhead"));
    unit.assembly.n_layers = 2;
    assert_true(said(&unit, "Fibres"));
    assert_false(said(&unit, "Oxygen"));
    unit.mass = 42;
    unit.on_ceiling = true;
    assert_true(said(&unit, "Lifting"));
    assert_true(said(&unit, "Overhead"));
}

static void test_cabinets_are_looked_into(void **state)
{
    (void)state;
    const ebb_layer grains = {.kind = EBB_LAYER_GRANULAR, .thickness = 0.05};
    ebb_cell cell[2] = {{.share = 0.5, .n_fronts = 1}, {.share = 0.5, .n_fronts = 2}};
    const ebb_cabinet cabinet = {.n_cells = 2, .cell = cell};
    ebb_unit unit = {.mass = 50};
    unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CABINET, .cabinet = &cabinet};
    assert_true(said(&unit, "Soft rims"));
    assert_false(said(&unit, "Carbon dust"));
    cell[1].n_between = 1;
    cell[1].between = &grains;
    assert_true(said(&unit, "Carbon dust"));
    assert_true(said(&unit, "Oxygen"));
    assert_false(said(&unit, "Fibres"));
}

static void test_constants_hold_nothing(void **state)
{
    (void)state;
    ebb_unit unit = {.mass = 5};
    unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.3};
    assert_true(said(&unit, "Weight"));
    assert_false(said(&unit, "Fibres"));
    assert_false(said(&unit, "Oxygen"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_layers_tell_what_is_inside),
        cmocka_unit_test(test_cabinets_are_looked_into),
        cmocka_unit_test(test_constants_hold_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
