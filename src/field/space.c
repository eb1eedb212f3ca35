/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From a mesh to modes: the order of the work, and the choice of the shifts.
 *
 * Three factors are made. That at shift 0, below all modes, is positive definite and serves static
 * answers. That at shift 1, among the modes next to the highest frequency, serves two ends: answers
 * that are exact there, and the hunt for the modes, which finds best what is near. The third, at
 * the end of the reach, is only counted and thrown away: the proof that the hunt is over.
 */
#include "space.h"

#include "lanczos.h"
#include "sparse.h"

#include <math.h>
#include <string.h>

#define LOW 0.3    /* shift 0 over the highest wave number: 60 Hz of 200 */
#define REACH 1.25 /* when none is wished */
#define REACH_MOST 4
#define ORDER 6
#define WINDOW 1.1   /* shift 1 lies between highest^2 and this times it */
#define NUDGE 1.0017 /* from a shift that is no good to the next */
#define NUDGES 6
#define CLEAR 0.1 /* of the best distance to a mode that shift 1 could have */

/* ---- reading --------------------------------------------------------------------------------- */

/* Factors have arenas of their own, so that one can be made again without the rest. */
void ebb_space_free(ebb_space *space)
{
    if (!space)
        return;
    ebb_fronts_free(space->fronts[0]);
    ebb_fronts_free(space->fronts[1]);
    ebb_arena_free(space->arena);
}

size_t ebb_space_size(const ebb_space *space)
{
    return space->size;
}

size_t ebb_space_surfaces(const ebb_space *space)
{
    return space->mesh.n_surfaces;
}

double ebb_space_volume(const ebb_space *space)
{
    return space->volume;
}

double ebb_space_area(const ebb_space *space, size_t surface)
{
    return surface < space->mesh.n_surfaces ? space->area[surface] : 0;
}

const ebb_mesh *ebb_space_mesh(const ebb_space *space)
{
    return &space->mesh;
}

double ebb_space_highest(const ebb_space *space)
{
    return space->wish.highest;
}

size_t ebb_space_modes(const ebb_space *space, const double **lambda, const double **shape,
                       const double **error)
{
    if (lambda)
        *lambda = space->lambda;
    if (shape)
        *shape = space->shape;
    if (error)
        *error = space->error;
    return space->n_modes;
}

double ebb_space_shift(const ebb_space *space, int shift)
{
    return space->shift[shift];
}

/* Error of a frequency by the dispersion of elements in one dimension,
 * (p! / (2p)!)^2 (kh)^(2p) / (4p + 2), after Ainsworth, SIAM J. Numer. Anal. 42 (2004), from
 * memory; twice that was found to hold for tetrahedra, whose edges differ. */
double ebb_space_edge(double highest, size_t order, double error)
{
    const double p = (double)order, ratio = lgamma(2 * p + 1) - lgamma(p + 1);
    return exp((log(error * (2 * p + 1)) + 2 * ratio) / (2 * p)) / highest;
}

/* Factors are only read and work memory belongs to the call: workers need nothing of their own
 * here, but are held to their numbers so that a caller does not come to rely on it. */
ebb_status ebb_space_solve(ebb_ctx *ctx, const ebb_space *space, int worker, int shift, size_t n,
                           const double *b, double *x)
{
    memcpy(x, b, n * space->size * sizeof *x);
    ebb_status status = EBB_OK;
    if (worker < 0 || worker >= EBB_WORKERS || shift < 0 || shift > 1)
        status =
            ebb_fail(ctx, EBB_E_RANGE, "no worker %d or shift %d to solve with", worker, shift);
    else
        status = ebb_fronts_solve(ctx, space, space->fronts[shift], n, x);
    if (status != EBB_OK)
        memset(x, 0, n * space->size * sizeof *x);
    return status;
}

/* ---- making ---------------------------------------------------------------------------------- */

/* Not-a-numbers fail every comparison, so that each test is for what is allowed. */
static ebb_status check_wish(ebb_ctx *ctx, const ebb_space_wish *wish)
{
    if (!(wish->highest > 0) || !(wish->highest < 1e6))
        return ebb_fail(ctx, EBB_E_RANGE, "a highest wave number of %g 1/m is not above 0",
                        wish->highest);
    if (wish->reach != 0 && !(wish->reach >= 1 && wish->reach <= REACH_MOST))
        return ebb_fail(ctx, EBB_E_RANGE, "modes up to %g times the highest frequency; 1 to %d",
                        wish->reach, REACH_MOST);
    if (wish->order > EBB_ORDER_MOST)
        return ebb_fail(ctx, EBB_E_RANGE, "elements of order %zu; 1 to %d", wish->order,
                        EBB_ORDER_MOST);
    return EBB_OK;
}

/* Whatever depends on nothing but mesh and order; a cache brings the rest. */
ebb_status ebb_space_open(ebb_ctx *ctx, const ebb_mesh *mesh, const ebb_space_wish *wish,
                          ebb_space **out)
{
    *out = NULL;
    ebb_status status = check_wish(ctx, wish);
    if (status != EBB_OK)
        return status;
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_space *space = EBB_NEW(arena, ebb_space, 1);
    if (!space) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a space");
    }
    space->arena = arena;
    space->wish = *wish;
    space->wish.reach = wish->reach > 0 ? wish->reach : REACH;
    space->wish.order = wish->order > 0 ? wish->order : ORDER;
    status = ebb_space_take_mesh(ctx, mesh, space);
    if (status == EBB_OK)
        status = ebb_simplex_make(ctx, arena, space->wish.order, &space->simplex);
    if (status == EBB_OK)
        status = ebb_space_number(ctx, space);
    if (status == EBB_OK)
        status = ebb_space_index(ctx, space);
    if (status != EBB_OK) {
        ebb_space_free(space);
        return status;
    }
    *out = space;
    return EBB_OK;
}

/* A shift that is no good has come too near to a mode of the room or of a part of it. Those are
 * points on a line: a step of a sixth of a percent is away from them. */
ebb_status ebb_space_factor(ebb_ctx *ctx, ebb_space *space, int shift)
{
    if (!space->fronts[shift] && ebb_fronts_new(ctx, space, &space->fronts[shift]) != EBB_OK)
        return EBB_E_NOMEM;
    ebb_status status = EBB_E_NUMERIC;
    for (int i = 0; i < NUDGES && status == EBB_E_NUMERIC; i++) {
        if (i > 0)
            space->shift[shift] *= NUDGE;
        status = ebb_fronts_set(ctx, space, space->shift[shift], space->fronts[shift]);
    }
    if (status == EBB_E_NUMERIC)
        ebb_fail(ctx, status, "the elements could not be factorised near %g 1/m2",
                 space->shift[shift]);
    return status;
}

/* Modes below a border, which gives way a little where they can not be counted. */
static ebb_status count_modes(ebb_ctx *ctx, const ebb_space *space, double *below, size_t *count)
{
    ebb_status status = EBB_E_NUMERIC;
    for (int i = 0; i < NUDGES && status == EBB_E_NUMERIC; i++) {
        if (i > 0)
            *below *= NUDGE;
        status = ebb_fronts_count(ctx, space, *below, count);
    }
    if (status == EBB_E_NUMERIC)
        ebb_fail(ctx, status, "the modes below %g 1/m2 could not be counted", *below);
    return status;
}

/* Modes up to the reach: first counted, then found. */
static ebb_status find_modes(ebb_ctx *ctx, ebb_space *space)
{
    const double top = space->wish.reach * space->wish.highest;
    ebb_hunt hunt = {space, space->fronts[1], space->shift[1], top * top * 1.0003, 0};
    ebb_status status = count_modes(ctx, space, &hunt.below, &hunt.wanted);
    if (status != EBB_OK)
        return status;
    if (hunt.wanted == 0)
        return ebb_fail(ctx, EBB_E_NUMERIC, "the room has no mode at all");
    space->lambda = EBB_NEW(space->arena, double, hunt.wanted);
    space->shape = EBB_RAW(space->arena, double, hunt.wanted * space->size);
    if (!space->lambda || !space->shape)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the modes of a room");
    status = ebb_lanczos(ctx, &hunt, space->lambda, space->shape);
    for (size_t m = 0; status == EBB_OK && m < hunt.wanted; m++)
        space->n_modes += space->lambda[m] <= top * top;
    return status;
}

/* Distance to the nearest mode. */
static double clearance(const ebb_space *space, double shift)
{
    double nearest = INFINITY;
    for (size_t m = 0; m < space->n_modes; m++)
        nearest = fmin(nearest, fabs(space->lambda[m] - shift));
    return nearest;
}

/* Moves shift 1 to the middle of the widest gap between modes in its window, if it is near one. */
static ebb_status clear_shift(ebb_ctx *ctx, ebb_space *space)
{
    const double low = space->wish.highest * space->wish.highest, high = WINDOW * low;
    double best = space->shift[1];
    for (size_t m = 0; m < space->n_modes; m++) {
        const double from = fmax(space->lambda[m], low);
        const double to = m + 1 < space->n_modes ? fmin(space->lambda[m + 1], high) : high;
        const double middle = (from + to) / 2;
        if (to > from && clearance(space, middle) > clearance(space, best))
            best = middle;
    }
    if (clearance(space, space->shift[1]) >= CLEAR * clearance(space, best))
        return EBB_OK;
    space->shift[1] = best;
    return ebb_space_factor(ctx, space, 1);
}

/* Shift 1 is chosen before the modes are known, since it is needed to find them, and looked at
 * again after. */
ebb_status ebb_space_new(ebb_ctx *ctx, const ebb_mesh *mesh, const ebb_space_wish *wish,
                         ebb_space **out)
{
    ebb_space *space;
    ebb_status status = ebb_space_open(ctx, mesh, wish, &space);
    *out = NULL;
    if (status != EBB_OK)
        return status;
    const double square = wish->highest * wish->highest;
    space->shift[0] = -LOW * LOW * square;
    space->shift[1] = (1 + WINDOW) / 2 * square;
    for (int s = 0; s < 2 && status == EBB_OK; s++)
        status = ebb_space_factor(ctx, space, s);
    if (status == EBB_OK)
        status = find_modes(ctx, space);
    if (status == EBB_OK)
        status = clear_shift(ctx, space);
    if (status == EBB_OK)
        status = ebb_space_estimate(ctx, space);
    if (status != EBB_OK)
        ebb_space_free(space);
    else
        *out = space;
    return status;
}
