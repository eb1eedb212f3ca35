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

/* Puts one more layer in front of the chain. */
void ebb_layers_add(ebb_chain *chain, const ebb_layer *layer, const ebb_air *air,
                    const ebb_variation *vary, double _Complex omega);

/* Effective density and bulk modulus of a porous layer, both referred to the whole area. sigma is
 * the resistivity with its variation applied. */
void ebb_layers_porous(const ebb_layer *layer, const ebb_air *air, double sigma,
                       double _Complex omega, double _Complex *density, double _Complex *modulus);

/* Normalised impedance of a table at a complex frequency in Hz. */
double _Complex ebb_layers_table(const ebb_assembly *assembly, double _Complex hz);

#endif
