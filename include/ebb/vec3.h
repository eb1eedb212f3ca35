/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ebb/vec3.h - a point or direction in space, and the arithmetic that everything above needs. */
#ifndef EBB_VEC3_H
#define EBB_VEC3_H

#include <math.h>

typedef struct ebb_vec3 {
    double x, y, z;
} ebb_vec3;

#ifndef __cplusplus

static inline ebb_vec3 ebb_minus(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

/* a + t b */
static inline ebb_vec3 ebb_plus(ebb_vec3 a, double t, ebb_vec3 b)
{
    return (ebb_vec3){a.x + t * b.x, a.y + t * b.y, a.z + t * b.z};
}

/* t a */
static inline ebb_vec3 ebb_times(double t, ebb_vec3 a)
{
    return (ebb_vec3){t * a.x, t * a.y, t * a.z};
}

static inline double ebb_dot(ebb_vec3 a, ebb_vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static inline ebb_vec3 ebb_cross(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static inline double ebb_length(ebb_vec3 a)
{
    return sqrt(ebb_dot(a, a));
}

#endif /* !__cplusplus */
#endif
