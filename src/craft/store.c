/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The best trade-offs of absorption, mass, depth and cost. */
#include "private.h"

#include <stdlib.h>

#define VALUES 4
#define UNPRICED 1e12 /* money: what is not known is not cheap */

/* All to be made small. */
static void values(const ebb_craft_merit *m, double v[VALUES])
{
    v[0] = -m->absorption;
    v[1] = m->mass;
    v[2] = m->depth;
    v[3] = m->priced ? m->cost : UNPRICED;
}

bool ebb_craft_dominates(const ebb_craft_merit *a, const ebb_craft_merit *b)
{
    double x[VALUES], y[VALUES];
    bool better = false;
    values(a, x);
    values(b, y);
    for (int i = 0; i < VALUES; i++) {
        if (x[i] > y[i])
            return false;
        better = better || x[i] < y[i];
    }
    return better;
}

/* Same in every value: one of them is enough. */
static bool same(const ebb_craft_merit *a, const ebb_craft_merit *b)
{
    double x[VALUES], y[VALUES];
    values(a, x);
    values(b, y);
    return memcmp(x, y, sizeof x) == 0;
}

/* Distance of two, every value in units of its span over the store. */
static double apart(const double *x, const double *y, const double span[VALUES])
{
    double sum = 0;
    for (int i = 0; i < VALUES; i++)
        if (span[i] > 0)
            sum += fmin(1, (x[i] - y[i]) * (x[i] - y[i]) / (span[i] * span[i]));
    return sum;
}

/* Index of the one with the nearest neighbour; of those two the one that is not the extreme in any
 * value, else the later. */
static size_t most_crowded(const ebb_craft_store *store)
{
    double v[EBB_CRAFT_KEPT][VALUES], low[VALUES], high[VALUES], span[VALUES];
    for (size_t i = 0; i < store->n; i++) {
        values(&store->one[i].merit, v[i]);
        for (int k = 0; k < VALUES; k++) {
            low[k] = i == 0 ? v[i][k] : fmin(low[k], v[i][k]);
            /* the span of what is priced */
            const bool known = v[i][k] < UNPRICED;
            high[k] = i == 0 ? v[i][k] : known ? fmax(high[k], v[i][k]) : high[k];
        }
    }
    for (int k = 0; k < VALUES; k++)
        span[k] = high[k] - low[k];
    size_t worst = store->n - 1;
    double nearest = INFINITY;
    for (size_t i = 0; i < store->n; i++) {
        bool extreme = false;
        for (int k = 0; k < VALUES; k++)
            extreme = extreme || (span[k] > 0 && v[i][k] == low[k]);
        for (size_t j = 0; j < store->n && !extreme; j++) {
            const double d = i == j ? INFINITY : apart(v[i], v[j], span);
            if (d < nearest) {
                nearest = d;
                worst = i;
            }
        }
    }
    return worst;
}

static void drop(ebb_craft_store *store, size_t i)
{
    store->one[i] = store->one[--store->n];
}

void ebb_craft_store_add(ebb_craft_store *store, const ebb_craft_one *one)
{
    for (size_t i = 0; i < store->n; i++)
        if (ebb_craft_dominates(&store->one[i].merit, &one->merit) ||
            same(&store->one[i].merit, &one->merit))
            return;
    for (size_t i = store->n; i-- > 0;)
        if (ebb_craft_dominates(&one->merit, &store->one[i].merit))
            drop(store, i);
    if (store->n == EBB_CRAFT_KEPT)
        drop(store, most_crowded(store));
    store->one[store->n++] = *one;
}

static int by_mass(const void *left, const void *right)
{
    const ebb_craft_merit *a = &((const ebb_craft_one *)left)->merit;
    const ebb_craft_merit *b = &((const ebb_craft_one *)right)->merit;
    double x[VALUES], y[VALUES];
    values(a, x);
    values(b, y);
    static const int order[VALUES] = {1, 2, 0, 3};
    for (int i = 0; i < VALUES; i++)
        if (x[order[i]] != y[order[i]])
            return x[order[i]] < y[order[i]] ? -1 : 1;
    return 0;
}

void ebb_craft_store_thin(ebb_craft_store *store, size_t n)
{
    while (store->n > n)
        drop(store, most_crowded(store));
    qsort(store->one, store->n, sizeof *store->one, by_mass);
}
