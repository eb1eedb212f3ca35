/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A room of a job as the wave engine takes it: geometry, faces, and what hangs on them as patches.
 */
#include <ebb/field.h>

#include <complex.h>
#include <math.h>

#define PI 3.14159265358979323846

void ebb_state_of(const ebb_job *job, const ebb_room *room, ebb_state *state)
{
    *state = (ebb_state){.air = job->air, .scale = {1, 1, 1}};
    for (size_t s = 0; s < room->n_surfaces; s++)
        state->face[ebb_face_of(room, s)] =
            &job->constructions[room->surfaces[s].construction].assembly;
}

#define LEAST_HINT 0.02 /* |beta| of a wall that hardly yields */

/* Largest |beta| of a surface over a band: how many vectors its face needs in the basis. */
static double wall_hint(const ebb_job *job, const ebb_surface *surface, const double band[2])
{
    const ebb_assembly *made = &job->constructions[surface->construction].assembly;
    double largest = LEAST_HINT;
    for (int i = 0; i <= 20; i++) {
        double hz = band[0] * pow(band[1] / band[0], i / 20.0);
        largest = fmax(largest, cabs(ebb_assembly_beta(made, &job->air, NULL, 2 * PI * hz)));
    }
    return fmin(largest, 1);
}

ebb_status ebb_geometry_of(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, double highest,
                           const double *band, ebb_geometry *geometry)
{
    *geometry = (ebb_geometry){.space = room->space,
                               .size = {room->size[0], room->size[1], room->size[2]},
                               .highest = highest,
                               .speed = job->air.speed};
    if (room->shaped && !room->space)
        return ebb_fail(ctx, EBB_E_RANGE, "room %s has no mesh yet: it was not prepared",
                        room->name);
    for (size_t s = 0; band && s < room->n_surfaces; s++)
        geometry->wall[ebb_face_of(room, s)] = wall_hint(job, &room->surfaces[s], band);
    return EBB_OK;
}

ebb_status ebb_room_patches(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, size_t n_placed,
                            const ebb_placed *hung, ebb_patch *patches)
{
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < room->n_openings && status == EBB_OK; i++) {
        const ebb_opening *o = &room->openings[i];
        patches[i].assembly = &job->constructions[o->construction].assembly;
        status = ebb_patch_on(ctx, room, o->surface, o->at, o->size, &patches[i]);
    }
    for (size_t i = 0; i < n_placed && status == EBB_OK; i++) {
        const ebb_placed *placed = &hung[i];
        const ebb_unit *unit = &job->absorbers[placed->unit];
        ebb_patch *patch = &patches[room->n_openings + i];
        double size[2];
        ebb_placed_size(unit, placed, size);
        patch->assembly = &unit->assembly;
        patch->piston = unit->piston;
        patch->vary = 1 + placed->unit;
        status = ebb_patch_on(ctx, room, placed->surface, placed->at, size, patch);
    }
    return status;
}
