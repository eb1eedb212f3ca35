/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Places for units. Surfaces are tiled from both ends, so that corners, where every mode is strong,
 * are always among the places.
 */
#include "stage.h"

#include <math.h>

#define DOOR_SWING 0.9     /* m in front of a door that stay free; common practice, no source */
#define STATION_CLEAR 0.15 /* m around seats and speakers */

bool ebb_unit_fits(const ebb_unit *unit, const ebb_room *room, size_t surface)
{
    const ebb_surface *on = &room->surfaces[surface];
    if (on->axis != 2)
        return unit->on_walls;
    return on->side == 1 && unit->on_ceiling;
}

/* Start of tile i of n along a length: the first half from one end, the rest from the other. */
static double tile_start(size_t i, size_t n, double from, double to, double step)
{
    return i < (n + 1) / 2 ? from + (double)i * step : to - (double)(n - i) * step;
}

static size_t tiles(const double range[2], double step)
{
    return (size_t)floor((range[1] - range[0]) / step + 1e-6);
}

static bool meets_opening(const ebb_room *room, const ebb_spot *spot)
{
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening *o = &room->openings[i];
        if (o->surface == spot->surface && ebb_rect_overlap(o->at, o->size, spot->at, spot->size))
            return true;
    }
    return false;
}

static bool meets_placed(const ebb_job *job, const ebb_room *room, const ebb_spot *spot)
{
    for (size_t i = 0; i < room->n_placed; i++) {
        double size[2];
        ebb_placed_size(&job->absorbers[room->placed[i].unit], &room->placed[i], size);
        if (room->placed[i].surface == spot->surface &&
            ebb_rect_overlap(room->placed[i].at, size, spot->at, spot->size))
            return true;
    }
    return false;
}

/* Is there an earlier unit with the same face? Then its places serve both. */
static bool face_is_known(const ebb_job *job, size_t unit)
{
    for (size_t u = 0; u < unit; u++)
        if (job->absorbers[u].face[0] == job->absorbers[unit].face[0] &&
            job->absorbers[u].face[1] == job->absorbers[unit].face[1])
            return true;
    return false;
}

/* Tiles one surface with one face in one orientation; counts when spot is NULL. */
static size_t tile(const ebb_job *job, const ebb_room *room, size_t surface, size_t unit,
                   bool turned, ebb_spot *spot)
{
    const ebb_surface *on = &room->surfaces[surface];
    const double *face = job->absorbers[unit].face;
    const double size[2] = {face[turned ? 1 : 0], face[turned ? 0 : 1]};
    size_t n[2] = {tiles(on->range[0], size[0]), tiles(on->range[1], size[1])}, found = 0;
    for (size_t i = 0; i < n[0]; i++)
        for (size_t j = 0; j < n[1]; j++) {
            ebb_spot candidate = {
                .surface = surface,
                .at = {tile_start(i, n[0], on->range[0][0], on->range[0][1], size[0]),
                       tile_start(j, n[1], on->range[1][0], on->range[1][1], size[1])},
                .size = {size[0], size[1]},
                .turned = turned,
                .unit_like = unit};
            if (meets_opening(room, &candidate) || meets_placed(job, room, &candidate))
                continue;
            if (spot)
                spot[found] = candidate;
            found++;
        }
    return found;
}

static bool any_hangs(const ebb_job *job, const ebb_room *room, size_t surface, size_t like)
{
    for (size_t u = 0; u < job->n_units; u++)
        if (job->absorbers[u].face[0] == job->absorbers[like].face[0] &&
            job->absorbers[u].face[1] == job->absorbers[like].face[1] &&
            ebb_unit_fits(&job->absorbers[u], room, surface))
            return true;
    return false;
}

/* One pass over surfaces and faces; the orientation with more free tiles wins. */
static size_t pass(const ebb_job *job, const ebb_room *room, ebb_spot *spot)
{
    size_t n = 0;
    for (size_t surface = 0; surface < room->n_surfaces; surface++)
        for (size_t u = 0; u < job->n_units; u++) {
            if (face_is_known(job, u) || !any_hangs(job, room, surface, u))
                continue;
            size_t upright = tile(job, room, surface, u, false, NULL);
            size_t turned = tile(job, room, surface, u, true, NULL);
            n += tile(job, room, surface, u, turned > upright, spot ? spot + n : NULL);
        }
    return n;
}

ebb_status ebb_spots_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                          ebb_spots *spots)
{
    spots->n = pass(job, room, NULL);
    spots->spot = EBB_NEW(arena, ebb_spot, spots->n);
    if (!spots->spot)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    pass(job, room, spots->spot);
    return EBB_OK;
}

/* ---- bodies ------------------------------------------------------------------------------------
 */

/* Body over a rectangle of a surface, reaching `depth` into the room. */
static void body_on(const ebb_room *room, size_t surface, const double at[2], const double size[2],
                    double depth, double low[3], double high[3])
{
    const ebb_surface *on = &room->surfaces[surface];
    ebb_vec3 a = ebb_surface_point(on, at[0], at[1]);
    ebb_vec3 b = ebb_surface_point(on, at[0] + size[0], at[1] + size[1]);
    const double from[3] = {a.x - room->origin.x, a.y - room->origin.y, a.z - room->origin.z};
    const double to[3] = {b.x - room->origin.x, b.y - room->origin.y, b.z - room->origin.z};
    for (int d = 0; d < 3; d++) {
        low[d] = fmin(from[d], to[d]);
        high[d] = fmax(from[d], to[d]);
    }
    if (on->side == 0)
        high[on->axis] += depth;
    else
        low[on->axis] -= depth;
}

void ebb_spot_body(const ebb_room *room, const ebb_spot *spot, double depth, double low[3],
                   double high[3])
{
    body_on(room, spot->surface, spot->at, spot->size, depth, low, high);
}

bool ebb_bodies_meet(const double low_a[3], const double high_a[3], const double low_b[3],
                     const double high_b[3])
{
    for (int d = 0; d < 3; d++)
        if (high_a[d] < low_b[d] + 1e-3 || high_b[d] < low_a[d] + 1e-3)
            return false;
    return true;
}

static bool near_point(const double low[3], const double high[3], const ebb_vec3 *at)
{
    const double value[3] = {at->x, at->y, at->z};
    for (int d = 0; d < 3; d++)
        if (value[d] < low[d] - STATION_CLEAR || value[d] > high[d] + STATION_CLEAR)
            return false;
    return true;
}

bool ebb_body_is_clear(const ebb_room *room, const ebb_stations *stations, const double low[3],
                       const double high[3])
{
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening *o = &room->openings[i];
        double door_low[3], door_high[3];
        if (o->kind != EBB_OPENING_DOOR)
            continue;
        body_on(room, o->surface, o->at, o->size, DOOR_SWING, door_low, door_high);
        if (ebb_bodies_meet(low, high, door_low, door_high))
            return false;
    }
    for (size_t i = 0; i < stations->n_sources * stations->source_options; i++)
        if (near_point(low, high, &stations->source[i]))
            return false;
    for (size_t i = 0; i < stations->n_receivers * stations->receiver_options; i++)
        if (near_point(low, high, &stations->receiver[i]))
            return false;
    return true;
}
