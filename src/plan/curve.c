/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Wrong share left against units used: from the plan down to the bare room, every step solved
 * truly.
 */
#include "search.h"

#include <ebb/reach.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_ROUNDS 2
#define NOTICED 0.005 /* share of cells that is worth a word */

/* What the making of a curve needs. */
typedef struct maker {
    ebb_ctx *ctx;
    ebb_arena *scratch;
    const ebb_answer *answer;
    const ebb_treatment *treatment;
    size_t rounds; /* of swaps at every number of units */
    ebb_search *search;
    ebb_base base;
    ebb_climbed *step; /* [units of the plan + 1] */
    ebb_curve *curve;
} maker;

/* ---- the plan in the words of the search -------------------------------------------------------
 */

static bool same_place(const ebb_spot *spot, const ebb_placed *placed)
{
    return spot->surface == placed->surface && spot->turned == placed->turned &&
           fabs(spot->at[0] - placed->at[0]) < 1e-6 && fabs(spot->at[1] - placed->at[1]) < 1e-6;
}

static ebb_status find_picks(const maker *m, ebb_climbed *top)
{
    const ebb_layout *plan = &m->treatment->after.layout;
    const ebb_spots *spots = &m->search->spots;
    size_t existing = m->answer->room->n_placed;
    for (size_t i = existing; i < plan->n_placed; i++) {
        size_t spot = 0;
        while (spot < spots->n && !(same_place(&spots->spot[spot], &plan->placed[i]) &&
                                    m->base.allowed[spot * m->base.n_kinds + plan->placed[i].unit]))
            spot++;
        if (spot == spots->n)
            return ebb_fail(m->ctx, EBB_E_RANGE,
                            "unit %zu of the plan hangs at no place of this room's search", i + 1);
        top->pick[top->n++] = (ebb_pick){spot, plan->placed[i].unit};
    }
    return EBB_OK;
}

static ebb_status walk_down(maker *m)
{
    size_t n = m->treatment->after.layout.n_placed - m->answer->room->n_placed;
    ebb_climbed top = {.pick = EBB_NEW(m->scratch, ebb_pick, n + 1)};
    m->step = EBB_NEW(m->scratch, ebb_climbed, n + 1);
    if (!top.pick || !m->step)
        return ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i <= n; i++) {
        m->step[i].pick = EBB_NEW(m->scratch, ebb_pick, i + 1);
        if (!m->step[i].pick)
            return ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory");
    }
    ebb_status status = find_picks(m, &top);
    if (status == EBB_OK && ebb_climb_down(&m->base, m->rounds, &top, m->step) != EBB_OK)
        status = ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory on the way down from the plan");
    return status;
}

/* ---- points ------------------------------------------------------------------------------------
 */

static void read_point(const maker *m, const ebb_reading *reading, ebb_curve_point *point)
{
    const ebb_room *room = m->answer->room;
    point->n = point->layout.n_placed - room->n_placed;
    point->right = reading->right;
    point->wrong = reading->wrong;
    point->wrong_level = reading->wrong_level;
    point->wrong_decay = reading->wrong_decay;
    for (size_t i = room->n_placed; i < point->layout.n_placed; i++) {
        const ebb_unit *unit = &m->answer->job->absorbers[point->layout.placed[i].unit];
        point->mass += unit->mass;
        point->cost += unit->cost;
    }
}

/* A layout of the search solved like any plan; its layout lives as long as the curve. */
static ebb_status solve(const maker *m, const ebb_climbed *step, ebb_curve_point *point)
{
    const ebb_answer *a = m->answer;
    ebb_arena *own = ebb_arena_new(m->ctx);
    ebb_case made = {0};
    ebb_status status = ebb_search_layout(m->ctx, m->curve->arena, m->search, step, &point->layout);
    if (status == EBB_OK)
        status = ebb_case_make(m->ctx, own, a->job, a->room, &a->limits, &m->search->stations,
                               step->option, &point->layout, &made, NULL);
    if (status == EBB_OK)
        read_point(m, &made.reading, point);
    ebb_modes_free(made.modes);
    ebb_arena_free(own);
    return status;
}

/* Both ends are the answer's own cases. */
static ebb_status fill_points(maker *m)
{
    ebb_curve *c = m->curve;
    const ebb_treatment *t = m->treatment;
    c->n = t->after.layout.n_placed - m->answer->room->n_placed + 1;
    c->point = EBB_NEW(c->arena, ebb_curve_point, c->n);
    if (!c->point)
        return ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory");
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < c->n && status == EBB_OK; i++) {
        const ebb_case *end = i + 1 == c->n ? &t->after : i == 0 ? &t->before : NULL;
        if (!end) {
            status = solve(m, &m->step[i], &c->point[i]);
            continue;
        }
        status = ebb_search_layout(m->ctx, c->arena, m->search, &m->step[i], &c->point[i].layout);
        if (status == EBB_OK)
            read_point(m, &end->reading, &c->point[i]);
    }
    return status;
}

static void mark_enough(ebb_curve *c)
{
    double least = c->point[0].wrong;
    for (size_t i = 1; i < c->n; i++)
        least = fmin(least, c->point[i].wrong);
    double all = c->point[0].wrong - least;
    for (size_t i = 1; i < c->n; i++)
        if (all > 0 && c->point[i - 1].wrong - c->point[i].wrong >= EBB_CURVE_SHARE * all)
            c->enough = i;
}

/* ---- one more of each kind ---------------------------------------------------------------------
 */

static int by_mended(const void *a, const void *b)
{
    const ebb_curve_next *x = a, *y = b;
    if (x->fits != y->fits)
        return x->fits ? -1 : 1;
    if (x->mended != y->mended)
        return x->mended > y->mended ? -1 : 1;
    return (x->unit > y->unit) - (x->unit < y->unit);
}

static ebb_status fill_next(maker *m)
{
    ebb_curve *c = m->curve;
    ebb_climbed from = m->step[c->enough];
    size_t n = c->n_next = m->base.n_kinds;
    ebb_next *next = EBB_NEW(m->scratch, ebb_next, n);
    ebb_pick *picks = EBB_NEW(m->scratch, ebb_pick, m->base.spots->n + 1);
    c->next = EBB_NEW(c->arena, ebb_curve_next, n);
    if (!next || !picks || !c->next)
        return ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory");
    from.pick = memcpy(picks, from.pick, from.n * sizeof *picks);
    if (ebb_climb_next(&m->base, &from, next) != EBB_OK)
        return ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory for one more unit");
    ebb_status status = EBB_OK;
    for (size_t k = 0; k < n && status == EBB_OK; k++) {
        c->next[k] = (ebb_curve_next){.unit = k, .fits = next[k].fits, .allowed = next[k].allowed};
        if (!next[k].fits)
            continue;
        ebb_climbed more = from;
        ebb_curve_point point = {0};
        more.pick[more.n++] = next[k].pick;
        more.option[0] = m->step[c->enough].option[0];
        more.option[1] = m->step[c->enough].option[1];
        status = solve(m, &more, &point);
        c->next[k].wrong = point.wrong;
        c->next[k].mended = c->point[c->enough].wrong - point.wrong;
    }
    qsort(c->next, n, sizeof *c->next, by_mended);
    return status;
}

/* ---- words -------------------------------------------------------------------------------------
 */

/* "1 unit", "3 units" */
static const char *units(size_t n)
{
    return n == 1 ? "unit" : "units";
}

static const char *first_words(const maker *m)
{
    const ebb_curve *c = m->curve;
    const double bare = 100 * c->point[0].wrong, most = 100 * c->point[c->enough].wrong;
    const size_t all = c->n - 1;
    if (all == 0)
        return "No unit makes this room better.";
    if (c->enough == 0)
        return ebb_arena_format(c->arena, "The %zu %s of the plan mend nothing that is counted.",
                                all, units(all));
    if (c->enough == all)
        return ebb_arena_format(c->arena,
                                "Every one of the %zu %s mends its part: wrong cells go from "
                                "%.0f %% to %.0f %%.",
                                all, units(all), bare, most);
    return ebb_arena_format(c->arena,
                            "The first %zu %s do most of it: wrong cells go from %.0f %% to "
                            "%.0f %%; with all %zu they are at %.0f %%.",
                            c->enough, units(c->enough), bare, most, all,
                            100 * c->point[all].wrong);
}

static const char *last_words(const maker *m)
{
    const ebb_curve *c = m->curve;
    if (c->n_next == 0 || !c->next[0].fits)
        return " There is no place for another unit.";
    const ebb_curve_next *best = &c->next[0];
    const char *name = m->answer->job->absorbers[best->unit].name;
    if (best->mended < NOTICED)
        return " From there one more unit of any kind on the list no longer helps.";
    return ebb_arena_format(c->arena,
                            " From there one more \"%s\" would mend most: %.1f %% of "
                            "the cells%s.",
                            name, 100 * best->mended,
                            best->allowed ? "" : ", but the allowance does not cover it");
}

static ebb_status fill_words(const maker *m)
{
    const char *first = first_words(m), *last = last_words(m);
    m->curve->sentence =
        first && last ? ebb_arena_format(m->curve->arena, "%s%s", first, last) : NULL;
    return m->curve->sentence ? EBB_OK : ebb_fail(m->ctx, EBB_E_NOMEM, "out of memory");
}

/* ---- all of it ---------------------------------------------------------------------------------
 */

static ebb_status make(maker *m)
{
    const ebb_answer *a = m->answer;
    double scale[3];
    ebb_layout_scale(a->room, &m->treatment->after.layout, scale);
    ebb_status status =
        ebb_search_new(m->ctx, a->job, a->room, &a->limits, m->treatment->use, &m->search);
    if (status == EBB_OK)
        status = ebb_search_base(m->ctx, m->scratch, m->search, scale, true, &m->base);
    if (status == EBB_OK)
        status = walk_down(m);
    if (status == EBB_OK)
        status = fill_points(m);
    if (status == EBB_OK) {
        mark_enough(m->curve);
        status = fill_next(m);
    }
    return status == EBB_OK ? fill_words(m) : status;
}

ebb_status ebb_plan_curve(ebb_ctx *ctx, const ebb_answer *answer, const ebb_treatment *treatment,
                          const ebb_effort *effort, ebb_curve **curve)
{
    *curve = NULL;
    if (!treatment->asked)
        return ebb_fail(ctx, EBB_E_RANGE, "there is no plan for this use to make a curve of");
    ebb_arena *arena = ebb_arena_new(ctx);
    maker m = {.ctx = ctx,
               .scratch = ebb_arena_new(ctx),
               .answer = answer,
               .treatment = treatment,
               .rounds = effort->swaps < MOST_ROUNDS ? effort->swaps : MOST_ROUNDS,
               .curve = EBB_NEW(arena, ebb_curve, 1)};
    ebb_status status = EBB_E_NOMEM;
    if (m.curve && m.scratch) {
        m.curve->arena = arena;
        status = make(&m);
    } else {
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    ebb_search_free(m.search);
    ebb_arena_free(m.scratch);
    if (status == EBB_OK)
        *curve = m.curve;
    else
        ebb_arena_free(arena);
    return status;
}

void ebb_curve_free(ebb_curve *curve)
{
    if (curve)
        ebb_arena_free(curve->arena);
}
