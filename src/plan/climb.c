/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Adding a unit at spot p changes the Green matrix by
 *   G' = G - G_p (D^-1 + G_pp)^-1 G_p^T,   D = j k (beta_unit - beta_wall) / scale,
 * and taking it away is the same with -D. A start keeps G' only where it is read: the blocks of all
 * spots with themselves, all spots with all stations, and stations with stations; columns G'_p are
 * rebuilt from the original matrix and the list of updates.
 */
#include "climb.h"
#include "score.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define Q EBB_SPOT_PORTS
#define FEW_REMOVALS 8 /* least useful units that a swap round tries to replace */

/* One update kept: its columns over all ports and its middle matrix, per frequency. */
typedef struct update {
    size_t rank;
    double _Complex *columns; /* [f][rank][n_ports] */
    double _Complex *middle;  /* [f][rank][rank] */
} update;

/* Working state of a start. */
typedef struct work {
    const ebb_base *base;
    ebb_arena *arena;
    double _Complex *block;   /* [f][spot][Q][Q] */
    double _Complex *station; /* [f][station][n_ports]: sources, then receivers */
    double _Complex *direct;  /* [f][source][receiver] */
    size_t n_updates, room_updates;
    update *updates;
    ebb_climbed layout;
    unsigned char *taken; /* [spot] */
    double mass, cost, area;
    double absorption[EBB_OCTAVES];
    ebb_score score; /* grids, modes, scratch */
    unsigned long long random;
} work;

static double uniform(work *w)
{
    w->random += 0x9E3779B97F4A7C15ull; /* splitmix64, public domain (Vigna) */
    unsigned long long z = w->random;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

/* ---- setting up
 * ---------------------------------------------------------------------------------- */

static size_t n_stations(const ebb_base *b)
{
    return b->n_sources + b->n_receivers;
}

static const double _Complex *green(const ebb_base *b, size_t f, size_t row)
{
    size_t n = b->n_ports + n_stations(b);
    return b->green + (f * n + row) * n;
}

/* Copies what changes out of the base. */
static void reset(work *w)
{
    const ebb_base *b = w->base;
    size_t ns = n_stations(b), n_spots = b->spots->n;
    for (size_t f = 0; b->green && f < b->n_hz; f++) {
        for (size_t spot = 0; spot < n_spots; spot++)
            for (size_t q = 0; q < Q; q++)
                memcpy(w->block + ((f * n_spots + spot) * Q + q) * Q,
                       green(b, f, spot * Q + q) + spot * Q, Q * sizeof *w->block);
        for (size_t s = 0; s < ns; s++)
            memcpy(w->station + (f * ns + s) * b->n_ports, green(b, f, b->n_ports + s),
                   b->n_ports * sizeof *w->station);
    }
    memcpy(w->direct, b->direct, b->n_hz * b->n_sources * b->n_receivers * sizeof *w->direct);
    memset(w->taken, 0, n_spots);
    memcpy(w->absorption, b->area, sizeof w->absorption);
    w->n_updates = 0;
    w->layout.n = 0;
    w->mass = w->cost = w->area = 0;
}

static bool work_make(work *w, const ebb_base *b, const ebb_effort *effort, unsigned stream,
                      ebb_climbed *result)
{
    size_t ns = n_stations(b);
    *w = (work){.base = b, .arena = ebb_arena_new(NULL), .layout = *result};
    w->random = ((unsigned long long)effort->seed << 20) + stream;
    w->block = EBB_NEW(w->arena, double _Complex, b->n_hz * b->spots->n * Q * Q);
    w->station = EBB_NEW(w->arena, double _Complex, b->n_hz *ns * b->n_ports);
    w->direct = EBB_NEW(w->arena, double _Complex, b->n_hz * b->n_sources * b->n_receivers);
    w->room_updates = 4096;
    w->updates = EBB_NEW(w->arena, update, w->room_updates);
    w->taken = EBB_NEW(w->arena, unsigned char, b->spots->n);
    if (!w->block || !w->station || !w->direct || !w->updates || !w->taken)
        return false;
    return ebb_score_make(w->arena, b, &w->score) == EBB_OK;
}

/* ---- small complex matrices
 * ------------------------------------------------------------------------ */

/* Middle matrix (D^-1 + G)^-1 = (I + D G)^-1 D for D = d I, of size n <= Q: stable when d -> 0. */
static void middle(size_t n, double _Complex d, const double _Complex *g, double _Complex *m)
{
    double _Complex a[Q * Q];
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            a[i * n + j] = (i == j) + d * g[i * Q + j];
            m[i * n + j] = i == j ? d : 0;
        }
    for (size_t c = 0; c < n;
         c++) { /* Gauss-Jordan; the diagonal stays away from 0: Re >= 1 - eps */
        double _Complex pivot = 1 / a[c * n + c];
        for (size_t j = 0; j < n; j++) {
            a[c * n + j] *= pivot;
            m[c * n + j] *= pivot;
        }
        for (size_t i = 0; i < n; i++) {
            double _Complex factor = a[i * n + c];
            for (size_t j = 0; i != c && j < n; j++) {
                a[i * n + j] -= factor * a[c * n + j];
                m[i * n + j] -= factor * m[c * n + j];
            }
        }
    }
}

static double _Complex strength(const ebb_base *b, ebb_pick pick, size_t f)
{
    double k = 2 * PI * b->hz[f] / b->state.air.speed;
    size_t surface = b->spots->spot[pick.spot].surface;
    return I * k * (b->kind[pick.kind].beta[f] - b->face_beta[surface * b->n_hz + f]) /
           b->volume_scale;
}

/* m[0..n) = left . middle, for one source's row at a spot. */
static void half_update(size_t n, const double _Complex *row, const double _Complex *m,
                        double _Complex *left)
{
    for (size_t i = 0; i < n; i++) {
        left[i] = 0;
        for (size_t j = 0; j < n; j++)
            left[i] += row[j] * m[j * n + i];
    }
}

/* Responses of the judged paths with one more (sign 1) or one less (sign -1) unit. */
static void responses(const work *w, const ebb_pick *pick, double sign, const size_t option[2],
                      double _Complex *h)
{
    const ebb_base *b = w->base;
    const ebb_stations *st = b->stations;
    size_t n_spots = b->spots->n, ns = n_stations(b), n = pick ? b->kind[pick->kind].ports : 0;
    size_t s0 = option[0] * st->n_sources, r0 = option[1] * st->n_receivers;
    double _Complex m[Q * Q] = {0}, left[Q];
    for (size_t f = 0; f < b->n_hz; f++) {
        const double _Complex *at = w->station + f * ns * b->n_ports + (pick ? pick->spot * Q : 0);
        const double _Complex *direct = w->direct + f * b->n_sources * b->n_receivers;
        if (pick)
            middle(n, sign * strength(b, *pick, f), w->block + (f * n_spots + pick->spot) * Q * Q,
                   m);
        for (size_t p = 0; p < st->n_paths; p++) {
            size_t s = s0 + st->path[p][0], r = r0 + st->path[p][1];
            if (p == 0 || st->path[p][0] != st->path[p - 1][0])
                half_update(n, at + s * b->n_ports, m, left);
            double _Complex sum = direct[s * b->n_receivers + r];
            for (size_t i = 0; i < n; i++)
                sum -= left[i] * at[(b->n_sources + r) * b->n_ports + i];
            h[p * b->n_hz + f] = sum;
        }
    }
}

/* ---- exact updates
 * --------------------------------------------------------------------------------- */

/* Columns G'_p of the current matrix over all ports: the original ones less all updates so far. */
static void columns(const work *w, size_t f, size_t spot, size_t rank, double _Complex *out)
{
    const ebb_base *b = w->base;
    for (size_t q = 0; q < rank; q++) {
        memcpy(out + q * b->n_ports, green(b, f, spot * Q + q), b->n_ports * sizeof *out);
        for (size_t u = 0; u < w->n_updates; u++) {
            const update *up = &w->updates[u];
            const double _Complex *c = up->columns + f * up->rank * b->n_ports;
            const double _Complex *m = up->middle + f * up->rank * up->rank;
            for (size_t i = 0; i < up->rank; i++) {
                double _Complex factor = 0;
                for (size_t j = 0; j < up->rank; j++)
                    factor += m[i * up->rank + j] * c[j * b->n_ports + spot * Q + q];
                for (size_t p = 0; p < b->n_ports; p++)
                    out[q * b->n_ports + p] -= factor * c[i * b->n_ports + p];
            }
        }
    }
}

/* target[i] -= sum_ab left[a] m[a][b] right[b][i] over n entries. */
static void subtract(size_t rank, const double _Complex *left, const double _Complex *m,
                     const double _Complex *right, size_t n, double _Complex *target)
{
    for (size_t b = 0; b < rank; b++) {
        double _Complex factor = 0;
        for (size_t a = 0; a < rank; a++)
            factor += left[a] * m[a * rank + b];
        for (size_t i = 0; i < n; i++)
            target[i] -= factor * right[b * n + i];
    }
}

/* Applies one update at one frequency to everything kept. */
static void apply_at(work *w, size_t f, const update *up, size_t spot)
{
    const ebb_base *b = w->base;
    size_t rank = up->rank, ns = n_stations(b), n_spots = b->spots->n;
    const double _Complex *c = up->columns + f * rank * b->n_ports;
    const double _Complex *m = up->middle + f * rank * rank;
    double _Complex left[Q], right[Q * Q];
    for (size_t s = 0; s < b->n_sources; s++) {
        const double _Complex *from = w->station + (f * ns + s) * b->n_ports + spot * Q;
        for (size_t r = 0; r < b->n_receivers; r++) {
            const double _Complex *to =
                w->station + (f * ns + b->n_sources + r) * b->n_ports + spot * Q;
            subtract(rank, from, m, to, 1, w->direct + (f * b->n_sources + s) * b->n_receivers + r);
        }
    }
    for (size_t s = 0; s < ns; s++) {
        double _Complex *row = w->station + (f * ns + s) * b->n_ports;
        memcpy(left, row + spot * Q, rank * sizeof *left);
        subtract(rank, left, m, c, b->n_ports, row);
    }
    for (size_t p = 0; p < n_spots; p++)
        for (size_t q = 0; q < Q; q++) {
            for (size_t a = 0; a < rank; a++) {
                left[a] = c[a * b->n_ports + p * Q + q];
                memcpy(right + a * Q, c + a * b->n_ports + p * Q, Q * sizeof *right);
            }
            subtract(rank, left, m, right, Q, w->block + ((f * n_spots + p) * Q + q) * Q);
        }
}

static bool apply(work *w, ebb_pick pick, double sign)
{
    const ebb_base *b = w->base;
    size_t rank = b->kind[pick.kind].ports, n_spots = b->spots->n;
    if (w->n_updates == w->room_updates)
        return false;
    update *up = &w->updates[w->n_updates];
    up->rank = rank;
    up->columns = EBB_NEW(w->arena, double _Complex, b->n_hz *rank * b->n_ports);
    up->middle = EBB_NEW(w->arena, double _Complex, b->n_hz *rank *rank);
    if (!up->columns || !up->middle)
        return false;
    for (size_t f = 0; f < b->n_hz; f++) {
        columns(w, f, pick.spot, rank, up->columns + f * rank * b->n_ports);
        middle(rank, sign * strength(b, pick, f), w->block + (f * n_spots + pick.spot) * Q * Q,
               up->middle + f * rank * rank);
        apply_at(w, f, up, pick.spot);
    }
    w->n_updates++;
    return true;
}

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

static bool add(work *w, ebb_pick pick)
{
    if (!apply(w, pick, 1))
        return false;
    book(w, pick, 1);
    ebb_score_shift(&w->score, w->base, pick, 1);
    w->layout.pick[w->layout.n++] = pick;
    return true;
}

static bool take_away(work *w, size_t i)
{
    ebb_pick pick = w->layout.pick[i];
    if (!apply(w, pick, -1))
        return false;
    book(w, pick, -1);
    ebb_score_shift(&w->score, w->base, pick, -1);
    memmove(w->layout.pick + i, w->layout.pick + i + 1,
            (w->layout.n - i - 1) * sizeof *w->layout.pick);
    w->layout.n--;
    return true;
}

/* Rebuilds the matrices from the layout alone: forgets a long list of updates and its rounding. The
 * modes are left alone: their reference already holds these units. */
static bool rebuild(work *w)
{
    size_t n = w->layout.n;
    reset(w);
    for (size_t i = 0; i < n; i++, w->layout.n++) {
        if (!apply(w, w->layout.pick[i], 1))
            return false;
        book(w, w->layout.pick[i], 1);
    }
    return true;
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
    responses(w, pick, sign, w->layout.option, w->score.h);
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

static bool grow(work *w, double noise, double *score)
{
    ebb_pick pick;
    while (w->layout.n < w->base->spots->n && best_addition(w, noise, *score, &pick)) {
        if (!add(w, pick))
            return false;
        *score = score_with(w, NULL, 0);
    }
    return true;
}

/* Index of the unit whose loss hurts least among those not yet tried (tried[i] by spot). */
static size_t least_useful(work *w, const unsigned char *tried)
{
    double best = INFINITY;
    size_t found = w->layout.n;
    for (size_t i = 0; i < w->layout.n; i++) {
        if (tried[w->layout.pick[i].spot])
            continue;
        double score = score_with(w, &w->layout.pick[i], -1);
        if (score < best) {
            best = score;
            found = i;
        }
    }
    return found;
}

/* One round of removal and replacement. *better tells whether anything improved. */
static bool swap_round(work *w, double *score, bool *better)
{
    unsigned char *tried = EBB_NEW(w->arena, unsigned char, w->base->spots->n);
    if (!tried)
        return false;
    *better = false;
    for (int trial = 0; trial < FEW_REMOVALS && w->layout.n > 0; trial++) {
        size_t i = least_useful(w, tried);
        if (i == w->layout.n)
            break;
        ebb_pick old = w->layout.pick[i], fresh;
        tried[old.spot] = 1;
        if (!take_away(w, i))
            return false;
        double without = score_with(w, NULL, 0);
        bool found = best_addition(w, 0, without, &fresh);
        if (found && !add(w, fresh))
            return false;
        double now = found ? score_with(w, NULL, 0) : without;
        if (now < *score - 1e-5) {
            *score = now;
            *better = true;
            if (found)
                tried[fresh.spot] = 1;
            continue;
        }
        if (found && !take_away(w, w->layout.n - 1))
            return false;
        if (!add(w, old))
            return false;
    }
    return true;
}

/* ---- a whole start
 * ----------------------------------------------------------------------------------- */

static bool climb(work *w, const ebb_effort *effort, double noise, const ebb_climbed *from)
{
    reset(w);
    if (ebb_score_modes(w->base, &w->layout, &w->score) != EBB_OK)
        return false;
    for (size_t i = 0; from && i < from->n; i++)
        if (!add(w, from->pick[i]))
            return false;
    double score = best_stations(w);
    if (!grow(w, noise, &score))
        return false;
    for (size_t round = 0; round < effort->swaps; round++) {
        bool better;
        /* True modes of what stands: the updates so far moved them to first order only. */
        if (ebb_score_modes(w->base, &w->layout, &w->score) != EBB_OK || !rebuild(w))
            return false;
        score = best_stations(w);
        if (!swap_round(w, &score, &better) || !grow(w, 0, &score))
            return false;
        if (!better)
            break;
    }
    w->layout.score = best_stations(w);
    w->layout.wrong = ebb_score_wrong(&w->score, w->base);
    return true;
}

ebb_status ebb_climb(const ebb_base *base, const ebb_effort *effort, unsigned stream, double noise,
                     const ebb_climbed *seed_layout, ebb_climbed *result)
{
    work w;
    bool ok = work_make(&w, base, effort, stream, result) && climb(&w, effort, noise, seed_layout);
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
