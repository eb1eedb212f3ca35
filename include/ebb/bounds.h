/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/bounds.h - what finite size and passivity allow.
 */
#ifndef EBB_BOUNDS_H
#define EBB_BOUNDS_H

#include <ebb/air.h>

#ifndef __cplusplus
#include <complex.h>

/*
 * Normalised radiation impedance z_F = Z/(rho c) of a baffled rectangle side[0] x side[1] m under a
 * wave at `angle` from the normal whose plane has `azimuth` from the first side (radians); it takes
 * the place of 1/cos(angle). Thomasson 1980, Acustica 44: z_F = (j k/2 pi S) int int
 * cos(k mu_x (x - x')) cos(...) e^{-jkR}/R, reduced to 4 int int (a-x)(b-y)... in polar
 * coordinates, where the 1/R goes away. Relative accuracy 1e-6 for k times the longer side up
 * to 60.
 */
EBB_API double _Complex ebb_radiation(const double side[2], const ebb_air *air, double hz,
                                      double angle, double azimuth);

/* Mass of the air that moves with a baffled rectangular piston at hz > 0, kg/m2: rho Im(z_F)/k at
 * normal incidence. A free-standing box is not baffled: for it this is an upper value. */
EBB_API double ebb_radiation_mass(const double side[2], const ebb_air *air, double hz);

/*
 * Random-incidence absorption of a rectangle of admittance beta in a rigid plane, as a coefficient
 * (may exceed 1): (4 Re z/pi) int int sin(angle)/|z + z_F|^2 over angle 0..pi/2 and azimuth 0..2
 * pi, with z = 1/beta; times the area it is what a reverberation room would measure. Thomasson
 * 1980. In the limit of large size it is ebb_alpha_diffuse. 0 for a rigid surface.
 */
EBB_API double ebb_alpha_patch(double _Complex beta, const double side[2], const ebb_air *air,
                               double hz);

/*
 * The depth limit of passive absorbers: for any linear, passive, time-invariant, sealed absorber on
 * a rigid back at normal incidence,
 *
 *   int_0^inf -ln(1 - alpha) d lambda <= 4 pi^2 rho c^2 C,  C the static compliance, m/Pa
 *
 * (contour integral of ln R/w^2; the form with a static modulus ratio: Yang, Chen, Fu and Sheng
 * 2017, Mater. Horiz. 4, 673-680, and Norris 2018, arXiv 1806.02884). Returns the right-hand side,
 * m. Constant loss factors are not causal and can exceed it by some per cent.
 */
EBB_API double ebb_depth_limit(double compliance, const ebb_air *air);

/* The left-hand side for absorption alpha[n] at rising hz[n], trapezoidal over wavelength between
 * the first and the last frequency, m; alpha within [0, 1), values of 1 and more count as
 * 1 - 1e-9; 0 for fewer than two points. */
EBB_API double ebb_depth_used(const ebb_air *air, size_t n, const double *hz, const double *alpha);

/* Least depth, m, that absorption alpha[] over hz[] needs of a filling that gives way `ratio` times
 * as much as air without heat exchange: 1 for air, gamma (1.4) for wool, more for grains that take
 * up gas. */
EBB_API double ebb_depth_needed(const ebb_air *air, size_t n, const double *hz, const double *alpha,
                                double ratio);

#endif /* !__cplusplus */
#endif
