/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One run of the search: differential evolution over the vector of numbers, then steps along single
 * numbers. Of the usual variants it moves each box towards one of the better ones and by the
 * difference of two others (Storn and Price 1997; "current to p-best": Zhang and Sanderson 2009;
 * both from memory). Every run has random numbers of its own, so that runs can share out the
 * processors and still give the same answer.
 */
#include "private.h"

#define UNPRICED 1e12     /* money: what is not known is not cheap */
#define BETTER_SHARE 0.15 /* of the population, one of which each box moves towards */
#define SLACK 0.05        /* breach overlooked at first: else the first kind of box that passes */
#define SLACK_UNTIL 0.6   /* crowds out all others before it is known which can be made small */
#define NEW_NAMES 0.05    /* of names that are crossed */
#define POLISH_BOXES 1500

/* splitmix64 (public domain, Vigna): whole numbers, so the same on every machine. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static double uniform(uint64_t *state)
{
    return (double)(next_random(state) >> 11) * 0x1p-53;
}

static size_t below(uint64_t *state, size_t n)
{
    return (size_t)(next_random(state) % n);
}

/* ---- what is better -------------------------------------------------------------------------- */

double ebb_craft_breach(const ebb_craft_merit *m, double required)
{
    const double lack = required > 0 ? fmax(0, 1 - m->absorption / required) : 0;
    return m->excess + m->shortfall + lack;
}

double ebb_craft_measure(const ebb_craft_merit *m, ebb_craft_aim aim)
{
    /* where many are alike, the second thought decides between them */
    switch (aim) {
    case EBB_CRAFT_LIGHT:
        return m->mass;
    case EBB_CRAFT_SHALLOW:
        return m->depth + 1e-6 * m->mass;
    case EBB_CRAFT_CHEAP:
        return m->priced ? m->cost + 1e-6 * m->mass : UNPRICED + m->mass;
    case EBB_CRAFT_BEST:
    case EBB_CRAFT_NEAREST:
    case EBB_CRAFT_AIMS:
        break;
    }
    return -m->absorption + 1e-9 * m->mass;
}

bool ebb_craft_better(const ebb_craft_quest *quest, const ebb_craft_merit *a,
                      const ebb_craft_merit *b)
{
    const double x = fmax(0, ebb_craft_breach(a, quest->required) - quest->slack);
    const double y = fmax(0, ebb_craft_breach(b, quest->required) - quest->slack);
    if (x != y)
        return x < y;
    return ebb_craft_measure(a, quest->aim) < ebb_craft_measure(b, quest->aim);
}

/* ---- judging --------------------------------------------------------------------------------- */

/* A vector that is no box loses against every box. */
static void judge(const ebb_craft_judge_task *task, const ebb_craft_quest *quest,
                  ebb_craft_one *one)
{
    one->layout = quest->layout;
    if (!ebb_craft_decode(task->space, quest->layout, one->gene, &one->recipe) ||
        ebb_craft_merit_of(NULL, task, &one->recipe, &one->merit) != EBB_OK)
        one->merit =
            (ebb_craft_merit){.excess = INFINITY, .margin = -INFINITY, .absorption = -INFINITY};
}

static void keep(ebb_craft_store *store, const ebb_craft_quest *quest, const ebb_craft_one *one)
{
    if (store && ebb_craft_breach(&one->merit, quest->required) == 0)
        ebb_craft_store_add(store, one);
}

/* ---- evolution ------------------------------------------------------------------------------- */

typedef struct herd {
    size_t n;
    ebb_craft_one *one;
    uint64_t random;
} herd;

/* Index of one of the better boxes. */
static size_t one_of_the_better(herd *h, const ebb_craft_quest *quest)
{
    size_t best = below(&h->random, h->n);
    /* the best of a few drawn: no sorting needed */
    const size_t draws = (size_t)(1 / BETTER_SHARE);
    for (size_t i = 1; i < draws; i++) {
        const size_t other = below(&h->random, h->n);
        if (ebb_craft_better(quest, &h->one[other].merit, &h->one[best].merit))
            best = other;
    }
    return best;
}

/* Back from behind the border, so that it is no place to gather. */
static double inside(double gene, double from)
{
    if (gene < 0)
        return 0.5 * from;
    return gene >= 1 ? 0.5 * (1 + from) : gene;
}

/* A name is taken over from one of three, or now and then drawn anew: differences of names say
 * nothing. */
static double cross_name(herd *h, double own, double good, double other)
{
    const double u = uniform(&h->random);
    if (u < NEW_NAMES)
        return uniform(&h->random);
    return u < 0.5 ? good : u < 0.7 ? other : own;
}

static void cross(herd *h, const ebb_craft_space *space, const ebb_craft_quest *quest, size_t i,
                  ebb_craft_one *trial)
{
    const double *own = h->one[i].gene, *good = h->one[one_of_the_better(h, quest)].gene;
    const double *a = h->one[below(&h->random, h->n)].gene;
    const double *b = h->one[below(&h->random, h->n)].gene;
    const double step = 0.4 + 0.5 * uniform(&h->random);
    const double share = 0.3 + 0.7 * uniform(&h->random);
    const size_t sure = below(&h->random, EBB_CRAFT_GENES);
    for (size_t g = 0; g < EBB_CRAFT_GENES; g++) {
        const double moved = own[g] + step * (good[g] - own[g]) + step * (a[g] - b[g]);
        const bool take = uniform(&h->random) < share || g == sure;
        if (!take)
            trial->gene[g] = own[g];
        else if (ebb_craft_gene_names(space, g) > 0)
            trial->gene[g] = cross_name(h, own[g], good[g], a[g]);
        else
            trial->gene[g] = inside(moved, own[g]);
    }
}

static size_t best_of(const herd *h, const ebb_craft_quest *quest)
{
    size_t best = 0;
    for (size_t i = 1; i < h->n; i++)
        if (ebb_craft_better(quest, &h->one[i].merit, &h->one[best].merit))
            best = i;
    return best;
}

/* The first generation: what is known already, then chance. */
static void fill_herd(const ebb_craft_judge_task *task, const ebb_craft_quest *quest, herd *h,
                      ebb_craft_store *store)
{
    size_t known = 0;
    for (size_t i = 0; i < quest->n_known && 2 * known < h->n; i++)
        if (quest->known[i].layout == quest->layout)
            h->one[known++] = quest->known[i];
    for (size_t i = 0; i < h->n; i++) {
        for (size_t g = 0; g < EBB_CRAFT_GENES && i >= known; g++)
            h->one[i].gene[g] = uniform(&h->random);
        judge(task, quest, &h->one[i]);
        keep(store, quest, &h->one[i]);
    }
}

size_t ebb_craft_evolve(const ebb_craft_judge_task *task, const ebb_craft_effort *effort,
                        const ebb_craft_quest *quest, ebb_craft_one *best, ebb_craft_store *store)
{
    /* several slips to a box: half the generations, for the same patience */
    const size_t generations = task->n_slips ? effort->generations / 2 + 1 : effort->generations;
    ebb_arena *arena = ebb_arena_new(NULL);
    herd h = {effort->population, EBB_NEW(arena, ebb_craft_one, effort->population), quest->seed};
    size_t count = h.n;
    best->merit = (ebb_craft_merit){.excess = INFINITY, .absorption = -INFINITY};
    if (h.one)
        fill_herd(task, quest, &h, store);
    for (size_t k = 0; k < generations && h.one; k++) {
        const double left = 1 - (double)k / (SLACK_UNTIL * (double)generations);
        ebb_craft_quest now = *quest;
        now.slack = left > 0 ? SLACK * left * left : 0;
        for (size_t i = 0; i < h.n; i++, count++) {
            ebb_craft_one trial;
            cross(&h, task->space, &now, i, &trial);
            judge(task, quest, &trial);
            keep(store, quest, &trial);
            if (!ebb_craft_better(&now, &h.one[i].merit, &trial.merit))
                h.one[i] = trial;
        }
    }
    if (h.one)
        *best = h.one[best_of(&h, quest)];
    ebb_arena_free(arena);
    return count + ebb_craft_polish(task, quest, POLISH_BOXES, best, store);
}

void ebb_craft_around(const ebb_craft_space *space, const ebb_craft_one *one, double spread,
                      unsigned seed, size_t n, ebb_craft_one *near)
{
    uint64_t state = seed;
    for (size_t i = 0; i < n; i++) {
        near[i] = *one;
        for (size_t g = 0; g < EBB_CRAFT_GENES && i > 0; g++)
            if (ebb_craft_gene_names(space, g) == 0)
                near[i].gene[g] =
                    inside(one->gene[g] + spread * (2 * uniform(&state) - 1), one->gene[g]);
    }
}

/* ---- polish ---------------------------------------------------------------------------------- */

/* What a polish works on. */
typedef struct polish {
    const ebb_craft_judge_task *task;
    const ebb_craft_quest *quest;
    ebb_craft_one *best;
    ebb_craft_store *store;
    size_t count, most;
} polish;

/* One number set anew; true when that made the best better. What changes nothing that is built
 * costs nothing. */
static bool try_value(polish *p, size_t gene, double value)
{
    ebb_craft_one trial = *p->best;
    trial.gene[gene] = value;
    if (value < 0 || value >= 1 || p->count >= p->most ||
        !ebb_craft_decode(p->task->space, p->quest->layout, trial.gene, &trial.recipe) ||
        memcmp(&trial.recipe, &p->best->recipe, sizeof trial.recipe) == 0)
        return false;
    judge(p->task, p->quest, &trial);
    keep(p->store, p->quest, &trial);
    p->count++;
    if (!ebb_craft_better(p->quest, &trial.merit, &p->best->merit))
        return false;
    *p->best = trial;
    return true;
}

/* Sizes go a step up or down, names are tried one and all. */
static bool try_gene(polish *p, size_t gene, double step)
{
    const size_t n = ebb_craft_gene_names(p->task->space, gene);
    bool moved = false;
    if (n == 0)
        return try_value(p, gene, p->best->gene[gene] + step) ||
               try_value(p, gene, p->best->gene[gene] - step);
    for (size_t i = 0; i < n; i++)
        moved = try_value(p, gene, ((double)i + 0.5) / (double)n) || moved;
    return moved;
}

size_t ebb_craft_polish(const ebb_craft_judge_task *task, const ebb_craft_quest *quest, size_t most,
                        ebb_craft_one *best, ebb_craft_store *store)
{
    static const double steps[] = {0.2, 0.07, 0.02, 0.007, 0.002};
    polish p = {task, quest, best, store, 0, most};
    for (size_t s = 0; s < sizeof steps / sizeof steps[0]; s++) {
        bool moved = true;
        while (moved && p.count < most) {
            moved = false;
            for (size_t g = 0; g < EBB_CRAFT_GENES; g++)
                moved = try_gene(&p, g, steps[s]) || moved;
        }
    }
    return p.count;
}
