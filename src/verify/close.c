/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Closes what can not be solved, or would be solved at great cost for nothing: slits between units,
 * boxes that touch in a line or a point, air that is shut off. Cells are only ever filled, so that
 * closing comes to an end.
 */
#include "private.h"

#define NARROW 0.030 /* m; at 200 Hz a gap of that width is 1/57 of a wavelength */

typedef struct closing {
    ebb_cells *c;
    size_t *queue; /* [cells] */
    size_t *part;  /* [cells] */
    bool changed;
} closing;

static bool solid_at(const ebb_cells *c, const size_t i[3])
{
    return c->kind[ebb_cell(c, i)] != EBB_CELL_AIR;
}

static double volume_at(const ebb_cells *c, const size_t i[3])
{
    double volume = 1;
    for (int d = 0; d < 3; d++)
        volume *= c->at[d][i[d] + 1] - c->at[d][i[d]];
    return volume;
}

static void fill(closing *w, const size_t i[3])
{
    w->c->kind[ebb_cell(w->c, i)] = EBB_CELL_CLOSED;
    w->changed = true;
}

/* The next place of a count in three digits, of which digit `but` stays; false at the end. */
static bool next(size_t i[3], const size_t n[3], int but)
{
    for (int d = 0; d < 3; d++) {
        if (d == but)
            continue;
        if (++i[d] < n[d])
            return true;
        i[d] = 0;
    }
    return false;
}

/* ---- narrow gaps ----------------------------------------------------------------------------- */

/* Air along one line between two solids, or a solid and a wall. */
static void close_line(closing *w, size_t i[3], int axis)
{
    const ebb_cells *c = w->c;
    for (size_t from = 0, until; from < c->n[axis]; from = until + 1) {
        for (until = from; until < c->n[axis]; until++) {
            i[axis] = until;
            if (solid_at(c, i))
                break;
        }
        if (until == from || c->at[axis][until] - c->at[axis][from] >= NARROW)
            continue;
        for (i[axis] = from; i[axis] < until; i[axis]++)
            fill(w, i);
    }
}

static void close_gaps(closing *w)
{
    for (int axis = 0; axis < 3; axis++) {
        size_t i[3] = {0, 0, 0};
        do {
            close_line(w, i, axis);
            i[axis] = 0;
        } while (next(i, w->c->n, axis));
    }
}

/* ---- lines and points ------------------------------------------------------------------------ */

/* Is more than one part of these cells solid, or more than one air? Bit b of a number tells on
 * which side of the middle the cell lies along axis b. */
static bool falls_apart(const bool solid[8], unsigned among)
{
    for (int kind = 0; kind < 2; kind++) {
        unsigned all = 0, met;
        for (unsigned b = 0; b < 8; b++)
            if ((among >> b & 1U) && solid[b] == (kind == 1))
                all |= 1U << b;
        met = all & (~all + 1U);
        for (int round = 0; round < 8; round++)
            for (unsigned b = 0; b < 8; b++)
                for (unsigned d = 1; (met >> b & 1U) && d < 8; d <<= 1)
                    met |= all & 1U << (b ^ d);
        if (met != all)
            return true;
    }
    return false;
}

/* The eight cells about a corner of the grid: fills the smallest of air when those in `among` touch
 * in a line or a point alone. */
static void mend(closing *w, const size_t corner[3], unsigned among)
{
    bool solid[8] = {false};
    size_t smallest[3] = {0, 0, 0};
    double least = -1;
    for (unsigned b = 0; b < 8; b++) {
        if (!(among >> b & 1U))
            continue;
        const size_t i[3] = {corner[0] - 1 + (b & 1U), corner[1] - 1 + (b >> 1 & 1U),
                             corner[2] - 1 + (b >> 2 & 1U)};
        solid[b] = solid_at(w->c, i);
        const double volume = volume_at(w->c, i);
        if (solid[b] || (least >= 0 && volume >= least))
            continue;
        least = volume;
        for (int d = 0; d < 3; d++)
            smallest[d] = i[d];
    }
    if (falls_apart(solid, among))
        fill(w, smallest);
}

/* Cells on the upper side of a corner along each axis; their complements lie on the lower one. */
static const unsigned upper[3] = {0xAAU, 0xCCU, 0xF0U};

/* Lines of the grid that run along an axis within the room, piece by piece, then its corners. What
 * lies beyond a wall is solid all over and holds together what touches it. */
static void mend_all(closing *w)
{
    const size_t *n = w->c->n;
    size_t i[3] = {0, 0, 0};
    do {
        for (int axis = 0; axis < 3; axis++) {
            const int a = (axis + 1) % 3, b = (axis + 2) % 3;
            if (i[a] == 0 || i[b] == 0)
                continue;
            size_t corner[3] = {i[0], i[1], i[2]};
            corner[axis]++; /* the cells below the corner are those beside the piece */
            mend(w, corner, ~upper[axis] & 0xFFU);
        }
        if (i[0] > 0 && i[1] > 0 && i[2] > 0)
            mend(w, i, 0xFFU);
    } while (next(i, n, -1));
}

/* ---- parts ----------------------------------------------------------------------------------- */

/* All cells of one kind that hang together with cell `first`, marked `mark`; their volume. */
static double flood(closing *w, size_t first, size_t mark)
{
    const ebb_cells *c = w->c;
    const size_t step[3] = {c->n[1] * c->n[2], c->n[2], 1};
    size_t n = 0;
    double volume = 0;
    w->part[first] = mark;
    w->queue[n++] = first;
    while (n > 0) {
        const size_t cell = w->queue[--n];
        const size_t i[3] = {cell / step[0], cell / step[1] % c->n[1], cell % c->n[2]};
        volume += volume_at(c, i);
        for (int side = 0; side < 6; side++) {
            const int d = side / 2;
            if (side % 2 ? i[d] + 1 == c->n[d] : i[d] == 0)
                continue;
            const size_t beside = side % 2 ? cell + step[d] : cell - step[d];
            if (w->part[beside] != 0 || c->kind[beside] != c->kind[cell])
                continue;
            w->part[beside] = mark;
            w->queue[n++] = beside;
        }
    }
    return volume;
}

/* Parts of one kind; the number of the largest in *largest and the volume of all in *volume. */
static size_t count_parts(closing *w, int kind, size_t *largest, double *volume)
{
    const size_t n = w->c->n[0] * w->c->n[1] * w->c->n[2];
    size_t parts = 0;
    double most = 0;
    *volume = 0;
    *largest = 0;
    for (size_t i = 0; i < n; i++)
        w->part[i] = 0;
    for (size_t i = 0; i < n; i++) {
        if (w->c->kind[i] != kind || w->part[i] != 0)
            continue;
        const double v = flood(w, i, ++parts);
        *volume += v;
        if (v > most) {
            most = v;
            *largest = parts;
        }
    }
    return parts;
}

/* Nobody sits in what has no way to the largest part of the air. */
static void close_pockets(closing *w)
{
    size_t largest;
    double volume;
    if (count_parts(w, EBB_CELL_AIR, &largest, &volume) < 2)
        return;
    const size_t n = w->c->n[0] * w->c->n[1] * w->c->n[2];
    for (size_t i = 0; i < n; i++)
        if (w->c->kind[i] == EBB_CELL_AIR && w->part[i] != largest) {
            w->c->kind[i] = EBB_CELL_CLOSED;
            w->changed = true;
        }
}

ebb_status ebb_cells_close(ebb_ctx *ctx, ebb_arena *arena, ebb_cells *cells, size_t *n,
                           double *volume)
{
    const size_t all = cells->n[0] * cells->n[1] * cells->n[2];
    closing w = {cells, EBB_NEW(arena, size_t, all), EBB_NEW(arena, size_t, all), true};
    size_t largest;
    if (w.queue == NULL || w.part == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory to close gaps between units");
    while (w.changed) {
        w.changed = false;
        close_gaps(&w);
        mend_all(&w);
        close_pockets(&w);
    }
    if (count_parts(&w, EBB_CELL_AIR, &largest, volume) == 0)
        return ebb_fail(ctx, EBB_E_RANGE, "the units leave no air in the room");
    *n = count_parts(&w, EBB_CELL_CLOSED, &largest, volume);
    return EBB_OK;
}
