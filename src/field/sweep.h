/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One operator at many frequencies, and what its inverse does between given vectors. */
#ifndef EBB_FIELD_SWEEP_H
#define EBB_FIELD_SWEEP_H

#include "reduced.h"

/* v_i^T A(w_f)^-1 u_j for left i, right j. */
typedef struct ebb_sweep {
    const ebb_operator *op;
    const ebb_air *air;
    size_t n_hz;
    const double _Complex *omega; /* rad/s; real but for impulse responses; rising */
    size_t n_left, n_right;
    const double *left, *right; /* [i * size + ...] */
    size_t n_hints;             /* directions that solutions are likely to hold */
    const double *hint;         /* [n_hints * size + ...] */
    double _Complex *out;       /* [(f * n_left + i) * n_right + j] */
    double _Complex *solution;  /* [(f * n_right + j) * size + ...]; may be NULL */
} ebb_sweep;

/* Scratch of one thread. */
typedef struct ebb_lane {
    double _Complex *a, *x, *work; /* x: the solutions, [j * size + ...] */
    double *part, *product;        /* for the contraction */
    int *pivot;
} ebb_lane;

bool ebb_lane_make(ebb_arena *arena, size_t size, size_t n_left, size_t n_right, ebb_lane *own);

/* One frequency. */
ebb_status ebb_sweep_one(const ebb_sweep *s, size_t f, ebb_lane *own);

/* Every frequency solved. */
ebb_status ebb_sweep_all(ebb_ctx *ctx, const ebb_sweep *s);

/* As good as that: where it pays some are solved, and the others agree with them to 5e-5 of each
 * path's mean square root over the band, as far as frequencies between them show. */
ebb_status ebb_sweep_some(ebb_ctx *ctx, const ebb_sweep *s);

#endif
