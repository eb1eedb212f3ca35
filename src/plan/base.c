/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What all starts of a search share: admittances, mid band, and the Green matrices once per size
 * that the units leave.
 */
#include "search.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

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
static ebb_status make_direct(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s, ebb_base *base)
{
    size_t ns = base->n_sources, nr = base->n_receivers;
    base->direct = EBB_NEW(arena, double _Complex, base->n_hz *ns *nr);
    double _Complex *h = EBB_NEW(arena, double _Complex, base->n_hz *ns *nr);
    if (!base->direct || !h)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_state state = base->state;
    state.n_sources = ns;
    state.sources = base->points;
    state.n_receivers = nr;
    state.receivers = base->points + ns;
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

static ebb_status make_green(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s, ebb_base *base)
{
    size_t size = ebb_reduced_size(s->reduced), ns = base->n_sources + base->n_receivers;
    size_t n = base->n_ports + ns;
    double *v = EBB_NEW(arena, double, n *size);
    base->green = EBB_RAW(arena, double _Complex, base->n_hz *n *n);
    if (!v || !base->green)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(v, s->vectors, base->n_ports * size * sizeof *v);
    ebb_status status =
        ebb_reduced_points(ctx, s->reduced, ns, base->points, v + base->n_ports * size);
    if (status == EBB_OK)
        status = ebb_green(ctx, s->reduced, &base->state, base->n_hz, base->hz, n, v, base->green);
    if (status == EBB_OK)
        correct_ports(s, n, base);
    return status;
}

ebb_status ebb_search_base(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
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
    base->points = all_points(arena, s, base);
    ebb_status status = base->points ? make_faces(ctx, arena, s, base)
                                     : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = make_direct(ctx, arena, s, base);
    return status == EBB_OK && placing ? make_green(ctx, arena, s, base) : status;
}
