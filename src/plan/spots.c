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
    if (ebb_surface_is_floor(on))
        return false;
    return ebb_surface_is_ceiling(on) ? unit->on_ceiling : unit->on_walls;
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
            if (!ebb_surface_holds(on, candidate.at, candidate.size) ||
                meets_opening(room, &candidate) || meets_placed(job, room, &candidate))
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

/* ---- blocks ------------------------------------------------------------------------------------
 */

ebb_block ebb_block_on(const ebb_room *room, size_t surface, const double at[2],
                       const double size[2], double depth)
{
    const ebb_surface *on = &room->surfaces[surface];
    return (ebb_block){ebb_minus(ebb_surface_point(on, at[0], at[1]), room->origin),
                       {on->along, on->up, ebb_times(-1, ebb_surface_normal(on))},
                       {size[0], size[1], depth}};
}

ebb_block ebb_spot_block(const ebb_room *room, const ebb_spot *spot, double depth)
{
    return ebb_block_on(room, spot->surface, spot->at, spot->size, depth);
}

/* The point at a share of each length. */
static ebb_vec3 point_of(const ebb_block *block, const double share[3])
{
    ebb_vec3 at = block->at;
    for (int e = 0; e < 3; e++)
        at = ebb_plus(at, share[e] * block->length[e], block->way[e]);
    return at;
}

static ebb_vec3 middle_of(const ebb_block *block)
{
    const double half[3] = {0.5, 0.5, 0.5};
    return point_of(block, half);
}

/* Half of a block's length along a direction. */
static double reach(const ebb_block *block, ebb_vec3 way)
{
    double sum = 0;
    for (int e = 0; e < 3; e++)
        sum += block->length[e] * fabs(ebb_dot(block->way[e], way)) / 2;
    return sum;
}

/* Is there a gap between two blocks along a unit vector, or no more than 1 mm of overlap? */
static bool parts(const ebb_block *a, const ebb_block *b, ebb_vec3 way)
{
    ebb_vec3 between = ebb_minus(middle_of(b), middle_of(a));
    return fabs(ebb_dot(between, way)) - reach(a, way) - reach(b, way) > -1e-3;
}

/* Boxes are apart when one of their six face normals or of the nine products of their edges parts
 * them (separating axes, textbook geometry). Parallel edges have no product. */
bool ebb_blocks_meet(const ebb_block *a, const ebb_block *b)
{
    for (int e = 0; e < 3; e++)
        if (parts(a, b, a->way[e]) || parts(a, b, b->way[e]))
            return false;
    for (int e = 0; e < 9; e++) {
        ebb_vec3 way = ebb_cross(a->way[e / 3], b->way[e % 3]);
        double length = ebb_length(way);
        if (length > 1e-6 && parts(a, b, ebb_times(1 / length, way)))
            return false;
    }
    return true;
}

static bool near_point(const ebb_block *block, ebb_vec3 at)
{
    ebb_vec3 from = ebb_minus(at, middle_of(block));
    for (int e = 0; e < 3; e++)
        if (fabs(ebb_dot(from, block->way[e])) > block->length[e] / 2 + STATION_CLEAR)
            return false;
    return true;
}

/* Nothing of a block sticks out of the room: its corners, the middles of its edges, faces and of
 * itself, all drawn in by a millimetre or so. Rectangles need no test, their places are laid out
 * inside. */
static bool in_air(const ebb_room *room, const ebb_block *block)
{
    static const double share[3] = {0.005, 0.5, 0.995};
    for (int i = 0; room->shaped && i < 27; i++) {
        const double at[3] = {share[i % 3], share[i / 3 % 3], share[i / 9]};
        if (!ebb_room_holds(room, point_of(block, at), 0))
            return false;
    }
    return true;
}

bool ebb_block_is_clear(const ebb_room *room, const ebb_stations *stations, const ebb_block *block)
{
    if (!in_air(room, block))
        return false;
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening *o = &room->openings[i];
        if (o->kind != EBB_OPENING_DOOR)
            continue;
        ebb_block swing = ebb_block_on(room, o->surface, o->at, o->size, DOOR_SWING);
        if (ebb_blocks_meet(block, &swing))
            return false;
    }
    for (size_t i = 0; i < stations->n_sources * stations->source_options; i++)
        if (near_point(block, stations->source[i]))
            return false;
    for (size_t i = 0; i < stations->n_receivers * stations->receiver_options; i++)
        if (near_point(block, stations->receiver[i]))
            return false;
    return true;
}
