/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/detail.h - one plan in all its detail: what each unit is worth, what else would do, and what
 * is worth measuring before it is built.
 */
#ifndef EBB_DETAIL_H
#define EBB_DETAIL_H

#include <ebb/reach.h>

#ifndef __cplusplus

#define EBB_MOST_SLOW 3
#define EBB_MOST_ALTERNATIVES 3

/* How hard to look. Plain data; ebb_detail_default fills it. */
typedef struct ebb_detail_effort {
    ebb_effort search;
    bool gains;        /* solve the plan without each of its units in turn */
    bool alternatives; /* also look for the cheapest and the lightest plan that passes */
    bool curve;        /* also ask what every unit mends, and what no placing can reach */
    bool doubt;        /* also find the measurement worth making; needs draws */
} ebb_detail_effort;

/* The effort of `ebb judge`, and all of the rest. */
EBB_API void ebb_detail_default(ebb_detail_effort *effort);

/* A mode of the bare room that is among those furthest above their limit. */
typedef struct ebb_slow_mode {
    int label[3];
    double hz, limit;     /* of the bare room; s */
    double before, after; /* its decay time, s; after is NAN when no mode of the treated room
                           * resembles it */
} ebb_slow_mode;

/* The plan without one unit, everything else as it is. */
typedef struct ebb_gain {
    size_t placed; /* index of the unit in the plan's layout */
    bool right;    /* by the core numbers and the middle band, nominal values */
    double wrong, wrong_level, wrong_decay, margin;
    double slow[EBB_MOST_SLOW]; /* decay of the slow modes, s */
} ebb_gain;

typedef enum ebb_alternative_kind {
    EBB_PLAN_BEST,     /* best found within the allowance */
    EBB_PLAN_CHEAPEST, /* cheapest found that passes */
    EBB_PLAN_LIGHTEST  /* lightest found that passes */
} ebb_alternative_kind;

/* A plan that was solved truly and drawn. Results of a search, not proofs. */
typedef struct ebb_alternative {
    ebb_alternative_kind kind;
    bool passes; /* right at nominal values and in at least half of the draws */
    ebb_layout layout;
    double wrong, worst_level, worst_decay, margin;
    ebb_odds odds;
} ebb_alternative;

/* "best", "cheapest", "lightest". Constant strings. */
EBB_API const char *ebb_alternative_name(ebb_alternative_kind kind);

/* What is not known of a room before it is measured. */
typedef enum ebb_unknown {
    EBB_UNKNOWN_WALLS,  /* what walls, floor and ceiling take */
    EBB_UNKNOWN_SIZE,   /* length, width, height */
    EBB_UNKNOWN_AIR,    /* temperature in use */
    EBB_UNKNOWN_UNITS,  /* tuning and resistance of each kind of unit */
    EBB_UNKNOWN_PLACES, /* heads and speakers */
    EBB_UNKNOWN_MID,    /* absorption in the middle band */
    EBB_UNKNOWNS
} ebb_unknown;

/* What one unknown is worth: the same draws again with it held at its nominal value. */
typedef struct ebb_doubt_part {
    double share;     /* of draws in which the plan is right */
    double spread;    /* standard deviation of the share of wrong cells over the draws */
    double explained; /* share of the variance of wrong cells that went with it; may come out a
                       * little below 0, for few draws have noise of their own */
} ebb_doubt_part;

/* What the plan is unsure of, and why. */
typedef struct ebb_doubt {
    size_t draws; /* 0: not looked at, the rest is zero */
    double share, spread;
    ebb_doubt_part part[EBB_UNKNOWNS];
    bool any;            /* is one unknown worth measuring for this? */
    ebb_unknown most;    /* the one that explains most */
    const char *measure; /* what to measure and why, a sentence; never NULL */
} ebb_doubt;

/* "walls", "size", "air", "units", "places", "middle band". Constant strings. */
EBB_API const char *ebb_unknown_name(ebb_unknown unknown);
/* What would have to be measured, a clause without its full stop. Constant strings. */
EBB_API const char *ebb_unknown_measure(ebb_unknown unknown);

/* The plan for one room and use. Owns its memory. */
typedef struct ebb_planned {
    ebb_arena *arena;
    ebb_answer *answer;             /* of the asked use only; owned */
    const ebb_treatment *treatment; /* the one shown */
    bool passes;                    /* the plan makes the room right for the use asked */
    size_t n_slow;
    ebb_slow_mode slow[EBB_MOST_SLOW]; /* worst first */
    size_t n_gains;                    /* units of the plan that were not there before */
    ebb_gain *gain;                    /* in the order of the layout */
    size_t n_alternatives;
    ebb_alternative alternative[EBB_MOST_ALTERNATIVES]; /* the best first */
    ebb_curve *curve;                                   /* owned; NULL when not asked for */
    ebb_decay_bound *bound;                             /* owned; NULL when not asked for */
    ebb_doubt doubt;
} ebb_planned;

/* Plans one room for the job's use. *planned is new: free with ebb_planned_free; job must outlive
 * it. EBB_E_RANGE: no such room, no seats or no speakers, an effort that is none. */
EBB_API ebb_status ebb_plan_room(ebb_ctx *ctx, const ebb_job *job, size_t room,
                                 const ebb_detail_effort *effort, ebb_planned **planned);
EBB_API void ebb_planned_free(ebb_planned *planned);

#endif /* !__cplusplus */
#endif
