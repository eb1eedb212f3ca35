/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line.h"

#include <lapacke.h>
#include <math.h>

#define PI 3.14159265358979323846

/* Legendre polynomials 0..n-1 at t in [-1, 1], three-term recursion. */
static void legendre(size_t n, double t, double *out)
{
    out[0] = 1;
    if (n > 1)
        out[1] = t;
    for (size_t m = 2; m < n; m++)
        out[m] =
            ((2.0 * (double)m - 1) * t * out[m - 1] - ((double)m - 1) * out[m - 2]) / (double)m;
}

/* Unit-norm Legendre polynomials on an interval of the given length. */
static void legendre_unit(size_t n, double t, double length, double *out)
{
    legendre(n, t, out);
    for (size_t m = 0; m < n; m++)
        out[m] *= sqrt((2.0 * (double)m + 1) / length);
}

void ebb_line_at(const ebb_line *line, double x, double *work, double *out)
{
    size_t n = line->n;
    legendre_unit(n, 2 * x / line->length - 1, line->length, work);
    for (size_t i = 0; i < n; i++)
        out[i] = 0;
    for (size_t m = 0; m < n; m++)
        for (size_t i = 0; i < n; i++)
            out[i] += work[m] * line->mixing[m * n + i];
}

/* Stiffness of unit-norm Legendre polynomials: int P'_m P'_n over [-1, 1] is l (l + 1) with
 * l = min(m, n) when m and n have the same parity, else 0. */
static void stiffness(size_t n, double length, double *k)
{
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < n; b++) {
            double low = (double)(a < b ? a : b);
            double norm = sqrt((2.0 * (double)a + 1) * (2.0 * (double)b + 1));
            k[a * n + b] = (a + b) % 2 ? 0 : 2 / (length * length) * norm * low * (low + 1);
        }
}

ebb_status ebb_line_make(ebb_arena *arena, double length, size_t degree, ebb_line *line)
{
    size_t n = degree + 1;
    double *k = EBB_NEW(arena, double, n *n);
    double *work = EBB_NEW(arena, double, n);
    line->n = n;
    line->length = length;
    line->lambda = EBB_NEW(arena, double, n);
    line->mixing = EBB_NEW(arena, double, n *n);
    line->end[0] = EBB_NEW(arena, double, n);
    line->end[1] = EBB_NEW(arena, double, n);
    if (!k || !work || !line->lambda || !line->mixing || !line->end[0] || !line->end[1])
        return EBB_E_NOMEM;
    stiffness(n, length, k);
    if (LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'V', 'U', (int)n, k, (int)n, line->lambda) != 0)
        return EBB_E_NUMERIC;
    line->lambda[0] = 0; /* the constant; rounding left a few eps */
    for (size_t i = 0; i < n; i++)
        for (size_t m = 0; m < n; m++)
            line->mixing[m * n + i] = k[i * n + m];
    ebb_line_at(line, 0, work, line->end[0]);
    for (size_t i = 0; i < n; i++) /* cosines are positive at x = 0 */
        if (line->end[0][i] < 0)
            for (size_t m = 0; m < n; m++)
                line->mixing[m * n + i] = -line->mixing[m * n + i];
    ebb_line_at(line, 0, work, line->end[0]);
    ebb_line_at(line, length, work, line->end[1]);
    return EBB_OK;
}

void ebb_gauss(size_t n, double *t, double *w)
{
    for (size_t i = 0; i < n; i++) {
        double x = cos(PI * ((double)i + 0.75) / ((double)n + 0.5)), slope = 1;
        for (int step = 0; step < 50; step++) {
            double p0 = 1, p1 = x;
            for (size_t m = 2; m <= n; m++) {
                double p2 = ((2.0 * (double)m - 1) * x * p1 - ((double)m - 1) * p0) / (double)m;
                p0 = p1;
                p1 = p2;
            }
            slope = (double)n * (x * p1 - p0) / (x * x - 1);
            double change = p1 / slope;
            x -= change;
            if (fabs(change) < 1e-15)
                break;
        }
        t[i] = x;
        w[i] = 2 / ((1 - x * x) * slope * slope);
    }
}

ebb_status ebb_line_ports(ebb_arena *arena, const ebb_line *line, double from, double to,
                          size_t n_ports, double *out)
{
    size_t n = line->n, n_gauss = (n + n_ports) / 2 + 2; /* exact for the product */
    double *t = EBB_NEW(arena, double, n_gauss), *w = EBB_NEW(arena, double, n_gauss);
    double *work = EBB_NEW(arena, double, n), *phi = EBB_NEW(arena, double, n);
    double *port = EBB_NEW(arena, double, n_ports);
    if (!t || !w || !work || !phi || !port)
        return EBB_E_NOMEM;
    ebb_gauss(n_gauss, t, w);
    for (size_t i = 0; i < n_ports * n; i++)
        out[i] = 0;
    for (size_t g = 0; g < n_gauss; g++) {
        ebb_line_at(line, from + (to - from) * (t[g] + 1) / 2, work, phi);
        legendre_unit(n_ports, t[g], to - from, port);
        for (size_t q = 0; q < n_ports; q++)
            for (size_t i = 0; i < n; i++)
                out[q * n + i] += w[g] * (to - from) / 2 * port[q] * phi[i];
    }
    return EBB_OK;
}
