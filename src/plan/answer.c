/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The whole answer for a room: as it stands, best plan, draws, verdict, and what stops it.
 */
#include "answer.h"

#include <math.h>
#include <string.h>

#define BINDING 0.85 /* a limit used beyond this share may be what stops a plan */

void ebb_effort_default(ebb_effort *effort)
{
    *effort = (ebb_effort){.seed = 1, .starts = 6, .draws = 32, .swaps = 2, .relaxed = true};
}

/* ---- what stops a plan
 * ------------------------------------------------------------------------------ */

/* A shallow copy of the job with other units or another allowance: the same search answers it. */
typedef struct variant {
    ebb_job job;
    const char *sentence; /* said when freeing this makes the room right */
} variant;

static ebb_unit *copy_units(ebb_arena *arena, const ebb_job *job)
{
    ebb_unit *units = EBB_NEW(arena, ebb_unit, job->n_units);
    if (units)
        memcpy(units, job->absorbers, job->n_units * sizeof *units);
    return units;
}

/* Every unit swallows all that falls on it squarely (z = 1), at each point by itself. */
static void idealise(ebb_unit *units, size_t n)
{
    for (size_t u = 0; u < n; u++) {
        units[u].piston = false;
        units[u].on_walls = units[u].on_ceiling = true;
        units[u].assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 1};
        for (int o = 0; o < EBB_OCTAVES; o++)
            units[u].alpha[o] = 0.951;
    }
}

static void depthless(ebb_unit *units, size_t n)
{
    for (size_t u = 0; u < n; u++)
        units[u].depth = 0;
}

/* Depthless ideal absorbers anywhere, no limit on anything. */
static ebb_status relaxed_job(ebb_arena *arena, const ebb_job *job, ebb_job *out)
{
    ebb_unit *units = copy_units(arena, job);
    if (!units)
        return EBB_E_NOMEM;
    *out = *job;
    out->absorbers = units;
    idealise(units, job->n_units);
    depthless(units, job->n_units);
    for (size_t u = 0; u < job->n_units; u++)
        units[u].mass = units[u].cost = 0;
    out->allowance = (ebb_allowance){INFINITY, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};
    return EBB_OK;
}

/* Searches a variant of the job with few starts and judges the plan found, nominal values. */
static ebb_status try_job(ebb_ctx *ctx, const ebb_answer *answer, ebb_search *search,
                          const ebb_job *job, const ebb_effort *effort, bool *right, double *wrong)
{
    ebb_effort few = *effort;
    few.starts = few.swaps = 1;
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_finalist found[EBB_FINALISTS];
    ebb_case made = {0};
    size_t n;
    double spread[2];
    ebb_search_vary(search, job);
    ebb_status status = ebb_search_run(ctx, search, &few, scratch, found, &n, spread);
    if (status == EBB_OK)
        status = ebb_case_make(ctx, scratch, job, answer->room, &answer->limits,
                               ebb_search_stations(search), found[0].option, &found[0].layout,
                               &made, NULL);
    if (status == EBB_OK) {
        *right = made.reading.right;
        *wrong = made.reading.wrong;
    }
    ebb_modes_free(made.modes);
    ebb_arena_free(scratch);
    return status;
}

static size_t add_variant(variant *list, size_t n, const ebb_job *job, const char *sentence)
{
    list[n].job = *job;
    list[n].sentence = sentence;
    return n + 1;
}

/* Limits worth freeing one at a time: those that the plan nearly used up, depth, and the units. */
static ebb_status list_variants(ebb_arena *arena, const ebb_answer *answer, const ebb_treatment *t,
                                variant *list, size_t *n)
{
    const ebb_job *job = answer->job;
    const ebb_layout *layout = &t->after.layout;
    size_t count = 0;
    if (layout->cover > BINDING * job->allowance.cover) {
        count = add_variant(list, count, job, "the share of walls and ceiling allowed stops it");
        list[count - 1].job.allowance.cover = INFINITY;
    }
    double floor_load = layout->mass * 9.81 / ebb_surface_area(&answer->room->surfaces[0]);
    if (layout->mass > BINDING * job->allowance.mass ||
        floor_load > BINDING * job->allowance.floor) {
        count = add_variant(list, count, job, "the weight allowed stops it");
        list[count - 1].job.allowance.mass = INFINITY;
        list[count - 1].job.allowance.floor = INFINITY;
    }
    if (layout->cost > BINDING * job->allowance.cost) {
        count = add_variant(list, count, job, "the money allowed stops it");
        list[count - 1].job.allowance.cost = INFINITY;
    }
    if ((double)layout->n_placed > BINDING * job->allowance.count) {
        count = add_variant(list, count, job, "the number of units allowed stops it");
        list[count - 1].job.allowance.count = INFINITY;
    }
    ebb_unit *thin = copy_units(arena, job), *ideal = copy_units(arena, job);
    if (!thin || !ideal)
        return EBB_E_NOMEM;
    count = add_variant(list, count, job,
                        "the depth of the units stops it: they take too much of "
                        "the room");
    list[count - 1].job.absorbers = thin;
    depthless(thin, job->n_units);
    count = add_variant(list, count, job,
                        "the units on the list stop it: better ones of the same "
                        "size and weight would do");
    list[count - 1].job.absorbers = ideal;
    idealise(ideal, job->n_units);
    *n = count;
    return EBB_OK;
}

static ebb_status free_limits(ebb_ctx *ctx, ebb_answer *answer, ebb_search *search,
                              const ebb_effort *effort, ebb_treatment *t)
{
    variant list[8];
    size_t n = 0;
    ebb_status status = list_variants(answer->arena, answer, t, list, &n);
    for (size_t i = 0; i < n && status == EBB_OK; i++) {
        bool right;
        double wrong;
        status = try_job(ctx, answer, search, &list[i].job, effort, &right, &wrong);
        if (status == EBB_OK && right) {
            t->stopper = list[i].sentence;
            return EBB_OK;
        }
    }
    t->stopper = "no single limit stops it: units, cover, depth and weight together do";
    return status;
}

/* ---- one use
 * ---------------------------------------------------------------------------------------- */

static ebb_status empty_layout(ebb_ctx *ctx, const ebb_answer *answer, const ebb_stations *st,
                               const size_t option[2], ebb_layout *layout)
{
    const ebb_room *room = answer->room;
    *layout = (ebb_layout){.n_placed = room->n_placed, .placed = room->placed};
    layout->seats = EBB_NEW(answer->arena, ebb_vec3, room->n_seats);
    layout->speakers = EBB_NEW(answer->arena, ebb_vec3, room->n_speakers);
    if (!layout->seats || !layout->speakers)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    memcpy(layout->seats, st->seat_at + option[1] * room->n_seats,
           room->n_seats * sizeof *layout->seats);
    memcpy(layout->speakers, st->speaker_at + (st->tied ? 0 : option[0]) * room->n_speakers,
           room->n_speakers * sizeof *layout->speakers);
    ebb_layout_count(answer->job, room, layout);
    return EBB_OK;
}

/* As it stands, with the best seats. */
static ebb_status before(ebb_ctx *ctx, ebb_answer *answer, ebb_search *search, ebb_treatment *t)
{
    size_t option[2] = {0, 0};
    ebb_layout layout;
    const ebb_stations *st = ebb_search_stations(search);
    ebb_status status = ebb_search_untreated(ctx, search, option);
    if (status == EBB_OK)
        status = empty_layout(ctx, answer, st, option, &layout);
    if (status == EBB_OK)
        status = ebb_case_make(ctx, answer->arena, answer->job, answer->room, &answer->limits, st,
                               option, &layout, &t->before, NULL);
    return status;
}

/* Is a configuration the better one? Right before wrong, then by margin. */
static bool is_better(const ebb_reading *a, const ebb_reading *b)
{
    return a->right != b->right ? a->right : a->margin > b->margin;
}

/* A finalist solved truly, with an arena and a context of its own: finalists are solved side by
 * side. */
typedef struct contest {
    ebb_arena *arena;
    ebb_ctx *ctx;
    ebb_case made;
    ebb_solved solved;
    ebb_status status;
} contest;

static void contest_run(const ebb_answer *answer, ebb_search *search, const ebb_finalist *finalist,
                        contest *c)
{
    c->status = c->arena && c->ctx ? EBB_OK : EBB_E_NOMEM;
    if (c->status == EBB_OK)
        c->status = ebb_case_make(c->ctx, c->arena, answer->job, answer->room, &answer->limits,
                                  ebb_search_stations(search), finalist->option, &finalist->layout,
                                  &c->made, &c->solved);
}

/* What a finalist's context has to say goes to the caller's. */
static ebb_status pass_on(ebb_ctx *ctx, const contest *c)
{
    for (size_t i = 0; i < ebb_ctx_messages(c->ctx); i++) {
        const ebb_message *message = ebb_ctx_message(c->ctx, i);
        if (message->status == EBB_OK)
            ebb_warn_at(ctx, &message->place, "%s", message->text);
        else
            (void)ebb_fail(ctx, message->status, "%s", message->text);
    }
    if (c->status != EBB_OK && ebb_ctx_messages(c->ctx) == 0)
        return ebb_fail(ctx, c->status, "out of memory");
    return c->status;
}

static void contest_close(contest *c)
{
    ebb_modes_free(c->made.modes);
    ebb_solved_close(&c->solved);
    ebb_arena_free(c->arena);
}

/* Solves the finalists of a search truly and keeps the better one; its arena joins the answer's. */
static ebb_status choose(ebb_ctx *ctx, ebb_answer *answer, ebb_search *search, size_t n,
                         const ebb_finalist *finalist, ebb_case *kept, ebb_solved *solved)
{
    contest c[EBB_FINALISTS] = {0};
    size_t best = 0;
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < n; i++)
        c[i] = (contest){.arena = ebb_arena_new(ctx), .ctx = ebb_ctx_new()};
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < n; i++)
        contest_run(answer, search, &finalist[i], &c[i]);
    for (size_t i = 0; i < n && status == EBB_OK; i++) {
        if (c[i].status != EBB_OK)
            status = pass_on(ctx, &c[i]);
        else if (is_better(&c[i].made.reading, &c[best].made.reading))
            best = i;
    }
    if (status == EBB_OK) {
        status = pass_on(ctx, &c[best]);
        *kept = c[best].made;
        *solved = c[best].solved;
        ebb_arena_join(answer->arena, c[best].arena);
        c[best].made.modes = NULL;
        c[best].solved = (ebb_solved){0};
        c[best].arena = NULL;
    }
    for (size_t i = 0; i < n; i++) {
        contest_close(&c[i]);
        ebb_ctx_free(c[i].ctx);
    }
    return status;
}

static ebb_status after(ebb_ctx *ctx, ebb_answer *answer, ebb_search *search,
                        const ebb_effort *effort, ebb_treatment *t)
{
    ebb_finalist finalist[EBB_FINALISTS];
    size_t n = 0;
    double spread[2] = {0, 0};
    ebb_solved solved = {0};
    ebb_status status = ebb_search_run(ctx, search, effort, answer->arena, finalist, &n, spread);
    ebb_progress(ctx, "drawing what is not known", 0.7);
    if (status == EBB_OK)
        status = choose(ctx, answer, search, n, finalist, &t->after, &solved);
    t->best_start = spread[0];
    t->worst_start = spread[1];
    if (status == EBB_OK)
        status = ebb_draw_odds(ctx, answer->job, answer->room, &answer->limits, &t->after, &solved,
                               effort, &t->odds);
    ebb_solved_close(&solved);
    return status;
}

/* Ideal absorbers first: when they fail too, no limit is to blame; else limits are freed in turn.
 */
static ebb_status find_stopper(ebb_ctx *ctx, ebb_answer *answer, ebb_search *search,
                               const ebb_effort *effort, ebb_treatment *t)
{
    ebb_job job;
    ebb_progress(ctx, "trying ideal absorbers", 0.85);
    ebb_status status = relaxed_job(answer->arena, answer->job, &job);
    if (status != EBB_OK)
        return ebb_fail(ctx, status, "out of memory");
    t->relaxed_run = true;
    status = try_job(ctx, answer, search, &job, effort, &t->relaxed_right, &t->relaxed_wrong);
    if (status == EBB_OK && t->relaxed_right) {
        ebb_progress(ctx, "freeing one limit at a time", 0.9);
        return free_limits(ctx, answer, search, effort, t);
    }
    t->stopper = "no wall treatment we could find reaches it, not even ideal absorbers without "
                 "depth or weight anywhere";
    return status;
}

ebb_status ebb_answer_bare(ebb_ctx *ctx, ebb_answer *answer, ebb_use use, ebb_treatment *t)
{
    *t = (ebb_treatment){.asked = true, .use = use, .stopper = ""};
    ebb_search *search = NULL;
    ebb_status status =
        ebb_search_new(ctx, answer->job, answer->room, &answer->limits, use, &search);
    if (status == EBB_OK)
        status = before(ctx, answer, search, t);
    ebb_search_free(search);
    return status;
}

ebb_status ebb_answer_treat(ebb_ctx *ctx, ebb_answer *answer, ebb_use use, const ebb_effort *effort,
                            ebb_treatment *t)
{
    *t = (ebb_treatment){.asked = true, .use = use, .stopper = ""};
    ebb_search *search = NULL;
    ebb_progress(ctx, "projecting the room", 0);
    ebb_status status =
        ebb_search_new(ctx, answer->job, answer->room, &answer->limits, use, &search);
    ebb_progress(ctx, "judging it as it stands", 0.15);
    if (status == EBB_OK)
        status = before(ctx, answer, search, t);
    ebb_progress(ctx, "searching for the best plan", 0.25);
    if (status == EBB_OK)
        status = after(ctx, answer, search, effort, t);
    bool stopped = t->odds.share < 0.5 && effort->relaxed && answer->job->n_units > 0;
    if (status == EBB_OK && stopped)
        status = find_stopper(ctx, answer, search, effort, t);
    ebb_search_free(search);
    if (status != EBB_OK)
        return status;
    const ebb_reading *was = &t->before.reading, *is = &t->after.reading;
    t->mended = ebb_mended(was->wrong, is->wrong);
    t->mended_level = ebb_mended(was->wrong_level, is->wrong_level);
    t->mended_decay = ebb_mended(was->wrong_decay, is->wrong_decay);
    return EBB_OK;
}

static ebb_status judge_uses(ebb_ctx *ctx, ebb_answer *answer, const ebb_effort *effort)
{
    ebb_status status = EBB_OK;
    bool want_music = answer->job->use == EBB_USE_MUSIC;
    if (want_music)
        status = ebb_answer_treat(ctx, answer, EBB_USE_MUSIC, effort, &answer->music);
    bool music = want_music && status == EBB_OK && answer->music.odds.share >= 0.5;
    if (status == EBB_OK && !music)
        status = ebb_answer_treat(ctx, answer, EBB_USE_VOICE, effort, &answer->voice);
    if (status != EBB_OK)
        return status;
    answer->verdict = ebb_verdict_of(want_music ? &answer->music.odds : NULL,
                                     music ? NULL : &answer->voice.odds, &answer->sure);
    answer->near_border = answer->sure < 0.8;
    answer->shown = answer->verdict == EBB_MUSIC ? &answer->music : &answer->voice;
    answer->decider = answer->shown->odds.decider;
    answer->margin = answer->shown->odds.margin_median;
    return EBB_OK;
}

ebb_status ebb_answer_room(ebb_ctx *ctx, const ebb_job *job, size_t room, const ebb_effort *effort,
                           ebb_answer **answer)
{
    *answer = NULL;
    if (room >= job->n_rooms)
        return ebb_fail(ctx, EBB_E_RANGE, "the job has no room %zu", room);
    if (effort->starts < 1 || effort->starts > 64 || effort->draws > 4096)
        return ebb_fail(ctx, EBB_E_RANGE, "starts must be 1 to 64, draws 0 to 4096");
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_answer *made = EBB_NEW(arena, ebb_answer, 1);
    if (!made) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    *made = (ebb_answer){.arena = arena, .job = job, .room = &job->rooms[room]};
    ebb_limits_of(job, &made->limits);
    ebb_status status = judge_uses(ctx, made, effort);
    if (status == EBB_OK)
        status = ebb_answer_words(ctx, made);
    ebb_progress(ctx, "done", 1);
    if (status == EBB_OK)
        *answer = made;
    else
        ebb_answer_free(made);
    return status;
}

void ebb_answer_free(ebb_answer *answer)
{
    if (!answer)
        return;
    ebb_treatment *both[2] = {&answer->music, &answer->voice};
    for (int i = 0; i < 2; i++) {
        ebb_modes_free(both[i]->before.modes);
        ebb_modes_free(both[i]->after.modes);
    }
    ebb_arena_free(answer->arena);
}
