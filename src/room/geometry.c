/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Geometry of rectangular rooms. */
#include <ebb/job.h>

#include <math.h>

double ebb_room_volume(const ebb_room *room)
{
    return room->size[0] * room->size[1] * room->size[2];
}

double ebb_room_area(const ebb_room *room)
{
    const double *s = room->size;
    return 2 * (s[0] * s[1] + s[1] * s[2] + s[2] * s[0]);
}

size_t ebb_room_face(const ebb_room *room, int axis, int side)
{
    for (size_t i = 0; i < room->n_surfaces; i++)
        if (room->surfaces[i].axis == axis && room->surfaces[i].side == side)
            return i;
    return (size_t)-1;
}

ebb_vec3 ebb_surface_point(const ebb_surface *surface, double along, double up)
{
    const ebb_vec3 o = surface->origin, a = surface->along, u = surface->up;
    return (ebb_vec3){o.x + along * a.x + up * u.x, o.y + along * a.y + up * u.y,
                      o.z + along * a.z + up * u.z};
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
