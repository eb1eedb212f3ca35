/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the basis of a meshed room lacks of near fields: answers of the whole space at both shifts
 * less those of the basis. Kept modes answer alike in both and need not be counted.
 */
#include "shaped.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>

#define SAMPLES 3 /* patches of one size on one face that are solved; the others get their mean */

static ebb_status make_factors(ebb_shaped_build *b)
{
    ebb_shaped *shaped = b->shaped;
    size_t n = shaped->n_extra, size = b->reduced->size, first = shaped->n_modes;
    for (int i = 0; i < 2; i++) {
        double *factor = shaped->factor[i] = EBB_NEW(b->reduced->arena, double, n *n);
        if (!factor)
            return EBB_E_NOMEM;
        for (int d = 0; d < 3; d++)
            for (size_t v = 0; v < n; v++)
                cblas_daxpy((int)n, 1, b->reduced->stiffness[d] + (first + v) * size + first, 1,
                            factor + v * n, 1);
        for (size_t v = 0; v < n; v++)
            factor[v * n + v] -= shaped->shift[i];
        if (n > 0 && LAPACKE_dpotrf(LAPACK_COL_MAJOR, 'L', (int)n, factor, (int)n) != 0)
            return EBB_E_NUMERIC;
    }
    return EBB_OK;
}

/* What the enriching functions answer to each of n loads in itself: value[q] -= x_q^T (K - s)^-1
 * x_q. x[q * stride ...] is destroyed. */
static void take_own(const ebb_shaped *shaped, int i, size_t n, size_t stride, double *x,
                     double *value)
{
    if (shaped->n_extra == 0 || n == 0)
        return;
    cblas_dtrsm(CblasColMajor, CblasLeft, CblasLower, CblasNoTrans, CblasNonUnit,
                (int)shaped->n_extra, (int)n, 1, shaped->factor[i], (int)shaped->n_extra, x,
                (int)stride);
    for (size_t q = 0; q < n; q++)
        value[q] -= cblas_ddot((int)shaped->n_extra, x + q * stride, 1, x + q * stride, 1);
}

/* ---- ports ----------------------------------------------------------------------------------- */

/* Self answers of a patch's ports, whose rows on their face are given: of the elements, less those
 * of the modes, less those of the enriching functions. */
static ebb_status port_values(const ebb_shaped_build *b, ebb_arena *scratch,
                              const ebb_port_set *set, const double *rows, double *value[2])
{
    const ebb_shaped *shaped = b->shaped;
    const ebb_shaped_face *face = &b->face[set->face];
    size_t length = shaped->length, size = b->reduced->size;
    double *load = EBB_NEW(scratch, double, set->n *length);
    double *answer = EBB_RAW(scratch, double, set->n *length);
    double *own = EBB_RAW(scratch, double, set->n *size);
    if (!load || !answer || !own)
        return EBB_E_NOMEM;
    for (size_t q = 0; q < set->n; q++)
        for (size_t r = 0; r < face->n_rows; r++)
            load[q * length + face->row[r]] = rows[q * face->n_rows + r];
    ebb_status status = EBB_OK;
    for (int i = 0; i < 2 && status == EBB_OK; i++) {
        status = ebb_shaped_solve(b->all->ctx, shaped->space, i, set->n, load, answer);
        for (size_t q = 0; q < set->n; q++) {
            const double *port = set->vector + q * size;
            value[i][q] = cblas_ddot((int)length, load + q * length, 1, answer + q * length, 1);
            for (size_t m = 0; m < shaped->n_modes; m++)
                value[i][q] -= port[m] * port[m] / (b->lambda[m] - shaped->shift[i]);
        }
        memcpy(own, set->vector, set->n * size * sizeof *own);
        take_own(shaped, i, set->n, size, own + shaped->n_modes, value[i]);
    }
    return status;
}

static ebb_status solve_patch(const ebb_shaped_build *b, ebb_port_set *set, const double *rows)
{
    ebb_arena *scratch = ebb_arena_new(b->all->ctx);
    double *value[2] = {EBB_NEW(scratch, double, set->n), EBB_NEW(scratch, double, set->n)};
    ebb_status status =
        value[0] && value[1] ? port_values(b, scratch, set, rows, value) : EBB_E_NOMEM;
    for (size_t q = 0; q < set->n && status == EBB_OK; q++)
        ebb_lack_line(b->shaped->shift, (const double[2]){value[0][q], value[1][q]}, set->lack[q]);
    ebb_arena_free(scratch);
    return status;
}

/* Same face, same size either way up: their near fields are alike. */
static bool alike(const ebb_geometry *geometry, size_t p, size_t q)
{
    const ebb_patch *a = &geometry->patches[p], *b = &geometry->patches[q];
    double size[2][2];
    ebb_patch_size(geometry, a, size[0]);
    ebb_patch_size(geometry, b, size[1]);
    return a->face == b->face && fabs(size[0][0] - size[1][0]) < 1e-3 &&
           fabs(size[0][1] - size[1][1]) < 1e-3;
}

/* All patches like patch p, the first of them: some are solved, the rest takes the mean. */
static ebb_status solve_alike(ebb_shaped_build *b, size_t p, const size_t *at)
{
    ebb_reduced *reduced = b->reduced;
    const ebb_geometry *geometry = b->geometry;
    const ebb_shaped_face *face = &b->face[reduced->patch[p].face];
    size_t n = 0, n_ports = reduced->patch[p].n, seen = 0;
    for (size_t q = p; q < reduced->n_patches; q++)
        n += alike(geometry, p, q);
    size_t samples = n < SAMPLES ? n : SAMPLES;
    double(*mean)[2] = ebb_arena_alloc(b->scratch, n_ports, sizeof *mean);
    ebb_status status = mean ? EBB_OK : EBB_E_NOMEM;
    for (size_t q = p; q < reduced->n_patches && status == EBB_OK; q++) {
        ebb_port_set *set = &reduced->patch[q];
        if (!alike(geometry, p, q))
            continue;
        if (!(set->lack = ebb_arena_alloc(reduced->arena, n_ports, sizeof *set->lack)))
            return EBB_E_NOMEM;
        bool solved = seen * samples / n != (seen + 1) * samples / n;
        if (solved)
            status = solve_patch(b, set, face->port + at[q] * face->n_rows);
        for (size_t i = 0; i < 2 * n_ports && solved; i++)
            mean[i / 2][i % 2] += set->lack[i / 2][i % 2] / (double)samples;
        seen++;
    }
    for (size_t q = p; q < reduced->n_patches && n > samples && status == EBB_OK; q++)
        if (alike(geometry, p, q))
            memcpy(reduced->patch[q].lack, mean, n_ports * sizeof *mean);
    return status;
}

ebb_status ebb_shaped_port_lacks(ebb_shaped_build *b)
{
    const ebb_reduced *reduced = b->reduced;
    size_t used[EBB_MOST_SURFACES] = {0};
    size_t *at = EBB_NEW(b->scratch, size_t, reduced->n_patches);
    ebb_status status = at ? make_factors(b) : EBB_E_NOMEM;
    for (size_t p = 0; p < reduced->n_patches && at; p++) {
        at[p] = used[reduced->patch[p].face];
        used[reduced->patch[p].face] += reduced->patch[p].n;
    }
    for (size_t p = 0; p < reduced->n_patches && status == EBB_OK; p++)
        if (!reduced->patch[p].lack) /* not with one before it */
            status = solve_alike(b, p, at);
    return status;
}

/* ---- points ---------------------------------------------------------------------------------- */

static bool same_point(const ebb_vec3 *a, const ebb_vec3 *b)
{
    return a->x == b->x && a->y == b->y && a->z == b->z;
}

/* Index of a point among those that the model was made for; their number for any other. */
static size_t known_point(const ebb_shaped *shaped, const ebb_vec3 *at)
{
    size_t p = 0;
    while (p < shaped->n_points && !same_point(&shaped->point[p].at, at))
        p++;
    return p;
}

/* mine^T (K - s)^-1 other of the enriching functions. work[n_extra] */
static double own_product(const ebb_shaped *shaped, int i, const double *mine, const double *other,
                          double *work)
{
    if (shaped->n_extra == 0)
        return 0;
    int n = (int)shaped->n_extra;
    memcpy(work, mine, shaped->n_extra * sizeof *work);
    LAPACKE_dpotrs_work(LAPACK_COL_MAJOR, 'L', n, 1, shaped->factor[i], n, work, n);
    return cblas_ddot(n, work, 1, other, 1);
}

/* What the basis lacks of the field of known point p at `at`, at both shifts: the whole field there
 * less what the basis makes of it. */
static ebb_status lack_at(const ebb_reduced *reduced, ebb_arena *scratch, size_t p,
                          const ebb_vec3 *at, double value[2])
{
    const ebb_shaped *shaped = reduced->space;
    const ebb_shaped_point *point = &shaped->point[p];
    const ebb_vec3 both[2] = {*at, point->at};
    size_t size = reduced->size;
    double near = 0, *basis = EBB_NEW(scratch, double, 3 * size);
    ebb_status status = basis ? reduced->points(reduced, 2, both, basis) : EBB_E_NOMEM;
    if (status == EBB_OK)
        status = ebb_space_values(NULL, shaped->space, 1, point->error, 1, at, &near);
    near += ebb_shaped_near_field(point, *at, shaped->shift[0]);
    for (int i = 0; i < 2 && status == EBB_OK; i++) {
        status = ebb_space_values(NULL, shaped->space, 1, shaped->answer[i] + p * shaped->length, 1,
                                  at, &value[i]);
        value[i] += near - own_product(shaped, i, basis + shaped->n_modes,
                                       basis + size + shaped->n_modes, basis + 2 * size);
    }
    return status;
}

/* Both ends of a pair tell what it lacks, where the model was made for them; their mean is the same
 * in both directions. A pair of unknown points has no exact answer at hand. */
static ebb_status pair_lack(const ebb_reduced *reduced, ebb_arena *scratch, const ebb_vec3 *from,
                            const ebb_vec3 *to, double lack[2])
{
    const ebb_shaped *shaped = reduced->space;
    const ebb_vec3 *end[2] = {from, to};
    double sum[2] = {0, 0}, value[2];
    int told = 0;
    for (int i = 0; i < 2; i++) {
        size_t p = known_point(shaped, end[i]);
        if (p == shaped->n_points)
            continue;
        ebb_status status = lack_at(reduced, scratch, p, end[1 - i], value);
        if (status != EBB_OK)
            return status;
        sum[0] += value[0];
        sum[1] += value[1];
        told++;
    }
    for (int i = 0; i < 2 && told > 0; i++)
        sum[i] /= told;
    ebb_lack_line(shaped->shift, sum, lack);
    return EBB_OK;
}

ebb_status ebb_shaped_lack(const ebb_reduced *reduced, const ebb_state *state, double *lack)
{
    size_t nr = state->n_receivers;
    ebb_arena *scratch = ebb_arena_new(NULL);
    ebb_status status = EBB_OK;
    memset(lack, 0, 2 * state->n_sources * nr * sizeof *lack);
    for (size_t i = 0; i < state->n_sources * nr && status == EBB_OK; i++) {
        const ebb_vec3 *from = &state->sources[i / nr], *to = &state->receivers[i % nr];
        if (!same_point(from, to)) /* its own field is infinite */
            status = pair_lack(reduced, scratch, from, to, lack + 2 * i);
    }
    ebb_arena_free(scratch);
    return status;
}
