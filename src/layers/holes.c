/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Sheets with round holes or straight slits, fine or coarse, and single slits.
 *
 * Inside an opening the flow is the exact viscous one: for holes
 *
 *   j w rho t/(1 - 2 J_1(y)/(y J_0(y))),  y = (d/2) sqrt(-j w rho/eta)     (Maa 1998, from memory)
 *
 * for slits j w rho t/(1 - tanh(s)/s), s = (g/2) sqrt(j w rho/eta). Both are written as
 *
 *   Poiseuille resistance + j w rho t + resistance/(n - 2) * fraction(n, s^2),  n = 6 or 5
 *
 * which is the same without the cancellation at low frequency. Outside it, air that moves along
 * (end corrections) and friction on the face of the sheet, sqrt(2 w rho eta) for both faces
 * (Ingard 1953, from memory; authors differ by a factor of two either way).
 *
 * The waves through the holes are taken as linear: no jets at high level.
 */
#include "chain.h"

#define PI 3.14159265358979323846

/* Slit of width `gap`, per depth and open area, Pa s/m2: viscous part; j w rho comes on top. */
static double _Complex slit_friction(double gap, const ebb_air *air, double _Complex jw)
{
    const double per_area = 4 * air->viscosity / (gap * gap);
    return per_area * (3 + ebb_layers_fraction(5, jw * air->density / per_area));
}

/* The same for a round hole. */
static double _Complex hole_friction(double diameter, const ebb_air *air, double _Complex jw)
{
    const double per_area = 4 * air->viscosity / (diameter * diameter);
    const double _Complex s2 = jw * air->density / per_area;
    return 8 * per_area + 2 * per_area * ebb_layers_fraction(6, s2);
}

/* Length of air outside that moves with round holes, both faces: 0.85 d for a hole far from
 * others, less where the flows of neighbours meet (Fok's function, short form from memory: 1 for
 * small shares, 0 when nothing is left of the sheet). */
static double hole_ends(double diameter, double share)
{
    const double x = sqrt(share);
    return 0.85 * diameter * (1 - 1.47 * x + 0.47 * x * x * x);
}

/* The same for parallel slits: potential flow through a grating of thin strips (Smits and Kosten
 * 1951, from memory). */
static double slit_ends(double gap, double share)
{
    return -2 * gap / PI * log(sin(0.5 * PI * share));
}

double _Complex ebb_layers_holes(const ebb_layer *layer, const ebb_air *air,
                                 const ebb_variation *vary, double _Complex omega)
{
    const bool round = layer->kind == EBB_LAYER_PERFORATED;
    const double _Complex jw = ebb_layers_turn(omega);
    const double size = layer->opening, share = layer->open_share;
    const double ends = round ? hole_ends(size, share) : slit_ends(size, share);
    const double _Complex inside =
        round ? hole_friction(size, air, jw) : slit_friction(size, air, jw);
    const double _Complex face = ebb_layers_root(2 * air->density * air->viscosity * omega);
    const double _Complex friction = layer->thickness * inside + face;
    const double _Complex inertia = jw * air->density * (layer->thickness + ends);
    const double _Complex z = (vary->resistance * friction + inertia) / share;
    /* a sheet that is free to move is dragged along, beside the flow through its holes */
    if (layer->mass <= 0)
        return z;
    const double _Complex jwm = jw * layer->mass;
    return z * jwm / (z + jwm);
}

double _Complex ebb_layers_slit(const ebb_air *air, double width, double path, double length,
                                double _Complex omega)
{
    const double _Complex jw = ebb_layers_turn(omega);
    return (slit_friction(width, air, jw) + jw * air->density) * path / (width * length);
}
