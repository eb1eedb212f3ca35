/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Impedance tables: local polynomial through up to four points, read at complex frequency.
 */
#include "chain.h"

/* First of the points used around hz: the interval that holds hz in the middle where possible. */
static size_t window(const double *table_hz, size_t n, size_t points, double hz)
{
    size_t low = 0, high = n - 1; /* table_hz[low] <= hz < table_hz[high] */
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (table_hz[middle] <= hz)
            low = middle;
        else
            high = middle;
    }
    const size_t before = points / 2 - 1;
    const size_t first = low > before ? low - before : 0;
    return first + points > n ? n - points : first;
}

/* Lagrange's polynomial through n points. */
static double _Complex lagrange(const double *x, const double _Complex *y, size_t n,
                                double _Complex at)
{
    double _Complex sum = 0;
    for (size_t i = 0; i < n; i++) {
        double _Complex term = y[i];
        for (size_t k = 0; k < n; k++)
            if (k != i)
                term *= (at - x[k]) / (x[i] - x[k]);
        sum += term;
    }
    return sum;
}

double _Complex ebb_layers_table(const ebb_assembly *assembly, double _Complex hz)
{
    const size_t n = assembly->n_table;
    const double *x = assembly->table_hz;
    const double _Complex *z = assembly->table_z;
    if (creal(hz) <= x[0])
        return z[0];
    if (creal(hz) >= x[n - 1])
        return z[n - 1];

    const size_t points = n < 4 ? n : 4;
    size_t first = window(x, n, points, creal(hz));
    const double _Complex real_axis = lagrange(x + first, z + first, points, creal(hz));
    if (creal(real_axis) >= 0) {
        if (cimag(hz) == 0)
            return real_axis;
        return lagrange(x + first, z + first, points, hz);
    }
    /* Between coarse points a cubic can swing below zero resistance; a straight line can not. */
    first = window(x, n, 2, creal(hz));
    return lagrange(x + first, z + first, 2, hz);
}
