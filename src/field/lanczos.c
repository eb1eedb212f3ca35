/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Shift-invert block Lanczos: the operator (K - s M)^-1 M is self-adjoint in the product of M and
 * has its largest eigenvalues next to the shift. Blocks, because solves and products are several
 * times faster for many vectors, and because a mode of any multiplicity up to the block is then
 * found in one go. Every new block is made orthogonal to all before, twice: the projected matrix
 * stays true, no ghosts appear, and it is all dense algebra.
 */
#include "lanczos.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define BLOCK 8
#define CONVERGED 1e-9  /* residual of an eigenvalue of the operator, relative */
#define DEPENDENT 1e-13 /* of a direction that adds nothing to the basis, relative */

typedef struct lanczos {
    const ebb_hunt *hunt;
    size_t size, most; /* of a vector; of the basis */
    size_t n;          /* basis vectors; the first is the constant */
    size_t done;       /* those whose product with the operator is known */
    double *v;         /* [most * size] basis */
    double *mv;        /* [3 * BLOCK * size] M times its last vectors, from `kept` on */
    size_t kept;
    double *t;         /* [most x most] the operator in the basis, lower part */
    double *w, *mw;    /* [BLOCK * size] block at hand */
    double *c;         /* [most x BLOCK] */
    double *small;     /* work for blocks */
    double *s, *theta; /* Ritz vectors and values of t */
    double *work;
    int *iwork;
    double scale; /* largest number seen in t: what counts as nothing */
    uint64_t random;
} lanczos;

#define SMALL (BLOCK * BLOCK)
#define WORK (4 * BLOCK) /* of a small eigenproblem */

static size_t work_size(size_t n)
{
    return 1 + 6 * n + 2 * n * n;
}

/* Room for four times the modes wanted: two and a half is what it took in the rooms tried. */
static bool open_lanczos(ebb_arena *scratch, const ebb_hunt *hunt, lanczos *z)
{
    const size_t size = hunt->space->size, guess = 4 * hunt->wanted + 16 * BLOCK;
    const size_t most = guess < size ? guess : size;
    *z = (lanczos){.hunt = hunt, .size = size, .most = most, .random = 0x9E3779B97F4A7C15u};
    /* pages that are never touched cost nothing: the guess is generous */
    z->v = EBB_RAW(scratch, double, most *size);
    z->mv = EBB_RAW(scratch, double, 3 * BLOCK * size);
    z->t = EBB_NEW(scratch, double, most *most);
    z->s = EBB_RAW(scratch, double, most *most);
    z->theta = EBB_NEW(scratch, double, most);
    z->w = EBB_RAW(scratch, double, BLOCK *size);
    z->mw = EBB_RAW(scratch, double, BLOCK *size);
    z->c = EBB_NEW(scratch, double, most *BLOCK);
    z->small = EBB_NEW(scratch, double, 3 * SMALL + BLOCK + WORK);
    z->work = EBB_RAW(scratch, double, work_size(most));
    z->iwork = EBB_RAW(scratch, int, 3 + 5 * most);
    return z->v && z->mv && z->t && z->s && z->theta && z->w && z->mw && z->c && z->small &&
           z->work && z->iwork;
}

/* xorshift64*: the same start on every machine. */
static void fill_random(lanczos *z, size_t k)
{
    for (size_t i = 0; i < k * z->size; i++) {
        z->random ^= z->random >> 12;
        z->random ^= z->random << 25;
        z->random ^= z->random >> 27;
        z->w[i] = (double)((z->random * 0x2545F4914F6CDD1Du) >> 11) * 0x1p-52 - 1;
    }
}

/* ---- one block ------------------------------------------------------------------------------- */

/* M times a basis vector among the last. */
static double *mass_of(const lanczos *z, size_t vector)
{
    return z->mv + (vector - z->kept) * z->size;
}

/* Forgets M times the vectors before `first`. */
static void keep_from(lanczos *z, size_t first)
{
    if (first <= z->kept)
        return;
    memmove(z->mv, mass_of(z, first), (z->n - first) * z->size * sizeof *z->mv);
    z->kept = first;
}

/* w -= v c over the basis vectors from `first` on. */
static void subtract(lanczos *z, size_t first, size_t k)
{
    const int n = (int)(z->n - first), size = (int)z->size;
    cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, size, (int)k, n, -1,
                z->v + first * z->size, size, z->c, n, 1, z->w, size);
}

/* Takes the last two blocks out of w: in exact arithmetic there is nothing else. The coefficients
 * are columns of t from `column` on. */
static void take_off_last(lanczos *z, size_t k, size_t column)
{
    const size_t first = column > BLOCK ? column - BLOCK : 0, n = z->n - first;
    keep_from(z, first);
    cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, (int)n, (int)k, (int)z->size, 1,
                mass_of(z, first), (int)z->size, z->w, (int)z->size, 0, z->c, (int)n);
    subtract(z, first, k);
    for (size_t j = 0; j < k; j++)
        for (size_t i = 0; i < n; i++) {
            z->t[(column + j) * z->most + first + i] = z->c[j * n + i];
            z->scale = fmax(z->scale, fabs(z->c[j * n + i]));
        }
}

/* Takes the whole basis out of the k vectors that stand behind it, into w. */
static void take_off_all(lanczos *z, size_t k)
{
    const int n = (int)z->n, size = (int)z->size;
    memcpy(z->w, z->v + z->n * z->size, k * z->size * sizeof *z->w);
    cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, n, (int)k, size, 1, z->v, size,
                mass_of(z, z->n), size, 0, z->c, n);
    subtract(z, 0, k);
}

/* Makes the k vectors w M-orthonormal and puts them behind the basis without counting them:
 * w = new r, r [rank x k]. Directions shorter than `least` are dropped; returns how many stay. */
static size_t normalise(lanczos *z, size_t k, double least, double *r)
{
    const int size = (int)z->size, n = (int)k;
    double *gram = z->small, *value = gram + SMALL, *work = value + BLOCK;
    ebb_space_mass(z->hunt->space, k, z->w, z->mw);
    cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, n, n, size, 1, z->w, size, z->mw, size, 0,
                gram, n);
    LAPACKE_dsyev_work(LAPACK_COL_MAJOR, 'V', 'L', n, gram, n, value, work, WORK);
    size_t first = 0;
    while (first < k && !(value[first] > least * least))
        first++;
    const size_t left = z->most - z->n, rank = k - first < left ? k - first : left;
    first = k - rank;
    for (size_t j = first; j < k; j++) {
        const double length = sqrt(value[j]);
        for (size_t i = 0; i < k; i++) {
            r[i * rank + j - first] = length * gram[j * k + i];
            gram[j * k + i] /= length;
        }
    }
    if (rank > 0) {
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, size, (int)rank, n, 1, z->w, size,
                    gram + first * k, n, 0, z->v + z->n * z->size, size);
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, size, (int)rank, n, 1, z->mw, size,
                    gram + first * k, n, 0, mass_of(z, z->n), size);
    }
    return rank;
}

/* The operator times the k vectors from `column` on is in w: adds what the basis has not. Returns
 * how many vectors were added. */
static size_t extend(lanczos *z, size_t k, size_t column)
{
    double *first = z->small + SMALL + BLOCK + WORK, *second = first + SMALL;
    take_off_last(z, k, column);
    const size_t rank = normalise(z, k, DEPENDENT * z->scale, first);
    if (rank == 0)
        return 0;
    take_off_all(z, rank);
    const size_t kept = normalise(z, rank, 1e-3, second);
    for (size_t j = 0; j < k; j++)
        for (size_t i = 0; i < kept; i++) {
            double sum = 0;
            for (size_t l = 0; l < rank; l++)
                sum += second[l * kept + i] * first[j * rank + l];
            z->t[(column + j) * z->most + z->n + i] = sum;
        }
    z->n += kept;
    return kept;
}

/* Adds k vectors without any pattern. */
static void add_random(lanczos *z, size_t k)
{
    double *r = z->small + SMALL + BLOCK + WORK;
    fill_random(z, k);
    keep_from(z, z->n > BLOCK ? z->n - BLOCK : 0);
    k = normalise(z, k, 0, r);
    for (int pass = 0; pass < 3 && k > 0; pass++) {
        take_off_all(z, k);
        k = normalise(z, k, DEPENDENT, r);
    }
    z->n += k;
}

/* Applies the operator to the vectors after `done` and adds the result to the basis. Where little
 * new comes, the basis holds whole eigenspaces: it goes on from another start. */
static ebb_status step(ebb_ctx *ctx, lanczos *z)
{
    const size_t from = z->done;
    const size_t k = z->n - from < BLOCK ? z->n - from : BLOCK;
    memcpy(z->w, mass_of(z, from), k * z->size * sizeof *z->w);
    ebb_status status = ebb_fronts_solve(ctx, z->hunt->space, z->hunt->fronts, k, z->w);
    if (status != EBB_OK)
        return status;
    z->done += k;
    const size_t added = extend(z, k, from);
    const size_t missing = BLOCK - added, left = z->most - z->n;
    const size_t fresh = missing < left ? missing : left;
    if (fresh > 0)
        add_random(z, fresh);
    return EBB_OK;
}

/* ---- what has been found --------------------------------------------------------------------- */

/* Is Ritz pair i a mode below the border that has converged? Its residual is what the last block
 * couples to. */
static bool is_found(const lanczos *z, size_t i, size_t n, double *lambda)
{
    const double theta = z->theta[i], *s = z->s + i * n;
    double residual = 0;
    if (theta == 0)
        return false;
    *lambda = z->hunt->shift + 1 / theta;
    if (!(*lambda < z->hunt->below) || !(*lambda > -1e-6 * z->hunt->below))
        return false;
    for (size_t row = z->done; row < z->n; row++) {
        double sum = 0;
        for (size_t j = z->done > 2 * BLOCK ? z->done - 2 * BLOCK : 1; j < z->done; j++)
            sum += z->t[j * z->most + row] * s[j - 1];
        residual += sum * sum;
    }
    return sqrt(residual) <= CONVERGED * fabs(theta);
}

/* Solves the projected problem; the constant, basis vector 0, stands apart. Returns how many modes
 * have been found, the constant counted. */
static size_t look(lanczos *z, size_t *found, double *lambda)
{
    const size_t n = z->done - 1;
    for (size_t j = 0; j < n; j++)
        memcpy(z->s + j * n, z->t + (j + 1) * z->most + 1, n * sizeof *z->s);
    if (LAPACKE_dsyevd_work(LAPACK_COL_MAJOR, 'V', 'L', (int)n, z->s, (int)n, z->theta, z->work,
                            (int)work_size(n), z->iwork, (int)(3 + 5 * n)) != 0)
        return 0;
    size_t count = 1;
    for (size_t i = 0; i < n; i++) {
        double here;
        if (!is_found(z, i, n, &here))
            continue;
        if (count < z->hunt->wanted) {
            found[count] = i;
            lambda[count] = here;
        }
        count++;
    }
    return count;
}

/* Ritz vectors of the modes found, by rising wave number. */
static void write_modes(lanczos *z, size_t *found, double *lambda, double *shape)
{
    const size_t n = z->done - 1, wanted = z->hunt->wanted;
    for (size_t i = 2; i < wanted; i++)
        for (size_t j = i; j > 1 && lambda[j] < lambda[j - 1]; j--) {
            const double swap = lambda[j];
            const size_t index = found[j];
            lambda[j] = lambda[j - 1];
            found[j] = found[j - 1];
            lambda[j - 1] = swap;
            found[j - 1] = index;
        }
    memcpy(shape, z->v, z->size * sizeof *shape);
    lambda[0] = 0;
    double *pick = z->t; /* no longer needed */
    for (size_t m = 1; m < wanted; m++)
        memcpy(pick + (m - 1) * n, z->s + found[m] * n, n * sizeof *pick);
    if (wanted > 1)
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, (int)z->size, (int)wanted - 1,
                    (int)n, 1, z->v + z->size, (int)z->size, pick, (int)n, 0, shape + z->size,
                    (int)z->size);
}

/* Is there room for one more block, or for all there can be? */
static bool has_room(const lanczos *z)
{
    return z->done < z->n && (z->most == z->size || z->n + BLOCK <= z->most);
}

/* ---- the hunt -------------------------------------------------------------------------------- */

/* The constant, exactly, as first vector of the basis; then a start without any pattern. */
static void start(lanczos *z)
{
    const double value = 1 / sqrt(z->hunt->space->volume);
    for (size_t i = 0; i < z->size; i++)
        z->v[i] = value;
    ebb_space_mass(z->hunt->space, 1, z->v, z->mv);
    z->n = z->done = 1;
    const size_t left = z->most - 1, block = left < BLOCK ? left : BLOCK;
    add_random(z, block);
}

/* The number wanted is known from the inertia of a factor: the hunt ends when all are there, not
 * when nothing new has come for a while. */
static ebb_status hunt_down(ebb_ctx *ctx, lanczos *z, size_t *found, double *lambda)
{
    const size_t wanted = z->hunt->wanted;
    size_t count = 1, next = wanted + wanted / 8 + BLOCK;
    start(z);
    while (count != wanted && has_room(z)) {
        ebb_status status = step(ctx, z);
        if (status != EBB_OK)
            return status;
        if (z->done < next && has_room(z))
            continue;
        count = look(z, found, lambda);
        next = z->done + (z->done / 16 > BLOCK ? z->done / 16 : BLOCK);
    }
    if (count != wanted)
        return ebb_fail(ctx, EBB_E_NUMERIC, "%zu of the room's %zu modes below %.4g 1/m were found",
                        count, wanted, sqrt(z->hunt->below));
    return EBB_OK;
}

/* All memory in one arena: a failure anywhere leaves nothing. */
ebb_status ebb_lanczos(ebb_ctx *ctx, const ebb_hunt *hunt, double *lambda, double *shape)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    lanczos z;
    size_t *found = EBB_NEW(scratch, size_t, hunt->wanted);
    ebb_status status = EBB_OK;
    if (!found || !open_lanczos(scratch, hunt, &z))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the modes of a room");
    if (status == EBB_OK)
        status = hunt_down(ctx, &z, found, lambda);
    if (status == EBB_OK)
        write_modes(&z, found, lambda, shape);
    ebb_arena_free(scratch);
    return status;
}
