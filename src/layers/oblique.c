/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Absorption at oblique and random incidence, unbounded surface.
 */
#include "chain.h"

#define TWO_PI 6.28318530717958647692

static bool is_fluid(const ebb_layer *layer)
{
    return layer->kind == EBB_LAYER_AIR || layer->kind == EBB_LAYER_POROUS ||
           layer->kind == EBB_LAYER_GRANULAR;
}

/*
 * In a fluid across which the trace of the wave runs, kz^2 = w^2 rho/K - k0^2 sin^2(angle). With
 *
 *   1/K' = 1/K - sin^2(angle)/(c^2 rho)
 *
 * in place of 1/K it is an ordinary slab of the same density: kz^2 = w^2 rho/K', Z = w rho/kz.
 * Written with the cosine, so that air without loss stays exact towards grazing.
 */
static void add_across(ebb_chain *chain, const ebb_layer *layer, const ebb_air *air, double omega,
                       double angle)
{
    double _Complex density, modulus;
    ebb_layers_fluid(layer, air, &EBB_NO_VARIATION, omega, &density, &modulus);
    const double sine = sin(angle), cosine = cos(angle);
    const double _Complex slower = 1 - modulus / (air->speed * air->speed * density);
    ebb_layers_add_slab(chain, layer->thickness, density,
                        modulus / (cosine * cosine + sine * sine * slower), omega);
}

static double _Complex bulk_beta(const ebb_assembly *assembly, const ebb_air *air, double omega,
                                 double angle)
{
    ebb_chain chain = ebb_layers_back(assembly, air->density * air->speed / cos(angle));
    for (size_t i = assembly->n_layers; i-- > 0;) {
        const ebb_layer *layer = &assembly->layers[i];
        if (is_fluid(layer))
            add_across(&chain, layer, air, omega, angle);
        else
            ebb_layers_add(&chain, layer, air, &EBB_NO_VARIATION, omega);
    }
    return assembly->beta0 + ebb_layers_admittance(&chain, air, true);
}

/* 4 Re z cos/|z cos + 1|^2 */
static double alpha_at(double _Complex beta, double cosine)
{
    return 4 * creal(beta) * cosine / ebb_layers_abs2(cosine + beta);
}

static bool runs_along(const ebb_assembly *assembly, bool bulk)
{
    return bulk && assembly->kind == EBB_ASSEMBLY_LAYERS;
}

double ebb_assembly_oblique(const ebb_assembly *assembly, const ebb_air *air, double hz,
                            double angle, bool bulk)
{
    const double _Complex beta = runs_along(assembly, bulk)
                                     ? bulk_beta(assembly, air, TWO_PI * hz, angle)
                                     : ebb_assembly_beta(assembly, air, NULL, TWO_PI * hz);
    return alpha_at(beta, cos(angle));
}

double ebb_assembly_diffuse(const ebb_assembly *assembly, const ebb_air *air, double hz,
                            double limit, bool bulk)
{
    const bool along = runs_along(assembly, bulk);
    const double omega = TWO_PI * hz;
    double _Complex beta = along ? 0 : ebb_assembly_beta(assembly, air, NULL, omega);
    double sum = 0;
    for (size_t i = 0; i < 2 * ebb_layers_gauss64.n; i++) {
        double weight;
        const double angle = ebb_layers_gauss_point(&ebb_layers_gauss64, i, 0, limit, &weight);
        if (along)
            beta = bulk_beta(assembly, air, omega, angle);
        sum += weight * alpha_at(beta, cos(angle)) * sin(2 * angle);
    }
    return sum / (sin(limit) * sin(limit));
}
