/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Speech transmission index from decay times: modulation transfer of an exponential decay after
 * Houtgast and Steeneken, weighting of IEC 60268-16 for a male talker (from memory), without
 * masking and reception threshold. Modulation frequencies are the nominal ones of the standard.
 */
#include <ebb/mid.h>

#include <math.h>

#define BANDS 7   /* 125..8000 Hz */
#define SPEEDS 14 /* modulation frequencies */

/* Energy falls as e^{-6 ln 10 t/T}; the standard prints 13.8. */
#define SIX_LN_10 13.8155105579642741

/* Speech modulation left at frequency hz. */
static double modulation(double hz, double t60, double noise)
{
    const double x = 2 * 3.14159265358979323846 * hz * t60 / SIX_LN_10;
    return 1 / (sqrt(1 + x * x) * (1 + noise));
}

/* Mean over the modulation frequencies of the apparent signal-to-noise ratio, mapped to 0..1. */
static double transfer_index(double t60, double noise)
{
    static const double hz[SPEEDS] = {0.63, 0.8, 1, 1.25, 1.6, 2,  2.5,
                                      3.15, 4,   5, 6.3,  8,   10, 12.5};
    double sum = 0;
    for (int i = 0; i < SPEEDS; i++) {
        const double m = modulation(hz[i], t60, noise);
        const double apparent = 10 * log10(m / (1 - m)); /* infinite for m = 1 */
        sum += (fmax(-15, fmin(15, apparent)) + 15) / 30;
    }
    return sum / SPEEDS;
}

double ebb_speech_index(const double t60[EBB_OCTAVES], double snr_db)
{
    static const double weight[BANDS] = {0.085, 0.127, 0.230, 0.233, 0.309, 0.224, 0.173};
    static const double overlap[BANDS - 1] = {0.085, 0.078, 0.065, 0.011, 0.047, 0.095};
    const double noise = pow(10, -snr_db / 10);
    double index = 0, before = 0;
    for (int i = 0; i < BANDS; i++) {
        const double mti = transfer_index(t60[i < EBB_OCTAVES ? i : EBB_OCTAVES - 1], noise);
        index += weight[i] * mti;
        if (i > 0)
            index -= overlap[i - 1] * sqrt(before * mti);
        before = mti;
    }
    return fmax(0, fmin(1, index));
}
