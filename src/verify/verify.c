/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A plan solved again with its units as bodies, and set beside the answer of the search model.
 */
#include "private.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define HIGHEST_MODE 1.25 /* times the highest band of the decay test, as the plan's own modes */
#define ORDER 4           /* of elements between boxes, which are small anyhow */
#define ERROR 1e-4        /* of frequencies in the open room; edges of boxes bring more than that */
#define SOFT_WALL 0.02    /* |beta| that a basis is made for where nothing yields */

/* Sides of cabinets: thick boards that hardly yield. Our assumption: they take less than 1 % of
 * what falls on them from all sides. */
static const ebb_assembly board = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.001};

/* Everything between the case and the comparison. */
typedef struct again {
    ebb_ctx *ctx; /* own: what goes wrong is a reason, no error */
    ebb_arena *arena, *scratch;
    const ebb_answer *answer;
    const ebb_case *flat;
    const ebb_prepare_wish *wish;
    ebb_bodies bodies;
    ebb_job job; /* the answer's, with the one room that has the units cut out */
    ebb_room room;
    ebb_prepared *prepared;
    ebb_reduced *reduced;
    ebb_state state;
    ebb_case made;
    ebb_verified *verified;
} again;

static double now(void)
{
    struct timespec t = {0};
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void tell(void *user, const ebb_room *room, const char *step)
{
    again *a = user;
    (void)room; /* a copy with a solid, nothing that the caller knows */
    const char *text = ebb_arena_format(a->scratch, "plan with units as boxes, %s", step);
    if (a->wish->progress != NULL && text != NULL)
        a->wish->progress(a->wish->user, a->answer->room, text);
}

/* ---- the solid ------------------------------------------------------------------------------- */

ebb_status ebb_bodies_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                           size_t n, const ebb_placed *placed, ebb_bodies *bodies)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_cells cells;
    *bodies = (ebb_bodies){.front = EBB_NEW(arena, ebb_body_front, n)};
    ebb_status status = bodies->front != NULL
                            ? ebb_cells_make(ctx, scratch, job, room, n, placed, &cells)
                            : ebb_fail(ctx, EBB_E_NOMEM, "no memory for the fronts of units");
    if (status == EBB_OK)
        status = ebb_cells_close(ctx, scratch, &cells, &bodies->n_closed, &bodies->closed);
    if (status == EBB_OK)
        status = ebb_cells_solid(ctx, arena, &cells, &bodies->solid);
    for (size_t i = 0; i < n && status == EBB_OK; i++)
        ebb_cells_front(&cells, i, &bodies->front[i]);
    ebb_arena_free(scratch);
    return status;
}

/* Counted here, so that it is known even when the rest fails. */
static void count_bodies(again *a)
{
    ebb_verified *v = a->verified;
    v->n_closed = a->bodies.n_closed;
    v->closed = a->bodies.closed;
    v->volume = ebb_solid_volume(&a->bodies.solid);
    for (size_t i = 0; i < a->flat->layout.n_placed; i++) {
        const ebb_body_front *front = &a->bodies.front[i];
        v->n_bodies += front->body;
        v->n_flat += !front->body;
        v->n_covered += front->covered > 0;
        v->covered_most = fmax(v->covered_most, front->covered);
    }
}

static ebb_status cut_out(again *a)
{
    const ebb_case *c = a->flat;
    ebb_status status = ebb_bodies_make(a->ctx, a->scratch, a->answer->job, a->answer->room,
                                        c->layout.n_placed, c->layout.placed, &a->bodies);
    if (status != EBB_OK)
        return status;
    count_bodies(a);
    for (size_t i = 0; i < c->n_stands + c->n_receivers; i++) {
        const ebb_vec3 at = i < c->n_stands ? c->stands[i] : c->receivers[i - c->n_stands];
        if (!ebb_solid_holds(&a->bodies.solid, at, 0))
            return ebb_fail(a->ctx, EBB_E_RANGE, "a speaker or head would be within a unit");
    }
    return EBB_OK;
}

/* ---- the model ------------------------------------------------------------------------------- */

/* The room as it is prepared: like the answer's, but of another shape. */
static ebb_status prepare(again *a)
{
    const ebb_grid *grid = &a->flat->grid;
    ebb_prepare_wish wish = *a->wish;
    wish.highest = grid->hz[grid->n_hz - 1];
    if (grid->n_bands > 0)
        wish.highest = fmax(wish.highest, HIGHEST_MODE * grid->band_hz[grid->n_bands - 1]);
    if (a->verified->n_bodies > 0) {
        wish.order = ORDER;
        wish.error = ERROR;
    }
    wish.progress = tell;
    wish.user = a;
    a->room = *a->answer->room;
    a->room.shaped = true;
    a->room.solid = &a->bodies.solid;
    a->job = *a->answer->job;
    a->job.n_rooms = 1;
    a->job.rooms = &a->room;
    const ebb_status status = ebb_prepare(a->ctx, &a->job, NULL, &wish, &a->prepared);
    if (status == EBB_OK)
        (void)ebb_prepared_about(a->prepared, 0, &a->verified->note);
    return status;
}

/* Patches of openings and flat units where the flat model has them, all others on the fronts of
 * their boxes; *n of them. */
static ebb_status make_patches(again *a, ebb_patch **patches, size_t *n)
{
    const ebb_layout *layout = &a->flat->layout;
    const ebb_room *room = a->answer->room;
    ebb_patch *all = EBB_NEW(a->scratch, ebb_patch, room->n_openings + layout->n_placed);
    *patches = all;
    if (all == NULL)
        return ebb_fail(a->ctx, EBB_E_NOMEM, "out of memory");
    const ebb_status status =
        ebb_room_patches(a->ctx, a->answer->job, room, layout->n_placed, layout->placed, all);
    *n = room->n_openings;
    for (size_t i = 0; i < layout->n_placed; i++) {
        const ebb_body_front *front = &a->bodies.front[i];
        ebb_patch patch = all[room->n_openings + i];
        if (front->covered >= 1)
            continue;
        if (front->body) {
            patch.rect = front->rect;
            patch.face = (int)front->rect.surface;
        }
        all[(*n)++] = patch; /* never ahead of what is still to be read */
    }
    return status;
}

/* Stands, then receivers, where they really are. */
static ebb_vec3 *all_points(again *a)
{
    const ebb_case *c = a->flat;
    ebb_vec3 *point = EBB_NEW(a->scratch, ebb_vec3, c->n_stands + c->n_receivers);
    if (point == NULL)
        return NULL;
    memcpy(point, c->stands, c->n_stands * sizeof *point);
    memcpy(point + c->n_stands, c->receivers, c->n_receivers * sizeof *point);
    return point;
}

static ebb_status project(again *a)
{
    const ebb_case *c = a->flat;
    const double band[2] = {c->grid.lowest, c->grid.hz[c->grid.n_hz - 1]};
    ebb_geometry g;
    ebb_patch *patches;
    size_t n = 0;
    ebb_status status = make_patches(a, &patches, &n);
    if (status == EBB_OK)
        status = ebb_geometry_of(a->ctx, a->answer->job, a->answer->room, band[1], band, &g);
    ebb_vec3 *points = all_points(a);
    size_t *used = EBB_NEW(a->scratch, size_t, n);
    if (status == EBB_OK && (points == NULL || used == NULL))
        status = ebb_fail(a->ctx, EBB_E_NOMEM, "out of memory");
    if (status != EBB_OK)
        return status;
    g.space = a->room.space;
    g.points = points;
    g.n_points = c->n_stands + c->n_receivers;
    g.patches = patches;
    g.n_patches = n;
    g.richness = 1;
    ebb_state_of(a->answer->job, a->answer->room, &a->state);
    for (size_t f = EBB_FACES; f < EBB_BODY_SURFACES; f++) {
        g.wall[f] = SOFT_WALL;
        a->state.face[f] = &board;
    }
    for (size_t i = 0; i < n; i++)
        used[i] = i;
    a->state.used = used;
    a->state.n_used = n;
    a->state.sources = points;
    a->state.n_sources = c->n_stands;
    a->state.receivers = points + c->n_stands;
    a->state.n_receivers = c->n_receivers;
    return ebb_reduced_new(a->ctx, &g, &a->reduced);
}

/* ---- side by side ---------------------------------------------------------------------------- */

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Levels as they are, not each less the mean of its path: what a box does to the whole band counts.
 */
static ebb_status compare_levels(again *a)
{
    const ebb_reading *is = &a->made.reading, *was = &a->flat->reading;
    const size_t cells = a->flat->grid.n_cells, n = is->n_paths * cells;
    double *off = EBB_NEW(a->scratch, double, n);
    if (off == NULL || n == 0)
        return ebb_fail(a->ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++)
        off[i] = fabs(is->level[i] + is->mean[i / cells] - was->level[i] - was->mean[i / cells]);
    qsort(off, n, sizeof *off, by_value);
    a->verified->level = off[(size_t)ceil(0.95 * (double)n) - 1];
    a->verified->level_most = off[n - 1];
    return EBB_OK;
}

static void compare(again *a)
{
    ebb_verified *v = a->verified;
    v->wrong = a->made.reading.wrong;
    v->margin = a->made.reading.margin;
    v->right = a->made.reading.right;
    v->solved = true;
}

static ebb_status solve(again *a)
{
    ebb_status status = cut_out(a);
    if (status == EBB_OK)
        status = prepare(a);
    tell(a, NULL, "response");
    if (status == EBB_OK)
        status = project(a);
    a->made = *a->flat;
    a->made.modes = NULL;
    if (status == EBB_OK)
        status = ebb_case_again(a->ctx, a->scratch, a->answer, a->reduced, &a->state,
                                a->verified->volume, &a->made);
    if (status == EBB_OK)
        status = compare_levels(a);
    if (status == EBB_OK)
        compare(a);
    ebb_modes_free(a->made.modes);
    ebb_reduced_free(a->reduced);
    ebb_prepared_free(a->prepared);
    return status;
}

/* The first error tells why; warnings are the caller's to show. */
static void pass_on(again *a, ebb_ctx *ctx, ebb_status status)
{
    const char *reason = status == EBB_OK ? "" : NULL;
    for (size_t i = 0; i < ebb_ctx_messages(a->ctx); i++) {
        const ebb_message *message = ebb_ctx_message(a->ctx, i);
        if (message->status == EBB_OK)
            ebb_warn_at(ctx, &message->place, "%s", message->text);
        else if (reason == NULL)
            reason = ebb_arena_text(a->arena, message->text);
    }
    a->verified->reason = reason != NULL ? reason : "out of memory";
}

/* The verdict so far stands in *verified. */
static ebb_status verify(ebb_ctx *ctx, ebb_arena *arena, const ebb_answer *answer,
                         const ebb_case *flat, const ebb_prepare_wish *wish, ebb_verified *verified)
{
    const double from = now();
    again a = {.ctx = ebb_ctx_new_with(ebb_ctx_allocator(ctx)),
               .arena = arena,
               .scratch = ebb_arena_new(ctx),
               .answer = answer,
               .flat = flat,
               .wish = wish,
               .verified = verified};
    *verified = (ebb_verified){.flat_volume = ebb_layout_volume(answer->room, &flat->layout),
                               .flat_wrong = flat->reading.wrong,
                               .flat_margin = flat->reading.margin,
                               .flat_right = flat->reading.right,
                               .passes = verified->passes};
    ebb_status status = EBB_E_NOMEM;
    if (a.ctx != NULL && a.scratch != NULL) {
        pass_on(&a, ctx, solve(&a));
        verified->seconds = now() - from;
        status = ebb_verify_words(ctx, arena, verified);
    }
    ebb_arena_free(a.scratch);
    ebb_ctx_free(a.ctx);
    return status;
}

ebb_status ebb_verify_case(ebb_ctx *ctx, ebb_arena *arena, const ebb_answer *answer,
                           const ebb_case *flat, const ebb_prepare_wish *wish,
                           ebb_verified *verified)
{
    verified->passes = flat->reading.right;
    return verify(ctx, arena, answer, flat, wish, verified);
}

bool ebb_verified_flips(const ebb_verified *verified)
{
    return verified->solved && verified->right != verified->flat_right &&
           verified->right != verified->passes;
}

/* Before all others: a plan that one model calls right and another wrong is not to be relied on. */
static ebb_status put_first(ebb_ctx *ctx, ebb_answer *answer, const char *sentence)
{
    const char **all = EBB_NEW(answer->arena, const char *, answer->n_reasons + 1);
    if (all == NULL || (all[0] = ebb_arena_text(answer->arena, sentence)) == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < answer->n_reasons; i++)
        all[1 + i] = answer->reasons[i];
    answer->reasons = all;
    answer->n_reasons++;
    return EBB_OK;
}

ebb_status ebb_verify_plan(ebb_ctx *ctx, ebb_arena *arena, ebb_planned *planned,
                           const ebb_prepare_wish *wish, ebb_verified *verified)
{
    const ebb_case *after = &planned->treatment->after;
    if (after->layout.n_placed == 0) {
        *verified = (ebb_verified){.reason = "there are no units in the plan"};
        return ebb_verify_words(ctx, arena, verified);
    }
    verified->passes = planned->passes;
    const ebb_status status = verify(ctx, arena, planned->answer, after, wish, verified);
    if (status != EBB_OK || !ebb_verified_flips(verified))
        return status;
    return put_first(ctx, planned->answer, verified->sentence);
}
