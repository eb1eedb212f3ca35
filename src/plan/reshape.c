/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The map of a room over its dimensions, and the moves, bare and treated. */
#include "remap.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const double ebb_moves_tried[EBB_MOVES] = {-0.6, -0.3, 0.3, 0.6};

void ebb_reshape_default(ebb_reshape_effort *effort)
{
    *effort = (ebb_reshape_effort){.step = 0.05, .most = 2000, .treated = 3};
    ebb_effort_default(&effort->treat);
    effort->treat.starts = 2;
    effort->treat.draws = 16;
    effort->treat.relaxed = false;
}

/* ---- the map --------------------------------------------------------------------------------- */

static void count_sizes(const ebb_room *room, double step, size_t n[3])
{
    for (int d = 0; d < 3; d++) {
        const double *range = room->may_change[d];
        n[d] = isfinite(range[0]) ? (size_t)ceil((range[1] - range[0]) / step - 1e-9) + 1 : 1;
    }
}

/* Evenly from limit to limit; the step is widened until the map has few enough rooms. */
static ebb_status lay_out(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r)
{
    double step = effort->step;
    count_sizes(r->room, step, r->n);
    while (r->n[0] * r->n[1] * r->n[2] > effort->most) {
        step *= 1.05;
        count_sizes(r->room, step, r->n);
    }
    for (int d = 0; d < 3; d++) {
        const double *range = r->room->may_change[d];
        r->value[d] = EBB_NEW(r->arena, double, r->n[d]);
        if (!r->value[d])
            return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
        for (size_t i = 0; i < r->n[d]; i++)
            r->value[d][i] =
                r->n[d] > 1 ? range[0] + (range[1] - range[0]) * (double)i / (double)(r->n[d] - 1)
                : isfinite(range[0]) ? range[0]
                                     : r->room->size[d];
    }
    r->shape = EBB_NEW(r->arena, ebb_shape, r->n[0] * r->n[1] * r->n[2]);
    return r->shape ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
}

/* One line of sizes along `axis` through the point that `line` counts. */
static ebb_status map_line(const ebb_remap *map, int axis, size_t line, ebb_reshaped *r)
{
    const int other[2] = {axis == 0 ? 1 : 0, axis == 2 ? 1 : 2};
    size_t at[3];
    at[other[0]] = line / r->n[other[1]];
    at[other[1]] = line % r->n[other[1]];
    ebb_modes *track = NULL;
    double before[3] = {0, 0, 0};
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < r->n[axis] && status == EBB_OK; i++) {
        at[axis] = i;
        const double size[3] = {r->value[0][at[0]], r->value[1][at[1]], r->value[2][at[2]]};
        if (track && !ebb_remap_near(before, size)) {
            ebb_modes_free(track);
            track = NULL;
        }
        status =
            ebb_remap_at(map, size, &track, &r->shape[(at[0] * r->n[1] + at[1]) * r->n[2] + at[2]]);
        if (status == EBB_E_RANGE) /* something does not fit: a hole in the map */
            status = EBB_OK;
        memcpy(before, size, sizeof before);
    }
    ebb_modes_free(track);
    return status;
}

static ebb_status draw_map(ebb_ctx *ctx, const ebb_remap *map, ebb_reshaped *r)
{
    int axis = 0;
    for (int d = 1; d < 3; d++)
        if (r->n[d] > r->n[axis])
            axis = d;
    const size_t n_lines = r->n[0] * r->n[1] * r->n[2] / r->n[axis];
    size_t done = 0;
    int failed = EBB_OK;
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < n_lines; i++) {
        const ebb_status status = map_line(map, axis, i, r);
#pragma omp critical
        {
            if (status != EBB_OK)
                failed = (int)status;
            done++;
            ebb_progress(ctx, "mapping bare rooms", 0.6 * (double)done / (double)n_lines);
        }
    }
    if (failed != EBB_OK)
        return ebb_fail(ctx, (ebb_status)failed, "a size could not be solved: %s",
                        ebb_status_text((ebb_status)failed));
    r->best = r->shape[0];
    for (size_t i = 1; i < r->n[0] * r->n[1] * r->n[2]; i++)
        if (!(r->best.wrong <= r->shape[i].wrong)) /* also when the best so far is a hole */
            r->best = r->shape[i];
    return EBB_OK;
}

/* ---- moves ----------------------------------------------------------------------------------- */

static ebb_status read_alone(ebb_ctx *ctx, const ebb_remap *map, const double size[3],
                             ebb_shape *shape)
{
    ebb_modes *track = NULL;
    const ebb_status status = ebb_remap_at(map, size, &track, shape);
    ebb_modes_free(track);
    if (status == EBB_OK || status == EBB_E_RANGE)
        return EBB_OK;
    return ebb_fail(ctx, status, "a size could not be solved: %s", ebb_status_text(status));
}

/* One size as a move, bare; left out when something does not fit it. */
static ebb_status add_size(ebb_ctx *ctx, const ebb_remap *map, const double size[3], ebb_move move,
                           ebb_reshaped *r)
{
    ebb_status status = ebb_room_resized(r->arena, r->job, r->room, size, &move.room);
    if (status == EBB_E_RANGE)
        return EBB_OK;
    if (status != EBB_OK)
        return ebb_fail(ctx, status, "a moved room could not be set up");
    status = read_alone(ctx, map, size, &move.bare);
    if (status == EBB_OK && isfinite(move.bare.wrong))
        r->move[r->n_moves++] = move;
    return status;
}

/* All changes of one dimension that the limits allow, bare. */
static ebb_status list_sizes(ebb_ctx *ctx, const ebb_remap *map, ebb_reshaped *r)
{
    ebb_status status = EBB_OK;
    for (int i = 0; i < 3 * EBB_MOVES && status == EBB_OK; i++) {
        const int axis = i / EBB_MOVES;
        const double *range = r->room->may_change[axis], delta = ebb_moves_tried[i % EBB_MOVES];
        double size[3];
        memcpy(size, r->room->size, sizeof size);
        size[axis] += delta;
        if (size[axis] >= range[0] - 1e-9 && size[axis] <= range[1] + 1e-9)
            status = add_size(ctx, map, size, (ebb_move){.axis = axis, .delta = delta}, r);
    }
    return status;
}

/* Today's room stays first. */
static int by_mending(const void *a, const void *b)
{
    const ebb_move *x = a, *y = b;
    if (x->treated != y->treated)
        return x->treated ? -1 : 1;
    if (x->treated && x->right != y->right)
        return x->right > y->right ? -1 : 1;
    const double p = x->treated ? x->wrong : x->bare.wrong;
    const double q = y->treated ? y->wrong : y->bare.wrong;
    return (p > q) - (p < q);
}

static ebb_status treat(ebb_ctx *ctx, const ebb_reshape_effort *effort, const ebb_reshaped *r,
                        ebb_move *move)
{
    ebb_answer *answer = NULL;
    ebb_status status = ebb_answer_alone(ctx, r->job, &move->room, &effort->treat, &answer);
    if (status == EBB_OK) {
        const ebb_treatment *t = r->use == EBB_USE_MUSIC ? &answer->music : &answer->voice;
        move->treated = true;
        move->verdict = answer->verdict;
        move->right = t->odds.share;
        move->wrong = t->after.reading.wrong;
        move->mass = t->after.layout.mass;
    }
    ebb_answer_free(answer);
    return status;
}

/* Treats today's room and the best bare moves. */
static ebb_status treat_moves(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r)
{
    qsort(r->move + 1, r->n_moves - 1, sizeof *r->move, by_mending);
    if (effort->treated == 0)
        return EBB_OK;
    size_t n = 1 + effort->treated < r->n_moves ? 1 + effort->treated : r->n_moves;
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < n && status == EBB_OK; i++)
        status = treat(ctx, effort, r, &r->move[i]);
    qsort(r->move + 1, r->n_moves - 1, sizeof *r->move, by_mending);
    return status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static bool may_change(const ebb_room *room)
{
    bool any = false;
    for (int d = 0; d < 3; d++)
        any |= isfinite(room->may_change[d][0]) && room->may_change[d][1] > room->may_change[d][0];
    return any && !room->shaped;
}

static ebb_status check(ebb_ctx *ctx, const ebb_job *job, size_t room,
                        const ebb_reshape_effort *effort)
{
    if (room >= job->n_rooms)
        return ebb_fail(ctx, EBB_E_RANGE, "the job has no room %zu", room);
    if (!(effort->step >= 0.005 && effort->step <= 2) || effort->most < 8 || effort->most > 100000)
        return ebb_fail(ctx, EBB_E_RANGE, "the step must be 5 mm to 2 m, the rooms 8 to 100000");
    const ebb_room *r = &job->rooms[room];
    if (r->n_seats == 0 || r->n_speakers == 0)
        return ebb_fail(ctx, EBB_E_RANGE, "room \"%s\" has no seats or no speakers", r->name);
    if (!may_change(r) && r->n_moves == 0)
        return ebb_fail(
            ctx, EBB_E_RANGE,
            "nothing of room \"%s\" may change: give it may_change or may_move in the job file, "
            "such as %s",
            r->name,
            r->shaped ? "[{surface: wall_1, by: [-0.3 m, 0.6 m]}]" : "{length: [4.5 m, 5.2 m]}");
    return EBB_OK;
}

/* The map and its moves; a room without limits to its dimensions has neither. */
static ebb_status map_sizes(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r)
{
    ebb_remap map;
    ebb_progress(ctx, "projecting the room", 0);
    ebb_status status = ebb_remap_open(ctx, r->job, r->room, r->use, &map);
    if (status == EBB_OK)
        status = lay_out(ctx, effort, r);
    if (status == EBB_OK)
        status = draw_map(ctx, &map, r);
    if (status == EBB_OK)
        status = read_alone(ctx, &map, r->room->size, &r->today);
    r->move[0].bare = r->today;
    if (status == EBB_OK)
        status = list_sizes(ctx, &map, r);
    ebb_remap_close(&map);
    return status;
}

static ebb_status run(ebb_ctx *ctx, const ebb_reshape_effort *effort, ebb_reshaped *r)
{
    ebb_status status = EBB_OK;
    r->move = EBB_NEW(r->arena, ebb_move, 1 + EBB_MOVES * (3 + r->room->n_moves));
    if (!r->move)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    r->move[r->n_moves++] = (ebb_move){.room = *r->room};
    if (may_change(r->room))
        status = map_sizes(ctx, effort, r);
    if (status == EBB_OK && r->room->n_moves > 0)
        status = ebb_shift_walls(ctx, effort, r);
    if (status == EBB_OK)
        status = treat_moves(ctx, effort, r);
    ebb_progress(ctx, "done", 1);
    return status;
}

ebb_status ebb_reshape(ebb_ctx *ctx, const ebb_job *job, size_t room,
                       const ebb_reshape_effort *effort, ebb_reshaped **reshaped)
{
    *reshaped = NULL;
    ebb_status status = check(ctx, job, room, effort);
    if (status != EBB_OK)
        return status;
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_reshaped *made = EBB_NEW(arena, ebb_reshaped, 1);
    if (!made) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    *made = (ebb_reshaped){.arena = arena, .job = job, .room = &job->rooms[room], .use = job->use};
    status = run(ctx, effort, made);
    if (status == EBB_OK)
        *reshaped = made;
    else
        ebb_reshaped_free(made);
    return status;
}

void ebb_reshaped_free(ebb_reshaped *reshaped)
{
    if (reshaped)
        ebb_arena_free(reshaped->arena);
}
