/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One element of any order: where its nodes stand, its shape functions, its exact integrals.
 *
 * Everything here is computed once per room and order, a few milliseconds of work; so it is written
 * for being right, from one definition of the polynomials, rather than from tables that somebody
 * would have to copy.
 */
#include "simplex.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

const unsigned char ebb_tet_part[EBB_PARTS] = {1, 2, 4, 8, 3, 5, 9, 6, 10, 12, 7, 11, 13, 14, 15};
/* The same for a triangle: its parts come in the order in which a tetrahedron meets them, so that a
 * wall can use the freedoms of its element as they are. */
static const unsigned char tri_part[] = {1, 2, 4, 3, 5, 6, 7};

/* ---- nodes ----------------------------------------------------------------------------------- */

/* Node k of n + 1 on [0, 1]: Chebyshev's, which cluster at the ends as good nodes must. */
static double line_node(size_t n, size_t k)
{
    const double s = sin(PI * (double)k / (2 * (double)n));
    return s * s;
}

/* Barycentric place of the node with indices index[m] of one sum: the mean of its places on the
 * simplices that leave one corner out, weighted by how far it is from that corner. */
static void place_node(size_t m, const size_t *index, double *out)
{
    size_t n = 0;
    for (size_t i = 0; i < m; i++)
        n += index[i];
    for (size_t i = 0; i < m; i++)
        out[i] = m == 2 && n > 0 ? line_node(n, index[i]) : 0;
    double sum = 0;
    for (size_t i = 0; m > 2 && i < m; i++) {
        const double weight = n > 0 ? line_node(n, n - index[i]) : 0;
        size_t rest[3];
        double at[3];
        for (size_t j = 0; j + 1 < m; j++)
            rest[j] = index[j < i ? j : j + 1];
        place_node(m - 1, rest, at);
        for (size_t j = 0; j + 1 < m; j++)
            out[j < i ? j : j + 1] += weight * at[j];
        sum += weight;
    }
    for (size_t i = 0; sum > 0 && i < m; i++)
        out[i] /= sum;
}

/* Appends the nodes whose non-zero indices are exactly the bits of `part`. */
static size_t add_part(size_t order, size_t corners, unsigned part, size_t n, double *node)
{
    size_t i[4] = {0};
    for (i[0] = 0; i[0] <= order; i[0]++)
        for (i[1] = 0; i[0] + i[1] <= order; i[1]++)
            for (i[2] = 0; i[0] + i[1] + i[2] <= order; i[2]++) {
                i[3] = order - i[0] - i[1] - i[2];
                unsigned bits = 0;
                for (unsigned c = 0; c < 4; c++)
                    bits |= (unsigned)(i[c] > 0) << c;
                if (bits == part)
                    place_node(corners, i, node + corners * n++);
            }
    return n;
}

/* Nodes part by part. Within a part they are in rising order of their indices, which follow the
 * order of the corners: what makes neighbours agree. */
static void place_nodes(size_t order, size_t corners, double *node)
{
    const unsigned char *part = corners == 4 ? ebb_tet_part : tri_part;
    const size_t n_parts = corners == 4 ? EBB_PARTS : sizeof tri_part;
    size_t n = 0;
    for (size_t p = 0; p < n_parts; p++)
        n = add_part(order, corners, part[p], n, node);
}

/* ---- matrices -------------------------------------------------------------------------------- */

/* c = a^T b or a b; all n x n or as given, by columns. */
static void multiply(CBLAS_TRANSPOSE turn, size_t m, size_t n, size_t k, const double *a,
                     const double *b, double *c)
{
    cblas_dgemm(CblasColMajor, turn, CblasNoTrans, (int)m, (int)n, (int)k, 1, a,
                (int)(turn == CblasNoTrans ? m : k), b, (int)k, 0, c, (int)m);
}

/* Turns the matrix of modal values (row: node, column: function) into its inverse. */
static bool invert(ebb_arena *scratch, size_t n, double *a)
{
    int *pivot = EBB_NEW(scratch, int, n);
    double *work = EBB_NEW(scratch, double, 64 * n);
    return pivot && work &&
           LAPACKE_dgetrf_work(LAPACK_COL_MAJOR, (int)n, (int)n, a, (int)n, pivot) == 0 &&
           LAPACKE_dgetri_work(LAPACK_COL_MAJOR, (int)n, a, (int)n, pivot, work, (int)(64 * n)) ==
               0;
}

/* Coefficients of the shape functions in the modal ones. The matrix is inverted outright: of at
 * most 165 columns, with nodes this good it loses two or three digits of sixteen. */
static bool make_modal(ebb_arena *scratch, size_t order, size_t corners, const double *node,
                       double *modal)
{
    const size_t n = corners == 4 ? ebb_tet_count(order) : ebb_tri_count(order);
    double value[EBB_TET_MOST];
    for (size_t i = 0; i < n; i++) {
        if (corners == 4)
            ebb_tet_modal(order, node + 4 * i, value, NULL);
        else
            ebb_tri_modal(order, node + 3 * i, value);
        cblas_dcopy((int)n, value, 1, modal + i, (int)n);
    }
    return invert(scratch, n, modal);
}

/* Slopes of the modal functions in the modal functions of lower degree, by a rule in collapsed
 * coordinates that is exact for their products: out[a] is low x n. */
static bool modal_slopes(ebb_arena *scratch, const ebb_simplex *s, double *const out[3])
{
    const size_t n1 = s->order + 2, points = n1 * n1 * n1;
    double x[EBB_GAUSS_MOST], w[EBB_GAUSS_MOST];
    double *value = EBB_NEW(scratch, double, points * s->n), *slope[3];
    for (int a = 0; a < 3; a++)
        slope[a] = EBB_NEW(scratch, double, points * s->n);
    if (!value || !slope[0] || !slope[1] || !slope[2])
        return false;
    ebb_gauss01(n1, x, w);
    for (size_t p = 0; p < points; p++) {
        const size_t i = p % n1, j = p / n1 % n1, k = p / n1 / n1;
        const double rest = 1 - x[k], side = rest * (1 - x[j]);
        const double at[4] = {side * (1 - x[i]), side * x[i], rest * x[j], x[k]};
        double *const here[3] = {slope[0] + p * s->n, slope[1] + p * s->n, slope[2] + p * s->n};
        ebb_tet_modal(s->order, at, value + p * s->n, here);
        cblas_dscal((int)s->n, w[i] * w[j] * w[k] * side * rest, value + p * s->n, 1);
    }
    for (int a = 0; a < 3; a++)
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasTrans, (int)s->low, (int)s->n, (int)points, 1,
                    value, (int)s->n, slope[a], (int)s->n, 0, out[a], (int)s->low);
    return true;
}

/* Adds d_a d_b, and for a != b its transpose, to a form. */
static void add_form(const ebb_simplex *s, int a, int b, double *form)
{
    const int n = (int)s->n, low = (int)s->low;
    cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, n, n, low, 1, s->slope[a], low,
                s->slope[b], low, 1, form, n);
    if (a != b)
        cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, n, n, low, 1, s->slope[b], low,
                    s->slope[a], low, 1, form, n);
}

/* All forms from the slopes alone, since the modal functions are orthonormal: no rule of
 * integration has to be right for each of them. */
static bool make_forms(ebb_arena *scratch, ebb_simplex *s)
{
    static const int pair[6][2] = {{0, 0}, {1, 1}, {2, 2}, {0, 1}, {0, 2}, {1, 2}};
    double *slope[3];
    for (int a = 0; a < 3; a++)
        slope[a] = EBB_NEW(scratch, double, s->low * s->n);
    if (!slope[0] || !slope[1] || !slope[2] || !modal_slopes(scratch, s, slope))
        return false;
    for (int a = 0; a < 3; a++)
        multiply(CblasNoTrans, s->low, s->n, s->n, slope[a], s->modal, s->slope[a]);
    for (int f = 0; f < 6; f++)
        add_form(s, pair[f][0], pair[f][1], s->form + (size_t)f * s->n * s->n);
    /* the modal functions are orthonormal */
    multiply(CblasTrans, s->n, s->n, s->n, s->modal, s->modal, s->form + 6 * s->n * s->n);
    multiply(CblasTrans, s->n_face, s->n_face, s->n_face, s->face_modal, s->face_modal,
             s->face_mass);
    return true;
}

/* Nodes first, then the polynomials through them, then what integrals follow from those. */
ebb_status ebb_simplex_make(ebb_ctx *ctx, ebb_arena *arena, size_t order, ebb_simplex *s)
{
    const size_t p = order, n = ebb_tet_count(p), n_face = ebb_tri_count(p);
    *s = (ebb_simplex){.order = p, .n = n, .n_face = n_face, .low = ebb_tet_count(p - 1)};
    s->inside[1] = 1;
    s->inside[2] = p - 1;
    s->inside[3] = (p - 1) * (p > 2 ? p - 2 : 0) / 2;
    s->inside[4] = s->inside[3] * (p > 3 ? p - 3 : 0) / 3;
    s->node = EBB_NEW(arena, double, 4 * n);
    s->modal = EBB_NEW(arena, double, n *n);
    s->form = EBB_NEW(arena, double, EBB_FORMS *n *n);
    s->face_modal = EBB_NEW(arena, double, n_face *n_face);
    s->face_mass = EBB_NEW(arena, double, n_face *n_face);
    for (int a = 0; a < 3; a++)
        s->slope[a] = EBB_NEW(arena, double, s->low *n);
    ebb_arena *scratch = ebb_arena_new(ctx);
    double *face_node = EBB_NEW(scratch, double, 3 * n_face);
    ebb_status status = EBB_E_NOMEM;
    if (face_node && s->node && s->modal && s->form && s->face_modal && s->face_mass &&
        s->slope[0] && s->slope[1] && s->slope[2]) {
        place_nodes(p, 4, s->node);
        place_nodes(p, 3, face_node);
        if (make_modal(scratch, p, 4, s->node, s->modal) &&
            make_modal(scratch, p, 3, face_node, s->face_modal) && make_forms(scratch, s))
            status = EBB_OK;
    }
    ebb_arena_free(scratch);
    return status == EBB_OK ? EBB_OK : ebb_fail(ctx, status, "out of memory for the elements");
}

/* ---- values ---------------------------------------------------------------------------------- */

/* Through the modal functions: Lagrange polynomials of scattered nodes have no formula of their
 * own.
 */
void ebb_simplex_at(const ebb_simplex *s, const double at[4], double *out)
{
    double value[EBB_TET_MOST];
    ebb_tet_modal(s->order, at, value, NULL);
    cblas_dgemv(CblasColMajor, CblasTrans, (int)s->n, (int)s->n, 1, s->modal, (int)s->n, value, 1,
                0, out, 1);
}

void ebb_simplex_face_at(const ebb_simplex *s, const double at[3], double *out)
{
    double value[EBB_TRI_MOST];
    ebb_tri_modal(s->order, at, value);
    cblas_dgemv(CblasColMajor, CblasTrans, (int)s->n_face, (int)s->n_face, 1, s->face_modal,
                (int)s->n_face, value, 1, 0, out, 1);
}
