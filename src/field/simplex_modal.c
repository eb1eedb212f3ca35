/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Orthonormal polynomials on the tetrahedron and the triangle, and the Gauss rule behind all exact
 * integrals.
 *
 * The usual formulas divide by 1 - z and fail at a corner. Here every Jacobi polynomial is made
 * homogeneous (t^n P_n(u / t) by its three-term recursion), so that nothing is divided, and slopes
 * ride along as dual numbers instead of having formulas of their own.
 */
#include "line.h"
#include "simplex.h"

#include <math.h>

/* A value with its slopes by the barycentric coordinates 1, 2, 3. */
typedef struct dual {
    double v, d[3];
} dual;

/* The rule of Leibniz is all of differentiation that is needed. */
static dual product(dual a, dual b)
{
    dual c = {a.v * b.v, {0}};
    for (int i = 0; i < 3; i++)
        c.d[i] = a.v * b.d[i] + a.d[i] * b.v;
    return c;
}

/* p a + q b */
static dual mix(double p, dual a, double q, dual b)
{
    dual c = {p * a.v + q * b.v, {0}};
    for (int i = 0; i < 3; i++)
        c.d[i] = p * a.d[i] + q * b.d[i];
    return c;
}

/* t^m P_m^(alpha, 0)(u / t) for m = 0..n. */
static void jacobi(size_t n, double alpha, dual u, dual t, dual *out)
{
    const dual one = {1, {0}};
    const dual tt = product(t, t);
    out[0] = one;
    if (n > 0)
        out[1] = mix((alpha + 2) / 2, u, alpha / 2, t);
    for (size_t k = 1; k < n; k++) {
        const double m = (double)k, s = 2 * m + alpha;
        const double scale = 1 / (2 * (m + 1) * (m + alpha + 1) * s);
        const dual first = mix((s + 1) * (s + 2) * s, u, (s + 1) * alpha * alpha, t);
        out[k + 1] = mix(scale, product(first, out[k]), -scale * 2 * (m + alpha) * m * (s + 2),
                         product(tt, out[k - 1]));
    }
}

/* Counts also serve as places: the functions below a degree come first. */
size_t ebb_tet_count(size_t degree)
{
    return (degree + 1) * (degree + 2) * (degree + 3) / 6;
}

size_t ebb_tri_count(size_t degree)
{
    return (degree + 1) * (degree + 2) / 2;
}

/* The three directions of collapse: polynomials of u / t in each. */
typedef struct collapse {
    dual u[3], t[3];
} collapse;

/* Direction k collapses towards corner k + 1. Sums are kept as duals, so that slopes come out by
 * all three coordinates at once. */
static collapse collapse_at(const double at[4])
{
    const dual l0 = {at[0], {-1, -1, -1}}, l1 = {at[1], {1, 0, 0}}, l2 = {at[2], {0, 1, 0}},
               l3 = {at[3], {0, 0, 1}};
    const dual s = mix(1, l0, 1, l1), t = mix(1, s, 1, l2);
    return (collapse){{mix(1, l1, -1, l0), mix(1, l2, -1, s), mix(1, l3, -1, t)},
                      {s, t, mix(1, t, 1, l3)}};
}

/* Place among the functions sorted by degree. */
static size_t place_of(size_t i, size_t j, size_t k)
{
    const size_t degree = i + j + k, rest = j + k;
    return (degree > 0 ? ebb_tet_count(degree - 1) : 0) + rest * (rest + 1) / 2 + k;
}

static void put(size_t at, double norm, dual f, double *value, double *const slope[3])
{
    value[at] = norm * f.v;
    for (int a = 0; slope && a < 3; a++)
        slope[a][at] = norm * f.d[a];
}

/* Products of three Jacobi polynomials, whose upper index grows with the degrees already spent:
 * that is what keeps them orthogonal on a simplex. */
void ebb_tet_modal(size_t degree, const double at[4], double *value, double *const slope[3])
{
    const collapse c = collapse_at(at);
    dual f[EBB_ORDER_MOST + 1], g[EBB_ORDER_MOST + 1], h[EBB_ORDER_MOST + 1];
    jacobi(degree, 0, c.u[0], c.t[0], f);
    for (size_t i = 0; i <= degree; i++) {
        jacobi(degree - i, 2 * (double)i + 1, c.u[1], c.t[1], g);
        for (size_t j = 0; i + j <= degree; j++) {
            const size_t ij = i + j;
            const dual fg = product(f[i], g[j]);
            jacobi(degree - ij, 2 * (double)ij + 2, c.u[2], c.t[2], h);
            for (size_t k = 0; ij + k <= degree; k++) {
                const size_t square = (2 * i + 1) * (2 * ij + 2) * (2 * (ij + k) + 3);
                put(place_of(i, j, k), sqrt((double)square), product(fg, h[k]), value, slope);
            }
        }
    }
}

/* The first two directions of the above, where the third has come to its end: t = 1. */
void ebb_tri_modal(size_t degree, const double at[3], double *value)
{
    const double flat[4] = {at[0], at[1], at[2], 0};
    const collapse c = collapse_at(flat);
    dual f[EBB_ORDER_MOST + 1], g[EBB_ORDER_MOST + 1];
    jacobi(degree, 0, c.u[0], c.t[0], f);
    for (size_t i = 0; i <= degree; i++) {
        jacobi(degree - i, 2 * (double)i + 1, c.u[1], c.t[1], g);
        for (size_t j = 0; i + j <= degree; j++) {
            const size_t ij = i + j;
            const double norm = sqrt((double)((2 * i + 1) * (2 * ij + 2)));
            value[ij * (ij + 1) / 2 + j] = norm * f[i].v * g[j].v;
        }
    }
}

void ebb_gauss01(size_t n, double *at, double *weight)
{
    ebb_gauss(n, at, weight);
    for (size_t i = 0; i < n; i++) {
        at[i] = (1 + at[i]) / 2;
        weight[i] /= 2;
    }
}
