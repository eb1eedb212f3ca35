/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * decay.c - how fast a 1/3-octave band dies away at a seat, from the damped modes.
 *
 * Each mode leaves energy a e^{-2 delta t}, a = w |R|^2 / (2 delta), where R is its residue for the
 * path and w the power response of the band's filter. The sum is read as a measurement would be
 * read: a straight line through its level from -5 to -25 dB (T20, ISO 3382-2). Cross terms between
 * modes average out over time and are left out.
 */
#include <math.h>

#include "private.h"

#define SAMPLES 41 /* times at which the line is fitted */

/* Middle over bandwidth of a 1/3-octave band, 1 / (10^0.05 - 10^-0.05). */
static const double filter_q = 4.333365570;
/* Where the filter passes less than a hundredth of a mode's energy the mode does not count: further
 * out, the slow end of a ring would be read in bands in which nobody hears it. Ours. */
static const double least_weight = 0.01;
static const double reach = 1.2785; /* f / middle where the weight has fallen to that */

/* Modes that count to a band on one path. */
typedef struct band_sum {
    const ebb_modes *modes;
    size_t begin, end;
    size_t path, n_paths;
    double middle; /* Hz */
} band_sum;

/* Power response of a third-order Butterworth band-pass. */
static double weight(double hz, double middle)
{
    double detune = filter_q * (hz / middle - middle / hz);
    double square = detune * detune;
    return 1 / (1 + square * square * square);
}

static band_sum sum_of(const ebb_modes *modes, size_t path, double middle)
{
    band_sum sum = {modes, 0, 0, path, modes->n_sources * modes->n_receivers, middle};
    while (sum.begin < modes->n && modes->mode[sum.begin].hz < middle / reach)
        sum.begin++;
    sum.end = sum.begin;
    while (sum.end < modes->n && modes->mode[sum.end].hz <= middle * reach)
        sum.end++;
    return sum;
}

/* Energy of mode m at time 0. */
static double amount(const band_sum *sum, size_t m)
{
    double w = weight(sum->modes->mode[m].hz, sum->middle);
    if (w < least_weight)
        return 0;
    double square = ebb_judge_square(sum->modes->residue[m * sum->n_paths + sum->path]);
    double delta = sum->modes->mode[m].delta;
    if (!(square > 0))
        return 0;
    return delta > 0 ? w * square / (2 * delta) : INFINITY;
}

/* Energy at time t; *slope its derivative. */
static double energy_at(const band_sum *sum, double t, double *slope)
{
    double energy = 0;
    *slope = 0;
    for (size_t m = sum->begin; m < sum->end; m++) {
        double rate = 2 * sum->modes->mode[m].delta;
        double part = amount(sum, m) * exp(-rate * t);
        energy += part;
        *slope -= rate * part;
    }
    return energy;
}

/* Time at which the energy has fallen to `share` of `full`, searched from t upwards. The logarithm
 * of a sum of decays is convex, so Newton steps from the left never overshoot: they need no guard,
 * and the count only bounds the work. */
static double time_of(const band_sum *sum, double full, double share, double t)
{
    for (int step = 0; step < 60; step++) {
        double slope, energy = energy_at(sum, t, &slope);
        double excess = log(energy / (full * share));
        if (excess < 1e-9)
            break;
        t -= excess * energy / slope;
    }
    return t;
}

/* Slope of the least-squares line through the level from start to stop, dB/s. Samples lie in the
 * middle of SAMPLES equal steps: sums over them come nearer to the integrals than with both ends.
 */
static double fitted_slope(const band_sum *sum, double start, double stop)
{
    double energy[SAMPLES] = {0};
    double step = (stop - start) / SAMPLES, first = start + step / 2;
    for (size_t m = sum->begin; m < sum->end; m++) {
        double rate = 2 * sum->modes->mode[m].delta;
        double part = amount(sum, m) * exp(-rate * first), fall = exp(-rate * step);
        for (int k = 0; k < SAMPLES; k++, part *= fall)
            energy[k] += part;
    }
    double sum_xy = 0, sum_xx = 0;
    for (int k = 0; k < SAMPLES; k++) {
        double x = k - 0.5 * (SAMPLES - 1);
        sum_xy += x * log(energy[k] / energy[0]);
        sum_xx += x * x;
    }
    return 10 / log(10) * sum_xy / (sum_xx * step);
}

/* Is a mode that is heard in the band without any loss? */
static bool undamped(const band_sum *sum)
{
    for (size_t m = sum->begin; m < sum->end; m++) {
        bool heard = ebb_judge_square(sum->modes->residue[m * sum->n_paths + sum->path]) > 0;
        if (heard && sum->modes->mode[m].delta <= 0)
            return true;
    }
    return false;
}

double ebb_judge_decay(const ebb_modes *modes, size_t path, double band_hz)
{
    band_sum sum = sum_of(modes, path, band_hz);
    if (undamped(&sum))
        return INFINITY;
    double slope, full = energy_at(&sum, 0, &slope);
    if (!(full > 0))
        return NAN;
    double start = time_of(&sum, full, pow(10, -0.5), 0);
    double stop = time_of(&sum, full, pow(10, -2.5), start);
    return -60 / fitted_slope(&sum, start, stop);
}

double ebb_band_decay(const ebb_modes *modes, size_t source, size_t receiver, double band_hz)
{
    return ebb_judge_decay(modes, source * modes->n_receivers + receiver, band_hz);
}

void ebb_judge_carriers(const ebb_modes *modes, size_t path, double band_hz, size_t carrier[2])
{
    carrier[0] = carrier[1] = EBB_JUDGE_NONE;
    band_sum sum = sum_of(modes, path, band_hz);
    double slope, full = energy_at(&sum, 0, &slope), best[2] = {0, 0};
    /* Halfway down the fitted line is where the slow modes set the slope. */
    double t = full > 0 && !undamped(&sum) ? time_of(&sum, full, pow(10, -1.5), 0) : 0;
    for (size_t m = sum.begin; m < sum.end; m++) {
        double part = amount(&sum, m) * exp(-2 * modes->mode[m].delta * t);
        int place = part > best[0] ? 0 : 1;
        if (part <= best[place])
            continue;
        if (place == 0) {
            best[1] = best[0];
            carrier[1] = carrier[0];
        }
        best[place] = part;
        carrier[place] = m;
    }
    /* A second mode is worth naming when it brings a third of what the first brings. */
    if (best[1] < best[0] / 3)
        carrier[1] = EBB_JUDGE_NONE;
}
