/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boxes in a room, at any angle: units, and the space before a door. */
#include "shape.h"

#include "vector.h"

#define FORGIVEN 1e-3 /* m that two boxes may share, or a box with a wall */

ebb_room_crate ebb_room_crate_on(const ebb_surface *surface, const double at[2],
                                 const double size[2], double depth)
{
    const ebb_vec3 none = {0, 0, 0};
    return (ebb_room_crate){ebb_surface_point(surface, at[0], at[1]),
                            {ebb_plus(none, size[0], surface->along),
                             ebb_plus(none, size[1], surface->up),
                             ebb_plus(none, -depth, ebb_surface_normal(surface))}};
}

/* How far the boxes overlap, seen along a direction of length 1. */
static double shared(const ebb_room_crate *a, const ebb_room_crate *b, ebb_vec3 way)
{
    const ebb_room_crate *const both[2] = {a, b};
    double low[2], high[2];
    for (int i = 0; i < 2; i++) {
        low[i] = high[i] = ebb_dot(both[i]->corner, way);
        for (int k = 0; k < 3; k++) {
            const double step = ebb_dot(both[i]->edge[k], way);
            low[i] += fmin(step, 0);
            high[i] += fmax(step, 0);
        }
    }
    return fmin(high[0], high[1]) - fmax(low[0], low[1]);
}

/* Two convex bodies are apart when they are so along a normal of one of them or a normal of an edge
 * of each. An empty box overlaps nothing. */
bool ebb_room_crates_overlap(const ebb_room_crate *a, const ebb_room_crate *b)
{
    ebb_vec3 way[15];
    size_t n = 0;
    for (int i = 0; i < 3; i++) {
        way[n++] = a->edge[i];
        way[n++] = b->edge[i];
        for (int k = 0; k < 3; k++)
            way[n++] = ebb_cross(a->edge[i], b->edge[k]);
    }
    for (size_t i = 0; i < n; i++) {
        const double length = ebb_length(way[i]);
        if (i % 5 < 2 && !(length > 0))
            return false;
        if (!(length > 1e-9))
            continue;
        const ebb_vec3 unit = ebb_plus((ebb_vec3){0, 0, 0}, 1 / length, way[i]);
        if (!(shared(a, b, unit) > FORGIVEN))
            return false;
    }
    return true;
}

bool ebb_room_crate_holds(const ebb_room_crate *crate, ebb_vec3 at)
{
    const ebb_vec3 way = ebb_minus(at, crate->corner);
    for (int k = 0; k < 3; k++) {
        const double s = ebb_dot(way, crate->edge[k]);
        if (!(s > 0 && s < ebb_dot(crate->edge[k], crate->edge[k])))
            return false;
    }
    return true;
}

/* ---- against facets -------------------------------------------------------------------------- */

/* A point in the frame of a box, metres from its middle. */
static void in_frame(const ebb_room_crate *crate, ebb_vec3 p, double out[3])
{
    const ebb_vec3 way = ebb_minus(p, crate->corner);
    for (int k = 0; k < 3; k++) {
        const double length = ebb_length(crate->edge[k]);
        out[k] = ebb_dot(way, crate->edge[k]) / length - 0.5 * length;
    }
}

/* Does the line from a to b run through the open box of these half lengths? */
static bool pierces(const double a[3], const double b[3], const double half[3])
{
    double from = 0, to = 1;
    for (int k = 0; k < 3; k++) {
        const double step = b[k] - a[k];
        if (step == 0 && !(fabs(a[k]) < half[k]))
            return false;
        if (step == 0)
            continue;
        const double p = (-half[k] - a[k]) / step, q = (half[k] - a[k]) / step;
        from = fmax(from, fmin(p, q));
        to = fmin(to, fmax(p, q));
    }
    return to > from;
}

/* Where the line from a to b goes through the plane of a facet, is the facet there? Everything is
 * seen along the axis that the facet faces most. */
static bool through_facet(const ebb_solid *solid, const ebb_facet *facet, ebb_vec3 normal,
                          ebb_vec3 a, ebb_vec3 b)
{
    const ebb_vec3 o = solid->corner[facet->corner[0]];
    const double p = ebb_dot(ebb_minus(a, o), normal);
    const double q = ebb_dot(ebb_minus(b, o), normal);
    if ((p > 0) == (q > 0))
        return false;
    const ebb_vec3 hit = ebb_plus(a, p / (p - q), ebb_minus(b, a));
    const double x = fabs(normal.x), y = fabs(normal.y), z = fabs(normal.z);
    const int axis = x >= y && x >= z ? 0 : y >= z ? 1 : 2;
    const double at[2] = {axis == 0 ? hit.y : hit.x, axis == 2 ? hit.y : hit.z};
    bool inside = false;
    const size_t *c = facet->corner;
    for (size_t l = 0; l < facet->n_loops; c += facet->loop[l++])
        for (size_t i = 0; i < facet->loop[l]; i++) {
            const ebb_vec3 u = solid->corner[c[i]];
            const ebb_vec3 v = solid->corner[c[(i + 1) % facet->loop[l]]];
            const double s[2] = {axis == 0 ? u.y : u.x, axis == 2 ? u.y : u.z};
            const double t[2] = {axis == 0 ? v.y : v.x, axis == 2 ? v.y : v.z};
            inside = inside != ebb_room_crosses_ray(s, t, at);
        }
    return inside;
}

/* A flat facet and a box meet where an edge of one goes through the other. */
static bool facet_cuts(const ebb_solid *solid, const ebb_facet *facet, const ebb_room_crate *crate,
                       const double half[3])
{
    ebb_vec3 area = {0, 0, 0};
    const ebb_vec3 o = solid->corner[facet->corner[0]];
    const size_t *c = facet->corner;
    for (size_t l = 0; l < facet->n_loops; c += facet->loop[l++])
        for (size_t i = 0; i < facet->loop[l]; i++) {
            const ebb_vec3 u = solid->corner[c[i]];
            const ebb_vec3 v = solid->corner[c[(i + 1) % facet->loop[l]]];
            double a[3], b[3];
            in_frame(crate, u, a);
            in_frame(crate, v, b);
            if (pierces(a, b, half))
                return true;
            area = ebb_plus(area, 1, ebb_cross(ebb_minus(u, o), ebb_minus(v, o)));
        }
    for (int k = 0; k < 12; k++) {
        const int along = k / 4, p = (along + 1) % 3, q = (along + 2) % 3;
        ebb_vec3 from = crate->corner;
        from = ebb_plus(from, k % 2, crate->edge[p]);
        from = ebb_plus(from, k / 2 % 2, crate->edge[q]);
        if (through_facet(solid, facet, area, from, ebb_plus(from, 1, crate->edge[along])))
            return true;
    }
    return false;
}

/* The outermost millimetre is given away before: a unit touches the wall that it hangs on. */
bool ebb_room_crate_is_free(const ebb_solid *solid, const ebb_room_crate *crate, size_t *surface)
{
    ebb_room_crate inner = *crate;
    double half[3];
    ebb_vec3 middle = crate->corner;
    for (int k = 0; k < 3; k++) {
        const double length = ebb_length(crate->edge[k]);
        const double off = fmin(FORGIVEN / length, 0.49);
        inner.corner = ebb_plus(inner.corner, off, crate->edge[k]);
        inner.edge[k] = ebb_plus((ebb_vec3){0, 0, 0}, 1 - 2 * off, crate->edge[k]);
        middle = ebb_plus(middle, 0.5, crate->edge[k]);
        half[k] = 0.5 * (1 - 2 * off) * length;
    }
    for (size_t i = 0; i < solid->n_facets; i++)
        if (facet_cuts(solid, &solid->facet[i], &inner, half)) {
            *surface = solid->facet[i].surface;
            return false;
        }
    (void)ebb_room_clearance(solid, middle, surface);
    return ebb_solid_holds(solid, middle, 0);
}
