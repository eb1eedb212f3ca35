/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * space.h - inside of ebb_space: the mesh cut into parts, the tree of its factors, the modes.
 *
 * Nothing is assembled. Products with K, M and B are sums of small dense products over the
 * elements, which run at the speed of dense algebra; the factors take the elements straight into
 * dense fronts (sparse.h). Freedoms are numbered in the order in which the factors eliminate them.
 */
#ifndef EBB_FIELD_SPACE_H
#define EBB_FIELD_SPACE_H

#include "simplex.h"

#include <ebb/space.h>

#define EBB_WORKERS 16
#define EBB_FREEDOMS_MOST 400000

/* An element: corners in rising order of their numbers. */
typedef struct ebb_element {
    size_t corner[4];
    size_t part[EBB_PARTS]; /* parts of the mesh, in the order of ebb_tet_part */
    double det;             /* six times its volume */
    double slope[3][3];     /* [a][d]: of barycentric coordinate 1 + a along axis d, 1/m */
    int *freedom;           /* [simplex.n] */
} ebb_element;

/* A triangle of the boundary. */
typedef struct ebb_wall {
    size_t surface, owner; /* element whose face it is */
    size_t corner[3];      /* rising */
    double area;
    int *freedom; /* [simplex.n_face] */
} ebb_wall;

/* A node of the tree of nested halves: elements order[from..to) of the space. Its own freedoms,
 * which no element outside shares and which no half of it holds alone, are eliminated here. */
typedef struct ebb_half {
    size_t from, to;
    size_t child[2]; /* earlier halves; none in a single element */
    int first, own;  /* freedoms first..first + own are its own */
    int n_rim;       /* freedoms shared with elements outside, rising */
    int *rim;
} ebb_half;

struct ebb_fronts;
struct ebb_finder;

struct ebb_space {
    ebb_arena *arena;
    ebb_mesh mesh; /* a copy; its arena is NULL, it lives in ours */
    ebb_simplex simplex;
    ebb_space_wish wish;
    size_t n_parts;
    unsigned char *part_kind; /* corners of each part of the mesh */
    size_t *part_uses;        /* elements that hold it; 0 for a face on a surface */
    int *part_first;          /* its first freedom */
    size_t size;
    ebb_element *element; /* [mesh.n_tets] */
    ebb_wall *wall;       /* [mesh.n_faces], by surface */
    size_t *wall_from;    /* [n_surfaces + 1] */
    double volume, *area;
    size_t *order; /* [n_tets] elements in the order of the halves */
    size_t n_halves;
    ebb_half *half; /* children before parents */
    double shift[2];
    struct ebb_fronts *fronts[2];
    size_t n_modes;
    double *lambda, *shape, *error;
    struct ebb_finder *finder;
};

/* space_parts.c: copies and checks a mesh, finds edges and faces. */
ebb_status ebb_space_take_mesh(ebb_ctx *ctx, const ebb_mesh *mesh, ebb_space *space);
/* space_order.c: halves, numbers of freedoms, freedoms of elements and walls. */
ebb_status ebb_space_number(ebb_ctx *ctx, ebb_space *space);
/* space_find.c: the grid in which points are found. */
ebb_status ebb_space_index(ebb_ctx *ctx, ebb_space *space);
/* Element that holds a point and its place in it; EBB_E_RANGE (no message) outside. */
ebb_status ebb_space_find(const ebb_space *space, ebb_vec3 at, size_t *element, double place[4]);

/* space_apply.c: K weighted by axis, and M, as one sum. */
typedef struct ebb_mix {
    double axis[3], mass;
} ebb_mix;
/* Factors of the simplex's forms in the matrix of one element. */
void ebb_space_factors(const ebb_element *element, const ebb_mix *mix, double factor[EBB_FORMS]);
/* The matrix of one element: out[n x n]. */
void ebb_space_element(const ebb_space *space, const ebb_element *element, const ebb_mix *mix,
                       double *out);
/* y = (mix) x for n vectors. */
void ebb_space_apply(const ebb_space *space, const ebb_mix *mix, size_t n, const double *x,
                     double *y);
/* K - shift M */
static inline ebb_mix ebb_shifted(double shift)
{
    return (ebb_mix){{1, 1, 1}, -shift};
}

/* space_error.c: estimated relative error of each mode's frequency. */
ebb_status ebb_space_estimate(ebb_ctx *ctx, ebb_space *space);

/* space.c: everything but factors and modes, from a mesh. */
ebb_status ebb_space_open(ebb_ctx *ctx, const ebb_mesh *mesh, const ebb_space_wish *wish,
                          ebb_space **space);
/* Makes the factor at shift 0 or 1; moves the shift a little where it is no good. */
ebb_status ebb_space_factor(ebb_ctx *ctx, ebb_space *space, int shift);

#endif
