/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/solid.h - the air of a room of any shape as a closed polyhedron, checked before anyone meshes
 * or computes with it.
 */
#ifndef EBB_SOLID_H
#define EBB_SOLID_H

#include <ebb/arena.h>
#include <ebb/vec3.h>

#ifndef __cplusplus

/* A flat facet of a closed polyhedron: one outer loop, then the loops of its holes. */
typedef struct ebb_facet {
    size_t surface;     /* index of the room's surface that it belongs to */
    size_t n_loops;     /* 1 or more */
    const size_t *loop; /* [n_loops] corners in each loop */
    const size_t
        *corner; /* all loops one after another: indices of ebb_solid.corner. The outer loop
                  * runs counter-clockwise seen from inside the room, holes clockwise */
} ebb_facet;

/* The air of a room: a closed, oriented polyhedron. Room coordinates (lower corner of the box
 * around it at 0), m. Two facets share each edge, in opposite directions. */
typedef struct ebb_solid {
    size_t n_corners;
    const ebb_vec3 *corner;
    size_t n_facets;
    const ebb_facet *facet;
    size_t n_surfaces; /* of the room; facets name them */
} ebb_solid;

/* Checks a solid: closed, every edge shared by two facets in opposite directions, facets flat
 * within 1e-6 m, loops not crossing themselves or each other, volume > 0. On failure *why (in
 * arena) says what is wrong and where, in words without file names. */
EBB_API ebb_status ebb_solid_check(ebb_arena *arena, const ebb_solid *solid, const char **why);

/* Volume (m3) and area of one surface (m2), by the divergence theorem; exact up to rounding. */
EBB_API double ebb_solid_volume(const ebb_solid *solid);
EBB_API double ebb_solid_area(const ebb_solid *solid, size_t surface);

/* Is a point inside, at least `clear` metres from every facet? */
EBB_API bool ebb_solid_holds(const ebb_solid *solid, ebb_vec3 at, double clear);

#endif /* !__cplusplus */
#endif
