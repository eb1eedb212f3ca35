/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Setting a search up: the candidate model once per room and use, the Green matrices once per size
 * that the units leave; then starts side by side.
 */
#include "climb.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
/* Enough to choose by, within about 0.4 dB of third-octave level; the choice is solved again. */
#define RICHNESS 0.2
#define GUESS_COVER                                                                                \
    0.3           /* cover and depth assumed for the room's size before anything is placed         \
                   */
#define NOISE 1.2 /* blur of the first choices in starts after the first */

struct ebb_search {
    ebb_arena *arena;
    const ebb_job *job;
    const ebb_room *room;
    const ebb_limits *limits;
    ebb_stations stations;
    ebb_spots spots;
    ebb_grid grid;
    ebb_reduced *reduced; /* over the judged band */
    ebb_reduced *modal;   /* over the band of the decay test only */
    size_t n_fixed;       /* openings and existing units */
    ebb_patch *fixed;
    size_t *fixed_index;
    double *vectors, *modal_vectors; /* port vectors of all spots in either model */
    unsigned char *clear; /* [spot * n_units + unit]: fits the surface, clear of doors and people */
};

/* ---- the candidate model
 * --------------------------------------------------------------------------- */

static ebb_status fixed_patches(ebb_ctx *ctx, ebb_search *s)
{
    const ebb_room *room = s->room;
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < s->n_fixed && status == EBB_OK; i++) {
        s->fixed_index[i] = i;
        if (i < room->n_openings) {
            const ebb_opening *o = &room->openings[i];
            s->fixed[i].assembly = &s->job->constructions[o->construction].assembly;
            status = ebb_patch_on(ctx, room, o->surface, o->at, o->size, &s->fixed[i]);
            continue;
        }
        const ebb_placed *placed = &room->placed[i - room->n_openings];
        const ebb_unit *unit = &s->job->absorbers[placed->unit];
        double size[2];
        ebb_placed_size(unit, placed, size);
        s->fixed[i].assembly = &unit->assembly;
        s->fixed[i].piston = unit->piston;
        status = ebb_patch_on(ctx, room, placed->surface, placed->at, size, &s->fixed[i]);
    }
    return status;
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
    const double *size = s->room->size;
    ebb_geometry geometry = {.size = {size[0], size[1], size[2]},
                             .highest = s->grid.hz[s->grid.n_hz - 1],
                             .speed = s->job->air.speed,
                             .n_points = st->n_sources + st->n_receivers,
                             .points = points,
                             .n_patches = n,
                             .patches = patches,
                             .richness = RICHNESS};
    ebb_wall_hints(s->job, s->room, s->grid.lowest, geometry.highest, geometry.wall);
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
            double low[3], high[3];
            ebb_spot_body(s->room, spot, unit->depth, low, high);
            s->clear[i * n + u] = unit->face[0] == like[0] && unit->face[1] == like[1] &&
                                  ebb_unit_fits(unit, s->room, spot->surface) &&
                                  ebb_body_is_clear(s->room, &s->stations, low, high);
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

/* ---- a base
 * ------------------------------------------------------------------------------------------ */

/* Every second point of the judging grid. */
static ebb_status coarse_grid(ebb_arena *arena, const ebb_grid *grid, ebb_base *base)
{
    base->n_hz = (grid->n_hz + 1) / 2;
    base->first = (grid->first + 1) / 2;
    base->hz = EBB_NEW(arena, double, base->n_hz);
    if (!base->hz)
        return EBB_E_NOMEM;
    for (size_t f = 0; f < base->n_hz; f++)
        base->hz[f] = grid->hz[2 * f];
    size_t last = (grid->first + grid->n_cells - 1) / 2; /* needs two points above it */
    while (last + 2 >= base->n_hz)
        last--;
    while (base->first < 2)
        base->first++;
    base->n_cells = last - base->first + 1;
    return EBB_OK;
}

static ebb_status make_kinds(ebb_arena *arena, const ebb_search *s, ebb_base *base)
{
    base->n_kinds = s->job->n_units;
    base->kind = EBB_NEW(arena, ebb_kind, base->n_kinds);
    if (!base->kind)
        return EBB_E_NOMEM;
    for (size_t u = 0; u < base->n_kinds; u++) {
        const ebb_unit *unit = &s->job->absorbers[u];
        ebb_kind *kind = &base->kind[u];
        *kind = (ebb_kind){.unit = unit,
                           .ports = unit->piston ? 1 : EBB_SPOT_PORTS,
                           .beta = EBB_NEW(arena, double _Complex, base->n_hz)};
        if (!kind->beta)
            return EBB_E_NOMEM;
        for (size_t f = 0; f < base->n_hz; f++)
            kind->beta[f] =
                ebb_assembly_beta(&unit->assembly, &base->state.air, NULL, 2 * PI * base->hz[f]);
        for (int o = 0; o < EBB_OCTAVES; o++)
            kind->alpha[o] = ebb_mid_alpha(&unit->assembly, unit->alpha, &base->state.air, o);
    }
    return EBB_OK;
}

static ebb_status make_faces(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s, ebb_base *base)
{
    const ebb_room *room = s->room;
    base->face_beta = EBB_NEW(arena, double _Complex, room->n_surfaces * base->n_hz);
    base->face_alpha = ebb_arena_alloc(arena, room->n_surfaces, sizeof *base->face_alpha);
    if (!base->face_beta || !base->face_alpha)
        return EBB_E_NOMEM;
    for (size_t i = 0; i < room->n_surfaces; i++) {
        const ebb_construction *made = &s->job->constructions[room->surfaces[i].construction];
        for (size_t f = 0; f < base->n_hz; f++)
            base->face_beta[i * base->n_hz + f] =
                ebb_assembly_beta(&made->assembly, &base->state.air, NULL, 2 * PI * base->hz[f]);
        for (int o = 0; o < EBB_OCTAVES; o++)
            base->face_alpha[i][o] =
                ebb_mid_alpha(&made->assembly, made->alpha, &base->state.air, o);
    }
    ebb_mid mid;
    ebb_status status = ebb_mid_room(ctx, s->job, room, room->n_placed, room->placed, &mid);
    memcpy(base->area, mid.area, sizeof base->area);
    base->target = ebb_mid_target(s->stations.use, base->volume);
    for (int o = 0; o < EBB_OCTAVES; o++)
        ebb_mid_mask(s->limits, s->stations.use, base->volume, o, base->mask[o]);
    return status;
}

/* All stations in the scaled room: sources of all options, then receivers. */
static ebb_vec3 *all_points(ebb_arena *arena, const ebb_search *s, const ebb_base *base)
{
    size_t ns = base->n_sources + base->n_receivers;
    ebb_vec3 *points = EBB_NEW(arena, ebb_vec3, ns);
    for (size_t i = 0; points && i < ns; i++)
        points[i] =
            ebb_scaled_point(s->room, base->state.scale,
                             i < base->n_sources ? s->stations.source[i]
                                                 : s->stations.receiver[i - base->n_sources]);
    return points;
}

/* Responses between all stations, near fields included, in the unit of the Green matrices. */
static ebb_status make_direct(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
                              const ebb_vec3 *points, ebb_base *base)
{
    size_t ns = base->n_sources, nr = base->n_receivers;
    base->direct = EBB_NEW(arena, double _Complex, base->n_hz *ns *nr);
    double _Complex *h = EBB_NEW(arena, double _Complex, base->n_hz *ns *nr);
    if (!base->direct || !h)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_state state = base->state;
    state.n_sources = ns;
    state.sources = points;
    state.n_receivers = nr;
    state.receivers = points + ns;
    ebb_status status = ebb_response(ctx, s->reduced, &state, base->n_hz, base->hz, h);
    for (size_t f = 0; f < base->n_hz && status == EBB_OK; f++)
        for (size_t i = 0; i < ns * nr; i++)
            base->direct[f * ns * nr + i] = h[i * base->n_hz + f] * base->volume_scale /
                                            (I * 2 * PI * base->hz[f] * base->state.air.density);
    return status;
}

/* What the coarse model lacks of each port's field at itself. */
static void correct_ports(const ebb_search *s, size_t n, ebb_base *base)
{
    for (size_t f = 0; f < base->n_hz; f++) {
        double k = 2 * PI * base->hz[f] / base->state.air.speed;
        for (size_t p = 0; p < base->n_ports; p++) {
            size_t patch = s->n_fixed + p / EBB_SPOT_PORTS;
            double lack[2];
            bool one_cell = ebb_reduced_ports(s->reduced, patch) <= 7;
            ebb_reduced_port_lack(s->reduced, patch, one_cell ? p % EBB_SPOT_PORTS + 1 : 0, lack);
            base->green[(f * n + p) * n + p] += lack[0] + k * k * lack[1];
        }
    }
}

static ebb_status make_green(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
                             const ebb_vec3 *points, ebb_base *base)
{
    size_t size = ebb_reduced_size(s->reduced), ns = base->n_sources + base->n_receivers;
    size_t n = base->n_ports + ns;
    double *v = EBB_NEW(arena, double, n *size);
    base->green = EBB_RAW(arena, double _Complex, base->n_hz *n *n);
    if (!v || !base->green)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(v, s->vectors, base->n_ports * size * sizeof *v);
    ebb_status status = ebb_reduced_points(ctx, s->reduced, ns, points, v + base->n_ports * size);
    if (status == EBB_OK)
        status = ebb_green(ctx, s->reduced, &base->state, base->n_hz, base->hz, n, v, base->green);
    if (status == EBB_OK)
        correct_ports(s, n, base);
    return status;
}

/* A base for a room in which units leave the given size. Memory in arena. placing: with what it
 * takes to add units, not only to choose stations. */
static ebb_status base_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
                            const double scale[3], bool placing, ebb_base *base)
{
    *base = (ebb_base){.job = s->job,
                       .room = s->room,
                       .limits = s->limits,
                       .stations = &s->stations,
                       .spots = &s->spots,
                       .modal = s->modal,
                       .lowest_mode = 12,
                       .highest_mode = 1.15 * s->limits->decay_highest,
                       .n_ports = EBB_SPOT_PORTS * s->spots.n,
                       .n_sources = s->stations.n_sources * s->stations.source_options,
                       .n_receivers = s->stations.n_receivers * s->stations.receiver_options,
                       .modal_vectors = s->modal_vectors,
                       .allowed = s->clear};
    ebb_state_of(s->job, s->room, &base->state);
    memcpy(base->state.scale, scale, sizeof base->state.scale);
    base->state.n_used = s->n_fixed;
    base->state.used = s->fixed_index;
    base->state.mounted = s->fixed;
    base->volume_scale = scale[0] * scale[1] * scale[2];
    base->volume = ebb_room_volume(s->room) * base->volume_scale;
    if (coarse_grid(arena, &s->grid, base) != EBB_OK || make_kinds(arena, s, base) != EBB_OK)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_vec3 *points = all_points(arena, s, base);
    ebb_status status =
        points ? make_faces(ctx, arena, s, base) : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = make_direct(ctx, arena, s, points, base);
    return status == EBB_OK && placing ? make_green(ctx, arena, s, points, base) : status;
}

/* ---- running
 * ------------------------------------------------------------------------------------------ */

/* Layout in the job's terms, existing units first. */
static ebb_status as_layout(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
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

static int by_score(const void *a, const void *b)
{
    const ebb_climbed *x = a, *y = b;
    return (x->score > y->score) - (x->score < y->score);
}

/* All starts side by side, best score first. */
static ebb_status all_starts(ebb_ctx *ctx, ebb_arena *arena, const ebb_base *base,
                             const ebb_effort *effort, ebb_climbed **sorted, double spread[2])
{
    size_t n = effort->starts;
    ebb_climbed *results = *sorted = EBB_NEW(arena, ebb_climbed, n);
    ebb_pick *picks = EBB_NEW(arena, ebb_pick, n * base->spots->n);
    if (!results || !picks)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    int failed = 0;
#pragma omp parallel for schedule(dynamic, 1) reduction(| : failed)
    for (size_t i = 0; i < n; i++) {
        results[i].pick = picks + i * base->spots->n;
        failed |= ebb_climb(base, effort, (unsigned)i, i == 0 ? 0 : NOISE, &results[i]) != EBB_OK;
    }
    if (failed)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory in the placement search");
    spread[0] = spread[1] = results[0].wrong;
    for (size_t i = 1; i < n; i++) {
        spread[0] = fmin(spread[0], results[i].wrong);
        spread[1] = fmax(spread[1], results[i].wrong);
    }
    qsort(results, n, sizeof *results, by_score);
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
    ebb_status status = found.pick ? base_make(ctx, scratch, s, scale, true, &base)
                                   : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK && ebb_climb(&base, &quick, 0, 0, &found) != EBB_OK)
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory in the placement search");
    if (status == EBB_OK)
        status = as_layout(ctx, scratch, s, &found, &layout);
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
        status = base_make(ctx, scratch, search, scale, true, &base);
    if (status == EBB_OK)
        status = all_starts(ctx, scratch, &base, effort, &sorted, spread);
    *n = effort->starts < EBB_FINALISTS ? effort->starts : EBB_FINALISTS;
    for (size_t i = 0; i < *n && status == EBB_OK; i++) {
        status = as_layout(ctx, arena, search, &sorted[i], &finalist[i].layout);
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
    ebb_status status = base_make(ctx, scratch, search, scale, false, &base);
    if (status == EBB_OK && ebb_climb_stations(&base, option) != EBB_OK)
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_arena_free(scratch);
    return status;
}
