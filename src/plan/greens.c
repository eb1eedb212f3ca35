/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "greens.h"

#include <cblas.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define Q EBB_SPOT_PORTS
#define SPARE 60 /* rows of the stack beyond one full layout, for trials */

static size_t n_stations(const ebb_base *b)
{
    return b->n_sources + b->n_receivers;
}

static const double _Complex *original(const ebb_base *b, size_t f, size_t row)
{
    size_t n = b->n_ports + n_stations(b);
    return b->green + (f * n + row) * n;
}

/* Units that a layout can hold at most: they do not overlap, and the allowance bounds their area.
 */
static size_t most_units(const ebb_base *b)
{
    double treatable = ebb_room_treatable(b->room), smallest = INFINITY;
    for (size_t k = 0; k < b->n_kinds; k++)
        smallest = fmin(smallest, b->kind[k].unit->face[0] * b->kind[k].unit->face[1]);
    double most =
        fmin(treatable * fmin(b->job->allowance.cover, 1) / smallest, b->job->allowance.count);
    return most < (double)b->spots->n ? (size_t)most : b->spots->n;
}

static bool make_read(ebb_arena *arena, const ebb_base *b, ebb_greens_read *read)
{
    read->block = EBB_RAW(arena, double _Complex, b->n_hz * b->spots->n * Q * Q);
    read->station = EBB_RAW(arena, double _Complex, b->n_hz *n_stations(b) * b->n_ports);
    read->direct = EBB_RAW(arena, double _Complex, b->n_hz * b->n_sources * b->n_receivers);
    return read->block && read->station && read->direct;
}

static void copy_read(const ebb_base *b, const ebb_greens_read *from, ebb_greens_read *to)
{
    memcpy(to->block, from->block, b->n_hz * b->spots->n * Q * Q * sizeof *to->block);
    memcpy(to->station, from->station, b->n_hz * n_stations(b) * b->n_ports * sizeof *to->station);
    memcpy(to->direct, from->direct, b->n_hz * b->n_sources * b->n_receivers * sizeof *to->direct);
    to->rank = from->rank;
}

bool ebb_greens_make(ebb_arena *arena, const ebb_base *b, ebb_greens *g)
{
    size_t ns = n_stations(b);
    size_t room = b->green ? most_units(b) * Q + SPARE : 1;
    *g = (ebb_greens){.base = b, .room = room};
    if (!make_read(arena, b, &g->now) || (b->green && !make_read(arena, b, &g->kept)))
        return false;
    g->column = EBB_RAW(arena, double _Complex, b->n_hz *room * b->n_ports);
    g->weight = EBB_RAW(arena, double _Complex, b->n_hz *room *Q);
    g->first = EBB_NEW(arena, unsigned char, room);
    g->width = EBB_NEW(arena, unsigned char, room);
    g->work = EBB_NEW(arena, double _Complex, Q *(room + ns));
    return g->column && g->weight && g->first && g->width && g->work;
}

void ebb_greens_keep(ebb_greens *g)
{
    copy_read(g->base, &g->now, &g->kept);
}

void ebb_greens_return(ebb_greens *g)
{
    copy_read(g->base, &g->kept, &g->now);
}

void ebb_greens_reset(ebb_greens *g)
{
    const ebb_base *b = g->base;
    size_t ns = n_stations(b), n_spots = b->spots->n;
    for (size_t f = 0; b->green && f < b->n_hz; f++) {
        for (size_t row = 0; row < n_spots * Q; row++)
            memcpy(g->now.block + (f * n_spots * Q + row) * Q, original(b, f, row) + row / Q * Q,
                   Q * sizeof *g->now.block);
        for (size_t s = 0; s < ns; s++)
            memcpy(g->now.station + (f * ns + s) * b->n_ports, original(b, f, b->n_ports + s),
                   b->n_ports * sizeof *g->now.station);
    }
    memcpy(g->now.direct, b->direct,
           b->n_hz * b->n_sources * b->n_receivers * sizeof *g->now.direct);
    g->now.rank = 0;
}

bool ebb_greens_has_room(const ebb_greens *g, size_t updates)
{
    return g->now.rank + updates * Q <= g->room;
}

/* Middle matrix (D^-1 + G)^-1 = (I + D G)^-1 D for D = d I, of size n <= Q: stable when d -> 0. The
 * real part of I + D G is positive for passive surfaces, so no pivoting is needed. */
static void middle(size_t n, double _Complex d, const double _Complex *g, double _Complex *m)
{
    double _Complex a[Q * Q];
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            a[i * n + j] = (i == j) + d * g[i * Q + j];
            m[i * n + j] = i == j ? d : 0;
        }
    for (size_t c = 0; c < n; c++) {
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

/* ---- updates -----------------------------------------------------------------------------------
 */

/* Columns G'_p over all ports into the next rows of the stack: the original ones less all updates,
 * as one product of the stack with what each update weighs the spot by. */
static void new_columns(ebb_greens *g, size_t f, size_t spot, size_t rank)
{
    const ebb_base *b = g->base;
    double _Complex *stack = g->column + f * g->room * b->n_ports;
    double _Complex *out = stack + g->now.rank * b->n_ports, *w = g->work;
    const double _Complex one = 1, minus = -1;
    for (size_t q = 0; q < rank; q++) {
        memcpy(out + q * b->n_ports, original(b, f, spot * Q + q), b->n_ports * sizeof *out);
        for (size_t u = 0; u < g->now.rank; u++) {
            const double _Complex *m = g->weight + (f * g->room + u) * Q;
            size_t start = u - g->first[u];
            w[q * g->now.rank + u] = 0;
            for (size_t j = 0; j < g->width[u]; j++)
                w[q * g->now.rank + u] += m[j] * stack[(start + j) * b->n_ports + spot * Q + q];
        }
    }
    if (g->now.rank > 0)
        cblas_zgemm(CblasRowMajor, CblasNoTrans, CblasNoTrans, (int)rank, (int)b->n_ports,
                    (int)g->now.rank, &minus, w, (int)g->now.rank, stack, (int)b->n_ports, &one,
                    out, (int)b->n_ports);
}

/* Stations: rows with all ports, and with each other. */
static void update_stations(ebb_greens *g, size_t f, size_t spot, size_t rank,
                            const double _Complex *column, const double _Complex *m)
{
    const ebb_base *b = g->base;
    size_t ns = n_stations(b);
    double _Complex *rows = g->now.station + f * ns * b->n_ports, *left = g->work;
    const double _Complex one = 1, minus = -1;
    for (size_t s = 0; s < ns; s++)
        for (size_t i = 0; i < rank; i++) {
            left[s * rank + i] = 0;
            for (size_t j = 0; j < rank; j++)
                left[s * rank + i] += rows[s * b->n_ports + spot * Q + j] * m[j * rank + i];
        }
    for (size_t s = 0; s < b->n_sources; s++)
        for (size_t r = 0; r < b->n_receivers; r++)
            for (size_t i = 0; i < rank; i++)
                g->now.direct[(f * b->n_sources + s) * b->n_receivers + r] -=
                    left[s * rank + i] * rows[(b->n_sources + r) * b->n_ports + spot * Q + i];
    cblas_zgemm(CblasRowMajor, CblasNoTrans, CblasNoTrans, (int)ns, (int)b->n_ports, (int)rank,
                &minus, left, (int)rank, column, (int)b->n_ports, &one, rows, (int)b->n_ports);
}

/* Every spot with itself. */
static void update_blocks(ebb_greens *g, size_t f, size_t rank, const double _Complex *column,
                          const double _Complex *m)
{
    const ebb_base *b = g->base;
    for (size_t p = 0; p < b->spots->n; p++) {
        double _Complex *block = g->now.block + (f * b->spots->n + p) * Q * Q;
        const double _Complex *c = column + p * Q;
        for (size_t i = 0; i < rank; i++)
            for (size_t q = 0; q < Q; q++) {
                double _Complex factor = 0;
                for (size_t j = 0; j < rank; j++)
                    factor += c[j * b->n_ports + q] * m[j * rank + i];
                for (size_t r = 0; r < Q; r++)
                    block[q * Q + r] -= factor * c[i * b->n_ports + r];
            }
    }
}

void ebb_greens_apply(ebb_greens *g, ebb_pick pick, double sign)
{
    const ebb_base *b = g->base;
    size_t rank = b->kind[pick.kind].ports, n_spots = b->spots->n;
    for (size_t f = 0; f < b->n_hz; f++) {
        double _Complex m[Q * Q];
        new_columns(g, f, pick.spot, rank);
        const double _Complex *column = g->column + (f * g->room + g->now.rank) * b->n_ports;
        middle(rank, sign * strength(b, pick, f), g->now.block + (f * n_spots + pick.spot) * Q * Q,
               m);
        for (size_t i = 0; i < rank; i++)
            memcpy(g->weight + (f * g->room + g->now.rank + i) * Q, m + i * rank, rank * sizeof *m);
        update_stations(g, f, pick.spot, rank, column, m);
        update_blocks(g, f, rank, column, m);
    }
    for (size_t i = 0; i < rank; i++) {
        g->first[g->now.rank + i] = (unsigned char)i;
        g->width[g->now.rank + i] = (unsigned char)rank;
    }
    g->now.rank += rank;
}

/* ---- reading
 * ------------------------------------------------------------------------------------- */

/* left = row . m for one station's row at a spot. */
static void half_update(size_t n, const double _Complex *row, const double _Complex *m,
                        double _Complex *left)
{
    for (size_t i = 0; i < n; i++) {
        left[i] = 0;
        for (size_t j = 0; j < n; j++)
            left[i] += row[j] * m[j * n + i];
    }
}

void ebb_greens_responses(const ebb_greens *g, const ebb_pick *pick, double sign,
                          const size_t option[2], double _Complex *h)
{
    const ebb_base *b = g->base;
    const ebb_stations *st = b->stations;
    size_t n_spots = b->spots->n, ns = n_stations(b), n = pick ? b->kind[pick->kind].ports : 0;
    size_t s0 = option[0] * st->n_sources, r0 = option[1] * st->n_receivers;
    double _Complex m[Q * Q] = {0}, left[Q];
    for (size_t f = 0; f < b->n_hz; f++) {
        const double _Complex *at =
            g->now.station + f * ns * b->n_ports + (pick ? pick->spot * Q : 0);
        const double _Complex *direct = g->now.direct + f * b->n_sources * b->n_receivers;
        if (pick)
            middle(n, sign * strength(b, *pick, f),
                   g->now.block + (f * n_spots + pick->spot) * Q * Q, m);
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
