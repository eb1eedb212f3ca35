/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames of surfaces: where (along, up) counts from and in which directions. */
#include "shape.h"

#include "vector.h"

#include <string.h>

#define LEVEL 1e-6   /* horizontal part of a normal below which a surface is level */
#define UPRIGHT 1e-9 /* vertical part below which it is upright */

/* Level surfaces have the plan's own coordinates; all others run level along, and up. */
static void set_directions(ebb_surface *surface)
{
    const ebb_vec3 n = surface->normal;
    if (hypot(n.x, n.y) < LEVEL) {
        surface->along = (ebb_vec3){1, 0, 0};
        surface->up = (ebb_vec3){0, 1, 0};
        return;
    }
    const ebb_vec3 up = fabs(n.z) < UPRIGHT ? (ebb_vec3){0, 0, 1}
                                            : (ebb_vec3){-n.x * n.z, -n.y * n.z, 1 - n.z * n.z};
    surface->up = ebb_plus((ebb_vec3){0, 0, 0}, 1 / ebb_length(up), up);
    surface->along = ebb_cross(surface->up, n);
}

/* The lowest corner; of several the first on the way along. */
static ebb_vec3 lowest(const ebb_room_part *part, const ebb_surface *surface)
{
    ebb_vec3 best = part->loop[0].point[0];
    for (size_t l = 0; l < part->n_loops; l++)
        for (size_t i = 0; i < part->loop[l].n; i++) {
            const ebb_vec3 way = ebb_minus(part->loop[l].point[i], best);
            const double up = ebb_dot(way, surface->up);
            if (up < -1e-6 || (up < 1e-6 && ebb_dot(way, surface->along) < 0))
                best = part->loop[l].point[i];
        }
    return best;
}

static void set_origin(const ebb_room_part *part, ebb_vec3 origin, ebb_surface *surface)
{
    if (part->wall)
        surface->origin = ebb_plus(origin, 1, part->from);
    else
        surface->origin = ebb_plus(origin, 1, lowest(part, surface));
    if (hypot(surface->normal.x, surface->normal.y) < LEVEL)
        surface->origin.x = surface->origin.y = 0;
}

/* Twice the area of a loop with its sign in (along, up). */
static double turn_of(const double (*p)[2], size_t n)
{
    double turn = 0;
    for (size_t i = 1; i + 1 < n; i++)
        turn += ebb_room_turn(p[0], p[i], p[i + 1]);
    return turn;
}

bool ebb_room_frame(ebb_arena *keep, const ebb_room_part *part, ebb_vec3 origin,
                    ebb_surface *surface)
{
    size_t n = 0;
    for (size_t l = 0; l < part->n_loops; l++)
        n += part->loop[l].n;
    size_t *loop = EBB_NEW(keep, size_t, part->n_loops);
    double(*point)[2] = ebb_arena_alloc(keep, n, sizeof *point), (*p)[2] = point, turn = 0;
    if (loop == NULL || point == NULL)
        return false;
    surface->normal = part->normal;
    set_directions(surface);
    set_origin(part, origin, surface);
    for (int d = 0; d < 2; d++) {
        surface->range[d][0] = INFINITY;
        surface->range[d][1] = -INFINITY;
    }
    for (size_t l = 0; l < part->n_loops; p += loop[l++]) {
        loop[l] = part->loop[l].n;
        for (size_t i = 0; i < loop[l]; i++) {
            const ebb_vec3 at = ebb_plus(origin, 1, part->loop[l].point[i]);
            const ebb_vec3 way = ebb_minus(at, surface->origin);
            p[i][0] = ebb_dot(way, surface->along);
            p[i][1] = ebb_dot(way, surface->up);
            for (int d = 0; d < 2; d++) {
                surface->range[d][0] = fmin(surface->range[d][0], p[i][d]);
                surface->range[d][1] = fmax(surface->range[d][1], p[i][d]);
            }
        }
        turn += turn_of((const double(*)[2])p, loop[l]);
    }
    memcpy(surface->name, part->name, sizeof surface->name);
    surface->n_loops = part->n_loops;
    surface->loop = loop;
    surface->point = (const double(*)[2])point;
    surface->cut_area = 0.5 * fabs(turn);
    surface->axis = -1;
    return true;
}
