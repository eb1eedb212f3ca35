/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole answers: they repeat, they keep the limits, they say when nothing passes. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

#ifdef _OPENMP
#include <omp.h>
#endif

static ebb_craft *answer(yard *y, const ebb_target *target)
{
    ebb_craft *craft;
    assert_ok(y->ctx, ebb_craft_new(y->ctx, target, &y->library->air, &y->effort, &craft));
    return craft;
}

static void same_answer(const ebb_craft *a, const ebb_craft *b)
{
    assert_int_equal(a->evaluated, b->evaluated);
    assert_int_equal(a->n_picks, b->n_picks);
    assert_int_equal(a->n_front, b->n_front);
    for (size_t i = 0; i < a->n_picks; i++) {
        assert_memory_equal(&a->pick[i].recipe, &b->pick[i].recipe, sizeof a->pick[i].recipe);
        assert_true(a->pick[i].merit.absorption == b->pick[i].merit.absorption);
        assert_true(a->pick[i].worst.absorption == b->pick[i].worst.absorption);
    }
    for (size_t i = 0; i < a->n_front; i++)
        assert_true(a->front_merit[i].mass == b->front_merit[i].mass);
}

static void threads_change_nothing(void **state)
{
    yard *y = *state;
#ifdef _OPENMP
    omp_set_num_threads(1);
#endif
    ebb_craft *one = answer(y, &y->mean);
#ifdef _OPENMP
    omp_set_num_threads(3);
#endif
    ebb_craft *three = answer(y, &y->mean);
    same_answer(one, three);
    y->effort.seed++;
    ebb_craft *other = answer(y, &y->mean);
    assert_int_not_equal(one->evaluated, other->evaluated);
    ebb_craft_free(one);
    ebb_craft_free(three);
    ebb_craft_free(other);
}

/* Every pick is judged again from its recipe alone: no number of an answer is left from elsewhere.
 */
static void check_pick(yard *y, const ebb_craft *craft, const ebb_craft_pick *p)
{
    ebb_craft_merit m;
    assert_ok(y->ctx, ebb_craft_judge(y->ctx, craft->target, &craft->air, &p->recipe, true, &m));
    assert_near(m.absorption, p->merit.absorption, 1e-12);
    assert_near(m.mass, p->merit.mass, 1e-12);
    assert_near(m.mass, p->unit.mass, 1e-9);
    for (size_t i = 0; i < p->n; i++) {
        assert_near(ebb_assembly_alpha(&p->unit.assembly, &craft->air, p->hz[i]), p->alpha[i],
                    1e-12);
        assert_true(p->alpha_worst[i] <= p->alpha[i] + 1e-12);
    }
    assert_true(p->worst.absorption <= p->merit.absorption + 1e-12);
}

static void picks_pass_and_are_what_they_are_called(void **state)
{
    yard *y = *state;
    y->effort.generations = 50;
    ebb_craft *craft = answer(y, &y->curve);
    assert_true(craft->passes);
    assert_int_equal(craft->n_picks, 4);
    assert_true(craft->evaluated > 20000);
    const ebb_craft_pick *best = &craft->pick[0];
    for (size_t i = 0; i < craft->n_picks; i++) {
        const ebb_craft_pick *p = &craft->pick[i];
        assert_int_equal(p->aim, i);
        assert_true(p->passes);
        check_pick(y, craft, p);
        for (size_t k = 0; k < craft->target->n; k++)
            for (size_t h = 0; h < p->n; h++)
                if (p->hz[h] == craft->target->curve[k].hz)
                    assert_true(p->alpha[h] >= craft->target->curve[k].value - 1e-9);
        assert_true(p->merit.absorption <= best->merit.absorption + 1e-9);
        assert_true(p->merit.mass >= craft->pick[EBB_CRAFT_LIGHT].merit.mass - 1e-9);
        assert_true(p->merit.depth >= craft->pick[EBB_CRAFT_SHALLOW].merit.depth - 1e-9);
        assert_true(p->merit.cost >= craft->pick[EBB_CRAFT_CHEAP].merit.cost - 1e-9);
        assert_true(p->merit.depth <= 0.45 + 1e-9 && p->merit.depth >= 0.15 - 1e-9);
    }
    assert_true(craft->n_front >= 4);
    for (size_t i = 0; i < craft->n_front; i++)
        for (size_t k = 0; k < craft->n_front; k++)
            assert_false(ebb_craft_dominates(&craft->front_merit[i], &craft->front_merit[k]));
    ebb_craft_free(craft);
}

static void limits_of_mass_and_cost_are_kept(void **state)
{
    yard *y = *state;
    ebb_craft *open = answer(y, &y->mean);
    ebb_target held = y->mean;
    held.mass = open->pick[0].merit.mass - 1;
    ebb_craft *light = answer(y, &held);
    assert_true(light->passes);
    for (size_t i = 0; i < light->n_picks; i++)
        assert_true(light->pick[i].merit.mass <= held.mass + 1e-9);
    for (size_t i = 0; i < light->n_front; i++)
        assert_true(light->front_merit[i].mass <= held.mass + 1e-9);
    assert_true(light->pick[0].merit.absorption <= open->pick[0].merit.absorption + 1e-3);
    ebb_craft_free(open);
    ebb_craft_free(light);
}

static void nothing_passes_and_depth_is_to_blame(void **state)
{
    yard *y = *state;
    y->curve.depth[0] = 0.12;
    y->curve.depth[1] = 0.20;
    y->curve.grains = 0;
    y->curve.cells = 1;
    y->curve.fronts[1] = 1;
    ebb_craft *craft = answer(y, &y->curve);
    assert_false(craft->passes);
    assert_int_equal(craft->n_picks, 1);
    const ebb_craft_pick *p = &craft->pick[0];
    assert_int_equal(p->aim, EBB_CRAFT_NEAREST);
    assert_false(p->passes);
    assert_true(p->merit.shortfall > 0.02);
    check_pick(y, craft, p);
    bool grains = false, mass = false;
    double with_depth = NAN;
    for (size_t i = 0; i < craft->n_stops; i++) {
        grains = grains || strcmp(craft->stop[i].limit, "grains") == 0;
        mass = mass || strcmp(craft->stop[i].limit, "mass") == 0;
        if (strncmp(craft->stop[i].limit, "depth", 5) == 0)
            with_depth = craft->stop[i].shortfall;
    }
    assert_true(grains); /* it is a limit */
    assert_false(mass);  /* it is none */
    assert_true(with_depth < p->merit.shortfall - 0.02);
    ebb_craft_free(craft);
}

static void a_mass_that_cannot_be_is_to_blame(void **state)
{
    yard *y = *state;
    y->mean.mass = 10; /* the cabinet alone is heavier */
    ebb_craft *craft = answer(y, &y->mean);
    assert_false(craft->passes);
    assert_true(craft->pick[0].merit.excess > 0);
    bool freed = false;
    for (size_t i = 0; i < craft->n_stops; i++)
        freed = freed || (strcmp(craft->stop[i].limit, "mass") == 0 && craft->stop[i].passes);
    assert_true(freed);
    ebb_craft_free(craft);
}

static void what_cannot_be_put_together_is_an_error(void **state)
{
    yard *y = *state;
    ebb_craft *craft;
    y->mean.depth[0] = y->mean.depth[1] = 0.04;
    assert_int_equal(ebb_craft_new(y->ctx, &y->mean, &y->library->air, &y->effort, &craft),
                     EBB_E_NOSOLUTION);
    assert_null(craft);
    assert_non_null(strstr(ebb_ctx_message(y->ctx, 0)->text, "depth"));
    ebb_ctx_clear(y->ctx);
    y->effort.population = 2;
    assert_int_equal(ebb_craft_new(y->ctx, &y->mean, &y->library->air, &y->effort, &craft),
                     EBB_E_RANGE);
}

/* Judged by the worst, the worst is better than that of the box that is best when all goes well. */
static void robust_boxes_are_better_at_their_worst(void **state)
{
    yard *y = *state;
    y->mean.cells = 2;
    y->effort.generations = 60;
    ebb_craft *plain = answer(y, &y->mean);
    y->mean.robust = true;
    ebb_craft *robust = answer(y, &y->mean);
    assert_true(robust->passes);
    assert_true(robust->pick[0].worst.absorption > plain->pick[0].worst.absorption - 0.003);
    assert_true(robust->pick[0].merit.absorption < plain->pick[0].merit.absorption + 0.003);
    ebb_craft_free(plain);
    ebb_craft_free(robust);
}

static void a_mode_is_damped(void **state)
{
    yard *y = *state;
    static const char text[] = "job: Test\nuse: music\nconstructions: {hard: {admittance: 0.005}}\n"
                               "rooms:\n  - name: hall\n    size: [4.3 m, 3.6 m, 2.5 m]\n"
                               "    surfaces: {all: hard}\n"
                               "    seats: [{name: lead, at: [2 m, 2 m, 1.2 m]}]\n"
                               "    speakers: [{name: left, at: [0.6 m, 0.7 m, 1.2 m]}]\n";
    ebb_job *job;
    assert_ok(y->ctx, ebb_job_parse(y->ctx, text, strlen(text), "room", NULL, &job));
    y->mean.goal = EBB_GOAL_MODE;
    y->mean.tuning = (ebb_tuning){.job = job, .room = 0, .hz = 40, .units = 2};
    ebb_craft *craft = answer(y, &y->mean);
    assert_true(craft->passes);
    const ebb_craft_pick *p = &craft->pick[0];
    assert_true(p->merit.absorption > 5);
    /* so well damped that its neighbours matter: the single mode promises too much, not too little
     */
    assert_true(p->wave < p->merit.absorption && p->wave > p->merit.absorption - 4);
    /* what is best for the mode is tuned to it, within the width of a heavily damped box */
    assert_near(p->resonance_hz, craft->mode.hz, 5);
    ebb_craft_free(craft);
    ebb_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        yard_test(threads_change_nothing),
        yard_test(picks_pass_and_are_what_they_are_called),
        yard_test(limits_of_mass_and_cost_are_kept),
        yard_test(nothing_passes_and_depth_is_to_blame),
        yard_test(a_mass_that_cannot_be_is_to_blame),
        yard_test(what_cannot_be_put_together_is_an_error),
        yard_test(robust_boxes_are_better_at_their_worst),
        yard_test(a_mode_is_damped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
