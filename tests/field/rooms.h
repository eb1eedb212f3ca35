/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * rooms.h - rooms and comparisons for the tests of the wave engine. Include after cmocka.h.
 */
#ifndef ROOMS_H
#define ROOMS_H

#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <ebb/field.h>

#include "../expect.h"

#define PI 3.14159265358979323846
#define COUNT(array) (sizeof(array) / sizeof(array)[0])

#define assert_close(got, want, relative)                                                          \
    do {                                                                                           \
        const double _Complex got_ = (got), want_ = (want);                                        \
        const double error_ = cabs(got_ - want_) / cabs(want_);                                    \
        if (!(error_ <= (relative)))                                                               \
            fail_msg("%s: got %.15g%+.15gj, expected %.15g%+.15gj, relative error %g", #got,       \
                     creal(got_), cimag(got_), creal(want_), cimag(want_), error_);                \
    } while (0)

/* got <= limit, showing both. */
#define assert_below(got, limit)                                                                   \
    do {                                                                                           \
        const double got_ = (got), limit_ = (limit);                                               \
        if (!(got_ <= limit_))                                                                     \
            fail_msg("%s: got %.6g, expected at most %g", #got, got_, limit_);                     \
    } while (0)

static const ebb_air test_air = {.temperature = 20,
                                 .humidity = 0.5,
                                 .pressure = 101325,
                                 .speed = 343.2,
                                 .density = 1.204,
                                 .gamma = 1.4,
                                 .viscosity = 1.82e-5,
                                 .prandtl = 0.71};

/* xorshift64*: the same sequence on every machine; 0..1. */
static inline double draw(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ULL) >> 11) * 0x1p-53;
}

static inline ebb_assembly constant(double _Complex beta)
{
    return (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = beta};
}

/* A mass on a spring before a rigid back: kg/m2, Hz, resistance in units of rho c. */
static inline ebb_layer resonator(double mass, double hz, double resistance)
{
    return (ebb_layer){.kind = EBB_LAYER_LUMPED,
                       .mass = mass,
                       .resistance = resistance * test_air.density * test_air.speed,
                       .stiffness = mass * pow(2 * PI * hz, 2)};
}

static inline ebb_assembly on_rigid_back(const ebb_layer *layer)
{
    return (ebb_assembly){
        .kind = EBB_ASSEMBLY_LAYERS, .n_layers = 1, .layers = layer, .back = EBB_BACK_RIGID};
}

#define PATCHES 5
#define POINTS 5 /* two sources, three receivers */

/*
 * A control room of 37 m3 with a resonant panel ceiling, hard walls, three locally reacting and two
 * rigid-fronted resonators. It points into itself: make it where it stays.
 */
typedef struct treated {
    ebb_layer layer[3];
    ebb_assembly hard, ceiling, low, mid;
    ebb_patch patch[PATCHES];
    ebb_vec3 point[POINTS];
    size_t used[PATCHES];
    ebb_geometry geometry;
    ebb_state state;
} treated;

static inline void treated_patches(treated *room)
{
    const ebb_patch patch[PATCHES] = {
        {.face = 0, .at = {0.3, 0.2}, .size = {0.6, 1.2}, .assembly = &room->low},
        {.face = 1, .at = {1.3, 0.9}, .size = {1.2, 0.6}, .assembly = &room->mid},
        {.face = 2, .at = {1.0, 0.1}, .size = {0.6, 1.2}, .assembly = &room->low},
        {.face = 3, .at = {2.0, 0.3}, .size = {0.6, 1.2}, .piston = true, .assembly = &room->mid},
        {.face = 5, .at = {1.0, 1.5}, .size = {0.6, 1.2}, .piston = true, .assembly = &room->low}};
    memcpy(room->patch, patch, sizeof patch);
    for (size_t p = 0; p < PATCHES; p++)
        room->used[p] = p;
}

static inline void treated_make(treated *room, double richness)
{
    const ebb_vec3 point[POINTS] = {
        {0.4, 0.5, 0.4}, {1.1, 2.4, 1.3}, {2.1, 1.5, 1.2}, {3.3, 2.6, 1.1}, {1.5, 2.2, 1.7}};
    room->layer[0] = resonator(5, 60, 1);
    room->layer[1] = resonator(6, 45, 1);
    room->layer[2] = resonator(5, 75, 1.5);
    room->hard = constant(0.02);
    room->ceiling = on_rigid_back(&room->layer[0]);
    room->low = on_rigid_back(&room->layer[1]);
    room->mid = on_rigid_back(&room->layer[2]);
    treated_patches(room);
    memcpy(room->point, point, sizeof point);
    room->geometry = (ebb_geometry){.size = {4.3, 3.4, 2.5},
                                    .highest = 200,
                                    .speed = test_air.speed,
                                    .n_points = POINTS,
                                    .points = room->point,
                                    .n_patches = PATCHES,
                                    .patches = room->patch,
                                    .richness = richness,
                                    .wall = {0.05, 0.05, 0.05, 0.05, 0.05, 1}};
    room->state = (ebb_state){.air = test_air,
                              .scale = {1, 1, 1},
                              .n_used = PATCHES,
                              .used = room->used,
                              .n_sources = 2,
                              .n_receivers = 3,
                              .sources = room->point,
                              .receivers = room->point + 2};
    for (int face = 0; face < EBB_FACES; face++)
        room->state.face[face] = face == 5 ? &room->ceiling : &room->hard;
}

/* A closet that is solved in milliseconds: two patches, one source, one receiver. */
static inline void treated_make_tiny(treated *room)
{
    treated_make(room, 0.3);
    const ebb_vec3 point[2] = {{0.3, 0.4, 0.2}, {1.6, 1.1, 0.9}};
    memcpy(room->point, point, sizeof point);
    const ebb_patch patch[2] = {
        {.face = 0, .at = {0.3, 0.2}, .size = {0.6, 0.6}, .assembly = &room->low},
        {.face = 3, .at = {0.9, 0.3}, .size = {0.6, 0.6}, .piston = true, .assembly = &room->mid}};
    memcpy(room->patch, patch, sizeof patch);
    const double size[3] = {2, 1.5, 1.2};
    memcpy(room->geometry.size, size, sizeof size);
    room->geometry.highest = 120;
    room->geometry.n_points = room->geometry.n_patches = room->state.n_used = 2;
    room->state.n_sources = room->state.n_receivers = 1;
    room->state.receivers = room->point + 1;
}

/* An untreated room with one constant admittance on all faces; points as in `treated`. */
static inline void treated_make_plain(treated *room, const double size[3], double _Complex beta)
{
    treated_make(room, 1);
    memcpy(room->geometry.size, size, sizeof room->geometry.size);
    room->hard = constant(beta);
    for (int face = 0; face < EBB_FACES; face++) {
        room->state.face[face] = &room->hard;
        room->geometry.wall[face] = cabs(beta);
    }
    room->geometry.n_patches = room->state.n_used = 0;
}

/* For modes alone: nobody speaks, nobody listens. */
static inline void treated_empty(treated *room)
{
    room->geometry.n_points = room->state.n_sources = room->state.n_receivers = 0;
}

static inline ebb_reduced *project(ebb_ctx *ctx, const ebb_geometry *geometry)
{
    ebb_reduced *reduced;
    assert_ok(ctx, ebb_reduced_new(ctx, geometry, &reduced));
    assert_non_null(reduced);
    return reduced;
}

/* Frequencies low, low + step ... up to high, new memory; free() it. */
static inline double *sweep_hz(double low, double high, double step, size_t *n)
{
    *n = (size_t)floor((high - low) / step + 1e-9) + 1;
    double *hz = malloc(*n * sizeof *hz);
    assert_non_null(hz);
    for (size_t i = 0; i < *n; i++)
        hz[i] = low + step * (double)i;
    return hz;
}

/* All responses of a state from 20 to 200 Hz, step Hz apart; new memory; free() it. */
static inline double _Complex *respond(ebb_ctx *ctx, const ebb_reduced *reduced,
                                       const ebb_state *state, double step, size_t *n)
{
    size_t n_hz;
    double *hz = sweep_hz(20, 200, step, &n_hz);
    *n = n_hz * state->n_sources * state->n_receivers;
    double _Complex *h = malloc(*n * sizeof *h);
    assert_non_null(h);
    assert_ok(ctx, ebb_response(ctx, reduced, state, n_hz, hz, h));
    free(hz);
    return h;
}

static inline int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* 99th percentile of the level differences of two sets of responses, dB. NAN if any is not finite,
 * so that no comparison passes. */
static inline double level_p99(size_t n, const double _Complex *a, const double _Complex *b)
{
    double *error = malloc(n * sizeof *error), sum = 0;
    assert_non_null(error);
    for (size_t i = 0; i < n; i++) {
        error[i] = fabs(20 * log10(cabs(a[i]) / cabs(b[i])));
        sum += error[i];
    }
    qsort(error, n, sizeof *error, by_value);
    double p99 = isfinite(sum) ? error[(size_t)(0.99 * (double)n)] : NAN;
    free(error);
    return p99;
}

/* Largest |a - b| over the largest |b|. */
static inline double worst_difference(size_t n, const double _Complex *a, const double _Complex *b)
{
    double worst = 0, largest = 0;
    for (size_t i = 0; i < n; i++) {
        double difference = cabs(a[i] - b[i]);
        if (!isfinite(difference))
            return NAN;
        worst = fmax(worst, difference);
        largest = fmax(largest, cabs(b[i]));
    }
    return worst / largest;
}

#endif
