/* SPDX-License-Identifier: GPL-3.0-or-later */
/* spaces.h - small spaces for the tests of the finite elements. Include after cmocka.h. */
#ifndef SPACES_H
#define SPACES_H

#include "meshes.h"
#include "rooms.h"

#include "../../src/field/space.h"

typedef struct space_fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_mesh *mesh;
    ebb_space *space;
} space_fixture;

static const double small_size[3] = {1.3, 1.1, 0.8};

/* Everything but factors and modes, which most tests of the elements can do without. */
static inline void open_bare(space_fixture *f, const double size[3], const size_t bricks[3],
                             size_t order)
{
    const ebb_space_wish wish = {.highest = 3, .order = order};
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    f->mesh = mesh_box(f->ctx, size, bricks);
    assert_ok(f->ctx, ebb_space_open(f->ctx, f->mesh, &wish, &f->space));
}

static inline void open_space(space_fixture *f, const double size[3], const size_t bricks[3],
                              const ebb_space_wish *wish)
{
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    f->mesh = mesh_box(f->ctx, size, bricks);
    assert_ok(f->ctx, ebb_space_new(f->ctx, f->mesh, wish, &f->space));
}

static inline void close_space(space_fixture *f)
{
    ebb_space_free(f->space);
    ebb_mesh_free(f->mesh);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

/* Coefficients of a function: its values at the nodes of the elements. */
static inline double *interpolate(space_fixture *f, double (*function)(ebb_vec3))
{
    const ebb_space *s = f->space;
    double *x = EBB_NEW(f->arena, double, s->size);
    for (size_t t = 0; t < s->mesh.n_tets; t++)
        for (size_t i = 0; i < s->simplex.n; i++) {
            ebb_vec3 at = {0, 0, 0};
            for (size_t c = 0; c < 4; c++) {
                const ebb_vec3 corner = s->mesh.node[s->element[t].corner[c]];
                const double part = s->simplex.node[4 * i + c];
                at.x += part * corner.x;
                at.y += part * corner.y;
                at.z += part * corner.z;
            }
            x[s->element[t].freedom[i]] = function(at);
        }
    return x;
}

/* x^T y */
static inline double inner(const ebb_space *space, const double *x, const double *y)
{
    double sum = 0;
    for (size_t i = 0; i < space->size; i++)
        sum += x[i] * y[i];
    return sum;
}

#endif
