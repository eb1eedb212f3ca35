/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sections of units: section.c, section_parts.c. */
#include "../../src/draw/section.h"
#include "canvas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

/* A box with two fronts, wool, grains, a frame and a leak; never computed, so not made ready. */
typedef struct sample {
    ebb_unit unit;
    ebb_cabinet cabinet;
    ebb_cell cell[2];
    ebb_layer between, fill[2];
    ebb_origin origin;
} sample;

static void make(sample *s)
{
    const ebb_board ply = {"ply", 0.006, 680, 7e9, 0.3, 0.02};
    memset(s, 0, sizeof *s);
    s->between = (ebb_layer){.kind = EBB_LAYER_POROUS, .thickness = 0.02, .resistivity = 5000};
    s->fill[0] = (ebb_layer){.kind = EBB_LAYER_POROUS, .thickness = 0.1, .resistivity = 5000};
    s->fill[1] = (ebb_layer){.kind = EBB_LAYER_GRANULAR, .thickness = 0.05};
    s->fill[1].grains.diameter = 1.5e-3;
    s->cell[0] = (ebb_cell){.share = 0.5,
                            .n_fronts = 2,
                            .gap = 0.04,
                            .n_between = 1,
                            .between = &s->between,
                            .n_fill = 2,
                            .fill = s->fill,
                            .leak = 3e-4};
    s->cell[0].front[0] = (ebb_front){.board = ply, .mount = {.stiffness = 2000}};
    s->cell[0].front[1] = (ebb_front){.board = ply, .mass = 3, .mount = {.stiffness = 3000}};
    s->cell[1] = (ebb_cell){.share = 0.5, .n_fronts = 1, .n_fill = 1, .fill = s->fill};
    s->cell[1].front[0] = (ebb_front){.board = ply, .mount = {.stiffness = 2000}};
    s->cabinet = (ebb_cabinet){.size = {0.6, 1.2, 0.3},
                               .wall = {"ply", 0.015, 680, 7e9, 0.3, 0.02},
                               .brace = {0, 1},
                               .rim = 0.02,
                               .n_cells = 2,
                               .cell = s->cell};
    s->unit = (ebb_unit){.name = "sample", .face = {0.6, 1.2}, .depth = 0.3, .mass = 40};
    s->unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CABINET, .cabinet = &s->cabinet};
    s->origin = (ebb_origin){&s->fill[1], "yard carbon", false};
    s->unit.n_origins = 1;
    s->unit.origins = &s->origin;
}

static bool listed(const ebb_draw_cut *cut, const char *text)
{
    for (size_t i = 0; i < cut->n_items; i++)
        if (strstr(cut->item[i], text) != NULL)
            return true;
    return false;
}

static void test_everything_is_in_the_list_once(void **state)
{
    (void)state;
    sample s;
    ebb_draw_cut cut;
    make(&s);
    assert_true(ebb_draw_cut_make(&cut, &s.unit, EBB_UNITS_METRIC));
    assert_true(listed(&cut, "walls: 15 mm ply, braces: 0 across the width, 1 across the height"));
    assert_true(listed(&cut, "front: 6 mm ply, 4.08 kg"));
    assert_true(listed(&cut, "7.08 kg"));
    assert_true(listed(&cut, "2 kN/m per metre"));
    assert_true(listed(&cut, "50 mm of yard carbon, grains of 1.5 mm"));
    assert_true(listed(&cut, "a slit of 0.3 mm"));
    for (size_t i = 0; i < cut.n_items; i++)
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(cut.item[i], cut.item[k]);
    assert_true(ebb_draw_cut_make(&cut, &s.unit, EBB_UNITS_IMPERIAL));
    assert_true(listed(&cut, " in"));
    assert_false(listed(&cut, " mm"));
}

/* The chain of dimensions runs from face to wall, and the parts stay inside the box. */
static void test_parts_fill_the_box(void **state)
{
    (void)state;
    sample s;
    ebb_draw_cut cut;
    make(&s);
    assert_true(ebb_draw_cut_make(&cut, &s.unit, EBB_UNITS_METRIC));
    assert_true(cut.step[0] == 0.0);
    assert_true(fabs(cut.step[cut.n_steps - 1] - 0.3) < 1e-9);
    /* front, air, wool, front, air, wool, grains, back */
    static const double STEPS[] = {0.006, 0.02, 0.02, 0.006, 0.083, 0.1, 0.05, 0.015};
    assert_int_equal(cut.n_steps, 9);
    for (size_t i = 0; i < 8; i++)
        assert_true(fabs(cut.step[i + 1] - cut.step[i] - STEPS[i]) < 1e-9);
    double fluid = 0.0;
    for (size_t i = 0; i < cut.n_parts; i++) {
        const ebb_draw_part *p = &cut.part[i];
        assert_true(p->across[0] > -1e-9 && p->across[1] < 0.6 + 1e-9);
        assert_true(p->deep[0] > -1e-9 && p->deep[1] < 0.3 + 1e-9);
        if (p->stuff == EBB_DRAW_AIR || p->stuff == EBB_DRAW_WOOL || p->stuff == EBB_DRAW_GRAINS)
            fluid += (p->across[1] - p->across[0]) * (p->deep[1] - p->deep[0]);
    }
    /* Two cells of half the inner width less a divider; boards taken off their depth. */
    const double wide = 0.5 * (0.6 - 3 * 0.015);
    assert_true(fabs(fluid - wide * (2 * 0.285 - 3 * 0.006)) < 1e-9);
}

static void test_stacks(void **state)
{
    (void)state;
    const ebb_layer layers[] = {
        {.kind = EBB_LAYER_SCREEN, .resistance = 30},
        {.kind = EBB_LAYER_PERFORATED, .thickness = 0.003, .open_share = 0.1, .opening = 0.004},
        {.kind = EBB_LAYER_SLITS, .thickness = 0.003, .open_share = 0.2, .opening = 0.004},
        {.kind = EBB_LAYER_MASS, .mass = 4},
        {.kind = EBB_LAYER_PANEL, .thickness = 0.0125, .mass = 9},
        {.kind = EBB_LAYER_LUMPED, .mass = 6, .stiffness = 4e5, .resistance = 400},
        {.kind = EBB_LAYER_AIR, .thickness = 0.05},
        {.kind = EBB_LAYER_POROUS, .thickness = 0.1, .resistivity = 5000},
        {.kind = EBB_LAYER_GRANULAR, .thickness = 0.02, .grains = {.diameter = 1e-3}}};
    ebb_unit unit = {.name = "stack", .face = {0.6, 1.2}, .depth = 0.3, .mass = 20};
    ebb_draw_cut cut;
    unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_LAYERS, .n_layers = 9, .layers = layers};
    assert_true(ebb_draw_cut_make(&cut, &unit, EBB_UNITS_METRIC));
    assert_int_equal(cut.n_items, 10); /* and what is not told of the depth */
    assert_true(listed(&cut, "slotted sheet of 3 mm, 20 % open"));
    assert_true(listed(&cut, "of the depth is not told"));
    assert_true(fabs(cut.step[cut.n_steps - 1] - 0.3) < 1e-9);
}

static void test_sections_stay_in_their_frame(void **state)
{
    (void)state;
    sample s;
    make(&s);
    ebb_ctx *ctx = ebb_ctx_new();
    const ebb_frame frame = {12.0, 10.0, 520.0, 420.0};
    canvas c = canvas_open(544, 440);
    assert_int_equal(ebb_draw_section(ctx, c.cr, &frame, &s.unit, EBB_UNITS_METRIC), EBB_OK);
    assert_true(canvas_clean_outside(&c, &frame));
    /* Fronts and rims are there, and the fronts are as wide as their part of the box. */
    const canvas_found front = canvas_find(&c, EBB_INK_AFTER), rim = canvas_find(&c, EBB_INK_MARK);
    assert_true(front.n > 500 && rim.n > 40);
    canvas_close(&c);
    ebb_ctx_free(ctx);
}

static void test_what_can_not_be_drawn_is_refused(void **state)
{
    (void)state;
    sample s;
    make(&s);
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(544, 440);
    const ebb_frame small = {0.0, 0.0, 240.0, 170.0}, tiny = {0.0, 0.0, 100.0, 100.0};
    assert_int_equal(ebb_draw_section(ctx, c.cr, &tiny, &s.unit, EBB_UNITS_METRIC), EBB_E_RANGE);
    assert_int_equal(ebb_draw_section(ctx, c.cr, &small, &s.unit, EBB_UNITS_METRIC), EBB_E_RANGE);
    s.unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.3};
    const ebb_frame frame = {0.0, 0.0, 520.0, 420.0};
    assert_int_equal(ebb_draw_section(ctx, c.cr, &frame, &s.unit, EBB_UNITS_METRIC), EBB_E_INPUT);
    assert_int_equal(ebb_section_file(ctx, "/tmp/no-such.gif", &s.unit, EBB_UNITS_METRIC),
                     EBB_E_INPUT);
    canvas_close(&c);
    ebb_ctx_free(ctx);
}

static void test_measures(void **state)
{
    (void)state;
    char text[48];
    assert_string_equal(ebb_draw_measure(0.24, EBB_UNITS_METRIC, text, sizeof text), "240 mm");
    assert_string_equal(ebb_draw_measure(0.0015, EBB_UNITS_METRIC, text, sizeof text), "1.5 mm");
    assert_string_equal(ebb_draw_measure(0.006, EBB_UNITS_METRIC, text, sizeof text), "6 mm");
    assert_string_equal(ebb_draw_measure(0.0254, EBB_UNITS_IMPERIAL, text, sizeof text), "1.00 in");
    assert_string_equal(ebb_draw_measure(0.3e-3, EBB_UNITS_IMPERIAL, text, sizeof text),
                        "0.012 in");
    assert_string_equal(ebb_draw_measure(0.3e-3, EBB_UNITS_METRIC, text, sizeof text), "0.3 mm");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_everything_is_in_the_list_once),
        cmocka_unit_test(test_parts_fill_the_box),
        cmocka_unit_test(test_stacks),
        cmocka_unit_test(test_sections_stay_in_their_frame),
        cmocka_unit_test(test_what_can_not_be_drawn_is_refused),
        cmocka_unit_test(test_measures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
