/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a shape to a room: checks in the order in which faults are best told, then the solid. */
#include "shape.h"

#include "vector.h"

#include <string.h>

#define SMALLEST 1.0 /* m, of the box around a room */
#define LARGEST 40.0
#define TINY 5e-3 /* m: shorter edges mean that things nearly meet */

/* ---- into room coordinates ------------------------------------------------------------------- */

static bool move_outline(ebb_arena *arena, ebb_room_outline *o, const double by[2])
{
    double(*corner)[2] = ebb_arena_alloc(arena, o->n, sizeof *corner);
    if (corner == NULL)
        return false;
    for (size_t i = 0; i < o->n; i++)
        for (int d = 0; d < 2; d++)
            corner[i][d] = o->corner[i][d] - by[d];
    o->corner = corner;
    return true;
}

/* Places on floor and ceilings are in job coordinates too. */
static bool move_shape(ebb_arena *arena, const ebb_room_shape *from, const double by[2],
                       ebb_room_shape *to)
{
    *to = *from;
    ebb_room_plane *plane = EBB_NEW(arena, ebb_room_plane, from->ceiling.n);
    to->column = EBB_NEW(arena, ebb_room_outline, from->n_columns);
    to->block = EBB_NEW(arena, ebb_room_block, from->n_blocks);
    if (plane == NULL || to->column == NULL || to->block == NULL ||
        !move_outline(arena, &to->plan, by))
        return false;
    for (size_t i = 0; i < from->ceiling.n; i++) {
        plane[i] = from->ceiling.plane[i];
        plane[i].at = ebb_room_plane_height(&plane[i], by);
    }
    to->ceiling.plane = plane;
    for (size_t i = 0; i < from->n_columns; i++) {
        to->column[i] = from->column[i];
        if (!move_outline(arena, &to->column[i], by))
            return false;
    }
    const size_t walls = from->plan.n;
    for (size_t i = 0; i < from->n_blocks; i++) {
        ebb_room_block *b = &to->block[i];
        *b = from->block[i];
        const bool level = b->on < 2 || (b->on >= 2 + walls && b->on <= walls + from->ceiling.n);
        for (int d = 0; d < 2 && level; d++)
            b->at[d] -= by[d];
    }
    return true;
}

/* ---- checks ---------------------------------------------------------------------------------- */

static ebb_room_outcome fault(const char *why, ebb_room_about about, size_t which)
{
    const bool memory = why != NULL && why != ebb_room_no_memory;
    return (ebb_room_outcome){memory ? EBB_E_INPUT : EBB_E_NOMEM, why, about, which};
}

/* The box around the room, for its origin and size. */
static const char *measure(ebb_arena *arena, const ebb_room_shape *shape, ebb_room *room)
{
    static const char *const along[] = {"along x", "along y", "high"};
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY}, height[2];
    for (size_t i = 0; i < shape->plan.n; i++)
        for (int d = 0; d < 2; d++) {
            low[d] = fmin(low[d], shape->plan.corner[i][d]);
            high[d] = fmax(high[d], shape->plan.corner[i][d]);
        }
    ebb_room_ceiling_range(&shape->ceiling, &shape->plan, height);
    room->origin = (ebb_vec3){low[0], low[1], 0};
    for (int d = 0; d < 3; d++) {
        room->size[d] = d < 2 ? high[d] - low[d] : height[1];
        if (!(room->size[d] >= SMALLEST - 1e-9 && room->size[d] <= LARGEST + 1e-9))
            return ebb_room_say(arena, "the room is %.4g m %s; accepted is from %g m to %g m",
                                room->size[d], along[d], SMALLEST, LARGEST);
    }
    return NULL;
}

/* What can be said of outlines and planes before anything is cut. */
static ebb_room_outcome check_outlines(ebb_arena *arena, const ebb_room_shape *shape,
                                       ebb_room *room)
{
    const char *why = ebb_room_outline_fault(arena, &shape->plan);
    size_t which = 0;
    if (why != NULL)
        return fault(why, EBB_ROOM_ABOUT_PLAN, 0);
    why = ebb_room_ceiling_fault(arena, shape);
    if (why != NULL)
        return fault(why, EBB_ROOM_ABOUT_CEILING, 0);
    why = measure(arena, shape, room);
    if (why != NULL)
        return fault(why, EBB_ROOM_ABOUT_PLAN, 0);
    why = ebb_room_columns_fault(arena, shape, &which);
    if (why != NULL)
        return fault(why, EBB_ROOM_ABOUT_COLUMN, which);
    return (ebb_room_outcome){.status = EBB_OK};
}

/* Facets smaller than that would take a mesh of millions of elements, and no building has them. */
static const char *tiny_fault(ebb_arena *arena, const ebb_solid *solid, ebb_vec3 origin)
{
    for (size_t f = 0; f < solid->n_facets; f++) {
        const size_t *c = solid->facet[f].corner;
        for (size_t l = 0; l < solid->facet[f].n_loops; c += solid->facet[f].loop[l++])
            for (size_t i = 0, n = solid->facet[f].loop[l]; i < n; i++) {
                const ebb_vec3 a = solid->corner[c[i]], b = solid->corner[c[(i + 1) % n]];
                const double length = ebb_length(ebb_minus(a, b));
                if (length < TINY)
                    return ebb_room_say(
                        arena,
                        "two corners of the room are only %.3g mm apart, at %.4g m, %.4g m, "
                        "%.4g m; let what nearly meets there meet",
                        1000 * length, a.x + origin.x, a.y + origin.y, a.z + origin.z);
            }
    }
    return NULL;
}

/* ---- the room -------------------------------------------------------------------------------- */

static bool build_bodies(ebb_arena *keep, const ebb_room_shape *shape, const ebb_room_parts *parts,
                         ebb_room *room)
{
    room->n_bodies = shape->n_blocks;
    room->bodies = EBB_NEW(keep, ebb_body, shape->n_blocks);
    if (room->bodies == NULL)
        return false;
    for (size_t i = 0; i < shape->n_blocks; i++) {
        const ebb_room_block *b = &shape->block[i];
        room->bodies[i] = (ebb_body){.name = b->name, .surface = b->on, .depth = b->depth};
        memcpy(room->bodies[i].at, b->at, sizeof b->at);
        memcpy(room->bodies[i].size, b->size, sizeof b->size);
    }
    for (size_t p = 0; p < parts->n; p++) {
        const size_t i = parts->part[p].block;
        if (i != (size_t)-1)
            room->bodies[i].side[room->bodies[i].n_sides++] = p;
    }
    return true;
}

static ebb_room_outcome fill_room(ebb_arena *keep, ebb_arena *arena, const ebb_room_shape *shape,
                                  ebb_room_parts *parts, ebb_room *room)
{
    if (parts->n > EBB_MOST_SURFACES)
        return fault(ebb_room_say(arena, "the room has %zu surfaces; accepted are at most %d",
                                  parts->n, EBB_MOST_SURFACES),
                     EBB_ROOM_ABOUT_ALL, 0);
    room->surfaces = EBB_NEW(keep, ebb_surface, parts->n);
    ebb_solid *solid = ebb_room_stitch(keep, arena, parts);
    if (room->surfaces == NULL || solid == NULL || !build_bodies(keep, shape, parts, room))
        return fault(NULL, EBB_ROOM_ABOUT_ALL, 0);
    room->n_surfaces = parts->n;
    room->solid = solid;
    for (size_t i = 0; i < parts->n; i++)
        if (!ebb_room_frame(keep, &parts->part[i], room->origin, &room->surfaces[i]))
            return fault(NULL, EBB_ROOM_ABOUT_ALL, 0);
    const char *why = tiny_fault(arena, solid, room->origin);
    if (why != NULL)
        return fault(why, EBB_ROOM_ABOUT_ALL, 0);
    const ebb_status status = ebb_solid_check(arena, solid, &why);
    return (ebb_room_outcome){status, why, EBB_ROOM_ABOUT_ALL, 0};
}

static ebb_room_outcome cut_room(ebb_room_cutter *cutter, ebb_arena *keep, ebb_arena *arena,
                                 const ebb_room_shape *shape, const ebb_room_shape *moved,
                                 ebb_room *room)
{
    ebb_room_parts parts;
    const char *why = ebb_room_planes_fault(cutter, arena, moved);
    ebb_room_outcome out = fault(why, EBB_ROOM_ABOUT_CEILING, 0);
    for (size_t i = 0; i < shape->n_blocks && why == NULL; i++) {
        why = ebb_room_block_build(cutter, arena, moved, i);
        out = fault(why, EBB_ROOM_ABOUT_BODY, i);
    }
    if (why == NULL) {
        why = ebb_room_parts_build(cutter, arena, moved, &parts);
        out = fault(why, EBB_ROOM_ABOUT_ALL, 0);
    }
    const char *failed = ebb_room_cutter_fault(cutter);
    if (failed == ebb_room_no_memory)
        return fault(failed, EBB_ROOM_ABOUT_ALL, 0);
    if (failed != NULL)
        return (ebb_room_outcome){EBB_E_NUMERIC, failed, EBB_ROOM_ABOUT_ALL, 0};
    return why != NULL ? out : fill_room(keep, arena, shape, &parts, room);
}

ebb_room_outcome ebb_room_shape_build(ebb_arena *keep, ebb_arena *arena, ebb_room_shape *shape,
                                      ebb_room *room)
{
    ebb_room_shape moved;
    ebb_room_outcome out = check_outlines(arena, shape, room);
    if (out.status != EBB_OK)
        return out;
    if (ebb_room_is_box(shape))
        return ebb_room_box_build(keep, shape, room) ? out : fault(NULL, EBB_ROOM_ABOUT_ALL, 0);
    room->shaped = true;
    room->shape = shape;
    room->n_plan = shape->plan.n;
    room->plan = (const double(*)[2])shape->plan.corner;
    if (!move_shape(arena, shape, (const double[2]){room->origin.x, room->origin.y}, &moved))
        return fault(NULL, EBB_ROOM_ABOUT_ALL, 0);
    ebb_room_cutter *cutter = ebb_room_cutter_new(arena);
    if (cutter == NULL)
        return fault(NULL, EBB_ROOM_ABOUT_ALL, 0);
    out = cut_room(cutter, keep, arena, shape, &moved, room);
    ebb_room_cutter_free(cutter);
    return out;
}
