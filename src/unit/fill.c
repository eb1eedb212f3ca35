/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is behind the last front of a box that the label check tries. */
#include "private.h"

/* Two batches of activated carbon at the ends of what was thought possible, our estimate: fine,
 * dry and open; coarse and humid (docs/absorbers.md). Not measured. */
const ebb_grains EBB_UNIT_FAVOURABLE = {.diameter = 0.8e-3,
                                        .bed_porosity = 0.4,
                                        .pore_share = 0.5,
                                        .uptake = 8,
                                        .pore_radius = 1e-6,
                                        .tortuosity = 3,
                                        .sorption_hz = 300};
const ebb_grains EBB_UNIT_POOR = {.diameter = 3e-3,
                                  .bed_porosity = 0.4,
                                  .pore_share = 0.5,
                                  .uptake = 2,
                                  .pore_radius = 0.5e-6,
                                  .tortuosity = 3,
                                  .sorption_hz = 200};

#define BED_DENSITY 500.0 /* kg/m3, common practice, no source; for no more than completeness */

/* Porosity of mineral wool; the lengths follow from the resistivity, as in the reader of files. */
static ebb_layer wool_of(const ebb_box *box, double depth)
{
    return (ebb_layer){.kind = EBB_LAYER_POROUS,
                       .thickness = depth,
                       .resistivity = box->resistivity,
                       .porosity = 0.98,
                       .tortuosity = 1,
                       .frame_density = box->frame,
                       .model = box->frame > 0 ? EBB_POROUS_LIMP : EBB_POROUS_JCA};
}

/* The batch that flatters the label: with it a figure that fails, fails for every batch we know of.
 */
static ebb_layer grains_of(double depth)
{
    ebb_layer bed = {.kind = EBB_LAYER_GRANULAR, .thickness = depth, .grains = EBB_UNIT_FAVOURABLE};
    bed.grains.bed_density = BED_DENSITY;
    return bed;
}

/* Grains lie at the back: there they are held, and a front cannot strike them. */
double _Complex ebb_unit_fill(const ebb_box *box, const ebb_air *air, double depth, double omega)
{
    ebb_layer layer[2];
    size_t n = 0;
    const double bed = box->grains * depth, rest = depth - bed;
    if (rest > 1e-6)
        layer[n++] = box->resistivity > 0 ? wool_of(box, rest)
                                          : (ebb_layer){.kind = EBB_LAYER_AIR, .thickness = rest};
    if (bed > 1e-6)
        layer[n++] = grains_of(bed);
    const ebb_assembly stack = {.kind = EBB_ASSEMBLY_LAYERS, .n_layers = n, .layers = layer};
    return air->density * air->speed / ebb_assembly_beta(&stack, air, NULL, omega);
}

/* Wool holds its air at one temperature, and no gas in a passive box is softer than that; only what
 * takes gas up can be. */
double ebb_unit_fill_ratio(ebb_fill_kind kind, const ebb_air *air)
{
    if (kind == EBB_FILL_AIR)
        return 1;
    if (kind != EBB_FILL_GRAINS)
        return air->gamma;
    const double omega = EBB_UNIT_TWO_PI * EBB_UNIT_GRAINS_HZ, depth = 1e-4;
    const double _Complex z =
        ebb_unit_fill(&(ebb_box){.grains = 1}, air, depth, omega) / (air->density * air->speed);
    return cimag(1 / z) * air->speed / (omega * depth);
}
