/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The kept plan under draws of what is not known: in how many it is right, and what spoils the
 * others.
 */
#include "vary.h"

#include <stdlib.h>

typedef enum reason { R_NONE, R_RESPONSE, R_DIP, R_DECAY, R_MID, R_SPEECH, R_COUNT } reason;

static const char *const reason_name[R_COUNT] = {"nothing", "response", "one dip",
                                                 "decay",   "mid band", "speech index"};

/* The number that stands most in the way, for a draw that is not right. */
static reason what_fails(const ebb_limits *l, const ebb_drawn *drawn)
{
    if (drawn->right)
        return R_NONE;
    if (!drawn->mid_right)
        return drawn->speech_index < l->speech_index ? R_SPEECH : R_MID;
    double in = drawn->inside / l->response_inside - 1;
    double dip = 1 - drawn->worst_level / l->response_worst;
    double decay = 1 - drawn->worst_decay / l->decay_factor;
    if (decay < in && decay < dip)
        return R_DECAY;
    return in < dip ? R_RESPONSE : R_DIP;
}

typedef struct outcome {
    double margin;
    reason fails;
    ebb_status status;
} outcome;

static outcome one_draw(const ebb_drawing *d, const double *x)
{
    ebb_drawn drawn;
    outcome out = {0, R_NONE, ebb_draw_one(d, x, &drawn)};
    if (out.status == EBB_OK) {
        out.margin = drawn.margin;
        out.fails = what_fails(d->limits, &drawn);
    }
    return out;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static ebb_status collect(ebb_ctx *ctx, ebb_arena *scratch, size_t n, const outcome *outcomes,
                          ebb_odds *odds)
{
    size_t count[R_COUNT] = {0}, worst = R_RESPONSE;
    double *margin = EBB_NEW(scratch, double, n);
    if (!margin)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        if (outcomes[i].status != EBB_OK)
            return ebb_fail(ctx, outcomes[i].status, "a draw could not be solved: %s",
                            ebb_status_text(outcomes[i].status));
        count[outcomes[i].fails]++;
        margin[i] = outcomes[i].margin;
    }
    qsort(margin, n, sizeof *margin, by_value);
    for (size_t r = R_RESPONSE; r < R_COUNT; r++)
        if (count[r] > count[worst])
            worst = r;
    *odds =
        (ebb_odds){n, (double)count[R_NONE] / (double)n, (margin[(n - 1) / 2] + margin[n / 2]) / 2,
                   reason_name[count[R_NONE] == n ? R_NONE : worst]};
    return EBB_OK;
}

/* Without draws the nominal plan decides alone. */
static void nominal(const ebb_drawing *d, ebb_odds *odds)
{
    ebb_drawn drawn;
    ebb_draw_nominal(d, &drawn);
    const reason fails = what_fails(d->limits, &drawn);
    *odds = (ebb_odds){0, fails == R_NONE ? 1 : 0, drawn.margin, reason_name[fails]};
}

ebb_status ebb_draw_odds(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                         const ebb_limits *limits, const ebb_case *made, const ebb_solved *solved,
                         const ebb_effort *effort, ebb_odds *odds)
{
    ebb_drawing d = {.job = job, .room = room, .limits = limits, .made = made, .solved = solved};
    ebb_spreads_default(&d.spreads);
    nominal(&d, odds);
    if (effort->draws == 0)
        return EBB_OK;
    const size_t n_dims = ebb_draw_dims(&d);
    ebb_arena *scratch = ebb_arena_new(ctx);
    outcome *outcomes = EBB_NEW(scratch, outcome, effort->draws);
    double *deviate = EBB_NEW(scratch, double, n_dims * effort->draws);
    ebb_status status = outcomes && deviate ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_draws_normal(ctx, effort->draws, n_dims, effort->seed, deviate);
    if (status == EBB_OK) {
#pragma omp parallel for schedule(dynamic, 1)
        for (size_t i = 0; i < effort->draws; i++)
            outcomes[i] = one_draw(&d, deviate + i * n_dims);
        status = collect(ctx, scratch, effort->draws, outcomes, odds);
    }
    ebb_arena_free(scratch);
    return status;
}
