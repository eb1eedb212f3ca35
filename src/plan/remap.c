/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One size of a room after another, bare.
 *
 * One reduced model of the room in the middle of its limits is stretched to every size: the wave
 * engine's states carry a scale per axis. Damped modes are found anew at the start of each line of
 * sizes and followed along it in small steps.
 */
#include "remap.h"

#include <math.h>
#include <string.h>

#define RICHNESS 0.2      /* as a search: within about 0.4 dB of third-octave level */
#define LOWEST_MODE 12.0  /* Hz */
#define HIGHEST_MODE 1.25 /* times the highest band of the decay test */
#define SMALL_STEP 0.02   /* relative change of size over which modes are followed */

/* ---- the model ------------------------------------------------------------------------------- */

static ebb_status project(ebb_ctx *ctx, ebb_remap *m, double highest, const ebb_stations *st,
                          ebb_patch *patches, ebb_reduced **model)
{
    ebb_vec3 *points = EBB_NEW(m->arena, ebb_vec3, st->n_sources + st->n_receivers);
    if (!points)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(points, st->source, st->n_sources * sizeof *points);
    memcpy(points + st->n_sources, st->receiver, st->n_receivers * sizeof *points);
    const double band[2] = {m->grid.lowest, highest};
    ebb_geometry geometry;
    ebb_status status = ebb_geometry_of(ctx, m->job, &m->middle, band[1], band, &geometry);
    geometry.n_points = st->n_sources + st->n_receivers;
    geometry.points = points;
    geometry.n_patches = m->n_used;
    geometry.patches = patches;
    geometry.richness = RICHNESS;
    return status == EBB_OK ? ebb_reduced_new(ctx, &geometry, model) : status;
}

static void middle_of(const ebb_room *room, double size[3])
{
    for (int d = 0; d < 3; d++)
        size[d] = isfinite(room->may_change[d][0])
                      ? (room->may_change[d][0] + room->may_change[d][1]) / 2
                      : room->size[d];
}

ebb_status ebb_remap_open(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, ebb_use use,
                          ebb_remap *m)
{
    *m = (ebb_remap){.arena = ebb_arena_new(ctx), .job = job, .room = room, .use = use};
    double size[3];
    ebb_stations st;
    middle_of(room, size);
    if (!m->arena)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_limits_of(job, &m->limits);
    ebb_grid_make(&m->limits,
                  use == EBB_USE_VOICE ? fmax(job->lowest, m->limits.voice_lowest) : job->lowest,
                  &m->grid);
    ebb_status status = ebb_room_resized(m->arena, job, room, size, &m->middle);
    if (status != EBB_OK)
        return ebb_fail(ctx, status,
                        "a door, window or unit does not fit the room in the middle of its limits");
    status = ebb_stations_make(ctx, m->arena, job, &m->middle, &m->limits, use, &st);
    m->n_used = room->n_openings + room->n_placed;
    ebb_patch *patches = EBB_NEW(m->arena, ebb_patch, m->n_used);
    m->used = EBB_NEW(m->arena, size_t, m->n_used);
    if (status == EBB_OK && (!patches || !m->used))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < m->n_used && status == EBB_OK; i++)
        m->used[i] = i;
    if (status == EBB_OK)
        status =
            ebb_room_patches(ctx, job, &m->middle, m->middle.n_placed, m->middle.placed, patches);
    if (status == EBB_OK)
        status = project(ctx, m, m->grid.hz[m->grid.n_hz - 1], &st, patches, &m->model);
    if (status == EBB_OK)
        status = project(ctx, m, HIGHEST_MODE * m->grid.band_hz[m->grid.n_bands - 1], &st, patches,
                         &m->modal);
    return status;
}

void ebb_remap_close(ebb_remap *m)
{
    ebb_reduced_free(m->model);
    ebb_reduced_free(m->modal);
    ebb_arena_free(m->arena);
}

/* ---- one size -------------------------------------------------------------------------------- */

/* Points of all options in the coordinates of the model. */
static ebb_vec3 *unstretched(ebb_arena *arena, const double scale[3], size_t n,
                             const ebb_vec3 *from)
{
    ebb_vec3 *to = EBB_NEW(arena, ebb_vec3, n);
    for (size_t i = 0; to && i < n; i++)
        to[i] = (ebb_vec3){from[i].x / scale[0], from[i].y / scale[1], from[i].z / scale[2]};
    return to;
}

/* What is solved at one size. */
typedef struct sized {
    ebb_room room;
    ebb_stations st;
    ebb_state state; /* all options */
    double _Complex *all;
    size_t option[2];
    double _Complex *h; /* judged paths at the options kept */
} sized;

static ebb_status prepare(ebb_arena *arena, const ebb_remap *m, const double size[3], sized *s)
{
    ebb_status status = ebb_room_resized(arena, m->job, m->room, size, &s->room);
    if (status == EBB_OK)
        status = ebb_stations_make(NULL, arena, m->job, &s->room, &m->limits, m->use, &s->st);
    if (status != EBB_OK)
        return status;
    const ebb_stations *st = &s->st;
    ebb_state_of(m->job, &m->middle, &s->state);
    for (int d = 0; d < 3; d++)
        s->state.scale[d] = size[d] / m->middle.size[d];
    s->state.n_used = m->n_used;
    s->state.used = m->used;
    s->state.n_sources = st->source_options * st->n_sources;
    s->state.n_receivers = st->receiver_options * st->n_receivers;
    s->state.sources = unstretched(arena, s->state.scale, s->state.n_sources, st->source);
    s->state.receivers = unstretched(arena, s->state.scale, s->state.n_receivers, st->receiver);
    s->all =
        EBB_NEW(arena, double _Complex, s->state.n_sources * s->state.n_receivers * m->grid.n_hz);
    s->h = EBB_NEW(arena, double _Complex, st->n_paths * m->grid.n_hz);
    return s->state.sources && s->state.receivers && s->all && s->h ? EBB_OK : EBB_E_NOMEM;
}

/* Responses of the judged paths with stations at the given options. */
static void pick_paths(const ebb_remap *m, sized *s, const size_t option[2])
{
    const ebb_stations *st = &s->st;
    for (size_t p = 0; p < st->n_paths; p++) {
        size_t source = option[0] * st->n_sources + st->path[p][0];
        size_t receiver = option[1] * st->n_receivers + st->path[p][1];
        memcpy(s->h + p * m->grid.n_hz,
               s->all + (source * s->state.n_receivers + receiver) * m->grid.n_hz,
               m->grid.n_hz * sizeof *s->h);
    }
}

static ebb_status read_levels(ebb_arena *arena, const ebb_remap *m, sized *s,
                              const ebb_modes *modes, ebb_reading *reading)
{
    const double *size = s->room.size;
    return ebb_reading_make(NULL, arena, &m->grid, &m->limits, m->use, size[0] * size[1] * size[2],
                            s->st.shape[0], s->st.shape[1], s->h, modes, reading);
}

/* Stations at which the levels are least wrong. */
static ebb_status choose_stations(const ebb_remap *m, sized *s)
{
    double least = INFINITY;
    for (size_t o = 0; o < s->st.source_options; o++)
        for (size_t r = 0; r < s->st.receiver_options; r++) {
            if (s->st.tied && o != r)
                continue;
            const size_t option[2] = {o, r};
            ebb_reading reading;
            ebb_arena *scratch = ebb_arena_new(NULL);
            pick_paths(m, s, option);
            ebb_status status = read_levels(scratch, m, s, NULL, &reading);
            ebb_arena_free(scratch);
            if (status != EBB_OK)
                return status;
            if (reading.wrong_level < least - 1e-12) {
                least = reading.wrong_level;
                memcpy(s->option, option, sizeof option);
            }
        }
    pick_paths(m, s, s->option);
    return EBB_OK;
}

/* Modes at the stations kept: followed from those of the size before where there is one. */
static ebb_status find_modes(const ebb_remap *m, const sized *s, ebb_modes **track)
{
    ebb_state state = s->state;
    state.n_sources = s->st.n_sources;
    state.n_receivers = s->st.n_receivers;
    state.sources = s->state.sources + s->option[0] * state.n_sources;
    state.receivers = s->state.receivers + s->option[1] * state.n_receivers;
    ebb_modes *found = NULL;
    ebb_status status =
        *track ? ebb_modes_follow(NULL, m->modal, &state, *track, &found)
               : ebb_modes_new(NULL, m->modal, &state, LOWEST_MODE,
                               HIGHEST_MODE * m->grid.band_hz[m->grid.n_bands - 1], &found);
    if (status == EBB_OK) {
        ebb_modes_free(*track);
        *track = found;
    }
    return status;
}

/* Residues of the judged paths only; shape and vectors stay with the track. */
static bool judged_modes(ebb_arena *arena, const sized *s, const ebb_modes *track, ebb_modes *out)
{
    size_t pairs = track->n_sources * track->n_receivers;
    *out = *track;
    out->n_sources = s->st.shape[0];
    out->n_receivers = s->st.shape[1];
    out->residue = EBB_NEW(arena, double _Complex, track->n * s->st.n_paths);
    for (size_t i = 0; out->residue && i < track->n; i++)
        for (size_t p = 0; p < s->st.n_paths; p++)
            out->residue[i * s->st.n_paths + p] =
                track
                    ->residue[i * pairs + s->st.path[p][0] * track->n_receivers + s->st.path[p][1]];
    return out->residue != NULL;
}

ebb_status ebb_remap_at(const ebb_remap *m, const double size[3], ebb_modes **track,
                        ebb_shape *shape)
{
    *shape = (ebb_shape){{size[0], size[1], size[2]}, NAN, NAN, NAN};
    ebb_arena *arena = ebb_arena_new(NULL);
    sized s = {0};
    ebb_modes judged;
    ebb_reading reading;
    ebb_status status = arena ? prepare(arena, m, size, &s) : EBB_E_NOMEM;
    if (status == EBB_OK)
        status = ebb_response(NULL, m->model, &s.state, m->grid.n_hz, m->grid.hz, s.all);
    if (status == EBB_OK)
        status = choose_stations(m, &s);
    if (status == EBB_OK)
        status = find_modes(m, &s, track);
    if (status == EBB_OK && !judged_modes(arena, &s, *track, &judged))
        status = EBB_E_NOMEM;
    if (status == EBB_OK)
        status = read_levels(arena, m, &s, &judged, &reading);
    if (status == EBB_OK) {
        shape->wrong = reading.wrong;
        shape->wrong_level = reading.wrong_level;
        shape->wrong_decay = reading.wrong_decay;
    }
    ebb_arena_free(arena);
    return status;
}

bool ebb_remap_near(const double a[3], const double b[3])
{
    for (int d = 0; d < 3; d++)
        if (fabs(a[d] / b[d] - 1) > SMALL_STEP)
            return false;
    return true;
}
