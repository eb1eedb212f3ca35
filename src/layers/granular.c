/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A bed of porous grains that take up gas, as an effective fluid.
 *
 * Three scales, after the structure of Venegas and Umnova 2016 (J. Acoust. Soc. Am. 140, 755-766;
 * abstract): air between the grains; transport pores inside a grain, through which pressure
 * diffuses; fine pores that store gas by sorption. Storage adds to the compressibility of the air
 * between the grains:
 *
 *   1/K = 1/K_air + (1 - phi_p) S F(q)/P0
 *   S = phi_m + H/(1 + j f/f_n)                       gas stored per volume of grain
 *   q = (D/2) sqrt(j w eta S/(B P0)),  B = phi_m r^2/(8 tau)
 *   F = 3 (q coth q - 1)/q^2                          a sphere filled by diffusion from outside
 *
 * The compact form is our own and was not compared with a measured bed. The flow between the
 * grains does not notice the sorption. The heat of sorption is left out; it lowers the uptake
 * somewhat.
 */
#include "chain.h"

#define TWO_PI 6.28318530717958647692

/* Kozeny and Carman, spheres in a dense bed. */
static double bed_resistivity(const ebb_grains *grains, double viscosity)
{
    const double phi = grains->bed_porosity, solid = (1 - phi) / grains->diameter;
    return 180 * viscosity * solid * solid / (phi * phi * phi);
}

/* The air between the grains is that of a porous layer with the pores of a bed of spheres. */
static ebb_layer between_grains(const ebb_grains *grains)
{
    const double phi = grains->bed_porosity;
    return (ebb_layer){.kind = EBB_LAYER_POROUS,
                       .porosity = phi,
                       .tortuosity = 1 / sqrt(phi),
                       .thermal_length = phi * grains->diameter / (3 * (1 - phi)),
                       .model = EBB_POROUS_JCA};
}

/* Compressibility that the grains add, times P0, per volume of the bed. */
static double _Complex grain_storage(const ebb_grains *grains, const ebb_air *air, double pressure,
                                     double _Complex jw)
{
    /* without transport pores nothing gets in */
    if (grains->pore_share <= 0)
        return 0;
    double _Complex stored = grains->pore_share;
    if (grains->uptake > 0)
        stored += grains->uptake / (1 + jw / (TWO_PI * grains->sorption_hz));
    const double radius = grains->pore_radius, half = 0.5 * grains->diameter;
    const double permeability = grains->pore_share * radius * radius / (8 * grains->tortuosity);
    const double _Complex q2 = half * half * air->viscosity / (permeability * pressure) * jw;
    return (1 - grains->bed_porosity) * stored * 3 / (3 + ebb_layers_fraction(5, q2 * stored));
}

void ebb_layers_granular(const ebb_layer *layer, const ebb_air *air, double sigma,
                         double _Complex omega, double _Complex *density, double _Complex *modulus)
{
    const ebb_grains *grains = &layer->grains;
    const ebb_layer bed = between_grains(grains);
    /* the static pressure of an ideal gas of this density and speed, as everywhere here */
    const double pressure = air->density * air->speed * air->speed / air->gamma;
    ebb_layers_porous(&bed, air, sigma, omega, density, modulus);
    const double _Complex storage = grain_storage(grains, air, pressure, ebb_layers_turn(omega));
    *modulus = 1 / (1 / *modulus + storage / pressure);
}

double ebb_layers_bed_resistivity(const ebb_layer *layer, const ebb_air *air)
{
    return layer->resistivity > 0 ? layer->resistivity
                                  : bed_resistivity(&layer->grains, air->viscosity);
}
