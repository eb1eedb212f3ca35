/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a box is worth: with a model of known answers, and with the real one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

#define TWO_PI 6.28318530717958647692

/* beta of which the coefficient is hz/100: from alpha = 4 b/(1 + b)^2. */
static double _Complex rising(const ebb_cabinet *cabinet, const ebb_air *air,
                              const ebb_variation *vary, double _Complex omega)
{
    (void)cabinet;
    (void)air;
    (void)vary;
    const double alpha = creal(omega) / TWO_PI / 100;
    const double root = sqrt(1 - alpha);
    return (1 - root) / (1 + root);
}

static ebb_craft_recipe some_box(const ebb_craft_space *space)
{
    unsigned random = 11;
    return random_box(space, 0, &random);
}

static void a_mean_is_over_its_band(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->mean);
    const ebb_craft_recipe r = some_box(&space);
    const ebb_craft_judge_task task = {.space = &space, .model = rising};
    ebb_craft_merit m;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &m));
    assert_near(m.absorption, 0.45, 1e-12); /* of 30 to 60 Hz */
    assert_near(m.shortfall, 0, 0);
}

static void a_curve_counts_its_worst_point(void **state)
{
    yard *y = *state;
    static const ebb_figure figures[3] = {{30, 0.25}, {40, 0.5}, {50, 0.45}};
    y->curve.n = 3;
    y->curve.curve = figures;
    const ebb_craft_space space = space_of(y, &y->curve);
    const ebb_craft_recipe r = some_box(&space);
    const ebb_craft_judge_task task = {.space = &space, .model = rising};
    ebb_craft_merit m;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &m));
    assert_near(m.margin, -0.10, 1e-12); /* 0.4 at 40 Hz */
    assert_near(m.shortfall, 0.10, 1e-12);
    assert_near(m.absorption, 0.40, 1e-12);
}

static void limits_of_mass_and_cost_count(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->mean);
    const ebb_craft_recipe r = some_box(&space);
    const ebb_craft_judge_task task = {.space = &space, .model = rising};
    ebb_craft_merit free_, held;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &free_));
    assert_near(free_.excess, 0, 0);
    y->mean.mass = free_.mass / 1.25;
    y->mean.cost = free_.cost / 1.5;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &held));
    assert_near(held.excess, 0.75, 1e-9);
    assert_near(ebb_craft_breach(&held, 0), 0.75, 1e-9);
    assert_near(ebb_craft_breach(&free_, 2 * free_.absorption), 0.5, 1e-9);
}

static void a_bias_shifts_what_the_model_says(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->mean);
    const ebb_craft_recipe r = some_box(&space);
    ebb_craft_bias bias = {.absorption = 0.02};
    for (size_t i = 0; i < space.n_hz; i++)
        bias.alpha[i] = 0.1;
    const ebb_craft_judge_task task = {.space = &space, .model = rising, .bias = &bias};
    ebb_craft_merit m;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &m));
    assert_near(m.absorption, 0.57, 1e-12);
}

/* What is corrected by the difference of two models is the better one at that box. */
static void a_bias_makes_models_agree(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 12;
    ebb_craft_judge_task quick = {.space = &space, .model = ebb_cabinet_beta}, full = quick;
    ebb_craft_bias bias;
    full.bends = true;
    for (int i = 0; i < 6; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        ebb_craft_merit a, b;
        assert_ok(y->ctx, ebb_craft_bias_of(&quick, &full, &r, &bias));
        ebb_craft_judge_task shifted = quick;
        shifted.bias = &bias;
        assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &shifted, &r, &a));
        assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &full, &r, &b));
        assert_near(a.absorption, b.absorption, 1e-12);
        assert_near(a.margin, b.margin, 1e-12);
    }
}

static void the_worst_of_slips_counts(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    const ebb_craft_recipe r = some_box(&space);
    ebb_craft_slip slip[8];
    assert_ok(y->ctx, ebb_craft_slips_make(y->ctx, &space, 8, 3, slip));
    ebb_craft_judge_task task = {.space = &space, .model = ebb_cabinet_beta};
    ebb_craft_merit planned, worst;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &planned));
    task.n_slips = 8;
    task.slip = slip;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &worst));
    double least = INFINITY;
    for (int i = 0; i < 8; i++) {
        ebb_craft_merit one;
        task.n_slips = 1;
        task.slip = &slip[i];
        assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &one));
        least = fmin(least, one.absorption);
    }
    assert_near(worst.absorption, least, 1e-12);
    assert_true(worst.absorption < planned.absorption);
}

static void slips_are_bounded_and_repeat(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    ebb_craft_slip slip[EBB_CRAFT_SLIPS], again[EBB_CRAFT_SLIPS];
    assert_ok(y->ctx, ebb_craft_slips_make(y->ctx, &space, EBB_CRAFT_SLIPS, 3, slip));
    assert_ok(y->ctx, ebb_craft_slips_make(y->ctx, &space, EBB_CRAFT_SLIPS, 3, again));
    bool guessed = false;
    for (int i = 0; i < EBB_CRAFT_SLIPS; i++) {
        assert_true(slip[i].front > 0.93 && slip[i].front < 1.07);
        assert_true(slip[i].mount > 0.66 && slip[i].mount < 1.5);
        assert_true(slip[i].leak >= 0 && slip[i].leak <= 0.3e-3);
        assert_near(slip[i].wool, again[i].wool, 0);
        /* a batch that was measured takes nobody's place */
        assert_true(slip[i].batch == NULL || !slip[i].batch->measured);
        guessed = guessed || slip[i].batch != NULL;
    }
    assert_true(guessed);
    assert_near(slip[0].front, 1, 0);
}

/* The public way: the same numbers as the search's own. */
static void judging_one_box_is_the_same(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    const ebb_craft_recipe r = some_box(&space);
    const ebb_craft_judge_task task = {.space = &space, .model = ebb_cabinet_beta, .bends = true};
    ebb_craft_merit a, b;
    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, &task, &r, &a));
    assert_ok(y->ctx, ebb_craft_judge(y->ctx, &y->curve, &y->library->air, &r, true, &b));
    assert_near(a.absorption, b.absorption, 0);
    assert_near(a.margin, b.margin, 0);
    assert_near(a.mass, b.mass, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        yard_test(a_mean_is_over_its_band),       yard_test(a_curve_counts_its_worst_point),
        yard_test(limits_of_mass_and_cost_count), yard_test(a_bias_shifts_what_the_model_says),
        yard_test(a_bias_makes_models_agree),     yard_test(the_worst_of_slips_counts),
        yard_test(slips_are_bounded_and_repeat),  yard_test(judging_one_box_is_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
