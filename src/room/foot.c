/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the foot of a body stands in plan: flush with what it nearly touches, else well clear. */
#include "shape.h"

#include "vector.h"

#include <string.h>

#define TOUCH 1e-6 /* m: on a line, after what is meant to touch was moved onto it */
#define SPILL 1e-6 /* m2 of a foot that may lie outside, by rounding */

static double *corner(const ebb_room_outline *o, size_t i)
{
    return o->corner[i % o->n];
}

/* ---- flush ----------------------------------------------------------------------------------- */

/* A corner of the room first, since two walls go through it. */
static void fit_corner(const ebb_room_shape *shape, double at[2])
{
    const size_t n = ebb_room_uprights(shape);
    for (size_t i = 0; i < n; i++) {
        const ebb_room_upright u = ebb_room_upright_of(shape, i);
        if (hypot(u.from[0] - at[0], u.from[1] - at[1]) > EBB_ROOM_FLUSH)
            continue;
        memcpy(at, u.from, 2 * sizeof at[0]);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        const ebb_room_upright u = ebb_room_upright_of(shape, i);
        if (ebb_room_distance(u.from, u.to, at) > EBB_ROOM_FLUSH)
            continue;
        const double t = ebb_room_nearest(u.from, u.to, at);
        at[0] = u.from[0] + t * (u.to[0] - u.from[0]);
        at[1] = u.from[1] + t * (u.to[1] - u.from[1]);
        return;
    }
}

/* Does a corner of the room lie within side i of the foot? */
static bool is_between(const ebb_room_outline *foot, size_t i, const double at[2])
{
    const double *a = corner(foot, i), *b = corner(foot, i + 1);
    return ebb_room_distance(a, b, at) <= EBB_ROOM_FLUSH &&
           hypot(a[0] - at[0], a[1] - at[1]) > EBB_ROOM_FLUSH &&
           hypot(b[0] - at[0], b[1] - at[1]) > EBB_ROOM_FLUSH;
}

static bool add_corner(ebb_arena *arena, ebb_room_block *block, size_t i, const double at[2])
{
    const size_t n = block->foot.n;
    double(*to)[2] = ebb_arena_alloc(arena, n + 1, sizeof *to);
    ebb_room_side *tag = EBB_NEW(arena, ebb_room_side, n + 1);
    if (to == NULL || tag == NULL)
        return false;
    memcpy(to, block->foot.corner, (i + 1) * sizeof *to);
    memcpy(to[i + 1], at, sizeof *to);
    memcpy(to + i + 2, block->foot.corner + i + 1, (n - i - 1) * sizeof *to);
    memcpy(tag, block->tag, (i + 1) * sizeof *tag);
    memcpy(tag + i + 1, block->tag + i, (n - i) * sizeof *tag);
    block->foot = (ebb_room_outline){n + 1, to};
    block->tag = tag;
    return true;
}

/* A side that a corner of the room lies on is on a wall before it and free after it. */
bool ebb_room_foot_fit(ebb_arena *arena, const ebb_room_shape *shape, ebb_room_block *block)
{
    for (size_t i = 0; i < block->foot.n; i++)
        fit_corner(shape, block->foot.corner[i]);
    for (size_t u = 0; u < ebb_room_uprights(shape); u++) {
        const double *at = ebb_room_upright_of(shape, u).from;
        for (size_t i = 0; i < block->foot.n; i++) {
            if (!is_between(&block->foot, i, at))
                continue;
            if (!add_corner(arena, block, i, at))
                return false;
            break;
        }
    }
    return true;
}

size_t ebb_room_foot_upright(const ebb_room_shape *shape, const ebb_room_outline *foot, size_t i)
{
    const double *a = corner(foot, i), *b = corner(foot, i + 1);
    for (size_t u = 0; u < ebb_room_uprights(shape); u++) {
        const ebb_room_upright on = ebb_room_upright_of(shape, u);
        if (ebb_room_distance(on.from, on.to, a) < TOUCH &&
            ebb_room_distance(on.from, on.to, b) < TOUCH)
            return u;
    }
    return (size_t)-1;
}

/* ---- faults ---------------------------------------------------------------------------------- */

static const char *name_of(ebb_arena *arena, const ebb_room_upright *u)
{
    const char *name = u->column == 0
                           ? ebb_room_say(arena, "wall_%zu", u->side + 1)
                           : ebb_room_say(arena, "column_%zu_%zu", u->column, u->side + 1);
    return name != NULL ? name : "a wall";
}

/* A body that stands on nothing but a line would leave the air pinched there. */
static bool leans(const ebb_room_shape *shape, const ebb_room_outline *foot, size_t i)
{
    return ebb_room_foot_upright(shape, foot, i) != (size_t)-1 ||
           ebb_room_foot_upright(shape, foot, (i + foot->n - 1) % foot->n) != (size_t)-1;
}

/* How near a corner of the foot comes to an upright, or a corner of the upright to the foot. */
static const char *near_fault(ebb_arena *arena, const ebb_room_shape *shape,
                              const ebb_room_outline *foot, const ebb_room_upright *u)
{
    for (size_t i = 0; i < foot->n; i++) {
        const double d = ebb_room_distance(u->from, u->to, corner(foot, i));
        const double e = ebb_room_distance(corner(foot, i), corner(foot, i + 1), u->from);
        if (d < TOUCH && !leans(shape, foot, i))
            return ebb_room_say(arena, "it touches %s with an edge only; turn or move it",
                                name_of(arena, u));
        const double nearest = fmin(d < TOUCH ? INFINITY : d, e < TOUCH ? INFINITY : e);
        if (nearest < EBB_ROOM_GAP - TOUCH)
            return ebb_room_say(arena,
                                "it is %.3g mm from %s; let it touch or leave at least %.3g mm",
                                1000 * nearest, name_of(arena, u), 1000 * EBB_ROOM_GAP);
    }
    return NULL;
}

static const char *outside_fault(ebb_room_cutter *cutter, ebb_arena *arena,
                                 const ebb_room_shape *shape, const ebb_room_outline *foot)
{
    const ebb_room_region own = ebb_room_region_of(cutter, foot);
    const ebb_room_region plan = ebb_room_region_of(cutter, &shape->plan);
    ebb_room_region out = ebb_room_region_without(cutter, &own, &plan);
    double area = ebb_room_region_area(&out);
    if (area > SPILL)
        return ebb_room_say(arena,
                            "it reaches through a wall: %.3g m2 of %.3g m2 in plan lie "
                            "outside the room",
                            area, 0.5 * ebb_room_outline_turn(foot));
    for (size_t i = 0; i < shape->n_columns; i++) {
        const ebb_room_region column = ebb_room_region_of(cutter, &shape->column[i]);
        out = ebb_room_region_within(cutter, &own, &column);
        area = ebb_room_region_area(&out);
        if (area > SPILL)
            return ebb_room_say(arena, "it reaches into column %zu, by %.3g m2 in plan", i + 1,
                                area);
    }
    return NULL;
}

const char *ebb_room_foot_fault(ebb_room_cutter *cutter, ebb_arena *arena,
                                const ebb_room_shape *shape, const ebb_room_block *block)
{
    const char *why = outside_fault(cutter, arena, shape, &block->foot);
    for (size_t u = 0; u < ebb_room_uprights(shape) && why == NULL; u++) {
        const ebb_room_upright upright = ebb_room_upright_of(shape, u);
        why = near_fault(arena, shape, &block->foot, &upright);
    }
    return why;
}
