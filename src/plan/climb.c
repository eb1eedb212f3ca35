/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One start of the placement search: greedy growth, then rounds of removal and replacement.
 */
#include "climb.h"
#include "greens.h"
#include "score.h"

#include <math.h>
#include <string.h>

#define FEW_REMOVALS 8 /* least useful units that a swap round tries to replace */

/* Working state of a start. */
typedef struct work {
    const ebb_base *base;
    ebb_arena *arena;
    ebb_greens greens;
    ebb_climbed layout;
    unsigned char *taken, *tried; /* [spot] */
    double mass, cost, area;
    double absorption[EBB_OCTAVES];
    ebb_score score;
    unsigned long long random;
} work;

#define TRIAL_UPDATES 2 /* a trial swap takes one unit away and adds one */

static double uniform(work *w)
{
    w->random += 0x9E3779B97F4A7C15ull; /* splitmix64, public domain (Vigna) */
    unsigned long long z = w->random;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

static void reset(work *w)
{
    ebb_greens_reset(&w->greens);
    memset(w->taken, 0, w->base->spots->n);
    memcpy(w->absorption, w->base->area, sizeof w->absorption);
    w->layout.n = 0;
    w->mass = w->cost = w->area = 0;
}

static bool work_make(work *w, const ebb_base *b, const ebb_effort *effort, unsigned stream,
                      ebb_climbed *result)
{
    *w = (work){.base = b, .arena = ebb_arena_new(NULL), .layout = *result};
    w->random = ((unsigned long long)effort->seed << 20) + stream;
    w->taken = EBB_NEW(w->arena, unsigned char, b->spots->n);
    w->tried = EBB_NEW(w->arena, unsigned char, b->spots->n);
    return w->taken && w->tried && ebb_greens_make(w->arena, b, &w->greens) &&
           ebb_score_make(w->arena, b, &w->score) == EBB_OK;
}

/* ---- adding and removing -----------------------------------------------------------------------
 */

/* Books a unit in (sign 1) or out (sign -1). */
static void book(work *w, ebb_pick pick, double sign)
{
    const ebb_base *b = w->base;
    const ebb_kind *kind = &b->kind[pick.kind];
    const ebb_spot *spot = &b->spots->spot[pick.spot];
    double area = spot->size[0] * spot->size[1];
    w->mass += sign * kind->unit->mass;
    w->cost += sign * kind->unit->cost;
    w->area += sign * area;
    for (int o = 0; o < EBB_OCTAVES; o++)
        w->absorption[o] += sign * area * (kind->alpha[o] - b->face_alpha[spot->surface][o]);
    w->taken[pick.spot] = sign > 0;
}

/* Rebuilds the matrices from the layout alone: forgets a long stack of updates and its rounding.
 * The modes are left alone: their reference already holds these units, or their shifts do. */
static void rebuild(work *w)
{
    size_t n = w->layout.n;
    reset(w);
    for (size_t i = 0; i < n; i++, w->layout.n++) {
        ebb_greens_apply(&w->greens, w->layout.pick[i], 1);
        book(w, w->layout.pick[i], 1);
    }
}

static void change(work *w, ebb_pick pick, double sign)
{
    if (!ebb_greens_has_room(&w->greens, 1))
        rebuild(w);
    ebb_greens_apply(&w->greens, pick, sign);
    book(w, pick, sign);
    ebb_score_shift(&w->score, w->base, pick, sign);
}

static void add(work *w, ebb_pick pick)
{
    change(w, pick, 1);
    w->layout.pick[w->layout.n++] = pick;
}

static void take_away(work *w, size_t i)
{
    ebb_pick pick = w->layout.pick[i];
    change(w, pick, -1);
    memmove(w->layout.pick + i, w->layout.pick + i + 1,
            (w->layout.n - i - 1) * sizeof *w->layout.pick);
    w->layout.n--;
}

/* Before a trial: rows for all its updates first, since a rebuild in between would lose what is
 * kept. */
static void keep(work *w)
{
    if (!ebb_greens_has_room(&w->greens, TRIAL_UPDATES))
        rebuild(w);
    ebb_greens_keep(&w->greens);
    ebb_score_keep(&w->score);
}

/* After a trial that was no use: `old` comes back, what took its place goes. */
static void give_back(work *w, ebb_pick old, const ebb_pick *fresh)
{
    ebb_greens_return(&w->greens);
    ebb_score_return(&w->score);
    if (fresh) {
        book(w, *fresh, -1);
        w->layout.n--;
    }
    book(w, old, 1);
    w->layout.pick[w->layout.n++] = old;
}

/* ---- choosing
 * -------------------------------------------------------------------------------------- */

static bool within_allowance(const work *w, ebb_pick pick)
{
    const ebb_base *b = w->base;
    const ebb_allowance *a = &b->job->allowance;
    const ebb_kind *kind = &b->kind[pick.kind];
    const ebb_spot *spot = &b->spots->spot[pick.spot];
    double floor_area = b->room->size[0] * b->room->size[1];
    double treatable = ebb_room_area(b->room) - floor_area;
    return w->mass + kind->unit->mass <= a->mass && w->cost + kind->unit->cost <= a->cost &&
           (w->area + spot->size[0] * spot->size[1]) / treatable <= a->cover &&
           (double)w->layout.n + 1 <= a->count && kind->unit->depth <= a->depth &&
           (w->mass + kind->unit->mass) * 9.81 / floor_area <= a->floor;
}

static bool collides(const work *w, ebb_pick pick)
{
    const ebb_base *b = w->base;
    double low[3], high[3], other_low[3], other_high[3];
    if (w->taken[pick.spot])
        return true;
    /* A millimetre at least, so that depthless units still exclude each other on one surface. */
    ebb_spot_body(b->room, &b->spots->spot[pick.spot], fmax(b->kind[pick.kind].unit->depth, 0.002),
                  low, high);
    for (size_t i = 0; i < w->layout.n; i++) {
        const ebb_pick *used = &w->layout.pick[i];
        ebb_spot_body(b->room, &b->spots->spot[used->spot],
                      fmax(b->kind[used->kind].unit->depth, 0.002), other_low, other_high);
        if (ebb_bodies_meet(low, high, other_low, other_high))
            return true;
    }
    return false;
}

static double score_with(work *w, const ebb_pick *pick, double sign)
{
    ebb_greens_responses(&w->greens, pick, sign, w->layout.option, w->score.h);
    return ebb_score_of(&w->score, w->base, w->absorption, pick, sign, w->mass);
}

/* Best unit to add: false when none improves the score. noise blurs the choice. */
static bool best_addition(work *w, double noise, double now, ebb_pick *best)
{
    const ebb_base *b = w->base;
    double best_gain = 1e-5;
    for (size_t spot = 0; spot < b->spots->n; spot++)
        for (size_t kind = 0; kind < b->n_kinds; kind++) {
            ebb_pick pick = {spot, kind};
            if (!b->allowed[spot * b->n_kinds + kind] || !within_allowance(w, pick) ||
                collides(w, pick))
                continue;
            double gain = now - score_with(w, &pick, 1);
            gain *= 1 + noise * (uniform(w) - 0.5);
            if (gain > best_gain) {
                best_gain = gain;
                *best = pick;
            }
        }
    return best_gain > 1e-5;
}

static double best_stations(work *w)
{
    const ebb_stations *st = w->base->stations;
    double best = INFINITY;
    size_t kept[2] = {0, 0};
    for (size_t s = 0; s < st->source_options; s++)
        for (size_t r = 0; r < st->receiver_options; r++) {
            if (st->tied && s != r)
                continue;
            w->layout.option[0] = s;
            w->layout.option[1] = r;
            double score = score_with(w, NULL, 0);
            if (score < best - 1e-9) {
                best = score;
                kept[0] = s;
                kept[1] = r;
            }
        }
    memcpy(w->layout.option, kept, sizeof kept);
    return best;
}

static void grow(work *w, double noise, double *score)
{
    ebb_pick pick;
    while (w->layout.n < w->base->spots->n && best_addition(w, noise, *score, &pick)) {
        add(w, pick);
        *score = score_with(w, NULL, 0);
    }
}

/* Index of the unit whose loss hurts least among those not yet tried. */
static size_t least_useful(work *w)
{
    double best = INFINITY;
    size_t found = w->layout.n;
    for (size_t i = 0; i < w->layout.n; i++) {
        if (w->tried[w->layout.pick[i].spot])
            continue;
        double score = score_with(w, &w->layout.pick[i], -1);
        if (score < best) {
            best = score;
            found = i;
        }
    }
    return found;
}

/* One round of removal and replacement; tells whether anything improved. */
static bool swap_round(work *w, double *score)
{
    bool better = false;
    memset(w->tried, 0, w->base->spots->n);
    for (int trial = 0; trial < FEW_REMOVALS && w->layout.n > 0; trial++) {
        size_t i = least_useful(w);
        if (i == w->layout.n)
            break;
        ebb_pick old = w->layout.pick[i], fresh;
        w->tried[old.spot] = 1;
        keep(w);
        take_away(w, i);
        double now = score_with(w, NULL, 0);
        bool found = best_addition(w, 0, now, &fresh);
        if (found) {
            add(w, fresh);
            now = score_with(w, NULL, 0);
        }
        if (now < *score - 1e-5) {
            *score = now;
            better = true;
            if (found)
                w->tried[fresh.spot] = 1;
            continue;
        }
        give_back(w, old, found ? &fresh : NULL);
    }
    return better;
}

/* ---- a whole start -----------------------------------------------------------------------------
 */

static bool climb(work *w, const ebb_effort *effort, double noise)
{
    reset(w);
    if (ebb_score_modes(w->base, &w->layout, &w->score) != EBB_OK)
        return false;
    double score = best_stations(w);
    grow(w, noise, &score);
    for (size_t round = 0; round < effort->swaps; round++) {
        /* True modes of what stands: the updates so far moved them to first order only. */
        if (ebb_score_modes(w->base, &w->layout, &w->score) != EBB_OK)
            return false;
        rebuild(w);
        score = best_stations(w);
        bool better = swap_round(w, &score);
        grow(w, 0, &score);
        if (!better)
            break;
    }
    best_stations(w);
    w->layout.score = score_with(w, NULL, 0); /* leaves the levels of the stations kept */
    w->layout.wrong = ebb_score_wrong(&w->score, w->base);
    return true;
}

ebb_status ebb_climb(const ebb_base *base, const ebb_effort *effort, unsigned stream, double noise,
                     ebb_climbed *result)
{
    work w;
    bool ok = work_make(&w, base, effort, stream, result) && climb(&w, effort, noise);
    if (ok)
        *result = w.layout;
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}

ebb_status ebb_climb_stations(const ebb_base *base, size_t option[2])
{
    work w;
    ebb_effort effort = {0};
    ebb_climbed empty = {0};
    bool ok = work_make(&w, base, &effort, 0, &empty);
    if (ok) {
        reset(&w);
        ok = ebb_score_modes(base, &w.layout, &w.score) == EBB_OK;
    }
    if (ok) {
        best_stations(&w);
        memcpy(option, w.layout.option, sizeof w.layout.option);
    }
    ebb_arena_free(w.arena);
    return ok ? EBB_OK : EBB_E_NOMEM;
}
