/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * place.c - where things go, as a tape finds it.
 *
 * Facing a wall from inside, its first corner is on the right, for plan corners run
 * counter-clockwise. Nobody on site wants to know that: left and right are said as they are seen.
 */
#include "place.h"

#include "words.h"

#include <math.h>
#include <string.h>

#define PARALLEL 0.9 /* cosine from which two walls are no help to each other */

bool ebb_is_wall(const ebb_room *room, size_t surface)
{
    return surface < room->n_surfaces && !ebb_surface_is_floor(&room->surfaces[surface]) &&
           !ebb_surface_is_ceiling(&room->surfaces[surface]);
}

/* Does along run to the left of someone who faces the surface from inside? */
static bool runs_left(const ebb_surface *s)
{
    const ebb_vec3 facing = ebb_surface_normal(s);
    return s->along.x * facing.y - s->along.y * facing.x < 0.0;
}

ebb_wall_place ebb_place_on_wall(const ebb_job *job, const ebb_room *room, const ebb_placed *placed)
{
    const ebb_surface *s = &room->surfaces[placed->surface];
    double size[2];
    ebb_placed_size(&job->absorbers[placed->unit], placed, size);
    const double first = placed->at[0] - s->range[0][0];
    const double last = s->range[0][1] - placed->at[0] - size[0];
    const double low = placed->at[1] - s->range[1][0];
    const double high = s->range[1][1] - placed->at[1] - size[1];
    return runs_left(s) ? (ebb_wall_place){last, first, low, high}
                        : (ebb_wall_place){first, last, low, high};
}

/* ---- from two walls -------------------------------------------------------------------------- */

/* Nearest distance of some points to the plane of a wall; below 0 when one stands beside it, where
 * no tape at a right angle meets the wall. */
static double from_wall(const ebb_surface *wall, size_t n, const ebb_vec3 *point)
{
    const ebb_vec3 out = ebb_surface_normal(wall);
    const double slack = 1e-6;
    double least = INFINITY;
    for (size_t i = 0; i < n; i++) {
        const ebb_vec3 from = ebb_minus(point[i], wall->origin);
        const double along = ebb_dot(from, wall->along);
        if (along < wall->range[0][0] - slack || along > wall->range[0][1] + slack) {
            return -1.0;
        }
        least = fmin(least, -ebb_dot(from, out));
    }
    return least > -slack ? fmax(least, 0.0) : -1.0;
}

/* The nearest wall, then the nearest that stands across it. */
static ebb_floor_place from_walls(const ebb_room *room, size_t n, const ebb_vec3 *point)
{
    ebb_floor_place place = {0};
    for (int k = 0; k < 2; k++) {
        double least = INFINITY;
        for (size_t s = 0; s < room->n_surfaces; s++) {
            const ebb_surface *wall = &room->surfaces[s];
            if (strncmp(wall->name, "wall_", 5) != 0 ||
                (k == 1 &&
                 fabs(ebb_dot(wall->along, room->surfaces[place.wall[0]].along)) > PARALLEL)) {
                continue;
            }
            const double distance = from_wall(wall, n, point);
            if (distance >= 0.0 && distance < least) {
                least = distance;
                place.wall[k] = s;
                place.distance[k] = distance;
            }
        }
        if (!isfinite(least)) {
            return place;
        }
        place.n++;
    }
    return place;
}

ebb_floor_place ebb_place_on_floor(const ebb_room *room, ebb_vec3 at)
{
    return from_walls(room, 1, &at);
}

ebb_floor_place ebb_place_under(const ebb_job *job, const ebb_room *room, const ebb_placed *placed)
{
    const ebb_surface *s = &room->surfaces[placed->surface];
    ebb_vec3 corner[4];
    double size[2];
    ebb_placed_size(&job->absorbers[placed->unit], placed, size);
    for (int i = 0; i < 4; i++) {
        corner[i] = ebb_surface_point(s, placed->at[0] + (i & 1 ? size[0] : 0.0),
                                      placed->at[1] + (i & 2 ? size[1] : 0.0));
    }
    return from_walls(room, 4, corner);
}

/* ---- in words -------------------------------------------------------------------------------- */

static const char *on_wall(ebb_arena *arena, const ebb_wall_place *place, ebb_units units)
{
    const char *left = ebb_report_measure(arena, place->left, units);
    const char *right = ebb_report_measure(arena, place->right, units);
    const char *floor = ebb_report_measure(arena, place->floor, units);
    return left && right && floor
               ? ebb_arena_format(arena, "%s left, %s right, %s up", left, right, floor)
               : NULL;
}

static const char *from_two(ebb_arena *arena, const ebb_room *room, const ebb_floor_place *place,
                            ebb_units units)
{
    const char *text = ebb_arena_text(arena, "");
    for (size_t k = 0; k < place->n && text; k++) {
        const char *distance = ebb_report_measure(arena, place->distance[k], units);
        text = distance ? ebb_arena_format(arena, "%s%s%s from %s", text, k > 0 ? ", " : "",
                                           distance, room->surfaces[place->wall[k]].name)
                        : NULL;
    }
    return text;
}

/* A slope is measured on itself: what hangs on it is not found from below. */
static const char *on_slope(ebb_arena *arena, const ebb_surface *s, const ebb_placed *placed,
                            ebb_units units)
{
    const char *along = ebb_report_measure(arena, placed->at[0] - s->range[0][0], units);
    const char *up = ebb_report_measure(arena, placed->at[1] - s->range[1][0], units);
    return along && up
               ? ebb_arena_format(arena, "%s along its lower edge, %s up the slope", along, up)
               : NULL;
}

const char *ebb_place_words(ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                            const ebb_placed *placed, ebb_units units)
{
    if (placed->surface >= room->n_surfaces || placed->unit >= job->n_units) {
        return ebb_arena_text(arena, "?");
    }
    if (ebb_is_wall(room, placed->surface)) {
        const ebb_wall_place place = ebb_place_on_wall(job, room, placed);
        return on_wall(arena, &place, units);
    }
    const ebb_surface *s = &room->surfaces[placed->surface];
    const ebb_floor_place place = ebb_place_under(job, room, placed);
    return fabs(ebb_surface_normal(s).z) < 0.999 || place.n < 2
               ? on_slope(arena, s, placed, units)
               : from_two(arena, room, &place, units);
}

const char *ebb_station_words(ebb_arena *arena, const ebb_room *room, ebb_vec3 at, ebb_units units)
{
    const ebb_floor_place place = ebb_place_on_floor(room, at);
    const char *walls = from_two(arena, room, &place, units);
    const char *floor = ebb_report_measure(arena, at.z - room->surfaces[0].origin.z, units);
    return walls && floor
               ? ebb_arena_format(arena, "%s%s%s up", walls, place.n > 0 ? ", " : "", floor)
               : NULL;
}
