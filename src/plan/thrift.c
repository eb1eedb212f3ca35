/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The cheapest and the lightest plan that still passes.
 *
 * A plan made for little differs from a large one with units left out, so the layouts of the curve
 * are asked first, from the cheapest up. Then what passes is pared: units are taken out or made of
 * a cheaper kind as long as the plan, solved truly and drawn, stays right.
 */
#include "trial.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_FAILS 6 /* savings in a row that do not pass end the paring */

/* What is to be saved, and the plan that saves most so far. */
typedef struct thrift {
    const ebb_bench *bench;
    ebb_arena *arena;
    ebb_alternative_kind kind;
    ebb_finalist kept;
    ebb_outcome outcome;
} thrift;

/* One way to save. */
typedef struct saving {
    size_t index, kind; /* kind: the job's number of units = taken out */
    double saved;
    double margin; /* left when it is done alone */
} saving;

static double price(const thrift *t, const ebb_unit *unit)
{
    return t->kind == EBB_PLAN_CHEAPEST ? unit->cost : unit->mass;
}

static double total(const thrift *t, const ebb_layout *layout)
{
    return t->kind == EBB_PLAN_CHEAPEST ? layout->cost : layout->mass;
}

static bool passes(const ebb_outcome *outcome)
{
    return outcome->odds.share >= 0.5;
}

/* ---- smaller plans --------------------------------------------------------------------------- */

/* Keeps what is cheaper than the plan kept so far and passes. */
static void keep_better(thrift *t, const ebb_finalist *found, const ebb_outcome *outcome)
{
    if (passes(outcome) && total(t, &found->layout) < total(t, &t->kept.layout)) {
        t->kept = *found;
        t->outcome = *outcome;
    }
}

/* Layouts of the curve that are right by themselves and cheaper than the plan, by rising price;
 * returns how many. */
static size_t list_points(const thrift *t, const ebb_curve *curve, const ebb_curve_point **point)
{
    size_t n = 0;
    for (size_t i = 0; i < curve->n; i++) {
        const double own = total(t, &curve->point[i].layout);
        size_t at = n;
        if (!curve->point[i].right || own >= total(t, &t->kept.layout))
            continue;
        for (; at > 0 && total(t, &point[at - 1]->layout) > own; at--)
            point[at] = point[at - 1];
        point[at] = &curve->point[i];
        n++;
    }
    return n;
}

/* By halving, as if everything dearer than what passes passed too: each question is a plan solved
 * and drawn. */
static ebb_status ask_curve(thrift *t, ebb_arena *scratch, const ebb_curve *curve)
{
    if (!curve)
        return EBB_OK;
    const ebb_curve_point **point = EBB_NEW(scratch, const ebb_curve_point *, curve->n);
    if (!point)
        return ebb_fail(t->bench->ctx, EBB_E_NOMEM, "out of memory");
    ebb_status status = EBB_OK;
    size_t low = 0, high = list_points(t, curve, point);
    while (low < high && status == EBB_OK) {
        const size_t middle = (low + high) / 2;
        ebb_finalist found = {.layout = point[middle]->layout};
        ebb_outcome outcome = {0};
        if (ebb_options_of(t->bench, &found.layout, found.option))
            status = ebb_trials(t->bench, 1, &found, true, &outcome);
        if (status == EBB_OK)
            keep_better(t, &found, &outcome);
        if (passes(&outcome))
            high = middle;
        else
            low = middle + 1;
    }
    return status;
}

/* ---- paring ---------------------------------------------------------------------------------- */

/* The cheapest kind that hangs in the same place: same face, no deeper. The job's number of units
 * when there is none. */
static size_t cheaper_kind(const thrift *t, const ebb_placed *placed)
{
    const ebb_job *job = t->bench->job;
    const ebb_unit *own = &job->absorbers[placed->unit];
    size_t best = job->n_units;
    double least = price(t, own);
    for (size_t u = 0; u < job->n_units; u++) {
        const ebb_unit *unit = &job->absorbers[u];
        if (unit->face[0] == own->face[0] && unit->face[1] == own->face[1] &&
            unit->depth <= own->depth && ebb_unit_fits(unit, t->bench->room, placed->surface) &&
            price(t, unit) < least) {
            least = price(t, unit);
            best = u;
        }
    }
    return best;
}

static bool apply(const thrift *t, ebb_arena *arena, const saving *s, const ebb_finalist *from,
                  ebb_finalist *to)
{
    return s->kind == t->bench->job->n_units
               ? ebb_layout_without(arena, t->bench, from, s->index, to)
               : ebb_layout_remade(arena, t->bench, from, s->index, s->kind, to);
}

/* Every way to save on one unit of the kept plan. Units that were there before stay. */
static size_t list_savings(const thrift *t, saving *list)
{
    const ebb_job *job = t->bench->job;
    size_t n = 0;
    for (size_t i = t->bench->room->n_placed; i < t->kept.layout.n_placed; i++) {
        const ebb_placed *placed = &t->kept.layout.placed[i];
        const double own = price(t, &job->absorbers[placed->unit]);
        const size_t other = cheaper_kind(t, placed);
        if (own > 0)
            list[n++] = (saving){i, job->n_units, own, 0};
        if (other < job->n_units)
            list[n++] = (saving){i, other, own - price(t, &job->absorbers[other]), 0};
    }
    return n;
}

/* Largest saving first; of equal ones that which costs least margin. */
static int by_saving(const void *a, const void *b)
{
    const saving *x = a, *y = b;
    if (x->saved != y->saved)
        return x->saved > y->saved ? -1 : 1;
    return (x->margin < y->margin) - (x->margin > y->margin);
}

/* Leaves those savings that pass when done alone, in the order in which they are to be tried. */
static ebb_status sift(const thrift *t, ebb_arena *scratch, saving *list, size_t *n)
{
    ebb_finalist *layout = EBB_NEW(scratch, ebb_finalist, *n);
    ebb_outcome *outcome = EBB_NEW(scratch, ebb_outcome, *n);
    bool ok = layout && outcome;
    for (size_t i = 0; ok && i < *n; i++)
        ok = apply(t, scratch, &list[i], &t->kept, &layout[i]);
    if (!ok)
        return ebb_fail(t->bench->ctx, EBB_E_NOMEM, "out of memory");
    const ebb_status status = ebb_trials(t->bench, *n, layout, false, outcome);
    size_t kept = 0;
    for (size_t i = 0; i < *n && status == EBB_OK; i++)
        if (outcome[i].right) {
            list[kept] = list[i];
            list[kept++].margin = outcome[i].margin;
        }
    *n = kept;
    qsort(list, *n, sizeof *list, by_saving);
    return status;
}

/* A unit taken out moves those behind it up; other savings on it are void. */
static void settle(const thrift *t, const saving *done, saving *list, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (list[i].index == done->index)
            list[i].saved = 0;
        else if (done->kind == t->bench->job->n_units && list[i].index > done->index)
            list[i].index--;
    }
}

/* The kept plan with the first `n` savings of a list made; the rest of the list follows. */
static bool apply_first(const thrift *t, size_t n, saving *list, size_t n_list, ebb_finalist *to)
{
    bool ok = true;
    *to = t->kept;
    for (size_t i = 0; ok && i < n; i++) {
        const ebb_finalist from = *to;
        if (list[i].saved > 0) {
            ok = apply(t, t->arena, &list[i], &from, to);
            settle(t, &list[i], list + i + 1, n_list - i - 1);
        }
    }
    return ok;
}

/* Many savings at once as long as that passes, then fewer: a plan with much to spare is pared in a
 * few trials. */
static ebb_status pare_list(thrift *t, ebb_arena *scratch, saving *list, size_t n)
{
    size_t step = n / 2 > 0 ? n / 2 : 1, fails = 0;
    saving *copy = EBB_NEW(scratch, saving, n);
    if (!copy)
        return ebb_fail(t->bench->ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n && fails < MOST_FAILS;) {
        ebb_finalist tried;
        ebb_outcome outcome;
        step = step < n - i ? step : n - i;
        memcpy(copy + i, list + i, (n - i) * sizeof *list);
        if (!apply_first(t, step, copy + i, n - i, &tried))
            return ebb_fail(t->bench->ctx, EBB_E_NOMEM, "out of memory");
        const ebb_status status = ebb_trials(t->bench, 1, &tried, true, &outcome);
        if (status != EBB_OK)
            return status;
        if (passes(&outcome)) {
            t->kept = tried;
            t->outcome = outcome;
            memcpy(list + i, copy + i, (n - i) * sizeof *list);
            fails = 0;
        } else if (step > 1) {
            step /= 2;
            continue;
        } else {
            fails++;
        }
        i += step;
    }
    return EBB_OK;
}

static ebb_status pare(thrift *t, ebb_arena *scratch)
{
    saving *list = EBB_NEW(scratch, saving, 2 * t->kept.layout.n_placed);
    if (!list)
        return ebb_fail(t->bench->ctx, EBB_E_NOMEM, "out of memory");
    size_t n = list_savings(t, list);
    const ebb_status status = sift(t, scratch, list, &n);
    return status == EBB_OK ? pare_list(t, scratch, list, n) : status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void report(const thrift *t, ebb_alternative *to)
{
    const ebb_outcome *o = &t->outcome;
    *to = (ebb_alternative){.kind = t->kind,
                            .passes = true,
                            .layout = t->kept.layout,
                            .wrong = o->wrong,
                            .worst_level = o->worst_level,
                            .worst_decay = o->worst_decay,
                            .margin = o->margin,
                            .odds = o->odds};
}

static ebb_status save(thrift *t, const ebb_curve *curve)
{
    ebb_arena *scratch = ebb_arena_new(t->bench->ctx);
    if (!scratch)
        return ebb_fail(t->bench->ctx, EBB_E_NOMEM, "out of memory");
    ebb_status status = ask_curve(t, scratch, curve);
    if (status == EBB_OK)
        status = pare(t, scratch);
    ebb_arena_free(scratch);
    return status;
}

/* Where nothing has a cost there is no cheapest plan. What one of the two found may serve the other
 * too. */
ebb_status ebb_alternatives(const ebb_bench *bench, ebb_arena *arena, const ebb_curve *curve,
                            const ebb_finalist *best, ebb_alternative *list, size_t *n)
{
    thrift found[2] = {{bench, arena, EBB_PLAN_CHEAPEST, *best, {0}},
                       {bench, arena, EBB_PLAN_LIGHTEST, *best, {0}}};
    ebb_outcome plain;
    ebb_status status = ebb_trials(bench, 1, best, true, &plain);
    for (int k = 0; k < 2 && status == EBB_OK; k++) {
        found[k].outcome = plain;
        if (k == 1 && total(&found[0], &best->layout) > 0)
            keep_better(&found[1], &found[0].kept, &found[0].outcome);
        if (total(&found[k], &best->layout) > 0)
            status = save(&found[k], curve);
    }
    if (status != EBB_OK)
        return status;
    keep_better(&found[0], &found[1].kept, &found[1].outcome);
    for (int k = 0; k < 2; k++)
        if (total(&found[k], &best->layout) > 0)
            report(&found[k], &list[(*n)++]);
    return EBB_OK;
}
