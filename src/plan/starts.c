/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * All starts of a search side by side, and the last steps of the best of them.
 *
 * A climb chooses by modes that are shifted to first order. The refinement tries single changes -
 * a unit gone, one more, one in another's place - by true modes: all changes where there are few,
 * else those that the climb's own score likes best.
 */
#include "work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NOISE 1.2     /* blur of the first choices in starts after the first */
#define MOST_SHORT 12 /* replacements of one unit that are rated truly */
#define RATINGS 48    /* in one round of refinement, about */
#define MOST_PLACES 45
#define MOST_PLACEMENTS 1000 /* when there are no more, all of them are rated */
#define GAIN 1e-7            /* of the score that counts as one */

/* Replacements for a unit, best first by the climb's score. */
typedef struct shortlist {
    size_t n, most;
    ebb_pick pick[MOST_SHORT];
    double score[MOST_SHORT];
} shortlist;

static void enter(shortlist *list, ebb_pick pick, double score)
{
    if (list->n == list->most && !(score < list->score[list->n - 1]))
        return;
    size_t i = list->n < list->most ? list->n++ : list->n - 1;
    for (; i > 0 && score < list->score[i - 1]; i--) {
        list->pick[i] = list->pick[i - 1];
        list->score[i] = list->score[i - 1];
    }
    list->pick[i] = pick;
    list->score[i] = score;
}

static void list_additions(ebb_work *w, shortlist *list)
{
    const ebb_base *b = w->base;
    list->n = 0;
    for (size_t spot = 0; spot < b->spots->n; spot++)
        for (size_t kind = 0; kind < b->n_kinds; kind++) {
            ebb_pick pick = {spot, kind};
            if (b->allowed[spot * b->n_kinds + kind] && ebb_work_may_spend(w, pick) &&
                !ebb_work_collides(w, pick))
                enter(list, pick, ebb_work_score(w, &pick, 1));
        }
}

/* Puts a layout in the place of another and rates it. */
static bool rate(ebb_work *w, size_t n, const ebb_pick *picks)
{
    w->layout.n = n;
    memcpy(w->layout.pick, picks, n * sizeof *picks);
    return ebb_work_rate(w);
}

/* Rates `kept` with each pick of a list added; takes over into best what is better. */
static bool rate_list(ebb_work *w, size_t n, ebb_pick *kept, const shortlist *list,
                      ebb_climbed *best)
{
    for (size_t i = 0; i <= list->n; i++) {
        size_t more = i < list->n; /* the last time round nothing is added */
        if (more)
            kept[n] = list->pick[i];
        if (!rate(w, n + more, kept))
            return false;
        if (w->layout.score < best->score - GAIN) {
            ebb_pick *picks = best->pick;
            *best = w->layout;
            best->pick = picks;
            memcpy(picks, kept, (n + more) * sizeof *picks);
        }
    }
    return true;
}

/* One round over all units of a layout, and over none: what could stand in their place. */
static bool refine_round(ebb_work *w, ebb_pick *whole, ebb_pick *kept, ebb_climbed *best)
{
    size_t n = best->n, most = RATINGS / (n + 1);
    shortlist list = {.most = most < MOST_SHORT ? most : MOST_SHORT};
    memcpy(whole, best->pick, n * sizeof *whole);
    for (size_t i = 0; i <= n; i++) {
        size_t left = 0;
        for (size_t j = 0; j < n; j++)
            if (j != i)
                kept[left++] = whole[j];
        if (!rate(w, left, kept))
            return false;
        list_additions(w, &list);
        if (!rate_list(w, left, kept, &list, best))
            return false;
    }
    return true;
}

ebb_status ebb_climb_refine(const ebb_base *base, size_t rounds, ebb_climbed *layout)
{
    ebb_work w;
    ebb_effort effort = {0};
    ebb_climbed empty = {0};
    size_t n = base->spots->n, scored = layout->scored;
    bool ok = ebb_work_make(&w, base, &effort, 0, &empty);
    w.layout.pick = EBB_NEW(w.arena, ebb_pick, n + 1);
    ebb_pick *whole = EBB_NEW(w.arena, ebb_pick, n + 1), *kept = EBB_NEW(w.arena, ebb_pick, n + 1);
    ok = ok && w.layout.pick && whole && kept;
    double before = INFINITY;
    for (size_t i = 0; ok && i < rounds && layout->score < before - GAIN; i++) {
        before = layout->score;
        ok = refine_round(&w, whole, kept, layout);
    }
    layout->scored = scored + w.layout.scored;
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}

static int by_score(const void *a, const void *b)
{
    const ebb_climbed *x = a, *y = b;
    return (x->score > y->score) - (x->score < y->score);
}

/* Same units at the same places, in whatever order? */
static bool same_layout(const ebb_climbed *a, const ebb_climbed *b)
{
    size_t found = 0;
    for (size_t i = 0; i < a->n; i++)
        for (size_t j = 0; j < b->n; j++)
            found += a->pick[i].spot == b->pick[j].spot && a->pick[i].kind == b->pick[j].kind;
    return found == a->n && found == b->n;
}

/* Best first; a layout that came out of several starts stands for itself once, the others go to the
 * end. Returns how many different ones there are. */
static size_t sort_distinct(size_t n, ebb_climbed *results)
{
    qsort(results, n, sizeof *results, by_score);
    size_t distinct = 0, twins = 0;
    while (distinct + twins < n) {
        bool twin = false;
        for (size_t j = 0; j < distinct; j++)
            twin = twin || same_layout(&results[j], &results[distinct]);
        if (twin) {
            ebb_climbed it = results[distinct];
            memmove(results + distinct, results + distinct + 1,
                    (n - distinct - 1) * sizeof *results);
            results[n - 1] = it;
        }
        distinct += !twin;
        twins += twin;
    }
    return distinct;
}

/* ---- few placements ----------------------------------------------------------------------------
 */

/* All layouts there are, as long as they are few. */
typedef struct roster {
    size_t n, width;
    ebb_pick *pick; /* [layout * width + i] */
    ebb_climbed *layout;
} roster;

/* Enters the layout of w and all that grow from it by picks from `from` on; false: too many. */
static bool enter_from(ebb_work *w, size_t from, roster *all)
{
    const ebb_base *b = w->base;
    if (all->n == MOST_PLACEMENTS || w->layout.n > all->width)
        return false;
    ebb_pick *picks = all->pick + all->n * all->width;
    memcpy(picks, w->layout.pick, w->layout.n * sizeof *picks);
    all->layout[all->n++] = (ebb_climbed){.n = w->layout.n, .pick = picks};
    for (size_t i = from; i < b->spots->n * b->n_kinds; i++) {
        ebb_pick pick = {i / b->n_kinds, i % b->n_kinds};
        if (!b->allowed[i] || !ebb_work_may_spend(w, pick) || ebb_work_collides(w, pick))
            continue;
        ebb_work_note(w, pick);
        bool few = enter_from(w, i + 1, all);
        ebb_work_unnote(w);
        if (!few)
            return false;
    }
    return true;
}

/* All placements, when there are no more than MOST_PLACEMENTS of them; else none. */
static bool list_all(ebb_work *w, roster *all)
{
    const ebb_base *b = w->base;
    size_t places = 0;
    for (size_t i = 0; i < b->spots->n; i++)
        places += memchr(b->allowed + i * b->n_kinds, 1, b->n_kinds) != NULL;
    all->width = places;
    if (places > MOST_PLACES) /* even two units are too many ways */
        return true;
    all->pick = EBB_NEW(w->arena, ebb_pick, MOST_PLACEMENTS * places);
    all->layout = EBB_NEW(w->arena, ebb_climbed, MOST_PLACEMENTS);
    if (!all->pick || !all->layout)
        return false;
    ebb_work_reset(w);
    if (!enter_from(w, 0, all))
        all->n = 0;
    return true;
}

#define SLICE 64 /* placements that a thread rates at a time */

/* Where there are few placements none is left out: the best of them all, if better than `best`. */
static ebb_status try_all(const ebb_base *base, ebb_climbed *best)
{
    ebb_work w;
    ebb_effort effort = {0};
    ebb_climbed empty = {0};
    roster all = {0};
    int failed = !ebb_work_make(&w, base, &effort, 0, &empty);
    w.layout.pick = EBB_NEW(w.arena, ebb_pick, base->spots->n);
    failed |= !w.layout.pick || !list_all(&w, &all);
    size_t n = failed ? 0 : all.n;
#pragma omp parallel for schedule(dynamic, 1) reduction(| : failed)
    for (size_t i = 0; i < n; i += SLICE)
        failed |= ebb_climb_rate(base, n - i < SLICE ? n - i : SLICE, all.layout + i) != EBB_OK;
    size_t scored = best->scored;
    for (size_t i = 0; i < n && !failed; i++) {
        scored += all.layout[i].scored;
        if (all.layout[i].score < best->score - GAIN) {
            ebb_pick *picks = best->pick;
            *best = all.layout[i];
            best->pick = memcpy(picks, all.layout[i].pick, best->n * sizeof *picks);
        }
    }
    best->scored = scored;
    ebb_arena_free(w.arena);
    return failed ? EBB_E_NOMEM : EBB_OK;
}

/* ---- all together ------------------------------------------------------------------------------
 */

#define MOST_CHANGES 2000 /* single changes of a layout; beyond, listing them costs too much */

/* In large rooms with many kinds the climbs' own swaps have to do. */
static bool has_few_changes(const ebb_base *base, const ebb_climbed *layout)
{
    return (layout->n + 1) * base->spots->n * base->n_kinds <= MOST_CHANGES;
}

ebb_status ebb_climb_all(const ebb_base *base, const ebb_effort *effort, ebb_climbed *results)
{
    int failed = 0;
    size_t n = effort->starts;
#pragma omp parallel for schedule(dynamic, 1) reduction(| : failed)
    for (size_t i = 0; i < n; i++)
        failed |= ebb_climb(base, effort, (unsigned)i, i == 0 ? 0 : NOISE, &results[i]) != EBB_OK;
    if (failed)
        return EBB_E_NOMEM;
    size_t distinct = sort_distinct(n, results);
    size_t refined = distinct < EBB_FINALISTS ? distinct : EBB_FINALISTS;
#pragma omp parallel for schedule(dynamic, 1) reduction(| : failed)
    for (size_t i = 0; i < refined; i++)
        failed |= has_few_changes(base, &results[i]) &&
                  ebb_climb_refine(base, effort->swaps, &results[i]) != EBB_OK;
    (void)sort_distinct(n, results);
    failed |= try_all(base, &results[0]) != EBB_OK;
    return failed ? EBB_E_NOMEM : EBB_OK;
}
