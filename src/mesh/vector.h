/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Arithmetic on points and directions. */
#ifndef EBB_MESH_VECTOR_H
#define EBB_MESH_VECTOR_H

#include <ebb/vec3.h>

static inline ebb_vec3 ebb_mesh_minus(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

/* a + t b */
static inline ebb_vec3 ebb_mesh_plus(ebb_vec3 a, double t, ebb_vec3 b)
{
    return (ebb_vec3){a.x + t * b.x, a.y + t * b.y, a.z + t * b.z};
}

static inline double ebb_mesh_dot(ebb_vec3 a, ebb_vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static inline ebb_vec3 ebb_mesh_cross(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

#endif
