/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Assemblies: admittance, absorption, transmission, mass.
 */
#include "chain.h"

#include <ebb/cabinet.h>

#include <float.h>

#define TWO_PI 6.28318530717958647692

const ebb_variation EBB_NO_VARIATION = {1, 1, 1};

/* A rigid back stops every movement; only where a lumped layer is the last one is it the ground on
 * which its spring stands. */
ebb_chain ebb_layers_back(const ebb_assembly *assembly, double free)
{
    const size_t n = assembly->n_layers;
    if (assembly->back != EBB_BACK_RIGID)
        return (ebb_chain){free, 1, 1};
    if (n > 0 && assembly->layers[n - 1].kind == EBB_LAYER_LUMPED)
        return (ebb_chain){0, 1, 1};
    return (ebb_chain){1, 0, 1};
}

/* The chain from the back to the room face. */
static ebb_chain whole(const ebb_assembly *assembly, const ebb_air *air, const ebb_variation *vary,
                       double _Complex omega)
{
    ebb_chain chain = ebb_layers_back(assembly, air->density * air->speed);
    for (size_t i = assembly->n_layers; i-- > 0;)
        ebb_layers_add(&chain, &assembly->layers[i], air, vary, omega);
    return chain;
}

/* v/p rho c. Exactly at the resonance of an assembly without any loss the admittance is infinite;
 * 1/DBL_EPSILON stands for it. Rounding may leave an assembly without loss slightly active on the
 * real axis; that much, and no more, is taken off. */
static double _Complex ratio(double _Complex v_rho_c, double _Complex p, bool real_axis)
{
    if (ebb_layers_abs2(p) == 0)
        return 1 / DBL_EPSILON;
    const double _Complex beta = v_rho_c / p;
    if (real_axis && creal(beta) < 0 && -creal(beta) < 1e-9 * fabs(cimag(beta)))
        return ebb_layers_complex(0, cimag(beta));
    return beta;
}

double _Complex ebb_layers_admittance(const ebb_chain *chain, const ebb_air *air, bool real_axis)
{
    return ratio(air->density * air->speed * chain->v, chain->p, real_axis);
}

double _Complex ebb_assembly_beta(const ebb_assembly *assembly, const ebb_air *air,
                                  const ebb_variation *vary, double _Complex omega)
{
    if (!vary)
        vary = &EBB_NO_VARIATION;
    const bool real_axis = cimag(omega) == 0;
    switch (assembly->kind) {
    case EBB_ASSEMBLY_CONSTANT:
        return vary->admittance * assembly->beta0;
    case EBB_ASSEMBLY_TABLE:
        return vary->admittance * ratio(1, ebb_layers_table(assembly, omega / TWO_PI), real_axis);
    case EBB_ASSEMBLY_CABINET:
        return ebb_cabinet_beta(assembly->cabinet, air, vary, omega);
    case EBB_ASSEMBLY_LAYERS:
        break;
    }
    const ebb_chain chain = whole(assembly, air, vary, omega);
    /* Joints, edges and leaks take a little beside what the layers do. */
    return vary->admittance * (assembly->beta0 + ebb_layers_admittance(&chain, air, real_axis));
}

double ebb_assembly_alpha(const ebb_assembly *assembly, const ebb_air *air, double hz)
{
    return ebb_alpha_normal(ebb_assembly_beta(assembly, air, NULL, TWO_PI * hz));
}

/* Transmitted over incident power. Behind the last layer p = rho c v, v = 1 before the common
 * factor; in front the incident wave is (p + rho c v)/2. */
double ebb_assembly_transmitted(const ebb_assembly *assembly, const ebb_air *air, double hz)
{
    if (assembly->kind != EBB_ASSEMBLY_LAYERS || assembly->back == EBB_BACK_RIGID)
        return 0;
    const double rho_c = air->density * air->speed;
    const ebb_chain chain = whole(assembly, air, &EBB_NO_VARIATION, TWO_PI * hz);
    return 4 * rho_c * rho_c * chain.gain2 / ebb_layers_abs2(chain.p + rho_c * chain.v);
}

static double layer_mass(const ebb_layer *layer)
{
    if (layer->kind == EBB_LAYER_POROUS)
        return layer->frame_density * layer->thickness;
    if (layer->kind == EBB_LAYER_GRANULAR)
        return layer->grains.bed_density * layer->thickness;
    if (layer->kind == EBB_LAYER_FRONT)
        return layer->plate->mass;
    return layer->mass;
}

static double cabinet_mass(const ebb_cabinet *cabinet)
{
    ebb_weights weights;
    ebb_cabinet_weights(cabinet, &weights);
    return weights.total / (cabinet->size[0] * cabinet->size[1]);
}

double ebb_assembly_mass(const ebb_assembly *assembly)
{
    if (assembly->kind == EBB_ASSEMBLY_CABINET)
        return cabinet_mass(assembly->cabinet);
    if (assembly->kind != EBB_ASSEMBLY_LAYERS)
        return 0;
    double mass = 0;
    for (size_t i = 0; i < assembly->n_layers; i++)
        mass += layer_mass(&assembly->layers[i]);
    return mass;
}

double ebb_alpha_normal(double _Complex beta)
{
    return 4 * creal(beta) / ebb_layers_abs2(1 + beta);
}

/* Integral of 8 g mu^2/(mu^2 + 2 g mu + |beta|^2) over mu = cos(angle) by four-point Gauss
 * quadrature: exact to rounding when the poles -g +- jb are far away, where the closed form
 * cancels. */
static double diffuse_large(double g, double size2)
{
    static const double node[4] = {0.06943184420297371, 0.33000947820757187, 0.66999052179242813,
                                   0.93056815579702629};
    static const double weight[4] = {0.17392742256872693, 0.32607257743127307, 0.32607257743127307,
                                     0.17392742256872693};
    double sum = 0;
    for (int i = 0; i < 4; i++)
        sum += weight[i] * node[i] * node[i] / (node[i] * (node[i] + 2 * g) + size2);
    return 8 * g * sum;
}

double ebb_alpha_diffuse(double _Complex beta)
{
    const double g = creal(beta), b = fabs(cimag(beta)), size2 = g * g + b * b;
    if (size2 < 1e-30) /* first order of small beta, before the logarithm runs off */
        return 8 * g;
    if (size2 > 400)
        return diffuse_large(g, size2);
    /* atan(t)/b with t = b/(size2 + g), by series where b -> 0 */
    const double denominator = size2 + g, t = b / denominator;
    const double arc = fabs(t) < 1e-4 ? (1 - t * t / 3) / denominator : atan2(b, denominator) / b;
    return 8 * g * (1 - g * log((1 + 2 * g + size2) / size2) - (b * b - g * g) * arc);
}
