/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Volume, areas and inside of a closed polyhedron. */
#include <ebb/solid.h>

#include "shape.h"
#include "vector.h"

/* Area of a facet times its unit normal, into the room: outer loops and holes add with their signs.
 * Taken from a corner of the facet, so that a far origin costs no digits. */
static ebb_vec3 area_of(const ebb_solid *solid, const ebb_facet *facet)
{
    const ebb_vec3 from = solid->corner[facet->corner[0]];
    ebb_vec3 sum = {0, 0, 0};
    const size_t *c = facet->corner;
    for (size_t l = 0; l < facet->n_loops; c += facet->loop[l++])
        for (size_t i = 0, n = facet->loop[l]; i < n; i++) {
            const ebb_vec3 a = ebb_minus(solid->corner[c[i]], from);
            const ebb_vec3 b = ebb_minus(solid->corner[c[(i + 1) % n]], from);
            sum = ebb_plus(sum, 0.5, ebb_cross(a, b));
        }
    return sum;
}

double ebb_solid_volume(const ebb_solid *solid)
{
    double volume = 0;
    for (size_t i = 0; i < solid->n_facets; i++) {
        const ebb_facet *facet = &solid->facet[i];
        volume -= ebb_dot(solid->corner[facet->corner[0]], area_of(solid, facet)) / 3;
    }
    return volume;
}

double ebb_solid_area(const ebb_solid *solid, size_t surface)
{
    double area = 0;
    for (size_t i = 0; i < solid->n_facets; i++)
        if (solid->facet[i].surface == surface)
            area += ebb_length(area_of(solid, &solid->facet[i]));
    return area;
}

/* ---- inside ---------------------------------------------------------------------------------- */

/* What a facet looks like from a point. */
typedef struct seen {
    double angle;    /* solid angle it fills, signed: positive from the room's side */
    double distance; /* m */
} seen;

/* Twice tan(angle / 2) of a triangle is volume over this (A. van Oosterom and J. Strackee, IEEE
 * Trans. Biomed. Eng. 30, 1983, 125-126; from memory). */
static double angle_divisor(ebb_vec3 a, ebb_vec3 b, ebb_vec3 c)
{
    const double x = ebb_length(a), y = ebb_length(b), z = ebb_length(c);
    return x * y * z + ebb_dot(a, b) * z + ebb_dot(b, c) * x + ebb_dot(c, a) * y;
}

/* Distance of the origin from the line from a to b. */
static double line_distance(ebb_vec3 a, ebb_vec3 b)
{
    const ebb_vec3 way = ebb_minus(b, a);
    const double square = ebb_dot(way, way);
    const double t = square > 0 ? -ebb_dot(a, way) / square : 0;
    return ebb_length(ebb_plus(a, fmin(fmax(t, 0), 1), way));
}

/* The loops fan out from one corner: triangles that overlap cancel by their signs. The height over
 * the plane is taken once for all of them, since its rounding would else give triangles of one
 * plane different signs. Where the foot of the point is on the facet the turns round it add to a
 * full one. */
static seen look(const ebb_solid *solid, const ebb_facet *facet, ebb_vec3 at)
{
    const ebb_vec3 whole = area_of(solid, facet);
    const ebb_vec3 normal = ebb_plus((ebb_vec3){0, 0, 0}, 1 / ebb_length(whole), whole);
    const ebb_vec3 o = ebb_minus(solid->corner[facet->corner[0]], at);
    const double height = -ebb_dot(o, normal);
    const ebb_vec3 foot = ebb_plus((ebb_vec3){0, 0, 0}, -height, normal);
    double turns = 0;
    seen out = {0, INFINITY};
    const size_t *c = facet->corner;
    for (size_t l = 0; l < facet->n_loops; c += facet->loop[l++])
        for (size_t i = 0, n = facet->loop[l]; i < n; i++) {
            const ebb_vec3 a = ebb_minus(solid->corner[c[i]], at);
            const ebb_vec3 b = ebb_minus(solid->corner[c[(i + 1) % n]], at);
            const ebb_vec3 across = ebb_cross(ebb_minus(a, o), ebb_minus(b, o));
            out.angle += 2 * atan2(height * ebb_dot(across, normal), angle_divisor(o, a, b));
            const ebb_vec3 p = ebb_minus(a, foot), q = ebb_minus(b, foot);
            turns += atan2(ebb_dot(ebb_cross(p, q), normal), ebb_dot(p, q));
            out.distance = fmin(out.distance, line_distance(a, b));
        }
    if (turns > 3.14)
        out.distance = fmin(out.distance, fabs(height));
    return out;
}

double ebb_room_clearance(const ebb_solid *solid, ebb_vec3 at, size_t *surface)
{
    double nearest = INFINITY;
    for (size_t i = 0; i < solid->n_facets; i++) {
        const double distance = look(solid, &solid->facet[i], at).distance;
        if (distance >= nearest)
            continue;
        nearest = distance;
        *surface = solid->facet[i].surface;
    }
    return nearest;
}

/* Seen from inside the facets fill the whole sphere, from outside they cancel. On a facet the sum
 * is anything: there the distance decides alone. */
bool ebb_solid_holds(const ebb_solid *solid, ebb_vec3 at, double clear)
{
    double angle = 0, nearest = INFINITY;
    if (!isfinite(at.x) || !isfinite(at.y) || !isfinite(at.z))
        return false;
    for (size_t i = 0; i < solid->n_facets; i++) {
        const seen s = look(solid, &solid->facet[i], at);
        angle += s.angle;
        nearest = fmin(nearest, s.distance);
    }
    if (nearest <= 1e-9)
        return clear <= 1e-9;
    return angle > 6.28 && nearest >= clear - 1e-9;
}
