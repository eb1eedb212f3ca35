/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A rectangular room as a tensor product of three lines. In the product of their eigenfunctions
 * mass and stiffness are diagonal, so a residual vector (K - s M)^-1 b is one division per entry.
 */
#ifndef EBB_FIELD_BOX_H
#define EBB_FIELD_BOX_H

#include "line.h"

#include <ebb/field.h>

#define EBB_MOST_DEGREE 120 /* of the polynomials along an edge */

typedef struct ebb_box {
    ebb_line axis[3];
    size_t stride[3];
    size_t n_full;          /* product of the three axes' functions */
    double *lambda;         /* [n_full] */
    size_t n_kept;          /* rigid modes kept as they are, by rising frequency */
    size_t *kept;           /* [n_kept] indices */
    unsigned char *is_kept; /* [n_full] */
    double shift[2];        /* the two shifts s of the residual vectors, 1/m2 */
    double weight;          /* added to lambda in the energy norm, 1/m2 */
    size_t n_extra;
    double *extra; /* [v * n_full + index] orthonormal, zero at kept modes */
} ebb_box;

/* The two other axes of the faces normal to `axis`, rising. */
void ebb_box_tangents(int axis, int tangent[2]);

/* Lines, eigenvalues, kept modes up to `cut` Hz. Memory in arena. */
ebb_status ebb_box_make(ebb_arena *arena, const ebb_geometry *geometry, double resolution,
                        double cut, ebb_box *box);

/* Load patterns of one face in the product of its two tangent lines: [pattern * n_b * n_c + jk]. */
typedef struct ebb_patterns {
    size_t n;
    double *pattern;
} ebb_patterns;

/* Fills box->extra with the compressed residual vectors of all faces and points. patterns[face] are
 * loads on the faces. tolerance: smallest relative size of a vector that is kept. */
ebb_status ebb_box_enrich(ebb_arena *arena, ebb_box *box, const ebb_patterns patterns[EBB_FACES],
                          size_t n_points, const ebb_vec3 *points, double tolerance);

/* All functions at a point: out[n_full]. work: 2 * (sum of axis sizes) doubles. */
void ebb_box_product(const ebb_box *box, const ebb_vec3 *at, double *work, double *out);

/* Rigid-walled Green function of (-laplace + kappa2) between two points, by images, 1/m. */
double ebb_box_screened(const double size[3], double kappa, const ebb_vec3 *a, const ebb_vec3 *b);

#endif
