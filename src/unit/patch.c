/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One rectangle in a rigid wall under sound from all sides (Thomasson 1980, ebb/bounds.h), made
 * ready for trying many admittances: what depends on the rectangle alone is computed once.
 */
#include "private.h"

enum { ANGLES = 12, AZIMUTHS = 6 };

/* Nodes and weights of Gauss-Legendre quadrature on 0..1, by Newton's method on the polynomial. */
static void gauss(int n, double *node, double *weight)
{
    for (int i = 0; i < n; i++) {
        double x = cos(EBB_UNIT_TWO_PI / 2 * (i + 0.75) / (n + 0.5)), slope = 1;
        for (int step = 0; step < 30; step++) {
            double p = 1, before = 0;
            for (int k = 1; k <= n; k++) {
                const double next = ((2 * k - 1) * x * p - (k - 1) * before) / k;
                before = p;
                p = next;
            }
            slope = n * (x * p - before) / (x * x - 1);
            x -= p / slope;
        }
        node[i] = 0.5 * (1 - x);
        weight[i] = 1 / ((1 - x * x) * slope * slope);
    }
}

/* alpha = 4/pi int int Re z sin(angle)/|z + zF|^2 over the half space; four quadrants are alike. */
void ebb_unit_patch_make(const double side[2], const ebb_air *air, double hz, ebb_unit_patch *patch)
{
    double angle[ANGLES], wa[ANGLES], azimuth[AZIMUTHS], wz[AZIMUTHS];
    const double quarter = EBB_UNIT_TWO_PI / 4;
    gauss(ANGLES, angle, wa);
    gauss(AZIMUTHS, azimuth, wz);
    for (int i = 0; i < ANGLES; i++) {
        for (int k = 0; k < AZIMUTHS; k++) {
            const int node = i * AZIMUTHS + k;
            const double theta = quarter * angle[i];
            patch->z[node] = ebb_radiation(side, air, hz, theta, quarter * azimuth[k]);
            patch->weight[node] =
                4 * (4 / (EBB_UNIT_TWO_PI / 2)) * quarter * wa[i] * quarter * wz[k] * sin(theta);
        }
    }
}

/* At low frequency the reactance rises with frequency and the resistance with its square, so that
 * their ratio to it is nearly straight. */
void ebb_unit_patch_between(const ebb_unit_patch pair[2], const double hz[2], double at,
                            ebb_unit_patch *patch)
{
    const double part = log(at / hz[0]) / log(hz[1] / hz[0]);
    for (int i = 0; i < EBB_UNIT_PATCH_NODES; i++) {
        patch->z[i] = at * ((1 - part) * pair[0].z[i] / hz[0] + part * pair[1].z[i] / hz[1]);
        patch->weight[i] = pair[0].weight[i];
    }
}

/* With beta in place of z a hard wall is 0 and needs no care. */
double ebb_unit_patch_alpha(const ebb_unit_patch *patch, double _Complex beta)
{
    double sum = 0;
    for (int i = 0; i < EBB_UNIT_PATCH_NODES; i++) {
        const double _Complex one = 1 + beta * patch->z[i];
        sum += patch->weight[i] / (creal(one) * creal(one) + cimag(one) * cimag(one));
    }
    return creal(beta) * sum;
}

/* The best impedance is near the conjugate of the mean radiation impedance; from there downhill in
 * steps that shrink. */
double ebb_unit_patch_most(const ebb_unit_patch *patch)
{
    double _Complex mean = 0;
    double total = 0;
    for (int i = 0; i < EBB_UNIT_PATCH_NODES; i++) {
        mean += patch->weight[i] * patch->z[i];
        total += patch->weight[i];
    }
    mean /= total;
    double r = creal(mean), x = -cimag(mean), step = 0.5;
    double best = ebb_unit_patch_alpha(patch, 1 / (r + I * x));
    while (step > 1e-4) {
        const double size = hypot(r, x);
        const double trial[4][2] = {
            {r * (1 + step), x}, {r / (1 + step), x}, {r, x + step * size}, {r, x - step * size}};
        int better = -1;
        for (int t = 0; t < 4; t++) {
            const double alpha = ebb_unit_patch_alpha(patch, 1 / (trial[t][0] + I * trial[t][1]));
            if (alpha > best) {
                best = alpha;
                better = t;
            }
        }
        if (better < 0)
            step /= 2;
        else {
            r = trial[better][0];
            x = trial[better][1];
        }
    }
    return best;
}
