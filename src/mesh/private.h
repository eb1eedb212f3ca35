/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of this module share. */
#ifndef EBB_MESH_PRIVATE_H
#define EBB_MESH_PRIVATE_H

#include <ebb/mesh.h>

#include "flat.h"
#include "quality.h"
#include <ebb/vec3.h>

/* A new mesh with arrays of the given sizes, zeroed; NULL when out of memory. */
ebb_mesh *ebb_mesh_new(const ebb_ctx *ctx, size_t n_nodes, size_t n_tets, size_t n_faces);

/* Nodes of the four faces of a tetrahedron, by their number within it; face k lies opposite node
 * k, and its nodes run counter-clockwise seen from outside. */
extern const int ebb_mesh_sides[4][3];

/* Six times the volume of a tetrahedron, negative when it is turned inside out. */
double ebb_mesh_six_volumes(const ebb_mesh *mesh, const size_t tet[4]);

/* A face of a tetrahedron, its nodes in rising order. */
typedef struct ebb_mesh_side {
    size_t node[3];
    size_t tet;
    int side;
} ebb_mesh_side;

/* The faces of all tetrahedra, 4 n_tets, sorted by their nodes; NULL when out of memory. */
ebb_mesh_side *ebb_mesh_all_sides(ebb_arena *arena, const ebb_mesh *mesh);

/* Where among them those with the given three nodes begin, and how many there are. */
const ebb_mesh_side *ebb_mesh_find_side(const ebb_mesh_side *all, size_t n, const size_t node[3],
                                        size_t *found);

/* Turns every tetrahedron the right way round and finds the owner of every boundary triangle; one
 * that is a face of no tetrahedron gets the owner n_tets. False when out of memory. */
bool ebb_mesh_settle(const ebb_ctx *ctx, ebb_mesh *mesh);

#endif
