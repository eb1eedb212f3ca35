/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Impulse responses: the response along omega - j sigma, filtered, summed back to time.
 *
 * On the real axis a room that rings longer than a period of the transform would be wrapped round
 * its end. Below the axis the same sum gives p(t) e^{-sigma t}, which has died away by then; the
 * factor is taken out again afterwards. The period is longer than what is wanted by a guard, whose
 * samples stand for times before 0: what is found there tells how causal the answer is.
 */
#include "reduced.h"

#include <complex.h>
#include <fftw3.h> /* after complex.h: its numbers are those of C then */
#include <math.h>

#define PI 3.14159265358979323846
#define HIGH_PASS 4
#define LOW_PASS 16
#define TAIL 1e-6       /* of the low-pass, below which nothing is solved */
#define WRAP 1e-4       /* e^{-sigma T}: what is left of a steady tone at the end of the period */
#define GUARD 0.25      /* of the length, but not less than: */
#define LEAST_GUARD 0.1 /* s, a wave of 10 Hz */
#define QUANTUM 0.05    /* s, of which a period is a multiple: its length has small factors then */
#define MOST_SAMPLES 4e6
#define MOST_BEFORE 1e-5
#define CHUNKS 20 /* calls between which progress is told */

/* ---- filters --------------------------------------------------------------------------------- */

/* The product over the poles of a Butterworth filter of corner / (s - corner pole), or, for a
 * high-pass, of s / (s - corner pole): s = j omega (Butterworth 1930). */
static double _Complex butterworth(size_t order, double corner, bool high_pass, double _Complex s)
{
    double _Complex product = 1;
    for (size_t i = 0; i < order; i++) {
        const double angle = PI / 2 + PI * (2 * (double)i + 1) / (2 * (double)order);
        const double _Complex pole = corner * (cos(angle) + I * sin(angle));
        product *= (high_pass ? s : corner) / (s - pole);
    }
    return product;
}

double _Complex ebb_impulse_filter(const ebb_impulse_wish *wish, double _Complex omega)
{
    const double _Complex s = I * omega;
    double _Complex gain = butterworth(LOW_PASS, 2 * PI * wish->high, false, s);
    if (wish->low > 0)
        gain *= butterworth(HIGH_PASS, 2 * PI * wish->low, true, s);
    return wish->flat ? gain / s : gain;
}

/* ---- what is asked --------------------------------------------------------------------------- */

/* Bounds that keep the filters apart from half the rate, and the memory small. */
static ebb_status check_wish(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_impulse_wish *wish)
{
    if (!(wish->high > 0 && wish->high <= reduced->highest))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "an impulse response up to %g Hz: the model ends at %g Hz", wish->high,
                        reduced->highest);
    if (!(wish->low >= 0 && wish->low < wish->high))
        return ebb_fail(ctx, EBB_E_RANGE, "an impulse response from %g Hz to %g Hz", wish->low,
                        wish->high);
    if (wish->flat && wish->low <= 0)
        return ebb_fail(ctx, EBB_E_RANGE, "no speaker is flat down to 0 Hz");
    if (!(wish->rate >= 5 * wish->high && wish->rate <= 192000))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "%g samples a second: wanted are %g (5 times the highest frequency) to "
                        "192000",
                        wish->rate, 5 * wish->high);
    if (!(wish->seconds >= 0.05 && wish->seconds <= 30 &&
          wish->seconds * wish->rate <= MOST_SAMPLES))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "an impulse response of %g s at %g Hz: wanted are 0.05 s to 30 s and at "
                        "most %g samples",
                        wish->seconds, wish->rate, MOST_SAMPLES);
    return EBB_OK;
}

/* ---- frequencies ----------------------------------------------------------------------------- */

/* One piece of work and its period. */
typedef struct sum {
    const ebb_impulse_wish *wish;
    size_t n, total; /* samples wanted, and of a period */
    size_t n_paths, n_hz;
    double sigma, step;         /* 1/s, Hz */
    double _Complex *omega, *h; /* [n_hz]; [path * n_hz + f] */
} sum;

/* Frequencies as far as the low-pass lets anything through, from 0 up. At 0 itself the real part is
 * not quite 0: constructions are given for positive frequencies. */
static ebb_status plan(ebb_ctx *ctx, ebb_arena *scratch, const ebb_state *state, sum *s)
{
    const double rate = s->wish->rate, guard = fmax(GUARD * s->wish->seconds, LEAST_GUARD);
    s->n = (size_t)ceil(s->wish->seconds * rate - 1e-9);
    /* The same period at every rate, so that the same frequencies are summed. */
    const double period = ceil((s->wish->seconds + guard) / QUANTUM) * QUANTUM;
    s->total = (size_t)ceil(period * rate - 1e-6);
    s->step = rate / (double)s->total;
    s->sigma = -log(WRAP) * s->step;
    s->n_paths = state->n_sources * state->n_receivers;
    s->n_hz = 1 + (size_t)(s->wish->high * pow(TAIL, -1.0 / LOW_PASS) / s->step);
    s->omega = EBB_NEW(scratch, double _Complex, s->n_hz);
    s->h = EBB_NEW(scratch, double _Complex, s->n_hz * s->n_paths);
    if (!s->omega || !s->h)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for %zu frequencies", s->n_hz);
    for (size_t f = 0; f < s->n_hz; f++)
        s->omega[f] = 2 * PI * s->step * fmax((double)f, 1e-6) - I * s->sigma;
    return EBB_OK;
}

/* In pieces, so that progress can be told; every path's frequencies end up together. */
static ebb_status solve(ebb_ctx *ctx, ebb_arena *scratch, const ebb_reduced *reduced,
                        const ebb_state *state, const sum *s)
{
    const size_t most = (s->n_hz + CHUNKS - 1) / CHUNKS;
    double _Complex *piece = EBB_NEW(scratch, double _Complex, most * s->n_paths);
    if (!piece)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for %zu frequencies", most);
    for (size_t first = 0; first < s->n_hz; first += most) {
        const size_t n = s->n_hz - first < most ? s->n_hz - first : most;
        ebb_progress(ctx, "impulse responses", (double)first / (double)s->n_hz);
        const ebb_status status =
            ebb_response_at(ctx, reduced, state, true, n, s->omega + first, piece);
        if (status != EBB_OK)
            return status;
        for (size_t i = 0; i < s->n_paths * n; i++) {
            const size_t f = first + i % n;
            s->h[i / n * s->n_hz + f] = piece[i] * ebb_impulse_filter(s->wish, s->omega[f]);
        }
    }
    return EBB_OK;
}

/* ---- time ------------------------------------------------------------------------------------ */

/* Time of a sample of the period; the guard stands for times before 0. */
static double time_of(const sum *s, size_t i)
{
    return (i < s->n ? (double)i : (double)i - (double)s->total) / s->wish->rate;
}

/* A transform of one period. */
typedef struct period {
    double _Complex *spectrum; /* [total / 2 + 1] of its left half; spoiled by every run */
    double *out;               /* [total] */
    fftw_plan plan;
} period;

/* Plans share tables of the library: one thread at a time makes or ends them. */
static bool open_period(ebb_arena *scratch, size_t total, period *p)
{
    p->spectrum = EBB_RAW(scratch, double _Complex, total / 2 + 1);
    p->out = EBB_RAW(scratch, double, total);
    p->plan = NULL;
    if (p->spectrum && p->out) {
#pragma omp critical
        p->plan = fftw_plan_dft_c2r_1d((int)total, p->spectrum, p->out, FFTW_ESTIMATE);
    }
    return p->plan != NULL;
}

static void close_period(period *p)
{
    if (p->plan) {
#pragma omp critical
        fftw_destroy_plan(p->plan);
    }
}

/* p(t) = e^{sigma t} Re(h_0 + 2 sum h_k e^{j w_k t}) / T. Returns the share of energy before 0. */
static double to_time(const sum *s, const double _Complex *h, const period *p, double *pressure)
{
    for (size_t k = 0; k <= s->total / 2; k++)
        p->spectrum[k] = k < s->n_hz ? s->step * h[k] : 0;
    fftw_execute(p->plan);
    double before = 0, after = 0;
    for (size_t i = 0; i < s->total; i++) {
        const double value = p->out[i] * exp(s->sigma * time_of(s, i));
        if (i < s->n)
            pressure[i] = value;
        *(i < s->n ? &after : &before) += value * value;
    }
    return before + after > 0 ? before / (before + after) : 0;
}

/* One path after the other in the same memory: a period at 48 kHz takes megabytes. */
static ebb_status all_to_time(ebb_ctx *ctx, ebb_arena *scratch, const sum *s,
                              ebb_impulses *impulses)
{
    period p;
    const bool open = open_period(scratch, s->total, &p);
    for (size_t i = 0; open && i < s->n_paths; i++)
        impulses->before = fmax(impulses->before,
                                to_time(s, s->h + i * s->n_hz, &p, impulses->pressure + i * s->n));
    close_period(&p);
    if (!open)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for %zu samples", s->total);
    if (impulses->before > MOST_BEFORE)
        ebb_warn_at(ctx, NULL,
                    "%.2g of an impulse response's energy comes before its beginning: some "
                    "construction's data are not those of anything that can be built",
                    impulses->before);
    return EBB_OK;
}

/* On failure the result stays empty; what was taken from the caller's arena goes with it. */
ebb_status ebb_impulse(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *reduced,
                       const ebb_state *state, const ebb_impulse_wish *wish, ebb_impulses *impulses)
{
    *impulses = (ebb_impulses){0};
    ebb_status status = check_wish(ctx, reduced, wish);
    if (status != EBB_OK)
        return status;
    ebb_arena *scratch = ebb_arena_new(ctx);
    sum s = {.wish = wish};
    ebb_impulses made = {.n_sources = state->n_sources, .n_receivers = state->n_receivers};
    status = plan(ctx, scratch, state, &s);
    if (status == EBB_OK) {
        made.n = s.n;
        made.pressure = EBB_RAW(arena, double, s.n *s.n_paths);
        status = made.pressure ? solve(ctx, scratch, reduced, state, &s)
                               : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for %zu samples", s.n);
    }
    if (status == EBB_OK)
        status = all_to_time(ctx, scratch, &s, &made);
    if (status == EBB_OK)
        *impulses = made;
    ebb_arena_free(scratch);
    return status;
}
