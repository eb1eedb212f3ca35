/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How good a tetrahedron is. With the edges u, v, w from one corner six volumes are |u x v . w|,
 * the inscribed radius is three volumes over the area, and the circumscribed one is |u^2 v x w +
 * v^2 w x u + w^2 u x v| over twelve volumes.
 */
#include "quality.h"

#include <ebb/vec3.h>

#include <math.h>

static double length(ebb_vec3 a)
{
    return sqrt(ebb_dot(a, a));
}

double ebb_mesh_quality(ebb_vec3 a, ebb_vec3 b, ebb_vec3 c, ebb_vec3 d)
{
    const ebb_vec3 u = ebb_minus(b, a), v = ebb_minus(c, a), w = ebb_minus(d, a);
    const ebb_vec3 uv = ebb_cross(u, v), vw = ebb_cross(v, w), wu = ebb_cross(w, u);
    const ebb_vec3 far = ebb_cross(ebb_minus(c, b), ebb_minus(d, b));
    const double six = fabs(ebb_dot(uv, w));
    const double twice = length(uv) + length(vw) + length(wu) + length(far);
    ebb_vec3 sum = {0, 0, 0};
    sum = ebb_plus(sum, ebb_dot(u, u), vw);
    sum = ebb_plus(sum, ebb_dot(v, v), wu);
    sum = ebb_plus(sum, ebb_dot(w, w), uv);
    const double below = twice * length(sum);
    return below > 0 ? 6 * six * six / below : 0;
}
