/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * field_values.c - from the points of a map to the values that are drawn.
 *
 * Levels are taken last. In a deep dip the level hangs on how near to the bottom a point happens to
 * lie, so that lines between levels would break a valley into a row of holes; the two parts of the
 * pressure go through it smoothly. Both are drawn on a finer grid than they are known on, by cubics
 * through the known points: with straight lines the eye sees corners that no pressure has.
 */
#include "field_cut.h"

#include <math.h>

#define FINER 3         /* parts into which a step of the map is divided */
#define FAINTEST -200.0 /* dB, stands for nothing at all */

/* A value of the grid; NAN beyond its edges. */
static double value_at(const size_t n[2], const double *value, ptrdiff_t i, ptrdiff_t j)
{
    const bool on = i >= 0 && j >= 0 && i < (ptrdiff_t)n[0] && j < (ptrdiff_t)n[1];
    return on ? value[(size_t)j * n[0] + (size_t)i] : NAN;
}

/* Straight on from two neighbours in a row, in as many of the eight directions as there are; where
 * there is only one neighbour, as much as it has. */
static double carried_on(const size_t n[2], const double *value, ptrdiff_t i, ptrdiff_t j)
{
    double straight = 0.0, flat = 0.0;
    int n_straight = 0, n_flat = 0;
    for (int d = 0; d < 9; d++) {
        const ptrdiff_t di = d % 3 - 1, dj = d / 3 - 1;
        const double near = value_at(n, value, i + di, j + dj);
        const double far = value_at(n, value, i + 2 * di, j + 2 * dj);
        if (isfinite(near)) {
            flat += near;
            n_flat++;
        }
        if (isfinite(near) && isfinite(far)) {
            straight += 2.0 * near - far;
            n_straight++;
        }
    }
    return n_straight > 0 ? straight / n_straight : n_flat > 0 ? flat / n_flat : NAN;
}

/* The same values, and beyond them as far as two steps reach. */
static double *grow(ebb_arena *arena, const size_t n[2], const double *value)
{
    double *from = NULL;
    for (int pass = 0; pass < 2; pass++) {
        double *next = EBB_NEW(arena, double, n[0] * n[1]);
        for (size_t k = 0; next && k < n[0] * n[1]; k++) {
            const ptrdiff_t i = (ptrdiff_t)(k % n[0]), j = (ptrdiff_t)(k / n[0]);
            next[k] = isfinite(value[k]) ? value[k] : carried_on(n, value, i, j);
        }
        value = from = next;
        if (!next) {
            return NULL;
        }
    }
    return from;
}

/* Through b and c at u from 0 to 1, with the slopes that their neighbours give (Catmull & Rom
 * 1974, from memory). */
static double cubic(const double p[4], double u)
{
    const double a = p[0], b = p[1], c = p[2], d = p[3];
    return b +
           0.5 * u * (c - a + u * (2.0 * a - 5.0 * b + 4.0 * c - d + u * (3.0 * (b - c) + d - a)));
}

/* Value k of a row, which goes on beyond its ends as a parabola through the nearest three. */
static double value_of(const double *row, size_t n, size_t stride, ptrdiff_t k)
{
    const ptrdiff_t last = (ptrdiff_t)n - 1, step = (ptrdiff_t)stride;
    const ptrdiff_t end = k < 0 ? 0 : last * step, in = k < 0 ? step : -step;
    if (k >= 0 && k <= last) {
        return row[k * step];
    }
    return n > 2 ? 3.0 * (row[end] - row[end + in]) + row[end + 2 * in]
                 : 2.0 * row[end] - row[end + in];
}

/* Between values i and i + 1 of a row. Next to the end of what is known a straight line must do. */
static double between(const double *row, size_t n, size_t stride, size_t i, double u)
{
    double p[4];
    for (int k = 0; k < 4; k++) {
        p[k] = value_of(row, n, stride, (ptrdiff_t)i + k - 1);
    }
    const double smooth = cubic(p, u);
    return isfinite(smooth) ? smooth : u > 0.0 ? p[1] + u * (p[2] - p[1]) : p[1];
}

/* The grid made finer along one of its directions; n is changed accordingly. */
static double *refine(ebb_arena *arena, size_t n[2], const double *value, int d)
{
    if (!value) {
        return NULL;
    }
    const size_t fine = FINER * (n[d] - 1) + 1, rows = n[1 - d];
    const size_t from[2] = {d == 0 ? 1 : n[0], d == 0 ? n[0] : 1}; /* strides: along, to the next */
    const size_t to[2] = {d == 0 ? 1 : n[0], d == 0 ? fine : 1};
    double *out = EBB_NEW(arena, double, fine *rows);
    for (size_t r = 0; out && r < rows; r++) {
        for (size_t k = 0; k < fine; k++) {
            const size_t i = k / FINER < n[d] - 1 ? k / FINER : n[d] - 2;
            const double u = (double)(k - i * FINER) / FINER;
            out[r * to[1] + k * to[0]] = between(value + r * from[1], n[d], from[0], i, u);
        }
    }
    n[d] = fine;
    return out;
}

static double *grown_and_fine(ebb_arena *arena, const ebb_field_map *map, const double *value,
                              size_t n[2])
{
    n[0] = map->n[0];
    n[1] = map->n[1];
    const double *grown = grow(arena, n, value);
    const double *across = refine(arena, n, grown, 0);
    return refine(arena, n, across, 1);
}

/* A value that is not a number stays one. */
static double level_of(const ebb_field_map *map, double re, double im)
{
    const double p = hypot(re, im);
    const double level = p == 0.0 ? FAINTEST : 20.0 * log10(p / map->loudest);
    return level > 0.0 ? 0.0 : level;
}

double *ebb_draw_field_values(ebb_arena *arena, const ebb_field_map *map, size_t n[2])
{
    double *re = grown_and_fine(arena, map, map->value, n);
    if (!map->imaginary || !re) {
        return re;
    }
    const double *im = grown_and_fine(arena, map, map->imaginary, n);
    for (size_t k = 0; im && k < n[0] * n[1]; k++) {
        re[k] = level_of(map, re[k], im[k]);
    }
    return im ? re : NULL;
}
