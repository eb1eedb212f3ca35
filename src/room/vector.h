/* SPDX-License-Identifier: GPL-3.0-or-later */
/* vector.h - the little plane geometry that the shapes of rooms need. */
#ifndef EBB_ROOM_VECTOR_H
#define EBB_ROOM_VECTOR_H

#include <ebb/vec3.h>

#include <math.h>
#include <stdbool.h>

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
