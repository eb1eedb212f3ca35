/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The search finds what trying everything finds, where everything can be tried. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

/* Everything that can be built of the small yard: walls, fronts, rims, wools and their thickness,
 * made without the search's own vector of numbers. Calls `visit` for each. */
typedef void (*visit_fn)(const ebb_craft_recipe *recipe, const ebb_craft_merit *merit, void *user);

static size_t try_all(yard *y, const ebb_craft_judge_task *task, visit_fn visit, void *user)
{
    const ebb_craft_space *s = task->space;
    size_t count = 0;
    for (size_t w = 0; w < s->n_walls; w++)
        for (size_t b = 0; b < s->n_boards; b++)
            for (size_t k = 0; k < s->n_strips * s->n_wools; k++)
                for (int step = 0; step < 60; step++) {
                    const ebb_craft_sheet *wall = &s->wall[w], *board = &s->board[b];
                    const double wool = 0.005 * step;
                    ebb_craft_recipe r = {.cells = 1,
                                          .fronts = 1,
                                          .face = {s->target->face[0], s->target->face[1]},
                                          .depth = s->target->depth[0],
                                          .wall = wall->material,
                                          .wall_thickness = wall->thickness,
                                          .wall_price = wall->price,
                                          .wool = wool > 0 ? s->wool[k / s->n_strips] : NULL};
                    r.cell[0] = (ebb_craft_cell){.share = 1, .wool = wool};
                    r.cell[0].front[0] =
                        (ebb_craft_front){board->material, board->thickness, board->price, 0,
                                          s->strip[k % s->n_strips]};
                    ebb_craft_merit m;
                    if (ebb_craft_cavity(&r, 0) - wool < 0.010 - 1e-9 ||
                        !ebb_craft_brace(&r, s->highest))
                        continue;
                    assert_ok(y->ctx, ebb_craft_merit_of(y->ctx, task, &r, &m));
                    visit(&r, &m, user);
                    count++;
                }
    return count;
}

typedef struct champion {
    ebb_craft_quest quest;
    ebb_craft_merit merit;
    bool some;
} champion;

static void keep_better(const ebb_craft_recipe *recipe, const ebb_craft_merit *merit, void *user)
{
    champion *c = user;
    (void)recipe;
    if (!c->some || ebb_craft_better(&c->quest, merit, &c->merit))
        c->merit = *merit;
    c->some = true;
}

/* 0.25 m deep, no weights, no grains: some 1500 boxes. */
static ebb_craft_space small_space(yard *y)
{
    ebb_craft_space space = {.trim = false};
    y->curve.depth[0] = y->curve.depth[1] = 0.25;
    y->curve.fronts[1] = y->curve.cells = 1;
    y->curve.grains = 0;
    y->curve.goal = EBB_GOAL_MEAN;
    y->curve.band[0] = 30;
    y->curve.band[1] = 60;
    assert_ok(y->ctx,
              ebb_craft_space_make(y->ctx, y->arena, &y->curve, &y->library->air, NULL, &space));
    return space;
}

static void compare(yard *y, ebb_craft_aim aim, double share_of_best)
{
    const ebb_craft_space space = small_space(y);
    const ebb_craft_judge_task task = {.space = &space, .model = ebb_cabinet_beta};
    champion best = {.quest = {.aim = EBB_CRAFT_BEST}};
    assert_true(try_all(y, &task, keep_better, &best) > 1000);
    champion true_one = {.quest = {.aim = aim, .required = share_of_best * best.merit.absorption}};
    (void)try_all(y, &task, keep_better, &true_one);
    for (unsigned seed = 1; seed <= 3; seed++) {
        ebb_craft_quest quest = true_one.quest;
        ebb_craft_one found;
        quest.seed = seed;
        y->effort.generations = 40;
        assert_true(ebb_craft_evolve(&task, &y->effort, &quest, &found, NULL) >= 24);
        assert_near(found.merit.absorption, true_one.merit.absorption, 1e-9);
        assert_near(found.merit.mass, true_one.merit.mass, 1e-9);
        assert_near(found.merit.cost, true_one.merit.cost, 1e-9);
    }
}

static void the_best_of_all_is_found(void **state)
{
    compare(*state, EBB_CRAFT_BEST, 0);
}

static void the_lightest_of_all_is_found(void **state)
{
    compare(*state, EBB_CRAFT_LIGHT, 0.9);
}

static void the_cheapest_of_all_is_found(void **state)
{
    compare(*state, EBB_CRAFT_CHEAP, 0.95);
}

typedef struct frontier {
    ebb_craft_store all; /* of everything */
} frontier;

static void keep_trade(const ebb_craft_recipe *recipe, const ebb_craft_merit *merit, void *user)
{
    frontier *f = user;
    const ebb_craft_one one = {.recipe = *recipe, .merit = *merit};
    ebb_craft_store_add(&f->all, &one);
}

/* What a run keeps on its way is not beaten by much by anything that can be built. */
static void trade_offs_on_the_way_are_good(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = small_space(y);
    const ebb_craft_judge_task task = {.space = &space, .model = ebb_cabinet_beta};
    const ebb_craft_quest quest = {.aim = EBB_CRAFT_BEST, .seed = 4};
    static frontier f;
    static ebb_craft_store kept;
    ebb_craft_one found;
    f.all.n = kept.n = 0;
    (void)try_all(y, &task, keep_trade, &f);
    (void)ebb_craft_evolve(&task, &y->effort, &quest, &found, &kept);
    assert_true(kept.n >= 3);
    ebb_craft_store_thin(&kept, EBB_CRAFT_KEPT);
    assert_near(found.merit.absorption, f.all.one[0].merit.absorption, 1); /* both are filled */
    size_t good = 0;
    for (size_t i = 0; i < kept.n; i++) {
        bool beaten = false;
        for (size_t k = 0; k < f.all.n; k++) {
            ebb_craft_merit m = f.all.one[k].merit;
            m.absorption -= 0.03;
            beaten = beaten || ebb_craft_dominates(&m, &kept.one[i].merit);
        }
        good += !beaten;
    }
    assert_true(2 * good > kept.n);
}

static void the_same_seed_gives_the_same_box(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    const ebb_craft_judge_task task = {.space = &space, .model = ebb_cabinet_beta};
    ebb_craft_quest quest = {.aim = EBB_CRAFT_BEST, .layout = 2, .seed = 7};
    ebb_craft_one a, b, c;
    const size_t first = ebb_craft_evolve(&task, &y->effort, &quest, &a, NULL);
    assert_int_equal(ebb_craft_evolve(&task, &y->effort, &quest, &b, NULL), first);
    assert_memory_equal(a.gene, b.gene, sizeof a.gene);
    quest.seed = 8;
    (void)ebb_craft_evolve(&task, &y->effort, &quest, &c, NULL);
    assert_memory_not_equal(a.gene, c.gene, sizeof a.gene);
}

static void what_is_known_is_not_lost(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    const ebb_craft_judge_task task = {.space = &space, .model = ebb_cabinet_beta};
    ebb_craft_quest quest = {.aim = EBB_CRAFT_BEST, .layout = 1, .seed = 7};
    ebb_craft_one good, after;
    (void)ebb_craft_evolve(&task, &y->effort, &quest, &good, NULL);
    quest.n_known = 1;
    quest.known = &good;
    quest.seed = 99;
    y->effort.generations = 1;
    y->effort.population = 8;
    (void)ebb_craft_evolve(&task, &y->effort, &quest, &after, NULL);
    assert_false(ebb_craft_better(&quest, &good.merit, &after.merit));
}

static void passing_comes_before_being_good(void **state)
{
    (void)state;
    const ebb_craft_quest quest = {.aim = EBB_CRAFT_LIGHT, .required = 0.5};
    const ebb_craft_merit heavy = {.absorption = 0.6, .mass = 50};
    const ebb_craft_merit light = {.absorption = 0.4, .mass = 10};
    const ebb_craft_merit lighter = {.absorption = 0.55, .mass = 49};
    assert_true(ebb_craft_better(&quest, &heavy, &light));
    assert_true(ebb_craft_better(&quest, &lighter, &heavy));
    ebb_craft_quest early = quest;
    early.slack = 0.5; /* at first a breach is overlooked */
    assert_true(ebb_craft_better(&early, &light, &heavy));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        yard_test(the_best_of_all_is_found),         yard_test(the_lightest_of_all_is_found),
        yard_test(the_cheapest_of_all_is_found),     yard_test(trade_offs_on_the_way_are_good),
        yard_test(the_same_seed_gives_the_same_box), yard_test(what_is_known_is_not_lost),
        yard_test(passing_comes_before_being_good),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
