/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Air, layers and random assemblies for the tests of this module.
 */
#ifndef SAMPLES_H
#define SAMPLES_H

#include <ebb/layers.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define PI 3.14159265358979323846
#define TWO_PI (2 * PI)

static const ebb_air sample_air = {.temperature = 20,
                                   .humidity = 0.5,
                                   .pressure = 101325,
                                   .speed = 343.2,
                                   .density = 1.205,
                                   .gamma = 1.4007,
                                   .viscosity = 1.84e-5,
                                   .prandtl = 0.71};

/* xorshift64*: the same sequence on every machine. */
static inline double draw(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ULL) >> 11) * 0x1p-53;
}

/* Between low and high, even on a logarithmic scale. */
static inline double draw_log(uint64_t *state, double low, double high)
{
    return low * pow(high / low, draw(state));
}

static inline void draw_porous(uint64_t *state, ebb_layer *layer)
{
    layer->thickness = draw_log(state, 0.002, 1);
    layer->resistivity = draw_log(state, 100, 3e5);
    layer->porosity = 0.3 + 0.7 * draw(state);
    layer->tortuosity = 1 + 2 * draw(state);
    layer->frame_density = draw_log(state, 3, 300);
    layer->model = (ebb_porous_model)(3 * draw(state));
    if (draw(state) < 0.3)
        layer->viscous_length = draw_log(state, 1e-5, 1e-3);
    if (draw(state) < 0.3)
        layer->thermal_length = draw_log(state, 1e-5, 1e-3);
}

static inline void draw_granular(uint64_t *state, ebb_layer *layer)
{
    layer->thickness = draw_log(state, 0.002, 0.5);
    layer->resistivity = draw(state) < 0.7 ? 0 : draw_log(state, 500, 3e5);
    layer->grains = (ebb_grains){.diameter = draw_log(state, 1e-4, 1e-2),
                                 .bed_porosity = 0.25 + 0.4 * draw(state),
                                 .pore_share = draw(state) < 0.1 ? 0 : 0.7 * draw(state),
                                 .uptake = draw(state) < 0.1 ? 0 : draw_log(state, 0.1, 20),
                                 .pore_radius = draw_log(state, 1e-8, 1e-5),
                                 .tortuosity = 1 + 3 * draw(state),
                                 .sorption_hz = draw_log(state, 1, 2000),
                                 .bed_density = 500};
}

/* Perforated sheet or slits, from a hundredth of a millimetre to centimetres. */
static inline void draw_openings(uint64_t *state, ebb_layer *layer)
{
    layer->thickness = draw_log(state, 2e-5, 0.05);
    layer->opening = draw_log(state, 1e-5, 0.03);
    layer->open_share = draw_log(state, 1e-3, 0.9);
    if (layer->kind == EBB_LAYER_PERFORATED && draw(state) < 0.5)
        layer->mass = draw_log(state, 0.05, 30);
}

static inline ebb_layer draw_layer(uint64_t *state)
{
    ebb_layer layer = {.kind = (ebb_layer_kind)(9 * draw(state))};
    switch (layer.kind) {
    case EBB_LAYER_MASS:
        layer.mass = draw_log(state, 0.05, 500);
        break;
    case EBB_LAYER_PANEL:
        layer.mass = draw_log(state, 1, 500);
        layer.thickness = draw_log(state, 0.002, 0.2);
        layer.modulus = draw_log(state, 1e8, 2e11);
        layer.poisson = 0.4 * draw(state);
        layer.loss = draw(state) < 0.2 ? 0 : draw_log(state, 1e-4, 0.5);
        layer.span = draw(state) < 0.3 ? 0 : draw_log(state, 0.2, 6);
        break;
    case EBB_LAYER_AIR:
        layer.thickness = draw_log(state, 0.001, 2);
        layer.loss = draw(state) < 0.5 ? 0 : draw_log(state, 1e-4, 0.2);
        break;
    case EBB_LAYER_POROUS:
        draw_porous(state, &layer);
        break;
    case EBB_LAYER_SCREEN:
        layer.resistance = draw_log(state, 5, 1e4);
        layer.mass = draw(state) < 0.5 ? 0 : draw_log(state, 0.05, 20);
        break;
    case EBB_LAYER_LUMPED:
        layer.mass = draw_log(state, 0.5, 100);
        layer.stiffness = draw(state) < 0.1 ? 0 : draw_log(state, 1e3, 1e8);
        layer.resistance = draw(state) < 0.3 ? 0 : draw_log(state, 1, 1e4);
        layer.loss = draw(state) < 0.3 ? 0 : draw_log(state, 1e-4, 0.5);
        break;
    case EBB_LAYER_GRANULAR:
        draw_granular(state, &layer);
        break;
    case EBB_LAYER_PERFORATED:
    case EBB_LAYER_SLITS:
        draw_openings(state, &layer);
        break;
    case EBB_LAYER_FRONT: /* has a test of its own */
        break;
    }
    return layer;
}

/* A random assembly of 1 to 6 layers, written into layers[6]. */
static inline ebb_assembly draw_assembly(uint64_t *state, ebb_layer layers[6])
{
    ebb_assembly assembly = {.kind = EBB_ASSEMBLY_LAYERS,
                             .n_layers = 1 + (size_t)(6 * draw(state)),
                             .layers = layers,
                             .back = (ebb_back)(3 * draw(state))};
    for (size_t i = 0; i < assembly.n_layers; i++)
        layers[i] = draw_layer(state);
    return assembly;
}

static inline ebb_assembly stack(const ebb_layer *layers, size_t n, ebb_back back)
{
    return (ebb_assembly){.n_layers = n, .layers = layers, .back = back};
}

/* Surface impedance over rho c. */
static inline double _Complex impedance(const ebb_layer *layers, size_t n, ebb_back back,
                                        double _Complex omega)
{
    const ebb_assembly assembly = stack(layers, n, back);
    return 1 / ebb_assembly_beta(&assembly, &sample_air, NULL, omega);
}

#endif
