/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/mesh.h - tetrahedra that fill a room of any shape, made by the helper program ebb-mesh.
 *
 * The mesher is a program of its own, so that its crashes, hangs and hunger for memory end there.
 * What comes back is not trusted: every mesh is checked against the solid it was made from before
 * anyone computes with it.
 */
#ifndef EBB_MESH_H
#define EBB_MESH_H

#include <ebb/arena.h>
#include <ebb/solid.h>

#ifndef __cplusplus

/* A straight-sided mesh. Owns its memory. Room coordinates as in the solid. */
typedef struct ebb_mesh {
    ebb_arena *arena;
    size_t n_nodes;
    ebb_vec3 *node;
    size_t n_tets;
    size_t (*tet)[4]; /* positively oriented: (b - a) x (c - a) . (d - a) > 0 */
    size_t n_faces;   /* triangles on the boundary */
    size_t (*face)[3];
    size_t *surface; /* [n_faces] surface of the room */
    size_t *owner;   /* [n_faces] the one tetrahedron that the triangle is a face of */
    size_t n_surfaces;
} ebb_mesh;

/* How fine. */
typedef struct ebb_mesh_wish {
    double edge;      /* m, length of an edge in the open room, 0.05..10 */
    double edge_min;  /* m, at re-entrant edges; 0: no grading */
    double seconds;   /* time allowed, 0: 60 s */
    double mebibytes; /* memory allowed, 0: 1024 */
} ebb_mesh_wish;

/* Runs ebb-mesh on a solid and checks what it made: volume and the area of every surface within
 * 1e-6 of the solid's, every boundary triangle a face of exactly one tetrahedron, worst quality
 * (3 x inscribed over circumscribed radius) above 0.05. `program` NULL: what the environment
 * variable EBB_MESH names, else ebb-mesh beside the running program, else from PATH. *mesh is new:
 * ebb_mesh_free. Errors: EBB_E_IO (no mesher, killed, out of time or memory, with what happened),
 * EBB_E_NUMERIC (the mesh is no good), those of ebb_solid_check, EBB_E_RANGE (the wish). The same
 * solid and wish give the same mesh. */
EBB_API ebb_status ebb_mesh_make(ebb_ctx *ctx, const ebb_solid *solid, const ebb_mesh_wish *wish,
                                 const char *program, ebb_mesh **mesh);
EBB_API void ebb_mesh_free(ebb_mesh *mesh);

/* The two halves of it without the program: the text that ebb-mesh is given, for a solid that has
 * passed ebb_solid_check (in arena; it also names solid and wish in a cache), and a mesh from the
 * text that it writes. Of that mesh only the numbers are known to be in range: ebb_mesh_check it.
 */
EBB_API ebb_status ebb_mesh_ask(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                                const ebb_mesh_wish *wish, const char **text, size_t *length);
EBB_API ebb_status ebb_mesh_read(ebb_ctx *ctx, const ebb_solid *solid, const char *text,
                                 size_t length, ebb_mesh **mesh);

/* Length of all edges of a checked solid, together, around which the air takes more than 190
 * degrees, m; NaN when out of memory. Scratch in arena. */
EBB_API double ebb_mesh_reentrant(ebb_arena *arena, const ebb_solid *solid);

/* The checks above on any mesh, and that faces meet faces and every triangle lies on its surface:
 * such a mesh covers the solid once and nothing else. EBB_E_NUMERIC with what is wrong and where.
 */
EBB_API ebb_status ebb_mesh_check(ebb_ctx *ctx, const ebb_solid *solid, const ebb_mesh *mesh);

/* A regular mesh of a box without the mesher (six tetrahedra per brick), surfaces in the order of a
 * rectangular room's faces 2 * axis + side: for checks of the engine. */
EBB_API ebb_status ebb_mesh_box(ebb_ctx *ctx, const double size[3], const size_t bricks[3],
                                ebb_mesh **mesh);

#endif /* !__cplusplus */
#endif
