/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Trials: variants of a plan solved truly, side by side, and what is read off each.
 */
#ifndef EBB_PLAN_TRIAL_H
#define EBB_PLAN_TRIAL_H

#include "stage.h"

#include <ebb/detail.h>

/* What all trials of one plan share. Borrowed. */
typedef struct ebb_bench {
    ebb_ctx *ctx;
    const ebb_job *job;
    const ebb_room *room;
    const ebb_limits *limits;
    const ebb_stations *stations;
    const ebb_effort *effort; /* its draws and seed */
    size_t n_slow;
    const ebb_slow_mode *slow;
} ebb_bench;

/* What is kept of a trial. */
typedef struct ebb_outcome {
    bool right; /* nominal values */
    double wrong, wrong_level, wrong_decay, margin, worst_level, worst_decay;
    double slow[EBB_MOST_SLOW];
    ebb_odds odds; /* when drawn */
} ebb_outcome;

/* Solves n layouts side by side; drawn: each is also judged over draws. What a variant warns of was
 * said of the plan already and is dropped; the first error is passed on. */
ebb_status ebb_trials(const ebb_bench *bench, size_t n, const ebb_finalist *layout, bool drawn,
                      ebb_outcome *outcome);

/* Which options of the stations a layout stands at. */
bool ebb_options_of(const ebb_bench *bench, const ebb_layout *layout, size_t option[2]);

/* The modes of the bare room that are furthest above their limit; returns how many. */
size_t ebb_slow_modes(const ebb_room *room, const ebb_limits *limits, const ebb_case *before,
                      const ebb_case *after, ebb_slow_mode slow[EBB_MOST_SLOW]);

/* The layout with unit `index` taken out, or made of another kind. Arrays in arena; false when
 * memory ran out. */
bool ebb_layout_without(ebb_arena *arena, const ebb_bench *bench, const ebb_finalist *from,
                        size_t index, ebb_finalist *to);
bool ebb_layout_remade(ebb_arena *arena, const ebb_bench *bench, const ebb_finalist *from,
                       size_t index, size_t kind, ebb_finalist *to);

/* Cheapest and lightest plans that pass, from a plan that does. *n counts up; arrays in arena.
 * curve: smaller plans of the same room to start from, may be NULL. */
ebb_status ebb_alternatives(const ebb_bench *bench, ebb_arena *arena, const ebb_curve *curve,
                            const ebb_finalist *best, ebb_alternative *list, size_t *n);

#endif
