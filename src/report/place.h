/* SPDX-License-Identifier: GPL-3.0-or-later */
/* place.h - where things go, as a tape finds it: from named walls, ends and the floor. */
#ifndef EBB_REPORT_PLACE_H
#define EBB_REPORT_PLACE_H

#include <ebb/report.h>

/* Distances of a unit on a wall, from inside the room: its edges from both ends and from floor and
 * top, m. */
typedef struct ebb_wall_place {
    double left, right, floor, top;
} ebb_wall_place;

/* Distances from two walls that are not parallel, nearest first, m. */
typedef struct ebb_floor_place {
    size_t n; /* walls found, 2 unless the room is strange */
    size_t wall[2];
    double distance[2];
} ebb_floor_place;

/* Is a surface a wall, upright and seen from the front? */
bool ebb_is_wall(const ebb_room *room, size_t surface);

ebb_wall_place ebb_place_on_wall(const ebb_job *job, const ebb_room *room,
                                 const ebb_placed *placed);

/* A point in job coordinates; only walls that it stands in front of count. */
ebb_floor_place ebb_place_on_floor(const ebb_room *room, ebb_vec3 at);

/* A unit under a ceiling: its nearer edges from the walls. */
ebb_floor_place ebb_place_under(const ebb_job *job, const ebb_room *room, const ebb_placed *placed);

/* "1200 mm left, 1600 mm right, 350 mm up": to both ends of the wall and from the floor; from two
 * walls under a ceiling. In arena; NULL when memory ran out. */
const char *ebb_place_words(ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                            const ebb_placed *placed, ebb_units units);
/* "1680 mm from wall_4, 1400 mm from wall_1, 1200 mm up". */
const char *ebb_station_words(ebb_arena *arena, const ebb_room *room, ebb_vec3 at, ebb_units units);

#endif
