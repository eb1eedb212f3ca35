/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How much of what its depth allows a unit uses: the depth limit of ebb/bounds.h.
 *
 * The limit knows of a unit nothing but its static compliance. Of a cabinet that is computed from
 * its parts; of a stack of layers it is read from the admittance at a frequency low enough that
 * masses and resistances no longer count.
 */
#include "private.h"

#define WIDE_LOW 0.1   /* Hz, range of the integral; what lies outside is below 1 % of it */
#define HEARD_LOW 20.0 /* Hz, where it begins with grains */
#define WIDE_HIGH 2000.0
enum { WIDE_ROWS = 500, NEAR_ROWS = 40 }; /* on either side of the peak, far and near */
#define STILL 0.01                        /* Hz, low enough for statics */

/* Grains yield more the slower the pressure. Their yield at 25 Hz, as an air gap of equal yield:
 * read from a thin bed alone, since the modulus itself is the layers module's. */
static bool stand_in(ebb_layer *layer, double yield)
{
    if (layer->kind != EBB_LAYER_GRANULAR)
        return false;
    *layer = (ebb_layer){.kind = EBB_LAYER_AIR, .thickness = yield * layer->thickness};
    return true;
}

/* Re(gamma P0/K) of a bed of grains. */
static double yield_of(const ebb_layer *grains, const ebb_air *air)
{
    ebb_layer bed = *grains;
    bed.thickness = 1e-4;
    const ebb_assembly alone = {.kind = EBB_ASSEMBLY_LAYERS, .n_layers = 1, .layers = &bed};
    const double omega = EBB_UNIT_TWO_PI * EBB_UNIT_GRAINS_HZ;
    const double _Complex beta = ebb_assembly_beta(&alone, air, NULL, omega);
    return cimag(beta) * air->speed / (omega * bed.thickness);
}

/* At so low a frequency only stiffness is left of the admittance; its real part, from resistances,
 * is smaller by as many orders as the frequency. */
static double compliance_of_layers(const ebb_unit_model *model, const ebb_air *air)
{
    for (size_t i = 0; i < model->assembly.n_layers; i++)
        if (model->layer[i].kind == EBB_LAYER_GRANULAR)
            stand_in(&model->layer[i], yield_of(&model->layer[i], air));
    const double omega = EBB_UNIT_TWO_PI * STILL;
    const double _Complex beta = ebb_assembly_beta(&model->assembly, air, NULL, omega);
    return cimag(beta) / (omega * air->density * air->speed);
}

/* Turning counts as well as moving: a rim that holds the edge stiffens a panel that bends. */
static bool soften_front(ebb_front *front, double factor)
{
    front->mount.stiffness *= factor;
    front->mount.rotation *= factor;
    return true;
}

/* Springs of fronts in a stack; the last one may be the cavity itself. */
static bool soften_layer(ebb_layer *layer, double factor)
{
    layer->stiffness *= factor;
    return layer->kind == EBB_LAYER_LUMPED;
}

/* Static compliance of a copy that may be changed. */
static double compliance_of(ebb_unit_model *model, const ebb_air *air)
{
    return model->assembly.kind == EBB_ASSEMBLY_CABINET
               ? ebb_cabinet_compliance(&model->cabinet, air, EBB_UNIT_GRAINS_HZ)
               : compliance_of_layers(model, air);
}

/* Share of the stiffness that goes when all mounts are soft. */
static ebb_status mount_share(ebb_ctx *ctx, ebb_study *study, ebb_arena *scratch)
{
    const ebb_assembly *assembly = &study->unit->assembly;
    ebb_unit_model *soft = ebb_unit_copy(scratch, assembly);
    if (soft == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    ebb_unit_each_front(soft, soften_front, 1e-6);
    const size_t n = assembly->n_layers;
    for (size_t i = 0; assembly->kind == EBB_ASSEMBLY_LAYERS && i + 1 < n; i++)
        soften_layer(&soft->layer[i], 1e-6);
    const ebb_status status = ebb_unit_ready(ctx, scratch, soft);
    if (status == EBB_OK)
        study->budget.mounts =
            fmax(0, 1 - study->budget.compliance / compliance_of(soft, &study->air));
    return status;
}

/* Why there is no limit to speak of; NULL when there is one. */
static const char *reason(const ebb_assembly *assembly)
{
    switch (assembly->kind) {
    case EBB_ASSEMBLY_CONSTANT:
    case EBB_ASSEMBLY_TABLE:
        return "an admittance alone does not say how it is built";
    case EBB_ASSEMBLY_LAYERS:
        if (assembly->back != EBB_BACK_RIGID)
            return "the limit holds for absorbers on a rigid back only";
        break;
    case EBB_ASSEMBLY_CABINET:
        break;
    }
    return NULL;
}

/* Rising frequencies for the integral. Where everything is taken the logarithm goes to infinity, so
 * the steps shrink towards the peak from both sides and leave it out. */
static size_t wide_grid(const ebb_study *study, double low, double *hz)
{
    const double peak = study->band.peak_hz, far = 0.02, near = 1e-9;
    size_t n = 0;
    if (!study->band.inside || peak * (1 - far) <= low) {
        for (size_t i = 0; i < 2 * WIDE_ROWS; i++)
            hz[n++] = low * pow(WIDE_HIGH / low, (double)i / (2 * WIDE_ROWS - 1));
        return n;
    }
    for (size_t i = 0; i < WIDE_ROWS; i++)
        hz[n++] = low * pow(peak * (1 - far) / low, (double)i / WIDE_ROWS);
    for (size_t i = 0; i < NEAR_ROWS; i++)
        hz[n++] = peak * (1 - far * pow(near / far, (double)i / (NEAR_ROWS - 1)));
    for (size_t i = NEAR_ROWS; i-- > 0;)
        hz[n++] = peak * (1 + far * pow(near / far, (double)i / (NEAR_ROWS - 1)));
    for (size_t i = 1; i <= WIDE_ROWS; i++)
        hz[n++] = peak * (1 + far) * pow(WIDE_HIGH / (peak * (1 + far)), (double)i / WIDE_ROWS);
    return n;
}

/* The integral, and the share of it that lies in the deep band. */
static ebb_status spend(ebb_ctx *ctx, ebb_study *study, ebb_arena *scratch)
{
    ebb_budget *b = &study->budget;
    const bool grains = ebb_unit_holds(study->unit, EBB_LAYER_GRANULAR);
    double *hz = EBB_NEW(scratch, double, 2 * (WIDE_ROWS + NEAR_ROWS));
    double *alpha = EBB_NEW(scratch, double, 2 * (WIDE_ROWS + NEAR_ROWS));
    if (hz == NULL || alpha == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    const size_t n = wide_grid(study, grains ? HEARD_LOW : WIDE_LOW, hz);
    size_t first = n, last = 0;
    for (size_t i = 0; i < n; i++) {
        alpha[i] = ebb_assembly_alpha(&study->unit->assembly, &study->air, hz[i]);
        first = hz[i] >= EBB_DEEP_LOW && first == n ? i : first;
        last = hz[i] <= EBB_DEEP_HIGH ? i : last;
    }
    b->used = ebb_depth_used(&study->air, n, hz, alpha);
    b->deep = ebb_depth_used(&study->air, last - first + 1, hz + first, alpha + first) / b->used;
    return EBB_OK;
}

/* What is used can be told of every unit, what is available only of some: the reason stands in for
 * it. */
ebb_status ebb_unit_budget(ebb_ctx *ctx, ebb_study *study)
{
    const double nan = NAN;
    ebb_budget *b = &study->budget;
    *b = (ebb_budget){nan, nan, nan, nan, nan, nan, reason(&study->unit->assembly)};
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_unit_model *model = ebb_unit_copy(scratch, &study->unit->assembly);
    ebb_status status = EBB_OK;
    if (model == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    else
        status = spend(ctx, study, scratch);
    if (status == EBB_OK && b->unknown == NULL) {
        /* The share of what is flat: all of the limit between two wavelengths. */
        const double width = study->air.speed * (1 / EBB_DEEP_LOW - 1 / EBB_DEEP_HIGH);
        b->compliance = compliance_of(model, &study->air);
        b->available = ebb_depth_limit(b->compliance, &study->air);
        b->flat = -expm1(-b->available / width);
        status = mount_share(ctx, study, scratch);
    }
    ebb_arena_free(scratch);
    return status;
}
