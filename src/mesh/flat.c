/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Facets as parts of planes.
 */
#include "flat.h"

#include <ebb/vec3.h>

#include <math.h>

ebb_vec3 ebb_mesh_facet_normal(const ebb_solid *solid, const ebb_facet *facet)
{
    ebb_vec3 normal = {0, 0, 0};
    const size_t *corner = facet->corner;
    /* Seen from a corner of its own: far from the origin the digits would cancel. */
    const ebb_vec3 from = solid->corner[corner[0]];
    for (size_t l = 0; l < facet->n_loops; corner += facet->loop[l++])
        for (size_t i = 0; i < facet->loop[l]; i++) {
            const ebb_vec3 a = solid->corner[corner[i]];
            const ebb_vec3 b = solid->corner[corner[(i + 1) % facet->loop[l]]];
            normal = ebb_plus(normal, 1, ebb_cross(ebb_minus(a, from), ebb_minus(b, from)));
        }
    return normal;
}

/* Axes by number, so that a facet can be looked at along any of them. */
static double coordinate(ebb_vec3 at, int axis)
{
    return axis == 0 ? at.x : axis == 1 ? at.y : at.z;
}

ebb_mesh_flat ebb_mesh_flat_of(const ebb_solid *solid, const ebb_facet *facet)
{
    const ebb_vec3 normal = ebb_mesh_facet_normal(solid, facet);
    const double length = sqrt(ebb_dot(normal, normal));
    ebb_mesh_flat flat = {.normal = {normal.x / length, normal.y / length, normal.z / length}};
    for (size_t i = 0; i < facet->loop[0]; i++) /* the mean: no corner is better than another */
        flat.offset += ebb_dot(flat.normal, solid->corner[facet->corner[i]]);
    flat.offset /= (double)facet->loop[0];
    for (int d = 1; d < 3; d++)
        if (fabs(coordinate(flat.normal, d)) > fabs(coordinate(flat.normal, flat.drop)))
            flat.drop = d;
    return flat;
}

double ebb_mesh_off(const ebb_mesh_flat *flat, ebb_vec3 at)
{
    return ebb_dot(flat->normal, at) - flat->offset;
}

/* Counts the borders crossed on the way out, in the facet's shadow. */
bool ebb_mesh_facet_holds(const ebb_solid *solid, const ebb_facet *facet, const ebb_mesh_flat *flat,
                          ebb_vec3 at)
{
    const int u = (flat->drop + 1) % 3, v = (flat->drop + 2) % 3;
    const ebb_vec3 foot = ebb_plus(at, -ebb_mesh_off(flat, at), flat->normal);
    const double x = coordinate(foot, u), y = coordinate(foot, v);
    const size_t *corner = facet->corner;
    bool inside = false;
    for (size_t l = 0; l < facet->n_loops; corner += facet->loop[l++])
        for (size_t i = 0; i < facet->loop[l]; i++) {
            const ebb_vec3 a = solid->corner[corner[i]];
            const ebb_vec3 b = solid->corner[corner[(i + 1) % facet->loop[l]]];
            const double ya = coordinate(a, v), yb = coordinate(b, v);
            if ((ya > y) == (yb > y))
                continue;
            const double xa = coordinate(a, u), xb = coordinate(b, u);
            inside ^= x < xa + (xb - xa) * (y - ya) / (yb - ya);
        }
    return inside;
}
