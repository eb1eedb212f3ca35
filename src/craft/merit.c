/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a recipe is worth. */
#include "private.h"

#include <ebb/bounds.h>

#define PLATE_ORDER 8
#define TWO_PI (2 * EBB_CRAFT_PI)

/* One box at all frequencies; beta[n]. */
static ebb_status admittances(ebb_ctx *ctx, ebb_arena *arena, const ebb_craft_judge_task *task,
                              const ebb_craft_recipe *recipe, const ebb_craft_slip *slip, size_t n,
                              const double *hz, double _Complex *beta, ebb_craft_box *box)
{
    ebb_air air = task->space->air;
    ebb_craft_box_make(recipe, task->bends, slip, box);
    if (task->bends) {
        const ebb_status status = ebb_cabinet_prepare(ctx, arena, PLATE_ORDER, &box->cabinet);
        if (status != EBB_OK)
            return status;
    }
    /* density and static pressure go together at one temperature; the speed of sound stays */
    air.pressure *= slip->pressure;
    air.density *= slip->pressure;
    for (size_t i = 0; i < n; i++)
        beta[i] = task->model(&box->cabinet, &air, NULL, TWO_PI * hz[i]);
    return EBB_OK;
}

/* Runs over the box as planned, or over all slips, the worst counting. */
typedef struct visitor {
    ebb_craft_merit *merit; /* one of the two is NULL */
    double *alpha;
} visitor;

static void take_merit(const ebb_craft_judge_task *task, const double _Complex *beta,
                       ebb_craft_merit *m)
{
    const ebb_craft_space *s = task->space;
    double margin = INFINITY, mean = 0;
    for (size_t i = 0; i < s->n_hz && s->target->goal != EBB_GOAL_MODE; i++) {
        const double alpha = ebb_alpha_normal(beta[i]) + (task->bias ? task->bias->alpha[i] : 0);
        mean += s->weight[i] * alpha;
        if (!isnan(s->need[i]))
            margin = fmin(margin, alpha - s->need[i]);
    }
    if (s->target->goal == EBB_GOAL_MODE)
        mean = ebb_craft_mode_fall(s, beta);
    m->margin = fmin(m->margin, margin);
    m->absorption = fmin(m->absorption, mean);
}

static ebb_status visit(ebb_ctx *ctx, const ebb_craft_judge_task *task,
                        const ebb_craft_recipe *recipe, size_t n, const double *hz, visitor v,
                        ebb_craft_box *box)
{
    double _Complex beta[EBB_CRAFT_MOST_HZ];
    const size_t n_slips = task->n_slips ? task->n_slips : 1;
    ebb_arena *arena = task->bends ? ebb_arena_new(NULL) : NULL;
    ebb_status status =
        task->bends && arena == NULL ? ebb_fail(ctx, EBB_E_NOMEM, "no memory for a box") : EBB_OK;
    for (size_t k = 0; k < n_slips && status == EBB_OK; k++) {
        const ebb_craft_slip *slip = task->n_slips ? &task->slip[k] : &EBB_CRAFT_NO_SLIP;
        status = admittances(ctx, arena, task, recipe, slip, n, hz, beta, box);
        if (status == EBB_OK && v.merit)
            take_merit(task, beta, v.merit);
        for (size_t i = 0; i < n && status == EBB_OK && v.alpha; i++)
            v.alpha[i] = fmin(v.alpha[i], ebb_alpha_normal(beta[i]));
    }
    ebb_arena_free(arena);
    return status;
}

static double over(double value, double limit)
{
    return isfinite(limit) && value > limit ? value / limit - 1 : 0;
}

static void take_limits(const ebb_craft_space *s, const ebb_craft_recipe *recipe,
                        ebb_craft_merit *m)
{
    const ebb_craft_slip *planned = &EBB_CRAFT_NO_SLIP;
    ebb_craft_box box;
    ebb_weights weights;
    ebb_craft_box_make(recipe, true, planned, &box); /* with the boards' own weights */
    ebb_cabinet_weights(&box.cabinet, &weights);
    m->mass = weights.total;
    m->depth = recipe->depth;
    m->cost = ebb_craft_cost(recipe, &m->priced);
    m->excess = over(m->mass, s->target->mass) + over(m->cost, s->target->cost);
}

ebb_status ebb_craft_merit_of(ebb_ctx *ctx, const ebb_craft_judge_task *task,
                              const ebb_craft_recipe *recipe, ebb_craft_merit *merit)
{
    ebb_craft_box box;
    *merit = (ebb_craft_merit){.margin = INFINITY, .absorption = INFINITY};
    take_limits(task->space, recipe, merit);
    const ebb_status status =
        visit(ctx, task, recipe, task->space->n_hz, task->space->hz, (visitor){merit, NULL}, &box);
    if (task->bias) {
        merit->margin += task->bias->margin;
        merit->absorption += task->bias->absorption;
    }
    merit->shortfall = fmax(0, -merit->margin);
    return status;
}

ebb_status ebb_craft_alpha(ebb_ctx *ctx, const ebb_craft_judge_task *task,
                           const ebb_craft_recipe *recipe, size_t n, const double *hz,
                           double *alpha)
{
    ebb_craft_box box;
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < n; i++)
        alpha[i] = INFINITY;
    for (size_t at = 0; at < n && status == EBB_OK; at += EBB_CRAFT_MOST_HZ) {
        const size_t count = n - at < EBB_CRAFT_MOST_HZ ? n - at : EBB_CRAFT_MOST_HZ;
        status = visit(ctx, task, recipe, count, hz + at, (visitor){NULL, alpha + at}, &box);
    }
    return status;
}

ebb_status ebb_craft_bias_of(const ebb_craft_judge_task *quick, const ebb_craft_judge_task *full,
                             const ebb_craft_recipe *recipe, ebb_craft_bias *bias)
{
    const ebb_craft_space *s = quick->space;
    ebb_craft_judge_task a = *quick, b = *full;
    ebb_craft_merit x, y;
    double better[EBB_CRAFT_MOST_HZ];
    a.bias = NULL;
    a.n_slips = b.n_slips = 0;
    memset(bias, 0, sizeof *bias);
    ebb_status status = ebb_craft_alpha(NULL, &a, recipe, s->n_hz, s->hz, bias->alpha);
    if (status == EBB_OK)
        status = ebb_craft_alpha(NULL, &b, recipe, s->n_hz, s->hz, better);
    for (size_t i = 0; i < s->n_hz && status == EBB_OK; i++)
        bias->alpha[i] = better[i] - bias->alpha[i];
    a = *quick;
    a.bias = bias;
    if (status == EBB_OK)
        status = ebb_craft_merit_of(NULL, &a, recipe, &x);
    if (status == EBB_OK)
        status = ebb_craft_merit_of(NULL, full, recipe, &y);
    if (status == EBB_OK && s->target->goal == EBB_GOAL_CURVE)
        bias->margin = y.margin - x.margin;
    if (status == EBB_OK)
        bias->absorption = y.absorption - x.absorption;
    return status;
}

ebb_status ebb_craft_judge(ebb_ctx *ctx, const ebb_target *target, const ebb_air *air,
                           const ebb_craft_recipe *recipe, bool bends, ebb_craft_merit *merit)
{
    ebb_craft_space space = {.target = target, .air = *air};
    ebb_craft_mode mode = {0};
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_status status = arena ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "no memory for a box");
    if (status == EBB_OK && target->goal == EBB_GOAL_MODE) {
        status = ebb_craft_mode_find(ctx, arena, target, &mode);
        space.mode = &mode;
    }
    if (status == EBB_OK) {
        ebb_craft_space_grid(&space);
        const ebb_craft_judge_task task = {&space, ebb_cabinet_beta, bends, 0, NULL, NULL};
        status = ebb_craft_merit_of(ctx, &task, recipe, merit);
    }
    ebb_arena_free(arena);
    return status;
}
