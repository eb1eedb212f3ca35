/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The modes of a plate that an even pressure drives.
 *
 * With K the complex stiffness over mass per area, in (rad/s)^2, and e the first unit vector, the
 * mean velocity is
 *
 *   y = v/dp = (j w/m) e'(K - w^2)^-1 e.
 *
 * K is projected on the space of e, K0^-1 e, K0^-2 e, ... with K0 = Re K (at most EBB_PLATE_MODES
 * vectors): what the pressure drives first converges first, the many modes that it does not drive
 * never appear. Where panel and rim lose differently the last vectors are the changes of shape that
 * this brings, K0^-1 (Im K) K0^-1 e and so on. A projection on real vectors keeps Im K >= 0, so the
 * result stays passive, and because e is one of them the shares still add up to 1: at high
 * frequency the plate is its mass.
 */
#include "plate.h"

#include <lapacke.h>

#define SHAPES 2 /* vectors for different losses */

/* Four sums at a time: most of the time of a plate is spent here. */
static double dot(size_t n, const double *a, const double *b)
{
    double sum[4] = {0, 0, 0, 0}, rest = 0;
    size_t i = 0;
    for (; i + 4 <= n; i += 4)
        for (size_t k = 0; k < 4; k++)
            sum[k] += a[i + k] * b[i + k];
    for (; i < n; i++)
        rest += a[i] * b[i];
    return (sum[0] + sum[1]) + (sum[2] + sum[3]) + rest;
}

/* Lower factor by rows; false when the matrix is not positive to rounding. */
static bool cholesky(size_t n, const double *a, double *factor)
{
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k <= i; k++) {
            const double rest = a[i * n + k] - dot(k, factor + i * n, factor + k * n);
            if (i == k && !(rest > 1e-15 * a[i * n + i]))
                return false;
            factor[i * n + k] = i == k ? sqrt(rest) : rest / factor[k * n + k];
        }
    return true;
}

/* x <- K0^-1 x */
static void solve(size_t n, const double *factor, double *x)
{
    for (size_t i = 0; i < n; i++)
        x[i] = (x[i] - dot(i, factor + i * n, x)) / factor[i * n + i];
    for (size_t i = n; i-- > 0;) {
        x[i] /= factor[i * n + i];
        for (size_t k = 0; k < i; k++)
            x[k] -= factor[i * n + k] * x[i];
    }
}

/* Takes the parts along the first `count` rows off x (twice, against rounding) and scales what is
 * left to 1; false when nothing is left. */
static bool make_orthonormal(const ebb_plate_problem *w, size_t count, double *x)
{
    const double before = sqrt(dot(w->n, x, x));
    for (int pass = 0; pass < 2; pass++)
        for (size_t b = 0; b < count; b++) {
            const double *row = w->basis + b * w->n;
            const double part = dot(w->n, row, x);
            for (size_t i = 0; i < w->n; i++)
                x[i] -= part * row[i];
        }
    const double after = sqrt(dot(w->n, x, x));
    if (!(after > 1e-11 * before))
        return false;
    for (size_t i = 0; i < w->n; i++)
        x[i] /= after;
    return true;
}

/* Puts x into the basis of `count` rows; the new count. */
static size_t append(ebb_plate_problem *w, size_t count, const double *x)
{
    double *row = w->basis + count * w->n;
    memcpy(row, x, w->n * sizeof *row);
    return make_orthonormal(w, count, row) ? count + 1 : count;
}

static void multiply(size_t n, const double *matrix, const double *x, double *out)
{
    for (size_t i = 0; i < n; i++)
        out[i] = dot(n, matrix + i * n, x);
}

/* Number of rows of the basis; 0 when the stiffness is not positive. */
static size_t make_basis(ebb_plate_problem *w)
{
    if (!cholesky(w->n, w->elastic, w->factor))
        return 0;
    const size_t most = w->n < EBB_PLATE_MODES ? w->n : EBB_PLATE_MODES;
    const size_t driven = w->one_loss || most < EBB_PLATE_MODES ? most : most - SHAPES;
    double x[EBB_PLATE_SIZE], shape[EBB_PLATE_SIZE];
    w->basis[0] = 1;
    size_t count = 1;
    for (size_t before = 0; count < driven && count > before;) {
        before = count;
        memcpy(x, w->basis + (count - 1) * w->n, w->n * sizeof *x);
        solve(w->n, w->factor, x);
        count = append(w, count, x);
    }
    memcpy(x, w->basis, w->n * sizeof *x);
    for (size_t i = 0; i < SHAPES && count < most && !w->one_loss; i++) {
        solve(w->n, w->factor, x);
        multiply(w->n, w->lossy, x, shape);
        solve(w->n, w->factor, shape);
        count = append(w, count, shape);
    }
    return count;
}

/* Projection of a symmetric matrix on the basis. */
static void project(const ebb_plate_problem *w, size_t count, const double *matrix,
                    double small[EBB_PLATE_MODES][EBB_PLATE_MODES])
{
    double column[EBB_PLATE_SIZE];
    for (size_t b = 0; b < count; b++) {
        multiply(w->n, matrix, w->basis + b * w->n, column);
        for (size_t a = 0; a <= b; a++)
            small[a][b] = small[b][a] = dot(w->n, w->basis + a * w->n, column);
    }
}

/* Eigenvalues and eigenvectors (columns) of the projected stiffness. */
typedef struct modes {
    size_t n;
    double _Complex value[EBB_PLATE_MODES], vector[EBB_PLATE_MODES][EBB_PLATE_MODES];
} modes;

/* One loss factor for all: real vectors, and values with nothing but that factor. */
static bool solve_real(double elastic[EBB_PLATE_MODES][EBB_PLATE_MODES], double loss, modes *m)
{
    double a[EBB_PLATE_MODES * EBB_PLATE_MODES], value[EBB_PLATE_MODES];
    const int n = (int)m->n;
    for (size_t i = 0; i < m->n; i++)
        memcpy(a + i * m->n, elastic[i], m->n * sizeof *a);
    if (LAPACKE_dsyev(LAPACK_ROW_MAJOR, 'V', 'U', n, a, n, value) != 0)
        return false;
    for (size_t k = 0; k < m->n; k++) {
        m->value[k] = ebb_layers_complex(value[k], loss * value[k]);
        for (size_t i = 0; i < m->n; i++)
            m->vector[i][k] = a[i * m->n + k];
    }
    return true;
}

static bool solve_complex(double elastic[EBB_PLATE_MODES][EBB_PLATE_MODES],
                          double lossy[EBB_PLATE_MODES][EBB_PLATE_MODES], modes *m)
{
    double _Complex a[EBB_PLATE_MODES * EBB_PLATE_MODES], right[EBB_PLATE_MODES * EBB_PLATE_MODES];
    const int n = (int)m->n;
    for (size_t i = 0; i < m->n; i++)
        for (size_t k = 0; k < m->n; k++)
            a[i * m->n + k] = ebb_layers_complex(elastic[i][k], lossy[i][k]);
    if (LAPACKE_zgeev(LAPACK_ROW_MAJOR, 'N', 'V', n, a, n, m->value, NULL, n, right, n) != 0)
        return false;
    for (size_t k = 0; k < m->n; k++) {
        /* a negative loss could only be rounding */
        m->value[k] = ebb_layers_complex(creal(m->value[k]), fmax(0, cimag(m->value[k])));
        for (size_t i = 0; i < m->n; i++)
            m->vector[i][k] = right[i * m->n + k];
    }
    return true;
}

/* Shares of mode k in the mean velocity and in the velocity at the centre. */
static void shares(const ebb_plate_problem *w, const modes *m, size_t k, double _Complex *mean,
                   double _Complex *middle)
{
    double _Complex square = 0, centre = 0;
    for (size_t i = 0; i < m->n; i++) {
        square += m->vector[i][k] * m->vector[i][k];
        centre += m->vector[i][k] * dot(w->n, w->basis + i * w->n, w->middle);
    }
    *mean = m->vector[0][k] * m->vector[0][k] / square;
    *middle = m->vector[0][k] * centre / square;
}

/* Puts mode k where it belongs by its frequency among the k before it. */
static void insert(size_t k, double _Complex lambda, double _Complex share, double _Complex middle,
                   ebb_plate_modes *out)
{
    size_t at = k;
    for (; at > 0 && creal(out->lambda[at - 1]) > creal(lambda); at--) {
        out->lambda[at] = out->lambda[at - 1];
        out->share[at] = out->share[at - 1];
        out->middle[at] = out->middle[at - 1];
    }
    out->lambda[at] = lambda;
    out->share[at] = share;
    out->middle[at] = middle;
}

bool ebb_layers_plate_modes(ebb_plate_problem *w, ebb_plate_modes *out)
{
    double elastic[EBB_PLATE_MODES][EBB_PLATE_MODES], lossy[EBB_PLATE_MODES][EBB_PLATE_MODES];
    double _Complex total = 0, mean, middle;
    modes m = {.n = make_basis(w)};
    if (m.n == 0)
        return false;
    project(w, m.n, w->elastic, elastic);
    if (!w->one_loss)
        project(w, m.n, w->lossy, lossy);
    if (!(w->one_loss ? solve_real(elastic, w->loss, &m) : solve_complex(elastic, lossy, &m)))
        return false;
    for (size_t k = 0; k < m.n; k++) {
        shares(w, &m, k, &mean, &middle);
        insert(k, m.value[k], mean, middle, out);
        total += mean;
    }
    out->n = m.n;
    /* the modes must make up the whole */
    return ebb_layers_abs2(total - 1) < 1e-12;
}
