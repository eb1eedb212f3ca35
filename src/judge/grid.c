/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * grid.c - the points at which a room is judged, and the level there.
 *
 * Points are numbered by i in 1000 * 10^(i / 80) Hz: 80 steps a decade are 24 an octave in the
 * base-10 system of IEC 61260-1, eight to a 1/3-octave band. Every eighth point is the middle of a
 * band, and the point four above it is the edge to the next.
 */
#include <math.h>
#include <string.h>

#include "private.h"

#define PER_DECADE 80.0
#define PER_BAND 8 /* points in a 1/3-octave band */
#define REACH 4    /* points in 1/6 octave: half the width of the sliding mean */

static const double pi = 3.14159265358979323846;

static double point_hz(long i)
{
    return 1000.0 * pow(10.0, (double)i / PER_DECADE);
}

/* Number of the point nearest to hz on a log scale. */
static long point_at(double hz)
{
    return lround(PER_DECADE * log10(hz / 1000.0));
}

/* Number of the 1/3-octave band that holds point i; an edge belongs to the band above it. */
static long band_of(long i)
{
    long up = i + REACH;
    return up >= 0 ? up / PER_BAND : -((PER_BAND - 1 - up) / PER_BAND);
}

/* Also false for NAN. */
static bool in_range(double hz)
{
    return hz >= 1.0 && hz <= 1e5; /* keeps the arithmetic on point numbers far from overflow */
}

/* Bands are numbered from the one that holds the first cell, so that each cell has a band to look
 * up and a lowest frequency at the edge of two bands belongs to one only. */
static void fill_bands(ebb_grid *grid, long start)
{
    long lowest = band_of(start + REACH);
    for (size_t b = 0; b < grid->n_bands; b++)
        grid->band_hz[b] = point_hz((lowest + (long)b) * PER_BAND);
    for (size_t k = 0; k < grid->n_hz; k++) {
        long b = band_of(start + (long)k) - lowest;
        grid->band[k] = (signed char)(b >= 0 && b < (long)grid->n_bands ? b : -1);
    }
}

void ebb_grid_make(const ebb_limits *limits, double lowest, ebb_grid *grid)
{
    memset(grid, 0, sizeof *grid);
    if (!in_range(lowest) || !in_range(limits->response_highest) ||
        !in_range(limits->decay_highest))
        return;
    long low = point_at(lowest), high = point_at(limits->response_highest);
    long top = point_at(limits->decay_highest);
    long bands = band_of(top < high ? top : high) - band_of(low) + 1;
    long most = (long)(sizeof grid->hz / sizeof grid->hz[0]);
    long most_bands = (long)(sizeof grid->band_hz / sizeof grid->band_hz[0]);
    if (high < low || high - low + 1 + 2 * REACH > most || bands > most_bands)
        return;
    grid->lowest = lowest;
    grid->highest = limits->response_highest;
    grid->first = REACH;
    grid->n_cells = (size_t)(high - low + 1);
    grid->n_hz = grid->n_cells + 2 * REACH;
    for (size_t k = 0; k < grid->n_hz; k++)
        grid->hz[k] = point_hz(low - REACH + (long)k);
    grid->n_bands = bands > 0 ? (size_t)bands : 0;
    fill_bands(grid, low - REACH);
}

double ebb_smooth_levels(const ebb_grid *grid, double density, const double _Complex *h,
                         double *level)
{
    double power[sizeof grid->hz / sizeof grid->hz[0]];
    for (size_t k = 0; k < grid->n_hz; k++) {
        double scale = 2 * pi * grid->hz[k] * density;
        power[k] = ebb_judge_square(h[k]) / (scale * scale);
    }
    double sum = 0;
    for (size_t c = 0; c < grid->n_cells; c++) {
        /* Trapezoids on log f: the outermost points count half, so that the mean spans exactly one
         * third of an octave. Added up afresh each time: a running sum would leave rounding of the
         * peaks behind in the dips. */
        const double *p = power + grid->first + c;
        double mean = 0.5 * (p[-REACH] + p[REACH]);
        for (int k = 1 - REACH; k < REACH; k++)
            mean += p[k];
        level[c] = 10 * log10(mean / PER_BAND);
        sum += level[c];
    }
    double average = sum / (double)grid->n_cells;
    for (size_t c = 0; c < grid->n_cells; c++)
        level[c] -= average;
    return average;
}
