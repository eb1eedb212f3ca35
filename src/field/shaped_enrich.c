/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Enriching functions of a meshed room: the span of all residual vectors that matter. Hundreds of
 * patches have thousands of loads, but their answers lie close to a space of some hundred
 * directions. Answers to a few mixtures of all loads at random span it as well as the answers to
 * all of them would (randomised range finder, Halko, Martinsson & Tropp 2011, from memory); more
 * mixtures are drawn until new ones bring nothing new.
 */
#include "shaped.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>

#define FIRST 64         /* mixtures to begin with */
#define NEXT 32          /* and at a time later */
#define ENOUGH 0.85      /* share of the mixtures that may count when no more are needed */
#define MOST_BLOCKS 64   /* of mixtures: also the limit of memory */
#define POINT_WEIGHT 0.1 /* relative damping of modes, about: what a source does to them */

/* Residual vectors at both shifts: [first shift of block 0, second of block 0, first of 1, ...] */
typedef struct pool {
    ebb_shaped_build *b;
    ebb_arena *arena;
    size_t n; /* vectors */
    size_t n_blocks, n_mixed;
    ebb_residuals block[MOST_BLOCKS];
    double *gram; /* [n * n] energy products */
} pool;

/* ---- energy products ------------------------------------------------------------------------- */

/* Products of two sets of vectors at one shift each, a->n rows and b->n columns of out. */
static void products(const pool *p, const ebb_residuals *a, int i, const ebb_residuals *b, int j,
                     size_t stride, double *out)
{
    int length = (int)p->b->shaped->length;
    cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)a->n, (int)b->n, length, 1,
                a->vector[i], length, b->stiff[j], length, 0, out, (int)stride);
}

/* Widens the table of products by the last block. */
static ebb_status widen(pool *p)
{
    const ebb_residuals *last = &p->block[p->n_blocks - 1];
    size_t old = p->n, n = old + 2 * last->n, row = 0;
    double *gram = EBB_NEW(p->arena, double, n *n);
    if (!gram)
        return EBB_E_NOMEM;
    for (size_t v = 0; v < old; v++)
        memcpy(gram + v * n, p->gram + v * old, old * sizeof *gram);
    for (size_t k = 0; k < p->n_blocks; k++)
        for (int i = 0; i < 2; i++, row += p->block[k].n)
            for (int j = 0; j < 2; j++)
                products(p, &p->block[k], i, last, j, n,
                         gram + row * n + old + (size_t)j * last->n);
    for (size_t v = old; v < n; v++)
        for (size_t w = 0; w < v; w++) { /* the two halves of a block agree to rounding only */
            double mean = w < old ? gram[w * n + v] : (gram[v * n + w] + gram[w * n + v]) / 2;
            gram[v * n + w] = gram[w * n + v] = mean;
        }
    p->gram = gram;
    p->n = n;
    return EBB_OK;
}

/* ---- filling the pool ------------------------------------------------------------------------ */

/* What only the table of products needs goes with `brief`. */
static ebb_status add_block(pool *p, ebb_arena *brief, size_t n, const double *load)
{
    ebb_residuals *made = &p->block[p->n_blocks];
    ebb_status status = ebb_shaped_residuals(p->b, p->arena, brief, n, load, made);
    if (status != EBB_OK)
        return status;
    p->n_blocks++;
    return widen(p);
}

/* The points of the geometry: they are few and matter most, so each is solved for itself. */
static ebb_status add_points(pool *p)
{
    const ebb_geometry *geometry = p->b->geometry;
    const ebb_space *space = p->b->shaped->space;
    size_t n = geometry->n_points;
    if (n == 0)
        return EBB_OK;
    ebb_arena *brief = ebb_arena_new(p->b->all->ctx);
    double *load = EBB_RAW(brief, double, n *ebb_space_size(space));
    ebb_status status =
        load ? ebb_space_points(p->b->all->ctx, space, n, geometry->points, load) : EBB_E_NOMEM;
    if (status == EBB_OK)
        status = add_block(p, brief, n, load);
    ebb_arena_free(brief);
    return status;
}

/* Directions that carry more than the tolerance among the mixtures' answers at one shift. */
static ebb_status count_kept(pool *p, double least, size_t *kept)
{
    size_t first = p->n - 2 * p->n_mixed, n = p->n_mixed, at = 0;
    double *g = EBB_RAW(p->arena, double, n *n), *value = EBB_NEW(p->arena, double, n);
    size_t *index = EBB_NEW(p->arena, size_t, n);
    if (!g || !value || !index)
        return EBB_E_NOMEM;
    for (size_t k = first > 0, row = first; k < p->n_blocks; row += 2 * p->block[k].n, k++)
        for (size_t v = 0; v < p->block[k].n; v++)
            index[at++] = row + p->block[k].n + v;
    for (size_t v = 0; v < n; v++)
        for (size_t w = 0; w < n; w++)
            g[v * n + w] = p->gram[index[v] * p->n + index[w]] / (double)n;
    if (LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'N', 'U', (int)n, g, (int)n, value) != 0)
        return EBB_E_NUMERIC;
    *kept = 0;
    for (size_t v = 0; v < n; v++)
        *kept += value[v] >= least;
    return EBB_OK;
}

static ebb_status add_mixed(pool *p, size_t n)
{
    ebb_arena *brief = ebb_arena_new(p->b->all->ctx);
    double *load = EBB_RAW(brief, double, n * p->b->shaped->length);
    ebb_status status = load ? ebb_shaped_mix(p->b, n, load) : EBB_E_NOMEM;
    if (status == EBB_OK)
        status = add_block(p, brief, n, load);
    ebb_arena_free(brief);
    p->n_mixed += n;
    return status;
}

static ebb_status add_mixtures(pool *p, double least)
{
    size_t most = ebb_shaped_load_count(p->b), kept = 0;
    ebb_status status = EBB_OK;
    while (status == EBB_OK && p->n_mixed < most && p->n_blocks < MOST_BLOCKS) {
        size_t n = p->n_mixed == 0 ? FIRST : NEXT;
        status = add_mixed(p, most - p->n_mixed < n ? most - p->n_mixed : n);
        if (status == EBB_OK)
            status = count_kept(p, least, &kept);
        if ((double)kept <= ENOUGH * (double)p->n_mixed)
            break;
    }
    return status;
}

/* ---- from the pool to the enriching functions ------------------------------------------------ */

/* to[v * length + i]: sums of all vectors, those of vector j of the pool times z[j * n + v]. */
static void combine(const pool *p, size_t n, const double *z, double *to)
{
    int length = (int)p->b->shaped->length;
    for (size_t k = 0; k < p->n_blocks; k++)
        for (int i = 0; i < 2 && n > 0; i++, z += p->block[k].n * n)
            cblas_dgemm(CblasRowMajor, CblasTrans, CblasNoTrans, (int)n, length, (int)p->block[k].n,
                        1, z, (int)n, p->block[k].vector[i], length, 1, to, length);
}

/* Directions with more energy than `least`, each of unit energy, into shaped->extra. Mixtures count
 * by their mean, points by what a source does to a room. */
static ebb_status choose(pool *p, double least)
{
    ebb_shaped *shaped = p->b->shaped;
    size_t n = p->n, first = n - 2 * p->n_mixed;
    double of_point = POINT_WEIGHT * p->b->k * p->b->k * sqrt(ebb_space_volume(shaped->space));
    double *g = EBB_RAW(p->arena, double, n *n), *value = EBB_NEW(p->arena, double, 2 * n);
    if (!g || !value)
        return EBB_E_NOMEM;
    double *weight = value + n;
    for (size_t v = 0; v < n; v++)
        weight[v] = v < first ? of_point : 1 / sqrt((double)p->n_mixed);
    for (size_t v = 0; v < n; v++)
        for (size_t w = 0; w < n; w++)
            g[v * n + w] = weight[v] * weight[w] * p->gram[v * n + w];
    if (n > 0 && LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'V', 'U', (int)n, g, (int)n, value) != 0)
        return EBB_E_NUMERIC;
    size_t lost = 0;
    while (lost < n && value[lost] < least)
        lost++;
    size_t kept = n - lost;
    double *z = EBB_RAW(p->arena, double, n *kept);
    shaped->extra = EBB_NEW(p->b->reduced->arena, double, kept * shaped->length);
    if (!z || !shaped->extra)
        return EBB_E_NOMEM;
    for (size_t v = 0; v < n; v++)
        for (size_t q = 0; q < kept; q++)
            z[v * kept + q] = weight[v] * g[(lost + q) * n + v] / sqrt(value[lost + q]);
    shaped->n_extra = kept;
    combine(p, kept, z, shaped->extra);
    return EBB_OK;
}

/* Makes the enriching functions M-orthonormal. Of modes they are free but for rounding, and in
 * energy they are orthonormal: one pass is enough. */
static ebb_status orthonormalise(ebb_shaped_build *b)
{
    ebb_shaped *shaped = b->shaped;
    int n = (int)shaped->n_extra, length = (int)shaped->length;
    ebb_arena *scratch = ebb_arena_new(b->all->ctx);
    double *mass = EBB_RAW(scratch, double, shaped->n_extra * shaped->length);
    double *g = EBB_RAW(scratch, double, shaped->n_extra * shaped->n_extra);
    ebb_status status = mass && g ? EBB_OK : EBB_E_NOMEM;
    if (status == EBB_OK && n > 0) {
        ebb_space_mass(shaped->space, shaped->n_extra, shaped->extra, mass);
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, n, n, length, 1, shaped->extra, length,
                    mass, length, 0, g, n);
        if (LAPACKE_dpotrf(LAPACK_ROW_MAJOR, 'L', n, g, n) != 0)
            status = EBB_E_NUMERIC;
        else
            cblas_dtrsm(CblasRowMajor, CblasLeft, CblasLower, CblasNoTrans, CblasNonUnit, n, length,
                        1, g, n, shaped->extra, length);
    }
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_shaped_enrich(ebb_shaped_build *b)
{
    ebb_arena *arena = ebb_arena_new(b->all->ctx);
    pool *p = EBB_NEW(arena, pool, 1);
    if (!p) {
        ebb_arena_free(arena);
        return EBB_E_NOMEM;
    }
    double least = pow(ebb_build_tolerance(b->geometry) * b->k, 2);
    *p = (pool){.b = b, .arena = arena};
    ebb_status status = add_points(p);
    if (status == EBB_OK)
        status = add_mixtures(p, least);
    if (status == EBB_OK)
        status = choose(p, least);
    ebb_arena_free(arena);
    return status == EBB_OK ? orthonormalise(b) : status;
}
