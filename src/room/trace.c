/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Loops of a part from the ways between its corners. Where two lines of the job nearly fall
 * together the cutting leaves slivers thinner than what counts as the same point: after corners are
 * joined their ways run there and back, cancel, and what is left is the outline that was meant.
 */
#include "shape.h"

#include "vector.h"

#define NONE ((size_t)-1)

/* The last way fills the gap. */
static void take_out(size_t (*way)[2], size_t *n, size_t i)
{
    *n -= 1;
    for (int k = 0; k < 2; k++)
        way[i][k] = way[*n][k];
}

/* Takes out ways that run there and back; returns how many are left. */
static size_t cancel(size_t (*way)[2], size_t n)
{
    for (size_t i = 0; i < n;) {
        size_t j = i + 1;
        while (j < n && (way[j][0] != way[i][1] || way[j][1] != way[i][0]))
            j++;
        if (j < n) {
            take_out(way, &n, j);
            take_out(way, &n, i);
        } else {
            i++;
        }
    }
    return n;
}

/* Angle from the way back to `from` round to `to`, against the clock as seen against the normal:
 * the smaller it is, the nearer is `to` on the side of the part. */
static double angle_at(const ebb_room_corners *all, ebb_vec3 normal, const size_t back[2],
                       size_t to)
{
    const ebb_vec3 r = ebb_minus(all->at[back[0]], all->at[back[1]]);
    const ebb_vec3 s = ebb_minus(all->at[to], all->at[back[1]]);
    const double angle = atan2(ebb_dot(ebb_cross(r, s), normal), ebb_dot(r, s));
    return angle > 0 ? angle : angle + 6.283185307179586;
}

/* The way that follows: where loops touch in a corner, the one that keeps to the same piece. */
static size_t next_way(const ebb_room_corners *all, ebb_vec3 normal, const size_t (*way)[2],
                       const bool *used, size_t n, size_t at)
{
    size_t best = NONE;
    double least = INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (used[i] || way[i][0] != way[at][1])
            continue;
        const double angle = angle_at(all, normal, way[at], way[i][1]);
        if (angle >= least)
            continue;
        least = angle;
        best = i;
    }
    return best;
}

/* One loop from way i on; empty when it does not close. */
static bool follow(ebb_arena *arena, const ebb_room_corners *all, ebb_vec3 normal,
                   const size_t (*way)[2], bool *used, size_t n, size_t i, ebb_room_loop *loop)
{
    *loop = (ebb_room_loop){0, EBB_NEW(arena, ebb_vec3, n), false, EBB_NEW(arena, size_t, n)};
    if (loop->point == NULL || loop->corner == NULL)
        return false;
    const size_t first = way[i][0];
    for (size_t at = i; at != NONE; at = next_way(all, normal, way, used, n, at)) {
        used[at] = true;
        loop->corner[loop->n] = way[at][0];
        loop->point[loop->n++] = all->at[way[at][0]];
        if (way[at][1] == first)
            return true;
    }
    loop->n = 0;
    return true;
}

/* Does an outer loop hold a hole? Seen along the axis that the part faces most. */
static bool loop_holds(const ebb_room_loop *outer, const ebb_room_loop *hole, ebb_vec3 normal)
{
    const double x = fabs(normal.x), y = fabs(normal.y), z = fabs(normal.z);
    const int axis = x >= y && x >= z ? 0 : y >= z ? 1 : 2;
    const ebb_vec3 p = ebb_plus(hole->point[0], 0.5, ebb_minus(hole->point[1], hole->point[0]));
    const double at[2] = {axis == 0 ? p.y : p.x, axis == 2 ? p.y : p.z};
    bool inside = false;
    for (size_t i = 0; i < outer->n; i++) {
        const ebb_vec3 u = outer->point[i], v = outer->point[(i + 1) % outer->n];
        const double a[2] = {axis == 0 ? u.y : u.x, axis == 2 ? u.y : u.z};
        const double b[2] = {axis == 0 ? v.y : v.x, axis == 2 ? v.y : v.z};
        inside = inside != ebb_room_crosses_ray(a, b, at);
    }
    return inside;
}

/* Outer loops, each with its holes behind it. */
static bool sort_loops(ebb_arena *arena, const ebb_room_loop *loop, size_t n, ebb_room_part *part)
{
    part->loop = EBB_NEW(arena, ebb_room_loop, n);
    part->n_loops = 0;
    if (part->loop == NULL)
        return false;
    for (size_t i = 0; i < n; i++) {
        if (loop[i].hole)
            continue;
        part->loop[part->n_loops++] = loop[i];
        for (size_t j = 0; j < n; j++)
            if (loop[j].hole && loop_holds(&loop[i], &loop[j], part->normal))
                part->loop[part->n_loops++] = loop[j];
    }
    return true;
}

bool ebb_room_trace(ebb_arena *arena, const ebb_room_corners *all, size_t (*way)[2], size_t n,
                    ebb_room_part *part)
{
    n = cancel(way, n);
    bool *used = EBB_NEW(arena, bool, n);
    ebb_room_loop *loop = EBB_NEW(arena, ebb_room_loop, n);
    size_t n_loops = 0;
    if (used == NULL || loop == NULL)
        return false;
    for (size_t i = 0; i < n; i++) {
        if (used[i])
            continue;
        ebb_room_loop *new = &loop[n_loops];
        if (!follow(arena, all, part->normal, (const size_t(*)[2])way, used, n, i, new))
            return false;
        if (new->n < 3)
            continue;
        /* Holes turn their back to the room. */
        new->hole = ebb_dot(ebb_room_loop_area(new), part->normal) > 0;
        n_loops++;
    }
    return sort_loops(arena, loop, n_loops, part);
}
