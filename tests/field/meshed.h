/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * meshed.h - rectangular rooms as finite elements, also turned, mirrored and renumbered, to hold
 * them against closed forms. Include after rooms.h.
 */
#ifndef MESHED_H
#define MESHED_H

#include <ebb/mesh.h>

/* A treated room and its elements. It points into itself: make it where it stays. */
typedef struct meshed {
    treated room;
    ebb_mesh *mesh;
    ebb_space *space;
} meshed;

static inline ebb_vec3 vector_of(const double v[3])
{
    return (ebb_vec3){v[0], v[1], v[2]};
}

/* Patches of a rectangular room as rectangles in space. */
static inline void set_rects(const ebb_geometry *geometry, ebb_patch *patch)
{
    for (size_t p = 0; p < geometry->n_patches; p++) {
        const int axis = patch[p].face / 2, tangent[2] = {axis == 0 ? 1 : 0, axis == 2 ? 1 : 2};
        double at[3] = {0}, edge[2][3] = {{0}};
        at[axis] = patch[p].face % 2 ? geometry->size[axis] : 0;
        for (int d = 0; d < 2; d++) {
            at[tangent[d]] = patch[p].at[d];
            edge[d][tangent[d]] = patch[p].size[d];
        }
        patch[p].rect = (ebb_rect){(size_t)patch[p].face, vector_of(at), vector_of(edge[0]),
                                   vector_of(edge[1])};
    }
}

static inline ebb_space *make_space(ebb_ctx *ctx, const ebb_mesh *mesh, double highest,
                                    size_t order)
{
    ebb_space *space;
    const ebb_space_wish wish = {.highest = 2 * PI * highest / test_air.speed, .order = order};
    assert_ok(ctx, ebb_space_new(ctx, mesh, &wish, &space));
    return space;
}

/* Meshes the room that m holds, bricks about `edge` m long. */
static inline void mesh_room(ebb_ctx *ctx, meshed *m, double edge)
{
    size_t bricks[3];
    for (int d = 0; d < 3; d++)
        bricks[d] = (size_t)ceil(m->room.geometry.size[d] / edge);
    set_rects(&m->room.geometry, m->room.patch);
    assert_ok(ctx, ebb_mesh_box(ctx, m->room.geometry.size, bricks, &m->mesh));
}

static inline void open_space(ebb_ctx *ctx, meshed *m, size_t order)
{
    m->space = make_space(ctx, m->mesh, m->room.geometry.highest, order);
    m->room.geometry.space = m->space;
}

static inline void meshed_free(meshed *m)
{
    ebb_space_free(m->space);
    ebb_mesh_free(m->mesh);
}

/* ---- rigid motions --------------------------------------------------------------------------- */

typedef struct motion {
    double turn[3][3]; /* orthogonal; determinant -1 mirrors */
    double shift[3];
} motion;

static inline ebb_vec3 turned(const motion *m, ebb_vec3 v)
{
    const double in[3] = {v.x, v.y, v.z};
    double out[3];
    for (int i = 0; i < 3; i++)
        out[i] = m->turn[i][0] * in[0] + m->turn[i][1] * in[1] + m->turn[i][2] * in[2];
    return vector_of(out);
}

static inline ebb_vec3 moved(const motion *m, ebb_vec3 v)
{
    ebb_vec3 t = turned(m, v);
    return (ebb_vec3){t.x + m->shift[0], t.y + m->shift[1], t.z + m->shift[2]};
}

/* Turns the mesh, the points and the patches; the lower corner of the box around them is 0. */
static inline void move_room(meshed *m, motion *by, bool mirrors)
{
    double low[3] = {INFINITY, INFINITY, INFINITY}, high[3] = {-INFINITY, -INFINITY, -INFINITY};
    memset(by->shift, 0, sizeof by->shift);
    for (size_t i = 0; i < m->mesh->n_nodes; i++) {
        ebb_vec3 v = turned(by, m->mesh->node[i]);
        const double at[3] = {v.x, v.y, v.z};
        for (int d = 0; d < 3; d++) {
            low[d] = fmin(low[d], at[d]);
            high[d] = fmax(high[d], at[d]);
        }
    }
    for (int d = 0; d < 3; d++) {
        by->shift[d] = -low[d];
        m->room.geometry.size[d] = high[d] - low[d];
    }
    for (size_t i = 0; i < m->mesh->n_nodes; i++)
        m->mesh->node[i] = moved(by, m->mesh->node[i]);
    for (size_t t = 0; t < m->mesh->n_tets && mirrors; t++) {
        size_t *tet = m->mesh->tet[t], first = tet[0];
        tet[0] = tet[1];
        tet[1] = first;
    }
    for (size_t p = 0; p < POINTS; p++)
        m->room.point[p] = moved(by, m->room.point[p]);
    for (size_t p = 0; p < m->room.geometry.n_patches; p++) {
        ebb_rect *rect = &m->room.patch[p].rect;
        *rect = (ebb_rect){rect->surface, moved(by, rect->at), turned(by, rect->along),
                           turned(by, rect->up)};
    }
}

#endif
