/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The operator of a state: all patches of one kind are summed into one matrix first, so that a
 * frequency costs a few matrix additions and one factorisation whatever the number of units.
 */
#include "reduced.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

/* matrix += factor v v^T */
static void add_outer(size_t size, double factor, const double *v, double *matrix)
{
    cblas_dger(CblasColMajor, (int)size, (int)size, factor, v, 1, v, 1, matrix, (int)size);
}

ebb_mounted ebb_mounted_at(const ebb_reduced *reduced, const ebb_state *state, size_t u)
{
    const ebb_port_set *ports = &reduced->patch[state->used[u]];
    const ebb_patch *own = state->mounted ? &state->mounted[u] : NULL;
    size_t vary = own ? own->vary : ports->vary;
    bool piston = own ? own->piston : ports->piston;
    return (ebb_mounted){.ports = ports,
                         .assembly = own ? own->assembly : ports->assembly,
                         .vary = state->vary && vary < state->n_vary ? &state->vary[vary] : NULL,
                         .from = piston ? 0 : 1,
                         .to = piston ? 1 : ports->n};
}

/* Rigid fronts are order 1, patterns 2 to 7 whatever the cell. */
static size_t order_of(size_t port)
{
    return port == 0 ? 1 : 2 + (port - 1) % EBB_CELL_PATTERNS;
}

static size_t find_term(const ebb_operator *op, const ebb_assembly *assembly,
                        const ebb_variation *vary, size_t order)
{
    size_t t = 0;
    while (t < op->n_terms && (op->term[t].assembly != assembly || op->term[t].vary != vary ||
                               op->term[t].order != order))
        t++;
    return t;
}

size_t ebb_operator_term(const ebb_operator *op, const ebb_mounted *mounted, size_t q)
{
    return find_term(op, mounted->assembly, mounted->vary, order_of(q));
}

/* The term of an assembly, variation and order; a new one when there is none yet. */
static ebb_term *term_of(ebb_arena *arena, ebb_operator *op, const ebb_assembly *assembly,
                         const ebb_variation *vary, size_t order)
{
    size_t t = find_term(op, assembly, vary, order);
    if (t == op->n_terms) {
        op->term[t] = (ebb_term){.assembly = assembly, .vary = vary, .order = order};
        op->term[t].matrix = EBB_NEW(arena, double, op->size * op->size);
        if (!op->term[t].matrix)
            return NULL;
        op->n_terms++;
    }
    return &op->term[t];
}

static const ebb_variation *face_variation(const ebb_state *state)
{
    return state->vary && state->n_vary > 0 ? &state->vary[0] : NULL;
}

/* Adds what a patch in use means: its own motion, and the face under it taken out. */
static bool add_patch(ebb_arena *arena, const ebb_mounted *mounted, const ebb_state *state,
                      ebb_operator *op)
{
    const ebb_port_set *ports = mounted->ports;
    double scale = 1 / op->volume_scale;
    ebb_term *face = term_of(arena, op, state->face[ports->face], face_variation(state), 0);
    for (size_t q = mounted->from; q < mounted->to; q++) {
        ebb_term *own = term_of(arena, op, mounted->assembly, mounted->vary, order_of(q));
        if (!own)
            return false;
        add_outer(op->size, scale, ports->vector + q * op->size, own->matrix);
        own->n_ports++; /* running mean */
        for (int i = 0; i < 2 && ports->lack; i++)
            own->lack[i] += (scale * ports->lack[q][i] - own->lack[i]) / (double)own->n_ports;
    }
    for (size_t q = 1; q < ports->n; q++)
        add_outer(op->size, -scale, ports->vector + q * op->size, face->matrix);
    return true;
}

static ebb_status make_terms(ebb_arena *arena, const ebb_reduced *reduced, const ebb_state *state,
                             ebb_operator *op)
{
    op->term = EBB_NEW(arena, ebb_term, reduced->n_faces + (1 + EBB_CELL_PATTERNS) * state->n_used);
    if (!op->term)
        return EBB_E_NOMEM;
    for (size_t face = 0; face < reduced->n_faces; face++) {
        ebb_term *term = term_of(arena, op, state->face[face], face_variation(state), 0);
        if (!term)
            return EBB_E_NOMEM;
        cblas_daxpy((int)(op->size * op->size), ebb_face_scale(reduced, face, state->scale),
                    reduced->face[face], 1, term->matrix, 1);
    }
    for (size_t u = 0; u < state->n_used; u++) {
        ebb_mounted mounted = ebb_mounted_at(reduced, state, u);
        if (!add_patch(arena, &mounted, state, op))
            return EBB_E_NOMEM;
    }
    return EBB_OK;
}

static ebb_status check_points(ebb_ctx *ctx, const ebb_reduced *reduced, const char *what, size_t n,
                               const ebb_vec3 *at)
{
    for (size_t i = 0; i < n; i++)
        if (!reduced->holds(reduced, &at[i]))
            return ebb_fail(ctx, EBB_E_RANGE, "%s %zu lies outside the room", what, i);
    return EBB_OK;
}

ebb_status ebb_state_check(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state)
{
    for (int d = 0; d < 3; d++)
        if (!(state->scale[d] > 0.5 && state->scale[d] < 2))
            return ebb_fail(ctx, EBB_E_RANGE, "scale %g is outside 0.5 to 2", state->scale[d]);
    for (size_t face = 0; face < reduced->n_faces; face++)
        if (!state->face[face])
            return ebb_fail(ctx, EBB_E_RANGE, "face %zu has no construction", face);
    for (size_t u = 0; u < state->n_used; u++)
        if (state->used[u] >= reduced->n_patches || !reduced->patch[state->used[u]].valid)
            return ebb_fail(ctx, EBB_E_RANGE, "patch %zu is not part of this model",
                            state->used[u]);
    for (size_t u = 0; u < state->n_used; u++)
        if (!ebb_mounted_at(reduced, state, u).assembly)
            return ebb_fail(ctx, EBB_E_RANGE, "patch %zu has nothing mounted", state->used[u]);
    ebb_status status = check_points(ctx, reduced, "source", state->n_sources, state->sources);
    if (status != EBB_OK)
        return status;
    return check_points(ctx, reduced, "receiver", state->n_receivers, state->receivers);
}

ebb_status ebb_operator_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *reduced,
                             const ebb_state *state, ebb_operator *op)
{
    ebb_status status = ebb_state_check(ctx, reduced, state);
    if (status != EBB_OK)
        return status;
    size_t size = reduced->size;
    *op = (ebb_operator){.size = size,
                         .speed = state->air.speed,
                         .density = state->air.density,
                         .volume_scale = state->scale[0] * state->scale[1] * state->scale[2]};
    op->stiffness = EBB_NEW(arena, double, size *size);
    if (!op->stiffness)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a room of %zu freedoms", size);
    for (int d = 0; d < 3; d++)
        cblas_daxpy((int)(size * size), 1 / (state->scale[d] * state->scale[d]),
                    reduced->stiffness[d], 1, op->stiffness, 1);
    if (make_terms(arena, reduced, state, op) != EBB_OK)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a room of %zu freedoms", size);
    return EBB_OK;
}

double _Complex ebb_term_beta(const ebb_operator *op, const ebb_air *air, size_t term,
                              double _Complex omega)
{
    const ebb_term *t = &op->term[term];
    double _Complex beta = ebb_assembly_beta(t->assembly, air, t->vary, omega);
    if (t->order == 0)
        return beta;
    double _Complex k = omega / op->speed;
    return beta / (1 + I * k * beta * (t->lack[0] + k * k * t->lack[1]));
}

double _Complex ebb_term_value(const ebb_operator *op, const ebb_air *air, size_t term,
                               double _Complex omega)
{
    return I * omega / op->speed * ebb_term_beta(op, air, term, omega);
}

#define GROUP 8  /* terms added at a time */
#define ROWS 256 /* rows added at a time: their sums stay in the fastest memory */

/* Terms of one group over some rows of a column. */
static void add_rows(const ebb_operator *op, size_t first, size_t n_terms, const double *re,
                     const double *im, size_t at, size_t n, double _Complex *a)
{
    double sum_re[ROWS], sum_im[ROWS];
    const double *column[GROUP];
    for (size_t t = 0; t < n_terms; t++)
        column[t] = op->term[first + t].matrix + at;
    memset(sum_re, 0, n * sizeof *sum_re);
    memset(sum_im, 0, n * sizeof *sum_im);
    ebb_add_columns(n, n_terms, re, im, column, sum_re, sum_im);
    for (size_t i = 0; i < n; i++)
        a[at + i] += ebb_pair(sum_re[i], sum_im[i]);
}

static void add_group(const ebb_operator *op, const ebb_air *air, size_t first,
                      double _Complex omega, double _Complex *a)
{
    size_t size = op->size, n_terms = op->n_terms - first < GROUP ? op->n_terms - first : GROUP;
    double re[GROUP], im[GROUP];
    for (size_t t = 0; t < n_terms; t++) {
        double _Complex value = ebb_term_value(op, air, first + t, omega);
        re[t] = creal(value);
        im[t] = cimag(value);
    }
    for (size_t j = 0; j < size; j++)
        for (size_t i = j; i < size; i += ROWS)
            add_rows(op, first, n_terms, re, im, j * size + i, size - i < ROWS ? size - i : ROWS,
                     a);
}

/* Only the lower part, which is what the factorisation reads, is filled. */
void ebb_operator_at(const ebb_operator *op, const ebb_air *air, double _Complex omega,
                     double _Complex *a)
{
    size_t size = op->size;
    double _Complex k2 = omega * omega / (op->speed * op->speed);
    for (size_t j = 0; j < size; j++) {
        for (size_t i = j; i < size; i++)
            a[j * size + i] = op->stiffness[j * size + i];
        a[j * size + j] -= k2;
    }
    for (size_t first = 0; first < op->n_terms; first += GROUP)
        add_group(op, air, first, omega, a);
}

/* The complex matrix-vector kernel of OpenBLAS 0.3.21 (zgemv_n for AVX2) reads up to three strides
 * past the last number it needs. At the end of a mapping that is a crash: both arrays are longer
 * than LAPACK asks for. */
#define OVERREAD 4 /* columns */
#define PANELS 64  /* columns of work that LAPACK is told of */

size_t ebb_factor_matrix(size_t size)
{
    return (size + OVERREAD) * size;
}

size_t ebb_factor_work(size_t size)
{
    return (PANELS + OVERREAD) * size;
}

ebb_status ebb_factor(size_t size, double _Complex *a, int *pivot, double _Complex *work)
{
    int info = LAPACKE_zsytrf_work(LAPACK_COL_MAJOR, 'L', (int)size, a, (int)size, pivot, work,
                                   (int)(PANELS * size));
    return info == 0 ? EBB_OK : EBB_E_NUMERIC;
}

ebb_status ebb_factor_solve(size_t size, const double _Complex *a, const int *pivot, size_t n_rhs,
                            double _Complex *b)
{
    int info = LAPACKE_zsytrs_work(LAPACK_COL_MAJOR, 'L', (int)size, (int)n_rhs, a, (int)size,
                                   pivot, b, (int)size);
    return info == 0 ? EBB_OK : EBB_E_NUMERIC;
}

ebb_status ebb_solve_many(size_t size, double _Complex *a, int *pivot, size_t n_rhs,
                          double _Complex *b)
{
    for (size_t j = 0; j < size; j++)
        for (size_t i = j + 1; i < size; i++)
            a[i * size + j] = a[j * size + i];
    int info = LAPACKE_zgesv_work(LAPACK_COL_MAJOR, (int)size, (int)n_rhs, a, (int)size, pivot, b,
                                  (int)size);
    return info == 0 ? EBB_OK : EBB_E_NUMERIC;
}
