/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A unit over frequency. */
#include "private.h"

#include <string.h>

/* Equal ratios: ears and resonances both count in octaves. */
double *ebb_unit_grid(ebb_arena *arena, double low, double high, size_t n)
{
    double *hz = EBB_NEW(arena, double, n);
    for (size_t i = 0; hz != NULL && i < n; i++)
        hz[i] = low * pow(high / low, (double)i / (double)(n - 1));
    return hz;
}

/* The arrays while they are filled. */
typedef struct columns {
    double _Complex *z;
    double *hz, *normal, *diffuse, *bulk, *patch, *area, *conductance, *transmitted;
} columns;

/* One piece of memory, so that one question tells whether there was enough. */
static bool columns_new(ebb_arena *arena, size_t n, columns *c)
{
    double *all = EBB_NEW(arena, double, 8 * n);
    c->z = EBB_NEW(arena, double _Complex, n);
    if (all == NULL || c->z == NULL)
        return false;
    double **const column[8] = {&c->hz,    &c->normal, &c->diffuse,     &c->bulk,
                                &c->patch, &c->area,   &c->conductance, &c->transmitted};
    for (size_t i = 0; i < 8; i++)
        *column[i] = all + i * n;
    return true;
}

/* Everything in a row follows from this one number. */
static double _Complex beta_at(const ebb_study *study, double hz)
{
    return ebb_assembly_beta(&study->unit->assembly, &study->air, NULL, EBB_UNIT_TWO_PI * hz);
}

/* The finite unit comes apart from this: it is a hundred times the work. */
static void fill_row(const ebb_study *study, const columns *c, size_t i)
{
    const ebb_unit *unit = study->unit;
    const ebb_air *air = &study->air;
    const double hz = c->hz[i];
    const double _Complex beta = beta_at(study, hz);
    c->z[i] = air->density * air->speed / beta;
    c->normal[i] = ebb_alpha_normal(beta);
    c->diffuse[i] = ebb_alpha_diffuse(beta);
    c->conductance[i] = creal(beta);
    c->transmitted[i] = ebb_assembly_transmitted(&unit->assembly, air, hz);
    if (unit->assembly.kind == EBB_ASSEMBLY_LAYERS)
        c->bulk[i] = ebb_assembly_diffuse(&unit->assembly, air, hz, EBB_UNIT_TWO_PI / 4, true);
}

/* The finite unit is told as a coefficient of its face, so that it can stand beside the others, and
 * as an area, which is what it is. */
static void fill_patch(const ebb_study *study, const columns *c, size_t i, double patch)
{
    c->patch[i] = patch;
    c->area[i] = patch * study->unit->face[0] * study->unit->face[1];
}

/* Exact, for the rows that people read. */
static void fill_patches(const ebb_study *study, const columns *c, size_t n)
{
    for (size_t i = 0; i < n; i++)
        fill_patch(
            study, c, i,
            ebb_alpha_patch(beta_at(study, c->hz[i]), study->unit->face, &study->air, c->hz[i]));
}

/* One radiation table for every STRIDE rows. */
static void fill_patches_coarse(const ebb_study *study, const columns *c, size_t n)
{
    enum { STRIDE = 12 };
    ebb_unit_patch pair[2], here;
    double hz[2] = {c->hz[0], c->hz[0]};
    ebb_unit_patch_make(study->unit->face, &study->air, hz[0], &pair[1]);
    for (size_t i = 0; i < n; i++) {
        if (i % STRIDE == 0 && i + 1 < n) {
            pair[0] = pair[1];
            hz[0] = c->hz[i];
            hz[1] = c->hz[i + STRIDE < n ? i + STRIDE : n - 1];
            ebb_unit_patch_make(study->unit->face, &study->air, hz[1], &pair[1]);
        }
        ebb_unit_patch_between(pair, hz, c->hz[i], &here);
        fill_patch(study, c, i, ebb_unit_patch_alpha(&here, beta_at(study, c->hz[i])));
    }
}

/* Bulk-reacting values are left out where they would only repeat the local ones. */
ebb_status ebb_unit_spectrum(ebb_ctx *ctx, const ebb_study *study, size_t n, const double *hz,
                             bool coarse, ebb_spectrum *spectrum)
{
    columns c;
    if (!columns_new(study->arena, n, &c))
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    memcpy(c.hz, hz, n * sizeof *hz);
    for (size_t i = 0; i < n; i++)
        fill_row(study, &c, i);
    if (coarse)
        fill_patches_coarse(study, &c, n);
    else
        fill_patches(study, &c, n);
    const bool layers = study->unit->assembly.kind == EBB_ASSEMBLY_LAYERS;
    *spectrum = (ebb_spectrum){.n = n,
                               .hz = c.hz,
                               .z = c.z,
                               .normal = c.normal,
                               .diffuse = c.diffuse,
                               .bulk = layers ? c.bulk : NULL,
                               .patch = c.patch,
                               .area = c.area,
                               .conductance = c.conductance,
                               .transmitted = c.transmitted};
    return EBB_OK;
}
