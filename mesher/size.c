/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How long edges should be at a place: in the open as asked for, near the lines and facets that ask
 * for less as little as they say, and growing with the distance from them. Growing too fast leaves
 * bad elements between small ones and large ones, growing too slowly leaves too many.
 */
#include "ebb-mesh.h"
#include <ebb/vec3.h>

#include <math.h>

#define GROWTH 0.7 /* m of edge more per m of distance: about 1.7 from neighbour to neighbour */

static double square_from_line(const pull *p, ebb_vec3 at)
{
    const ebb_vec3 off = ebb_minus(at, p->at);
    const double t = fmin(fmax(ebb_dot(off, p->along) * p->inverse, 0), 1);
    const ebb_vec3 from = ebb_plus(off, -t, p->along);
    return ebb_dot(from, from);
}

/* Beside the facet it does not count: its edges are lines that ask for the same. */
static double square_from_facet(const request *r, const pull *p, ebb_vec3 at)
{
    const double off = ebb_mesh_off(&p->flat, at);
    return ebb_mesh_facet_holds(&r->solid, p->facet, &p->flat, at) ? off * off : INFINITY;
}

/* Gmsh asks a million times: the root is only drawn where a line is near enough to matter. */
double size_at(const request *r, ebb_vec3 at)
{
    double size = r->edge;
    for (size_t i = 0; i < r->n_pulls; i++) {
        const pull *p = &r->pull[i];
        const double reach = size - p->size;
        if (reach <= 0)
            continue;
        const double square =
            p->facet != NULL ? square_from_facet(r, p, at) : square_from_line(p, at);
        if (square * GROWTH * GROWTH < reach * reach)
            size = p->size + GROWTH * sqrt(square);
    }
    return size;
}
