/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The chain of layers: pressure and velocity carried from the back to the room face.
 */
#ifndef EBB_LAYERS_CHAIN_H
#define EBB_LAYERS_CHAIN_H

#include <ebb/layers.h>

#include <math.h>
#include <string.h>

/*
 * Pressure and velocity up to a common factor. Working without that factor keeps every layer free
 * of divisions that fail at a resonance. `gain2` is its square: the true values are p and v divided
 * by sqrt(gain2) (its phase is not kept), when the chain started with v = 1 or p = 1 at the back.
 */
typedef struct ebb_chain {
    double _Complex p, v;
    double gain2;
} ebb_chain;

/* re + j im without the 0 * im of the usual spelling. */
static inline double _Complex ebb_layers_complex(double re, double im)
{
    const double parts[2] = {re, im};
    double _Complex z;
    memcpy(&z, parts, sizeof z);
    return z;
}

/* j z */
static inline double _Complex ebb_layers_turn(double _Complex z)
{
    return ebb_layers_complex(-cimag(z), creal(z));
}

static inline double ebb_layers_abs2(double _Complex z)
{
    return creal(z) * creal(z) + cimag(z) * cimag(z);
}

/* Principal square root, Re >= 0. Three times as fast as csqrt, which also cares for infinities. */
static inline double _Complex ebb_layers_root(double _Complex z)
{
    const double x = creal(z), y = cimag(z), size = sqrt(x * x + y * y);
    if (size == 0)
        return 0;
    if (x >= 0) {
        const double re = sqrt(0.5 * (size + x));
        return ebb_layers_complex(re, 0.5 * y / re);
    }
    const double im = copysign(sqrt(0.5 * (size - x)), y);
    return ebb_layers_complex(0.5 * y / im, im);
}

/* sin z and cos z times e^{-|Im z|}, so that thick damped layers can not overflow. Returns the
 * factor. */
double ebb_layers_sincos(double _Complex z, double _Complex *sine, double _Complex *cosine);

/* The chain at the back of an assembly; `free` is the impedance of free air behind it. */
ebb_chain ebb_layers_back(const ebb_assembly *assembly, double free);

/* Normalised admittance of the layers alone, as the chain has it at the room face. */
double _Complex ebb_layers_admittance(const ebb_chain *chain, const ebb_air *air, bool real_axis);

/* Puts one more layer in front of the chain. */
void ebb_layers_add(ebb_chain *chain, const ebb_layer *layer, const ebb_air *air,
                    const ebb_variation *vary, double _Complex omega);

/* Transfer matrix [straight, impedance; admittance, straight] of a slab of fluid, times a common
 * factor. */
typedef struct ebb_slab {
    double _Complex straight, impedance, admittance;
} ebb_slab;

/* Slab of complex density and bulk modulus; returns its factor (at most 1), so that thick damped
 * slabs can not overflow. */
double ebb_layers_slab(double thickness, double _Complex density, double _Complex modulus,
                       double _Complex omega, ebb_slab *slab);

/* Puts a slab of fluid in front of the chain. */
void ebb_layers_add_slab(ebb_chain *chain, double thickness, double _Complex density,
                         double _Complex modulus, double _Complex omega);

/* Density and bulk modulus of a fluid layer (air, porous, granular) with its variation applied,
 * both referred to the whole area. */
void ebb_layers_fluid(const ebb_layer *layer, const ebb_air *air, const ebb_variation *vary,
                      double _Complex omega, double _Complex *density, double _Complex *modulus);

/* Effective density and bulk modulus of a porous layer, both referred to the whole area. sigma is
 * the resistivity with its variation applied. */
void ebb_layers_porous(const ebb_layer *layer, const ebb_air *air, double sigma,
                       double _Complex omega, double _Complex *density, double _Complex *modulus);

/* The same of a bed of grains. */
void ebb_layers_granular(const ebb_layer *layer, const ebb_air *air, double sigma,
                         double _Complex omega, double _Complex *density, double _Complex *modulus);

/* Flow resistivity of a bed, as given or from grain size and porosity, Pa s/m2. */
double ebb_layers_bed_resistivity(const ebb_layer *layer, const ebb_air *air);

/* Impedance of a sheet with holes or slits, Pa s/m over its whole area. */
double _Complex ebb_layers_holes(const ebb_layer *layer, const ebb_air *air,
                                 const ebb_variation *vary, double _Complex omega);

/* Acoustic impedance of one slit `width` wide, `path` deep in the direction of flow and `length`
 * long, Pa s/m3, without the air that moves outside it. */
double _Complex ebb_layers_slit(const ebb_air *air, double width, double path, double length,
                                double _Complex omega);

/* u/(first + u/(first + 2 + u/(first + 4 + ...))), first >= 3, for u off the negative real axis:
 * what viscosity and diffusion come to in slits and spheres (first 5) and round holes (6). */
double _Complex ebb_layers_fraction(int first, double _Complex u);

/* Gauss-Legendre rules with 2 n points on -1..1; the positive half is kept. */
typedef struct ebb_gauss {
    size_t n;
    const double *node, *weight;
} ebb_gauss;
extern const ebb_gauss ebb_layers_gauss16, ebb_layers_gauss64;

/* Point i of 2 n on low..high, and its weight. */
double ebb_layers_gauss_point(const ebb_gauss *rule, size_t i, double low, double high,
                              double *weight);

/* Fields of a layer against their ranges; `where` comes first in the text ("cell 1, fill "). */
ebb_status ebb_layers_check(ebb_ctx *ctx, const ebb_layer *layer, const char *where, size_t number);

/* Normalised impedance of a table at a complex frequency in Hz. */
double _Complex ebb_layers_table(const ebb_assembly *assembly, double _Complex hz);

#endif
