/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * simplex.h - one tetrahedron and one triangle of any order: nodes, shape functions, exact
 * integrals.
 *
 * Shape functions are Lagrange polynomials on nodes that stand in fixed places of the vertices,
 * edges, faces and the inside. The corners of every element are in the order of their numbers in
 * the mesh, so that two elements that share a face see its nodes in the same order and no table of
 * signs or turns is needed. Nodes after T. Isaac, SIAM J. Sci. Comput. 42 (2020), "Recursive,
 * parameter-free, explicitly defined interpolation nodes for simplices" (from memory): the nodes of
 * a face depend on that face alone.
 *
 * Beside them stands the orthonormal ("modal") basis of Dubiner (1991), rising in degree: it makes
 * the integrals exact, and its coefficients of highest degree tell how well a field is resolved.
 */
#ifndef EBB_FIELD_SIMPLEX_H
#define EBB_FIELD_SIMPLEX_H

#include <ebb/arena.h>

#define EBB_ORDER_MOST 8
#define EBB_TET_MOST 165 /* shape functions of a tetrahedron of the highest order */
#define EBB_TRI_MOST 45  /* of a triangle */
#define EBB_PARTS 15     /* 4 vertices, 6 edges, 4 faces, inside */
#define EBB_FORMS 7      /* matrices that all element matrices are sums of */

/* Corners of each part of a tetrahedron as bits, in the order in which its nodes are numbered. */
extern const unsigned char ebb_tet_part[EBB_PARTS];

typedef struct ebb_simplex {
    size_t order, n, n_face; /* shape functions of the tetrahedron, of the triangle */
    size_t inside[5];        /* nodes inside a part with that many corners */
    double *node;            /* [n * 4] barycentric places */
    double *modal;           /* [n x n] modal coefficients of each shape function, by columns */
    double *form;            /* [EBB_FORMS][n x n]: over the reference tetrahedron of volume 1/6:
                              * d0 d0, d1 d1, d2 d2, d0 d1 + d1 d0, d0 d2 + d2 d0, d1 d2 + d2 d1,
                              * mass; d_a by coordinate 1 + a, coordinate 0 giving way */
    double *slope[3];        /* [low x n] modal coefficients of d_a of each shape function */
    size_t low;              /* modal functions of degree below the order */
    double *face_modal;      /* [n_face x n_face] */
    double *face_mass;       /* [n_face x n_face] over the reference triangle of area 1/2 */
} ebb_simplex;

/* Modal functions up to a degree on the tetrahedron, on the triangle. */
size_t ebb_tet_count(size_t degree);
size_t ebb_tri_count(size_t degree);

/* Modal functions up to a degree at a barycentric place: value[count], slope[3][count] when not
 * NULL. Of the triangle: corner 3 is at 0. */
void ebb_tet_modal(size_t degree, const double at[4], double *value, double *const slope[3]);
void ebb_tri_modal(size_t degree, const double at[3], double *value);

/* Gauss-Legendre rule on [0, 1]: n points, exact to degree 2 n - 1; n at most EBB_GAUSS_MOST. */
#define EBB_GAUSS_MOST 40
void ebb_gauss01(size_t n, double *at, double *weight);

/* Everything of one order, 1..8; memory in arena. EBB_E_NOMEM. */
ebb_status ebb_simplex_make(ebb_ctx *ctx, ebb_arena *arena, size_t order, ebb_simplex *simplex);

/* Values of the shape functions at a barycentric place: out[n], of the triangle out[n_face]. */
void ebb_simplex_at(const ebb_simplex *simplex, const double at[4], double *out);
void ebb_simplex_face_at(const ebb_simplex *simplex, const double at[3], double *out);

#endif
