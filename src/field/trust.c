/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trust.h"

#include <cblas.h>
#include <math.h>

#define SAFETY 2 /* one step is not the truth, nor are some frequencies the band */

static const double tried[] = {0.4, 0.7, 1}; /* of the highest frequency */
#define TRIED (sizeof tried / sizeof tried[0])

double ebb_trust_wall(const ebb_geometry *geometry, size_t face)
{
    return geometry->wall[face] > 0 ? geometry->wall[face] : 1;
}

/* Candidates overlap; every so many of them seldom do. */
bool ebb_trust_hangs(const ebb_geometry *geometry, size_t patch)
{
    size_t every = 1 + (geometry->n_patches - 1) / EBB_TRUST_PATCHES;
    return patch % every == 0;
}

typedef struct trial {
    const ebb_build *b;
    const ebb_whole *whole;
    size_t n; /* points */
    ebb_vec3 point[EBB_TRUST_POINTS];
    double *load;              /* [v * size + i] */
    double *re, *im;           /* size x size: damping as the model has it */
    double _Complex *a, *work; /* matrix and factor */
    int *pivot;
    double _Complex *plain, *model; /* [v * size + i] answers without and with what ports lack */
    double *r, *y;                  /* [2 v * length] */
    double lack[EBB_TRUST_POINTS * EBB_TRUST_POINTS]; /* static, of pairs of points */
} trial;

static ebb_status open_trial(const ebb_build *b, const ebb_whole *whole, trial *t)
{
    const ebb_geometry *geometry = b->geometry;
    size_t size = b->reduced->size, n = geometry->n_points;
    *t = (trial){.b = b, .whole = whole, .n = n < EBB_TRUST_POINTS ? n : EBB_TRUST_POINTS};
    for (size_t v = 0; v < t->n; v++)
        t->point[v] = geometry->points[v * n / t->n];
    t->load = EBB_NEW(b->scratch, double, t->n *size);
    t->re = EBB_RAW(b->scratch, double, size *size);
    t->im = EBB_RAW(b->scratch, double, size *size);
    t->a = EBB_RAW(b->scratch, double _Complex, ebb_factor_matrix(size));
    t->work = EBB_RAW(b->scratch, double _Complex, ebb_factor_work(size));
    t->pivot = EBB_NEW(b->scratch, int, size);
    t->plain = EBB_NEW(b->scratch, double _Complex, t->n *size);
    t->model = EBB_NEW(b->scratch, double _Complex, t->n *size);
    t->r = EBB_NEW(b->scratch, double, 2 * t->n * whole->length);
    t->y = EBB_NEW(b->scratch, double, 2 * t->n * whole->length);
    if (!t->load || !t->re || !t->im || !t->a || !t->work || !t->pivot || !t->plain || !t->model ||
        !t->r || !t->y)
        return EBB_E_NOMEM;
    return b->reduced->points(b->reduced, t->n, t->point, t->load);
}

/* ---- answers of the model -------------------------------------------------------------------- */

/* re + j im = sum of j k beta B; corrected: patches with what the basis lacks of them in series. */
static void make_damping(const trial *t, double k, bool corrected)
{
    const ebb_reduced *reduced = t->b->reduced;
    int size = (int)reduced->size;
    memset(t->re, 0, reduced->size * reduced->size * sizeof *t->re);
    memset(t->im, 0, reduced->size * reduced->size * sizeof *t->im);
    for (size_t f = 0; f < reduced->n_faces; f++)
        cblas_daxpy(size * size, k * ebb_trust_wall(t->b->geometry, f), reduced->face[f], 1, t->im,
                    1);
    for (size_t p = 0; p < reduced->n_patches; p++) {
        const ebb_port_set *set = &reduced->patch[p];
        double wall = ebb_trust_wall(t->b->geometry, (size_t)set->face);
        for (size_t q = 1; q < set->n && ebb_trust_hangs(t->b->geometry, p); q++) {
            const double *lack = corrected ? set->lack[q] : (const double[2]){0, 0};
            double series = k * EBB_TRUST_PATCH * (lack[0] + k * k * lack[1]);
            double _Complex c = I * k * (EBB_TRUST_PATCH / (1 + I * series) - wall);
            const double *v = set->vector + q * reduced->size;
            cblas_dsyr(CblasColMajor, CblasLower, size, cimag(c), v, 1, t->im, size);
            if (corrected)
                cblas_dsyr(CblasColMajor, CblasLower, size, creal(c), v, 1, t->re, size);
        }
    }
}

/* answer = (K - k2 + re + j im)^-1 loads */
static ebb_status solve(const trial *t, double k2, double _Complex *answer)
{
    const ebb_reduced *reduced = t->b->reduced;
    size_t size = reduced->size;
    for (size_t j = 0; j < size; j++)
        for (size_t i = j; i < size; i++) {
            size_t at = j * size + i;
            double stiff = reduced->stiffness[0][at] + reduced->stiffness[1][at] +
                           reduced->stiffness[2][at] - (i == j ? k2 : 0);
            t->a[at] = ebb_pair(stiff + t->re[at], t->im[at]);
        }
    for (size_t i = 0; i < t->n * size; i++)
        answer[i] = t->load[i];
    ebb_status status = ebb_factor(size, t->a, t->pivot, t->work);
    return status == EBB_OK ? ebb_factor_solve(size, t->a, t->pivot, t->n, answer) : status;
}

/* ---- one step in the whole space --------------------------------------------------------------
 */

static ebb_status step(const trial *t, double k2, double k, const double _Complex *answer)
{
    ebb_status status = t->whole->residual(t->whole->self, k2, k, t->n, t->point, answer, t->r);
    return status == EBB_OK ? t->whole->answer(t->whole->self, 2 * t->n, t->r, t->y) : status;
}

/* What the step adds to the response of a pair. */
static double _Complex step_of(const trial *t, size_t from, size_t to)
{
    int length = (int)t->whole->length;
    const double *r = t->r + 2 * to * t->whole->length, *y = t->y + 2 * from * t->whole->length;
    return ebb_pair(
        cblas_ddot(length, r, 1, y, 1) - cblas_ddot(length, r + length, 1, y + length, 1),
        cblas_ddot(length, r, 1, y + length, 1) + cblas_ddot(length, r + length, 1, y, 1));
}

static double _Complex response(const trial *t, const double _Complex *answer, size_t from,
                                size_t to)
{
    int size = (int)t->b->reduced->size;
    const double *load = t->load + to * t->b->reduced->size;
    const double *a = (const double *)(answer + from * t->b->reduced->size);
    return ebb_pair(cblas_ddot(size, load, 1, a, 2), cblas_ddot(size, load, 1, a + 1, 2));
}

static double square(double _Complex z)
{
    return creal(z * conj(z));
}

/* What the model corrects by the points' static answers. */
static ebb_status point_lacks(trial *t)
{
    size_t size = t->b->reduced->size;
    memset(t->re, 0, size * size * sizeof *t->re);
    memset(t->im, 0, size * size * sizeof *t->im);
    ebb_status status = solve(t, t->whole->shift, t->plain);
    if (status == EBB_OK)
        status = step(t, t->whole->shift, 0, t->plain);
    for (size_t i = 0; i < t->n * t->n && status == EBB_OK; i++)
        t->lack[i] = creal(step_of(t, i / t->n, i % t->n));
    return status;
}

/* Adds |error|^2 and |response|^2 of all pairs; nobody asks for a point's own field. */
static ebb_status compare(trial *t, double k, double sums[2])
{
    make_damping(t, k, true);
    ebb_status status = solve(t, k * k, t->model);
    make_damping(t, k, false);
    if (status == EBB_OK)
        status = solve(t, k * k, t->plain);
    if (status == EBB_OK)
        status = step(t, k * k, k, t->plain);
    for (size_t i = 0; i < t->n * t->n && status == EBB_OK; i++) {
        size_t from = i / t->n, to = i % t->n;
        if (from == to)
            continue;
        double _Complex model = response(t, t->model, from, to) + t->lack[i];
        double _Complex better = response(t, t->plain, from, to) + step_of(t, from, to);
        sums[0] += square(model - better);
        sums[1] += square(better);
    }
    return status;
}

ebb_status ebb_trust_estimate(const ebb_build *b, const ebb_whole *whole, double *truncation)
{
    trial t;
    double sums[2] = {0, 0};
    *truncation = 0;
    if (b->geometry->n_points < 2)
        return EBB_OK;
    ebb_status status = open_trial(b, whole, &t);
    if (status == EBB_OK)
        status = point_lacks(&t);
    for (size_t f = 0; f < TRIED && status == EBB_OK; f++)
        status = compare(&t, tried[f] * ebb_build_wave_number(b), sums);
    if (status == EBB_OK && sums[1] > 0)
        *truncation = SAFETY * sqrt(sums[0] / sums[1]);
    return status;
}
