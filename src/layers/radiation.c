/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Finite size: the radiation impedance of a baffled rectangle and what it does to absorption
 * (Thomasson 1980, Acustica 44).
 *
 * The double integral over the rectangle is taken in polar coordinates around the corner, where the
 * 1/R goes away and the integral along the radius is elementary. The angle is replaced so that the
 * outer integrand stays smooth for any ratio of the sides.
 */
#include "chain.h"

#include <ebb/bounds.h>

#define PI 3.14159265358979323846

/* Integrals of t^n e^{-jxt} over 0..1, n = 0, 1, 2. By parts; by series where that cancels. */
static void moments(double x, double _Complex moment[3])
{
    if (fabs(x) < 1) {
        double _Complex power = 1;
        moment[0] = moment[1] = moment[2] = 0;
        for (int k = 0; k < 18; k++) {
            for (int n = 0; n < 3; n++)
                moment[n] += power / (k + n + 1);
            power *= ebb_layers_complex(0, -x / (k + 1));
        }
        return;
    }
    const double _Complex end = ebb_layers_complex(cos(x), -sin(x));
    const double _Complex per = ebb_layers_complex(0, -1 / x);
    moment[0] = (1 - end) * per;
    moment[1] = (moment[0] - end) * per;
    moment[2] = (2 * moment[1] - end) * per;
}

/* One wave over one rectangle. */
typedef struct wave {
    double side[2];  /* m */
    double k;        /* 1/m */
    double trace[2]; /* wave number along each side, 1/m */
} wave;

/* Along a radius in direction (c, s) of length reach: the integral of (a - r c)(b - r s)
 * cos(kx r c) cos(ky r s) e^{-jkr}; the cosines make it four waves. */
static double _Complex along_radius(const wave *w, double c, double s, double reach)
{
    const double a = w->side[0], b = w->side[1];
    const double x = w->trace[0] * c, y = w->trace[1] * s;
    const double number[4] = {w->k + x + y, w->k - x - y, w->k + x - y, w->k - x + y};
    /* across the surface the four are the same */
    const int n = x == 0 && y == 0 ? 1 : 4;
    double _Complex sum = 0;
    for (int i = 0; i < n; i++) {
        double _Complex m[3];
        moments(number[i] * reach, m);
        sum += reach * (a * b * m[0] + reach * (-(a * s + b * c) * m[1] + reach * c * s * m[2]));
    }
    return sum / n;
}

/* Over all radii that end on one side of the rectangle, at distance `depth` from the corner and
 * `length` long; first: that side is side 0. With sinh u = position/depth the direction is
 * (tanh u, 1/cosh u) and the radius depth cosh u. */
static double _Complex over_side(const wave *w, bool first)
{
    const double length = w->side[first ? 0 : 1], depth = w->side[first ? 1 : 0];
    const double last = asinh(length / depth);
    /* at most ten radians of the fastest wave, and a length of 3, to 16 points */
    const double phase = 2 * w->k * (hypot(length, depth) - depth);
    const int pieces = 1 + (int)(phase / 10 + last / 3);
    double _Complex sum = 0;
    for (int piece = 0; piece < pieces; piece++)
        for (size_t i = 0; i < 2 * ebb_layers_gauss16.n; i++) {
            double weight;
            const double u = ebb_layers_gauss_point(&ebb_layers_gauss16, i, last * piece / pieces,
                                                    last * (piece + 1) / pieces, &weight);
            const double height = cosh(u), along = tanh(u), away = 1 / height;
            const double c = first ? along : away, s = first ? away : along;
            sum += weight / height * along_radius(w, c, s, depth * height);
        }
    return sum;
}

double _Complex ebb_radiation(const double side[2], const ebb_air *air, double hz, double angle,
                              double azimuth)
{
    const double k = 2 * PI * hz / air->speed, along = k * sin(angle);
    const wave w = {{side[0], side[1]}, k, {along * cos(azimuth), along * sin(azimuth)}};
    const double _Complex sum = over_side(&w, true) + over_side(&w, false);
    return ebb_layers_turn(2 * k / (PI * side[0] * side[1]) * sum);
}

double ebb_radiation_mass(const double side[2], const ebb_air *air, double hz)
{
    return air->density * air->speed * cimag(ebb_radiation(side, air, hz, 0, 0)) / (2 * PI * hz);
}

/* The integrand is periodic in the azimuth, so that equal steps do; a quarter is enough, for the
 * rectangle is symmetric. */
static double over_azimuth(double _Complex beta, const double side[2], const ebb_air *air,
                           double hz, double angle)
{
    const double ka = 2 * PI * hz / air->speed * fmax(side[0], side[1]);
    const int n = 8 + (int)(ka * sin(angle));
    double sum = 0;
    for (int i = 0; i < n; i++) {
        const double azimuth = 0.5 * PI * (i + 0.5) / n;
        sum += 1 / ebb_layers_abs2(1 + beta * ebb_radiation(side, air, hz, angle, azimuth));
    }
    return 2 * PI * sum / n;
}

double ebb_alpha_patch(double _Complex beta, const double side[2], const ebb_air *air, double hz)
{
    const double ka = 2 * PI * hz / air->speed * fmax(side[0], side[1]);
    const int pieces = 1 + (int)(ka / 20);
    double sum = 0;
    for (int piece = 0; piece < pieces; piece++)
        for (size_t i = 0; i < 2 * ebb_layers_gauss16.n; i++) {
            double weight;
            const double angle =
                ebb_layers_gauss_point(&ebb_layers_gauss16, i, 0.5 * PI * piece / pieces,
                                       0.5 * PI * (piece + 1) / pieces, &weight);
            sum += weight * sin(angle) * over_azimuth(beta, side, air, hz, angle);
        }
    return 4 * creal(beta) / PI * sum;
}
