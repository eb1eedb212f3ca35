/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Setting a search up: the candidate model once per room and use; then starts side by side.
 */
#include "search.h"

#include <math.h>
#include <string.h>

/* Enough to choose by, within about 0.4 dB of third-octave level; the choice is solved again. */
#define RICHNESS 0.2
/* Cover and depth assumed for the size of the room before anything is placed. */
#define GUESS_COVER 0.3

/* ---- the candidate model
 * --------------------------------------------------------------------------- */

static ebb_status fixed_patches(ebb_ctx *ctx, ebb_search *s)
{
    for (size_t i = 0; i < s->n_fixed; i++)
        s->fixed_index[i] = i;
    return ebb_room_patches(ctx, s->job, s->room, s->room->n_placed, s->room->placed, s->fixed);
}

static ebb_status make_model(ebb_ctx *ctx, ebb_arena *scratch, ebb_search *s)
{
    size_t n = s->n_fixed + s->spots.n;
    ebb_patch *patches = EBB_NEW(scratch, ebb_patch, n);
    if (!patches)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(patches, s->fixed, s->n_fixed * sizeof *patches);
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < s->spots.n && status == EBB_OK; i++) {
        const ebb_spot *spot = &s->spots.spot[i];
        patches[s->n_fixed + i].assembly = &s->job->absorbers[spot->unit_like].assembly;
        status = ebb_patch_on(ctx, s->room, spot->surface, spot->at, spot->size,
                              &patches[s->n_fixed + i]);
    }
    /* The first options' stations: with their residuals in the basis even a coarse one is true
     * there and nearby. */
    const ebb_stations *st = &s->stations;
    ebb_vec3 *points = EBB_NEW(scratch, ebb_vec3, st->n_sources + st->n_receivers);
    if (!points)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(points, st->source, st->n_sources * sizeof *points);
    memcpy(points + st->n_sources, st->receiver, st->n_receivers * sizeof *points);
    const double band[2] = {s->grid.lowest, s->grid.hz[s->grid.n_hz - 1]};
    ebb_geometry geometry = {0};
    if (status == EBB_OK)
        status = ebb_geometry_of(ctx, s->job, s->room, band[1], band, &geometry);
    geometry.n_points = st->n_sources + st->n_receivers;
    geometry.points = points;
    geometry.n_patches = n;
    geometry.patches = patches;
    geometry.richness = RICHNESS;
    if (status == EBB_OK)
        status = ebb_reduced_new(ctx, &geometry, &s->reduced);
    geometry.highest = 1.2 * s->limits->decay_highest;
    return status == EBB_OK ? ebb_reduced_new(ctx, &geometry, &s->modal) : status;
}

/* Constant and slopes of every spot. A face of several cells is searched as one constant. */
static double *make_vectors(const ebb_search *s, const ebb_reduced *reduced)
{
    size_t size = ebb_reduced_size(reduced);
    double *vectors = EBB_NEW(s->arena, double, s->spots.n *EBB_SPOT_PORTS *size);
    for (size_t i = 0; vectors && i < s->spots.n; i++) {
        size_t patch = s->n_fixed + i;
        bool one_cell = ebb_reduced_ports(reduced, patch) <= 7;
        for (size_t q = 0; q < (one_cell ? EBB_SPOT_PORTS : 1); q++)
            memcpy(vectors + (i * EBB_SPOT_PORTS + q) * size,
                   ebb_reduced_port(reduced, patch, one_cell ? q + 1 : 0), size * sizeof(double));
    }
    return vectors;
}

/* Which units can hang at which spots whatever else is placed. */
static void fill_clear(ebb_search *s)
{
    size_t n = s->job->n_units;
    for (size_t i = 0; i < s->spots.n; i++)
        for (size_t u = 0; u < n; u++) {
            const ebb_spot *spot = &s->spots.spot[i];
            const ebb_unit *unit = &s->job->absorbers[u];
            const double *like = s->job->absorbers[spot->unit_like].face;
            ebb_block block = ebb_spot_block(s->room, spot, unit->depth);
            s->clear[i * n + u] = unit->face[0] == like[0] && unit->face[1] == like[1] &&
                                  ebb_unit_fits(unit, s->room, spot->surface) &&
                                  ebb_block_is_clear(s->room, &s->stations, &block);
        }
}

void ebb_search_vary(ebb_search *search, const ebb_job *job)
{
    search->job = job;
    fill_clear(search);
}

static ebb_status open_search(ebb_ctx *ctx, ebb_search *s, ebb_use use)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_status status =
        ebb_stations_make(ctx, s->arena, s->job, s->room, s->limits, use, &s->stations);
    double lowest =
        use == EBB_USE_VOICE ? fmax(s->job->lowest, s->limits->voice_lowest) : s->job->lowest;
    ebb_grid_make(s->limits, lowest, &s->grid);
    if (status == EBB_OK)
        status = ebb_spots_make(ctx, s->arena, s->job, s->room, &s->spots);
    s->n_fixed = s->room->n_openings + s->room->n_placed;
    s->fixed = EBB_NEW(s->arena, ebb_patch, s->n_fixed);
    s->fixed_index = EBB_NEW(s->arena, size_t, s->n_fixed);
    if (status == EBB_OK && (!s->fixed || !s->fixed_index || !scratch))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = fixed_patches(ctx, s);
    if (status == EBB_OK)
        status = make_model(ctx, scratch, s);
    if (status == EBB_OK) {
        s->vectors = make_vectors(s, s->reduced);
        s->modal_vectors = make_vectors(s, s->modal);
        s->clear = EBB_NEW(s->arena, unsigned char, s->spots.n * s->job->n_units);
        if (s->vectors && s->modal_vectors && s->clear)
            fill_clear(s);
        else
            status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_search_new(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                          const ebb_limits *limits, ebb_use use, ebb_search **search)
{
    *search = NULL;
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_search *made = EBB_NEW(arena, ebb_search, 1);
    if (!made) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    *made = (ebb_search){.arena = arena, .job = job, .room = room, .limits = limits};
    ebb_status status = open_search(ctx, made, use);
    if (status == EBB_OK)
        *search = made;
    else
        ebb_search_free(made);
    return status;
}

void ebb_search_free(ebb_search *search)
{
    if (!search)
        return;
    ebb_reduced_free(search->reduced);
    ebb_reduced_free(search->modal);
    ebb_arena_free(search->arena);
}

const ebb_stations *ebb_search_stations(const ebb_search *search)
{
    return &search->stations;
}

/* ---- running
 * ------------------------------------------------------------------------------------------ */

ebb_status ebb_search_layout(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
                             const ebb_climbed *from, ebb_layout *layout)
{
    const ebb_room *room = s->room;
    const ebb_stations *st = &s->stations;
    *layout = (ebb_layout){.n_placed = room->n_placed + from->n};
    layout->placed = EBB_NEW(arena, ebb_placed, layout->n_placed);
    layout->seats = EBB_NEW(arena, ebb_vec3, room->n_seats);
    layout->speakers = EBB_NEW(arena, ebb_vec3, room->n_speakers);
    if (!layout->placed || !layout->seats || !layout->speakers)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(layout->placed, room->placed, room->n_placed * sizeof *layout->placed);
    for (size_t i = 0; i < from->n; i++) {
        const ebb_spot *spot = &s->spots.spot[from->pick[i].spot];
        layout->placed[room->n_placed + i] = (ebb_placed){
            from->pick[i].kind, spot->surface, {spot->at[0], spot->at[1]}, spot->turned};
    }
    size_t source_option = st->tied ? 0 : from->option[0];
    memcpy(layout->seats, st->seat_at + from->option[1] * room->n_seats,
           room->n_seats * sizeof *layout->seats);
    memcpy(layout->speakers, st->speaker_at + source_option * room->n_speakers,
           room->n_speakers * sizeof *layout->speakers);
    ebb_layout_count(s->job, room, layout);
    return EBB_OK;
}

/* What units will take of the room, before any is placed: a typical cover of a typical depth. */
static void guess_scale(const ebb_search *s, double scale[3])
{
    double depth = 0, n = 0;
    for (size_t u = 0; u < s->job->n_units; u++)
        if (s->job->absorbers[u].depth <= s->job->allowance.depth) {
            depth += s->job->absorbers[u].depth;
            n++;
        }
    double loss = n == 0 ? 0 : fmin(GUESS_COVER, s->job->allowance.cover) * depth / n;
    for (int d = 0; d < 3; d++)
        scale[d] = 1 - (d == 2 ? 1 : 2) * loss / s->room->size[d];
}

/* All starts, best score first, and the spread of their wrong shares. */
static ebb_status all_starts(ebb_ctx *ctx, ebb_arena *arena, const ebb_base *base,
                             const ebb_effort *effort, ebb_climbed **sorted, double spread[2])
{
    size_t n = effort->starts;
    ebb_climbed *results = *sorted = EBB_NEW(arena, ebb_climbed, n);
    ebb_pick *picks = EBB_NEW(arena, ebb_pick, n * base->spots->n);
    if (!results || !picks)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++)
        results[i].pick = picks + i * base->spots->n;
    if (ebb_climb_all(base, effort, results) != EBB_OK)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory in the placement search");
    spread[0] = spread[1] = results[0].wrong;
    for (size_t i = 1; i < n; i++) {
        spread[0] = fmin(spread[0], results[i].wrong);
        spread[1] = fmax(spread[1], results[i].wrong);
    }
    return EBB_OK;
}

/* A greedy start in the guessed size, to know what size its units leave. */
static ebb_status settle_scale(ebb_ctx *ctx, const ebb_search *s, double scale[3])
{
    guess_scale(s, scale);
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_base base;
    ebb_layout layout;
    ebb_effort quick = {.starts = 1};
    ebb_climbed found = {.pick = EBB_NEW(scratch, ebb_pick, s->spots.n)};
    ebb_status status = found.pick ? ebb_search_base(ctx, scratch, s, scale, true, &base)
                                   : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK && ebb_climb(&base, &quick, 0, 0, &found) != EBB_OK)
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory in the placement search");
    if (status == EBB_OK)
        status = ebb_search_layout(ctx, scratch, s, &found, &layout);
    if (status == EBB_OK)
        ebb_layout_scale(s->room, &layout, scale);
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_search_run(ebb_ctx *ctx, ebb_search *search, const ebb_effort *effort,
                          ebb_arena *arena, ebb_finalist finalist[EBB_FINALISTS], size_t *n,
                          double spread[2])
{
    double scale[3];
    ebb_status status = settle_scale(ctx, search, scale);
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_base base;
    ebb_climbed *sorted = NULL;
    if (status == EBB_OK)
        status = ebb_search_base(ctx, scratch, search, scale, true, &base);
    if (status == EBB_OK)
        status = all_starts(ctx, scratch, &base, effort, &sorted, spread);
    *n = effort->starts < EBB_FINALISTS ? effort->starts : EBB_FINALISTS;
    for (size_t i = 0; i < *n && status == EBB_OK; i++) {
        status = ebb_search_layout(ctx, arena, search, &sorted[i], &finalist[i].layout);
        memcpy(finalist[i].option, sorted[i].option, sizeof sorted[i].option);
    }
    ebb_arena_free(scratch);
    return status;
}

ebb_status ebb_search_untreated(ebb_ctx *ctx, ebb_search *search, size_t option[2])
{
    const double scale[3] = {1, 1, 1};
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_base base;
    ebb_status status = ebb_search_base(ctx, scratch, search, scale, false, &base);
    if (status == EBB_OK && ebb_climb_stations(&base, option) != EBB_OK)
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_arena_free(scratch);
    return status;
}
