/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sparse.h - factors of K - s M at any shift, also between modes, and solutions with them.
 *
 * A multifrontal block L D L^T over the tree of halves of a space (Duff & Reid 1983, from memory):
 * every half is one dense symmetric front, of which its own freedoms are eliminated with pivots
 * (Bunch & Kaufman) and the rest is handed up. Why not a library: those at hand either pivot and do
 * not run at the speed of dense algebra, or need a positive definite matrix, and between the modes
 * it is none. The signs of D count the modes below the shift (Sylvester), which is the proof that
 * none is missed.
 *
 * Pivots stay within a front. A shift at which that is not stable lies by chance very close to a
 * mode of some part of the room; callers look at a residual and move the shift.
 */
#ifndef EBB_FIELD_SPARSE_H
#define EBB_FIELD_SPARSE_H

#include "space.h"

typedef struct ebb_fronts ebb_fronts;

/* Room for factors; *fronts is new. */
ebb_status ebb_fronts_new(ebb_ctx *ctx, const ebb_space *space, ebb_fronts **fronts);
/* Factors K - shift M; may be called again. EBB_E_NUMERIC, without a message, when the shift is no
 * good: exactly singular, or a trial solution is wrong by more than 1e-9. */
ebb_status ebb_fronts_set(ebb_ctx *ctx, const ebb_space *space, double shift, ebb_fronts *fronts);
void ebb_fronts_free(ebb_fronts *fronts);

/* Modes below a shift, without keeping the factor. EBB_E_NUMERIC as above. */
ebb_status ebb_fronts_count(ebb_ctx *ctx, const ebb_space *space, double shift, size_t *below);

/* Modes below the shift, and numbers held by the factor. */
size_t ebb_fronts_below(const ebb_fronts *fronts);
size_t ebb_fronts_numbers(const ebb_fronts *fronts);

/* Solves in place for n right-hand sides x[v * size + i]; safe from many threads at once. */
ebb_status ebb_fronts_solve(ebb_ctx *ctx, const ebb_space *space, const ebb_fronts *fronts,
                            size_t n, double *x);

#endif
