/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The inequality of ceiling.h turned into decay times: for every mode the range of decay rates that
 * no placing of the allowance can give it.
 */
#include "ceiling.h"
#include "search.h"

#include <ebb/reach.h>

#include <math.h>

#define PI 3.14159265358979323846
#define LN_MILLION_HALF 6.907755 /* T60 times the decay rate: ln 1000 */
#define FASTEST 150.0            /* 1/s: T60 of 0.05 s, shorter than any that is asked for */
#define STEP 1.05                /* between decay rates that are looked at */
#define WIDTH (1.0 / 3)          /* octaves that a mode may move to either side */
#define FREQUENCIES 17           /* looked at within that */
#define OWN_SHARE 0.5            /* of its energy that a mode must keep of what it was */

/* Over all frequencies that the mode could have moved to. */
static ebb_can can_decay(ebb_ceiling *c, size_t mode, double delta)
{
    const ebb_mode *m = &c->modes->mode[mode];
    ebb_can worst = EBB_CAN_NOT;
    for (int i = 0; i < FREQUENCIES; i++) {
        double hz = m->hz * exp2(WIDTH * (2.0 * i / (FREQUENCIES - 1) - 1));
        ebb_can can = ebb_ceiling_allows(c, mode, 2 * PI * hz + I * delta, OWN_SHARE);
        if (can == EBB_CAN)
            return can;
        if (can == EBB_CAN_NOT_SAY)
            worst = can;
    }
    return worst;
}

/* Upwards from the mode's own rate: past the last that can be, up to the first that nothing is said
 * of. */
static void find_bound(ebb_ceiling *c, size_t mode, ebb_mode_reach *reach)
{
    double fastest = 0, last = c->modes->mode[mode].delta;
    bool shut = false;
    for (double delta = last * STEP; delta < FASTEST; delta *= STEP) {
        ebb_can can = can_decay(c, mode, delta);
        if (can == EBB_CAN_NOT_SAY)
            break;
        if (can == EBB_CAN)
            shut = false;
        else if (!shut) {
            shut = true;
            fastest = delta;
        }
        last = delta;
    }
    reach->bound = shut ? LN_MILLION_HALF / fastest : 0;
    reach->bound_own = LN_MILLION_HALF / last;
}

static ebb_status fill_modes(ebb_ctx *ctx, ebb_ceiling *c, const ebb_limits *limits, ebb_use use,
                             double lowest, ebb_decay_bound *bound)
{
    bound->mode = EBB_NEW(bound->arena, ebb_mode_reach, c->modes->n);
    if (!bound->mode)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    for (size_t i = 0; i < c->modes->n; i++) {
        const ebb_mode *m = &c->modes->mode[i];
        ebb_mode_reach *reach = &bound->mode[bound->n++];
        bool tested = m->hz >= lowest && m->hz <= limits->decay_highest;
        *reach = (ebb_mode_reach){
            .hz = m->hz,
            .t60 = m->t60,
            .label = {m->label[0], m->label[1], m->label[2]},
            .limit = tested ? ebb_decay_limit(limits, use, c->base->volume, m->hz) : NAN,
            .estimate = LN_MILLION_HALF / ebb_ceiling_estimate(c, i)};
        find_bound(c, i, reach);
    }
    return EBB_OK;
}

static ebb_status fill_words(ebb_ctx *ctx, const ebb_limits *limits, ebb_decay_bound *bound)
{
    double worst = limits->decay_factor;
    bound->stops = bound->n;
    for (size_t i = 0; i < bound->n; i++) {
        const ebb_mode_reach *m = &bound->mode[i];
        if (m->bound > worst * m->limit) {
            worst = m->bound / m->limit;
            bound->stops = i;
        }
    }
    if (bound->stops < bound->n) {
        const ebb_mode_reach *m = &bound->mode[bound->stops];
        bound->sentence = ebb_arena_format(bound->arena,
                                           "However they are placed, the units allowed can not "
                                           "make the room's mode at %.0f Hz die "
                                           "away in less than %.2f s; it should be %.2f s.",
                                           m->hz, m->bound, m->limit);
    } else {
        bound->sentence = "For no mode can it be shown that the units allowed are too few to make "
                          "it die away in time.";
    }
    return bound->sentence ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
}

static ebb_status make(ebb_ctx *ctx, ebb_arena *scratch, const ebb_search *search,
                       const double scale[3], ebb_decay_bound *bound)
{
    ebb_base base;
    ebb_ceiling ceiling = {0};
    const ebb_use use = search->stations.use;
    ebb_status status = ebb_search_base(ctx, scratch, search, scale, false, &base);
    if (status == EBB_OK)
        status = ebb_ceiling_make(ctx, scratch, &base, &ceiling);
    if (status == EBB_OK)
        status = fill_modes(ctx, &ceiling, search->limits, use, search->grid.lowest, bound);
    ebb_modes_free(ceiling.modes);
    return status == EBB_OK ? fill_words(ctx, search->limits, bound) : status;
}

ebb_status ebb_decay_bound_new(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                               const ebb_limits *limits, ebb_use use, const double size[3],
                               ebb_decay_bound **bound)
{
    *bound = NULL;
    double scale[3] = {1, 1, 1};
    for (int d = 0; size && d < 3; d++)
        scale[d] = size[d] / room->size[d];
    ebb_search *search = NULL;
    ebb_arena *arena = ebb_arena_new(ctx), *scratch = ebb_arena_new(ctx);
    ebb_decay_bound *made = EBB_NEW(arena, ebb_decay_bound, 1);
    ebb_status status = made && scratch ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    if (status == EBB_OK) {
        made->arena = arena;
        status = ebb_search_new(ctx, job, room, limits, use, &search);
    }
    if (status == EBB_OK)
        status = make(ctx, scratch, search, scale, made);
    ebb_search_free(search);
    ebb_arena_free(scratch);
    if (status == EBB_OK)
        *bound = made;
    else
        ebb_arena_free(arena);
    return status;
}

void ebb_decay_bound_free(ebb_decay_bound *bound)
{
    if (bound)
        ebb_arena_free(bound->arena);
}
