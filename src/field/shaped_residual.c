/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Residual vectors of a meshed room: answers to loads at the space's two shifts, less what its
 * modes answer, which is known to rounding.
 */
#include "shaped.h"

#include <cblas.h>

ebb_status ebb_shaped_solve(ebb_ctx *ctx, const ebb_space *space, int shift, size_t n,
                            const double *load, double *x)
{
    ebb_status status = EBB_OK;
#pragma omp critical
    status = ebb_space_solve(ctx, space, 0, shift, n, load, x);
    return status;
}

void ebb_shaped_take_modes(const ebb_shaped_build *b, int shift, size_t n, double *c,
                           double *answer)
{
    const ebb_shaped *shaped = b->shaped;
    int n_modes = (int)shaped->n_modes, length = (int)shaped->length;
    for (size_t i = 0; i < n * shaped->n_modes; i++)
        c[i] /= b->lambda[i % shaped->n_modes] - shaped->shift[shift];
    if (n > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasNoTrans, (int)n, length, n_modes, -1, c,
                    n_modes, b->shape, length, 1, answer, length);
}

/* stiff = (K + weight M) y for the answers y to loads at shift s, since K y = load + s M y; what
 * that says along modes is wrong and not needed. */
static void stiffen(const ebb_shaped_build *b, int shift, size_t n, const double *load,
                    const double *y, double *stiff)
{
    size_t all = n * b->shaped->length;
    double factor = b->shaped->shift[shift] + b->weight;
    ebb_space_mass(b->shaped->space, n, y, stiff);
    for (size_t i = 0; i < all; i++)
        stiff[i] = load[i] + factor * stiff[i];
}

ebb_status ebb_shaped_residuals(const ebb_shaped_build *b, ebb_arena *arena, ebb_arena *brief,
                                size_t n, const double *load, ebb_residuals *made)
{
    const ebb_shaped *shaped = b->shaped;
    int n_modes = (int)shaped->n_modes, length = (int)shaped->length;
    double *c = EBB_RAW(brief, double, 2 * n * shaped->n_modes), *spoiled = c + n * shaped->n_modes;
    if (!c)
        return EBB_E_NOMEM;
    made->n = n;
    if (n > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, n_modes, length, 1, load,
                    length, b->shape, length, 0, c, n_modes);
    for (int i = 0; i < 2; i++) {
        made->vector[i] = EBB_RAW(arena, double, n * shaped->length);
        made->stiff[i] = EBB_RAW(brief, double, n * shaped->length);
        if (!made->vector[i] || !made->stiff[i])
            return EBB_E_NOMEM;
        ebb_status status =
            ebb_shaped_solve(b->all->ctx, shaped->space, i, n, load, made->vector[i]);
        if (status != EBB_OK)
            return status;
        memcpy(spoiled, c, n * shaped->n_modes * sizeof *c);
        ebb_shaped_take_modes(b, i, n, spoiled, made->vector[i]);
        stiffen(b, i, n, load, made->vector[i], made->stiff[i]);
    }
    return EBB_OK;
}
