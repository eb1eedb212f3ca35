/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The honest band: where the peak is, where half of it is left, where there is any use.
 *
 * "Absorbs down to 30 Hz" is true of everything; these numbers say how much.
 */
#include "private.h"

/* Equal steps of frequency: a mean over a logarithmic axis would weigh the bottom more. Simpson's
 * rule in steps of 1 Hz. */
double ebb_unit_mean(const ebb_assembly *assembly, const ebb_air *air)
{
    const int n = (int)(EBB_DEEP_HIGH - EBB_DEEP_LOW);
    double sum = 0;
    for (int i = 0; i <= n; i++) {
        const double weight = i == 0 || i == n ? 1 : i % 2 == 1 ? 4 : 2;
        sum += weight * ebb_assembly_alpha(assembly, air, EBB_DEEP_LOW + i);
    }
    return sum / (3 * n);
}

/* Golden section between low and high, where there is one peak. */
static double refine(const ebb_assembly *assembly, const ebb_air *air, double low, double high)
{
    const double golden = 0.61803398874989485;
    double a = high - golden * (high - low), b = low + golden * (high - low);
    double at_a = ebb_assembly_alpha(assembly, air, a), at_b = ebb_assembly_alpha(assembly, air, b);
    while (high - low > 1e-4 * high) {
        if (at_a > at_b) {
            high = b;
            b = a;
            at_b = at_a;
            a = high - golden * (high - low);
            at_a = ebb_assembly_alpha(assembly, air, a);
        } else {
            low = a;
            a = b;
            at_a = at_b;
            b = low + golden * (high - low);
            at_b = ebb_assembly_alpha(assembly, air, b);
        }
    }
    return 0.5 * (low + high);
}

/* Steps of a 48th of an octave: no resonance that helps in a room is narrower than a few. */
double ebb_unit_peak(const ebb_assembly *assembly, const ebb_air *air)
{
    const double step = exp2(1.0 / 48), low = EBB_UNIT_LOW, high = EBB_UNIT_HIGH;
    double best = low, most = -1;
    for (double hz = low; hz <= high; hz *= step) {
        const double alpha = ebb_assembly_alpha(assembly, air, hz);
        if (alpha > most) {
            most = alpha;
            best = hz;
        }
    }
    if (best <= low || best * step > high)
        return NAN;
    return refine(assembly, air, best / step, best * step);
}

/* Where the coefficient passes `level` between two frequencies, above it at hz[0]. */
static double crossing(const ebb_study *study, const double hz[2], double level)
{
    double above = hz[0], below = hz[1];
    while (fabs(below - above) > 1e-5 * above) {
        const double middle = 0.5 * (above + below);
        if (ebb_assembly_alpha(&study->unit->assembly, &study->air, middle) < level)
            below = middle;
        else
            above = middle;
    }
    return 0.5 * (above + below);
}

/* Where the curve falls below `level`, going from row `from` in steps of +1 or -1; NAN when it does
 * not within the rows. */
static double falls_below(const ebb_study *study, size_t from, int step, double level)
{
    const ebb_spectrum *s = &study->fine;
    size_t i = from;
    while (s->normal[i] >= level) {
        if ((step < 0 && i == 0) || (step > 0 && i + 1 == s->n))
            return NAN;
        i = step > 0 ? i + 1 : i - 1;
    }
    const double hz[2] = {i == from ? study->band.peak_hz : s->hz[step > 0 ? i - 1 : i + 1],
                          s->hz[i]};
    return crossing(study, hz, level);
}

/* One band, the one around the highest peak: a second hump elsewhere is for the curve to show.
 * Counting it in would make a box look broader than it is where it matters. */
void ebb_unit_band(ebb_study *study)
{
    const ebb_spectrum *s = &study->fine;
    const ebb_assembly *assembly = &study->unit->assembly;
    ebb_band *band = &study->band;
    size_t row = 0;
    for (size_t i = 1; i < s->n; i++)
        if (s->normal[i] > s->normal[row])
            row = i;
    band->inside = row > 0 && row + 1 < s->n;
    band->peak_hz =
        band->inside ? refine(assembly, &study->air, s->hz[row - 1], s->hz[row + 1]) : s->hz[row];
    band->peak = ebb_assembly_alpha(assembly, &study->air, band->peak_hz);
    for (int side = 0; side < 2; side++) {
        const int step = side == 0 ? -1 : 1;
        const bool useful = s->normal[row] >= EBB_USEFUL;
        band->half[side] = falls_below(study, row, step, 0.5 * band->peak);
        band->useful[side] = useful ? falls_below(study, row, step, EBB_USEFUL) : NAN;
    }
    const double _Complex beta =
        ebb_assembly_beta(assembly, &study->air, NULL, EBB_UNIT_TWO_PI * band->peak_hz);
    band->match = creal(1 / beta);
    band->mean = ebb_unit_mean(assembly, &study->air);
}
