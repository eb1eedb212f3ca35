/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Damped modes: polishing on the true frequency-dependent problem, residues, labels.
 */
#include "nonlinear.h"

#include <cblas.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define COLUMNS 8       /* of a matrix, multiplied at a time */
#define FOLLOW 1e-3     /* last relative step when following: the next would be below 1e-7 */
#define LOCAL_SHARE 0.3 /* below this a mode is a unit's own; see docs/architecture.md */

bool ebb_polisher_make(ebb_arena *arena, size_t size, ebb_polisher *polisher)
{
    polisher->a = EBB_RAW(arena, double _Complex, ebb_factor_matrix(size));
    polisher->work = EBB_RAW(arena, double _Complex, ebb_factor_work(size));
    polisher->slope = EBB_RAW(arena, double _Complex, size);
    polisher->value = EBB_RAW(arena, double _Complex, size);
    polisher->re = EBB_NEW(arena, double, size);
    polisher->im = EBB_NEW(arena, double, size);
    polisher->pivot = EBB_NEW(arena, int, size);
    return polisher->a && polisher->work && polisher->slope && polisher->value && polisher->re &&
           polisher->im && polisher->pivot;
}

/* value += f C x and slope += df C x for a real symmetric C, which is read once for the real and
 * the imaginary part of x. */
static void add_products(size_t size, const double *c, double _Complex f, double _Complex df,
                         const double _Complex *x, ebb_polisher *s)
{
    memset(s->re, 0, size * sizeof *s->re);
    memset(s->im, 0, size * sizeof *s->im);
    for (size_t j = 0; j < size; j += COLUMNS) {
        size_t n = size - j < COLUMNS ? size - j : COLUMNS;
        double re[COLUMNS], im[COLUMNS];
        const double *column[COLUMNS];
        for (size_t k = 0; k < n; k++) {
            re[k] = creal(x[j + k]);
            im[k] = cimag(x[j + k]);
            column[k] = c + (j + k) * size;
        }
        ebb_add_columns(size, n, re, im, column, s->re, s->im);
    }
    for (size_t j = 0; j < size; j++) {
        double _Complex product = ebb_pair(s->re[j], s->im[j]);
        s->value[j] += f * product;
        s->slope[j] += df * product;
    }
}

/* value = T(w) x and slope = T'(w) x. */
static void apply(const ebb_pencil *pencil, double _Complex omega, const double _Complex *x,
                  ebb_polisher *s)
{
    const ebb_operator *op = &pencil->op;
    const ebb_air *air = &pencil->state->air;
    double c2 = op->speed * op->speed;
    for (size_t i = 0; i < op->size; i++) {
        s->value[i] = -omega * omega / c2 * x[i];
        s->slope[i] = -2 * omega / c2 * x[i];
    }
    add_products(op->size, op->stiffness, 1, 0, x, s);
    double _Complex h = 1e-5 * omega;
    for (size_t t = 0; t < op->n_terms; t++) {
        double _Complex df =
            (ebb_term_value(op, air, t, omega + h) - ebb_term_value(op, air, t, omega - h)) /
            (2 * h);
        add_products(op->size, op->term[t].matrix, ebb_term_value(op, air, t, omega), df, x, s);
    }
}

static double _Complex bilinear(size_t size, const double _Complex *a, const double _Complex *b)
{
    double _Complex sum = 0;
    for (size_t i = 0; i < size; i++)
        sum += a[i] * b[i];
    return sum;
}

static void normalise(size_t size, double _Complex *x)
{
    double norm = cblas_dznrm2((int)size, x, 1);
    for (size_t i = 0; i < size; i++)
        x[i] /= norm;
}

/* Rayleigh steps: omega from the functional x^T T x = 0, x from one inverse iteration. For a
 * complex symmetric problem left and right vectors agree, so convergence is cubic. */
bool ebb_polish(const ebb_pencil *pencil, ebb_polisher *s, double tolerance, double _Complex *omega,
                double _Complex *x, double _Complex *norm)
{
    size_t size = pencil->op.size;
    normalise(size, x);
    for (int step = 0; step < 25; step++) {
        apply(pencil, *omega, x, s);
        double _Complex slope = bilinear(size, x, s->slope);
        double _Complex change = bilinear(size, x, s->value) / slope;
        double limit = 0.05 * cabs(*omega);
        if (cabs(change) > limit)
            change *= limit / cabs(change);
        *omega -= change;
        *norm = slope;
        if (!(creal(*omega) > 1))
            return false;
        if (step > 0 && cabs(change) < tolerance * cabs(*omega))
            return true;
        memcpy(x, s->slope, size * sizeof *x);
        ebb_operator_at(&pencil->op, &pencil->state->air, *omega, s->a);
        if (ebb_factor(size, s->a, s->pivot, s->work) != EBB_OK ||
            ebb_factor_solve(size, s->a, s->pivot, 1, x) != EBB_OK)
            return true; /* singular to rounding: omega is an eigenvalue */
        normalise(size, x);
    }
    return false;
}

/* ---- from eigenpairs to modes -----------------------------------------------------------------
 */

/* A polished pair with its norm x^T T' x; ok false when it got lost. */
typedef struct pair {
    double _Complex omega, norm;
    double _Complex *x;
    bool ok;
} pair;

static int by_omega(const void *a, const void *b)
{
    const pair *p = a, *q = b;
    if (p->ok != q->ok)
        return p->ok ? -1 : 1;
    double x = creal(p->omega), y = creal(q->omega);
    return (x > y) - (x < y);
}

static bool same_pair(size_t size, const pair *a, const pair *b)
{
    if (cabs(a->omega - b->omega) > 1e-5 * cabs(a->omega))
        return false;
    double _Complex overlap = 0;
    for (size_t i = 0; i < size; i++)
        overlap += conj(a->x[i]) * b->x[i];
    return cabs(overlap) > 0.9; /* both have unit length */
}

/* Two starts that ended in one mode: the later one is started again with the found shape taken out.
 * Returns how many are still lost. */
static size_t part_twins(const ebb_pencil *pencil, ebb_polisher *s, double tolerance, size_t n,
                         pair *pairs, const double _Complex *start_omega,
                         const double _Complex *start)
{
    size_t size = pencil->op.size, lost = 0;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < i && pairs[i].ok; j++) {
            if (!pairs[j].ok || !same_pair(size, &pairs[i], &pairs[j]))
                continue;
            memcpy(pairs[i].x, start + i * size, size * sizeof *start);
            double _Complex self = bilinear(size, pairs[j].x, pairs[j].x);
            double _Complex part = bilinear(size, pairs[j].x, pairs[i].x) / self;
            for (size_t k = 0; k < size; k++)
                pairs[i].x[k] -= part * pairs[j].x[k];
            pairs[i].omega = start_omega[i];
            pairs[i].ok =
                ebb_polish(pencil, s, tolerance, &pairs[i].omega, pairs[i].x, &pairs[i].norm) &&
                !same_pair(size, &pairs[i], &pairs[j]);
            lost += !pairs[i].ok;
        }
    }
    return lost;
}

/* x^H C x for a real symmetric matrix. */
static double energy(size_t size, const double *c, const double _Complex *x)
{
    double sum = 0;
    for (size_t j = 0; j < size; j++) {
        double _Complex column = 0;
        for (size_t i = 0; i < size; i++)
            column += c[j * size + i] * x[i];
        sum += creal(conj(x[j]) * column);
    }
    return sum;
}

/* Resonant faces and patches move with the mode: what share of the energy is in the air? */
static double air_share(const ebb_pencil *pencil, const pair *p)
{
    const ebb_operator *op = &pencil->op;
    double rho_c = op->density * op->speed, unit = 0;
    for (size_t t = 0; t < op->n_terms; t++) {
        const ebb_fit *fit = &pencil->fit[t];
        if (!fit->resonant)
            continue;
        double _Complex v = ebb_term_beta(op, &pencil->state->air, t, p->omega) / rho_c;
        unit += fit->mrk[0] * creal(v * conj(v)) * energy(op->size, op->term[t].matrix, p->x);
    }
    double air = 1 / (op->density * op->speed * op->speed); /* |x| = 1 */
    return air / (air + unit);
}

/* Rigid mode that a shape resembles most. */
static void label(const ebb_reduced *reduced, const double _Complex *x, ebb_mode *mode)
{
    mode->likeness = -1;
    for (size_t m = 0; m < reduced->n_rigid; m++) {
        double _Complex part = x[m];
        if (reduced->likeness) {
            part = 0;
            for (size_t i = 0; i < reduced->size; i++)
                part += reduced->likeness[m * reduced->size + i] * x[i];
        }
        double share = creal(part * conj(part));
        if (share > mode->likeness) {
            mode->likeness = share;
            memcpy(mode->label, reduced->label + 3 * m, sizeof mode->label);
        }
    }
}

/* Residues at all source-receiver pairs, from point vectors [sources then receivers]. */
static void residues(const ebb_pencil *pencil, const pair *p, const double *points,
                     double _Complex *out)
{
    const ebb_state *state = pencil->state;
    size_t size = pencil->op.size, ns = state->n_sources, nr = state->n_receivers;
    double _Complex factor = -p->omega * pencil->op.density / pencil->op.volume_scale / p->norm;
    for (size_t s = 0; s < ns; s++) {
        double _Complex at_source = 0;
        for (size_t i = 0; i < size; i++)
            at_source += points[s * size + i] * p->x[i];
        for (size_t r = 0; r < nr; r++) {
            double _Complex at_receiver = 0;
            for (size_t i = 0; i < size; i++)
                at_receiver += points[(ns + r) * size + i] * p->x[i];
            out[s * nr + r] = factor * at_source * at_receiver;
        }
    }
}

static ebb_status fill(const ebb_pencil *pencil, size_t n, const pair *pairs, const double band[2],
                       ebb_modes *modes)
{
    const ebb_state *state = pencil->state;
    size_t size = pencil->op.size, ns = state->n_sources, nr = state->n_receivers;
    modes->n_sources = ns;
    modes->n_receivers = nr;
    modes->size = size;
    modes->mode = EBB_NEW(modes->arena, ebb_mode, n);
    modes->residue = EBB_NEW(modes->arena, double _Complex, n *ns *nr);
    modes->vector = EBB_NEW(modes->arena, double _Complex, n *size);
    double *points = EBB_NEW(modes->arena, double, (ns + nr) * size);
    if (!modes->mode || !modes->residue || !modes->vector || !points)
        return EBB_E_NOMEM;
    const ebb_reduced *reduced = pencil->reduced;
    if (reduced->points(reduced, ns, state->sources, points) != EBB_OK ||
        reduced->points(reduced, nr, state->receivers, points + ns * size) != EBB_OK)
        return EBB_E_NOMEM;
    for (size_t i = 0; i < n; i++) {
        double hz = creal(pairs[i].omega) / (2 * PI), delta = cimag(pairs[i].omega);
        double share = air_share(pencil, &pairs[i]);
        if (hz < band[0] || hz > band[1] || share < LOCAL_SHARE || !(delta > 0))
            continue;
        ebb_mode *mode = &modes->mode[modes->n];
        *mode = (ebb_mode){hz, delta, 6.907755 / delta, PI * hz / delta, share, {0}, 0};
        label(pencil->reduced, pairs[i].x, mode);
        residues(pencil, &pairs[i], points, modes->residue + modes->n * ns * nr);
        memcpy(modes->vector + modes->n * size, pairs[i].x, size * sizeof *pairs[i].x);
        modes->n++;
    }
    return EBB_OK;
}

/* Polishes all starts, in parallel, and builds the result. */
static ebb_status polish_all(ebb_ctx *ctx, ebb_arena *scratch, const ebb_pencil *pencil,
                             double tolerance, const double band[2], size_t n,
                             const double _Complex *omega, const double _Complex *start,
                             ebb_modes *modes)
{
    size_t size = pencil->op.size;
    pair *pairs = EBB_NEW(scratch, pair, n);
    double _Complex *x = EBB_NEW(scratch, double _Complex, n *size);
    ebb_polisher spare;
    if (!pairs || !x || !ebb_polisher_make(scratch, size, &spare))
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the room's modes");
    memcpy(x, start, n * size * sizeof *x);
    int failed = 0;
#pragma omp parallel reduction(| : failed)
    {
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_polisher polisher;
        bool ready = ebb_polisher_make(arena, size, &polisher);
        failed |= !ready;
#pragma omp for schedule(dynamic, 1)
        for (size_t i = 0; i < n; i++) {
            pairs[i] = (pair){.omega = omega[i], .x = x + i * size};
            pairs[i].ok = ready && ebb_polish(pencil, &polisher, tolerance, &pairs[i].omega,
                                              pairs[i].x, &pairs[i].norm);
        }
        ebb_arena_free(arena);
    }
    if (failed)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the room's modes");
    size_t lost = part_twins(pencil, &spare, tolerance, n, pairs, omega, start);
    if (lost > 0 && ctx)
        ebb_warn_at(ctx, NULL,
                    "%zu of %zu first guesses led to a damped mode found already: the list of "
                    "modes may lack one",
                    lost, n);
    size_t found = 0;
    qsort(pairs, n, sizeof *pairs, by_omega);
    while (found < n && pairs[found].ok)
        found++;
    return fill(pencil, found, pairs, band, modes);
}

ebb_status ebb_pencil_open(ebb_ctx *ctx, ebb_arena *scratch, const ebb_reduced *reduced,
                           const ebb_state *state, const double band[2], ebb_pencil *pencil)
{
    *pencil = (ebb_pencil){.reduced = reduced, .state = state, .band = {band[0], band[1]}};
    ebb_status status = ebb_operator_make(ctx, scratch, reduced, state, &pencil->op);
    if (status != EBB_OK)
        return status;
    pencil->fit = EBB_NEW(scratch, ebb_fit, pencil->op.n_terms);
    if (!pencil->fit)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the room's modes");
    for (size_t t = 0; t < pencil->op.n_terms; t++)
        pencil->fit[t].resonant = ebb_fit_resonator(pencil, t, pencil->fit[t].mrk);
    return EBB_OK;
}

static ebb_modes *empty_modes(ebb_ctx *ctx)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_modes *modes = EBB_NEW(arena, ebb_modes, 1);
    if (modes)
        modes->arena = arena;
    else
        ebb_arena_free(arena);
    return modes;
}

static ebb_status deliver(ebb_status status, ebb_modes *made, ebb_modes **modes)
{
    if (status == EBB_OK)
        *modes = made;
    else
        ebb_modes_free(made);
    return status;
}

ebb_status ebb_modes_new(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                         double low, double high, ebb_modes **modes)
{
    *modes = NULL;
    if (!(low >= 5 && high > low && high <= 1.25 * reduced->highest))
        return ebb_fail(ctx, EBB_E_RANGE, "modes from %g to %g Hz are outside 5 to %g Hz", low,
                        high, 1.25 * reduced->highest);
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_modes *made = empty_modes(ctx);
    ebb_pencil pencil;
    size_t n = 0;
    double _Complex *omega = NULL, *start = NULL;
    const double band[2] = {low, high};
    ebb_status status = made ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_pencil_open(ctx, scratch, reduced, state, band, &pencil);
    if (status == EBB_OK)
        status = ebb_guess_modes(ctx, scratch, &pencil, &n, &omega, &start);
    if (status == EBB_OK)
        status = polish_all(ctx, scratch, &pencil, 1e-9, band, n, omega, start, made);
    ebb_arena_free(scratch);
    return deliver(status, made, modes);
}

ebb_status ebb_modes_follow(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                            const ebb_modes *start, ebb_modes **modes)
{
    *modes = NULL;
    if (start->size != reduced->size)
        return ebb_fail(ctx, EBB_E_RANGE, "the starting modes belong to another model");
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_modes *made = empty_modes(ctx);
    double _Complex *omega = EBB_NEW(scratch, double _Complex, start->n);
    ebb_pencil pencil;
    const double band[2] = {5, 1.25 * reduced->highest};
    ebb_status status = made && omega ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_pencil_open(ctx, scratch, reduced, state, band, &pencil);
    for (size_t i = 0; i < start->n && status == EBB_OK; i++)
        omega[i] = 2 * PI * start->mode[i].hz + I * start->mode[i].delta;
    if (status == EBB_OK)
        status =
            polish_all(ctx, scratch, &pencil, FOLLOW, band, start->n, omega, start->vector, made);
    ebb_arena_free(scratch);
    return deliver(status, made, modes);
}

void ebb_modes_free(ebb_modes *modes)
{
    if (modes)
        ebb_arena_free(modes->arena);
}
