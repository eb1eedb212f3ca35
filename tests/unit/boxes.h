/* SPDX-License-Identifier: GPL-3.0-or-later */
/* boxes.h - units for the tests of the bench, and the context they live in. */
#ifndef TESTS_BOXES_H
#define TESTS_BOXES_H

#include <ebb/unit.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

/* Are two doubles within `slack` of each other? A NaN is near nothing. */
#define near(a, b, slack)                                                                          \
    do {                                                                                           \
        const double a_ = (a), b_ = (b), slack_ = (slack);                                         \
        if (!(fabs(a_ - b_) <= slack_))                                                            \
            fail_msg("%s is %.9g, not %.9g", #a, a_, b_);                                          \
    } while (0)

typedef struct bench {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_air air;
    double rho_c;
} bench;

static inline bench bench_open(void)
{
    bench b = {.ctx = ebb_ctx_new()};
    b.arena = ebb_arena_new(b.ctx);
    assert_non_null(b.arena);
    assert_int_equal(ebb_air_at(b.ctx, 20, 0.5, 101325, &b.air), EBB_OK);
    b.rho_c = b.air.density * b.air.speed;
    return b;
}

static inline void bench_close(bench *b)
{
    ebb_arena_free(b->arena);
    ebb_ctx_free(b->ctx);
}

/* A unit of layers on a rigid back, 0.6 x 1.2 m. */
static inline ebb_unit stack_unit(size_t n, const ebb_layer *layers)
{
    ebb_unit unit = {
        .name = "stack", .face = {0.6, 1.2}, .depth = 0.3, .mass = 20, .on_walls = true};
    unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_LAYERS, .n_layers = n, .layers = layers};
    return unit;
}

/* Mass m on a spring with resonance f0 and resistance r times rho c: a whole absorber, of which
 * everything is known in closed form. */
static inline ebb_layer resonator(const bench *b, double m, double f0, double r)
{
    const double omega = 2 * 3.14159265358979323846 * f0;
    return (ebb_layer){.kind = EBB_LAYER_LUMPED,
                       .mass = m,
                       .stiffness = m * omega * omega,
                       .resistance = r * b->rho_c};
}

static inline ebb_layer wool(double thickness, double resistivity)
{
    return (ebb_layer){.kind = EBB_LAYER_POROUS,
                       .thickness = thickness,
                       .resistivity = resistivity,
                       .porosity = 0.98,
                       .tortuosity = 1,
                       .frame_density = 40};
}

/* Activated carbon as assumed where nothing is known (docs/absorbers.md). */
static inline ebb_layer carbon(double thickness)
{
    return (ebb_layer){.kind = EBB_LAYER_GRANULAR,
                       .thickness = thickness,
                       .grains = {.diameter = 1.5e-3,
                                  .bed_porosity = 0.4,
                                  .pore_share = 0.5,
                                  .uptake = 5,
                                  .pore_radius = 0.5e-6,
                                  .tortuosity = 3,
                                  .sorption_hz = 200,
                                  .bed_density = 500}};
}

/* What a cabinet unit is made of, so that tests can change it before it is made ready. */
typedef struct joiner {
    ebb_unit unit;
    ebb_cabinet cabinet;
    ebb_cell cell;
    ebb_layer fill[2];
} joiner;

/* A joiner's box: 15 mm ply with one brace, a front of 4.2 kg/m2 that moves as one on an 8 Hz
 * mount, 0.24 m of wool. */
static inline void joiners_box(joiner *x)
{
    const double edge = 2 * (0.57 + 1.17), area = 0.57 * 1.17, omega = 6.283185307 * 8;
    const ebb_front front = {
        .mass = 4.2, .mount = {.stiffness = 4.2 * omega * omega * area / edge, .loss = 0.1}};
    memset(x, 0, sizeof *x);
    x->fill[0] = wool(0.24, 5000);
    x->cell = (ebb_cell){.share = 1, .n_fronts = 1, .n_fill = 1, .fill = x->fill, .front = {front}};
    x->cabinet = (ebb_cabinet){.size = {0.6, 1.2, 0.3},
                               .wall = {"ply", 0.015, 680, 7e9, 0.3, 0.02},
                               .brace = {0, 1},
                               .frame = 2.5,
                               .extra = 2,
                               .air_loss = 0.005,
                               .n_cells = 1,
                               .cell = &x->cell};
    x->unit = (ebb_unit){.name = "box", .face = {0.6, 1.2}, .depth = 0.3, .on_walls = true};
    x->unit.assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CABINET, .cabinet = &x->cabinet};
}

/* Makes it ready and weighs it. */
static inline void box_ready(bench *b, joiner *x)
{
    ebb_weights weights;
    assert_int_equal(ebb_cabinet_prepare(b->ctx, b->arena, 0, &x->cabinet), EBB_OK);
    ebb_cabinet_weights(&x->cabinet, &weights);
    x->unit.mass = weights.total;
}

static inline ebb_study *study_of(bench *b, const ebb_unit *unit)
{
    ebb_study *study = NULL;
    assert_int_equal(ebb_study_new(b->ctx, unit, &b->air, EBB_UNITS_METRIC, &study), EBB_OK);
    assert_non_null(study);
    return study;
}

/* A change by the start of its name, NULL when it is not in the table. */
static inline const ebb_change *change_of(const ebb_study *study, const char *start)
{
    for (size_t i = 0; i < study->n_changes; i++)
        if (strncmp(study->change[i].what, start, strlen(start)) == 0)
            return &study->change[i];
    return NULL;
}

/* The first remark of a kind, NULL when there is none. */
static inline const char *remark_of(const ebb_study *study, ebb_remark_kind kind)
{
    for (size_t i = 0; i < study->n_remarks; i++)
        if (study->remark[i].kind == kind)
            return study->remark[i].text;
    return NULL;
}

#endif
