/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The placement search on one base: exact rank-k updates of responses, first-order updates of
 * modes.
 */
#ifndef EBB_PLAN_CLIMB_H
#define EBB_PLAN_CLIMB_H

#include "stage.h"

#define EBB_SPOT_PORTS 3 /* constant and two slopes: enough below 200 Hz on a face of 1.3 m */

/* A unit of the job as the search sees it. */
typedef struct ebb_kind {
    const ebb_unit *unit;
    size_t ports; /* 1 rigid front, EBB_SPOT_PORTS pointwise */
    double alpha[EBB_OCTAVES];
    double _Complex *beta; /* [f] */
} ebb_kind;

/* What all starts share: Green matrices over spots and stations, and what they mean. */
typedef struct ebb_base {
    const ebb_job *job;
    const ebb_room *room;
    const ebb_limits *limits;
    const ebb_stations *stations;
    const ebb_spots *spots;
    const ebb_reduced *modal; /* a model of the lower band for modes */
    ebb_state state;          /* room as it stands: faces, openings, existing units, scale */
    double lowest_mode, highest_mode;
    double volume, volume_scale;
    /* coarse frequency grid: every second point of the judging grid */
    size_t n_hz, first, n_cells;
    double *hz;
    /* Green matrices */
    size_t n_ports;                /* EBB_SPOT_PORTS per spot */
    size_t n_sources, n_receivers; /* over all options */
    const ebb_vec3 *points;        /* of those, sources first, in the scaled room */
    double _Complex *green;        /* [f][n_vec][n_vec]: ports, then sources, then receivers */
    double _Complex *direct;       /* [f][source][receiver] of the room as it stands */
    const double *modal_vectors;   /* port vectors of the modal model [port * size] */
    /* kinds, faces, mid band */
    size_t n_kinds; /* the job's units */
    ebb_kind *kind;
    double _Complex *face_beta;        /* [surface * n_hz + f] */
    double (*face_alpha)[EBB_OCTAVES]; /* [surface] */
    double area[EBB_OCTAVES];          /* absorption area of the room as it stands */
    double target, mask[EBB_OCTAVES][2];
    unsigned char *allowed; /* [spot * n_kinds + kind]: fits, clear of doors and people */
} ebb_base;

/* A unit of a start's layout. */
typedef struct ebb_pick {
    size_t spot, kind;
} ebb_pick;

/* A start: its picks, stations and score; result of ebb_climb. */
typedef struct ebb_climbed {
    size_t n;
    ebb_pick *pick; /* room for one per spot */
    size_t option[2];
    double score, wrong;
    size_t scored; /* layouts and changes of layouts that were given a score on the way */
} ebb_climbed;

/* Climbs from the room as it stands, with a random stream of its own. noise 0: plain greedy. Memory
 * of result->pick is the caller's (one per spot). */
ebb_status ebb_climb(const ebb_base *base, const ebb_effort *effort, unsigned stream, double noise,
                     ebb_climbed *result);

/* From a layout down to none, the least useful unit first, the others placed anew for some rounds:
 * step[top->n] is the layout itself, step[0] has no unit. Their picks are the caller's, each with
 * room for as many as it holds. */
ebb_status ebb_climb_down(const ebb_base *base, size_t rounds, const ebb_climbed *top,
                          ebb_climbed *step);

/* One more unit of a kind. */
typedef struct ebb_next {
    bool fits, allowed; /* there is a place for it; the allowance covers it */
    ebb_pick pick;      /* its best place */
} ebb_next;

/* next[n_kinds]: one more unit of each kind on top of a layout. */
ebb_status ebb_climb_next(const ebb_base *base, const ebb_climbed *layout, ebb_next *next);

/* Takes single changes of a rated layout that make it better by its true score, round by round;
 * layout->pick has room for one per spot. */
ebb_status ebb_climb_refine(const ebb_base *base, size_t rounds, ebb_climbed *layout);

/* All starts of an effort side by side, the best ones refined: results[effort->starts], best first,
 * their picks in memory of the caller's (one per spot each). The same whatever the number of
 * threads. */
ebb_status ebb_climb_all(const ebb_base *base, const ebb_effort *effort, ebb_climbed *results);

/* Score, wrong share and best stations of layouts whose picks are given: the measure that a climb
 * is judged by. It depends on the picks and on nothing else. */
ebb_status ebb_climb_rate(const ebb_base *base, size_t n, ebb_climbed *layouts);

/* Best options of stations for the room as it stands. */
ebb_status ebb_climb_stations(const ebb_base *base, size_t option[2]);

#endif
