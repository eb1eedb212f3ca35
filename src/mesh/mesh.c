/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Meshes: memory, and which triangle belongs to which tetrahedron.
 */
#include "private.h"

#include <stdlib.h>
#include <string.h>

const int ebb_mesh_sides[4][3] = {{1, 2, 3}, {0, 3, 2}, {0, 1, 3}, {0, 2, 1}};

ebb_mesh *ebb_mesh_new(const ebb_ctx *ctx, size_t n_nodes, size_t n_tets, size_t n_faces)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_mesh *m = EBB_NEW(arena, ebb_mesh, 1);
    if (m != NULL) {
        *m = (ebb_mesh){.arena = arena, .n_nodes = n_nodes, .n_tets = n_tets, .n_faces = n_faces};
        m->node = EBB_NEW(arena, ebb_vec3, n_nodes);
        m->tet = ebb_arena_alloc(arena, n_tets, sizeof *m->tet);
        m->face = ebb_arena_alloc(arena, n_faces, sizeof *m->face);
        m->surface = EBB_NEW(arena, size_t, n_faces);
        m->owner = EBB_NEW(arena, size_t, n_faces);
        if (m->node != NULL && m->tet != NULL && m->face != NULL && m->surface != NULL &&
            m->owner != NULL)
            return m;
    }
    ebb_arena_free(arena);
    return NULL;
}

void ebb_mesh_free(ebb_mesh *mesh)
{
    if (mesh != NULL)
        ebb_arena_free(mesh->arena);
}

double ebb_mesh_six_volumes(const ebb_mesh *mesh, const size_t tet[4])
{
    const ebb_vec3 at = mesh->node[tet[0]];
    const ebb_vec3 u = ebb_minus(mesh->node[tet[1]], at);
    const ebb_vec3 v = ebb_minus(mesh->node[tet[2]], at);
    const ebb_vec3 w = ebb_minus(mesh->node[tet[3]], at);
    return ebb_dot(ebb_cross(u, v), w);
}

/* ---- sides ----------------------------------------------------------------------------------- */

static void swap_if(size_t *a, size_t *b)
{
    if (*a > *b) {
        const size_t kept = *a;
        *a = *b;
        *b = kept;
    }
}

/* By comparing neighbours three times: sorted whatever came in. */
static void sort_three(size_t node[3])
{
    swap_if(&node[0], &node[1]);
    swap_if(&node[1], &node[2]);
    swap_if(&node[0], &node[1]);
}

static int compare_nodes(const size_t *a, const size_t *b)
{
    for (int i = 0; i < 3; i++)
        if (a[i] != b[i])
            return a[i] < b[i] ? -1 : 1;
    return 0;
}

/* By nodes, then by tetrahedron: the same order whatever the system's sorting does. */
static int compare_sides(const void *left, const void *right)
{
    const ebb_mesh_side *a = left, *b = right;
    const int order = compare_nodes(a->node, b->node);
    return order != 0 ? order : (a->tet > b->tet) - (a->tet < b->tet);
}

ebb_mesh_side *ebb_mesh_all_sides(ebb_arena *arena, const ebb_mesh *mesh)
{
    ebb_mesh_side *all = EBB_RAW(arena, ebb_mesh_side, 4 * mesh->n_tets);
    if (all == NULL)
        return NULL;
    for (size_t i = 0; i < 4 * mesh->n_tets; i++) {
        all[i] = (ebb_mesh_side){.tet = i / 4, .side = (int)(i % 4)};
        for (int k = 0; k < 3; k++)
            all[i].node[k] = mesh->tet[i / 4][ebb_mesh_sides[i % 4][k]];
        sort_three(all[i].node);
    }
    qsort(all, 4 * mesh->n_tets, sizeof *all, compare_sides);
    return all;
}

/* The first of the same nodes by halving, then all that follow. */
const ebb_mesh_side *ebb_mesh_find_side(const ebb_mesh_side *all, size_t n, const size_t node[3],
                                        size_t *found)
{
    size_t wanted[3] = {node[0], node[1], node[2]}, low = 0, high = n;
    sort_three(wanted);
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (compare_nodes(all[middle].node, wanted) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    for (*found = 0; low + *found < n && compare_nodes(all[low + *found].node, wanted) == 0;)
        ++*found;
    return all + low;
}

/* Meshers differ in which way round they number; here it is one way. The owner of a triangle is
 * found and not asked for: the mesher could be wrong about it. */
bool ebb_mesh_settle(const ebb_ctx *ctx, ebb_mesh *mesh)
{
    for (size_t i = 0; i < mesh->n_tets; i++)
        if (ebb_mesh_six_volumes(mesh, mesh->tet[i]) < 0) {
            const size_t kept = mesh->tet[i][2];
            mesh->tet[i][2] = mesh->tet[i][3];
            mesh->tet[i][3] = kept;
        }
    ebb_arena *scratch = ebb_arena_new(ctx);
    const ebb_mesh_side *all = ebb_mesh_all_sides(scratch, mesh);
    for (size_t i = 0; i < mesh->n_faces && all != NULL; i++) {
        size_t n;
        const ebb_mesh_side *side = ebb_mesh_find_side(all, 4 * mesh->n_tets, mesh->face[i], &n);
        mesh->owner[i] = n > 0 ? side->tet : mesh->n_tets;
    }
    ebb_arena_free(scratch);
    return all != NULL;
}
