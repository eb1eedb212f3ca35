/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The depth limit of passive absorbers. With R the reflection factor of a sealed absorber of static
 * compliance C, R -> 1 - 2 j w rho c C as w -> 0; ln R/w^2 has no pole in the half plane where a
 * passive R is analytic but zeros of R, each of which only takes from the integral. Its contour
 * integral is the limit.
 */
#include <ebb/bounds.h>

#include <math.h>

#define PI 3.14159265358979323846

double ebb_depth_limit(double compliance, const ebb_air *air)
{
    return 4 * PI * PI * air->density * air->speed * air->speed * compliance;
}

/* -ln(1 - alpha). Full absorption at single frequencies has an integrable singularity, which the
 * trapezoidal rule would take for infinity. */
static double spent(double alpha)
{
    return -log1p(-fmin(alpha, 1 - 1e-9));
}

double ebb_depth_used(const ebb_air *air, size_t n, const double *hz, const double *alpha)
{
    double sum = 0;
    for (size_t i = 1; i < n; i++) {
        const double shorter = air->speed / hz[i - 1] - air->speed / hz[i];
        sum += 0.5 * shorter * (spent(alpha[i - 1]) + spent(alpha[i]));
    }
    return sum;
}

double ebb_depth_needed(const ebb_air *air, size_t n, const double *hz, const double *alpha,
                        double ratio)
{
    /* the compliance of depth d is d ratio/(rho c^2) */
    return ebb_depth_used(air, n, hz, alpha) / (4 * PI * PI * ratio);
}
