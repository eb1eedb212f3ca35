/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which limit is in the way: the search again with one limit freed at a time. Short searches: that
 * one finds a box is an answer, that it finds none is a hint.
 */
#include "private.h"

#define MORE_DEPTH 1.5 /* times the depth allowed */
#define MOST_STOPS 8

typedef void (*free_fn)(ebb_target *target);

static void free_depth(ebb_target *t)
{
    t->depth[1] *= MORE_DEPTH;
}

static void free_mass(ebb_target *t)
{
    t->mass = INFINITY;
}

static void free_cost(ebb_target *t)
{
    t->cost = INFINITY;
}

static void free_grains(ebb_target *t)
{
    t->grains = INFINITY;
}

static void free_layout(ebb_target *t)
{
    t->fronts[0] = 1;
    t->fronts[1] = EBB_FRONTS;
    t->cells = EBB_CRAFT_CELLS;
}

static void free_fronts(ebb_target *t)
{
    t->lightest = 0.1;
    t->thinnest = 0;
}

static const struct {
    const char *limit;
    free_fn free;
} limits[] = {
    {"depth (half as much again)", free_depth},
    {"mass", free_mass},
    {"cost", free_cost},
    {"grains", free_grains},
    {"number of fronts and cells", free_layout},
    {"lightest and thinnest front", free_fronts},
};

/* Is it a limit at all? Freed it must be another target. */
static bool binds(const ebb_target *t, size_t i)
{
    ebb_target freed = *t;
    limits[i].free(&freed);
    return freed.depth[1] != t->depth[1] || freed.mass != t->mass || freed.cost != t->cost ||
           (freed.grains != t->grains && t->stock.n_batches > 0) ||
           freed.fronts[0] != t->fronts[0] || freed.fronts[1] != t->fronts[1] ||
           freed.cells != t->cells || freed.lightest != t->lightest;
}

/* One run per layout; the best of all. */
static ebb_status try_without(ebb_ctx *ctx, const ebb_craft_work *work, size_t i,
                              ebb_craft_stop *stop)
{
    const ebb_craft *craft = work->craft;
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_craft_space *space = EBB_NEW(arena, ebb_craft_space, 1);
    ebb_craft_one best[EBB_CRAFT_LAYOUTS];
    ebb_target freed = *craft->target;
    limits[i].free(&freed);
    *stop = (ebb_craft_stop){limits[i].limit, false, NAN};
    if (space == NULL) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
    }
    space->trim = craft->effort.trim;
    ebb_status status =
        ebb_craft_space_make(ctx, arena, &freed, &craft->air, work->space.mode, space);
    ebb_craft_judge_task task = work->quick;
    task.space = space;
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t k = 0; k < space->n_layouts; k++) {
        const ebb_craft_quest quest = {.aim = EBB_CRAFT_BEST,
                                       .layout = k,
                                       .seed =
                                           craft->effort.seed + 100 * (unsigned)i + (unsigned)k};
        (void)ebb_craft_evolve(&task, &craft->effort, &quest, &best[k], NULL);
    }
    for (size_t k = 0; k < space->n_layouts && status == EBB_OK; k++) {
        const double breach = ebb_craft_breach(&best[k].merit, 0);
        stop->passes = stop->passes || breach == 0;
        stop->shortfall = fmin(stop->shortfall, breach);
    }
    ebb_arena_free(arena);
    return status;
}

ebb_status ebb_craft_stops_find(ebb_ctx *ctx, ebb_craft_work *work)
{
    ebb_craft *craft = work->craft;
    ebb_status status = EBB_OK;
    craft->stop = EBB_NEW(craft->arena, ebb_craft_stop, MOST_STOPS);
    if (craft->stop == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the limits");
    for (size_t i = 0; i < sizeof limits / sizeof limits[0] && status == EBB_OK; i++) {
        if (!binds(craft->target, i))
            continue;
        ebb_progress(ctx, "which limit is in the way", 0.8 + 0.03 * (double)i);
        status = try_without(ctx, work, i, &craft->stop[craft->n_stops++]);
    }
    return status;
}
