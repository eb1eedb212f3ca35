/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "work.h"

#include <math.h>
#include <string.h>

#define TRIAL_UPDATES 2 /* a trial swap takes one unit away and adds one */

double ebb_work_random(ebb_work *w)
{
    w->random += 0x9E3779B97F4A7C15ull; /* splitmix64, public domain (Vigna) */
    unsigned long long z = w->random;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

void ebb_work_reset(ebb_work *w)
{
    ebb_greens_reset(&w->greens);
    memset(w->taken, 0, w->base->spots->n);
    memcpy(w->absorption, w->base->area, sizeof w->absorption);
    w->layout.n = 0;
    w->mass = w->cost = w->area = 0;
}

bool ebb_work_make(ebb_work *w, const ebb_base *b, const ebb_effort *effort, unsigned stream,
                   const ebb_climbed *result)
{
    *w = (ebb_work){.base = b, .arena = ebb_arena_new(NULL), .layout = *result};
    w->random = ((unsigned long long)effort->seed << 20) + stream;
    w->taken = EBB_NEW(w->arena, unsigned char, b->spots->n);
    w->tried = EBB_NEW(w->arena, unsigned char, b->spots->n);
    return w->taken && w->tried && ebb_greens_make(w->arena, b, &w->greens) &&
           ebb_score_make(w->arena, b, &w->score) == EBB_OK;
}

/* ---- adding and removing -----------------------------------------------------------------------
 */

/* Books a unit in (sign 1) or out (sign -1). */
static void book(ebb_work *w, ebb_pick pick, double sign)
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

void ebb_work_rebuild(ebb_work *w)
{
    size_t n = w->layout.n;
    ebb_work_reset(w);
    for (size_t i = 0; i < n; i++, w->layout.n++) {
        ebb_greens_apply(&w->greens, w->layout.pick[i], 1);
        book(w, w->layout.pick[i], 1);
    }
}

static void change(ebb_work *w, ebb_pick pick, double sign)
{
    if (!ebb_greens_has_room(&w->greens, 1))
        ebb_work_rebuild(w);
    ebb_greens_apply(&w->greens, pick, sign);
    book(w, pick, sign);
    ebb_score_shift(&w->score, w->base, pick, sign);
}

void ebb_work_add(ebb_work *w, ebb_pick pick)
{
    change(w, pick, 1);
    w->layout.pick[w->layout.n++] = pick;
}

void ebb_work_note(ebb_work *w, ebb_pick pick)
{
    book(w, pick, 1);
    w->layout.pick[w->layout.n++] = pick;
}

void ebb_work_unnote(ebb_work *w)
{
    book(w, w->layout.pick[--w->layout.n], -1);
}

void ebb_work_take_away(ebb_work *w, size_t i)
{
    ebb_pick pick = w->layout.pick[i];
    change(w, pick, -1);
    memmove(w->layout.pick + i, w->layout.pick + i + 1,
            (w->layout.n - i - 1) * sizeof *w->layout.pick);
    w->layout.n--;
}

void ebb_work_keep(ebb_work *w)
{
    /* Rows for all updates of the trial first: a rebuild in between would lose what is kept. */
    if (!ebb_greens_has_room(&w->greens, TRIAL_UPDATES))
        ebb_work_rebuild(w);
    ebb_greens_keep(&w->greens);
    ebb_score_keep(&w->score);
}

void ebb_work_give_back(ebb_work *w, ebb_pick old, const ebb_pick *fresh)
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

/* ---- what may be added, and what it is worth ---------------------------------------------------
 */

bool ebb_work_may_spend(const ebb_work *w, ebb_pick pick)
{
    const ebb_base *b = w->base;
    const ebb_allowance *a = &b->job->allowance;
    const ebb_kind *kind = &b->kind[pick.kind];
    const ebb_spot *spot = &b->spots->spot[pick.spot];
    double floor_area = ebb_surface_area(&b->room->surfaces[0]);
    double treatable = ebb_room_treatable(b->room);
    return w->mass + kind->unit->mass <= a->mass && w->cost + kind->unit->cost <= a->cost &&
           (w->area + spot->size[0] * spot->size[1]) / treatable <= a->cover &&
           (double)w->layout.n + 1 <= a->count && kind->unit->depth <= a->depth &&
           (w->mass + kind->unit->mass) * 9.81 / floor_area <= a->floor;
}

bool ebb_work_collides(const ebb_work *w, ebb_pick pick)
{
    const ebb_base *b = w->base;
    if (w->taken[pick.spot])
        return true;
    /* A millimetre at least, so that depthless units still exclude each other on one surface. */
    ebb_block own = ebb_spot_block(b->room, &b->spots->spot[pick.spot],
                                   fmax(b->kind[pick.kind].unit->depth, 0.002));
    for (size_t i = 0; i < w->layout.n; i++) {
        const ebb_pick *used = &w->layout.pick[i];
        ebb_block other = ebb_spot_block(b->room, &b->spots->spot[used->spot],
                                         fmax(b->kind[used->kind].unit->depth, 0.002));
        if (ebb_blocks_meet(&own, &other))
            return true;
    }
    return false;
}

double ebb_work_score(ebb_work *w, const ebb_pick *pick, double sign)
{
    w->layout.scored++;
    ebb_greens_responses(&w->greens, pick, sign, w->layout.option, w->score.h);
    return ebb_score_of(&w->score, w->base, w->absorption, pick, sign, w->mass);
}

double ebb_work_stations(ebb_work *w)
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
            ebb_score_weigh(&w->score, w->base, w->layout.option);
            double score = ebb_work_score(w, NULL, 0);
            if (score < best - 1e-9) {
                best = score;
                kept[0] = s;
                kept[1] = r;
            }
        }
    memcpy(w->layout.option, kept, sizeof kept);
    ebb_score_weigh(&w->score, w->base, kept);
    return best;
}

bool ebb_work_settle(ebb_work *w, double *score)
{
    if (ebb_score_modes(w->base, &w->layout, &w->score) != EBB_OK)
        return false;
    ebb_work_rebuild(w);
    *score = ebb_work_stations(w);
    return true;
}

bool ebb_work_rate(ebb_work *w)
{
    if (!ebb_work_settle(w, &w->layout.score))
        return false;
    (void)ebb_work_score(w, NULL, 0); /* leaves the levels of the stations kept */
    w->layout.wrong = ebb_score_wrong(&w->score, w->base);
    return true;
}
