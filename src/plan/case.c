/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One configuration solved and judged: a layout with its stations, on a model of its own.
 */
#include "stage.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define LOWEST_MODE 12.0     /* Hz */
#define HIGHEST_MODE 1.25    /* times the highest band of the decay test */
#define LOWEST_SNAPSHOT 16.0 /* Hz */
#define RICHNESS 0.25 /* 1/3-octave levels within 0.3 dB of a rich model, docs/architecture.md */

/* ---- layouts -----------------------------------------------------------------------------------
 */

void ebb_layout_scale(const ebb_room *room, const ebb_layout *layout, double scale[3])
{
    for (int d = 0; d < 3; d++)
        scale[d] = layout->size[d] / room->size[d];
}

/* The room shrinks along each unit's normal by the unit's volume: the volume left is exact, the
 * steps between units are not seen. */
void ebb_layout_count(const ebb_job *job, const ebb_room *room, ebb_layout *layout)
{
    double covered = 0, volume = ebb_room_volume(room);
    layout->mass = layout->cost = 0;
    memcpy(layout->size, room->size, sizeof layout->size);
    for (size_t i = 0; i < layout->n_placed; i++) {
        const ebb_unit *unit = &job->absorbers[layout->placed[i].unit];
        ebb_vec3 n = ebb_surface_normal(&room->surfaces[layout->placed[i].surface]);
        const double facing[3] = {n.x * n.x, n.y * n.y, n.z * n.z};
        double area = unit->face[0] * unit->face[1];
        layout->mass += unit->mass;
        layout->cost += unit->cost;
        for (int d = 0; d < 3; d++)
            layout->size[d] -= facing[d] * area * unit->depth * room->size[d] / volume;
        covered += area;
    }
    layout->cover = covered / ebb_room_treatable(room);
}

double ebb_layout_volume(const ebb_room *room, const ebb_layout *layout)
{
    double scale[3];
    ebb_layout_scale(room, layout, scale);
    return ebb_room_volume(room) * scale[0] * scale[1] * scale[2];
}

/* ---- states ------------------------------------------------------------------------------------
 */

ebb_vec3 ebb_scaled_point(const ebb_room *room, const double scale[3], ebb_vec3 at)
{
    const double value[3] = {at.x, at.y, at.z};
    double out[3];
    for (int d = 0; d < 3; d++) {
        /* What units take is taken half at each end: the middle of the room stays where it is. */
        double lost = room->size[d] * (1 - scale[d]) / 2;
        double moved = (value[d] - lost) / scale[d];
        out[d] = fmin(fmax(moved, 0), room->size[d]);
    }
    /* Beside an inner corner the stretched place may lie in a wall. */
    ebb_vec3 to = {out[0], out[1], out[2]};
    return !room->shaped || ebb_room_holds(room, to, 0) ? to : at;
}

void ebb_solved_close(ebb_solved *solved)
{
    ebb_reduced_free(solved->small);
    ebb_reduced_free(solved->reduced);
    solved->small = solved->reduced = NULL;
}

/* Model and state of a layout. Arrays in arena, the model is new. */
static ebb_status solve(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                        const ebb_stations *stations, const size_t option[2], const ebb_case *made,
                        ebb_solved *solved)
{
    size_t n_patches = room->n_openings + made->layout.n_placed;
    size_t ns = stations->n_sources, nr = stations->n_receivers, n_points = ns + nr;
    ebb_patch *patches = EBB_NEW(arena, ebb_patch, n_patches);
    solved->used = EBB_NEW(arena, size_t, n_patches);
    solved->points = EBB_NEW(arena, ebb_vec3, n_points);
    if (!patches || !solved->used || !solved->points)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_state *state = &solved->state;
    ebb_state_of(job, room, state);
    ebb_layout_scale(room, &made->layout, state->scale);
    for (size_t i = 0; i < n_patches; i++)
        solved->used[i] = i;
    for (size_t i = 0; i < n_points; i++)
        solved->points[i] = ebb_scaled_point(room, state->scale,
                                             i < ns ? stations->source[option[0] * ns + i]
                                                    : stations->receiver[option[1] * nr + i - ns]);
    state->n_used = n_patches;
    state->used = solved->used;
    state->n_sources = ns;
    state->sources = solved->points;
    state->n_receivers = nr;
    state->receivers = solved->points + ns;
    const double band[2] = {made->grid.lowest, made->grid.hz[made->grid.n_hz - 1]};
    ebb_geometry geometry = {0};
    ebb_status status = ebb_geometry_of(ctx, job, room, band[1], band, &geometry);
    geometry.n_points = n_points;
    geometry.points = solved->points;
    geometry.n_patches = n_patches;
    geometry.patches = patches;
    geometry.richness = RICHNESS;
    if (status == EBB_OK)
        status =
            ebb_room_patches(ctx, job, room, made->layout.n_placed, made->layout.placed, patches);
    return status == EBB_OK ? ebb_reduced_new(ctx, &geometry, &solved->reduced) : status;
}

/* ---- the case ----------------------------------------------------------------------------------
 */

bool ebb_mid_is_right(const ebb_limits *limits, ebb_use use, double volume, const ebb_mid *mid)
{
    if (use != EBB_USE_VOICE)
        return true;                              /* listed as faults, not part of the music rule */
    for (int octave = 1; octave <= 4; octave++) { /* 250 to 2000 Hz */
        double mask[2];
        ebb_mid_mask(limits, use, volume, octave, mask);
        if (mid->t60[octave] > mask[1] || mid->t60[octave] < mask[0])
            return false;
    }
    return mid->speech_index >= limits->speech_index;
}

/* What is read off responses and modes: all that decides whether a case is right. */
static ebb_status read_case(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                            const ebb_room *room, const ebb_limits *limits, double volume,
                            ebb_case *made)
{
    ebb_status status =
        ebb_reading_make(ctx, arena, &made->grid, limits, made->use, volume, made->n_sources,
                         made->n_receivers, made->h, made->modes, &made->reading);
    if (status == EBB_OK)
        status =
            ebb_mid_room(ctx, job, room, made->layout.n_placed, made->layout.placed, &made->mid);
    if (status == EBB_OK && !ebb_mid_is_right(limits, made->use, volume, &made->mid))
        made->reading.right = false;
    return status;
}

static ebb_status judge(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                        const ebb_limits *limits, ebb_use use, ebb_case *made)
{
    ebb_status status =
        read_case(ctx, arena, job, room, limits, ebb_layout_volume(room, &made->layout), made);
    if (status != EBB_OK)
        return status;
    ebb_scene scene = {.job = job,
                       .room = room,
                       .grid = &made->grid,
                       .limits = limits,
                       .use = use,
                       .modes = made->modes,
                       .mid = &made->mid,
                       .n_sources = made->n_sources,
                       .n_receivers = made->n_receivers,
                       .source_names = made->source_names,
                       .receiver_names = made->receiver_names,
                       .sources = made->sources,
                       .receivers = made->receivers};
    return ebb_faults_list(ctx, arena, &scene, &made->reading, &made->faults);
}

/* The stations of the options chosen and the judged paths, in memory that outlives the search. For
 * people the paths are sources times receivers; a talker stands for all its positions. */
static bool copy_stations(ebb_arena *arena, const ebb_stations *from, const size_t option[2],
                          ebb_case *made, ebb_solved *solved)
{
    size_t ns = made->n_sources = from->shape[0], nr = made->n_receivers = from->shape[1];
    size_t(*path)[2] = ebb_arena_alloc(arena, from->n_paths, sizeof *path);
    made->stands = EBB_NEW(arena, ebb_vec3, from->n_sources);
    made->receivers = EBB_NEW(arena, ebb_vec3, nr);
    made->source_names = EBB_NEW(arena, const char *, ns);
    made->receiver_names = EBB_NEW(arena, const char *, nr);
    if (!path || !made->stands || !made->receivers || !made->source_names || !made->receiver_names)
        return false;
    memcpy(path, from->path, from->n_paths * sizeof *path);
    memcpy(made->stands, from->source + option[0] * from->n_sources,
           from->n_sources * sizeof *made->stands);
    memcpy(made->receivers, from->receiver + option[1] * from->n_receivers,
           nr * sizeof *made->receivers);
    made->sources = made->stands; /* of a talker the first */
    made->n_stands = from->n_sources;
    solved->n_paths = made->n_paths = from->n_paths;
    solved->path = made->path = (const size_t(*)[2])path;
    bool ok = true;
    for (size_t i = 0; i < ns; i++)
        ok &= (made->source_names[i] = ebb_arena_text(arena, from->source_names[i])) != NULL;
    for (size_t i = 0; i < nr; i++)
        ok &= (made->receiver_names[i] = ebb_arena_text(arena, from->receiver_names[i])) != NULL;
    return ok;
}

/* Keeps the residues of the judged paths, in the shape people see. */
static void select_residues(const ebb_solved *solved, const size_t shape[2], ebb_modes *modes)
{
    size_t pairs = modes->n_sources * modes->n_receivers;
    for (size_t m = 0; m < modes->n; m++)
        for (size_t p = 0; p < solved->n_paths; p++) /* never ahead of what is still to be read */
            modes->residue[m * solved->n_paths + p] =
                modes->residue[m * pairs + solved->path[p][0] * modes->n_receivers +
                               solved->path[p][1]];
    modes->n_sources = shape[0];
    modes->n_receivers = shape[1];
}

ebb_status ebb_solved_read(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *response_model,
                           const ebb_solved *solved, const ebb_state *state, const ebb_grid *grid,
                           const ebb_modes *start, const size_t shape[2], double _Complex **h,
                           ebb_modes **modes)
{
    size_t n_hz = grid->n_hz, nr = state->n_receivers;
    double _Complex *all = EBB_NEW(arena, double _Complex, state->n_sources *nr *n_hz);
    *h = EBB_NEW(arena, double _Complex, solved->n_paths *n_hz);
    *modes = NULL;
    if (!all || !*h)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_status status = ebb_response(ctx, response_model, state, n_hz, grid->hz, all);
    for (size_t p = 0; p < solved->n_paths && status == EBB_OK; p++)
        memcpy(*h + p * n_hz, all + (solved->path[p][0] * nr + solved->path[p][1]) * n_hz,
               n_hz * sizeof **h);
    if (status == EBB_OK)
        status = start ? ebb_modes_follow(ctx, solved->small, state, start, modes)
                       : ebb_modes_new(ctx, solved->small, state, LOWEST_MODE,
                                       HIGHEST_MODE * grid->band_hz[grid->n_bands - 1], modes);
    if (status == EBB_OK)
        select_residues(solved, shape, *modes);
    return status;
}

ebb_status ebb_case_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                         const ebb_limits *limits, const ebb_stations *stations,
                         const size_t option[2], const ebb_layout *layout, ebb_case *made,
                         ebb_solved *solved)
{
    ebb_solved own = {0};
    *made = (ebb_case){.use = stations->use, .layout = *layout};
    if (!copy_stations(arena, stations, option, made, &own))
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    double lowest =
        stations->use == EBB_USE_VOICE ? fmax(job->lowest, limits->voice_lowest) : job->lowest;
    ebb_grid_make(limits, lowest, &made->grid);
    ebb_status status = solve(ctx, arena, job, room, stations, option, made, &own);
    if (status == EBB_OK)
        status = ebb_reduced_around(ctx, own.reduced, &own.state, NULL, LOWEST_SNAPSHOT,
                                    made->grid.hz[made->grid.n_hz - 1], &own.small);
    if (status == EBB_OK)
        status = ebb_solved_read(ctx, arena, own.reduced, &own, &own.state, &made->grid, NULL,
                                 stations->shape, &made->h, &made->modes);
    if (status == EBB_OK)
        status = judge(ctx, arena, job, room, limits, stations->use, made);
    if (solved && status == EBB_OK)
        *solved = own;
    else
        ebb_solved_close(&own);
    return status;
}

ebb_status ebb_case_again(ebb_ctx *ctx, ebb_arena *arena, const ebb_answer *answer,
                          const ebb_reduced *reduced, const ebb_state *state, double volume,
                          ebb_case *made)
{
    ebb_solved own = {.n_paths = made->n_paths, .path = made->path};
    const size_t shape[2] = {made->n_sources, made->n_receivers};
    made->modes = NULL;
    ebb_status status = ebb_reduced_around(ctx, reduced, state, NULL, LOWEST_SNAPSHOT,
                                           made->grid.hz[made->grid.n_hz - 1], &own.small);
    if (status == EBB_OK)
        status = ebb_solved_read(ctx, arena, reduced, &own, state, &made->grid, NULL, shape,
                                 &made->h, &made->modes);
    if (status == EBB_OK)
        status = read_case(ctx, arena, answer->job, answer->room, &answer->limits, volume, made);
    ebb_solved_close(&own);
    return status;
}
