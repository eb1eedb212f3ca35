/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * limit.c - limits that depend on frequency and volume: modal decay and mid-band reverberation.
 *
 * Sources (docs/judging.md says which were read and which are from memory):
 *  - audibility of modal decay with music: Fazenda, Stephenson & Goldberg, JASA 137(3), 2015;
 *  - reference listening rooms: ITU-R BS.1116-3 and EBU Tech 3276;
 *  - rooms for speech: DIN 18041.
 * Straight lines on log f between the published points, and values held beyond them, are ours.
 */
#include <math.h>

#include "private.h"

static const double decay_floor = 0.1; /* s; ours: the speech formula turns negative below 2.4 m3 */

/* Value at hz of the straight line on log f through (f0, y0) and (f1, y1). */
static double on_log(double hz, double f0, double y0, double f1, double y1)
{
    return y0 + (y1 - y0) * log(hz / f0) / log(f1 / f0);
}

/* A corner line on log f, held at its ends. */
static double through(double hz, const double f[3], const double y[3])
{
    if (hz <= f[0])
        return y[0];
    if (hz >= f[2])
        return y[2];
    int i = hz < f[1] ? 0 : 1;
    return on_log(hz, f[i], y[i], f[i + 1], y[i + 1]);
}

/* Decay that music makes just audible, s; log-log between the corners. */
static double audible_decay(const ebb_limits *limits, double hz)
{
    static const double corner[3] = {32, 63, 250};
    double decay[3] = {log(limits->decay_music_32), log(limits->decay_music_63),
                       log(limits->decay_music_250)};
    return exp(through(hz, corner, decay));
}

/* How far the reverberation of a listening room may exceed its target at hz, s. */
static double listening_excess(double hz)
{
    if (hz <= 63)
        return 0.30;
    return hz >= 200 ? 0.05 : on_log(hz, 63, 0.30, 200, 0.05);
}

double ebb_mid_target(ebb_use use, double volume)
{
    if (!(volume > 0))
        return NAN;
    if (use == EBB_USE_MUSIC)
        return 0.25 * cbrt(volume / 100);
    return fmax(0.37 * log10(volume) - 0.14, decay_floor);
}

double ebb_decay_limit(const ebb_limits *limits, ebb_use use, double volume, double hz)
{
    double target = ebb_mid_target(use, volume);
    if (isnan(target) || !(hz > 0))
        return NAN;
    if (use == EBB_USE_VOICE) {
        static const double octave[3] = {63, 125, 250};
        static const double factor[3] = {1.7, 1.45, 1.2};
        return target * through(hz, octave, factor);
    }
    /* The larger of the two: a room that the mask allows is not called wrong by a threshold that
     * was found with other music, and the other way round. */
    return fmax(audible_decay(limits, hz), target + listening_excess(hz));
}

void ebb_mid_mask(const ebb_limits *limits, ebb_use use, double volume, int octave, double mask[2])
{
    mask[0] = mask[1] = NAN;
    double target = ebb_mid_target(use, volume);
    if (isnan(target) || octave < 0 || octave >= EBB_OCTAVES)
        return;
    if (use == EBB_USE_MUSIC) {
        mask[0] = fmax(target - 0.05, 0);
        mask[1] = target + listening_excess(ebb_judge_octave_hz(octave));
        return;
    }
    /* The edges of the band are wider than its middle, never narrower, whatever the job sets. */
    bool edge = octave == 0 || octave == EBB_OCTAVES - 1;
    double lower = edge ? fmin(0.65, limits->mid_lower) : limits->mid_lower;
    double upper = octave == 0 ? fmax(1.45, limits->mid_upper) : limits->mid_upper;
    mask[0] = target * lower;
    mask[1] = target * upper;
}
