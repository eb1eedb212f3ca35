/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One model stretched to many sizes of a room. */
#ifndef EBB_PLAN_REMAP_H
#define EBB_PLAN_REMAP_H

#include "stage.h"

#include <ebb/reshape.h>

/* What all sizes share; read only once open. */
typedef struct ebb_remap {
    ebb_arena *arena;
    const ebb_job *job;
    const ebb_room *room; /* as it is today */
    ebb_use use;
    ebb_room middle; /* in the middle of its limits: the model's room */
    ebb_limits limits;
    ebb_grid grid;
    ebb_reduced *model, *modal; /* judged band; band of the decay test */
    size_t n_used, *used;
} ebb_remap;

#define EBB_MOVES 4 /* tried of each wall or dimension */

extern const double ebb_moves_tried[EBB_MOVES]; /* m: a foot or two either way */

/* Adds the moves of walls and ceilings that a room's may_move allows, bare, to r->move (room for
 * EBB_MOVES of each), and today's room where no map has read it. */
ebb_status ebb_shift_walls(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r);

/* The whole answer for a room that need not be one of the job's. *answer is new; its job and room
 * are gone, only numbers may be read. */
ebb_status ebb_answer_alone(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                            const ebb_effort *effort, ebb_answer **answer);

/* Opens; close in any case. */
ebb_status ebb_remap_open(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, ebb_use use,
                          ebb_remap *map);
void ebb_remap_close(ebb_remap *map);

/* Reads one size. *track: modes of a size near by to follow, or NULL; replaced by this size's (free
 * with ebb_modes_free). EBB_E_RANGE when something no longer fits: then all numbers are NAN. */
ebb_status ebb_remap_at(const ebb_remap *map, const double size[3], ebb_modes **track,
                        ebb_shape *shape);

/* Are two sizes near enough to follow modes from one to the other? */
bool ebb_remap_near(const double a[3], const double b[3]);

#endif
