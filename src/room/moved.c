/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The room that comes about when one wall or level ceiling is moved. Everything in it stays where
 * it is in space, but for what stands on the moved surface or reaches from another wall to it.
 */
#include "shape.h"

#include "vector.h"

#include <string.h>

#define SQUARE 1e-6 /* sine of the angle below which two walls are in one line */

/* One move in the making. */
typedef struct move {
    ebb_ctx *ctx;
    ebb_arena *arena; /* of the moved room */
    const ebb_job *job;
    const ebb_room *room;
    size_t surface;
    double by;
    const ebb_room_shape *from;
    ebb_room_shape *to;
} move;

static ebb_status no_room(const move *m, const char *why)
{
    if (why == NULL || why == ebb_room_no_memory)
        return ebb_fail(m->ctx, EBB_E_NOMEM, "no memory to move a wall");
    return ebb_fail(m->ctx, EBB_E_RANGE, "%s cannot be moved by %.4g m: %s",
                    m->room->surfaces[m->surface].name, m->by, why);
}

/* ---- the shape ------------------------------------------------------------------------------- */

static bool copy_shape(move *m)
{
    const ebb_room_shape *from = m->from;
    ebb_room_shape *to = EBB_NEW(m->arena, ebb_room_shape, 1);
    double(*corner)[2] = ebb_arena_alloc(m->arena, from->plan.n, sizeof *corner);
    ebb_room_plane *plane = EBB_NEW(m->arena, ebb_room_plane, from->ceiling.n);
    ebb_room_block *block = EBB_NEW(m->arena, ebb_room_block, from->n_blocks);
    if (to == NULL || corner == NULL || plane == NULL || block == NULL)
        return false;
    memcpy(corner, from->plan.corner, from->plan.n * sizeof *corner);
    memcpy(plane, from->ceiling.plane, from->ceiling.n * sizeof *plane);
    if (from->n_blocks > 0)
        memcpy(block, from->block, from->n_blocks * sizeof *block);
    *to = *from;
    to->plan.corner = corner;
    to->ceiling.plane = plane;
    to->block = block;
    m->to = to;
    return true;
}

static double *corner(const ebb_room_outline *o, size_t i)
{
    return o->corner[i % o->n];
}

/* A corner of the wall slides along its neighbour, which runs from the corner to `other`. */
static bool slide(double at[2], const double other[2], const double out[2], double by)
{
    const double way[2] = {other[0] - at[0], other[1] - at[1]};
    const double across = way[0] * out[0] + way[1] * out[1];
    if (fabs(across) < SQUARE * hypot(way[0], way[1]))
        return false;
    const double t = by / across;
    if (t >= 1)
        return false;
    at[0] += t * way[0];
    at[1] += t * way[1];
    return true;
}

static const char *move_wall(move *m, size_t i)
{
    const ebb_room_outline *plan = &m->to->plan;
    double *a = corner(plan, i), *b = corner(plan, i + 1);
    const double way[2] = {b[0] - a[0], b[1] - a[1]}, length = hypot(way[0], way[1]);
    const double out[2] = {way[1] / length, -way[0] / length};
    if (!slide(a, corner(plan, i + plan->n - 1), out, m->by) ||
        !slide(b, corner(plan, i + 2), out, m->by))
        return "its neighbour ends before, or is in one line with it";
    if ((b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1] <= 0)
        return "its neighbours meet before";
    return NULL;
}

/* Metres along a wall count from its first corner, which may have slid. */
static double slid(const move *m, size_t wall)
{
    const double *a = corner(&m->from->plan, wall), *b = corner(&m->from->plan, wall + 1);
    const double *c = corner(&m->to->plan, wall), length = hypot(b[0] - a[0], b[1] - a[1]);
    return ((c[0] - a[0]) * (b[0] - a[0]) + (c[1] - a[1]) * (b[1] - a[1])) / length;
}

static bool is_wall(const move *m, size_t surface)
{
    return surface >= 2 && surface < 2 + m->from->plan.n;
}

/* Does the front of a body lie on a wall, as it stood before? */
static bool reaches(const move *m, const ebb_room_block *block, size_t wall)
{
    const double *a = corner(&m->from->plan, block->on - 2);
    const double *b = corner(&m->from->plan, block->on - 1);
    const double *c = corner(&m->from->plan, wall), *d = corner(&m->from->plan, wall + 1);
    const double length = hypot(b[0] - a[0], b[1] - a[1]);
    const double along[2] = {(b[0] - a[0]) / length, (b[1] - a[1]) / length};
    for (int end = 0; end < 2; end++) {
        const double s = block->at[0] + end * block->size[0];
        const double at[2] = {a[0] + s * along[0] - block->depth * along[1],
                              a[1] + s * along[1] + block->depth * along[0]};
        if (ebb_room_distance(c, d, at) > EBB_ROOM_FLUSH)
            return false;
    }
    return true;
}

/* A beam from wall to wall still reaches from one to the other afterwards, a breast up to the
 * ceiling. */
static void keep_reach(const move *m, ebb_room_block *block)
{
    if (!is_wall(m, m->surface)) {
        const double top = m->from->ceiling.plane[0].at;
        if (m->from->ceiling.n == 1 && fabs(block->at[1] + block->size[1] - top) <= EBB_ROOM_FLUSH)
            block->size[1] += m->by;
        return;
    }
    bool beam = false;
    for (size_t i = 0; i < m->from->plan.n; i++)
        if ((block->on == m->surface) != (2 + i == m->surface))
            beam = beam || reaches(m, block, i);
    if (beam)
        block->depth += m->by;
}

static const char *move_shape(move *m)
{
    const size_t s = m->surface, walls = m->from->plan.n, planes = m->from->ceiling.n;
    if (is_wall(m, s)) {
        const char *why = move_wall(m, s - 2);
        if (why != NULL)
            return why;
    } else if (s == 1 || (s >= 2 + walls && s <= walls + planes)) {
        ebb_room_plane *plane =
            (ebb_room_plane *)m->to->ceiling.plane + (s == 1 ? 0 : s - walls - 1);
        if (!ebb_room_plane_is_level(plane))
            return "it is a slope; walls and level ceilings can be moved";
        plane->at += m->by;
    } else {
        return "only walls and level ceilings can be moved";
    }
    for (size_t i = 0; i < m->to->n_blocks; i++) {
        ebb_room_block *block = &m->to->block[i];
        if (!is_wall(m, block->on))
            continue;
        keep_reach(m, block);
        block->at[0] -= slid(m, block->on - 2);
    }
    return NULL;
}

/* ---- what is in it --------------------------------------------------------------------------- */

/* The surface of the same name, since a body may have lost or won a side. */
static size_t same_surface(const move *m, const ebb_room *to, size_t surface)
{
    for (size_t i = 0; i < to->n_surfaces; i++)
        if (strcmp(to->surfaces[i].name, m->room->surfaces[surface].name) == 0)
            return i;
    return (size_t)-1;
}

static void take_constructions(const move *m, ebb_room *to)
{
    for (size_t b = 0; b < to->n_bodies; b++)
        for (size_t i = 0; i < to->bodies[b].n_sides; i++)
            to->surfaces[to->bodies[b].side[i]].construction = m->to->block[b].construction;
    for (size_t i = 0; i < m->room->n_surfaces; i++) {
        const size_t s = same_surface(m, to, i);
        if (s != (size_t)-1)
            to->surfaces[s].construction = m->room->surfaces[i].construction;
    }
}

/* Openings and units keep their place in space. */
static const char *take_patches(const move *m, ebb_room *to)
{
    to->openings = EBB_NEW(m->arena, ebb_opening, to->n_openings);
    to->placed = EBB_NEW(m->arena, ebb_placed, to->n_placed);
    if (to->openings == NULL || to->placed == NULL)
        return NULL;
    for (size_t i = 0; i < to->n_openings + to->n_placed; i++) {
        const bool opening = i < to->n_openings;
        ebb_opening *o = &to->openings[opening ? i : 0];
        ebb_placed *p = &to->placed[opening ? 0 : i - to->n_openings];
        if (opening)
            *o = m->room->openings[i];
        else
            *p = m->room->placed[i - to->n_openings];
        size_t *surface = opening ? &o->surface : &p->surface;
        if (is_wall(m, *surface))
            (opening ? o->at : p->at)[0] -= slid(m, *surface - 2);
        *surface = same_surface(m, to, *surface);
        if (*surface == (size_t)-1)
            return "the side of a body that something is on would be gone";
    }
    return "";
}

/* The largest of a few parts of the zone that fits all round. */
static double zone_that_fits(const ebb_room *room, const ebb_station *station)
{
    const ebb_vec3 at = ebb_minus(station->at, room->origin);
    for (int part = 8; part > 0; part--) {
        const double zone = station->zone * part / 8;
        bool fits = true;
        for (int i = 0; i < 32 && fits; i++) {
            const double angle = 6.283185307179586 * i / 32;
            fits = ebb_room_holds(
                room, (ebb_vec3){at.x + zone * cos(angle), at.y + zone * sin(angle), at.z},
                EBB_ROOM_CLEAR);
        }
        if (fits)
            return zone;
    }
    return 0;
}

static const char *take_stations(const move *m, ebb_room *to)
{
    const size_t n = to->n_seats + to->n_speakers;
    ebb_station *all = EBB_NEW(m->arena, ebb_station, n);
    if (all == NULL)
        return NULL;
    if (to->n_seats > 0)
        memcpy(all, m->room->seats, to->n_seats * sizeof *all);
    if (to->n_speakers > 0)
        memcpy(all + to->n_seats, m->room->speakers, to->n_speakers * sizeof *all);
    to->seats = all;
    to->speakers = all + to->n_seats;
    for (size_t i = 0; i < n; i++) {
        if (!ebb_room_holds(to, ebb_minus(all[i].at, to->origin), EBB_ROOM_CLEAR))
            return ebb_room_say(m->arena, "\"%s\" would be outside or within 50 mm of a surface",
                                all[i].name);
        all[i].zone = zone_that_fits(to, &all[i]);
    }
    return "";
}

static const char *check_patches(const move *m, const ebb_room *to)
{
    const size_t n = to->n_openings + to->n_placed;
    ebb_room_crate *crate = EBB_NEW(m->arena, ebb_room_crate, n);
    if (crate == NULL)
        return NULL;
    for (size_t i = 0; i < n; i++) {
        const bool opening = i < to->n_openings;
        const ebb_placed *p = opening ? NULL : &to->placed[i - to->n_openings];
        const ebb_unit *unit = opening ? NULL : &m->job->absorbers[p->unit];
        const size_t s = opening ? to->openings[i].surface : p->surface;
        const double *at = opening ? to->openings[i].at : p->at;
        double size[2];
        size_t hit = 0;
        if (opening)
            memcpy(size, to->openings[i].size, sizeof size);
        else
            ebb_placed_size(unit, p, size);
        if (!ebb_surface_holds(&to->surfaces[s], at, size))
            return ebb_room_say(m->arena, "%s on %s would not fit any more",
                                opening ? "an opening" : "a unit", to->surfaces[s].name);
        crate[i] = ebb_room_crate_on(&to->surfaces[s], at, size, opening ? 0.01 : unit->depth);
        ebb_room_crate inside = crate[i];
        inside.corner = ebb_minus(inside.corner, to->origin);
        if (to->shaped && !opening && !ebb_room_crate_is_free(to->solid, &inside, &hit))
            return ebb_room_say(m->arena, "a unit on %s would run into %s", to->surfaces[s].name,
                                to->surfaces[hit].name);
        for (size_t j = 0; j < i && !opening; j++)
            if (ebb_room_crates_overlap(&crate[i], &crate[j]))
                return ebb_room_say(m->arena, "a unit on %s would run into another or a door",
                                    to->surfaces[s].name);
        for (size_t k = 0; k < to->n_seats + to->n_speakers && !opening; k++)
            if (ebb_room_crate_holds(&crate[i], to->seats[k].at))
                return ebb_room_say(m->arena, "\"%s\" would be inside a unit", to->seats[k].name);
    }
    return "";
}

/* ---- the room -------------------------------------------------------------------------------- */

/* Each step gives NULL without memory, "" when all is well, else what is wrong. */
static const char *furnish(const move *m, ebb_room *to)
{
    static const char *(*const steps[])(const move *, ebb_room *) = {take_patches, take_stations};
    take_constructions(m, to);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        const char *why = steps[i](m, to);
        if (why == NULL || *why != '\0')
            return why;
    }
    return check_patches(m, to);
}

static ebb_status build(move *m, ebb_room *to)
{
    const char *why = move_shape(m);
    if (why != NULL)
        return no_room(m, why);
    to->shaped = false;
    to->shape = NULL;
    to->solid = NULL;
    to->space = NULL;
    to->bodies = NULL;
    to->n_bodies = to->n_plan = 0;
    to->plan = NULL;
    const ebb_room_outcome out = ebb_room_shape_build(m->arena, m->arena, m->to, to);
    if (out.status == EBB_E_NUMERIC)
        return ebb_fail(m->ctx, EBB_E_NUMERIC, "the moved room could not be made: %s", out.why);
    if (out.status != EBB_OK)
        return no_room(m, out.why);
    why = furnish(m, to);
    return why == NULL || *why != '\0' ? no_room(m, why) : EBB_OK;
}

ebb_status ebb_room_moved(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                          size_t surface, double by, ebb_room *moved)
{
    move m = {ctx, arena, job, room, surface, by, room->shape, NULL};
    memset(moved, 0, sizeof *moved);
    if (surface >= room->n_surfaces || !isfinite(by))
        return ebb_fail(ctx, EBB_E_RANGE, "there is no surface %zu to be moved by %g m", surface,
                        by);
    if (!room->shaped)
        m.from = ebb_room_box_shape(arena, room);
    if (m.from == NULL || !copy_shape(&m))
        return no_room(&m, NULL);
    ebb_room to = *room;
    const ebb_status status = build(&m, &to);
    if (status == EBB_OK)
        *moved = to;
    return status;
}
