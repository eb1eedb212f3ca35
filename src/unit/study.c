/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A study of a unit: all its parts in their order. */
#include "private.h"

#include <string.h>

#define FINE_ROWS 257 /* a 48th of an octave */

/* Third octaves as the trade names them, and 30 Hz, at which deep absorbers are compared. */
static const double TABLE_HZ[] = {20, 25, 30, 31.5, 40, 50, 63, 80, 100, 125, 160, 200};
enum { TABLE_ROWS = sizeof TABLE_HZ / sizeof TABLE_HZ[0] };

/* The peak is looked for on the fine curve; the table is too coarse for a narrow one. */
static ebb_status curves(ebb_ctx *ctx, ebb_study *study)
{
    const double *fine = ebb_unit_grid(study->arena, EBB_UNIT_LOW, EBB_UNIT_HIGH, FINE_ROWS);
    if (fine == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    ebb_status status = ebb_unit_spectrum(ctx, study, TABLE_ROWS, TABLE_HZ, false, &study->table);
    if (status == EBB_OK)
        status = ebb_unit_spectrum(ctx, study, FINE_ROWS, fine, true, &study->fine);
    if (status == EBB_OK)
        ebb_unit_band(study);
    return status;
}

/* The unit's own weight counts, whatever its parts add up to: it may have been put on a scale. */
static void weigh(ebb_study *study)
{
    const ebb_unit *unit = study->unit;
    if (unit->assembly.kind == EBB_ASSEMBLY_CABINET)
        ebb_cabinet_weights(unit->assembly.cabinet, &study->weights);
    else
        study->weights = (ebb_weights){NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    study->weights.total = unit->mass;
}

/* The texts are constant, the list is the study's. */
static ebb_status cautions(ebb_ctx *ctx, ebb_study *study)
{
    const char *list[EBB_UNIT_CAUTIONS];
    const size_t n = ebb_unit_cautions(study->unit, list);
    const char **kept = EBB_NEW(study->arena, const char *, n);
    if (kept == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    memcpy(kept, list, n * sizeof *list);
    study->caution = kept;
    study->n_cautions = n;
    return EBB_OK;
}

/* Later parts read what the earlier ones found. */
static ebb_status fill(ebb_ctx *ctx, ebb_study *study, ebb_units units)
{
    ebb_status status = curves(ctx, study);
    if (status == EBB_OK)
        status = ebb_unit_fronts(ctx, study);
    if (status == EBB_OK)
        status = ebb_unit_budget(ctx, study);
    if (status == EBB_OK)
        status = ebb_unit_changes(ctx, study);
    if (status == EBB_OK)
        status = ebb_unit_remarks(ctx, study, units);
    if (status == EBB_OK)
        status = cautions(ctx, study);
    if (status == EBB_OK)
        weigh(study);
    return status;
}

/* The study lives in its own arena from the first byte: a failure on the way frees it all at once.
 */
ebb_status ebb_study_new(ebb_ctx *ctx, const ebb_unit *unit, const ebb_air *air, ebb_units units,
                         ebb_study **study)
{
    *study = NULL;
    if (!(unit->face[0] > 0 && unit->face[1] > 0))
        return ebb_fail(ctx, EBB_E_RANGE, "unit \"%s\": a face of %g x %g m can not be studied",
                        unit->name, unit->face[0], unit->face[1]);
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_study *made = EBB_NEW(arena, ebb_study, 1);
    ebb_status status = EBB_OK;
    if (made == NULL) {
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    } else {
        made->arena = arena;
        made->unit = unit;
        made->air = *air;
        status = fill(ctx, made, units);
    }
    if (status != EBB_OK) {
        ebb_arena_free(arena);
        return status;
    }
    *study = made;
    return EBB_OK;
}

/* The study itself lies in the arena that is freed. */
void ebb_study_free(ebb_study *study)
{
    if (study != NULL)
        ebb_arena_free(study->arena);
}
