/* SPDX-License-Identifier: GPL-3.0-or-later */
/* vector.h - the little plane and solid geometry that the shapes of rooms need. */
#ifndef EBB_ROOM_VECTOR_H
#define EBB_ROOM_VECTOR_H

#include <ebb/vec3.h>

#include <math.h>
#include <stdbool.h>

static inline ebb_vec3 ebb_room_minus(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

/* a + s b */
static inline ebb_vec3 ebb_room_step(ebb_vec3 a, double s, ebb_vec3 b)
{
    return (ebb_vec3){a.x + s * b.x, a.y + s * b.y, a.z + s * b.z};
}

static inline double ebb_room_dot(ebb_vec3 a, ebb_vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static inline ebb_vec3 ebb_room_cross(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static inline double ebb_room_length(ebb_vec3 a)
{
    return sqrt(ebb_room_dot(a, a));
}

/* Twice the area of the triangle o, a, b in the plane; positive when it turns left. */
static inline double ebb_room_turn(const double o[2], const double a[2], const double b[2])
{
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
}

/* Where along the line from a to b (0 at a, 1 at b, not beyond) is it nearest to p? */
static inline double ebb_room_nearest(const double a[2], const double b[2], const double p[2])
{
    const double x = b[0] - a[0], y = b[1] - a[1], square = x * x + y * y;
    const double t = square > 0 ? ((p[0] - a[0]) * x + (p[1] - a[1]) * y) / square : 0;
    return fmin(fmax(t, 0), 1);
}

/* Distance of p from the line from a to b. */
static inline double ebb_room_distance(const double a[2], const double b[2], const double p[2])
{
    const double t = ebb_room_nearest(a, b, p);
    return hypot(a[0] + t * (b[0] - a[0]) - p[0], a[1] + t * (b[1] - a[1]) - p[1]);
}

/* Does the line through a and b part c from d, clearly? Of points on one line with them, rounding
 * would say anything. */
static inline bool ebb_room_divides(const double a[2], const double b[2], const double c[2],
                                    const double d[2])
{
    const double hair = 1e-9 * hypot(b[0] - a[0], b[1] - a[1]);
    const double p = ebb_room_turn(a, b, c), q = ebb_room_turn(a, b, d);
    return (p > hair && q < -hair) || (p < -hair && q > hair);
}

/* Does the ray from p towards +x cross the line from a to b? An odd number over an outline: p is
 * inside. */
static inline bool ebb_room_crosses_ray(const double a[2], const double b[2], const double p[2])
{
    if ((a[1] > p[1]) == (b[1] > p[1]))
        return false;
    return p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
}

#endif
