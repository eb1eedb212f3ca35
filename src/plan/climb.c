/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One start of the placement search: greedy growth, then rounds of removal and replacement.
 */
#include "climb.h"
#include "work.h"

#include <math.h>
#include <string.h>

#define FEW_CHOICES 150 /* places times kinds up to which a scattered start can lead anywhere */
#define FEW_REMOVALS 8  /* least useful units that a swap round tries to replace */

/* ---- choosing
 * -------------------------------------------------------------------------------------- */

/* Best unit to add: false when none improves the score. noise blurs the choice. */
static bool best_addition(ebb_work *w, double noise, double now, ebb_pick *best)
{
    const ebb_base *b = w->base;
    double best_gain = 1e-5;
    for (size_t spot = 0; spot < b->spots->n; spot++)
        for (size_t kind = 0; kind < b->n_kinds; kind++) {
            ebb_pick pick = {spot, kind};
            if (!b->allowed[spot * b->n_kinds + kind] || !ebb_work_may_spend(w, pick) ||
                ebb_work_collides(w, pick))
                continue;
            double gain = now - ebb_work_score(w, &pick, 1);
            gain *= 1 + noise * (ebb_work_random(w) - 0.5);
            if (gain > best_gain) {
                best_gain = gain;
                *best = pick;
            }
        }
    return best_gain > 1e-5;
}

/* Units of any kind at random places until the allowance or the tries are used up: a start that
 * owes nothing to the greedy choice. */
static void scatter(ebb_work *w)
{
    const ebb_base *b = w->base;
    for (size_t i = 0; i < 4 * b->spots->n && b->n_kinds > 0; i++) {
        ebb_pick pick = {(size_t)(ebb_work_random(w) * (double)b->spots->n),
                         (size_t)(ebb_work_random(w) * (double)b->n_kinds)};
        if (b->allowed[pick.spot * b->n_kinds + pick.kind] && ebb_work_may_spend(w, pick) &&
            !ebb_work_collides(w, pick))
            ebb_work_add(w, pick);
    }
}

static void grow(ebb_work *w, double noise, double *score)
{
    ebb_pick pick;
    while (w->layout.n < w->base->spots->n && best_addition(w, noise, *score, &pick)) {
        ebb_work_add(w, pick);
        *score = ebb_work_score(w, NULL, 0);
    }
}

/* Index of the unit whose loss hurts least among those not yet tried. */
static size_t least_useful(ebb_work *w)
{
    double best = INFINITY;
    size_t found = w->layout.n;
    for (size_t i = 0; i < w->layout.n; i++) {
        if (w->tried[w->layout.pick[i].spot])
            continue;
        double score = ebb_work_score(w, &w->layout.pick[i], -1);
        if (score < best) {
            best = score;
            found = i;
        }
    }
    return found;
}

/* One round of removal and replacement; tells whether anything improved. all: none goes without
 * another in its place. */
static bool swap_round(ebb_work *w, bool all, double *score)
{
    bool better = false;
    memset(w->tried, 0, w->base->spots->n);
    for (int trial = 0; trial < FEW_REMOVALS && w->layout.n > 0; trial++) {
        size_t i = least_useful(w);
        if (i == w->layout.n)
            break;
        ebb_pick old = w->layout.pick[i], fresh;
        w->tried[old.spot] = 1;
        ebb_work_keep(w);
        ebb_work_take_away(w, i);
        double now = ebb_work_score(w, NULL, 0);
        bool found = best_addition(w, 0, now, &fresh);
        if (found) {
            ebb_work_add(w, fresh);
            now = ebb_work_score(w, NULL, 0);
        }
        if (now < *score - 1e-5 && (found || !all)) {
            *score = now;
            better = true;
            if (found)
                w->tried[fresh.spot] = 1;
            continue;
        }
        ebb_work_give_back(w, old, found ? &fresh : NULL);
    }
    return better;
}

/* ---- a whole start -----------------------------------------------------------------------------
 */

/* Best layout so far by its true score; its picks in memory of its own. */
static void keep_best(const ebb_work *w, double score, ebb_climbed *best)
{
    if (!(score < best->score))
        return;
    best->n = w->layout.n;
    best->score = score;
    memcpy(best->pick, w->layout.pick, best->n * sizeof *best->pick);
}

/* While it climbs, a start sees modes that are shifted to first order only; which of its layouts
 * is the best is decided by true ones. */
static bool climb(ebb_work *w, const ebb_effort *effort, double noise, bool scattered)
{
    double score;
    ebb_climbed best = {.pick = EBB_NEW(w->arena, ebb_pick, w->base->spots->n), .score = INFINITY};
    w->layout.n = 0;
    if (!best.pick || !ebb_work_settle(w, &score))
        return false;
    keep_best(w, score, &best);
    if (scattered)
        scatter(w);
    else
        grow(w, noise, &score);
    for (size_t round = 0;; round++) {
        if (!ebb_work_settle(w, &score))
            return false;
        keep_best(w, score, &best);
        if (round == effort->swaps)
            break;
        bool better = swap_round(w, false, &score);
        size_t n = w->layout.n;
        grow(w, 0, &score);
        if (!better && w->layout.n == n)
            break;
    }
    w->layout.n = best.n;
    memcpy(w->layout.pick, best.pick, best.n * sizeof *best.pick);
    return ebb_work_rate(w);
}

ebb_status ebb_climb(const ebb_base *base, const ebb_effort *effort, unsigned stream, double noise,
                     ebb_climbed *result)
{
    ebb_work w;
    bool ok = ebb_work_make(&w, base, effort, stream, result) &&
              climb(&w, effort, noise,
                    noise > 0 && stream % 2 == 1 && base->spots->n * base->n_kinds <= FEW_CHOICES);
    if (ok)
        *result = w.layout;
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}

ebb_status ebb_climb_rate(const ebb_base *base, size_t n, ebb_climbed *layouts)
{
    ebb_work w;
    ebb_effort effort = {0};
    ebb_climbed empty = {0};
    bool ok = ebb_work_make(&w, base, &effort, 0, &empty);
    for (size_t i = 0; i < n && ok; i++) {
        w.layout = layouts[i];
        ok = ebb_work_rate(&w);
        layouts[i] = w.layout;
    }
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}

/* ---- down again --------------------------------------------------------------------------------
 */

/* Takes the least useful unit away and places the others anew. */
static bool step_down(ebb_work *w, size_t rounds)
{
    double score;
    memset(w->tried, 0, w->base->spots->n);
    ebb_work_take_away(w, least_useful(w));
    for (size_t i = 0; i < rounds; i++)
        if (!ebb_work_settle(w, &score) || !swap_round(w, true, &score))
            break;
    return ebb_work_rate(w);
}

ebb_status ebb_climb_down(const ebb_base *base, size_t rounds, const ebb_climbed *top,
                          ebb_climbed *step)
{
    ebb_work w;
    ebb_effort effort = {0};
    ebb_climbed start = {.pick = step[top->n].pick};
    bool ok = ebb_work_make(&w, base, &effort, 0, &start);
    w.layout.pick = ok ? EBB_NEW(w.arena, ebb_pick, base->spots->n) : NULL;
    ok = ok && w.layout.pick;
    if (ok) {
        w.layout.n = top->n;
        memcpy(w.layout.pick, top->pick, top->n * sizeof *top->pick);
        ok = ebb_work_rate(&w);
    }
    for (size_t n = top->n; ok; n--) {
        ebb_pick *picks = step[n].pick;
        step[n] = w.layout;
        step[n].pick = memcpy(picks, w.layout.pick, n * sizeof *picks);
        if (n == 0)
            break;
        ok = step_down(&w, rounds);
    }
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}

/* Best place for one more unit of a kind, whatever it weighs and costs. */
static bool best_of_kind(ebb_work *w, size_t kind, ebb_pick *best)
{
    const ebb_base *b = w->base;
    double least = INFINITY;
    for (size_t spot = 0; spot < b->spots->n; spot++) {
        ebb_pick pick = {spot, kind};
        if (!b->allowed[spot * b->n_kinds + kind] || ebb_work_collides(w, pick) ||
            b->kind[kind].unit->depth > b->job->allowance.depth)
            continue;
        double score = ebb_work_score(w, &pick, 1);
        if (score < least) {
            least = score;
            *best = pick;
        }
    }
    return isfinite(least);
}

ebb_status ebb_climb_next(const ebb_base *base, const ebb_climbed *layout, ebb_next *next)
{
    ebb_work w;
    ebb_effort effort = {0};
    bool ok = ebb_work_make(&w, base, &effort, 0, layout) && ebb_work_rate(&w);
    for (size_t kind = 0; ok && kind < base->n_kinds; kind++) {
        next[kind] = (ebb_next){.pick = {0, kind}};
        next[kind].fits = best_of_kind(&w, kind, &next[kind].pick);
        next[kind].allowed = next[kind].fits && ebb_work_may_spend(&w, next[kind].pick);
    }
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}

ebb_status ebb_climb_stations(const ebb_base *base, size_t option[2])
{
    ebb_climbed bare = {0};
    ebb_status status = ebb_climb_rate(base, 1, &bare);
    memcpy(option, bare.option, sizeof bare.option);
    return status;
}
