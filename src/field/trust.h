/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How far a reduced model is from the whole space that it was projected from.
 */
#ifndef EBB_FIELD_TRUST_H
#define EBB_FIELD_TRUST_H

#include "build.h"

#define EBB_TRUST_POINTS 3   /* most of the geometry's points that are tried */
#define EBB_TRUST_PATCHES 24 /* most of its patches that hang */
#define EBB_TRUST_PATCH 1.0  /* their admittance */

/* The whole space, and what it does with real and imaginary parts as vectors of their own. */
typedef struct ebb_whole {
    const void *self;
    size_t length;
    double shift; /* 1/m2, at which it can be solved */
    /* r[2 v] and r[2 v + 1]: load of a point less (K - k2 M + j k damping) times its answer
     * a[v * size + i] in the basis; k 0: walls and patches are rigid. */
    ebb_status (*residual)(const void *self, double k2, double k, size_t n, const ebb_vec3 *point,
                           const double _Complex *a, double *r);
    /* y = (K - shift M)^-1 r for n vectors that have nothing of the kept modes. */
    ebb_status (*answer)(const void *self, size_t n, const double *r, double *y);
} ebb_whole;

/* The nominal state: admittance of a face, and does a patch hang? */
double ebb_trust_wall(const ebb_geometry *geometry, size_t face);
bool ebb_trust_hangs(const ebb_geometry *geometry, size_t patch);

/* Error of the response between the geometry's points in the nominal state, relative to the
 * response, both as rms over all pairs of points and some frequencies of the band. One static step
 * in the whole space from the basis's answer comes much closer to the truth (the error of a
 * response is the product of the residuals of both its ends over the operator, textbook, and that
 * is nearly static on what the basis leaves out); how far the model is from there is its error.
 * 0 with less than two points. */
ebb_status ebb_trust_estimate(const ebb_build *b, const ebb_whole *whole, double *truncation);

#endif
