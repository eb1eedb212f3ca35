/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A smaller model around one state. Small changes of walls, units, size and positions stay close to
 * the span of the state's own solutions and modes, so that hundreds of variations cost little.
 */
#include "reduced.h"

#include <cblas.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define SNAPSHOTS 24
#define DROP 1e-3 /* relative size of a direction that is left out */

typedef struct around_space {
    const ebb_reduced *larger;
    size_t size;
    const double *basis; /* [v * larger->size + i] */
} around_space;

static ebb_status around_points(const ebb_reduced *reduced, size_t n, const ebb_vec3 *at,
                                double *out)
{
    const around_space *space = reduced->space;
    size_t size = space->larger->size;
    ebb_arena *scratch = ebb_arena_new(NULL);
    double *v = EBB_NEW(scratch, double, n *size);
    ebb_status status = v ? space->larger->points(space->larger, n, at, v) : EBB_E_NOMEM;
    if (status == EBB_OK)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, (int)space->size, (int)size, 1,
                    v, (int)size, space->basis, (int)size, 0, out, (int)space->size);
    ebb_arena_free(scratch);
    return status;
}

static bool around_holds(const ebb_reduced *reduced, const ebb_vec3 *at)
{
    const around_space *space = reduced->space;
    return space->larger->holds(space->larger, at);
}

/* The near field is missing from the larger model, not from the smaller one's choice in it. */
static ebb_status around_lack(const ebb_reduced *reduced, const ebb_state *state, double *lack)
{
    const around_space *space = reduced->space;
    return space->larger->lack(space->larger, state, lack);
}

/* Solutions of the state from all its points at some frequencies, as real vectors. */
static ebb_status snapshots(ebb_ctx *ctx, ebb_arena *scratch, const ebb_reduced *reduced,
                            const ebb_state *state, const double band[2], double *out)
{
    ebb_operator op;
    ebb_status status = ebb_operator_make(ctx, scratch, reduced, state, &op);
    size_t size = reduced->size, np = state->n_sources + state->n_receivers;
    double _Complex *a = EBB_NEW(scratch, double _Complex, ebb_factor_matrix(size));
    double _Complex *x = EBB_NEW(scratch, double _Complex, size *np);
    double _Complex *work = EBB_NEW(scratch, double _Complex, ebb_factor_work(size));
    int *pivot = EBB_NEW(scratch, int, size);
    double *points = EBB_NEW(scratch, double, np *size);
    if (status == EBB_OK && (!a || !x || !work || !pivot || !points))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_reduced_points(ctx, reduced, state->n_sources, state->sources, points);
    if (status == EBB_OK)
        status = ebb_reduced_points(ctx, reduced, state->n_receivers, state->receivers,
                                    points + state->n_sources * size);
    for (int f = 0; f < SNAPSHOTS && status == EBB_OK; f++) {
        double hz = band[0] + (band[1] - band[0]) * f / (SNAPSHOTS - 1.0);
        ebb_operator_at(&op, &state->air, 2 * PI * hz, a);
        for (size_t i = 0; i < np * size; i++)
            x[i] = points[i];
        status = ebb_factor(size, a, pivot, work);
        if (status == EBB_OK)
            status = ebb_factor_solve(size, a, pivot, np, x);
        for (size_t i = 0; i < np; i++)
            for (size_t k = 0; k < size; k++) {
                out[2 * i * size + k] = creal(x[i * size + k]);
                out[(2 * i + 1) * size + k] = cimag(x[i * size + k]);
            }
        out += 2 * np * size;
    }
    return status;
}

static ebb_status restrict_ports(const ebb_reduced *larger, const ebb_state *state,
                                 const double *basis, ebb_reduced *made)
{
    made->n_patches = larger->n_patches;
    made->patch = EBB_NEW(made->arena, ebb_port_set, larger->n_patches);
    if (!made->patch)
        return EBB_E_NOMEM;
    for (size_t p = 0; p < larger->n_patches; p++) {
        made->patch[p] = larger->patch[p];
        made->patch[p].valid = false;
        made->patch[p].vector = NULL;
    }
    for (size_t u = 0; u < state->n_used; u++) {
        ebb_port_set *set = &made->patch[state->used[u]];
        const double *from = larger->patch[state->used[u]].vector;
        set->vector = EBB_NEW(made->arena, double, set->n * made->size);
        if (!set->vector)
            return EBB_E_NOMEM;
        set->valid = true;
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)set->n, (int)made->size,
                    (int)larger->size, 1, from, (int)larger->size, basis, (int)larger->size, 0,
                    set->vector, (int)made->size);
    }
    return EBB_OK;
}

/* Shapes of the rigid modes in the smaller basis, for labels. */
static ebb_status restrict_labels(const ebb_reduced *larger, const double *basis, ebb_reduced *made)
{
    double *shape = EBB_NEW(made->arena, double, larger->n_rigid * made->size);
    if (!shape)
        return EBB_E_NOMEM;
    for (size_t m = 0; m < larger->n_rigid; m++)
        for (size_t v = 0; v < made->size; v++)
            shape[m * made->size + v] =
                larger->likeness
                    ? cblas_ddot((int)larger->size, larger->likeness + m * larger->size, 1,
                                 basis + v * larger->size, 1)
                    : basis[v * larger->size + m];
    made->n_rigid = larger->n_rigid;
    made->rigid_hz = larger->rigid_hz;
    made->label = larger->label;
    made->likeness = shape;
    return EBB_OK;
}

static ebb_status fill(ebb_arena *scratch, const ebb_reduced *larger, const ebb_state *state,
                       const double *basis, ebb_reduced *made)
{
    around_space *space = EBB_NEW(made->arena, around_space, 1);
    if (!space)
        return EBB_E_NOMEM;
    *space = (around_space){larger, made->size, basis};
    made->space = space;
    made->holds = around_holds;
    made->points = around_points;
    made->lack = larger->lack ? around_lack : NULL;
    for (int d = 0; d < 3; d++)
        if (!(made->stiffness[d] = ebb_restricted(made->arena, scratch, larger->size, made->size,
                                                  basis, larger->stiffness[d])))
            return EBB_E_NOMEM;
    if (ebb_reduced_make_faces(made, larger->n_faces) != EBB_OK)
        return EBB_E_NOMEM;
    memcpy(made->normal, larger->normal, larger->n_faces * sizeof *made->normal);
    for (size_t face = 0; face < larger->n_faces; face++)
        if (!(made->face[face] = ebb_restricted(made->arena, scratch, larger->size, made->size,
                                                basis, larger->face[face])))
            return EBB_E_NOMEM;
    ebb_status status = restrict_ports(larger, state, basis, made);
    return status == EBB_OK ? restrict_labels(larger, basis, made) : status;
}

/* All directions that the smaller model must hold; *n of them in *out. */
static ebb_status directions(ebb_ctx *ctx, ebb_arena *scratch, const ebb_reduced *reduced,
                             const ebb_state *state, const ebb_modes *modes, const double band[2],
                             size_t *n, double **out)
{
    size_t size = reduced->size, np = state->n_sources + state->n_receivers;
    size_t n_snapshots = 2 * np * SNAPSHOTS;
    size_t n_modes = modes ? modes->n : 0;
    *n = n_snapshots + 2 * n_modes;
    *out = EBB_NEW(scratch, double, *n *size);
    if (!*out)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_status status = snapshots(ctx, scratch, reduced, state, band, *out);
    for (size_t m = 0; m < n_modes; m++)
        for (size_t i = 0; i < size; i++) {
            double _Complex x = modes->vector[m * size + i];
            (*out)[(n_snapshots + 2 * m) * size + i] = creal(x);
            (*out)[(n_snapshots + 2 * m + 1) * size + i] = cimag(x);
        }
    return status;
}

ebb_status ebb_reduced_around(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                              const ebb_modes *modes, double low, double high,
                              ebb_reduced **smaller)
{
    *smaller = NULL;
    if (modes && modes->size != reduced->size)
        return ebb_fail(ctx, EBB_E_RANGE, "the modes belong to another model");
    if (!(low > 0 && high > low && high <= 1000))
        return ebb_fail(ctx, EBB_E_RANGE, "%g to %g Hz is not a band within 0 to 1000 Hz", low,
                        high);
    ebb_arena *arena = ebb_arena_new(ctx), *scratch = ebb_arena_new(ctx);
    ebb_reduced *made = EBB_NEW(arena, ebb_reduced, 1);
    const double band[2] = {low, high};
    double *all = NULL, *kept = NULL;
    size_t n = 0;
    ebb_status status = made ? directions(ctx, scratch, reduced, state, modes, band, &n, &all)
                             : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK) {
        *made = (ebb_reduced){.arena = arena,
                              .highest = reduced->highest,
                              .speed = reduced->speed,
                              .trust = reduced->trust};
        memcpy(made->extent, reduced->extent, sizeof made->extent);
        made->size = ebb_compress(arena, reduced->size, n, all, DROP, &kept);
        if (made->size == 0 || fill(scratch, reduced, state, kept, made) != EBB_OK)
            status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    ebb_arena_free(scratch);
    if (status != EBB_OK) {
        ebb_arena_free(arena);
        return status;
    }
    *smaller = made;
    return EBB_OK;
}
