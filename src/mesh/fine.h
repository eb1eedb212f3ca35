/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a mesh has to be finer than in the open room. */
#ifndef EBB_MESH_FINE_H
#define EBB_MESH_FINE_H

#include <ebb/mesh.h>

/* Along a straight line, elements of this size. */
typedef struct ebb_mesh_line {
    ebb_vec3 from, to;
    double size;
} ebb_mesh_line;

/* All over a facet, elements of this size. */
typedef struct ebb_mesh_area {
    size_t facet;
    double size;
} ebb_mesh_area;

typedef struct ebb_mesh_fine {
    size_t n_lines, n_areas;
    ebb_mesh_line *line;
    ebb_mesh_area *area;
} ebb_mesh_fine;

/* Finds them; arrays in arena. False when out of memory. */
bool ebb_mesh_find_fine(ebb_arena *arena, const ebb_solid *solid, const ebb_mesh_wish *wish,
                        ebb_mesh_fine *fine);

#endif
