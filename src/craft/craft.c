/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The stages of an answer.
 *
 * Most absorption first: it tells whether anything passes, and what "nearly as good" means. Then,
 * each by itself, the lightest, shallowest and cheapest that pass, and a few in between for the
 * trade-off. Every aim runs once per layout and start; runs share out the processors and are put
 * together in a fixed order.
 */
#include "private.h"

#include <cblas.h>

#define LEVELS 3 /* steps of absorption between lightest and best */

/* ---- one aim --------------------------------------------------------------------------------- */

/* Apart for every run, near for none. */
static unsigned mix(unsigned seed, size_t a, size_t b)
{
    uint64_t z = ((uint64_t)seed << 32) ^ (uint64_t)(a * 1000003u + b);
    z = (z ^ (z >> 31)) * UINT64_C(0x9e3779b97f4a7c15);
    return (unsigned)(z >> 32);
}

/* Judged boxes of runs and their trade-offs into the common store, in the order of the runs. */
static ebb_status put_together(ebb_ctx *ctx, ebb_craft_work *work, size_t n, const size_t *count,
                               const ebb_craft_store *store)
{
    for (size_t i = 0; i < n; i++) {
        if (count[i] < work->craft->effort.population)
            return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
        work->craft->evaluated += count[i];
        for (size_t k = 0; k < store[i].n; k++)
            ebb_craft_store_add(work->store, &store[i].one[k]);
    }
    return EBB_OK;
}

/* `runs` runs of one aim for each layout; the best of each into one[layout * stride + first ..]. */
static ebb_status run_aim(ebb_ctx *ctx, ebb_arena *scratch, ebb_craft_work *work,
                          ebb_craft_quest quest, size_t runs, ebb_craft_one *one, size_t stride)
{
    const size_t n = work->space.n_layouts * runs;
    ebb_craft_store *store = EBB_NEW(scratch, ebb_craft_store, n);
    size_t *count = EBB_NEW(scratch, size_t, n);
    const unsigned seed = quest.seed;
    if (store == NULL || count == NULL || one == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < n; i++) {
        ebb_craft_quest q = quest;
        q.layout = i / runs;
        q.seed = mix(seed, q.layout, i % runs);
        count[i] = ebb_craft_evolve(&work->quick, &work->craft->effort, &q,
                                    &one[q.layout * stride + i % runs], &store[i]);
    }
    return put_together(ctx, work, n, count, store);
}

/* What is known of good boxes for an aim: the best of its starts and the trade-offs so far. */
static size_t list_known(const ebb_craft_work *work, const ebb_craft_one *run, ebb_craft_one *known)
{
    const size_t stride = work->craft->effort.starts + 1;
    size_t n = 0;
    for (size_t i = 0; i < work->n_runs; i++)
        if (i % stride + 1 < stride)
            known[n++] = run[i];
    for (size_t i = 0; i < work->store->n; i++)
        known[n++] = work->store->one[i];
    return n;
}

/* The starts of an aim, each from chance alone so that they can tell how sure it is, then one more
 * run from all that is known. */
static ebb_status search_aim(ebb_ctx *ctx, ebb_craft_work *work, ebb_craft_aim aim, double required)
{
    const size_t starts = work->craft->effort.starts;
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_craft_one *run = EBB_NEW(work->craft->arena, ebb_craft_one, work->n_runs);
    ebb_craft_one *known = EBB_NEW(scratch, ebb_craft_one, work->n_runs + EBB_CRAFT_KEPT);
    ebb_craft_quest quest = {.aim = aim, .required = required};
    ebb_progress(ctx, ebb_craft_aim_name(aim), 0.15 + 0.15 * (double)aim);
    quest.seed = mix(work->craft->effort.seed, 17, (size_t)aim);
    ebb_status status = known ? run_aim(ctx, scratch, work, quest, starts, run, starts + 1)
                              : ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
    if (status == EBB_OK) {
        quest.n_known = list_known(work, run, known);
        quest.known = known;
        quest.seed++;
        status = run_aim(ctx, scratch, work, quest, 1, run + starts, starts + 1);
    }
    work->run[aim] = run;
    ebb_arena_free(scratch);
    return status;
}

/* Best run of an aim that passes, NULL when none does. */
static const ebb_craft_one *winner(const ebb_craft_work *work, ebb_craft_aim aim)
{
    const double required = aim == EBB_CRAFT_BEST ? 0 : work->craft->required;
    const ebb_craft_quest quest = {.aim = aim, .required = required};
    const ebb_craft_one *best = NULL;
    for (size_t i = 0; work->run[aim] && i < work->n_runs; i++) {
        const ebb_craft_one *one = &work->run[aim][i];
        if (ebb_craft_breach(&one->merit, required) > 0 ||
            (aim == EBB_CRAFT_CHEAP && !one->merit.priced))
            continue;
        if (best == NULL || ebb_craft_better(&quest, &one->merit, &best->merit))
            best = one;
    }
    return best;
}

/* Between lightest or shallowest and best: the same aim with more absorption asked for. */
static ebb_status fill_between(ebb_ctx *ctx, ebb_craft_work *work, ebb_craft_aim aim)
{
    const ebb_craft_one *low = winner(work, aim), *high = winner(work, EBB_CRAFT_BEST);
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_craft_one *one = EBB_NEW(scratch, ebb_craft_one, work->space.n_layouts);
    ebb_craft_one *known = EBB_NEW(scratch, ebb_craft_one, EBB_CRAFT_KEPT);
    ebb_status status = known ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
    for (size_t k = 1; k < LEVELS && low && high && status == EBB_OK; k++) {
        const double from = low->merit.absorption, to = high->merit.absorption;
        const ebb_craft_quest quest = {.aim = aim,
                                       .required = from + (to - from) * (double)k / LEVELS,
                                       .seed = mix(work->craft->effort.seed, 23 + k, (size_t)aim),
                                       .n_known = work->store->n,
                                       .known = known};
        memcpy(known, work->store->one, work->store->n * sizeof *known);
        status = run_aim(ctx, scratch, work, quest, 1, one, 1);
    }
    ebb_arena_free(scratch);
    return status;
}

static bool is_priced(const ebb_craft_space *s)
{
    for (size_t i = 0; i < s->n_walls; i++)
        if (s->wall[i].price > 0)
            return true;
    return false;
}

static ebb_status search(ebb_ctx *ctx, ebb_craft_work *work)
{
    ebb_craft *craft = work->craft;
    const ebb_target *t = craft->target;
    ebb_status status = search_aim(ctx, work, EBB_CRAFT_BEST, 0);
    const ebb_craft_one *best = winner(work, EBB_CRAFT_BEST);
    if (status != EBB_OK || best == NULL)
        return status;
    craft->required = t->goal == EBB_GOAL_CURVE ? 0 : EBB_CRAFT_NEARLY * best->merit.absorption;
    status = search_aim(ctx, work, EBB_CRAFT_LIGHT, craft->required);
    if (status == EBB_OK)
        status = fill_between(ctx, work, EBB_CRAFT_LIGHT);
    if (status == EBB_OK && t->depth[1] > t->depth[0]) {
        status = search_aim(ctx, work, EBB_CRAFT_SHALLOW, craft->required);
        if (status == EBB_OK)
            status = fill_between(ctx, work, EBB_CRAFT_SHALLOW);
    }
    if (status == EBB_OK && is_priced(&work->space))
        status = search_aim(ctx, work, EBB_CRAFT_CHEAP, craft->required);
    return status;
}

/* ---- what came out --------------------------------------------------------------------------- */

/* The least of an aim over the starts of one layout, NAN when none passes. */
static double least(const ebb_craft_work *work, ebb_craft_aim aim, size_t layout)
{
    const size_t stride = work->craft->effort.starts + 1;
    double value = NAN;
    for (size_t k = 0; work->run[aim] && k < stride; k++) {
        const ebb_craft_merit *m = &work->run[aim][layout * stride + k].merit;
        const double v = aim == EBB_CRAFT_LIGHT     ? m->mass
                         : aim == EBB_CRAFT_SHALLOW ? m->depth
                                                    : m->cost;
        const bool known = aim != EBB_CRAFT_CHEAP || m->priced;
        if (known && ebb_craft_breach(m, work->craft->required) == 0)
            value = fmin(value, v); /* fmin leaves the number when the other is NAN */
    }
    return value;
}

static void sum_up_layouts(ebb_craft_work *work)
{
    ebb_craft *craft = work->craft;
    const size_t stride = craft->effort.starts + 1;
    const ebb_craft_quest quest = {.aim = EBB_CRAFT_BEST};
    craft->n_layouts = work->space.n_layouts;
    for (size_t i = 0; i < craft->n_layouts; i++) {
        const ebb_craft_merit *best = &work->run[EBB_CRAFT_BEST][i * stride].merit;
        for (size_t k = 1; k < stride; k++) {
            const ebb_craft_merit *m = &work->run[EBB_CRAFT_BEST][i * stride + k].merit;
            if (ebb_craft_better(&quest, m, best))
                best = m;
        }
        const bool built = isfinite(best->excess);
        craft->layout[i] = (ebb_craft_layout){.cells = work->space.cells[i],
                                              .fronts = work->space.fronts[i],
                                              .shortfall = built ? best->shortfall : NAN,
                                              .absorption = built ? best->absorption : NAN,
                                              .mass = least(work, EBB_CRAFT_LIGHT, i),
                                              .depth = least(work, EBB_CRAFT_SHALLOW, i),
                                              .cost = least(work, EBB_CRAFT_CHEAP, i)};
    }
}

static ebb_status make_picks(ebb_ctx *ctx, ebb_craft_work *work)
{
    ebb_craft *craft = work->craft;
    ebb_status status = EBB_OK;
    craft->pick = EBB_NEW(craft->arena, ebb_craft_pick, EBB_CRAFT_AIMS);
    if (craft->pick == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the picks");
    for (int aim = 0; aim < EBB_CRAFT_NEAREST && status == EBB_OK; aim++) {
        bool found = false;
        if (winner(work, (ebb_craft_aim)aim) == NULL)
            continue;
        ebb_progress(ctx, "checking the picks", 0.75 + 0.05 * aim);
        status = ebb_craft_pick_make(ctx, work, (ebb_craft_aim)aim, &craft->pick[craft->n_picks],
                                     &found);
        craft->n_picks += found;
        craft->passes = craft->passes || found;
    }
    if (status == EBB_OK && !craft->passes) {
        bool found = false;
        status = ebb_craft_pick_make(ctx, work, EBB_CRAFT_NEAREST, craft->pick, &found);
        craft->n_picks = found;
    }
    return status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

#define BOUND_POINTS 64

/* Straight lines between the points of the curve: what the depth limit counts. */
static double depth_needed(const ebb_target *t, const ebb_air *air)
{
    double hz[BOUND_POINTS], alpha[BOUND_POINTS];
    if (t->goal != EBB_GOAL_CURVE || t->n < 2)
        return NAN;
    const double low = t->curve[0].hz, high = t->curve[t->n - 1].hz;
    for (size_t i = 0, at = 0; i < BOUND_POINTS; i++) {
        hz[i] = low + (high - low) * (double)i / (BOUND_POINTS - 1);
        while (at + 2 < t->n && hz[i] > t->curve[at + 1].hz)
            at++;
        const ebb_figure *a = &t->curve[at], *b = &t->curve[at + 1];
        alpha[i] = a->value + (b->value - a->value) * (hz[i] - a->hz) / (b->hz - a->hz);
    }
    return ebb_depth_needed(air, BOUND_POINTS, hz, alpha, air->gamma);
}

static ebb_status check_effort(ebb_ctx *ctx, const ebb_craft_effort *e)
{
    if (e->starts < 1 || e->starts > 64 || e->population < 8 || e->population > 400 ||
        e->generations < 1 || e->generations > 2000)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "an effort has 1 to 64 starts, 8 to 400 boxes and 1 to 2000 generations; "
                        "found %zu, %zu, %zu",
                        e->starts, e->population, e->generations);
    return EBB_OK;
}

static ebb_status prepare(ebb_ctx *ctx, ebb_craft_work *work)
{
    ebb_craft *craft = work->craft;
    const ebb_target *t = craft->target;
    ebb_status status = EBB_OK;
    ebb_progress(ctx, "what is at hand", 0);
    if (t->goal == EBB_GOAL_MODE)
        status = ebb_craft_mode_find(ctx, craft->arena, t, &craft->mode);
    work->space.trim = craft->effort.trim;
    if (status == EBB_OK)
        status = ebb_craft_space_make(ctx, craft->arena, t, &craft->air,
                                      craft->mode.room ? &craft->mode : NULL, &work->space);
    if (status == EBB_OK)
        status = ebb_craft_slips_make(ctx, &work->space, EBB_CRAFT_SOME_SLIPS, craft->effort.seed,
                                      work->space.slip);
    const ebb_craft_judge_task task = {
        .space = &work->space, .model = ebb_cabinet_beta, .slip = work->space.slip};
    work->quick = work->full = task;
    work->full.bends = true;
    if (t->robust) {
        work->quick.n_slips = EBB_CRAFT_FEW_SLIPS;
        work->full.n_slips = EBB_CRAFT_SOME_SLIPS;
    }
    work->n_runs = work->space.n_layouts * (craft->effort.starts + 1);
    work->store = EBB_NEW(craft->arena, ebb_craft_store, 1);
    if (status == EBB_OK && work->store == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
    return status;
}

static ebb_status answer(ebb_ctx *ctx, ebb_craft_work *work)
{
    ebb_status status = prepare(ctx, work);
    if (status == EBB_OK)
        status = search(ctx, work);
    if (status != EBB_OK)
        return status;
    sum_up_layouts(work);
    work->craft->depth_needed = depth_needed(work->craft->target, &work->craft->air);
    status = make_picks(ctx, work);
    if (status == EBB_OK && work->craft->n_picks == 0)
        return ebb_fail(ctx, EBB_E_NOSOLUTION,
                        "%s: no box can be put together within %g m of depth of what may be used",
                        work->craft->target->name, work->craft->target->depth[1]);
    if (status == EBB_OK && work->craft->passes)
        return ebb_craft_front_make(ctx, work);
    return status == EBB_OK ? ebb_craft_stops_find(ctx, work) : status;
}

ebb_status ebb_craft_new(ebb_ctx *ctx, const ebb_target *target, const ebb_air *air,
                         const ebb_craft_effort *effort, ebb_craft **craft)
{
    *craft = NULL;
    ebb_status status = check_effort(ctx, effort);
    if (status != EBB_OK)
        return status;
    openblas_set_num_threads(1); /* boxes are shared out already */
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_craft *made = EBB_NEW(arena, ebb_craft, 1);
    ebb_craft_work *work = EBB_NEW(arena, ebb_craft_work, 1);
    if (made == NULL || work == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory for the search");
    if (status == EBB_OK) {
        *made = (ebb_craft){.arena = arena, .target = target, .air = *air, .effort = *effort};
        work->craft = made;
        status = answer(ctx, work);
    }
    if (status == EBB_OK)
        *craft = made;
    else
        ebb_arena_free(arena);
    return status;
}

void ebb_craft_free(ebb_craft *craft)
{
    if (craft)
        ebb_arena_free(craft->arena);
}
