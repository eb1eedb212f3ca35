/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Ratios of modified Bessel functions of complex argument.
 *
 * With u = s^2 and nu = first/2,
 *
 *   u/(first + u/(first + 2 + ...)) = s I_nu(s)/I_{nu-1}(s)
 *
 * (Gauss' continued fraction). Viscous flow in slits and round holes and diffusion into spheres
 * are all made of it. The fraction is even in s, has no branch cut, keeps a positive real part
 * (so nothing made of it creates energy), and does not cancel as u -> 0, where the closed forms
 * tanh(s)/s and J_1/J_0 do.
 */
#include "chain.h"

/* Beyond |u| = 1000 the asymptotic series is exact to rounding: its terms fall below 1e-16 within
 * 14, and what it leaves out is of the order e^{-2 Re s} < 1e-16 unless u is near the negative
 * axis, where damping rules and no room has a mode. */
#define FAR2 1e6
#define FAR_TERMS 14

/* sqrt(2 pi s) e^{-s} I_nu(s) for large s; ends by itself for half-integer nu. */
static double _Complex far_series(double nu, double _Complex s)
{
    const double _Complex eighth = 0.125 / s;
    double _Complex term = 1, sum = 1;
    for (int k = 1; k <= FAR_TERMS; k++) {
        const double odd = 2 * k - 1;
        term *= (odd * odd - 4 * nu * nu) / k * eighth;
        sum += term;
    }
    return sum;
}

double _Complex ebb_layers_fraction(int first, double _Complex u)
{
    const double size2 = ebb_layers_abs2(u);
    if (size2 > FAR2) {
        const double _Complex s = ebb_layers_root(u);
        return s * far_series(0.5 * first, s) / far_series(0.5 * first - 1, s);
    }
    /* the number of steps that reach rounding grows as the square root of |s| */
    const int steps = 5 + (int)(6.5 * sqrt(sqrt(sqrt(size2))));
    double _Complex value = 0;
    for (int k = steps; k >= 0; k--)
        value = u / (first + 2 * k + value);
    return value;
}
