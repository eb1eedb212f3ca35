/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * yard.h - a small invented stock and targets for the tests of the designer. Include after
 * cmocka.h.
 */
#ifndef YARD_H
#define YARD_H

#include "../../src/craft/private.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#include "../expect.h"

/* Two woods with prices, three fills, two batches, a soft and a stiff rim; two targets. */
static const char yard_text[] =
    "library: Test yard\n"
    "air: {temperature: 20 C, humidity: 50 %}\n"
    "materials:\n"
    "  ply: {density: 680 kg/m3, modulus: 7 GPa, loss: 0.02,\n"
    "    thicknesses: [4 mm, 6 mm, 9 mm, 15 mm], prices: [9, 12, 16, 24]}\n"
    "  board: {density: 750 kg/m3, modulus: 3.4 GPa, loss: 0.02,\n"
    "    thicknesses: [6 mm, 12 mm], prices: [6, 10]}\n"
    "wools:\n"
    "  light: {resistivity: 5 kPa.s/m2, density: 18 kg/m3, price: 45}\n"
    "  dense: {resistivity: 20 kPa.s/m2, density: 60 kg/m3, price: 90}\n"
    "grains:\n"
    "  tested: {grain: 1.5 mm, uptake: 5, density: 500 kg/m3, measured: yes, price: 6}\n"
    "  guessed: {grain: 3 mm, uptake: 2, density: 500 kg/m3, price: 4}\n"
    "strips:\n"
    "  soft: {width: 20 mm, thickness: 2 mm, modulus: 2 MPa, works: bending, price: 4}\n"
    "  foam: {width: 10 mm, thickness: 10 mm, modulus: 0.2 MPa, works: pressed, price: 2}\n"
    "targets:\n"
    "  curve:\n"
    "    curve: [[30 Hz, 0.333], [40 Hz, 0.63], [50 Hz, 0.98]]\n"
    "    face: [0.6 m, 1.2 m]\n"
    "    depth: [150 mm, 450 mm]\n"
    "    grains: 20 kg\n"
    "    use: {materials: [ply, board], wools: [light, dense], grains: [tested, guessed],\n"
    "      strips: [soft, foam]}\n"
    "  mean:\n"
    "    mean: [30 Hz, 60 Hz]\n"
    "    face: [0.6 m, 1.2 m]\n"
    "    depth: 300 mm\n"
    "    grains: 0 kg\n"
    "    cells: 1\n"
    "    fronts: 1\n"
    "    use: {materials: [ply], wools: [light], strips: [soft]}\n";

typedef struct yard {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_library *library;
    ebb_target curve, mean;  /* copies to be changed */
    ebb_craft_effort effort; /* small */
} yard;

static inline int open_yard(void **state)
{
    static yard y; /* one test at a time */
    memset(&y, 0, sizeof y);
    y.ctx = ebb_ctx_new();
    y.arena = ebb_arena_new(y.ctx);
    assert_ok(y.ctx,
              ebb_library_parse(y.ctx, yard_text, strlen(yard_text), "yard", NULL, &y.library));
    y.curve = y.library->target[0];
    y.mean = y.library->target[1];
    y.effort = (ebb_craft_effort){
        .seed = 5, .starts = 2, .population = 24, .generations = 30, .trim = true};
    *state = &y;
    return 0;
}

static inline int close_yard(void **state)
{
    yard *y = *state;
    ebb_library_free(y->library);
    ebb_arena_free(y->arena);
    ebb_ctx_free(y->ctx);
    return 0;
}

static inline ebb_craft_space space_of(yard *y, const ebb_target *target)
{
    ebb_craft_space space = {.trim = true};
    assert_ok(y->ctx,
              ebb_craft_space_make(y->ctx, y->arena, target, &y->library->air, NULL, &space));
    return space;
}

/* Repeatable numbers 0..1, of another kind than the search's own. */
static inline double draw(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) / 16777216.0;
}

/* A random box that can be put together. */
static inline ebb_craft_recipe random_box(const ebb_craft_space *space, size_t layout,
                                          unsigned *state)
{
    ebb_craft_recipe recipe;
    double gene[EBB_CRAFT_GENES];
    do
        for (size_t g = 0; g < EBB_CRAFT_GENES; g++)
            gene[g] = draw(state);
    while (!ebb_craft_decode(space, layout, gene, &recipe));
    return recipe;
}

#define yard_test(name) cmocka_unit_test_setup_teardown(name, open_yard, close_yard)

#endif
