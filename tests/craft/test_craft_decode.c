/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to boxes: whatever the numbers, the box can be put together and obeys the target. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

#define DRAWS 400

static void every_box_can_be_built(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 1;
    assert_int_equal(space.n_layouts, 4);
    for (int i = 0; i < DRAWS; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        ebb_cabinet *cabinet;
        assert_ok(y->ctx, ebb_craft_cabinet(y->ctx, y->arena, &r, true, &cabinet));
        assert_ok(y->ctx, ebb_cabinet_check(y->ctx, cabinet));
        for (int c = 0; c < r.cells; c++)
            assert_near(ebb_craft_cavity(&r, c), ebb_cabinet_cavity(cabinet, (size_t)c), 1e-12);
    }
}

static void limits_of_the_target_hold(void **state)
{
    yard *y = *state;
    y->curve.thinnest = 0.005;
    y->curve.lightest = 5;
    y->curve.grains = 7;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 2;
    double most_grains = 0;
    for (int i = 0; i < DRAWS; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        double grains = 0;
        assert_true(r.depth >= y->curve.depth[0] - 1e-12 && r.depth <= y->curve.depth[1] + 1e-12);
        assert_true(r.wall_thickness >= 0.009);
        for (int c = 0; c < r.cells; c++) {
            grains += r.cell[c].grains;
            for (int f = 0; f < r.fronts; f++) {
                const ebb_craft_front *front = &r.cell[c].front[f];
                const double mass = front->material->board.density * front->thickness + front->trim;
                assert_true(front->thickness >= 0.005);
                assert_true(mass >= 5 - 1e-9);
            }
        }
        assert_true(grains <= 7 + 1e-9);
        most_grains = fmax(most_grains, grains);
    }
    assert_true(most_grains > 5); /* the limit is used, not only kept */
}

static void without_trim_only_heavy_boards_are_listed(void **state)
{
    yard *y = *state;
    y->mean.lightest = 5;
    ebb_craft_space space = {.trim = false};
    assert_ok(y->ctx,
              ebb_craft_space_make(y->ctx, y->arena, &y->mean, &y->library->air, NULL, &space));
    assert_int_equal(space.n_boards, 2); /* 9 and 15 mm of ply; 6 mm weighs 4.1 */
    unsigned random = 3;
    for (int i = 0; i < 50; i++)
        assert_near(random_box(&space, 0, &random).cell[0].front[0].trim, 0, 0);
}

static void wool_keeps_clear_of_fronts(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 4;
    bool full = false, none = false, between = false;
    for (int i = 0; i < DRAWS; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        for (int c = 0; c < r.cells; c++) {
            const ebb_craft_cell *cell = &r.cell[c];
            const double bed = r.batch ? cell->grains / (500 * ebb_craft_cell_area(&r, c)) : 0;
            const double rest = ebb_craft_cavity(&r, c) - bed - cell->wool;
            if (cell->wool > 0)
                assert_true(rest >= 0.010 - 1e-9);
            if (cell->gap_wool > 0)
                assert_true(cell->gap - cell->gap_wool >= 0.020 - 1e-9);
            full = full || (cell->wool > 0 && rest < 0.016);
            none = none || cell->wool == 0;
            between = between || cell->gap_wool > 0;
        }
    }
    assert_true(full && none && between); /* nothing is shut out */
}

static void sizes_can_be_cut(void **state)
{
    yard *y = *state;
    const ebb_craft_space space = space_of(y, &y->curve);
    unsigned random = 5;
    for (int i = 0; i < 100; i++) {
        const ebb_craft_recipe r = random_box(&space, (size_t)i % 4, &random);
        assert_near(1000 * r.depth, round(1000 * r.depth), 1e-6);
        for (int c = 0; c < r.cells; c++) {
            assert_near(r.cell[c].wool / 0.005, round(r.cell[c].wool / 0.005), 1e-6);
            assert_near(r.cell[c].grains / 0.5, round(r.cell[c].grains / 0.5), 1e-6);
        }
    }
}

static void nothing_to_build_of_is_said(void **state)
{
    yard *y = *state;
    ebb_craft_space space = {.trim = true};
    ebb_target t = y->mean;
    t.stock.n_strips = 0;
    assert_int_equal(ebb_craft_space_make(y->ctx, y->arena, &t, &y->library->air, NULL, &space),
                     EBB_E_NOSOLUTION);
    assert_non_null(strstr(ebb_ctx_message(y->ctx, 0)->text, "strip"));
    ebb_ctx_clear(y->ctx);
    t = y->mean;
    t.thinnest = 0.05;
    space = (ebb_craft_space){.trim = true};
    assert_int_equal(ebb_craft_space_make(y->ctx, y->arena, &t, &y->library->air, NULL, &space),
                     EBB_E_NOSOLUTION);
    assert_non_null(strstr(ebb_ctx_message(y->ctx, 0)->text, "front"));
}

static void lists_are_sorted(void **state)
{
    yard *y = *state;
    const ebb_craft_space s = space_of(y, &y->curve);
    assert_int_equal(s.n_walls, 3);
    assert_int_equal(s.n_boards, 6);
    for (size_t i = 1; i < s.n_walls; i++)
        assert_true(s.wall[i].thickness >= s.wall[i - 1].thickness);
    for (size_t i = 1; i < s.n_boards; i++)
        assert_true(s.board[i].material->board.density * s.board[i].thickness >=
                    s.board[i - 1].material->board.density * s.board[i - 1].thickness);
    assert_string_equal(s.strip[0]->name, "soft");
    assert_string_equal(s.wool[1]->name, "dense");
    assert_string_equal(s.batch[0]->name, "tested");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        yard_test(every_box_can_be_built),
        yard_test(limits_of_the_target_hold),
        yard_test(without_trim_only_heavy_boards_are_listed),
        yard_test(wool_keeps_clear_of_fronts),
        yard_test(sizes_can_be_cut),
        yard_test(nothing_to_build_of_is_said),
        yard_test(lists_are_sorted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
