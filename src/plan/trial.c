/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Trials of a plan: each has an arena and a context of its own, so that they can be solved side by
 * side and leave nothing behind but a few numbers.
 */
#include "trial.h"

#include <math.h>
#include <string.h>

/* ---- slow modes ------------------------------------------------------------------------------ */

/* Where a mode of the rigid room has gone: of those that carry its label the one most like it.
 * Heavy treatment mixes modes until none of them is like it any more. */
static double decay_of(const ebb_modes *modes, const int label[3])
{
    double t60 = NAN, most = 0;
    for (size_t m = 0; m < modes->n; m++) {
        const ebb_mode *mode = &modes->mode[m];
        if (memcmp(mode->label, label, sizeof mode->label) == 0 && mode->likeness > most) {
            most = mode->likeness;
            t60 = mode->t60;
        }
    }
    return t60;
}

/* Keeps the list sorted by how far the modes are above their limits. */
static size_t insert(ebb_slow_mode *slow, size_t n, const ebb_slow_mode *one)
{
    size_t at = n;
    while (at > 0 && one->before / one->limit > slow[at - 1].before / slow[at - 1].limit)
        at--;
    if (at == EBB_MOST_SLOW)
        return n;
    n = n < EBB_MOST_SLOW ? n + 1 : n;
    memmove(slow + at + 1, slow + at, (n - at - 1) * sizeof *slow);
    slow[at] = *one;
    return n;
}

size_t ebb_slow_modes(const ebb_room *room, const ebb_limits *limits, const ebb_case *before,
                      const ebb_case *after, ebb_slow_mode slow[EBB_MOST_SLOW])
{
    const ebb_grid *grid = &before->grid;
    const double volume = ebb_layout_volume(room, &before->layout);
    const double half = pow(2, 1 / 6.0); /* from the middle of a third octave to its edge */
    size_t n = 0;
    for (size_t m = 0; m < before->modes->n && grid->n_bands > 0; m++) {
        const ebb_mode *mode = &before->modes->mode[m];
        if (mode->hz < grid->band_hz[0] / half ||
            mode->hz > grid->band_hz[grid->n_bands - 1] * half)
            continue;
        ebb_slow_mode one = {.hz = mode->hz,
                             .limit = ebb_decay_limit(limits, before->use, volume, mode->hz),
                             .before = mode->t60};
        memcpy(one.label, mode->label, sizeof one.label);
        one.after = decay_of(after->modes, one.label);
        n = insert(slow, n, &one);
    }
    return n;
}

/* ---- layouts --------------------------------------------------------------------------------- */

bool ebb_layout_remade(ebb_arena *arena, const ebb_bench *bench, const ebb_finalist *from,
                       size_t index, size_t kind, ebb_finalist *to)
{
    const size_t n = from->layout.n_placed;
    ebb_placed *placed = EBB_NEW(arena, ebb_placed, n);
    if (!placed)
        return false;
    memcpy(placed, from->layout.placed, n * sizeof *placed);
    placed[index].unit = kind;
    *to = *from;
    to->layout.placed = placed;
    ebb_layout_count(bench->job, bench->room, &to->layout);
    return true;
}

/* Mass, cover and the size left change with it: the room is a little larger without the unit. */
bool ebb_layout_without(ebb_arena *arena, const ebb_bench *bench, const ebb_finalist *from,
                        size_t index, ebb_finalist *to)
{
    if (!ebb_layout_remade(arena, bench, from, index, from->layout.placed[index].unit, to))
        return false;
    ebb_layout *layout = &to->layout;
    layout->n_placed--;
    memmove(layout->placed + index, layout->placed + index + 1,
            (layout->n_placed - index) * sizeof *layout->placed);
    ebb_layout_count(bench->job, bench->room, layout);
    return true;
}

/* Places are copied into a layout as they are, so equality to the bit is no accident. */
static size_t option_of(const ebb_vec3 *all, size_t n_options, size_t n, const ebb_vec3 *chosen)
{
    for (size_t o = 0; o < n_options; o++)
        if (memcmp(all + o * n, chosen, n * sizeof *chosen) == 0)
            return o;
    return n_options;
}

bool ebb_options_of(const ebb_bench *bench, const ebb_layout *layout, size_t option[2])
{
    const ebb_stations *st = bench->stations;
    const ebb_room *room = bench->room;
    option[1] = option_of(st->seat_at, st->receiver_options, room->n_seats, layout->seats);
    option[0] = st->tied ? option[1]
                         : option_of(st->speaker_at, st->source_options, room->n_speakers,
                                     layout->speakers);
    return option[0] < st->source_options && option[1] < st->receiver_options;
}

/* ---- solving --------------------------------------------------------------------------------- */

/* Nothing but the numbers outlives a trial: dozens of models would fill the memory. */
static ebb_status try_one(ebb_ctx *ctx, const ebb_bench *b, const ebb_finalist *f, bool drawn,
                          ebb_outcome *out)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_case made = {0};
    ebb_solved solved = {0};
    ebb_status status = arena ? ebb_case_make(ctx, arena, b->job, b->room, b->limits, b->stations,
                                              f->option, &f->layout, &made, &solved)
                              : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK && drawn)
        status =
            ebb_draw_odds(ctx, b->job, b->room, b->limits, &made, &solved, b->effort, &out->odds);
    if (status == EBB_OK) {
        const ebb_reading *r = &made.reading;
        out->right = r->right;
        out->wrong = r->wrong;
        out->wrong_level = r->wrong_level;
        out->wrong_decay = r->wrong_decay;
        out->margin = r->margin;
        out->worst_level = r->worst_level;
        out->worst_decay = r->worst_decay;
        for (size_t i = 0; i < b->n_slow; i++)
            out->slow[i] = decay_of(made.modes, b->slow[i].label);
    }
    ebb_modes_free(made.modes);
    ebb_solved_close(&solved);
    ebb_arena_free(arena);
    return status;
}

/* The first error of a trial's own context, said again in the caller's. */
static ebb_status pass_on(ebb_ctx *ctx, const ebb_ctx *own, ebb_status status)
{
    for (size_t i = 0; own && i < ebb_ctx_messages(own); i++) {
        const ebb_message *message = ebb_ctx_message(own, i);
        if (message->status != EBB_OK)
            return ebb_fail(ctx, message->status, "%s", message->text);
    }
    return ebb_fail(ctx, status, "a variant of the plan could not be solved: %s",
                    ebb_status_text(status));
}

ebb_status ebb_trials(const ebb_bench *bench, size_t n, const ebb_finalist *layout, bool drawn,
                      ebb_outcome *outcome)
{
    ebb_status first = EBB_OK;
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < n; i++) {
        outcome[i] = (ebb_outcome){0};
        ebb_ctx *ctx = ebb_ctx_new();
        const ebb_status status =
            ctx ? try_one(ctx, bench, &layout[i], drawn, &outcome[i]) : EBB_E_NOMEM;
        if (status != EBB_OK) {
#pragma omp critical
            first = first == EBB_OK ? pass_on(bench->ctx, ctx, status) : first;
        }
        ebb_ctx_free(ctx);
    }
    return first;
}
