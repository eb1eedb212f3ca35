/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/reshape.h - what a change of a room's dimensions, or moving one of its walls, does.
 */
#ifndef EBB_RESHAPE_H
#define EBB_RESHAPE_H

#include <ebb/plan.h>

#ifndef __cplusplus

/* How finely and how hard to look. Plain data; ebb_reshape_default fills it. */
typedef struct ebb_reshape_effort {
    double step;      /* m between sizes of the map, widened where that makes too many rooms */
    size_t most;      /* rooms of the map at most, 8..100000 */
    size_t treated;   /* moves that are also treated, best bare ones first; 0 none */
    ebb_effort treat; /* how hard to plan for each */
    /* Makes a room that is no box ready for the wave engine: called for every moved one before it
     * is solved. NULL: such rooms are refused (EBB_E_RANGE). */
    ebb_status (*ready)(void *user, ebb_ctx *ctx, ebb_room *room);
    void *user;
} ebb_reshape_effort;

/* 50 mm, 2000 rooms, 3 moves treated with 2 starts, 16 draws and no relaxed run. */
EBB_API void ebb_reshape_default(ebb_reshape_effort *effort);

/* A size of the room, bare (as it stands but for the size), at the best seats within their zones.
 */
typedef struct ebb_shape {
    double size[3];                  /* m */
    double wrong;                    /* share of wrong cells */
    double wrong_level, wrong_decay; /* its parts, each by itself */
} ebb_shape;

/* A move: of a dimension of a rectangle, or of a wall or ceiling by its name. */
typedef struct ebb_move {
    const char *surface; /* what moves along its normal; NULL: a dimension */
    int axis;            /* 0 length, 1 width, 2 height */
    double delta;        /* m, outwards positive; 0 = today's room */
    ebb_room room;       /* as moved */
    ebb_shape bare;      /* its size is that of the box around the room */
    bool treated;        /* the rest holds */
    ebb_verdict verdict;
    double right; /* share of draws in which the plan is right for the use wanted */
    double wrong; /* share of wrong cells after the plan */
    double mass;  /* kg of it */
} ebb_move;

/* The map and the moves. Owns its memory. */
typedef struct ebb_reshaped {
    ebb_arena *arena;
    const ebb_job *job;
    const ebb_room *room;
    ebb_use use;
    size_t n[3];      /* sizes per axis; 1 where nothing may change; 0 when only walls move */
    double *value[3]; /* m, rising */
    ebb_shape *shape; /* [(i * n[1] + j) * n[2] + k] */
    ebb_shape today, best;
    size_t n_moves;
    ebb_move *move; /* today's room first, then by what they mend: treated ones by `right` and
                     * `wrong`, the others by `bare.wrong` */
} ebb_reshaped;

/*
 * Maps a rectangular room over its may_change limits for the job's use, and moves the walls and
 * ceilings of any room that its may_move names. On the map seats, speakers and openings keep their
 * share of length, width and height; heads keep their distance from each other. One reduced model
 * of the room in the middle of its limits serves all sizes (EBB_E_RANGE when a limit is beyond half
 * or twice that, or nothing may change or move). A moved wall makes a room of its own, in which
 * people stay where they are. *reshaped is new: free with ebb_reshaped_free; job must outlive it.
 */
EBB_API ebb_status ebb_reshape(ebb_ctx *ctx, const ebb_job *job, size_t room,
                               const ebb_reshape_effort *effort, ebb_reshaped **reshaped);
EBB_API void ebb_reshaped_free(ebb_reshaped *reshaped);

/* The room with another size: stations, openings and existing units at their share of the old one;
 * openings and units keep their own size and stay on their surface, what stands on the floor or in
 * a corner stays there. Arrays in arena. EBB_E_RANGE when one no longer fits, EBB_E_NOMEM. */
EBB_API ebb_status ebb_room_resized(ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                                    const double size[3], ebb_room *resized);

#endif /* !__cplusplus */
#endif
