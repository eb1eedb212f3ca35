/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trials.h - random rooms with few places for the tests of the search. Include after cmocka.h.
 */
#ifndef TRIALS_H
#define TRIALS_H

#include "../../src/plan/search.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../expect.h"

#define PI 3.14159265358979323846

/* Builds that watch memory are many times slower: they run the same code a few times, the release
 * build does the counting. */
#if defined(__SANITIZE_ADDRESS__)
#define FULL_OR(full, few) (few)
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define FULL_OR(full, few) (few)
#endif
#endif
#ifndef FULL_OR
#define FULL_OR(full, few) (full)
#endif

/* A random stream of the test's own. */
typedef struct dice {
    unsigned long long state;
} dice;

static double roll(dice *d, double low, double high)
{
    d->state = d->state * 6364136223846793005ull + 1442695040888963407ull; /* Knuth's MMIX */
    return low + (high - low) * (double)(d->state >> 11) * 0x1p-53;
}

static size_t pick_of(dice *d, size_t n)
{
    size_t i = (size_t)roll(d, 0, (double)n);
    return i < n ? i : n - 1;
}

/* A room of random size and stations with its search and base. */
typedef struct trial {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_job *job;
    ebb_limits limits;
    ebb_search *search;
    ebb_base base;
} trial;

/* What a trial is made of. */
typedef struct recipe {
    const char *allowance, *absorbers;
    double size[3][2]; /* m, smallest and largest */
    double lowest;     /* Hz */
    double highest;    /* Hz, of the decay test; 0: as usual */
    bool zones;        /* seats and speakers may move */
    double left;       /* share of length and width that units leave; 0: all */
} recipe;

static inline void write_trial(const recipe *r, dice *d, char *text, size_t size)
{
    const double x = roll(d, r->size[0][0], r->size[0][1]),
                 y = roll(d, r->size[1][0], r->size[1][1]);
    const double z = roll(d, r->size[2][0], r->size[2][1]), zone = r->zones ? 0.15 : 0;
    const double seat = roll(d, 0.55, 0.7), side = roll(d, 0.2, 0.3), wall = roll(d, 0.005, 0.03);
    int n = snprintf(text, size,
                     "job: trial\nuse: music\nlowest: %.0f Hz\nallowance: {%s}\n"
                     "constructions: {wall: {admittance: %.4f}}\nabsorbers:\n%s"
                     "rooms:\n  - name: trial\n    size: [%.3f m, %.3f m, %.3f m]\n"
                     "    surfaces: {all: wall}\n"
                     "    seats: [{name: seat, at: [%.3f m, %.3f m, 1.2 m], zone: %.2f m}]\n"
                     "    speakers:\n"
                     "      - {name: left, at: [0.6 m, %.3f m, 1.2 m], zone: %.2f m}\n"
                     "      - {name: right, at: [0.6 m, %.3f m, 1.2 m], zone: %.2f m}\n",
                     r->lowest, r->allowance, wall, r->absorbers, x, y, z, seat * x, 0.5 * y, zone,
                     side * y, zone, (1 - side) * y, zone);
    assert_true(n > 0 && (size_t)n < size);
}

/* Leaves only `most` of the places that units may take. */
static inline void thin_out(trial *t, dice *d, size_t most)
{
    ebb_base *b = &t->base;
    size_t left = 0;
    for (size_t i = 0; i < b->spots->n; i++)
        left += memchr(b->allowed + i * b->n_kinds, 1, b->n_kinds) != NULL;
    while (left > most) {
        unsigned char *spot = b->allowed + pick_of(d, b->spots->n) * b->n_kinds;
        if (memchr(spot, 1, b->n_kinds)) {
            memset(spot, 0, b->n_kinds);
            left--;
        }
    }
}

static inline void open_trial(trial *t, const recipe *r, dice *d, size_t most)
{
    const double left = r->left > 0 ? r->left : 1, scale[3] = {left, left, 1};
    char text[4096];
    write_trial(r, d, text, sizeof text);
    *t = (trial){.ctx = ebb_ctx_new()};
    t->arena = ebb_arena_new(t->ctx);
    assert_ok(t->ctx, ebb_job_parse(t->ctx, text, strlen(text), "trial", NULL, &t->job));
    ebb_limits_of(t->job, &t->limits);
    if (r->highest > 0)
        t->limits.decay_highest = r->highest;
    assert_ok(t->ctx, ebb_search_new(t->ctx, t->job, &t->job->rooms[0], &t->limits, EBB_USE_MUSIC,
                                     &t->search));
    assert_ok(t->ctx, ebb_search_base(t->ctx, t->arena, t->search, scale, true, &t->base));
    thin_out(t, d, most);
}

static inline void close_trial(trial *t)
{
    ebb_search_free(t->search);
    ebb_job_free(t->job);
    ebb_arena_free(t->arena);
    ebb_ctx_free(t->ctx);
}

/* Do two picks of a base get in each other's way? */
static inline bool clash(const ebb_base *b, ebb_pick one, ebb_pick other)
{
    ebb_block a = ebb_spot_block(b->room, &b->spots->spot[one.spot], b->kind[one.kind].unit->depth);
    ebb_block c =
        ebb_spot_block(b->room, &b->spots->spot[other.spot], b->kind[other.kind].unit->depth);
    return one.spot == other.spot || ebb_blocks_meet(&a, &c);
}

/* A random layout: some of the units allowed, at random places, as far as `tries` of them lead. */
static inline size_t random_layout(const ebb_base *b, dice *d, int tries, size_t most,
                                   ebb_pick *picks)
{
    size_t n = 0, wanted = 1 + pick_of(d, most);
    for (int i = 0; n < wanted && i < tries; i++) {
        picks[n] = (ebb_pick){pick_of(d, b->spots->n), pick_of(d, b->n_kinds)};
        bool free = b->allowed[picks[n].spot * b->n_kinds + picks[n].kind];
        for (size_t k = 0; k < n; k++)
            free = free && !clash(b, picks[k], picks[n]);
        n += free;
    }
    return n;
}

#endif
