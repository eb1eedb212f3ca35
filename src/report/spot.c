/* SPDX-License-Identifier: GPL-3.0-or-later */
/* spot.c - places as a builder measures them: from a corner, with a tape. */
#include "words.h"

#include <math.h>

/* Plan corners may start anywhere in the job file; the drawing has x to the right and y up. */
size_t ebb_report_lower_corner(const ebb_room *room)
{
    for (size_t s = 2; s < room->n_surfaces; s++) {
        const ebb_surface *wall = &room->surfaces[s];
        const ebb_vec3 at = ebb_surface_point(wall, wall->range[0][0], wall->range[1][0]);
        if (fabs(at.x - room->origin.x) < 1e-6 && fabs(at.y - room->origin.y) < 1e-6) {
            return s - 1;
        }
    }
    return 1;
}

/* Taken from the start of the surface and not from the origin of the job, where no tape begins. */
ebb_report_spot ebb_report_spot_of(ebb_arena *arena, const ebb_room *room, const ebb_placed *placed,
                                   ebb_units units)
{
    if (placed->surface >= room->n_surfaces) {
        return (ebb_report_spot){"?", "?", "?"};
    }
    const ebb_surface *s = &room->surfaces[placed->surface];
    const bool wall = placed->surface >= 2;
    const char *along = ebb_report_measure(arena, placed->at[0] - s->range[0][0], units);
    const char *up = ebb_report_measure(arena, placed->at[1] - s->range[1][0], units);
    const size_t corner = wall ? placed->surface - 1 : ebb_report_lower_corner(room);
    if (!along || !up) {
        return (ebb_report_spot){NULL, NULL, NULL};
    }
    return (ebb_report_spot){
        s->name,
        ebb_arena_format(arena, wall ? "%s from corner %zu" : "%s right of corner %zu", along,
                         corner),
        ebb_arena_format(arena, wall ? "%s up" : "%s up the plan", up)};
}
