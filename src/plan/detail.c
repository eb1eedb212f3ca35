/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One plan in all its detail: the answer for the use that was asked, then trials around it.
 */
#include "answer.h"
#include "trial.h"
#include "vary.h"

#include <string.h>

void ebb_detail_default(ebb_detail_effort *effort)
{
    *effort =
        (ebb_detail_effort){.gains = true, .alternatives = true, .curve = true, .doubt = true};
    ebb_effort_default(&effort->search);
}

const char *ebb_alternative_name(ebb_alternative_kind kind)
{
    static const char *const name[] = {"best", "cheapest", "lightest"};
    return kind <= EBB_PLAN_LIGHTEST ? name[kind] : "?";
}

/* ---- the plan for the use asked -------------------------------------------------------------- */

/* Sentences for a `no` are those of the last use tried, which for a plan is the only one. */
static ebb_status put_into_words(ebb_ctx *ctx, ebb_answer *answer)
{
    ebb_answer same = *answer;
    if (answer->verdict == EBB_NO) {
        same.voice = *answer->shown;
        same.music.asked = false;
        same.shown = &same.voice;
    }
    const ebb_status status = ebb_answer_words(ctx, &same);
    answer->n_reasons = same.n_reasons;
    answer->reasons = same.reasons;
    answer->n_stays = same.n_stays;
    answer->stays = same.stays;
    return status;
}

/* As ebb_answer_room, but for one use: who asks for a plan for music is not helped by one for
 * voice. */
static ebb_status answer_use(ebb_ctx *ctx, ebb_answer *answer, const ebb_effort *effort)
{
    const bool music = answer->job->use == EBB_USE_MUSIC;
    ebb_treatment *t = music ? &answer->music : &answer->voice;
    ebb_limits_of(answer->job, &answer->limits);
    const ebb_status status = ebb_answer_treat(ctx, answer, answer->job->use, effort, t);
    if (status != EBB_OK)
        return status;
    answer->shown = t;
    answer->verdict =
        ebb_verdict_of(music ? &t->odds : NULL, music ? NULL : &t->odds, &answer->sure);
    answer->near_border = answer->sure < 0.8;
    answer->decider = t->odds.decider;
    answer->margin = t->odds.margin_median;
    return put_into_words(ctx, answer);
}

/* ---- what goes with it ----------------------------------------------------------------------- */

/* The plan solved without each of its new units. */
static ebb_status weigh_units(const ebb_bench *bench, ebb_arena *scratch, const ebb_finalist *plan,
                              ebb_planned *p)
{
    const size_t first = bench->room->n_placed, n = plan->layout.n_placed - first;
    ebb_finalist *without = EBB_NEW(scratch, ebb_finalist, n);
    ebb_outcome *outcome = EBB_NEW(scratch, ebb_outcome, n);
    p->gain = EBB_NEW(p->arena, ebb_gain, n);
    bool ok = without && outcome && p->gain;
    for (size_t i = 0; ok && i < n; i++)
        ok = ebb_layout_without(scratch, bench, plan, first + i, &without[i]);
    if (!ok)
        return ebb_fail(bench->ctx, EBB_E_NOMEM, "out of memory");
    const ebb_status status = ebb_trials(bench, n, without, false, outcome);
    for (size_t i = 0; i < n && status == EBB_OK; i++) {
        const ebb_outcome *o = &outcome[i];
        p->gain[i] = (ebb_gain){.placed = first + i,
                                .right = o->right,
                                .wrong = o->wrong,
                                .wrong_level = o->wrong_level,
                                .wrong_decay = o->wrong_decay,
                                .margin = o->margin};
        memcpy(p->gain[i].slow, o->slow, sizeof o->slow);
    }
    p->n_gains = status == EBB_OK ? n : 0;
    return status;
}

/* The plan itself, then others that pass too. Where nothing passes there is nothing to save on. */
static ebb_status look_around(const ebb_bench *bench, const ebb_finalist *plan,
                              const ebb_detail_effort *effort, ebb_planned *p)
{
    const ebb_treatment *t = p->treatment;
    const ebb_reading *r = &t->after.reading;
    p->alternative[p->n_alternatives++] = (ebb_alternative){.kind = EBB_PLAN_BEST,
                                                            .passes = p->passes,
                                                            .layout = t->after.layout,
                                                            .wrong = r->wrong,
                                                            .worst_level = r->worst_level,
                                                            .worst_decay = r->worst_decay,
                                                            .margin = r->margin,
                                                            .odds = t->odds};
    if (!effort->alternatives || !p->passes || plan->layout.n_placed == bench->room->n_placed)
        return EBB_OK;
    ebb_progress(bench->ctx, "looking for cheaper and lighter plans", 0.96);
    return ebb_alternatives(bench, p->arena, p->curve, plan, p->alternative, &p->n_alternatives);
}

/* What more units would mend, and what no placing of them could. Without units there is neither. */
static ebb_status look_ahead(const ebb_bench *bench, ebb_planned *p)
{
    const ebb_treatment *t = p->treatment;
    if (bench->job->n_units == 0)
        return EBB_OK;
    ebb_progress(bench->ctx, "asking what every unit mends", 0.93);
    const ebb_status status = ebb_plan_curve(bench->ctx, p->answer, t, bench->effort, &p->curve);
    return status != EBB_OK
               ? status
               : ebb_decay_bound_new(bench->ctx, bench->job, bench->room, bench->limits, t->use,
                                     t->after.layout.size, &p->bound);
}

/* The plan solved once more, for its model was let go with the search. */
static ebb_status find_doubt(const ebb_bench *bench, ebb_arena *scratch, const ebb_finalist *plan,
                             ebb_planned *p)
{
    ebb_case made = {0};
    ebb_solved solved = {0};
    ebb_drawing drawing = {.job = bench->job,
                           .room = bench->room,
                           .limits = bench->limits,
                           .made = &made,
                           .solved = &solved};
    ebb_spreads_default(&drawing.spreads);
    ebb_progress(bench->ctx, "looking for what is worth measuring", 0.98);
    ebb_status status = ebb_case_make(bench->ctx, scratch, bench->job, bench->room, bench->limits,
                                      bench->stations, plan->option, &plan->layout, &made, &solved);
    if (status == EBB_OK)
        status = ebb_doubt_make(bench->ctx, p->arena, &drawing, bench->effort, &p->doubt);
    ebb_modes_free(made.modes);
    ebb_solved_close(&solved);
    return status;
}

static ebb_status detail(ebb_ctx *ctx, ebb_arena *scratch, const ebb_detail_effort *effort,
                         ebb_planned *p)
{
    const ebb_answer *answer = p->answer;
    const ebb_treatment *t = p->treatment;
    ebb_stations stations;
    ebb_status status = ebb_stations_make(ctx, scratch, answer->job, answer->room, &answer->limits,
                                          t->use, &stations);
    ebb_finalist plan = {.layout = t->after.layout};
    if (status != EBB_OK)
        return status;
    p->n_slow = ebb_slow_modes(answer->room, &answer->limits, &t->before, &t->after, p->slow);
    const ebb_bench bench = {ctx,       answer->job,     answer->room, &answer->limits,
                             &stations, &effort->search, p->n_slow,    p->slow};
    if (!ebb_options_of(&bench, &plan.layout, plan.option))
        return ebb_fail(ctx, EBB_E_NUMERIC, "the plan's stations are none of the room's");
    if (effort->gains) {
        ebb_progress(ctx, "trying the plan without each unit", 0.9);
        status = weigh_units(&bench, scratch, &plan, p);
    }
    if (status == EBB_OK && effort->curve)
        status = look_ahead(&bench, p);
    if (status == EBB_OK)
        status = look_around(&bench, &plan, effort, p);
    if (status == EBB_OK && effort->doubt)
        status = find_doubt(&bench, scratch, &plan, p);
    return status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static ebb_status check(ebb_ctx *ctx, const ebb_job *job, size_t room,
                        const ebb_detail_effort *effort)
{
    if (room >= job->n_rooms)
        return ebb_fail(ctx, EBB_E_RANGE, "the job has no room %zu", room);
    if (effort->search.starts < 1 || effort->search.starts > 64 || effort->search.draws > 4096)
        return ebb_fail(ctx, EBB_E_RANGE, "starts must be 1 to 64, draws 0 to 4096");
    const ebb_room *r = &job->rooms[room];
    if (r->n_seats == 0 || r->n_speakers == 0)
        return ebb_fail(ctx, EBB_E_RANGE, "room \"%s\" has no seats or no speakers", r->name);
    return EBB_OK;
}

/* An answer in an arena of its own, as ebb_answer_free wants it. */
static ebb_answer *new_answer(ebb_ctx *ctx, const ebb_job *job, size_t room)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_answer *answer = EBB_NEW(arena, ebb_answer, 1);
    if (answer)
        *answer = (ebb_answer){.arena = arena, .job = job, .room = &job->rooms[room]};
    else
        ebb_arena_free(arena);
    return answer;
}

static ebb_status make(ebb_ctx *ctx, const ebb_detail_effort *effort, ebb_planned *p)
{
    p->doubt.measure = "What is worth measuring was not looked for.";
    ebb_status status = answer_use(ctx, p->answer, &effort->search);
    if (status != EBB_OK)
        return status;
    p->treatment = p->answer->shown;
    p->passes = p->treatment->odds.share >= 0.5;
    ebb_arena *scratch = ebb_arena_new(ctx);
    status =
        scratch ? detail(ctx, scratch, effort, p) : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_arena_free(scratch);
    ebb_progress(ctx, "done", 1);
    return status;
}

ebb_status ebb_plan_room(ebb_ctx *ctx, const ebb_job *job, size_t room,
                         const ebb_detail_effort *effort, ebb_planned **planned)
{
    *planned = NULL;
    ebb_status status = check(ctx, job, room, effort);
    if (status != EBB_OK)
        return status;
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_planned *made = EBB_NEW(arena, ebb_planned, 1);
    if (!made) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    *made = (ebb_planned){.arena = arena, .answer = new_answer(ctx, job, room)};
    status = made->answer ? make(ctx, effort, made) : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        *planned = made;
    else
        ebb_planned_free(made);
    return status;
}

void ebb_planned_free(ebb_planned *planned)
{
    if (!planned)
        return;
    ebb_answer_free(planned->answer);
    ebb_curve_free(planned->curve);
    ebb_decay_bound_free(planned->bound);
    ebb_arena_free(planned->arena);
}
