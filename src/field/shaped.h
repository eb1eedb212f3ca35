/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A room of any shape while it is projected: its finite elements, the loads that its walls, patches
 * and points can put on it, and the residual vectors (K - s M)^-1 of those.
 */
#ifndef EBB_FIELD_SHAPED_H
#define EBB_FIELD_SHAPED_H

#include "build.h"
#include "space.h"

#include <stdint.h>

/* A point that the model was made for. Its near field: closed form by images, and what elements
 * answer to the rest of it less their own answer to the point. */
typedef struct ebb_shaped_point {
    ebb_vec3 at;
    size_t n_images;
    ebb_vec3 image[8]; /* the first is the point itself */
    double *error;     /* [length] at the lower shift */
} ebb_shaped_point;

/* What remains after projection: kept in reduced->space. */
typedef struct ebb_shaped {
    const ebb_space *space;
    size_t length;  /* freedoms of the space */
    size_t n_modes; /* rigid modes: all that the space knows */
    size_t n_extra;
    double *extra;     /* [v * length + i] enriching functions, M-orthonormal, free of modes */
    double shift[2];   /* 1/m2, of the space and of what the basis lacks */
    double *factor[2]; /* Cholesky factors of K - shift of the enriching functions */
    size_t n_points;   /* of the geometry */
    ebb_shaped_point *point;
    double *answer[2]; /* [p * length + i] residual vectors of the points at both shifts */
} ebb_shaped;

/* Those freedoms that a face touches, and the loads on it. */
typedef struct ebb_shaped_face {
    size_t n_rows, *row;
    double *wall; /* [mode * n_rows + i] B_t phi of the low modes */
    size_t n_ports;
    double *port;   /* [port * n_rows + i] of the patches on the face, in their order */
    double *weight; /* [n_ports] what a port can do at most to a mode of unit size */
} ebb_shaped_face;

typedef struct ebb_shaped_build {
    const ebb_build *all;
    ebb_arena *scratch;
    const ebb_geometry *geometry;
    ebb_reduced *reduced;
    ebb_shaped *shaped;
    const double *lambda, *shape; /* of the space's modes */
    double k;                     /* 1/m, of the highest frequency that the space was made for */
    size_t n_low;                 /* modes whose wall damping is a load */
    double weight;                /* 1/m2, of the mass in the energy of residual vectors */
    ebb_shaped_face *face;
    uint64_t seed; /* of the mixtures of loads */
} ebb_shaped_build;

/* Fills b->face, after n_low. */
ebb_status ebb_shaped_loads(ebb_shaped_build *b);

/* Weighted loads of all faces and patches, and mixtures of them at random: every mixture holds
 * something of each. out[v * length + i]. */
size_t ebb_shaped_load_count(const ebb_shaped_build *b);
ebb_status ebb_shaped_mix(ebb_shaped_build *b, size_t n, double *out);

/* Solves at a shift of the space. One at a time in the whole program: a space is shared. */
ebb_status ebb_shaped_solve(ebb_ctx *ctx, const ebb_space *space, int shift, size_t n,
                            const double *load, double *x);

/* Residual vectors of n loads at both shifts, without all modes, and (K + weight M) of them but for
 * parts along modes. stiff is memory of `brief`, all else of `arena`. */
typedef struct ebb_residuals {
    size_t n;
    double *vector[2], *stiff[2]; /* [v * length + i] */
} ebb_residuals;
ebb_status ebb_shaped_residuals(const ebb_shaped_build *b, ebb_arena *arena, ebb_arena *brief,
                                size_t n, const double *load, ebb_residuals *made);

/* Takes the modes out of n answers at a shift of the space to loads whose parts along the modes are
 * c[v * n_modes + m], which is spoiled: the answer's own part along mode m is c / (lambda_m - s).
 */
void ebb_shaped_take_modes(const ebb_shaped_build *b, int shift, size_t n, double *c,
                           double *answer);

/* Fills shaped->point and answer. */
ebb_status ebb_shaped_points(ebb_shaped_build *b);

/* The closed form of a known point at k^2 = k2, 1/m. */
double ebb_shaped_near_field(const ebb_shaped_point *point, ebb_vec3 at, double k2);

/* Fills shaped->extra. */
ebb_status ebb_shaped_enrich(ebb_shaped_build *b);

/* Matrices and port vectors of the reduced model. */
ebb_status ebb_shaped_matrices(ebb_shaped_build *b);

/* What the basis lacks of its near fields. */
ebb_status ebb_shaped_port_lacks(ebb_shaped_build *b);
ebb_status ebb_shaped_lack(const ebb_reduced *reduced, const ebb_state *state, double *lack);

/* Fills reduced->trust. */
ebb_status ebb_shaped_trust(ebb_shaped_build *b);

#endif
