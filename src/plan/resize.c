/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A room with another size. */
#include <ebb/reshape.h>

#include <math.h>
#include <string.h>

static ebb_vec3 moved(const ebb_room *room, const double factor[3], ebb_vec3 at)
{
    return (ebb_vec3){room->origin.x + (at.x - room->origin.x) * factor[0],
                      room->origin.y + (at.y - room->origin.y) * factor[1],
                      room->origin.z + (at.z - room->origin.z) * factor[2]};
}

static ebb_station *moved_stations(ebb_arena *arena, const ebb_room *room, const double factor[3],
                                   size_t n, const ebb_station *from)
{
    /* People stay as tall as they are, and stands too. */
    const double flat[3] = {factor[0], factor[1], 1};
    ebb_station *to = EBB_NEW(arena, ebb_station, n);
    for (size_t i = 0; to && i < n; i++) {
        to[i] = from[i];
        to[i].at = moved(room, flat, from[i].at);
    }
    return to;
}

/* Factor of a surface's own coordinate that runs along one direction. */
static double factor_along(const ebb_vec3 *direction, const double factor[3])
{
    if (fabs(direction->x) > 0.5)
        return factor[0];
    return fabs(direction->y) > 0.5 ? factor[1] : factor[2];
}

/* Surfaces keep their frames; only origin and extent follow the size. */
static ebb_surface *moved_surfaces(ebb_arena *arena, const ebb_room *room, const double factor[3])
{
    ebb_surface *to = EBB_NEW(arena, ebb_surface, room->n_surfaces);
    for (size_t i = 0; to && i < room->n_surfaces; i++) {
        to[i] = room->surfaces[i];
        const double f[2] = {factor_along(&to[i].along, factor), factor_along(&to[i].up, factor)};
        ebb_vec3 corner =
            ebb_surface_point(&room->surfaces[i], to[i].range[0][0], to[i].range[1][0]);
        corner = moved(room, factor, corner);
        for (int d = 0; d < 2; d++)
            to[i].range[d][1] = to[i].range[d][0] + f[d] * (to[i].range[d][1] - to[i].range[d][0]);
        /* origin = corner - range[0][0] along - range[1][0] up */
        const double a = to[i].range[0][0], b = to[i].range[1][0];
        to[i].origin = (ebb_vec3){corner.x - a * to[i].along.x - b * to[i].up.x,
                                  corner.y - a * to[i].along.y - b * to[i].up.y,
                                  corner.z - a * to[i].along.z - b * to[i].up.z};
    }
    return to;
}

/* Where a rectangle of `size` goes on a surface whose extent changed: its middle keeps its share,
 * what stood on the floor stays there, and it stays on the surface. */
static bool place(const ebb_surface *was, const ebb_surface *is, const double size[2], double at[2])
{
    for (int d = 0; d < 2; d++) {
        const double old = was->range[d][1] - was->range[d][0];
        const double now = is->range[d][1] - is->range[d][0];
        double offset = at[d] - was->range[d][0];
        if (size[d] > now + 1e-9)
            return false;
        if (offset > 1e-3)
            offset = (offset + size[d] / 2) * now / old - size[d] / 2;
        at[d] = is->range[d][0] + fmin(fmax(offset, 0), now - size[d]);
    }
    return true;
}

static bool place_openings(const ebb_room *room, ebb_room *resized)
{
    for (size_t i = 0; i < room->n_openings; i++) {
        ebb_opening *o = &resized->openings[i];
        *o = room->openings[i];
        if (!place(&room->surfaces[o->surface], &resized->surfaces[o->surface], o->size, o->at))
            return false;
    }
    return true;
}

static bool place_units(const ebb_job *job, const ebb_room *room, ebb_room *resized)
{
    for (size_t i = 0; i < room->n_placed; i++) {
        ebb_placed *p = &resized->placed[i];
        double size[2];
        *p = room->placed[i];
        ebb_placed_size(&job->absorbers[p->unit], p, size);
        if (!place(&room->surfaces[p->surface], &resized->surfaces[p->surface], size, p->at))
            return false;
    }
    return true;
}

ebb_status ebb_room_resized(ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                            const double size[3], ebb_room *resized)
{
    double factor[3];
    for (int d = 0; d < 3; d++)
        factor[d] = size[d] / room->size[d];
    *resized = *room;
    memcpy(resized->size, size, sizeof resized->size);
    resized->surfaces = moved_surfaces(arena, room, factor);
    resized->seats = moved_stations(arena, room, factor, room->n_seats, room->seats);
    resized->speakers = moved_stations(arena, room, factor, room->n_speakers, room->speakers);
    resized->openings = EBB_NEW(arena, ebb_opening, room->n_openings);
    resized->placed = EBB_NEW(arena, ebb_placed, room->n_placed);
    if (!resized->surfaces || !resized->seats || !resized->speakers || !resized->openings ||
        !resized->placed)
        return EBB_E_NOMEM;
    return place_openings(room, resized) && place_units(job, room, resized) ? EBB_OK : EBB_E_RANGE;
}
