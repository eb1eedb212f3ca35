/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/reach.h - how far a plan can reach: what every further unit still mends, and what no placing
 * of the allowance can do to a mode.
 */
#ifndef EBB_REACH_H
#define EBB_REACH_H

#include <ebb/plan.h>

#ifndef __cplusplus

/* ---- wrong share left against units used ----------------------------------------------------- */

/* A unit earns its place when it mends at least this share of all that the plan mends. */
#define EBB_CURVE_SHARE 0.05

/* The best layout known with so many units of the plan's kinds, solved like the plan itself. */
typedef struct ebb_curve_point {
    size_t n;          /* new units, those that hang already not counted */
    ebb_layout layout; /* existing units first */
    bool right;
    double wrong, wrong_level, wrong_decay; /* shares of cells, as in ebb_reading */
    double mass, cost;                      /* of the new units */
} ebb_curve_point;

/* One more unit of a kind, at its best place, on top of the layout where the return falls off. */
typedef struct ebb_curve_next {
    size_t unit;  /* index into job->absorbers */
    bool fits;    /* there is a place for it within depth and body limits; else the rest is unset */
    bool allowed; /* mass, cover, cost and count allow it too */
    double wrong; /* share of wrong cells with it */
    double mended; /* what it takes off the wrong share; below 0: it makes things worse */
} ebb_curve_next;

typedef struct ebb_curve {
    ebb_arena *arena;
    size_t n;               /* points: 0 units .. all units of the plan */
    ebb_curve_point *point; /* [n] by rising number of units */
    size_t enough;          /* index of the point of diminishing return: the last one whose unit
                             * mended EBB_CURVE_SHARE or more of what the whole curve mends at most;
                             * 0 when nothing is mended at all */
    size_t n_next;          /* kinds of units */
    ebb_curve_next *next;   /* [n_next] from point[enough], most mended first */
    const char *sentence;   /* what it comes to, for the client */
} ebb_curve;

/* The curve of a plan: from its layout down to none, one unit at a time, the least useful first,
 * the rest placed anew each time. The last point is the plan itself. treatment: one of the
 * answer's that was asked. Every point is solved truly, about as much work as one plan.
 * *curve is new: free with ebb_curve_free. */
EBB_API ebb_status ebb_plan_curve(ebb_ctx *ctx, const ebb_answer *answer,
                                  const ebb_treatment *treatment, const ebb_effort *effort,
                                  ebb_curve **curve);
EBB_API void ebb_curve_free(ebb_curve *curve);

/* ---- what the allowance can do to a mode at most --------------------------------------------- */

/* A mode of the room as it stands, and the allowance. */
typedef struct ebb_mode_reach {
    double hz, t60;   /* of the room as it stands, s */
    int label[3];     /* as in ebb_mode */
    double limit;     /* decay limit at hz, s; NAN where none is tested */
    double estimate;  /* s with all of the allowance placed for this mode alone, to first order: an
                       * estimate, no bound */
    double bound;     /* s: no placing of the allowance makes this mode shorter; 0: no such bound */
    double bound_own; /* s: the shortest that was looked at; nothing is said of shorter ones */
} ebb_mode_reach;

typedef struct ebb_decay_bound {
    ebb_arena *arena;
    size_t n;
    ebb_mode_reach *mode; /* by rising frequency */
    size_t stops; /* index of the mode whose bound is furthest above its limit; n: none is */
    const char *sentence; /* for the client */
} ebb_decay_bound;

/*
 * What the job's units can do to the modes of a room at most, whatever their places: src/plan/
 * bound.c states and proves it. size: what the units leave of the room (ebb_layout.size), NULL for
 * all of it. Holds for modes of whose energy, that in the units counted, at least half is still the
 * room's own mode, in the model that the search uses. *bound is new: free with
 * ebb_decay_bound_free.
 */
EBB_API ebb_status ebb_decay_bound_new(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                                       const ebb_limits *limits, ebb_use use, const double size[3],
                                       ebb_decay_bound **bound);
EBB_API void ebb_decay_bound_free(ebb_decay_bound *bound);

#endif /* !__cplusplus */
#endif
