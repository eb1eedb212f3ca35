/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Residual vectors of a box. A load on a face has the form phi_i(wall) g_jk, so inner products
 * between residual vectors of one face reduce to sums over the face's two tangent lines: hundreds
 * of load patterns are compressed without ever being written out in full.
 */
#include "box.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

/* A growing list of full-length vectors. */
typedef struct list {
    size_t n, room, length;
    double *vector;
} list;

static double *list_next(ebb_arena *arena, list *vectors)
{
    if (vectors->n == vectors->room) {
        size_t room = vectors->room ? 2 * vectors->room : 64;
        double *wider = EBB_NEW(arena, double, room * vectors->length);
        if (!wider)
            return NULL;
        if (vectors->n)
            memcpy(wider, vectors->vector, vectors->n * vectors->length * sizeof *wider);
        vectors->vector = wider;
        vectors->room = room;
    }
    return vectors->vector + vectors->n++ * vectors->length;
}

/* One face seen from the sum over its normal line. */
typedef struct face_view {
    const ebb_box *box;
    const ebb_line *normal, *first, *second;
    size_t stride_n, stride_1, stride_2;
    const double *end; /* values of the normal functions at the face */
    size_t n_jk;
} face_view;

static face_view view_of(const ebb_box *box, int face)
{
    int axis = face / 2, tangent[2];
    ebb_box_tangents(axis, tangent);
    face_view view = {box,
                      &box->axis[axis],
                      &box->axis[tangent[0]],
                      &box->axis[tangent[1]],
                      box->stride[axis],
                      box->stride[tangent[0]],
                      box->stride[tangent[1]],
                      box->axis[axis].end[face % 2],
                      box->axis[tangent[0]].n * box->axis[tangent[1]].n};
    return view;
}

static size_t full_index(const face_view *view, size_t i, size_t jk)
{
    size_t j = jk / view->second->n, k = jk % view->second->n;
    return i * view->stride_n + j * view->stride_1 + k * view->stride_2;
}

/* Energy inner products of the two residuals of unit loads jk: three sums over the normal line. */
static void normal_sums(const face_view *view, size_t jk, double sums[3])
{
    const ebb_box *box = view->box;
    sums[0] = sums[1] = sums[2] = 0;
    for (size_t i = 0; i < view->normal->n; i++) {
        size_t at = full_index(view, i, jk);
        if (box->is_kept[at])
            continue;
        double a = 1 / (box->lambda[at] - box->shift[0]), b = 1 / (box->lambda[at] - box->shift[1]);
        double energy = view->end[i] * view->end[i] * (box->lambda[at] + box->weight);
        sums[0] += energy * a * a;
        sums[1] += energy * a * b;
        sums[2] += energy * b * b;
    }
}

/* Gram matrix (2n x 2n) of the residuals of n patterns at both shifts. scaled: scratch n * n_jk. */
static double gram(const face_view *view, const ebb_patterns *patterns, double *scaled, double *g)
{
    size_t n = patterns->n, n_jk = view->n_jk;
    double largest = 0;
    for (int part = 0; part < 3; part++) {
        for (size_t jk = 0; jk < n_jk; jk++) {
            double sums[3];
            normal_sums(view, jk, sums);
            largest = fmax(largest, sums[0]);
            for (size_t p = 0; p < n; p++)
                scaled[p * n_jk + jk] = patterns->pattern[p * n_jk + jk] * sums[part];
        }
        size_t row = part == 2 ? n : 0, column = part == 0 ? 0 : n;
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, (int)n, (int)n_jk, 1,
                    patterns->pattern, (int)n_jk, scaled, (int)n_jk, 0, g + row * 2 * n + column,
                    (int)(2 * n));
    }
    for (size_t p = 0; p < n; p++)
        for (size_t q = 0; q < n; q++)
            g[(n + p) * 2 * n + q] = g[q * 2 * n + n + p];
    return largest;
}

/* Writes the vector with combined patterns first (shift 0) and second (shift 1) out in full. */
static void expand(const face_view *view, const double *first, const double *second, double *out)
{
    const ebb_box *box = view->box;
    for (size_t jk = 0; jk < view->n_jk; jk++)
        for (size_t i = 0; i < view->normal->n; i++) {
            size_t at = full_index(view, i, jk);
            if (!box->is_kept[at])
                out[at] = view->end[i] * (first[jk] / (box->lambda[at] - box->shift[0]) +
                                          second[jk] / (box->lambda[at] - box->shift[1]));
        }
}

static ebb_status face_vectors(ebb_arena *arena, const ebb_box *box, int face,
                               const ebb_patterns *patterns, double tolerance, list *vectors)
{
    if (patterns->n == 0)
        return EBB_OK;
    face_view view = view_of(box, face);
    size_t n = patterns->n, n_jk = view.n_jk;
    double *scaled = EBB_NEW(arena, double, n *n_jk), *g = EBB_NEW(arena, double, 4 * n * n);
    double *value = EBB_NEW(arena, double, 2 * n), *mixed = EBB_NEW(arena, double, 2 * n_jk);
    if (!scaled || !g || !value || !mixed)
        return EBB_E_NOMEM;
    double scale = gram(&view, patterns, scaled, g);
    if (LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'V', 'U', (int)(2 * n), g, (int)(2 * n), value) != 0)
        return EBB_E_NUMERIC;
    for (size_t v = 2 * n; v-- > 0;) {
        if (value[v] < tolerance * tolerance * scale)
            break;
        const double *z = g + v * 2 * n;
        for (int part = 0; part < 2; part++)
            cblas_dgemv(CblasRowMajor, CblasTrans, (int)n, (int)n_jk, 1, patterns->pattern,
                        (int)n_jk, z + part * (int)n, 1, 0, mixed + part * (int)n_jk, 1);
        double *out = list_next(arena, vectors);
        if (!out)
            return EBB_E_NOMEM;
        expand(&view, mixed, mixed + n_jk, out);
    }
    return EBB_OK;
}

/* Residuals of point loads at both shifts. */
static ebb_status point_vectors(ebb_arena *arena, const ebb_box *box, size_t n_points,
                                const ebb_vec3 *points, list *vectors)
{
    double *work = EBB_NEW(arena, double, 2 * (box->axis[0].n + box->axis[1].n + box->axis[2].n));
    double *load = EBB_NEW(arena, double, box->n_full);
    if (!work || !load)
        return EBB_E_NOMEM;
    for (size_t p = 0; p < n_points; p++) {
        ebb_box_product(box, &points[p], work, load);
        for (int part = 0; part < 2; part++) {
            double *out = list_next(arena, vectors);
            if (!out)
                return EBB_E_NOMEM;
            for (size_t i = 0; i < box->n_full; i++)
                out[i] = box->is_kept[i] ? 0 : load[i] / (box->lambda[i] - box->shift[part]);
        }
    }
    return EBB_OK;
}

/* target = vectors combined by the eigenvectors of their Gram matrix above a tolerance, unit norm.
 * weighted: energy norm for choosing, else plain norm. */
static ebb_status combine(ebb_arena *arena, const ebb_box *box, const list *from, bool weighted,
                          double tolerance, list *to)
{
    size_t n = from->n, length = box->n_full;
    double *copy = EBB_NEW(arena, double, n *length), *g = EBB_NEW(arena, double, n *n);
    double *value = EBB_NEW(arena, double, n);
    if (!copy || !g || !value)
        return EBB_E_NOMEM;
    for (size_t v = 0; v < n; v++)
        for (size_t i = 0; i < length; i++)
            copy[v * length + i] =
                from->vector[v * length + i] * (weighted ? sqrt(box->lambda[i] + box->weight) : 1);
    cblas_dsyrk(CblasColMajor, CblasUpper, CblasTrans, (int)n, (int)length, 1, copy, (int)length, 0,
                g, (int)n);
    if (LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'V', 'U', (int)n, g, (int)n, value) != 0)
        return EBB_E_NUMERIC;
    size_t first = 0;
    while (first < n && value[first] < tolerance * tolerance * value[n - 1])
        first++;
    for (size_t v = first; v < n; v++)
        cblas_dscal((int)n, 1 / sqrt(value[v]), g + v * n, 1);
    *to = (list){n - first, n - first, length, EBB_NEW(arena, double, (n - first) * length)};
    if (!to->vector)
        return EBB_E_NOMEM;
    cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, (int)length, (int)to->n, (int)n, 1,
                from->vector, (int)length, g + first * n, (int)n, 0, to->vector, (int)length);
    return EBB_OK;
}

ebb_status ebb_box_enrich(ebb_arena *arena, ebb_box *box, const ebb_patterns patterns[EBB_FACES],
                          size_t n_points, const ebb_vec3 *points, double tolerance)
{
    list raw = {.length = box->n_full}, energy = {0}, plain = {0};
    ebb_status status = EBB_OK;
    for (int face = 0; face < EBB_FACES && status == EBB_OK; face++)
        status = face_vectors(arena, box, face, &patterns[face], tolerance, &raw);
    if (status == EBB_OK)
        status = point_vectors(arena, box, n_points, points, &raw);
    if (status != EBB_OK || raw.n == 0)
        return status;
    /* First drop what hardly carries energy, then make the rest orthonormal; a second pass would
     * only repeat it, since the first leaves a well-conditioned set. */
    status = combine(arena, box, &raw, true, tolerance * 0.3, &energy);
    if (status == EBB_OK)
        status = combine(arena, box, &energy, false, 1e-5, &plain);
    box->n_extra = plain.n;
    box->extra = plain.vector;
    return status;
}
