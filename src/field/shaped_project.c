/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Matrices and ports of a meshed room in its basis.
 */
#include "shaped.h"

#include <cblas.h>

#define COLUMNS 64 /* of a matrix at a time */

/* Basis function `first` and n - 1 after it, all modes or all enriching functions, lie in one
 * piece. Returns where, and in *n at most how many. */
static const double *basis(const ebb_shaped_build *b, size_t first, size_t *n)
{
    const ebb_shaped *shaped = b->shaped;
    bool mode = first < shaped->n_modes;
    size_t left = mode ? shaped->n_modes - first : shaped->n_modes + shaped->n_extra - first;
    *n = left < COLUMNS ? left : COLUMNS;
    return mode ? b->shape + first * shaped->length
                : shaped->extra + (first - shaped->n_modes) * shaped->length;
}

/* The lower part holds what was computed. */
static void mirror(size_t n, double *a)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            a[j * n + i] = a[i * n + j];
}

/* Columns first.. of K_d: rows below them only, the rest follows from symmetry. */
static void stiffness_block(const ebb_shaped_build *b, size_t first, size_t n, const double *y,
                            double *matrix)
{
    size_t size = b->reduced->size, length = b->shaped->length, m;
    for (size_t row = first; row < size; row += m) {
        const double *x = basis(b, row, &m);
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)m, (int)n, (int)length, 1, x,
                    (int)length, y, (int)length, 0, matrix + row * size + first, (int)size);
    }
}

static ebb_status make_stiffness(ebb_shaped_build *b, int axis, double *y)
{
    size_t size = b->reduced->size, n;
    double *matrix = b->reduced->stiffness[axis] = EBB_NEW(b->reduced->arena, double, size *size);
    if (!matrix)
        return EBB_E_NOMEM;
    for (size_t first = 0; first < size; first += n) {
        const double *x = basis(b, first, &n);
        ebb_space_stiffness(b->shaped->space, axis, n, x, y);
        stiffness_block(b, first, n, y, matrix);
    }
    mirror(size, matrix);
    return EBB_OK;
}

/* Rows of a face of all basis functions, [i * n_rows + r], and of B_t times them. */
static void face_rows(const ebb_shaped_build *b, size_t t, double *y, double *value,
                      double *product)
{
    const ebb_shaped_face *face = &b->face[t];
    size_t length = b->shaped->length, n;
    for (size_t first = 0; first < b->reduced->size; first += n) {
        const double *x = basis(b, first, &n);
        ebb_space_boundary(b->shaped->space, t, n, x, y);
        for (size_t v = 0; v < n; v++)
            for (size_t r = 0; r < face->n_rows; r++) {
                value[(first + v) * face->n_rows + r] = x[v * length + face->row[r]];
                product[(first + v) * face->n_rows + r] = y[v * length + face->row[r]];
            }
    }
}

static ebb_status make_ports(const ebb_shaped_build *b, size_t t, const double *value)
{
    const ebb_shaped_face *face = &b->face[t];
    size_t size = b->reduced->size, done = 0;
    for (size_t p = 0; p < b->reduced->n_patches; p++) {
        ebb_port_set *set = &b->reduced->patch[p];
        if ((size_t)set->face != t)
            continue;
        if (!(set->vector = EBB_NEW(b->reduced->arena, double, set->n *size)))
            return EBB_E_NOMEM;
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)set->n, (int)size,
                    (int)face->n_rows, 1, face->port + done * face->n_rows, (int)face->n_rows,
                    value, (int)face->n_rows, 0, set->vector, (int)size);
        done += set->n;
    }
    return EBB_OK;
}

static ebb_status make_face(const ebb_shaped_build *b, size_t t, double *y)
{
    size_t size = b->reduced->size, rows = b->face[t].n_rows;
    ebb_arena *scratch = ebb_arena_new(b->all->ctx);
    double *value = EBB_RAW(scratch, double, size *rows);
    double *product = EBB_RAW(scratch, double, size *rows);
    double *matrix = b->reduced->face[t] = EBB_NEW(b->reduced->arena, double, size *size);
    ebb_status status = value && product && matrix ? EBB_OK : EBB_E_NOMEM;
    if (status == EBB_OK && rows > 0) {
        face_rows(b, t, y, value, product);
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)size, (int)size, (int)rows, 1,
                    value, (int)rows, product, (int)rows, 0, matrix, (int)size);
        mirror(size, matrix);
        status = make_ports(b, t, value);
    }
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_shaped_matrices(ebb_shaped_build *b)
{
    b->reduced->size = b->shaped->n_modes + b->shaped->n_extra;
    double *y = EBB_RAW(b->scratch, double, COLUMNS * b->shaped->length);
    ebb_status status = y ? EBB_OK : EBB_E_NOMEM;
    for (int axis = 0; axis < 3 && status == EBB_OK; axis++)
        status = make_stiffness(b, axis, y);
    for (size_t t = 0; t < b->reduced->n_faces && status == EBB_OK; t++)
        status = make_face(b, t, y);
    return status;
}
