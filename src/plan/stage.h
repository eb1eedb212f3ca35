/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Inside of the planner: where things may stand, how a configuration is solved and judged.
 */
#ifndef EBB_PLAN_STAGE_H
#define EBB_PLAN_STAGE_H

#include <ebb/plan.h>

/* ---- stations: where sources and receivers may stand
 * --------------------------------------------- */

/* Positions of sources and receivers for one use. Each side has options (moves within the zones);
 * option o of the sources holds source[o * n_sources ..]. tied: only equal options go together
 * (a talker and the microphone in front of it). Room coordinates, lower corner = 0. */
typedef struct ebb_stations {
    ebb_use use;
    size_t n_sources, n_receivers;
    size_t source_options, receiver_options;
    bool tied;
    size_t n_paths;    /* source-receiver pairs that are judged */
    size_t (*path)[2]; /* [n_paths] source and receiver within an option */
    size_t shape[2];   /* the paths as sources x receivers for people: product n_paths */
    ebb_vec3 *source, *receiver;
    ebb_vec3 *speaker_at; /* [option * room->n_speakers + i], job coordinates */
    ebb_vec3 *seat_at;    /* [option * room->n_seats + i], job coordinates */
    const char **source_names, **receiver_names; /* of shape */
    const char *squeeze; /* what did not fit, a sentence; NULL when all did */
} ebb_stations;

ebb_status ebb_stations_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                             const ebb_room *room, const ebb_limits *limits, ebb_use use,
                             ebb_stations *stations);

/* ---- places
 * ---------------------------------------------------------------------------------------- */

/* A place that a face of one size could take. */
typedef struct ebb_spot {
    size_t surface;
    double at[2], size[2]; /* on the surface, m */
    bool turned;
    size_t unit_like; /* a unit with this face */
} ebb_spot;

typedef struct ebb_spots {
    size_t n;
    ebb_spot *spot;
} ebb_spots;

/* All free places for the job's units on walls and ceiling, tiled from the corners. */
ebb_status ebb_spots_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                          ebb_spots *spots);

/* Space that something takes, a box in any direction: a corner, three orthogonal unit vectors and
 * the lengths along them, m, room coordinates. */
typedef struct ebb_block {
    ebb_vec3 at, way[3];
    double length[3];
} ebb_block;

/* Space over a rectangle of a surface, reaching `depth` into the room. */
ebb_block ebb_block_on(const ebb_room *room, size_t surface, const double at[2],
                       const double size[2], double depth);
/* Space a unit of some depth takes at a spot. */
ebb_block ebb_spot_block(const ebb_room *room, const ebb_spot *spot, double depth);
/* Do two blocks share space (by more than 1 mm)? */
bool ebb_blocks_meet(const ebb_block *a, const ebb_block *b);

/* May a unit of the job hang on a surface? */
bool ebb_unit_fits(const ebb_unit *unit, const ebb_room *room, size_t surface);
/* Does a block lie in the air and keep clear of doors, seats and speakers (all options)? */
bool ebb_block_is_clear(const ebb_room *room, const ebb_stations *stations, const ebb_block *block);

/* ---- layouts
 * --------------------------------------------------------------------------------------- */

/* Fills mass, cost, cover and size of a layout from its units. */
void ebb_layout_count(const ebb_job *job, const ebb_room *room, ebb_layout *layout);
/* Scale of the room left by the units, per axis, for ebb_state. */
void ebb_layout_scale(const ebb_room *room, const ebb_layout *layout, double scale[3]);

/* ---- a configuration solved
 * --------------------------------------------------------------------------- */

/* Models and state of one configuration, kept for draws. Both models are new: ebb_solved_close. */
typedef struct ebb_solved {
    ebb_reduced *reduced;
    ebb_reduced *small; /* around the state: damped modes and draws */
    ebb_state state;
    size_t *used;
    ebb_vec3 *points; /* sources then receivers, in geometry coordinates */
    size_t n_paths;
    const size_t (*path)[2]; /* judged pairs of the state's sources and receivers */
} ebb_solved;

/* Response and damped modes of the judged paths only: h[path * n_hz + f]. *modes is new, its
 * residues are those of the paths. start: modes to follow, NULL to find them anew. */
ebb_status ebb_solved_read(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *response_model,
                           const ebb_solved *solved, const ebb_state *state, const ebb_grid *grid,
                           const ebb_modes *start, const size_t shape[2], double _Complex **h,
                           ebb_modes **modes);

void ebb_solved_close(ebb_solved *solved);

/* A room coordinate in the geometry of a room scaled by units: nothing moves when scale is 1. */
ebb_vec3 ebb_scaled_point(const ebb_room *room, const double scale[3], ebb_vec3 at);

/* Solves a layout with stations at the given options: model, response, modes, mid band, reading,
 * faults. *made lives in arena, but made->modes and *solved are new. solved may be NULL. */
ebb_status ebb_case_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                         const ebb_limits *limits, const ebb_stations *stations,
                         const size_t option[2], const ebb_layout *layout, ebb_case *made,
                         ebb_solved *solved);

/* Are mid band and speech index acceptable for voice? Always for music. */
bool ebb_mid_is_right(const ebb_limits *limits, ebb_use use, double volume, const ebb_mid *mid);

/* ---- draws
 * --------------------------------------------------------------------------------------------- */

ebb_status ebb_draw_odds(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                         const ebb_limits *limits, const ebb_case *made, const ebb_solved *solved,
                         const ebb_effort *effort, ebb_odds *odds);

/* ---- search
 * -------------------------------------------------------------------------------------------- */

/* Everything a search needs that does not depend on its start; opaque. */
typedef struct ebb_search ebb_search;

/* Opens a search with the job's units and allowance: places, candidate model, options of stations.
 * *search is new. */
ebb_status ebb_search_new(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                          const ebb_limits *limits, ebb_use use, ebb_search **search);
void ebb_search_free(ebb_search *search);
/* The same search for a variant of the job: other units of the same faces, other allowance. */
void ebb_search_vary(ebb_search *search, const ebb_job *job);
const ebb_stations *ebb_search_stations(const ebb_search *search);

/* Best stations for the room as it stands. */
ebb_status ebb_search_untreated(ebb_ctx *ctx, ebb_search *search, size_t option[2]);

#define EBB_FINALISTS 2

/* A layout that the search proposes. */
typedef struct ebb_finalist {
    ebb_layout layout; /* memory in the arena given to the search */
    size_t option[2];
} ebb_finalist;

/* Best layouts found over effort->starts starts, best first, *n of them: the search's model is
 * coarse, so the choice between near equals is left to a true solution. spread[0], [1]: best and
 * worst wrong share of the starts, by the search's own count. */
ebb_status ebb_search_run(ebb_ctx *ctx, ebb_search *search, const ebb_effort *effort,
                          ebb_arena *arena, ebb_finalist finalist[EBB_FINALISTS], size_t *n,
                          double spread[2]);

#endif
