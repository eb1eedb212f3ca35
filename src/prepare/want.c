/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How fine the elements of a room must be, and the name of the result in a cache.
 */
#include "private.h"

#include <ebb/judge.h>
#include <ebb/limits.h>

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define ORDER 6
#define USUAL_ERROR 2e-5

/* At a re-entrant edge the pressure is not smooth and elements of any order converge slowly.
 * Measured against edges of 0.04 m there, order 6, up to 224 Hz: in an L-shaped room of 62 m3 the
 * lowest mode, which suffers most, is off by 2.3e-4 of its frequency without grading, 1.8e-4 with
 * edges of 0.45 times the length (1.3 times the work), 1.2e-4 with 0.3 times (1.5), 4e-5 with 0.14
 * times (3). All others are ten times better. A room with one such edge of 2.6 m misses the level
 * of a direct solution by 0.11 dB with 0.45 times and by 0.03 dB with a dozen elements along it.
 * A room full of boxes has a hundred such edges and can not afford that. */
#define COARSEST 0.45 /* of the length in the open room */
#define FINEST 0.12
#define ALONG 12.0    /* elements along all of them together */
#define SHORTEST 0.01 /* m */
#define LONGEST 10.0  /* m */

/* Also raised whenever a mesh or its modes would come out otherwise for the same wish. */
#define FORMAT 2.0

/* As ebb_case_make and the map over dimensions look at a room: up to the last point of the grid,
 * and modes up to 1.25 times the last band of the decay test. */
static double highest_judged(const ebb_job *job)
{
    ebb_limits limits;
    ebb_grid grid;
    ebb_limits_of(job, &limits);
    ebb_grid_make(&limits, job->lowest, &grid);
    double highest = fmax(1.15 * limits.response_highest, 1.25 * limits.decay_highest);
    if (grid.n_hz > 0)
        highest = fmax(grid.hz[grid.n_hz - 1], 1.25 * limits.decay_highest);
    if (grid.n_bands > 0)
        highest = fmax(highest, 1.25 * grid.band_hz[grid.n_bands - 1]);
    return highest;
}

ebb_status ebb_prepare_grade(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                             ebb_mesh_wish *mesh)
{
    const double length = ebb_mesh_reentrant(arena, solid);
    if (!(length >= 0))
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the edges of a room");
    const double fine = fmin(fmax(length / ALONG, FINEST * mesh->edge), COARSEST * mesh->edge);
    mesh->edge_min = fmax(fine, SHORTEST);
    return EBB_OK;
}

ebb_status ebb_prepare_order(ebb_ctx *ctx, size_t order, double error, ebb_prepare_want *want)
{
    if (order == 0)
        order = ORDER;
    if (order > 8)
        return ebb_fail(ctx, EBB_E_RANGE, "elements are of order 1 to 8, not %zu", order);
    want->space.order = order;
    want->mesh.edge =
        fmin(ebb_space_edge(want->space.highest, order, error == 0 ? USUAL_ERROR : error), LONGEST);
    return EBB_OK;
}

ebb_status ebb_prepare_decide(ebb_ctx *ctx, const ebb_job *job, double highest, double error,
                              ebb_prepare_want *want)
{
    *want = (ebb_prepare_want){0};
    if (highest == 0)
        highest = highest_judged(job);
    if (error == 0)
        error = USUAL_ERROR;
    if (!(highest >= 10 && highest <= 1000))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "rooms can be prepared for highest frequencies of 10 Hz to 1000 Hz, not "
                        "%g Hz",
                        highest);
    if (!(error >= 1e-6 && error <= 1e-2))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "rooms can be prepared for errors of 1e-6 to 1e-2 of a frequency, not %g",
                        error);
    want->space.highest = 2 * PI * highest / job->air.speed;
    return ebb_prepare_order(ctx, ORDER, error, want);
}

/* The text for the mesher holds the solid to the last bit and how fine its mesh is; what the
 * elements add stands behind it, to the last bit as well. */
ebb_status ebb_prepare_key(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                           const ebb_prepare_want *want, const char **key, size_t *n)
{
    const double rest[] = {FORMAT, want->space.highest, want->space.reach,
                           (double)want->space.order};
    const char *text;
    size_t length;
    *key = NULL;
    *n = 0;
    const ebb_status status = ebb_mesh_ask(ctx, arena, solid, &want->mesh, &text, &length);
    if (status != EBB_OK)
        return status;
    char *all = EBB_RAW(arena, char, length + sizeof rest);
    if (all == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the name of a result");
    memcpy(all, text, length);
    memcpy(all + length, rest, sizeof rest);
    *key = all;
    *n = length + sizeof rest;
    return EBB_OK;
}
