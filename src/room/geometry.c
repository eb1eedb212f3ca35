/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Geometry of rooms: closed forms for rectangular ones, the solid for all others. */
#include <ebb/job.h>

#include "vector.h"

#include <math.h>

#define FORGIVEN 1e-3 /* m that a rectangle may stick out of its surface */
#define LEVEL 1e-6    /* component of a normal along z below which a surface is upright */

/* ---- rooms ----------------------------------------------------------------------------------- */

double ebb_room_volume(const ebb_room *room)
{
    if (room->shaped)
        return ebb_solid_volume(room->solid);
    return room->size[0] * room->size[1] * room->size[2];
}

double ebb_room_area(const ebb_room *room)
{
    const double *s = room->size;
    if (!room->shaped)
        return 2 * (s[0] * s[1] + s[1] * s[2] + s[2] * s[0]);
    double area = 0;
    for (size_t i = 0; i < room->n_surfaces; i++)
        area += ebb_surface_area(&room->surfaces[i]);
    return area;
}

double ebb_room_treatable(const ebb_room *room)
{
    if (!room->shaped)
        return ebb_room_area(room) - room->size[0] * room->size[1];
    double area = 0;
    for (size_t i = 0; i < room->n_surfaces; i++)
        if (!ebb_surface_is_floor(&room->surfaces[i]))
            area += ebb_surface_area(&room->surfaces[i]);
    return area;
}

size_t ebb_room_face(const ebb_room *room, int axis, int side)
{
    for (size_t i = 0; i < room->n_surfaces; i++)
        if (room->surfaces[i].axis == axis && room->surfaces[i].side == side)
            return i;
    return (size_t)-1;
}

/* Points that are meant to keep exactly `clear` must not fail by rounding. NaN is nowhere. */
bool ebb_room_holds(const ebb_room *room, ebb_vec3 at, double clear)
{
    const double p[3] = {at.x, at.y, at.z}, near = clear - 1e-9;
    if (room->shaped)
        return ebb_solid_holds(room->solid, at, clear);
    for (int d = 0; d < 3; d++)
        if (!(p[d] >= near && p[d] <= room->size[d] - near))
            return false;
    return true;
}

/* ---- surfaces -------------------------------------------------------------------------------- */

double ebb_surface_area(const ebb_surface *surface)
{
    if (surface->n_loops > 0)
        return surface->cut_area;
    return (surface->range[0][1] - surface->range[0][0]) *
           (surface->range[1][1] - surface->range[1][0]);
}

/* A surface put together by hand may have axis and side alone. */
ebb_vec3 ebb_surface_normal(const ebb_surface *surface)
{
    const ebb_vec3 n = surface->normal;
    if (n.x != 0 || n.y != 0 || n.z != 0)
        return n;
    const double out = surface->side == 0 ? -1 : 1;
    return (ebb_vec3){surface->axis == 0 ? out : 0, surface->axis == 1 ? out : 0,
                      surface->axis == 2 ? out : 0};
}

bool ebb_surface_is_floor(const ebb_surface *surface)
{
    return ebb_surface_normal(surface).z < -LEVEL;
}

bool ebb_surface_is_ceiling(const ebb_surface *surface)
{
    return ebb_surface_normal(surface).z > LEVEL;
}

ebb_vec3 ebb_surface_point(const ebb_surface *surface, double along, double up)
{
    const ebb_vec3 o = surface->origin, a = surface->along, u = surface->up;
    return (ebb_vec3){o.x + along * a.x + up * u.x, o.y + along * a.y + up * u.y,
                      o.z + along * a.z + up * u.z};
}

/* ---- rectangles on surfaces ------------------------------------------------------------------ */

/* Does the part of the line from a to b inside the open box have any length? */
static bool crosses_box(const double a[2], const double b[2], const double low[2],
                        const double high[2])
{
    double from = 0, to = 1;
    for (int d = 0; d < 2; d++) {
        const double step = b[d] - a[d];
        if (step == 0 && !(a[d] > low[d] && a[d] < high[d]))
            return false;
        if (step == 0)
            continue;
        const double p = (low[d] - a[d]) / step, q = (high[d] - a[d]) / step;
        from = fmax(from, fmin(p, q));
        to = fmin(to, fmax(p, q));
    }
    return to > from;
}

/* An outline that runs through a rectangle takes some of it away; one that does not has all of it
 * or nothing, as its middle has. */
static bool outline_holds(const ebb_surface *surface, const double low[2], const double high[2])
{
    const double middle[2] = {0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])};
    bool inside = false;
    double nearest = INFINITY;
    const double(*p)[2] = surface->point;
    for (size_t l = 0; l < surface->n_loops; p += surface->loop[l++])
        for (size_t i = 0, n = surface->loop[l]; i < n; i++) {
            const double *a = p[i], *b = p[(i + 1) % n];
            if (crosses_box(a, b, low, high))
                return false;
            inside = inside != ebb_room_crosses_ray(a, b, middle);
            nearest = fmin(nearest, ebb_room_distance(a, b, middle));
        }
    return inside || nearest <= FORGIVEN;
}

/* What may stick out is taken off on all sides beforehand. */
bool ebb_surface_holds(const ebb_surface *surface, const double at[2], const double size[2])
{
    double low[2], high[2];
    for (int d = 0; d < 2; d++) {
        const double middle = at[d] + 0.5 * size[d];
        const double half = fmax(0.5 * size[d] - FORGIVEN, 0);
        if (!(at[d] >= surface->range[d][0] - FORGIVEN - 1e-9 &&
              at[d] + size[d] <= surface->range[d][1] + FORGIVEN + 1e-9))
            return false;
        low[d] = middle - half;
        high[d] = middle + half;
    }
    return surface->n_loops == 0 || outline_holds(surface, low, high);
}

/* Turned by 90 degrees, width and height change places; the depth stays. */
void ebb_placed_size(const ebb_unit *unit, const ebb_placed *placed, double size[2])
{
    size[0] = unit->face[placed->turned ? 1 : 0];
    size[1] = unit->face[placed->turned ? 0 : 1];
}

/* Neighbours that touch share an edge, and by rounding perhaps a hair more. NaN does not overlap.
 */
bool ebb_rect_overlap(const double at_a[2], const double size_a[2], const double at_b[2],
                      const double size_b[2])
{
    for (int i = 0; i < 2; i++) {
        const double low = fmax(at_a[i], at_b[i]);
        const double high = fmin(at_a[i] + size_a[i], at_b[i] + size_b[i]);
        if (!(high - low > 1e-3))
            return false;
    }
    return true;
}
