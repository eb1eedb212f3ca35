/* SPDX-License-Identifier: GPL-3.0-or-later */
/* private.h - what the parts of a study share. */
#ifndef EBB_UNIT_PRIVATE_H
#define EBB_UNIT_PRIVATE_H

#include <ebb/unit.h>

#include <math.h>

#define EBB_UNIT_TWO_PI 6.28318530717958647692
/* Frequency at which grains are taken for the depth limit, Hz: what they take up more slowly is
 * spent below the audible band. */
#define EBB_UNIT_GRAINS_HZ 25.0

/* Is there a layer of this kind among n? */
static inline bool ebb_unit_layers_hold(size_t n, const ebb_layer *layer, ebb_layer_kind kind)
{
    for (size_t i = 0; i < n; i++)
        if (layer[i].kind == kind)
            return true;
    return false;
}

/* ---- copy.c: a unit that may be changed ------------------------------------------------------ */

/* An assembly with layers, cells and fills of its own. */
typedef struct ebb_unit_model {
    ebb_assembly assembly;
    ebb_layer *layer;    /* its layers, writable */
    ebb_cabinet cabinet; /* its cabinet, when it is one; assembly.cabinet points here */
} ebb_unit_model;

/* A deep copy, in arena; NULL when out of memory. */
ebb_unit_model *ebb_unit_copy(ebb_arena *arena, const ebb_assembly *assembly);
/* Does the unit hold such a layer, anywhere? */
bool ebb_unit_holds(const ebb_unit *unit, ebb_layer_kind kind);
/* Calls `change` for every layer, of a cabinet those of its gaps and fills; true when one call
 * returned true. */
typedef bool (*ebb_unit_layer_fn)(ebb_layer *layer, double factor);
bool ebb_unit_each_layer(ebb_unit_model *model, ebb_unit_layer_fn change, double factor);
/* Calls `change` for every front of a cabinet. */
typedef bool (*ebb_unit_front_fn)(ebb_front *front, double factor);
bool ebb_unit_each_front(ebb_unit_model *model, ebb_unit_front_fn change, double factor);
/* Makes a changed cabinet fit for use again. */
ebb_status ebb_unit_ready(ebb_ctx *ctx, ebb_arena *arena, ebb_unit_model *model);

/* ---- numbers --------------------------------------------------------------------------------- */

/* Where peaks are looked for, Hz. */
#define EBB_UNIT_LOW 10.0
#define EBB_UNIT_HIGH 400.0

/* spectrum.c: fills everything for n rising frequencies; hz is copied, the rest lives in the
 * study's arena. `coarse`: patch and area from a table of radiation impedances, to a per cent or
 * so, because there are many frequencies. */
ebb_status ebb_unit_spectrum(ebb_ctx *ctx, const ebb_study *study, size_t n, const double *hz,
                             bool coarse, ebb_spectrum *spectrum);
/* n frequencies from low to high in equal ratios; NULL when out of memory. */
double *ebb_unit_grid(ebb_arena *arena, double low, double high, size_t n);

/* band.c: mean coefficient over the deep band, and the highest peak, refined; NAN when it is
 * highest at an end of the range. */
double ebb_unit_mean(const ebb_assembly *assembly, const ebb_air *air);
double ebb_unit_peak(const ebb_assembly *assembly, const ebb_air *air);
void ebb_unit_band(ebb_study *study);

ebb_status ebb_unit_budget(ebb_ctx *ctx, ebb_study *study);  /* budget.c */
ebb_status ebb_unit_fronts(ebb_ctx *ctx, ebb_study *study);  /* front.c */
ebb_status ebb_unit_changes(ebb_ctx *ctx, ebb_study *study); /* change.c */
/* remark.c; needs all of the above. */
ebb_status ebb_unit_remarks(ebb_ctx *ctx, ebb_study *study, ebb_units units);

/* ---- claims ---------------------------------------------------------------------------------- */

/* fill.c: the two batches at the ends of what was thought possible. */
extern const ebb_grains EBB_UNIT_FAVOURABLE, EBB_UNIT_POOR;

/* A rectangle's radiation at one frequency, kept so that many admittances can be tried on it: the
 * coefficient is the sum of weight Re(beta)/|1 + beta z|^2. */
enum { EBB_UNIT_PATCH_NODES = 72 };
typedef struct ebb_unit_patch {
    double _Complex z[EBB_UNIT_PATCH_NODES];
    double weight[EBB_UNIT_PATCH_NODES];
} ebb_unit_patch;
void ebb_unit_patch_make(const double side[2], const ebb_air *air, double hz,
                         ebb_unit_patch *patch);
/* The same at a frequency between two, from both: z over frequency is nearly straight. */
void ebb_unit_patch_between(const ebb_unit_patch pair[2], const double hz[2], double at,
                            ebb_unit_patch *patch);
double ebb_unit_patch_alpha(const ebb_unit_patch *patch, double _Complex beta);
/* The largest coefficient that any passive admittance gives. */
double ebb_unit_patch_most(const ebb_unit_patch *patch);

/* How a figure is read. */
typedef enum ebb_unit_reading {
    EBB_UNIT_NORMAL,
    EBB_UNIT_DIFFUSE, /* unbounded */
    EBB_UNIT_PATCH    /* this face alone */
} ebb_unit_reading;

/* What a box shall do: n coefficients, read in one way. */
typedef struct ebb_unit_task {
    const ebb_claim *claim; /* depth, mass, front, fill */
    const ebb_air *air;
    ebb_unit_reading reading;
    size_t n;
    const double *hz, *want;
    const ebb_unit_patch *patch; /* n, for EBB_UNIT_PATCH */
} ebb_unit_task;

/* best.c: the box of the claim's depth that falls short least. got[n] in the task's reading,
 * normal[n] at normal incidence. EBB_E_NOSOLUTION without a message when no box is as light as the
 * claim wants it. */
ebb_status ebb_unit_best(ebb_ctx *ctx, const ebb_unit_task *task, ebb_box *box, double *got,
                         double *normal);
/* fill.c: impedance behind the last front, Pa s/m: what a box holds in `depth` m of inside. */
double _Complex ebb_unit_fill(const ebb_box *box, const ebb_air *air, double depth, double omega);
/* Stiffness of air over that of the best that a kind of fill can be, grains as at 25 Hz. */
double ebb_unit_fill_ratio(ebb_fill_kind kind, const ebb_air *air);

#endif
