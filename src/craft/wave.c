/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The mode and its units in the wave engine: the bare room for its damped modes, and a check of
 * what the single-mode model says of the units.
 */
#include "private.h"

#define RICHNESS 0.5
#define SPAN 1.4    /* times and over the frequency: where modes and peaks are looked for */
#define POINTS 160  /* frequencies of a response */
#define WALL 0.1    /* |beta| to be expected of a face */
#define CORNER 0.02 /* share of the room: source and receiver stand in opposite corners */

/* A room with patches, ready to be solved. */
typedef struct stage {
    ebb_reduced *reduced;
    ebb_state state;
    ebb_vec3 point[2];
} stage;

static ebb_status new_patches(ebb_ctx *ctx, const ebb_craft_mode *mode, const ebb_unit *unit,
                              ebb_patch *patch)
{
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < mode->n && unit && status == EBB_OK; i++, patch++) {
        double size[2];
        ebb_placed_size(unit, &mode->placed[i], size);
        patch->assembly = &unit->assembly;
        patch->piston = true;
        status =
            ebb_patch_on(ctx, mode->room, mode->placed[i].surface, mode->placed[i].at, size, patch);
    }
    return status;
}

/* unit NULL: the bare room. */
static ebb_status open_stage(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                             const ebb_craft_mode *mode, const ebb_unit *unit, double highest,
                             stage *st)
{
    const ebb_room *room = mode->room;
    const size_t old = room->n_openings + room->n_placed, n = old + (unit ? mode->n : 0);
    ebb_patch *patch = EBB_NEW(arena, ebb_patch, n);
    size_t *used = EBB_NEW(arena, size_t, n);
    if (patch == NULL || used == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a room");
    const double *l = room->size;
    st->point[0] = (ebb_vec3){CORNER * l[0], CORNER * l[1], CORNER * l[2]};
    st->point[1] = (ebb_vec3){(1 - CORNER) * l[0], (1 - CORNER) * l[1], (1 - CORNER) * l[2]};
    ebb_state_of(job, room, &st->state);
    ebb_geometry geometry;
    ebb_status status = ebb_geometry_of(ctx, job, room, fmax(20, highest), NULL, &geometry);
    for (size_t s = 0; s < room->n_surfaces; s++)
        geometry.wall[ebb_face_of(room, s)] = WALL;
    geometry.n_points = 2;
    geometry.points = st->point;
    geometry.n_patches = n;
    geometry.patches = patch;
    geometry.richness = RICHNESS;
    if (status == EBB_OK)
        status = ebb_room_patches(ctx, job, room, room->n_placed, room->placed, patch);
    if (status == EBB_OK)
        status = new_patches(ctx, mode, unit, patch + old);
    for (size_t i = 0; i < n; i++)
        used[i] = i;
    st->state.n_used = n;
    st->state.used = used;
    st->state.n_sources = st->state.n_receivers = 1;
    st->state.sources = st->point;
    st->state.receivers = st->point + 1;
    return status == EBB_OK ? ebb_reduced_new(ctx, &geometry, &st->reduced) : status;
}

/* ---- the mode -------------------------------------------------------------------------------- */

static ebb_status choose(ebb_ctx *ctx, const ebb_target *target, const ebb_modes *modes,
                         ebb_craft_mode *mode)
{
    const double hz = target->tuning.hz;
    const ebb_mode *best = NULL;
    for (size_t i = 0; i < modes->n; i++)
        if (best == NULL || fabs(modes->mode[i].hz - hz) < fabs(best->hz - hz))
            best = &modes->mode[i];
    if (best == NULL)
        return ebb_fail(ctx, EBB_E_INPUT, "%s: \"%s\" has no mode near %.1f Hz", target->name,
                        mode->room->name, hz);
    mode->hz = best->hz;
    mode->t60 = best->t60;
    memcpy(mode->label, best->label, sizeof mode->label);
    return EBB_OK;
}

ebb_status ebb_craft_mode_find(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                               ebb_craft_mode *mode)
{
    const ebb_job *job = target->tuning.job;
    const double hz = target->tuning.hz;
    stage st = {0};
    ebb_modes *modes = NULL;
    *mode = (ebb_craft_mode){.room = &job->rooms[target->tuning.room]};
    ebb_status status = open_stage(ctx, arena, job, mode, NULL, SPAN * hz, &st);
    if (status == EBB_OK)
        status = ebb_modes_new(ctx, st.reduced, &st.state, hz / SPAN, SPAN * hz, &modes);
    if (status == EBB_OK)
        status = choose(ctx, target, modes, mode);
    ebb_modes_free(modes);
    ebb_reduced_free(st.reduced);
    return status == EBB_OK ? ebb_craft_mode_place(ctx, arena, target, mode) : status;
}

/* ---- the check ------------------------------------------------------------------------------- */

/* Index of the rigid mode of a label within the basis, its size when it is not there. */
static size_t mode_index(const ebb_reduced *reduced, const int label[3])
{
    size_t n;
    const int *labels;
    (void)ebb_reduced_rigid(reduced, &n, &labels);
    for (size_t i = 0; i < n; i++)
        if (memcmp(labels + 3 * i, label, 3 * sizeof *label) == 0)
            return i;
    return ebb_reduced_size(reduced);
}

/* Highest answer of the mode to a source of its own shape, dB: what other modes add to a response
 * at points is left out, what they do to this mode is not. The first vectors of a basis made from a
 * geometry are its rigid modes. */
static ebb_status highest_level(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                                const ebb_craft_mode *mode, const ebb_unit *unit, double *level)
{
    double hz[POINTS];
    double _Complex g[POINTS];
    stage st = {0};
    for (size_t i = 0; i < POINTS; i++)
        hz[i] = mode->hz * pow(SPAN, 2.0 * (double)i / (POINTS - 1) - 1);
    hz[POINTS / 2] = mode->hz; /* the bare peak itself */
    ebb_status status = open_stage(ctx, arena, job, mode, unit, SPAN * mode->hz, &st);
    const size_t size = status == EBB_OK ? ebb_reduced_size(st.reduced) : 0;
    const size_t at = status == EBB_OK ? mode_index(st.reduced, mode->label) : 0;
    double *vector = EBB_NEW(arena, double, size);
    if (status == EBB_OK && (vector == NULL || at == size))
        status = ebb_fail(ctx, EBB_E_NUMERIC, "the mode is not in the wave engine's basis");
    if (status == EBB_OK) {
        vector[at] = 1;
        status = ebb_green(ctx, st.reduced, &st.state, POINTS, hz, 1, vector, g);
    }
    *level = -INFINITY;
    for (size_t i = 0; i < POINTS && status == EBB_OK; i++)
        *level = fmax(*level, 20 * log10(cabs(g[i])));
    ebb_reduced_free(st.reduced);
    return status;
}

ebb_status ebb_craft_mode_wave(ebb_ctx *ctx, const ebb_target *target, const ebb_craft_mode *mode,
                               const ebb_unit *unit, double *fall)
{
    const ebb_job *job = target->tuning.job;
    ebb_arena *arena = ebb_arena_new(ctx);
    double before = 0, after = 0;
    ebb_status status = highest_level(ctx, arena, job, mode, NULL, &before);
    if (status == EBB_OK)
        status = highest_level(ctx, arena, job, mode, unit, &after);
    *fall = status == EBB_OK ? before - after : NAN;
    ebb_arena_free(arena);
    return status;
}
