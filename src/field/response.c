/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Responses and power of a state. Frequencies are independent and shared out to threads; each
 * thread has its own scratch, so the result does not depend on how many there are.
 */
#include "reduced.h"

#include <cblas.h>
#include <math.h>

#define PI 3.14159265358979323846
#define MANY 24 /* right-hand sides from which an unsymmetric factorisation pays */

/* One job over many frequencies, and what every thread needs. */
typedef struct sweep {
    const ebb_reduced *reduced;
    const ebb_state *state;
    ebb_operator op;
    size_t n_hz;
    const double *hz;
    size_t n_left, n_right;     /* v_i^T A^-1 u_j for left i, right j */
    const double *left, *right; /* [i * size + ...] */
    double _Complex *out;       /* [(f * n_left + i) * n_right + j] */
} sweep;

/* Scratch of one thread. */
typedef struct lane {
    double _Complex *a, *x, *work;
    double *part, *product; /* for the contraction */
    int *pivot;
} lane;

static bool lane_make(ebb_arena *arena, size_t size, size_t n_left, size_t n_right, lane *own)
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
static void contract(const sweep *s, lane *own, double _Complex *out)
{
    size_t size = s->op.size, nl = s->n_left, nr = s->n_right;
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

static ebb_status one_frequency(const sweep *s, size_t f, lane *own)
{
    size_t size = s->op.size;
    ebb_operator_at(&s->op, &s->state->air, 2 * PI * s->hz[f], own->a);
    for (size_t i = 0; i < size * s->n_right; i++)
        own->x[i] = s->right[i];
    ebb_status status = s->n_right > MANY
                            ? ebb_solve_many(size, own->a, own->pivot, s->n_right, own->x)
                            : ebb_factor(size, own->a, own->pivot, own->work);
    if (status == EBB_OK && s->n_right <= MANY)
        status = ebb_factor_solve(size, own->a, own->pivot, s->n_right, own->x);
    if (status == EBB_OK && s->n_left > 0) /* power reads the solution itself */
        contract(s, own, s->out + f * s->n_left * s->n_right);
    return status;
}

static ebb_status run(ebb_ctx *ctx, const sweep *s)
{
    int failed = 0;
#pragma omp parallel reduction(| : failed)
    {
        ebb_arena *arena = ebb_arena_new(ctx);
        lane own;
        bool ready = lane_make(arena, s->op.size, s->n_left, s->n_right, &own);
        failed |= !ready;
#pragma omp for schedule(dynamic, 1)
        for (size_t f = 0; f < s->n_hz; f++)
            if (ready && one_frequency(s, f, &own) != EBB_OK)
                failed |= 2;
        ebb_arena_free(arena);
    }
    if (failed & 1)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory while solving the room");
    if (failed)
        return ebb_fail(ctx, EBB_E_NUMERIC, "the room's equations are singular at a frequency");
    return EBB_OK;
}

static double *points(ebb_arena *arena, const ebb_reduced *reduced, size_t n, const ebb_vec3 *at)
{
    double *v = EBB_NEW(arena, double, n * reduced->size);
    return v && reduced->points(reduced, n, at, v) == EBB_OK ? v : NULL;
}

static ebb_status check_hz(ebb_ctx *ctx, size_t n_hz, const double *hz)
{
    for (size_t f = 0; f < n_hz; f++)
        if (!(hz[f] > 0 && hz[f] <= 1000))
            return ebb_fail(ctx, EBB_E_RANGE, "frequency %g Hz is outside 0 to 1000 Hz", hz[f]);
    return EBB_OK;
}

/* h = j w rho (solution + what the basis lacks near the source) */
static ebb_status finish(ebb_arena *scratch, const sweep *s, double _Complex *h)
{
    const ebb_state *state = s->state;
    size_t ns = state->n_sources, nr = state->n_receivers;
    double *lack = EBB_NEW(scratch, double, 2 * ns * nr);
    if (!lack)
        return EBB_E_NOMEM;
    if (s->reduced->lack && s->reduced->lack(s->reduced, state, lack) != EBB_OK)
        return EBB_E_NOMEM;
    for (size_t f = 0; f < s->n_hz; f++)
        for (size_t i = 0; i < ns * nr; i++) {
            size_t source = i / nr, receiver = i % nr;
            double k = 2 * PI * s->hz[f] / s->op.speed;
            double _Complex sum =
                s->out[(f * nr + receiver) * ns + source] + lack[2 * i] + k * k * lack[2 * i + 1];
            h[i * s->n_hz + f] = I * 2 * PI * s->hz[f] * s->op.density / s->op.volume_scale * sum;
        }
    return EBB_OK;
}

ebb_status ebb_response(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                        size_t n_hz, const double *hz, double _Complex *h)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    size_t ns = state->n_sources, nr = state->n_receivers;
    sweep s = {
        .reduced = reduced, .state = state, .n_hz = n_hz, .hz = hz, .n_left = nr, .n_right = ns};
    ebb_status status = check_hz(ctx, n_hz, hz);
    if (status == EBB_OK)
        status = ebb_operator_make(ctx, scratch, reduced, state, &s.op);
    if (status == EBB_OK) {
        s.left = points(scratch, reduced, nr, state->receivers);
        s.right = points(scratch, reduced, ns, state->sources);
        s.out = EBB_NEW(scratch, double _Complex, n_hz *ns *nr);
        status =
            s.left && s.right && s.out ? run(ctx, &s) : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    if (status == EBB_OK)
        status = finish(scratch, &s, h);
    for (size_t i = 0; status != EBB_OK && i < n_hz * ns * nr; i++)
        h[i] = 0;
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_green(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state, size_t n_hz,
                     const double *hz, size_t n_vec, const double *vectors, double _Complex *g)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    sweep s = {.reduced = reduced,
               .state = state,
               .n_hz = n_hz,
               .hz = hz,
               .n_left = n_vec,
               .n_right = n_vec,
               .left = vectors,
               .right = vectors,
               .out = g};
    ebb_status status = check_hz(ctx, n_hz, hz);
    if (status == EBB_OK)
        status = ebb_operator_make(ctx, scratch, reduced, state, &s.op);
    if (status == EBB_OK)
        status = run(ctx, &s);
    for (size_t i = 0; status != EBB_OK && i < n_hz * n_vec * n_vec; i++)
        g[i] = 0;
    ebb_arena_free(scratch);
    return status;
}

/* ---- power ------------------------------------------------------------------------------------
 */

/* x^H C x for a real symmetric matrix given as term t, split into real and imaginary parts. */
static double quadratic(size_t size, const double *matrix, const double *re, const double *im,
                        double *work)
{
    double sum = 0;
    const double *part[2] = {re, im};
    for (int i = 0; i < 2; i++) {
        cblas_dsymv(CblasColMajor, CblasLower, (int)size, 1, matrix, (int)size, part[i], 1, 0, work,
                    1);
        sum += cblas_ddot((int)size, work, 1, part[i], 1);
    }
    return sum;
}

static double port_square(size_t size, const double *port, const double *re, const double *im)
{
    double a = cblas_ddot((int)size, port, 1, re, 1), b = cblas_ddot((int)size, port, 1, im, 1);
    return a * a + b * b;
}

/* Unit volume velocity q = 1 at the source: a = j w rho A^-1 b / scale. Power put in is
 * Re(p(source)) / 2; a surface of admittance beta takes Re(beta) |p|^2 / (2 rho c) per m2. */
static void balance(const sweep *s, double _Complex *a, double *work, double *power)
{
    const ebb_reduced *reduced = s->reduced;
    const ebb_state *state = s->state;
    size_t size = s->op.size;
    double *re = work, *im = work + size, *scratch = work + 2 * size;
    double half = 0.5 / (s->op.density * s->op.speed);
    double _Complex at_source = 0;
    for (size_t i = 0; i < size; i++) {
        a[i] *= I * 2 * PI * s->hz[0] * s->op.density / s->op.volume_scale;
        at_source += a[i] * s->right[i];
        re[i] = creal(a[i]);
        im[i] = cimag(a[i]);
    }
    const ebb_variation *vary = state->vary && state->n_vary > 0 ? &state->vary[0] : NULL;
    double beta[EBB_MOST_SURFACES];
    power[0] = creal(at_source) / 2;
    for (size_t face = 0; face < reduced->n_faces; face++) {
        beta[face] =
            creal(ebb_assembly_beta(state->face[face], &state->air, vary, 2 * PI * s->hz[0]));
        power[1 + face] = beta[face] * half * s->op.volume_scale *
                          ebb_face_scale(reduced, face, state->scale) *
                          quadratic(size, reduced->face[face], re, im, scratch);
    }
    for (size_t u = 0; u < state->n_used; u++) {
        ebb_mounted m = ebb_mounted_at(reduced, state, u);
        double under = 0, own = 0;
        for (size_t q = 1; q < m.ports->n; q++)
            under += port_square(size, m.ports->vector + q * size, re, im);
        for (size_t q = m.from; q < m.to; q++)
            own += creal(ebb_term_beta(&s->op, &state->air, ebb_operator_term(&s->op, &m, q),
                                       2 * PI * s->hz[0])) *
                   port_square(size, m.ports->vector + q * size, re, im);
        power[1 + m.ports->face] -= beta[m.ports->face] * half * under;
        power[1 + reduced->n_faces + u] = half * own;
    }
}

ebb_status ebb_power(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state, double hz,
                     double *power)
{
    if (state->n_sources < 1)
        return ebb_fail(ctx, EBB_E_RANGE, "power needs a source");
    ebb_arena *scratch = ebb_arena_new(ctx);
    sweep s = {.reduced = reduced, .state = state, .n_hz = 1, .hz = &hz, .n_right = 1};
    ebb_status status = check_hz(ctx, 1, &hz);
    if (status == EBB_OK)
        status = ebb_operator_make(ctx, scratch, reduced, state, &s.op);
    lane own;
    if (status == EBB_OK) {
        s.right = points(scratch, reduced, 1, state->sources);
        double *work = EBB_NEW(scratch, double, 3 * reduced->size);
        if (!s.right || !work || !lane_make(scratch, reduced->size, 0, 1, &own))
            status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
        else
            status = one_frequency(&s, 0, &own);
        if (status == EBB_OK)
            balance(&s, own.x, work, power);
    }
    for (size_t i = 0; status != EBB_OK && i < 1 + reduced->n_faces + state->n_used; i++)
        power[i] = 0;
    ebb_arena_free(scratch);
    return status;
}
