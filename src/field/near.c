/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "near.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

/* ---- points ---------------------------------------------------------------------------------- */

static bool box_holds(const ebb_reduced *reduced, const ebb_vec3 *at)
{
    const double *size = reduced->extent;
    return at->x >= 0 && at->x <= size[0] && at->y >= 0 && at->y <= size[1] && at->z >= 0 &&
           at->z <= size[2];
}

/* Enriching functions are sums over the full basis: one product for all of them and all points, so
 * that their many coefficients are read once. */
static ebb_status box_points(const ebb_reduced *reduced, size_t n, const ebb_vec3 *at, double *out)
{
    const ebb_box_space *space = reduced->space;
    const ebb_box *box = &space->box;
    ebb_arena *scratch = ebb_arena_new(NULL);
    size_t lines = box->axis[0].n + box->axis[1].n + box->axis[2].n;
    double *work = EBB_NEW(scratch, double, 2 * lines);
    double *full = EBB_RAW(scratch, double, n * box->n_full);
    for (size_t p = 0; work && full && p < n; p++) {
        ebb_box_product(box, &at[p], work, full + p * box->n_full);
        for (size_t m = 0; m < box->n_kept; m++)
            out[p * reduced->size + m] = full[p * box->n_full + box->kept[m]];
    }
    if (full && n > 0 && box->n_extra > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, (int)box->n_extra,
                    (int)box->n_full, 1, full, (int)box->n_full, box->extra, (int)box->n_full, 0,
                    out + box->n_kept, (int)reduced->size);
    ebb_arena_free(scratch);
    return work && full ? EBB_OK : EBB_E_NOMEM;
}

/* Basis at n points, [i * size + ...]. */
static double *basis_at(ebb_arena *scratch, const ebb_reduced *reduced, size_t n,
                        const ebb_vec3 *at)
{
    double *v = EBB_NEW(scratch, double, n * reduced->size);
    return v && box_points(reduced, n, at, v) == EBB_OK ? v : NULL;
}

/* missing[s * n_receivers + r]: static Green function at -kappa^2 less what the basis has of it. */
static ebb_status missing_at(ebb_arena *scratch, const ebb_reduced *reduced, int shift,
                             const ebb_state *state, double *missing)
{
    const ebb_box_space *space = reduced->space;
    size_t size = reduced->size, ns = state->n_sources, nr = state->n_receivers;
    double *from = basis_at(scratch, reduced, ns, state->sources);
    double *to = basis_at(scratch, reduced, nr, state->receivers);
    if (!from || !to)
        return EBB_E_NOMEM;
    LAPACKE_dpotrs_work(LAPACK_COL_MAJOR, 'L', (int)size, (int)ns, space->factor[shift], (int)size,
                        from, (int)size);
    for (size_t i = 0; i < ns * nr; i++) {
        const ebb_vec3 *a = &state->sources[i / nr], *b = &state->receivers[i % nr];
        bool same = a->x == b->x && a->y == b->y && a->z == b->z;
        missing[i] =
            same ? 0
                 : ebb_box_screened(space->size, space->kappa[shift], a, b) -
                       cblas_ddot((int)size, from + i / nr * size, 1, to + i % nr * size, 1);
    }
    return EBB_OK;
}

/* What the reduced basis lacks of the Green function between points: the near field of a source,
 * which no finite basis carries. Left-out functions lie far above the band, so their sum is nearly
 * linear in k^2: two static values give it. The same point twice lacks nothing: its own field is
 * infinite. */
static ebb_status box_lack(const ebb_reduced *reduced, const ebb_state *state, double *lack)
{
    const ebb_box_space *space = reduced->space;
    ebb_arena *scratch = ebb_arena_new(NULL);
    size_t n = state->n_sources * state->n_receivers;
    double *value[2];
    const double k2[2] = {-space->kappa[0] * space->kappa[0], -space->kappa[1] * space->kappa[1]};
    ebb_status status = EBB_OK;
    for (int i = 0; i < 2 && status == EBB_OK; i++) {
        value[i] = EBB_NEW(scratch, double, n);
        status = value[i] ? missing_at(scratch, reduced, i, state, value[i]) : EBB_E_NOMEM;
    }
    for (size_t i = 0; i < n && status == EBB_OK; i++)
        ebb_lack_line(k2, (const double[2]){value[0][i], value[1][i]}, lack + 2 * i);
    ebb_arena_free(scratch);
    return status;
}

static ebb_status make_factor(ebb_box_build *b, int shift)
{
    ebb_reduced *reduced = b->reduced;
    ebb_box_space *space = b->space;
    size_t size = reduced->size;
    double k = ebb_build_wave_number(b->all);
    /* Never so small that ebb_box_screened would need more images than it has room for. */
    const double *length = b->geometry->size;
    double least = 0.3 / fmin(length[0], fmin(length[1], length[2]));
    double kappa = space->kappa[shift] = fmax(0.25 * k, least) * (shift == 0 ? 1 : 3);
    double *factor = space->factor[shift] = EBB_NEW(reduced->arena, double, size *size);
    if (!factor)
        return EBB_E_NOMEM;
    for (int d = 0; d < 3; d++)
        cblas_daxpy((int)(size * size), 1, reduced->stiffness[d], 1, factor, 1);
    for (size_t i = 0; i < size; i++)
        factor[i * size + i] += kappa * kappa;
    if (LAPACKE_dpotrf(LAPACK_COL_MAJOR, 'L', (int)size, factor, (int)size) != 0)
        return EBB_E_NUMERIC;
    return EBB_OK;
}

void ebb_box_set_points(ebb_box_build *b)
{
    memcpy(b->space->size, b->geometry->size, sizeof b->space->size);
    b->reduced->space = b->space;
    b->reduced->holds = box_holds;
    b->reduced->points = box_points;
    b->reduced->lack = box_lack;
}

/* Sum over the normal line of end^2 / (lambda + kappa^2) for every pair of tangent functions. */
static double *static_sums(ebb_box_build *b, int face, double kappa)
{
    const ebb_box *box = &b->space->box;
    int axis = face / 2, tangent[2];
    ebb_box_tangents(axis, tangent);
    size_t n2 = box->axis[tangent[1]].n, n_jk = ebb_box_face_functions(box, face);
    const double *end = box->axis[axis].end[face % 2];
    double *sum = EBB_NEW(b->scratch, double, n_jk);
    for (size_t jk = 0; sum && jk < n_jk; jk++)
        for (size_t i = 0; i < box->axis[axis].n; i++)
            sum[jk] += end[i] * end[i] /
                       (box->lambda[i * box->stride[axis] + jk / n2 * box->stride[tangent[0]] +
                                    jk % n2 * box->stride[tangent[1]]] +
                        kappa * kappa);
    return sum;
}

/* Static self field of every port of a face at both shifts, less what the reduced basis has. */
static ebb_status port_lacks(ebb_box_build *b, int face, const double *ports)
{
    ebb_reduced *reduced = b->reduced;
    size_t n_jk = ebb_box_face_functions(&b->space->box, face), size = reduced->size;
    const double *kappa = b->space->kappa, k2[2] = {-kappa[0] * kappa[0], -kappa[1] * kappa[1]};
    double *sum[2], *work = EBB_NEW(b->scratch, double, size);
    for (int i = 0; i < 2; i++)
        if (!(sum[i] = static_sums(b, face, b->space->kappa[i])) || !work)
            return EBB_E_NOMEM;
    for (size_t p = 0; p < reduced->n_patches; p++) {
        ebb_port_set *set = &reduced->patch[p];
        if (set->face != face)
            continue;
        if (!(set->lack = ebb_arena_alloc(reduced->arena, set->n, sizeof *set->lack)))
            return EBB_E_NOMEM;
        for (size_t q = 0; q < set->n; q++, ports += n_jk) {
            double value[2] = {0, 0};
            for (int i = 0; i < 2; i++) {
                for (size_t jk = 0; jk < n_jk; jk++)
                    value[i] += ports[jk] * ports[jk] * sum[i][jk];
                memcpy(work, set->vector + q * size, size * sizeof *work);
                cblas_dtrsv(CblasColMajor, CblasLower, CblasNoTrans, CblasNonUnit, (int)size,
                            b->space->factor[i], (int)size, work, 1);
                value[i] -= cblas_ddot((int)size, work, 1, work, 1);
            }
            ebb_lack_line(k2, value, set->lack[q]);
        }
    }
    return EBB_OK;
}

ebb_status ebb_box_make_lacks(ebb_box_build *b, double *const ports[EBB_FACES])
{
    ebb_status status = make_factor(b, 0);
    if (status == EBB_OK)
        status = make_factor(b, 1);
    for (int face = 0; face < EBB_FACES && status == EBB_OK; face++)
        status = port_lacks(b, face, ports[face]);
    return status;
}
