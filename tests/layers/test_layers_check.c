/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

static const ebb_layer good[] = {
    {.kind = EBB_LAYER_MASS, .mass = 5},
    {.kind = EBB_LAYER_PANEL,
     .thickness = 0.0125,
     .mass = 9,
     .modulus = 2.5e9,
     .poisson = 0.2,
     .loss = 0.02,
     .span = 0.6},
    {.kind = EBB_LAYER_PANEL, .mass = 9}, /* limp: nothing else is needed */
    {.kind = EBB_LAYER_AIR, .thickness = 0.1, .loss = 0.01},
    {.kind = EBB_LAYER_POROUS,
     .thickness = 0.1,
     .resistivity = 8000,
     .porosity = 0.98,
     .tortuosity = 1},
    {.kind = EBB_LAYER_POROUS,
     .thickness = 0.1,
     .resistivity = 8000,
     .porosity = 0.98,
     .tortuosity = 1,
     .frame_density = 30,
     .model = EBB_POROUS_LIMP},
    {.kind = EBB_LAYER_POROUS, .thickness = 0.1, .resistivity = 8000, .model = EBB_POROUS_MIKI},
    {.kind = EBB_LAYER_SCREEN, .resistance = 400},
    {.kind = EBB_LAYER_LUMPED, .mass = 6, .stiffness = 1e5, .resistance = 413, .loss = 0.1},
    {.kind = EBB_LAYER_GRANULAR,
     .thickness = 0.1,
     .grains = {.diameter = 1.5e-3,
                .bed_porosity = 0.4,
                .pore_share = 0.5,
                .uptake = 5,
                .pore_radius = 5e-7,
                .tortuosity = 3,
                .sorption_hz = 200,
                .bed_density = 500}},
    {.kind = EBB_LAYER_GRANULAR, /* solid grains: what gas would do in them does not matter */
     .thickness = 0.1,
     .grains = {.diameter = 2e-3, .bed_porosity = 0.4, .uptake = 5, .bed_density = 1500}},
    {.kind = EBB_LAYER_PERFORATED, .thickness = 0.006, .opening = 0.005, .open_share = 0.05},
    {.kind = EBB_LAYER_SLITS, .thickness = 0.018, .opening = 0.001, .open_share = 0.01},
};
#define GOOD (sizeof good / sizeof good[0])

/* One field of one good layer spoilt, and what the message must say. */
static const struct {
    size_t layer;
    size_t offset;
    double value;
    const char *says;
} bad[] = {
    {0, offsetof(ebb_layer, mass), 0, "layer 1 (mass): mass is 0"},
    {0, offsetof(ebb_layer, mass), -5, "mass is -5"},
    {0, offsetof(ebb_layer, mass), NAN, "mass is"},
    {0, offsetof(ebb_layer, mass), INFINITY, "mass is inf"},
    {1, offsetof(ebb_layer, mass), 0, "layer 2 (panel): mass"},
    {1, offsetof(ebb_layer, thickness), 0, "panel): thickness"},
    {1, offsetof(ebb_layer, modulus), 2.5, "modulus is 2.5, must lie between 100000 and 1e+12 Pa"},
    {1, offsetof(ebb_layer, poisson), 0.5, "poisson"},
    {1, offsetof(ebb_layer, loss), -0.01, "loss is -0.01"},
    {1, offsetof(ebb_layer, span), -0.6, "span is -0.6"},
    {1, offsetof(ebb_layer, span), NAN, "span"},
    {2, offsetof(ebb_layer, mass), 0, "layer 3 (panel): mass"},
    {3, offsetof(ebb_layer, thickness), 0, "layer 4 (air): thickness"},
    {3, offsetof(ebb_layer, loss), 1.5, "loss is 1.5"},
    {4, offsetof(ebb_layer, thickness), -1, "layer 5 (porous): thickness"},
    {4, offsetof(ebb_layer, resistivity), 8, "resistivity is 8, must lie between 10"},
    {4, offsetof(ebb_layer, porosity), 0, "porosity is 0"},
    {4, offsetof(ebb_layer, porosity), 1.01, "porosity is 1.01"},
    {4, offsetof(ebb_layer, tortuosity), 0.9, "tortuosity is 0.9"},
    {4, offsetof(ebb_layer, viscous_length), 5, "viscous_length is 5"},
    {4, offsetof(ebb_layer, thermal_length), -1e-4, "thermal_length"},
    {5, offsetof(ebb_layer, frame_density), 0, "layer 6 (porous): frame_density"},
    {6, offsetof(ebb_layer, resistivity), 0, "layer 7 (porous): resistivity"},
    {7, offsetof(ebb_layer, resistance), 0, "layer 8 (screen): resistance"},
    {7, offsetof(ebb_layer, mass), -1, "screen): mass"},
    {8, offsetof(ebb_layer, mass), 0, "layer 9 (lumped): mass"},
    {8, offsetof(ebb_layer, stiffness), -1, "stiffness"},
    {8, offsetof(ebb_layer, resistance), -1, "resistance"},
    {8, offsetof(ebb_layer, loss), NAN, "loss"},
    {9, offsetof(ebb_layer, thickness), 0, "layer 10 (granular): thickness"},
    {9, offsetof(ebb_layer, resistivity), -1, "resistivity is -1"},
    {9, offsetof(ebb_layer, grains.diameter), 1.5, "grains.diameter is 1.5, must lie between"},
    {9, offsetof(ebb_layer, grains.bed_porosity), 1, "grains.bed_porosity is 1"},
    {9, offsetof(ebb_layer, grains.pore_share), -0.5, "grains.pore_share"},
    {9, offsetof(ebb_layer, grains.uptake), -1, "grains.uptake is -1"},
    {9, offsetof(ebb_layer, grains.uptake), NAN, "grains.uptake"},
    {9, offsetof(ebb_layer, grains.pore_radius), 0, "grains.pore_radius is 0"},
    {9, offsetof(ebb_layer, grains.tortuosity), 0, "grains.tortuosity is 0"},
    {9, offsetof(ebb_layer, grains.sorption_hz), 0, "grains.sorption_hz is 0"},
    {9, offsetof(ebb_layer, grains.bed_density), 0, "grains.bed_density is 0"},
    {10, offsetof(ebb_layer, grains.diameter), 0, "layer 11 (granular): grains.diameter"},
    {11, offsetof(ebb_layer, thickness), 0, "layer 12 (perforated): thickness"},
    {11, offsetof(ebb_layer, opening), 0, "opening is 0"},
    {11, offsetof(ebb_layer, open_share), 5, "open_share is 5, must lie between"},
    {11, offsetof(ebb_layer, mass), -4, "mass is -4"},
    {12, offsetof(ebb_layer, thickness), 0, "layer 13 (slits): thickness"},
    {12, offsetof(ebb_layer, opening), 0.5, "opening is 0.5"},
    {12, offsetof(ebb_layer, open_share), 0, "open_share is 0"},
};

static int new_context(void **state)
{
    *state = ebb_ctx_new();
    return *state ? 0 : -1;
}

static int free_context(void **state)
{
    ebb_ctx_free(*state);
    return 0;
}

/* The assembly must be refused with a text that holds `says`. */
static void refuse(ebb_ctx *ctx, const ebb_assembly *assembly, const char *says)
{
    ebb_ctx_clear(ctx);
    assert_int_equal(ebb_assembly_check(ctx, assembly), EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(ctx), 1);
    const char *text = ebb_ctx_message(ctx, 0)->text;
    if (!strstr(text, says))
        fail_msg("message \"%s\" does not say \"%s\"", text, says);
}

static void good_layers_pass(void **state)
{
    const ebb_assembly assembly = stack(good, GOOD, EBB_BACK_ROOM);
    assert_int_equal(ebb_assembly_check(*state, &assembly), EBB_OK);
    assert_int_equal(ebb_ctx_messages(*state), 0);
}

static void each_field_is_checked(void **state)
{
    ebb_layer layers[GOOD];
    const ebb_assembly assembly = stack(layers, GOOD, EBB_BACK_RIGID);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        memcpy(layers, good, sizeof good);
        memcpy((char *)&layers[bad[i].layer] + bad[i].offset, &bad[i].value, sizeof(double));
        refuse(*state, &assembly, bad[i].says);
    }
}

static void fields_of_other_kinds_do_not_matter(void **state)
{
    ebb_layer mass = good[0];
    mass.porosity = -3;
    const ebb_assembly assembly = stack(&mass, 1, EBB_BACK_RIGID);
    assert_int_equal(ebb_assembly_check(*state, &assembly), EBB_OK);
}

static void whole_assemblies(void **state)
{
    ebb_layer many[33];
    for (int i = 0; i < 33; i++)
        many[i] = good[0];
    ebb_assembly assembly = stack(many, 33, EBB_BACK_RIGID);
    refuse(*state, &assembly, "33 layers");
    assembly.n_layers = 32;
    assert_int_equal(ebb_assembly_check(*state, &assembly), EBB_OK);
    assembly.layers = NULL;
    refuse(*state, &assembly, "no layers");
    assembly = stack(good, 1, (ebb_back)7);
    refuse(*state, &assembly, "unknown back 7");
    assembly = (ebb_assembly){.kind = (ebb_assembly_kind)9};
    refuse(*state, &assembly, "unknown kind of assembly 9");
    many[0].kind = (ebb_layer_kind)12;
    assembly = stack(many, 1, EBB_BACK_RIGID);
    refuse(*state, &assembly, "unknown kind 12");
}

static void constants_and_tables(void **state)
{
    ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = -0.01};
    refuse(*state, &assembly, "admittance -0.01");
    assembly.beta0 = NAN;
    refuse(*state, &assembly, "finite");

    double hz[] = {20, 40, 80};
    double _Complex z[] = {1, 2 - I, 3};
    assembly =
        (ebb_assembly){.kind = EBB_ASSEMBLY_TABLE, .n_table = 3, .table_hz = hz, .table_z = z};
    assert_int_equal(ebb_assembly_check(*state, &assembly), EBB_OK);
    z[1] = -1e-3;
    refuse(*state, &assembly, "row 2");
    z[1] = 0;
    refuse(*state, &assembly, "row 2");
    z[1] = INFINITY;
    refuse(*state, &assembly, "finite");
    z[1] = 2;
    hz[2] = 40;
    refuse(*state, &assembly, "row 3 of the impedance table: frequencies must rise");
    hz[0] = 0;
    refuse(*state, &assembly, "row 1");
    assembly.n_table = 0;
    refuse(*state, &assembly, "empty");
}

static void ranges_of_the_formulas(void **unused)
{
    (void)unused;
    double low, high;
    const char *why;
    ebb_assembly assembly = stack(good, 1, EBB_BACK_RIGID);
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_true(low == 0 && isinf(high) && !why);

    assembly = stack(&good[6], 1, EBB_BACK_RIGID); /* Miki, sigma 8000 */
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_near(low, 80, 1e-9);
    assert_near(high, 8000, 1e-9);
    assert_non_null(strstr(why, "Miki"));

    assembly = stack(&good[1], 1, EBB_BACK_RIGID); /* board: bending wave of six thicknesses */
    ebb_assembly_range(&assembly, &low, &high, &why);
    const double bending = 2.5e9 * pow(0.0125, 3) / 12 / 0.96;
    const double wave = TWO_PI * pow(bending / 9, 0.25) / sqrt(TWO_PI * high);
    assert_near(wave, 6 * 0.0125, 1e-12);
    assert_non_null(strstr(why, "thin board"));

    assembly = stack(&good[11], 1, EBB_BACK_RIGID); /* 5 mm holes, 5 %: 20 mm apart */
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_near(343 / high, 4 * 0.005 * sqrt(PI / 4 / 0.05), 1e-12);
    assert_non_null(strstr(why, "quarter wavelength"));
    assembly = stack(&good[12], 1, EBB_BACK_RIGID); /* slits 0.1 m apart */
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_near(343 / high, 0.4, 1e-12);

    const double hz[] = {20, 40};
    const double _Complex z[] = {1, 2};
    assembly =
        (ebb_assembly){.kind = EBB_ASSEMBLY_TABLE, .n_table = 2, .table_hz = hz, .table_z = z};
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_true(low == 20 && high == 40);
    assert_non_null(strstr(why, "table"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(good_layers_pass, new_context, free_context),
        cmocka_unit_test_setup_teardown(each_field_is_checked, new_context, free_context),
        cmocka_unit_test_setup_teardown(fields_of_other_kinds_do_not_matter, new_context,
                                        free_context),
        cmocka_unit_test_setup_teardown(whole_assemblies, new_context, free_context),
        cmocka_unit_test_setup_teardown(constants_and_tables, new_context, free_context),
        cmocka_unit_test(ranges_of_the_formulas),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
