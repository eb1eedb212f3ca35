/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is not known of a room, and one plan with all of it a little different.
 */
#ifndef EBB_PLAN_VARY_H
#define EBB_PLAN_VARY_H

#include "stage.h"

#include <ebb/detail.h>

/* Standard deviations of what is not known. */
typedef struct ebb_spreads {
    double size;        /* relative, each edge */
    double stiffness;   /* relative, per kind of unit; half of it in resonance */
    double resistance;  /* relative, per kind of unit */
    double walls;       /* of the natural logarithm of what they take */
    double place;       /* m, heads and speakers, each direction */
    double temperature; /* K */
    double mid;         /* relative, absorption area of the middle band */
} ebb_spreads;

/* Our own assumptions; docs/judging.md lists them. */
void ebb_spreads_default(ebb_spreads *spreads);

/* A solved plan to be varied. Borrowed. */
typedef struct ebb_drawing {
    const ebb_job *job;
    const ebb_room *room;
    const ebb_limits *limits;
    const ebb_case *made;
    const ebb_solved *solved;
    ebb_spreads spreads;
} ebb_drawing;

/* How many deviates a draw takes, and which unknown each belongs to. */
size_t ebb_draw_dims(const ebb_drawing *drawing);
ebb_unknown ebb_draw_unknown(const ebb_drawing *drawing, size_t dim);

/* One draw as it was judged. */
typedef struct ebb_drawn {
    bool right;         /* all of it */
    bool reading_right; /* the core numbers alone */
    bool mid_right;
    double inside, worst_level, worst_decay, wrong, margin, speech_index;
} ebb_drawn;

/* The plan as it was solved, as if it were a draw without deviates. */
void ebb_draw_nominal(const ebb_drawing *drawing, ebb_drawn *drawn);
/* Solves and judges the plan at deviates x[ebb_draw_dims] in units of the spreads. */
ebb_status ebb_draw_one(const ebb_drawing *drawing, const double *x, ebb_drawn *drawn);

/* The measurement worth making: draws as in ebb_draw_odds, and again with each unknown held at its
 * nominal value. doubt->draws is 0 when effort has none. */
ebb_status ebb_doubt_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_drawing *drawing,
                          const ebb_effort *effort, ebb_doubt *doubt);

#endif
