/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * First guesses for damped modes: every admittance is replaced by the best fit that keeps the
 * problem a real quadratic one. Resonant patches get a displacement of their own,
 *   [K + (s/c) B + (s/c)^2] a + rho s^2 P u = 0,   (m s^2 + r s + k) u = P^T a,
 * everything else (s/c) beta ~ q0 + q1 s + q2 s^2. All eigenvalues come at once from one companion
 * matrix, so none can be passed over.
 */
#include "nonlinear.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define SAMPLES 24
#define PATTERN_DROP 1e-3 /* of a face's strongest pattern */

/* One displacement of a resonant surface: a port of a patch, or a pattern of whole faces. */
typedef struct freedom {
    const double *vector;
    const double *mrk;
    double weight; /* energy of a unit displacement: 1 for ports, the volume scale for patterns */
} freedom;

typedef struct problem {
    const ebb_pencil *pencil;
    size_t n, n_freedoms;
    freedom *freedom;
    size_t *n_patterns; /* per term; only resonant faces have patterns */
    double **pattern;   /* [term][pattern * n + i] */
    double *part[3];    /* polynomial coefficients of the room's own block, n x n */
} problem;

static double sample_hz(const double band[2], int i)
{
    return band[0] * pow(band[1] / band[0], (i + 0.5) / SAMPLES);
}

bool ebb_fit_resonator(const ebb_pencil *pencil, size_t term, double mrk[3])
{
    const double *band = pencil->band;
    const ebb_air *air = &pencil->state->air;
    double rho_c = air->density * air->speed;
    double weight = 0, resistance = 0, a11 = 0, a12 = 0, a22 = 0, b1 = 0, b2 = 0, misfit = 0;
    double _Complex z[SAMPLES];
    double w[SAMPLES], share[SAMPLES];
    for (int i = 0; i < SAMPLES; i++) {
        w[i] = 2 * PI * sample_hz(band, i);
        double _Complex beta = ebb_term_beta(&pencil->op, air, term, w[i]);
        share[i] = creal(beta * conj(beta));
        if (!(share[i] > 1e-12))
            return false;
        z[i] = rho_c / beta;
        weight += share[i];
        resistance += share[i] * creal(z[i]);
        a11 += share[i] * w[i] * w[i];
        a12 -= share[i];
        a22 += share[i] / (w[i] * w[i]);
        b1 += share[i] * w[i] * cimag(z[i]);
        b2 -= share[i] / w[i] * cimag(z[i]);
    }
    double det = a11 * a22 - a12 * a12;
    if (!(det > 1e-9 * a11 * a22))
        return false;
    mrk[0] = (b1 * a22 - a12 * b2) / det;
    mrk[1] = resistance / weight;
    mrk[2] = (a11 * b2 - a12 * b1) / det;
    if (!(mrk[0] > 0.05 && mrk[1] > 0 && mrk[2] > 0))
        return false;
    for (int i = 0; i < SAMPLES; i++) {
        double _Complex fit = mrk[1] + I * (mrk[0] * w[i] - mrk[2] / w[i]);
        misfit += share[i] * creal((fit - z[i]) * conj(fit - z[i]));
    }
    double hz = sqrt(mrk[2] / mrk[0]) / (2 * PI);
    return misfit < 0.1 * rho_c * rho_c * weight && hz > band[0] / 2 && hz < 2 * band[1];
}

/* (s/c) beta factor ~ q0 + q1 s + q2 s^2 over the band: two small least-squares fits. */
static void fit_polynomial(const ebb_pencil *pencil, const double band[2], size_t term, double q[3])
{
    double n = 0, x1 = 0, x2 = 0, y1 = 0, xy = 0, ww = 0, wi = 0;
    for (int i = 0; i < SAMPLES; i++) {
        double w = 2 * PI * sample_hz(band, i), x = -w * w;
        double _Complex f = ebb_term_value(&pencil->op, &pencil->state->air, term, w);
        n += 1;
        x1 += x;
        x2 += x * x;
        y1 += creal(f);
        xy += x * creal(f);
        ww += w * w;
        wi += w * cimag(f);
    }
    double det = n * x2 - x1 * x1;
    q[2] = (n * xy - x1 * y1) / det;
    q[0] = (y1 - q[2] * x1) / n;
    q[1] = wi / ww;
}

/* A face term's matrix as a sum of outer products: pivoted Cholesky. Weak patterns, whose waves
 * along the face are far shorter than the band's, are left out: these are first guesses only. */
static ebb_status term_patterns(ebb_arena *arena, problem *p, size_t term)
{
    size_t n = p->n;
    double *c = EBB_NEW(arena, double, n *n), largest = 0;
    int *pivot = EBB_NEW(arena, int, n), rank = 0;
    if (!c || !pivot)
        return EBB_E_NOMEM;
    memcpy(c, p->pencil->op.term[term].matrix, n * n * sizeof *c);
    for (size_t i = 0; i < n; i++)
        largest = fmax(largest, c[i * n + i]);
    LAPACKE_dpstrf(LAPACK_COL_MAJOR, 'L', (int)n, c, (int)n, pivot, &rank, PATTERN_DROP * largest);
    p->n_patterns[term] = (size_t)rank;
    double *out = p->pattern[term] = EBB_NEW(arena, double, (size_t)rank *n);
    if (!out)
        return EBB_E_NOMEM;
    for (size_t k = 0; k < (size_t)rank; k++)
        for (size_t i = k; i < n; i++)
            out[k * n + (size_t)pivot[i] - 1] = c[k * n + i];
    return EBB_OK;
}

static ebb_status face_patterns(ebb_arena *arena, problem *p)
{
    const ebb_operator *op = &p->pencil->op;
    p->n_patterns = EBB_NEW(arena, size_t, op->n_terms);
    p->pattern = EBB_NEW(arena, double *, op->n_terms);
    ebb_status status = p->n_patterns && p->pattern ? EBB_OK : EBB_E_NOMEM;
    for (size_t t = 0; t < op->n_terms && status == EBB_OK; t++)
        if (op->term[t].order == 0 && p->pencil->fit[t].resonant)
            status = term_patterns(arena, p, t);
    return status;
}

/* Displacements of the patterns of resonant faces. */
static void list_patterns(const problem *p, freedom *list, size_t *n)
{
    const ebb_operator *op = &p->pencil->op;
    for (size_t t = 0; t < op->n_terms; t++)
        for (size_t k = 0; k < p->n_patterns[t]; k++, ++*n) {
            if (list)
                list[*n] =
                    (freedom){p->pattern[t] + k * p->n, p->pencil->fit[t].mrk, op->volume_scale};
        }
}

/* Displacements of all resonant faces and ports of used patches. *n counts; list may be NULL. */
static void list_freedoms(const problem *p, freedom *list, size_t *n)
{
    const ebb_state *state = p->pencil->state;
    *n = 0;
    list_patterns(p, list, n);
    for (size_t u = 0; u < state->n_used; u++) {
        ebb_mounted mounted = ebb_mounted_at(p->pencil->reduced, state, u);
        for (size_t q = mounted.from; q < mounted.to; q++) {
            const ebb_fit *fit = &p->pencil->fit[ebb_operator_term(&p->pencil->op, &mounted, q)];
            if (!fit->resonant)
                continue;
            if (list)
                list[*n] = (freedom){mounted.ports->vector + q * p->n, fit->mrk, 1};
            ++*n;
        }
    }
}

static ebb_status make_parts(ebb_arena *arena, problem *p)
{
    const ebb_operator *op = &p->pencil->op;
    size_t n2 = p->n * p->n;
    for (int part = 0; part < 3; part++)
        if (!(p->part[part] = EBB_NEW(arena, double, n2)))
            return EBB_E_NOMEM;
    memcpy(p->part[0], op->stiffness, n2 * sizeof(double));
    for (size_t i = 0; i < p->n; i++)
        p->part[2][i * p->n + i] = 1 / (op->speed * op->speed);
    for (size_t t = 0; t < op->n_terms; t++) {
        double q[3];
        if (p->pencil->fit[t].resonant)
            continue;
        fit_polynomial(p->pencil, p->pencil->band, t, q);
        for (int part = 0; part < 3; part++)
            cblas_daxpy((int)n2, q[part], op->term[t].matrix, 1, p->part[part], 1);
    }
    return EBB_OK;
}

/* Whole matrix of power `part` of s, (n + d) square, column-major. */
static double *whole(ebb_arena *arena, const problem *p, int part)
{
    size_t n = p->n, size = n + p->n_freedoms;
    double *m = EBB_NEW(arena, double, size *size);
    if (!m)
        return NULL;
    for (size_t j = 0; j < n; j++)
        memcpy(m + j * size, p->part[part] + j * n, n * sizeof(double));
    double coupling = p->pencil->op.density / p->pencil->op.volume_scale;
    for (size_t f = 0; f < p->n_freedoms; f++) {
        size_t column = n + f;
        m[column * size + column] = p->freedom[f].mrk[2 - part];
        for (size_t i = 0; i < n; i++) {
            if (part == 0)
                m[i * size + column] = -p->freedom[f].vector[i];
            if (part == 2)
                m[column * size + i] = coupling * p->freedom[f].weight * p->freedom[f].vector[i];
        }
    }
    return m;
}

/* Companion matrix of the quadratic problem, with s in units of unit (1/s) for balance. */
static double *companion(ebb_arena *arena, const problem *p, double unit, size_t *order)
{
    size_t size = p->n + p->n_freedoms;
    double *mass = whole(arena, p, 2), *damping = whole(arena, p, 1), *stiff = whole(arena, p, 0);
    double *both = EBB_NEW(arena, double, 2 * size * size);
    int *pivot = EBB_NEW(arena, int, size);
    *order = 2 * size;
    double *c = EBB_NEW(arena, double, 4 * size * size);
    if (!mass || !damping || !stiff || !both || !pivot || !c)
        return NULL;
    memcpy(both, stiff, size * size * sizeof(double));
    memcpy(both + size * size, damping, size * size * sizeof(double));
    if (LAPACKE_dgesv(LAPACK_COL_MAJOR, (int)size, (int)(2 * size), mass, (int)size, pivot, both,
                      (int)size) != 0)
        return NULL;
    for (size_t j = 0; j < 2 * size; j++)
        for (size_t i = 0; i < size; i++)
            c[j * 2 * size + size + i] = -both[j * size + i] / (j < size ? unit * unit : unit);
    for (size_t i = 0; i < size; i++)
        c[(size + i) * 2 * size + i] = 1;
    return c;
}

/* Share of the energy of an eigenvector that is in the air. */
static double air_share(const problem *p, double _Complex s, const double _Complex *x)
{
    const ebb_operator *op = &p->pencil->op;
    double air = 0, unit = 0;
    for (size_t i = 0; i < p->n; i++)
        air += creal(x[i] * conj(x[i]));
    air *= op->volume_scale / (op->density * op->speed * op->speed);
    for (size_t f = 0; f < p->n_freedoms; f++) {
        double _Complex v = s * x[p->n + f];
        unit += p->freedom[f].weight * p->freedom[f].mrk[0] * creal(v * conj(v));
    }
    return air / (air + unit);
}

/* Picks the wanted eigenpairs out of the companion's. */
static ebb_status pick(ebb_arena *arena, const problem *p, double unit, size_t order,
                       const double *wr, const double *wi, const double *vectors, size_t *n,
                       double _Complex **omega, double _Complex **out)
{
    size_t size = p->n;
    double _Complex *x = EBB_NEW(arena, double _Complex, order / 2);
    *omega = EBB_NEW(arena, double _Complex, order / 2);
    *out = EBB_NEW(arena, double _Complex, order / 2 * size);
    *n = 0;
    if (!x || !*omega || !*out)
        return EBB_E_NOMEM;
    for (size_t e = 0; e + 1 < order; e++) {
        if (!(wi[e] > 0))
            continue;
        double _Complex s = unit * (wr[e] + I * wi[e]);
        double hz = cimag(s) / (2 * PI);
        if (hz < 0.88 * p->pencil->band[0] || hz > 1.12 * p->pencil->band[1] ||
            -creal(s) > cimag(s))
            continue;
        for (size_t i = 0; i < order / 2; i++)
            x[i] = vectors[e * order + i] + I * vectors[(e + 1) * order + i];
        if (air_share(p, s, x) < 0.25) /* the final test at 0.3 uses polished modes */
            continue;
        (*omega)[*n] = -I * s;
        memcpy(*out + *n * size, x, size * sizeof *x);
        ++*n;
    }
    return EBB_OK;
}

ebb_status ebb_guess_modes(ebb_ctx *ctx, ebb_arena *arena, const ebb_pencil *pencil, size_t *n,
                           double _Complex **omega, double _Complex **vector)
{
    problem p = {.pencil = pencil, .n = pencil->op.size};
    if (face_patterns(arena, &p) != EBB_OK)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the room's modes");
    list_freedoms(&p, NULL, &p.n_freedoms);
    p.freedom = EBB_NEW(arena, freedom, p.n_freedoms);
    if (!p.freedom || make_parts(arena, &p) != EBB_OK)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the room's modes");
    list_freedoms(&p, p.freedom, &p.n_freedoms);
    double unit = 2 * PI * sqrt(pencil->band[0] * pencil->band[1]);
    size_t order;
    double *c = companion(arena, &p, unit, &order);
    double *wr = EBB_NEW(arena, double, order), *wi = EBB_NEW(arena, double, order);
    double *vectors = EBB_NEW(arena, double, order *order);
    if (!c || !wr || !wi || !vectors)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the room's modes");
    int info = LAPACKE_dgeev(LAPACK_COL_MAJOR, 'N', 'V', (int)order, c, (int)order, wr, wi, NULL, 1,
                             vectors, (int)order);
    if (info != 0)
        return ebb_fail(ctx, EBB_E_NUMERIC, "the eigenvalues of the room did not converge");
    return pick(arena, &p, unit, order, wr, wi, vectors, n, omega, vector);
}
