/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * lanczos.h - the lowest rigid-wall modes of a space, complete.
 */
#ifndef EBB_FIELD_LANCZOS_H
#define EBB_FIELD_LANCZOS_H

#include "sparse.h"

/* What to find: all modes below a wave number squared, how many those are (constant included), and
 * the factor to do it with, whose shift should lie among or just below them. */
typedef struct ebb_hunt {
    const ebb_space *space;
    const ebb_fronts *fronts;
    double shift, below; /* 1/m2 */
    size_t wanted;
} ebb_hunt;

/* lambda[wanted], shape[wanted * size], M-orthonormal, rising; the first is the constant with
 * lambda 0. EBB_E_NUMERIC when they are not found. */
ebb_status ebb_lanczos(ebb_ctx *ctx, const ebb_hunt *hunt, double *lambda, double *shape);

#endif
