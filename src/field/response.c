/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Responses and power of a state. */
#include "sweep.h"

#include <cblas.h>
#include <math.h>

#define PI 3.14159265358979323846
#define HINTS 1.1 /* times the highest frequency: rigid modes that solutions are made of */

/* A state and what is asked of it. */
typedef struct question {
    const ebb_reduced *reduced;
    const ebb_state *state;
    ebb_operator op;
    ebb_sweep sweep;
} question;

static ebb_status ask(ebb_ctx *ctx, ebb_arena *scratch, const ebb_reduced *reduced,
                      const ebb_state *state, question *q)
{
    q->reduced = reduced;
    q->state = state;
    q->sweep.op = &q->op;
    q->sweep.air = &state->air;
    return ebb_operator_make(ctx, scratch, reduced, state, &q->op);
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

static double _Complex *angular(ebb_arena *arena, size_t n_hz, const double *hz)
{
    double _Complex *omega = EBB_NEW(arena, double _Complex, n_hz);
    for (size_t f = 0; omega && f < n_hz; f++)
        omega[f] = 2 * PI * hz[f];
    return omega;
}

/* h = j w rho (solution + what the basis lacks near the source) */
static ebb_status finish(ebb_arena *scratch, const question *q, double _Complex *h)
{
    const ebb_state *state = q->state;
    const ebb_sweep *s = &q->sweep;
    size_t ns = state->n_sources, nr = state->n_receivers;
    double *lack = EBB_NEW(scratch, double, 2 * ns * nr);
    if (!lack)
        return EBB_E_NOMEM;
    if (q->reduced->lack && q->reduced->lack(q->reduced, state, lack) != EBB_OK)
        return EBB_E_NOMEM;
    for (size_t f = 0; f < s->n_hz; f++)
        for (size_t i = 0; i < ns * nr; i++) {
            size_t source = i / nr, receiver = i % nr;
            double _Complex k = s->omega[f] / q->op.speed;
            double _Complex sum =
                s->out[(f * nr + receiver) * ns + source] + lack[2 * i] + k * k * lack[2 * i + 1];
            h[i * s->n_hz + f] = I * s->omega[f] * q->op.density / q->op.volume_scale * sum;
        }
    return EBB_OK;
}

/* Without the rigid modes a sharp resonance between two solved frequencies would be missed. */
static void give_hints(ebb_arena *scratch, const ebb_reduced *reduced, ebb_sweep *s)
{
    double *hint = EBB_NEW(scratch, double, reduced->n_rigid * reduced->size);
    double highest = 0;
    for (size_t f = 0; f < s->n_hz; f++)
        highest = fmax(highest, creal(s->omega[f]) / (2 * PI));
    for (size_t m = 0; hint && m < reduced->n_rigid && reduced->rigid_hz[m] < HINTS * highest;
         m++) {
        if (reduced->likeness)
            memcpy(hint + m * reduced->size, reduced->likeness + m * reduced->size,
                   reduced->size * sizeof *hint);
        else
            hint[m * reduced->size + m] = 1;
        s->n_hints = m + 1;
    }
    s->hint = hint;
}

ebb_status ebb_response_at(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                           bool each, size_t n_hz, const double _Complex *omega, double _Complex *h)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    size_t ns = state->n_sources, nr = state->n_receivers;
    question q = {.sweep = {.n_hz = n_hz, .omega = omega, .n_left = nr, .n_right = ns}};
    ebb_status status = ask(ctx, scratch, reduced, state, &q);
    if (status == EBB_OK) {
        q.sweep.left = points(scratch, reduced, nr, state->receivers);
        q.sweep.right = points(scratch, reduced, ns, state->sources);
        q.sweep.out = EBB_NEW(scratch, double _Complex, n_hz *ns *nr);
        give_hints(scratch, reduced, &q.sweep);
        status = q.sweep.left && q.sweep.right && q.sweep.out
                     ? (each ? ebb_sweep_all : ebb_sweep_some)(ctx, &q.sweep)
                     : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    if (status == EBB_OK)
        status = finish(scratch, &q, h);
    for (size_t i = 0; status != EBB_OK && i < n_hz * ns * nr; i++)
        h[i] = 0;
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_response(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                        size_t n_hz, const double *hz, double _Complex *h)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_status status = check_hz(ctx, n_hz, hz);
    const double _Complex *omega = angular(scratch, n_hz, hz);
    if (status == EBB_OK && !omega)
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_response_at(ctx, reduced, state, false, n_hz, omega, h);
    for (size_t i = 0; status != EBB_OK && i < n_hz * state->n_sources * state->n_receivers; i++)
        h[i] = 0;
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_green(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state, size_t n_hz,
                     const double *hz, size_t n_vec, const double *vectors, double _Complex *g)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    question q = {.sweep = {.n_hz = n_hz,
                            .omega = angular(scratch, n_hz, hz),
                            .n_left = n_vec,
                            .n_right = n_vec,
                            .left = vectors,
                            .right = vectors,
                            .out = g}};
    ebb_status status = check_hz(ctx, n_hz, hz);
    if (status == EBB_OK && !q.sweep.omega)
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ask(ctx, scratch, reduced, state, &q);
    if (status == EBB_OK)
        status = ebb_sweep_all(ctx, &q.sweep);
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
static void balance(const question *q, double _Complex *a, double *work, double *power)
{
    const ebb_reduced *reduced = q->reduced;
    const ebb_state *state = q->state;
    size_t size = q->op.size;
    double *re = work, *im = work + size, *scratch = work + 2 * size;
    double half = 0.5 / (q->op.density * q->op.speed), omega = creal(q->sweep.omega[0]);
    double _Complex at_source = 0;
    for (size_t i = 0; i < size; i++) {
        a[i] *= I * omega * q->op.density / q->op.volume_scale;
        at_source += a[i] * q->sweep.right[i];
        re[i] = creal(a[i]);
        im[i] = cimag(a[i]);
    }
    const ebb_variation *vary = state->vary && state->n_vary > 0 ? &state->vary[0] : NULL;
    double beta[EBB_MOST_SURFACES];
    power[0] = creal(at_source) / 2;
    for (size_t face = 0; face < reduced->n_faces; face++) {
        beta[face] = creal(ebb_assembly_beta(state->face[face], &state->air, vary, omega));
        power[1 + face] = beta[face] * half * q->op.volume_scale *
                          ebb_face_scale(reduced, face, state->scale) *
                          quadratic(size, reduced->face[face], re, im, scratch);
    }
    for (size_t u = 0; u < state->n_used; u++) {
        ebb_mounted m = ebb_mounted_at(reduced, state, u);
        double under = 0, own = 0;
        for (size_t p = 1; p < m.ports->n; p++)
            under += port_square(size, m.ports->vector + p * size, re, im);
        for (size_t p = m.from; p < m.to; p++)
            own +=
                creal(ebb_term_beta(&q->op, &state->air, ebb_operator_term(&q->op, &m, p), omega)) *
                port_square(size, m.ports->vector + p * size, re, im);
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
    const double _Complex omega = 2 * PI * hz;
    question q = {.sweep = {.n_hz = 1, .omega = &omega, .n_right = 1}};
    ebb_status status = check_hz(ctx, 1, &hz);
    if (status == EBB_OK)
        status = ask(ctx, scratch, reduced, state, &q);
    ebb_lane own;
    if (status == EBB_OK) {
        q.sweep.right = points(scratch, reduced, 1, state->sources);
        double *work = EBB_NEW(scratch, double, 3 * reduced->size);
        if (!q.sweep.right || !work || !ebb_lane_make(scratch, reduced->size, 0, 1, &own))
            status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
        else
            status = ebb_sweep_one(&q.sweep, 0, &own);
        if (status == EBB_OK)
            balance(&q, own.x, work, power);
    }
    for (size_t i = 0; status != EBB_OK && i < 1 + reduced->n_faces + state->n_used; i++)
        power[i] = 0;
    ebb_arena_free(scratch);
    return status;
}
