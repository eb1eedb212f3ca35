/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Moves of named walls and ceilings. Each makes a room of its own, solved from the start: there is
 * no stretching one model where one wall moves and its neighbours slant.
 */
#include "answer.h"
#include "remap.h"

#include <math.h>

ebb_status ebb_answer_alone(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                            const ebb_effort *effort, ebb_answer **answer)
{
    ebb_job alone = *job;
    ebb_room copy = *room;
    alone.n_rooms = 1;
    alone.rooms = &copy;
    return ebb_answer_room(ctx, &alone, 0, effort, answer);
}

/* Without units there are no places to look at either. */
static ebb_status read_bare(ebb_ctx *ctx, const ebb_reshaped *r, const ebb_room *room,
                            ebb_shape *shape)
{
    ebb_job bare = *r->job;
    bare.n_units = 0;
    ebb_answer answer = {.arena = ebb_arena_new(ctx), .job = &bare, .room = room};
    ebb_treatment t;
    if (!answer.arena)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_limits_of(&bare, &answer.limits);
    const ebb_status status = ebb_answer_bare(ctx, &answer, r->use, &t);
    const ebb_reading *was = &t.before.reading;
    if (status == EBB_OK)
        *shape = (ebb_shape){{room->size[0], room->size[1], room->size[2]},
                             was->wrong,
                             was->wrong_level,
                             was->wrong_decay};
    ebb_modes_free(t.before.modes);
    ebb_arena_free(answer.arena);
    return status;
}

/* A wall may be kept from moving by what stands beside it: then the move is left out, and the
 * reason is a warning. */
static ebb_status add_move(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r,
                           const ebb_movable *wall, double by)
{
    const char *name = r->room->surfaces[wall->surface].name;
    ebb_move *move = &r->move[r->n_moves];
    ebb_ctx *quiet = ebb_ctx_new();
    *move = (ebb_move){.surface = name, .delta = by};
    ebb_status status =
        ebb_room_moved(quiet, r->arena, r->job, r->room, wall->surface, by, &move->room);
    if (status == EBB_E_RANGE)
        ebb_warn_at(ctx, NULL, "%s of room %s can not move by %g m: %s", name, r->room->name, by,
                    ebb_ctx_messages(quiet) > 0 ? ebb_ctx_message(quiet, 0)->text
                                                : "no room is left");
    ebb_ctx_free(quiet);
    if (status == EBB_E_RANGE)
        return EBB_OK;
    if (status != EBB_OK)
        return ebb_fail(ctx, status, "a moved room could not be set up");
    if (move->room.shaped)
        status = effort->ready(effort->user, ctx, &move->room);
    if (status == EBB_OK)
        status = read_bare(ctx, r, &move->room, &move->bare);
    r->n_moves += status == EBB_OK;
    return status;
}

ebb_status ebb_shift_walls(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r)
{
    ebb_status status = EBB_OK;
    if (!effort->ready)
        return ebb_fail(ctx, EBB_E_RANGE, "nobody makes moved rooms ready to be solved");
    if (r->n[0] == 0) {
        ebb_progress(ctx, "the bare room", 0);
        status = read_bare(ctx, r, r->room, &r->today);
        r->move[0].bare = r->best = r->today;
    }
    for (size_t i = 0; i < EBB_MOVES * r->room->n_moves && status == EBB_OK; i++) {
        const ebb_movable *wall = &r->room->moves[i / EBB_MOVES];
        double by = ebb_moves_tried[i % EBB_MOVES];
        ebb_progress(ctx, "moving walls", 0.6 * (double)i / (double)(EBB_MOVES * r->room->n_moves));
        if (by >= wall->by[0] - 1e-9 && by <= wall->by[1] + 1e-9)
            status = add_move(ctx, effort, r, wall, by);
    }
    for (size_t i = 0; i < r->n_moves && status == EBB_OK; i++)
        if (r->move[i].bare.wrong < r->best.wrong)
            r->best = r->move[i].bare;
    return status;
}
