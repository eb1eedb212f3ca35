/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rectangular rooms: six surfaces along x, y and z, without a solid. */
#include "shape.h"

#include "vector.h"

#include <stdio.h>
#include <string.h>

#define CORNERS 4
#define SMALL 1e-6 /* m: two lengths written in different units are the same within this */

static void side_of(const ebb_room_shape *s, size_t i, double side[2])
{
    for (size_t d = 0; d < 2; d++)
        side[d] = s->plan.corner[(i + 1) % CORNERS][d] - s->plan.corner[i][d];
}

/* Such a room has closed forms, which need sides along x and y. */
bool ebb_room_is_box(const ebb_room_shape *shape)
{
    if (shape->plan.n != CORNERS || shape->n_columns > 0 || shape->n_blocks > 0 ||
        shape->ceiling.n != 1 || !ebb_room_plane_is_level(&shape->ceiling.plane[0]))
        return false;
    double side[2], before[2];
    side_of(shape, CORNERS - 1, before);
    for (size_t i = 0; i < CORNERS; i++) {
        side_of(shape, i, side);
        const int across = fabs(side[0]) > fabs(side[1]) ? 1 : 0;
        if (fabs(side[across]) >= SMALL || fabs(before[1 - across]) >= SMALL)
            return false;
        memcpy(before, side, sizeof before);
    }
    return true;
}

/* Floor and ceiling have the plan's own coordinates, so their frame starts at the job's origin and
 * it is the range that says where the room is. */
static void make_level(ebb_room *room, ebb_surface *surface, int side)
{
    surface->origin = (ebb_vec3){0, 0, room->origin.z + side * room->size[2]};
    surface->along = (ebb_vec3){1, 0, 0};
    surface->up = (ebb_vec3){0, 1, 0};
    surface->range[0][0] = room->origin.x;
    surface->range[0][1] = room->origin.x + room->size[0];
    surface->range[1][0] = room->origin.y;
    surface->range[1][1] = room->origin.y + room->size[1];
    surface->normal = (ebb_vec3){0, 0, side == 0 ? -1 : 1};
    surface->axis = 2;
    surface->side = side;
}

/* Wall from corner i on. The room lies to the left of the way from corner to corner. */
static void make_wall(ebb_room *room, ebb_surface *surface, const ebb_room_shape *s, size_t i)
{
    double side[2];
    side_of(s, i, side);
    const bool along_x = fabs(side[0]) > fabs(side[1]);
    const double length = room->size[along_x ? 0 : 1];
    const double sign = (along_x ? side[0] : side[1]) > 0 ? 1 : -1;
    surface->origin = (ebb_vec3){s->plan.corner[i][0], s->plan.corner[i][1], room->origin.z};
    surface->along = along_x ? (ebb_vec3){sign, 0, 0} : (ebb_vec3){0, sign, 0};
    surface->up = (ebb_vec3){0, 0, 1};
    surface->range[0][1] = length;
    surface->range[1][1] = room->size[2];
    surface->axis = along_x ? 1 : 0;
    /* Walking towards +x keeps the room on the side of larger y, towards +y on that of smaller x.
     */
    surface->side = along_x ? (sign > 0 ? 0 : 1) : (sign > 0 ? 1 : 0);
    const double out = surface->side == 0 ? -1 : 1;
    surface->normal = along_x ? (ebb_vec3){0, out, 0} : (ebb_vec3){out, 0, 0};
}

bool ebb_room_box_build(ebb_arena *keep, const ebb_room_shape *shape, ebb_room *room)
{
    const double *a = shape->plan.corner[0], *c = shape->plan.corner[2];
    room->origin = (ebb_vec3){fmin(a[0], c[0]), fmin(a[1], c[1]), 0};
    room->size[0] = fabs(c[0] - a[0]);
    room->size[1] = fabs(c[1] - a[1]);
    room->size[2] = shape->ceiling.plane[0].at;
    room->surfaces = EBB_NEW(keep, ebb_surface, EBB_FACES);
    if (room->surfaces == NULL)
        return false;
    room->n_surfaces = EBB_FACES;
    for (size_t i = 0; i < EBB_FACES; i++) {
        ebb_surface *surface = &room->surfaces[i];
        (void)ebb_room_bare_name(shape, i, surface->name);
        if (i < 2)
            make_level(room, surface, (int)i);
        else
            make_wall(room, surface, shape, i - 2);
    }
    return true;
}

/* Walls tell the corners they start from. */
ebb_room_shape *ebb_room_box_shape(ebb_arena *keep, const ebb_room *room)
{
    ebb_room_shape *shape = EBB_NEW(keep, ebb_room_shape, 1);
    double(*corner)[2] = ebb_arena_alloc(keep, CORNERS, sizeof *corner);
    ebb_room_plane *plane = EBB_NEW(keep, ebb_room_plane, 1);
    if (shape == NULL || corner == NULL || plane == NULL)
        return NULL;
    for (size_t i = 0; i < CORNERS; i++) {
        corner[i][0] = room->surfaces[2 + i].origin.x;
        corner[i][1] = room->surfaces[2 + i].origin.y;
    }
    plane->at = room->size[2];
    shape->plan = (ebb_room_outline){CORNERS, corner};
    shape->ceiling = (ebb_room_ceiling){1, plane};
    return shape;
}
