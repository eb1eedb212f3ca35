/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Porous layers as effective fluids, at complex angular frequency.
 *
 * Johnson, Koplik and Dashen 1987 (density) with Champoux and Allard 1991 (bulk modulus), rigid
 * frame; the limp frame after Panneton 2007; Miki 1990. Forms of the first three from memory of the
 * standard texts. Known weakness of the first: its density keeps a small error towards zero
 * frequency, where the resistance, which it has right, rules.
 */
#include "chain.h"

/* Miki's variable is X = 1000 f/sigma in SI. Below this value his bulk modulus would create energy
 * (its imaginary part turns negative at X = 1.05). */
#define MIKI_LOWEST_X 1.06

static void jca(const ebb_layer *layer, const ebb_air *air, double sigma, double _Complex jw,
                double _Complex *density, double _Complex *modulus)
{
    const double phi = layer->porosity, tort = layer->tortuosity, eta = air->viscosity;
    const double rho = air->density, gamma = air->gamma;
    const double viscous2 = layer->viscous_length > 0
                                ? layer->viscous_length * layer->viscous_length
                                : 8 * tort * eta / (sigma * phi);
    const double thermal2 =
        layer->thermal_length > 0 ? layer->thermal_length * layer->thermal_length : 4 * viscous2;
    const double turnover = 4 * tort * tort * eta * rho / (sigma * sigma * viscous2 * phi * phi);

    *density = (tort * rho + sigma * phi / jw * ebb_layers_root(1 + turnover * jw)) / phi;

    /* q is the thermal frequency variable; h goes from infinity (isothermal) to 1 (adiabatic) */
    const double _Complex q = rho * air->prandtl * thermal2 / (8 * eta) * jw;
    const double _Complex h = 1 + ebb_layers_root(1 + 0.5 * q) / q;
    *modulus = rho * air->speed * air->speed / phi / (gamma - (gamma - 1) / h);
}

/* A frame without stiffness moves with the air: the pressure drives frame and relative flow in
 * parallel. m is the mass of frame and pore air per volume. */
static double _Complex limp_density(double _Complex rigid, double rho, double m)
{
    return (rigid * m - rho * rho) / (m + rigid - 2 * rho);
}

static void miki_at(const ebb_air *air, double _Complex x, double _Complex *density,
                    double _Complex *modulus)
{
    const double _Complex log_x = clog(x);
    const double _Complex z = 1 + ebb_layers_complex(5.50, -8.43) * cexp(-0.632 * log_x);
    const double _Complex k = 1 + ebb_layers_complex(7.81, -11.41) * cexp(-0.618 * log_x);
    *density = air->density * z * k;
    *modulus = air->density * air->speed * air->speed * z / k;
}

/*
 * Far below the range of the measurements behind the formula (f/sigma = 0.01, which
 * ebb_assembly_range reports) the layer is continued by what is left physically: a constant flow
 * resistance, an inert part and a constant spring, all from the value at the border. The result
 * stays passive.
 */
static void miki(const ebb_air *air, double sigma, double _Complex omega, double _Complex *density,
                 double _Complex *modulus)
{
    const double per_x = 2 * 3.14159265358979323846 * sigma / 1000;
    if (creal(omega) >= MIKI_LOWEST_X * per_x) {
        miki_at(air, omega / per_x, density, modulus);
        return;
    }
    double _Complex border_density, border_modulus;
    miki_at(air, MIKI_LOWEST_X, &border_density, &border_modulus);
    const double resistance = -cimag(border_density) * MIKI_LOWEST_X * per_x;
    *density = creal(border_density) + resistance / ebb_layers_turn(omega);
    *modulus = creal(border_modulus);
}

void ebb_layers_porous(const ebb_layer *layer, const ebb_air *air, double sigma,
                       double _Complex omega, double _Complex *density, double _Complex *modulus)
{
    switch (layer->model) {
    case EBB_POROUS_MIKI:
        miki(air, sigma, omega, density, modulus);
        break;
    case EBB_POROUS_LIMP:
        jca(layer, air, sigma, ebb_layers_turn(omega), density, modulus);
        *density = limp_density(*density, air->density,
                                layer->frame_density + layer->porosity * air->density);
        break;
    case EBB_POROUS_JCA:
        jca(layer, air, sigma, ebb_layers_turn(omega), density, modulus);
        break;
    }
}
