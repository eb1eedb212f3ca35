/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/plan.h - how many units and where, and the whole answer for a room.
 */
#ifndef EBB_PLAN_H
#define EBB_PLAN_H

#include <ebb/judge.h>

#ifndef __cplusplus

/* How hard to search. Plain data; ebb_effort_default fills it. */
typedef struct ebb_effort {
    unsigned seed;
    size_t starts; /* starts of the placement search, 1..64 */
    size_t draws;  /* draws of what is not known, 0..4096; 0 leaves the nominal plan to decide */
    size_t swaps;  /* most rounds of removal and replacement per start */
    bool relaxed;  /* also run the relaxed search with ideal absorbers */
} ebb_effort;

/* Fills the effort that `ebb judge` uses by default: seed 1, 6 starts, 32 draws, 2 rounds of swaps.
 */
EBB_API void ebb_effort_default(ebb_effort *effort);

/* A layout: units, seats and speakers where they stand. Arrays belong to the arena of its answer.
 */
typedef struct ebb_layout {
    size_t n_placed; /* existing units first */
    ebb_placed *placed;
    ebb_vec3 *seats;    /* one per room seat, job coordinates */
    ebb_vec3 *speakers; /* one per room speaker */
    double mass, cost;  /* of all placed units */
    double cover;       /* their face area over the area of walls and ceiling */
    double size[3];     /* m, what the units leave of the room (their depth taken off) */
} ebb_layout;

/* Volume that a layout leaves of a room, m3. */
EBB_API double ebb_layout_volume(const ebb_room *room, const ebb_layout *layout);

/* One configuration judged for one use. */
typedef struct ebb_case {
    ebb_use use;
    ebb_layout layout;
    ebb_grid grid;
    size_t n_sources, n_receivers;
    const char **source_names, **receiver_names;
    ebb_vec3 *sources, *receivers; /* heads and speakers, room coordinates, lower corner = 0 */
    size_t n_stands;
    ebb_vec3 *stands; /* all places of the sources: a talker has several */
    size_t n_paths;
    const size_t (*path)[2]; /* judged pairs of stand and receiver, n_sources x n_receivers */
    double _Complex *h;      /* [(s * n_receivers + r) * grid.n_hz + f] */
    ebb_modes *modes;
    ebb_mid mid;
    ebb_reading reading;
    ebb_faults faults;
} ebb_case;

/* Before and after for one use. */
typedef struct ebb_treatment {
    bool asked; /* false: the rest is zero */
    ebb_use use;
    ebb_case before, after;
    ebb_odds odds;
    double mended, mended_level, mended_decay; /* shares, NAN = nothing to mend */
    double best_start, worst_start;  /* wrong share over the starts of the search: its spread */
    bool relaxed_run, relaxed_right; /* with ideal depthless absorbers anywhere */
    double relaxed_wrong;
    const char *stopper; /* what stops the real plan, plain words; "" when it is right */
} ebb_treatment;

/* The whole answer for one room. Owns its memory. */
typedef struct ebb_answer {
    ebb_arena *arena;
    const ebb_job *job;
    const ebb_room *room;
    ebb_limits limits;
    ebb_verdict verdict;
    double sure;
    bool near_border; /* sure < 0.8 */
    const char *decider;
    double margin; /* of the shown treatment, median over draws */
    ebb_treatment music, voice;
    const ebb_treatment *shown; /* the one the verdict rests on */
    size_t n_reasons;
    const char **reasons; /* sentences, first is the most important */
    size_t n_stays;
    const char **stays; /* what stays wrong after the plan, sentences */
} ebb_answer;

/* Judges one room: untreated with the best seats, plan, draws, verdict, reasons. *answer is new:
 * free with ebb_answer_free. job must outlive it. */
EBB_API ebb_status ebb_answer_room(ebb_ctx *ctx, const ebb_job *job, size_t room,
                                   const ebb_effort *effort, ebb_answer **answer);
EBB_API void ebb_answer_free(ebb_answer *answer);

/* Solves a case of the answer's room again with another model of the room and judges it as the
 * answer was: *made holds use, layout, grid, stations and paths, and gets h, modes (new), mid and
 * reading; the rest is left alone. The state has the case's stands as sources, and its receivers.
 * volume: of the air, m3. */
EBB_API ebb_status ebb_case_again(ebb_ctx *ctx, ebb_arena *arena, const ebb_answer *answer,
                                  const ebb_reduced *reduced, const ebb_state *state, double volume,
                                  ebb_case *made);

#endif /* !__cplusplus */
#endif
