/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The kept plan under draws of what is not known. The sizes of the draws are our own assumptions;
 * docs/judging.md lists them.
 */
#include "stage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define SD_SIZE 0.01       /* relative, each edge */
#define SD_STIFFNESS 0.08  /* relative, per kind of unit: 4 % in resonance */
#define SD_RESISTANCE 0.15 /* relative, per kind of unit */
#define SD_WALLS 0.3507    /* of the natural logarithm: times or over 1.42 */
#define SD_POSITION 0.05   /* m, heads and speakers, each direction */
#define SD_TEMPERATURE 2.0 /* K */
#define SD_MID 0.10        /* relative, mid-band absorption area */
#define COMMON 6           /* draws that are not per unit kind or position */

typedef enum reason { R_NONE, R_RESPONSE, R_DIP, R_DECAY, R_MID, R_SPEECH, R_COUNT } reason;

static const char *const reason_name[R_COUNT] = {"nothing", "response", "one dip",
                                                 "decay",   "mid band", "speech index"};

/* What all draws share. */
typedef struct drawing {
    const ebb_job *job;
    const ebb_room *room;
    const ebb_limits *limits;
    const ebb_case *made;
    const ebb_solved *solved;
    size_t n_dims;
    const double *deviate; /* [draw * n_dims + dim] */
} drawing;

static size_t point_count(const drawing *d)
{
    return d->solved->state.n_sources + d->solved->state.n_receivers;
}

/* A relative change that cannot turn negative. */
static double factor(double sd, double deviate)
{
    return exp(sd * deviate);
}

static void vary_units(const drawing *d, const double *x, ebb_variation *vary)
{
    size_t kinds = d->job->n_units;
    vary[0] = (ebb_variation){1, 1, factor(SD_WALLS, x[3])};
    for (size_t u = 0; u < kinds; u++)
        vary[1 + u] = (ebb_variation){factor(SD_STIFFNESS, x[COMMON + u]),
                                      factor(SD_RESISTANCE, x[COMMON + kinds + u]), 1};
}

static void vary_points(const drawing *d, const double *x, ebb_vec3 *points)
{
    size_t n = point_count(d);
    const double *size = d->room->size;
    x += COMMON + 2 * d->job->n_units;
    for (size_t i = 0; i < n; i++) {
        ebb_vec3 at = d->solved->points[i];
        points[i].x = fmin(fmax(at.x + SD_POSITION * x[3 * i], 0.01), size[0] - 0.01);
        points[i].y = fmin(fmax(at.y + SD_POSITION * x[3 * i + 1], 0.01), size[1] - 0.01);
        points[i].z = fmin(fmax(at.z + SD_POSITION * x[3 * i + 2], 0.01), size[2] - 0.01);
        /* Where the walls are no box a step may lead out of the air: then none is taken. */
        if (d->room->shaped && !ebb_room_holds(d->room, points[i], 0.01))
            points[i] = at;
    }
}

/* The mid band with a little more or less absorption everywhere. */
static ebb_mid vary_mid(const drawing *d, double deviate)
{
    ebb_mid mid = d->made->mid;
    for (int o = 0; o < EBB_OCTAVES; o++)
        mid.t60[o] /= factor(SD_MID, deviate);
    mid.speech_index = ebb_speech_index(mid.t60, INFINITY);
    return mid;
}

/* The number that stands most in the way, for a draw that is not right. */
static reason what_fails(const drawing *d, const ebb_reading *reading, bool mid_right,
                         const ebb_mid *mid)
{
    const ebb_limits *l = d->limits;
    if (!mid_right)
        return mid->speech_index < l->speech_index ? R_SPEECH : R_MID;
    double in = reading->inside / l->response_inside - 1;
    double dip = 1 - reading->worst_level / l->response_worst;
    double decay = 1 - reading->worst_decay / l->decay_factor;
    if (decay < in && decay < dip)
        return R_DECAY;
    return in < dip ? R_RESPONSE : R_DIP;
}

typedef struct outcome {
    double margin;
    reason fails;
    ebb_status status;
} outcome;

static ebb_status read_draw(const drawing *d, ebb_arena *arena, const ebb_state *state,
                            ebb_reading *reading)
{
    const ebb_case *made = d->made;
    double volume = ebb_layout_volume(d->room, &made->layout);
    const size_t shape[2] = {made->n_sources, made->n_receivers};
    double _Complex *h;
    ebb_modes *modes = NULL;
    ebb_status status = ebb_solved_read(NULL, arena, d->solved->small, d->solved, state,
                                        &made->grid, made->modes, shape, &h, &modes);
    if (status == EBB_OK)
        status = ebb_reading_make(NULL, arena, &made->grid, d->limits, made->use, volume, shape[0],
                                  shape[1], h, modes, reading);
    ebb_modes_free(modes);
    return status;
}

static outcome one_draw(const drawing *d, size_t draw)
{
    const double *x = d->deviate + draw * d->n_dims;
    outcome out = {0, R_NONE, EBB_E_NOMEM};
    ebb_arena *arena = ebb_arena_new(NULL);
    ebb_variation *vary = EBB_NEW(arena, ebb_variation, 1 + d->job->n_units);
    ebb_vec3 *points = EBB_NEW(arena, ebb_vec3, point_count(d));
    if (vary && points) {
        vary_units(d, x, vary);
        vary_points(d, x, points);
        ebb_state state = d->solved->state;
        for (int axis = 0; axis < 3; axis++)
            state.scale[axis] *= factor(SD_SIZE, x[axis]);
        double kelvin = d->job->air.temperature + 273.15;
        state.air.speed *= sqrt((kelvin + SD_TEMPERATURE * x[4]) / kelvin);
        state.n_vary = 1 + d->job->n_units;
        state.vary = vary;
        state.sources = points;
        state.receivers = points + state.n_sources;
        ebb_reading reading;
        out.status = read_draw(d, arena, &state, &reading);
        if (out.status == EBB_OK) {
            ebb_mid mid = vary_mid(d, x[5]);
            double volume = ebb_layout_volume(d->room, &d->made->layout);
            bool mid_right = ebb_mid_is_right(d->limits, d->made->use, volume, &mid);
            out.margin = reading.margin;
            if (!reading.right || !mid_right)
                out.fails = what_fails(d, &reading, mid_right, &mid);
        }
    }
    ebb_arena_free(arena);
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
static void nominal(const drawing *d, ebb_odds *odds)
{
    const ebb_case *made = d->made;
    double volume = ebb_layout_volume(d->room, &made->layout);
    bool mid_right = ebb_mid_is_right(d->limits, made->use, volume, &made->mid);
    reason fails = made->reading.right && mid_right
                       ? R_NONE
                       : what_fails(d, &made->reading, mid_right, &made->mid);
    *odds = (ebb_odds){0, fails == R_NONE ? 1 : 0, made->reading.margin, reason_name[fails]};
}

ebb_status ebb_draw_odds(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                         const ebb_limits *limits, const ebb_case *made, const ebb_solved *solved,
                         const ebb_effort *effort, ebb_odds *odds)
{
    drawing d = {job, room, limits, made, solved, 0, NULL};
    nominal(&d, odds);
    if (effort->draws == 0)
        return EBB_OK;
    d.n_dims = COMMON + 2 * job->n_units + 3 * point_count(&d);
    ebb_arena *scratch = ebb_arena_new(ctx);
    outcome *outcomes = EBB_NEW(scratch, outcome, effort->draws);
    double *deviate = EBB_NEW(scratch, double, d.n_dims * effort->draws);
    ebb_status status = outcomes && deviate ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK)
        status = ebb_draws_normal(ctx, effort->draws, d.n_dims, effort->seed, deviate);
    if (status == EBB_OK) {
        d.deviate = deviate;
#pragma omp parallel for schedule(dynamic, 1)
        for (size_t i = 0; i < effort->draws; i++)
            outcomes[i] = one_draw(&d, i);
        status = collect(ctx, scratch, effort->draws, outcomes, odds);
    }
    ebb_arena_free(scratch);
    return status;
}
