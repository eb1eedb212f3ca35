/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Build sheets: the parts weigh what the box weighs, the readings are those of the box. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

#define TWO_PI 6.28318530717958647692

/* A pick with its unit, as the stages before the sheet leave it. */
static ebb_craft_pick pick_of(yard *y, const ebb_craft_recipe *recipe)
{
    ebb_craft_pick pick = {.recipe = *recipe};
    ebb_cabinet *cabinet;
    assert_ok(y->ctx, ebb_craft_cabinet(y->ctx, y->arena, recipe, true, &cabinet));
    assert_ok(y->ctx, ebb_cabinet_prepare(y->ctx, y->arena, 0, cabinet));
    ebb_cabinet_weights(cabinet, &pick.weights);
    pick.unit.assembly.kind = EBB_ASSEMBLY_CABINET;
    pick.unit.assembly.cabinet = cabinet;
    assert_ok(y->ctx, ebb_craft_sheet_make(y->ctx, y->arena, &y->library->air, &pick));
    return pick;
}

static void parts_weigh_what_the_box_weighs(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 31;
    for (int i = 0; i < 60; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        const ebb_craft_pick p = pick_of(y, &r);
        double mass = 0;
        for (size_t k = 0; k < p.n_parts; k++)
            if (isfinite(p.part[k].mass))
                mass += p.part[k].mass;
        assert_near(mass, p.weights.total - p.weights.frame - p.weights.extra, 1e-9);
    }
}

/* Cut sizes add up to the outer sizes: sides run through, the rest lies between them. */
static void boards_fit_together(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 32;
    const ebb_craft_recipe r = random_box(&space, 2, &random);
    const ebb_craft_pick p = pick_of(y, &r);
    const double t = r.wall_thickness;
    const ebb_craft_part *sides = NULL, *ends = NULL, *back = NULL, *divider = NULL;
    for (size_t k = 0; k < p.n_parts; k++) {
        const char *what = p.part[k].what;
        sides = strcmp(what, "sides") == 0 ? &p.part[k] : sides;
        ends = strcmp(what, "top and bottom") == 0 ? &p.part[k] : ends;
        back = strcmp(what, "back") == 0 ? &p.part[k] : back;
        divider = strcmp(what, "divider") == 0 ? &p.part[k] : divider;
    }
    assert_true(sides && ends && back && divider);
    assert_int_equal(sides->count, 2);
    assert_near(sides->size[0], 1.2, 1e-12);
    assert_near(ends->size[0] + 2 * t, 0.6, 1e-12);
    assert_near(back->size[0] + 2 * t, 1.2, 1e-12);
    assert_near(divider->size[1] + t, r.depth, 1e-12);
}

static void rims_run_around_their_fronts(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 33;
    const ebb_craft_recipe r = random_box(&space, 3, &random);
    const ebb_craft_pick p = pick_of(y, &r);
    double length = 0, edge = 0;
    for (size_t k = 0; k < p.n_parts; k++)
        if (strstr(p.part[k].what, "rim"))
            length += p.part[k].size[0];
    for (int c = 0; c < 2; c++) {
        double side[2];
        ebb_craft_opening(&r, c, side);
        edge += 2 * 2 * (side[0] + side[1]);
    }
    assert_near(length, edge, 1e-9);
}

static void grains_go_into_bags_that_can_be_lifted(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 34;
    size_t seen = 0;
    for (int i = 0; i < 100; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        const ebb_craft_pick p = pick_of(y, &r);
        for (size_t k = 0; k < p.n_parts; k++)
            if (strstr(p.part[k].what, "grains")) {
                assert_true(p.part[k].mass / (double)p.part[k].count <= 5 + 1e-9);
                seen++;
            }
    }
    assert_true(seen > 20);
}

static void readings_are_those_of_the_box(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 35;
    const ebb_craft_recipe r = random_box(&space, 3, &random);
    const ebb_craft_pick p = pick_of(y, &r);
    assert_int_equal(p.n_readings, 4);
    double mass = 0;
    for (size_t i = 0; i < 4; i++) {
        const ebb_craft_reading *x = &p.reading[i];
        ebb_motion motion;
        ebb_cabinet_motion(p.unit.assembly.cabinet, (size_t)x->cell, &y->library->air, NULL,
                           TWO_PI * 40, &motion);
        assert_near(x->velocity[1], cabs(motion.velocity[x->front]), 1e-15);
        assert_true(x->peak >= x->velocity[0] && x->peak >= x->velocity[2]);
        mass += x->mass;
    }
    assert_near(mass, p.weights.fronts, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        yard_test(parts_weigh_what_the_box_weighs),
        yard_test(boards_fit_together),
        yard_test(rims_run_around_their_fronts),
        yard_test(grains_go_into_bags_that_can_be_lifted),
        yard_test(readings_are_those_of_the_box),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
