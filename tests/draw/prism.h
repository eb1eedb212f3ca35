/* SPDX-License-Identifier: GPL-3.0-or-later */
/* prism.h - rooms that are no box, made by drawing a flat outline out along an axis. */
#ifndef TESTS_PRISM_H
#define TESTS_PRISM_H

#include <ebb/job.h>

#include <string.h>

enum { PRISM_MOST = 16 }; /* corners of the outline, all loops together */

typedef struct prism {
    ebb_vec3 corner[2 * PRISM_MOST];
    size_t end[2][PRISM_MOST], loop[2], side[PRISM_MOST][4], four;
    ebb_facet facet[PRISM_MOST + 2];
    ebb_solid solid;
    ebb_room room;
} prism;

/* Loops of points (across, up) drawn out from 0 to `long_` along `axis`; the outline's two
 * coordinates go to the other two axes, lower first. */
static inline void prism_make(prism *p, size_t n_loops, const size_t loop[2],
                              const double (*point)[2], int axis, double long_)
{
    size_t n = 0;
    memset(p, 0, sizeof *p);
    p->four = 4;
    for (size_t l = 0; l < n_loops; l++) {
        p->loop[l] = loop[l];
        for (size_t i = 0; i < loop[l]; i++) {
            const size_t k = n + i, next = n + (i + 1) % loop[l];
            const size_t side[4] = {k, next, PRISM_MOST + next, PRISM_MOST + k};
            memcpy(p->side[k], side, sizeof side);
            p->facet[2 + k] = (ebb_facet){2 + k, 1, &p->four, p->side[k]};
            p->end[0][k] = k;
            p->end[1][k] = PRISM_MOST + k;
        }
        n += loop[l];
    }
    for (size_t k = 0; k < n; k++) {
        for (size_t e = 0; e < 2; e++) {
            double at[3];
            at[axis] = e ? long_ : 0.0;
            at[axis == 0 ? 1 : 0] = point[k][0];
            at[axis == 2 ? 1 : 2] = point[k][1];
            p->corner[e * PRISM_MOST + k] = (ebb_vec3){at[0], at[1], at[2]};
            for (int d = 0; d < 3; d++) {
                p->room.size[d] = at[d] > p->room.size[d] ? at[d] : p->room.size[d];
            }
        }
    }
    for (size_t e = 0; e < 2; e++) {
        p->facet[e] = (ebb_facet){e, n_loops, p->loop, p->end[e]};
    }
    p->solid = (ebb_solid){2 * PRISM_MOST, p->corner, n + 2, p->facet, n + 2};
    p->room.name = "prism";
    p->room.shaped = true;
    p->room.solid = &p->solid;
}

/* 4 m x 3 m without its corner beyond (2, 1), 2.5 m high: 8 m2. With a column of 0.25 m2 or not. */
static inline void prism_l(prism *p, bool column)
{
    static const double POINT[10][2] = {{0, 0}, {4, 0},     {4, 1},     {2, 1},     {2, 3},
                                        {0, 3}, {0.5, 0.5}, {0.5, 1.0}, {1.0, 1.0}, {1.0, 0.5}};
    prism_make(p, column ? 2 : 1, (const size_t[2]){6, 4}, POINT, 2, 2.5);
}

/* 4 m wide, 2 m high at the eaves and 3 m at the ridge, which runs 5 m along the width. */
static inline void prism_gable(prism *p)
{
    static const double POINT[5][2] = {{0, 0}, {4, 0}, {4, 2}, {2, 3}, {0, 2}};
    prism_make(p, 1, (const size_t[2]){5, 0}, POINT, 1, 5.0);
}

#endif
