/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Inside of a search: the candidate model, and what can be made from it.
 */
#ifndef EBB_PLAN_SEARCH_H
#define EBB_PLAN_SEARCH_H

#include "climb.h"

struct ebb_search {
    ebb_arena *arena;
    const ebb_job *job;
    const ebb_room *room;
    const ebb_limits *limits;
    ebb_stations stations;
    ebb_spots spots;
    ebb_grid grid;
    ebb_reduced *reduced; /* over the judged band */
    ebb_reduced *modal;   /* over the band of the decay test only */
    size_t n_fixed;       /* openings and existing units */
    ebb_patch *fixed;
    size_t *fixed_index;
    double *vectors, *modal_vectors; /* port vectors of all spots in either model */
    unsigned char *clear; /* [spot * n_units + unit]: fits the surface, clear of doors and people */
};

/* A base for a room in which units leave the given size. Memory in arena. placing: with what it
 * takes to add units, not only to choose stations. */
ebb_status ebb_search_base(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
                           const double scale[3], bool placing, ebb_base *base);

/* Layout in the job's terms, existing units first. */
ebb_status ebb_search_layout(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *s,
                             const ebb_climbed *from, ebb_layout *layout);

#endif
