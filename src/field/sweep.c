/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One operator at many frequencies. They are independent and shared out to threads; each thread has
 * its own scratch, so the result does not depend on how many there are.
 *
 * Where many are wanted of a large basis, a few are solved in it, and the rest in the span of those
 * solutions, from the left and from the right, and of the hints: all that a band of frequencies can
 * do to a few points lies in a space not much larger than its modes are many. Others of the
 * frequencies are then solved in the whole basis as well, to see that the two agree; as long as
 * they do not, those join the span.
 *
 * Measured on a basis of 445 with 40 resonant units and with bare walls: once the checks agree, no
 * frequency of the band was more than 0.03 dB from its own solution.
 */
#include "sweep.h"

#include <cblas.h>
#include <math.h>
#include <string.h>

#define MANY 24        /* right-hand sides from which an unsymmetric factorisation pays */
#define EXPONENT 1.5   /* of frequency, in the number of modes below it in a small treated room */
#define FIRST 12       /* frequencies solved to begin with */
#define CHECKS 4       /* and at a time to see what that was worth */
#define LEAST_HZ 80    /* fewer are all solved */
#define LEAST_SIZE 200 /* a smaller basis is solved as fast as a smaller one is found */
#define AGREED 5e-5    /* of a path's mean square root over the band */
#define DROP 1e-6      /* relative size of a direction that is left out */

bool ebb_lane_make(ebb_arena *arena, size_t size, size_t n_left, size_t n_right, ebb_lane *own)
{
    own->part = EBB_RAW(arena, double, 2 * size * n_right);
    own->product = EBB_RAW(arena, double, 2 * n_left * n_right);
    own->a = EBB_RAW(arena, double _Complex, ebb_factor_matrix(size));
    own->x = EBB_RAW(arena, double _Complex, size *n_right);
    own->work = EBB_RAW(arena, double _Complex, ebb_factor_work(size));
    own->pivot = EBB_NEW(arena, int, size);
    return own->a && own->x && own->work && own->pivot && own->part && own->product;
}

/* out[i * n_right + j] = left_i . x_j: the complex columns seen as real pairs, one product. */
static void contract(const ebb_sweep *s, ebb_lane *own, double _Complex *out)
{
    size_t size = s->op->size, nl = s->n_left, nr = s->n_right;
    for (size_t j = 0; j < nr; j++)
        for (size_t k = 0; k < size; k++) {
            own->part[j * size + k] = creal(own->x[j * size + k]);
            own->part[(nr + j) * size + k] = cimag(own->x[j * size + k]);
        }
    cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)nl, (int)(2 * nr), (int)size, 1,
                s->left, (int)size, own->part, (int)size, 0, own->product, (int)(2 * nr));
    for (size_t i = 0; i < nl; i++)
        for (size_t j = 0; j < nr; j++)
            out[i * nr + j] = own->product[i * 2 * nr + j] + I * own->product[i * 2 * nr + nr + j];
}

ebb_status ebb_sweep_one(const ebb_sweep *s, size_t f, ebb_lane *own)
{
    size_t size = s->op->size;
    ebb_operator_at(s->op, s->air, s->omega[f], own->a);
    for (size_t i = 0; i < size * s->n_right; i++)
        own->x[i] = s->right[i];
    ebb_status status = s->n_right > MANY
                            ? ebb_solve_many(size, own->a, own->pivot, s->n_right, own->x)
                            : ebb_factor(size, own->a, own->pivot, own->work);
    if (status == EBB_OK && s->n_right <= MANY)
        status = ebb_factor_solve(size, own->a, own->pivot, s->n_right, own->x);
    if (status == EBB_OK && s->solution)
        memcpy(s->solution + f * s->n_right * size, own->x, s->n_right * size * sizeof *own->x);
    if (status == EBB_OK && s->n_left > 0)
        contract(s, own, s->out + f * s->n_left * s->n_right);
    return status;
}

ebb_status ebb_sweep_all(ebb_ctx *ctx, const ebb_sweep *s)
{
    int failed = 0;
#pragma omp parallel reduction(| : failed)
    {
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_lane own;
        bool ready = ebb_lane_make(arena, s->op->size, s->n_left, s->n_right, &own);
        failed |= !ready;
#pragma omp for schedule(dynamic, 1)
        for (size_t f = 0; f < s->n_hz; f++)
            if (ready && ebb_sweep_one(s, f, &own) != EBB_OK)
                failed |= 2;
        ebb_arena_free(arena);
    }
    if (failed & 1)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory while solving the room");
    if (failed)
        return ebb_fail(ctx, EBB_E_NUMERIC, "the room's equations are singular at a frequency");
    return EBB_OK;
}

/* ---- some for all ---------------------------------------------------------------------------- */

/* A sweep while it is made from a few of its frequencies. */
typedef struct few {
    ebb_ctx *ctx;
    const ebb_sweep *all;
    const double *points; /* left, then right */
    size_t n;             /* solved so far */
    size_t *at;           /* [n] which */
    double *part;         /* [n][points][re, im][size] their solutions */
    double _Complex *out; /* [n][left][right] */
} few;

static size_t n_points(const ebb_sweep *s)
{
    return s->n_left + s->n_right;
}

/* Takes k more, those that `at` names from n on. */
static ebb_status solve_more(few *w, size_t k)
{
    const ebb_sweep *all = w->all;
    const size_t size = all->op->size, np = n_points(all), n_out = all->n_left * all->n_right;
    ebb_arena *brief = ebb_arena_new(w->ctx);
    double _Complex *omega = EBB_RAW(brief, double _Complex, k);
    double _Complex *x = EBB_RAW(brief, double _Complex, k *np *size);
    ebb_sweep some = {.op = all->op,
                      .air = all->air,
                      .n_hz = k,
                      .omega = omega,
                      .n_right = np,
                      .right = w->points,
                      .solution = x};
    for (size_t i = 0; omega && i < k; i++)
        omega[i] = all->omega[w->at[w->n + i]];
    ebb_status status =
        omega && x ? ebb_sweep_all(w->ctx, &some) : ebb_fail(w->ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < k && status == EBB_OK; i++) {
        double *part = w->part + (w->n + i) * 2 * np * size;
        double _Complex *out = w->out + (w->n + i) * n_out;
        for (size_t v = 0; v < np * size; v++) {
            part[v / size * 2 * size + v % size] = creal(x[i * np * size + v]);
            part[(v / size * 2 + 1) * size + v % size] = cimag(x[i * np * size + v]);
        }
        for (size_t q = 0; q < n_out; q++) {
            const double *left = all->left + q / all->n_right * size;
            const double *right = part + 2 * (all->n_left + q % all->n_right) * size;
            out[q] = cblas_ddot((int)size, left, 1, right, 1) +
                     I * cblas_ddot((int)size, left, 1, right + size, 1);
        }
    }
    w->n += k;
    ebb_arena_free(brief);
    return status;
}

/* The operator between directions; they are orthonormal, so the unit matrix stays one. */
static bool narrow(ebb_arena *arena, const ebb_operator *op, size_t n, const double *kept,
                   ebb_operator *small)
{
    *small = *op;
    small->size = n;
    small->stiffness = ebb_restricted(arena, arena, op->size, n, kept, op->stiffness);
    small->term = EBB_NEW(arena, ebb_term, op->n_terms);
    bool ok = small->stiffness && small->term;
    for (size_t t = 0; ok && t < op->n_terms; t++) {
        small->term[t] = op->term[t];
        small->term[t].matrix = ebb_restricted(arena, arena, op->size, n, kept, op->term[t].matrix);
        ok = small->term[t].matrix != NULL;
    }
    return ok;
}

/* The operator and the points in the span of the first solutions. */
typedef struct span {
    ebb_operator op;
    double *left, *right;
} span;

static ebb_status open_span(const few *w, ebb_arena *arena, size_t n_solved, span *made)
{
    const ebb_sweep *all = w->all;
    const size_t size = all->op->size, np = n_points(all), n_own = n_solved * 2 * np;
    const size_t n = n_own + all->n_hints;
    double *whole = EBB_RAW(arena, double, n *size), *kept = NULL;
    if (!whole)
        return ebb_fail(w->ctx, EBB_E_NOMEM, "out of memory");
    memcpy(whole, w->part, n_own * size * sizeof *whole);
    if (all->n_hints > 0)
        memcpy(whole + n_own * size, all->hint, all->n_hints * size * sizeof *whole);
    const size_t n_kept = ebb_compress(arena, size, n, whole, DROP, &kept);
    made->left = n_kept > 0 ? EBB_RAW(arena, double, np *n_kept) : NULL;
    if (!made->left || !narrow(arena, all->op, n_kept, kept, &made->op))
        return ebb_fail(w->ctx, EBB_E_NOMEM, "out of memory");
    made->right = made->left + all->n_left * n_kept;
    cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)np, (int)n_kept, (int)size, 1,
                w->points, (int)size, kept, (int)size, 0, made->left, (int)n_kept);
    return EBB_OK;
}

static ebb_status solve_in(const few *w, const span *in, size_t n_hz, const double _Complex *omega,
                           double _Complex *out)
{
    ebb_sweep sweep = *w->all;
    sweep.op = &in->op;
    sweep.left = in->left;
    sweep.right = in->right;
    sweep.n_hz = n_hz;
    sweep.omega = omega;
    sweep.out = out;
    return ebb_sweep_all(w->ctx, &sweep);
}

/* How far a span is off at the last frequencies solved, of which it knows nothing: the largest
 * difference as part of each path's root of mean square over all that are solved. */
static ebb_status check(const few *w, ebb_arena *arena, const span *in, double *off)
{
    const size_t n_out = w->all->n_left * w->all->n_right, first = w->n - CHECKS;
    double _Complex omega[CHECKS], *got = EBB_RAW(arena, double _Complex, CHECKS *n_out);
    if (!got)
        return ebb_fail(w->ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < CHECKS; i++)
        omega[i] = w->all->omega[w->at[first + i]];
    const ebb_status status = solve_in(w, in, CHECKS, omega, got);
    *off = 0;
    for (size_t q = 0; q < n_out; q++) {
        double square = 0;
        for (size_t i = 0; i < w->n; i++)
            square += pow(cabs(w->out[i * n_out + q]), 2) / (double)w->n;
        for (size_t i = 0; i < CHECKS; i++)
            *off = fmax(*off,
                        cabs(got[i * n_out + q] - w->out[(first + i) * n_out + q]) / sqrt(square));
    }
    return status;
}

/* Modes below a frequency of the sweep, but for a factor. */
static double below(const few *w, size_t f)
{
    return pow(creal(w->all->omega[f]), EXPONENT);
}

/* Names k frequencies not yet solved, each in the middle of that gap between solved ones in which
 * most modes lie: where the span is most likely to fail. */
static void name_middles(few *w, size_t k)
{
    for (size_t i = w->n; i < w->n + k; i++) {
        double most = 0;
        size_t from = 0, to = 0;
        for (size_t a = 0; a < i; a++) {
            size_t next = w->all->n_hz;
            for (size_t b = 0; b < i; b++)
                if (w->at[b] > w->at[a] && w->at[b] < next)
                    next = w->at[b];
            if (next < w->all->n_hz && next > w->at[a] + 1 &&
                below(w, next) - below(w, w->at[a]) > most) {
                most = below(w, next) - below(w, w->at[a]);
                from = w->at[a];
                to = next;
            }
        }
        w->at[i] = (from + to) / 2;
    }
}

/* One round: more frequencies, of which the span so far knows nothing; all of them in it when it
 * is right there. */
static ebb_status try_span(few *w, bool *agreed)
{
    ebb_arena *arena = ebb_arena_new(w->ctx);
    const size_t known = w->n;
    double off = INFINITY;
    span in;
    name_middles(w, CHECKS);
    ebb_status status = solve_more(w, CHECKS);
    if (status == EBB_OK)
        status = open_span(w, arena, known, &in);
    if (status == EBB_OK)
        status = check(w, arena, &in, &off);
    *agreed = off <= AGREED;
    if (status == EBB_OK && *agreed)
        status = solve_in(w, &in, w->all->n_hz, w->all->omega, w->all->out);
    ebb_arena_free(arena);
    return status;
}

static ebb_status solve_few(few *w)
{
    const ebb_sweep *all = w->all;
    const size_t n_out = all->n_left * all->n_right;
    bool agreed = false;
    w->at[1] = all->n_hz - 1;
    w->n = 2;
    name_middles(w, FIRST - 2);
    w->n = 0;
    ebb_status status = solve_more(w, FIRST);
    while (status == EBB_OK && !agreed && 2 * (w->n + CHECKS) <= all->n_hz)
        status = try_span(w, &agreed);
    if (status == EBB_OK && !agreed)
        return ebb_sweep_all(w->ctx, all);
    for (size_t i = 0; i < w->n && status == EBB_OK; i++)
        memcpy(all->out + w->at[i] * n_out, w->out + i * n_out, n_out * sizeof *w->out);
    return status;
}

/* Gaps between frequencies mean nothing where these do not rise. */
static bool rises(const ebb_sweep *s)
{
    bool rising = true;
    for (size_t f = 1; f < s->n_hz; f++)
        rising &= creal(s->omega[f]) > creal(s->omega[f - 1]);
    return rising;
}

ebb_status ebb_sweep_some(ebb_ctx *ctx, const ebb_sweep *s)
{
    const size_t size = s->op->size, np = n_points(s), most = s->n_hz / 2 + CHECKS;
    if (s->n_hz < LEAST_HZ || size < LEAST_SIZE || 2 * np * FIRST > size || !rises(s))
        return ebb_sweep_all(ctx, s);
    ebb_arena *arena = ebb_arena_new(ctx);
    double *points = EBB_RAW(arena, double, np *size);
    few w = {.ctx = ctx,
             .all = s,
             .points = points,
             .at = EBB_NEW(arena, size_t, most),
             .part = EBB_RAW(arena, double, most * 2 * np * size),
             .out = EBB_RAW(arena, double _Complex, most * s->n_left * s->n_right)};
    ebb_status status = EBB_E_NOMEM;
    if (points && w.at && w.part && w.out) {
        memcpy(points, s->left, s->n_left * size * sizeof *points);
        memcpy(points + s->n_left * size, s->right, s->n_right * size * sizeof *points);
        status = solve_few(&w);
    } else {
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory while solving the room");
    }
    ebb_arena_free(arena);
    return status;
}
