/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * walls.h - a room with admittance on its x walls and rigid on the others. It separates, so that
 * its modes and its response can be had without the wave engine. Include after cmocka.h.
 */
#ifndef WALLS_H
#define WALLS_H

#include <ebb/field.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "outside.h"

#define PI 3.14159265358979323846
#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define SOURCE "separation of variables, solved in the test"

static const double size[3] = {4.3, 3.4, 2.5}, speed = 343.2, density = 1.204;

/* A pair of x walls: constant admittances, or at x = L a resonator: kg/m2, Hz, rho c. */
typedef struct pair {
    const char *name;
    double _Complex beta[2];
    double mass, hz, resistance;
} pair;

/* The resonator by its definition: z = r + j (w m - w0^2 m / w) / (rho c). */
static inline double _Complex beta_of(const pair *walls, int side, double _Complex omega)
{
    if (side == 0 || walls->mass == 0)
        return walls->beta[side];
    double w0 = 2 * PI * walls->hz;
    return 1 /
           (walls->resistance + I * walls->mass * (omega - w0 * w0 / omega) / (density * speed));
}

static inline double _Complex normal_number(double _Complex omega, const int label[3])
{
    double ky = label[1] * PI / size[1], kz = label[2] * PI / size[2];
    return csqrt(omega * omega / (speed * speed) - ky * ky - kz * kz);
}

static const pair resonant_pair = {
    .name = "beta 0.05 at x = 0, a resonant wall (4 kg/m2, 70 Hz) at x = L",
    .beta = {0.05, 0},
    .mass = 4,
    .hz = 70,
    .resistance = 0.3};

/* ---- the engine's room ----------------------------------------------------------------------- */

static const ebb_vec3 points[] = {
    {0.5, 0.6, 0.45}, {1.2, 2.5, 1.3}, {2.3, 1.5, 1.2}, {3.4, 2.7, 1.1}, {3.9, 0.5, 2.2}};

typedef struct solved {
    ebb_ctx *ctx;
    ebb_layer layer;
    ebb_assembly rigid, wall[2];
    ebb_reduced *reduced;
    ebb_state room;
} solved;

static inline void open_room(solved *s, const pair *walls)
{
    s->ctx = ebb_ctx_new();
    s->layer = (ebb_layer){.kind = EBB_LAYER_LUMPED,
                           .mass = walls->mass,
                           .resistance = walls->resistance * density * speed,
                           .stiffness = walls->mass * pow(2 * PI * walls->hz, 2)};
    s->rigid = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT};
    for (int side = 0; side < 2; side++)
        s->wall[side] = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = walls->beta[side]};
    if (walls->mass > 0)
        s->wall[1] = (ebb_assembly){.n_layers = 1, .layers = &s->layer, .back = EBB_BACK_RIGID};
    const ebb_geometry geometry = {.size = {size[0], size[1], size[2]},
                                   .highest = 200,
                                   .speed = speed,
                                   .n_points = COUNT(points),
                                   .points = points,
                                   .richness = 1,
                                   .wall = {1, 1, 0.01, 0.01, 0.01, 0.01}};
    assert_int_equal(ebb_reduced_new(s->ctx, &geometry, &s->reduced), EBB_OK);
    s->room =
        (ebb_state){.scale = {1, 1, 1},
                    .face = {&s->wall[0], &s->wall[1], &s->rigid, &s->rigid, &s->rigid, &s->rigid},
                    .n_sources = 2,
                    .n_receivers = 3,
                    .sources = points,
                    .receivers = points + 2};
    assert_int_equal(ebb_air_given(s->ctx, speed, density, &s->room.air), EBB_OK);
}

static inline void close_room(solved *s)
{
    ebb_reduced_free(s->reduced);
    ebb_ctx_free(s->ctx);
}

#endif
