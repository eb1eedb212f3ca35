/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which measurement would take away most of the doubt.
 *
 * The draws are made again with one unknown after the other held at its nominal value, as if it had
 * been measured and found to be what the job says; the other deviates stay the same to the digit.
 * What the spread of the wrong cells loses by that is what the unknown explains. A regression on
 * the deviates would be cheaper, but with more deviates than draws it explains everything by
 * anything.
 */
#include "vary.h"

#include <math.h>
#include <string.h>

#define WORTH 0.15 /* share of the variance below which a measurement is not worth naming */
#define STILL 1e-6 /* spread of the wrong cells that is none */
#define EVERYTHING EBB_UNKNOWNS /* nothing held */

const char *ebb_unknown_name(ebb_unknown unknown)
{
    static const char *const name[EBB_UNKNOWNS] = {"walls", "size",   "air",
                                                   "units", "places", "middle band"};
    return unknown < EBB_UNKNOWNS ? name[unknown] : "?";
}

const char *ebb_unknown_measure(ebb_unknown unknown)
{
    static const char *const measure[EBB_UNKNOWNS] = {
        "the decay of the empty room below 150 Hz: it fixes what the walls take",
        "length, width and height on site, each at both ends and to 5 mm",
        "the temperature the room has in use",
        "one built unit of each kind before the others are built: its tuning and its damping",
        "the places of heads and speakers on site, and mark them so that they stay",
        "the reverberation of the empty room at 500 and 1000 Hz"};
    return unknown < EBB_UNKNOWNS ? measure[unknown] : "?";
}

/* All draws of all rounds: round g holds unknown g, the last holds nothing. */
typedef struct rounds {
    const ebb_drawing *drawing;
    size_t n, dims;
    const double *deviate; /* [draw * dims + dim] */
    ebb_drawn *drawn;      /* [round * n + draw] */
} rounds;

static ebb_status draw_held(const rounds *r, size_t held, size_t draw)
{
    ebb_arena *scratch = ebb_arena_new(NULL);
    double *x = EBB_NEW(scratch, double, r->dims);
    ebb_status status = x ? EBB_OK : EBB_E_NOMEM;
    if (status == EBB_OK) {
        for (size_t i = 0; i < r->dims; i++)
            x[i] = ebb_draw_unknown(r->drawing, i) == held ? 0 : r->deviate[draw * r->dims + i];
        status = ebb_draw_one(r->drawing, x, &r->drawn[held * r->n + draw]);
    }
    ebb_arena_free(scratch);
    return status;
}

static ebb_status draw_all(ebb_ctx *ctx, const rounds *r)
{
    const size_t n = r->n * (EBB_UNKNOWNS + 1);
    int failed = EBB_OK;
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < n; i++) {
        const ebb_status status = draw_held(r, i / r->n, i % r->n);
        if (status != EBB_OK) {
#pragma omp critical
            failed = (int)status;
        }
    }
    return failed == EBB_OK ? EBB_OK
                            : ebb_fail(ctx, (ebb_status)failed, "a draw could not be solved: %s",
                                       ebb_status_text((ebb_status)failed));
}

/* Share of right draws and spread of the wrong cells of one round. */
static void sum_up(const rounds *r, size_t held, double *share, double *spread)
{
    const ebb_drawn *drawn = r->drawn + held * r->n;
    double mean = 0, square = 0, right = 0;
    for (size_t i = 0; i < r->n; i++) {
        mean += drawn[i].wrong / (double)r->n;
        right += drawn[i].right;
    }
    for (size_t i = 0; i < r->n; i++)
        square += pow(drawn[i].wrong - mean, 2);
    *share = right / (double)r->n;
    *spread = sqrt(square / (double)r->n);
}

/* Does the middle band spoil more draws than level and decay do? They leave no trace in the wrong
 * cells. */
static bool mid_decides(const rounds *r)
{
    const ebb_drawn *drawn = r->drawn + EVERYTHING * r->n;
    size_t core = 0, mid = 0;
    for (size_t i = 0; i < r->n; i++) {
        core += !drawn[i].reading_right;
        mid += drawn[i].reading_right && !drawn[i].mid_right;
    }
    return mid > core;
}

static void choose(const rounds *r, ebb_doubt *doubt)
{
    for (int g = 0; g < EBB_UNKNOWNS; g++)
        if (doubt->part[g].explained > doubt->part[doubt->most].explained)
            doubt->most = (ebb_unknown)g;
    doubt->any = doubt->part[doubt->most].explained >= WORTH;
    if (mid_decides(r)) {
        doubt->most = EBB_UNKNOWN_MID;
        doubt->any = true;
    }
}

static const char *sentence(ebb_arena *arena, const ebb_doubt *doubt)
{
    const ebb_doubt_part *part = &doubt->part[doubt->most];
    const size_t was = (size_t)lround(doubt->share * (double)doubt->draws);
    const size_t is = (size_t)lround(part->share * (double)doubt->draws);
    if (!doubt->any)
        return ebb_arena_format(arena, "No single measurement would take much of the doubt away: "
                                       "what is unsure is spread over all of it.");
    if (doubt->most == EBB_UNKNOWN_MID)
        return ebb_arena_format(arena,
                                "Measure %s. In the draws that fail the middle band decides most "
                                "often; were it as assumed, %zu of %zu draws would be right "
                                "instead of %zu.",
                                ebb_unknown_measure(doubt->most), is, doubt->draws, was);
    return ebb_arena_format(arena,
                            "Measure %s. That is %.0f %% of what makes the share of wrong cells "
                            "unsure; were it as assumed, %zu of %zu draws would be right instead "
                            "of %zu.",
                            ebb_unknown_measure(doubt->most), 100 * fmin(part->explained, 1), is,
                            doubt->draws, was);
}

ebb_status ebb_doubt_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_drawing *drawing,
                          const ebb_effort *effort, ebb_doubt *doubt)
{
    *doubt = (ebb_doubt){.measure = "Without draws it is not known what is worth measuring."};
    if (effort->draws == 0)
        return EBB_OK;
    ebb_arena *scratch = ebb_arena_new(ctx);
    rounds r = {.drawing = drawing, .n = effort->draws, .dims = ebb_draw_dims(drawing)};
    double *deviate = EBB_NEW(scratch, double, r.dims *r.n);
    r.deviate = deviate;
    r.drawn = EBB_NEW(scratch, ebb_drawn, r.n * (EBB_UNKNOWNS + 1));
    ebb_status status = deviate && r.drawn ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_draws_normal(ctx, r.n, r.dims, effort->seed, deviate);
    if (status == EBB_OK)
        status = draw_all(ctx, &r);
    if (status == EBB_OK) {
        doubt->draws = r.n;
        sum_up(&r, EVERYTHING, &doubt->share, &doubt->spread);
        for (size_t g = 0; g < EBB_UNKNOWNS; g++) {
            ebb_doubt_part *part = &doubt->part[g];
            sum_up(&r, g, &part->share, &part->spread);
            part->explained = doubt->spread > STILL ? 1 - pow(part->spread / doubt->spread, 2) : 0;
        }
        choose(&r, doubt);
        doubt->measure = sentence(arena, doubt);
        if (!doubt->measure)
            status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    ebb_arena_free(scratch);
    return status;
}
